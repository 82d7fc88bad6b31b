package exposure

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wideberth/exposure/hours"
)

// The slow twin: the hazard of an edge written out term by term must be that of
// the sums, for every hour, with and without learnt factors, on parts of the map.
func TestSumsAgreeWithTheTerms(t *testing.T) {
	for seed := range uint64(4) {
		r := rand.New(rand.NewPCG(seed, 1))
		f := randomField(r, 120)
		d := wary()
		if seed%2 == 1 {
			d = onlyDogs(10 + r.Float64()*60)
		}
		fa := &Factors{Cells: map[Cell]Factor{{DogOnLead, PlaceResidential, Morning}: {2, 4}, {Car, PlaceOpen, Evening}: {.2, 9}},
			There: map[int32]float64{0: 0, 1: 0.4, 2: 0.7}}
		edges := []int32{5, 17, 3, 99, 118, 42}
		for _, when := range []string{schoolMorning, afternoon, lateEvening, sunday} {
			for _, fa := range []*Factors{nil, fa} {
				got := f.Sums(d, edges).Hazard(at(t, when), fa, nil)
				for i, e := range edges {
					want := 0.0
					for _, term := range f.Explain(e, d, at(t, when), fa) {
						want += term.HazardPerS
					}
					if !nearly(float64(got[i]), want) {
						t.Errorf("seed %d, %s, edge %d: sums %g, terms %g", seed, when, e, got[i], want)
					}
				}
			}
		}
	}
}

// nearly allows for the cells of the curve table, a 32nd of a bin wide.
func nearly(got, want float64) bool { return math.Abs(got-want) <= .02*want+1e-9 }

func TestSumsOfAPartAreThoseOfTheWhole(t *testing.T) {
	f := randomField(rand.New(rand.NewPCG(3, 3)), 200)
	m := at(t, schoolMorning)
	all := allHazards(f, wary(), m)
	part := f.Sums(wary(), []int32{7, 150, 7})
	if e := part.Edges(); len(e) != 3 || e[1] != 150 {
		t.Fatalf("edges %v", e)
	}
	for i, h := range part.Hazard(m, nil, make([]float32, 0, 8)) {
		if h != all[part.Edges()[i]] {
			t.Errorf("edge %d: %g alone, %g with all", part.Edges()[i], h, all[part.Edges()[i]])
		}
	}
}

// change is something done to a world and what it may do to X.
type change struct {
	name  string
	apply func(r *rand.Rand, f *Field, d *Dog) *Dog
	sign  float64 // -1 never raises, +1 never lowers
}

var changes = []change{
	{"more room", func(r *rand.Rand, f *Field, d *Dog) *Dog {
		for e := range f.Left {
			f.Left[e].LowM += r.Float32() * 20
			f.Right[e].LowM += r.Float32() * 20
		}
		return d
	}, -1},
	{"more sight", func(r *rand.Rand, f *Field, d *Dog) *Dog {
		for e := range f.SightFwdM {
			f.SightFwdM[e] += r.Float32() * 50
			f.SightBackM[e] += r.Float32() * 50
		}
		return d
	}, -1},
	{"fewer flows", func(r *rand.Rand, f *Field, d *Dog) *Dog {
		for p := range f.OwnPerDay {
			for e := range f.OwnPerDay[p] {
				f.OwnPerDay[p][e] *= r.Float32()
			}
		}
		return d
	}, -1},
	{"a braver dog", func(r *rand.Rand, f *Field, d *Dog) *Dog { return d.Stretch(.3 + .7*r.Float64()) }, -1},
	{"a dog that loses a fear", func(r *rand.Rand, f *Field, d *Dog) *Dog {
		d.ByKind[Kind(r.IntN(int(KindCount)))] = Need{}
		return d
	}, -1},
	{"another stream in range", func(r *rand.Rand, f *Field, d *Dog) *Dog {
		p := r.IntN(int(PatternCount))
		for e := range f.Near[p] {
			b := r.IntN(BinCount)
			if f.Near[p][e][b].Rate == 0 {
				f.Near[p][e][b] = makeBin(b, r.Float64(), math.Log(binMinM)+float64(b)*binWidth)
			}
		}
		return d
	}, 1},
	{"a stream in range that grows", func(r *rand.Rand, f *Field, d *Dog) *Dog {
		p := r.IntN(int(PatternCount))
		for e := range f.Near[p] {
			for b := range f.Near[p][e] {
				if c := &f.Near[p][e][b]; c.Rate > 0 && c.Rate < 250 {
					c.Rate += uint8(r.IntN(5))
				}
			}
		}
		return d
	}, 1},
	{"a wall before the sources", func(r *rand.Rand, f *Field, d *Dog) *Dog {
		for i := range f.Touches {
			f.Touches[i].InSight = f.Touches[i].InSight && r.IntN(2) == 0
			f.Touches[i].DropDB += r.Float32() * 10
		}
		return d
	}, -1},
	{"sources farther off", func(r *rand.Rand, f *Field, d *Dog) *Dog {
		for i := range f.Touches {
			f.Touches[i].DistM += r.Float32() * 30
		}
		return d
	}, -1},
	{"fewer at the sources", func(r *rand.Rand, f *Field, d *Dog) *Dog {
		for i := range f.Sources {
			for j := range f.Sources[i].Mix {
				f.Sources[i].Mix[j].Present *= r.Float32()
				f.Sources[i].Mix[j].PerDay *= r.Float32()
			}
		}
		return d
	}, -1},
}

// Nothing that makes a place kinder may raise the hazard of any edge, and nothing
// that adds a trigger may lower it.
func TestHazardIsMonotone(t *testing.T) {
	m := at(t, afternoon)
	for _, c := range changes {
		t.Run(c.name, func(t *testing.T) {
			for seed := range uint64(12) {
				r := rand.New(rand.NewPCG(seed, 77))
				f, d := randomField(r, 40), wary()
				before := allHazards(f, d, m)
				after := allHazards(f, c.apply(r, f, d), m)
				for e := range before {
					if c.sign*float64(after[e]-before[e]) < -1e-6*float64(before[e]) {
						t.Fatalf("seed %d edge %d: %g before, %g after", seed, e, before[e], after[e])
					}
				}
			}
		})
	}
}

// A quieter hour of the same activity never raises X.
func TestQuieterHour(t *testing.T) {
	f := emptyField(1)
	f.OwnPerDay[DogWalks][0] = 50
	f.Near[DogWalks][0][5] = makeBin(5, .01, math.Log(20))
	shape := hours.ShapeOf(hours.Dogs)
	rapid.Check(t, func(rt *rapid.T) {
		a, b := rapid.IntRange(0, 23).Draw(rt, "a"), rapid.IntRange(0, 23).Draw(rt, "b")
		ma, mb := at(t, fmt.Sprintf("2026-11-04 %02d:30", a)), at(t, fmt.Sprintf("2026-11-04 %02d:30", b))
		ha, hb := allHazards(f, onlyDogs(40), ma)[0], allHazards(f, onlyDogs(40), mb)[0]
		if shape.At(ma) < shape.At(mb) && ha > hb {
			rt.Fatalf("hour %d is quieter than %d but has more hazard: %g, %g", a, b, ha, hb)
		}
	})
}

// In the thin limit, hazards scale with the rates.
func TestHazardScales(t *testing.T) {
	m := at(t, schoolMorning)
	f, g := emptyField(1), emptyField(1)
	for p := range PatternCount {
		f.OwnPerDay[p][0], g.OwnPerDay[p][0] = .001, .004
		f.Near[p][0][6], g.Near[p][0][6] = Bin{50, 9}, Bin{50 + 2*stepsOctave, 9}
	}
	a, b := allHazards(f, wary(), m)[0], allHazards(g, wary(), m)[0]
	if !agrees(float64(b/a), 4, 1e-3) {
		t.Errorf("four times the rates give %g times the hazard", b/a)
	}
}

// A clock shift by a week changes nothing outside holidays.
func TestAWeekLater(t *testing.T) {
	f := randomField(rand.New(rand.NewPCG(9, 9)), 50)
	s := f.Sums(wary(), nil)
	a, b := s.Hazard(at(t, "2026-11-04 16:20"), nil, nil), s.Hazard(at(t, "2026-11-11 16:20"), nil, nil)
	for e := range a {
		if a[e] != b[e] {
			t.Fatalf("edge %d: %g, a week later %g", e, a[e], b[e])
		}
	}
}

// A way with one stream, by hand: 60 dog walks a day, 8.5 % of 1.017 in the hour
// from 8, 10 m of room; dogs as slow as the walker are passed once each.
func TestOwnWayByHand(t *testing.T) {
	f := emptyField(1)
	f.OwnPerDay[DogWalks][0] = 60
	f.Place[0] = PlaceResidential
	d := &Dog{SpeedMPS: 1.1, ByKind: map[Kind]Need{DogOnLead: {40, 20}}}
	m := at(t, schoolMorning)
	q := 60 * hours.ShapeOf(hours.Dogs).At(m) * .95 / 3600
	n := Need{40, 20}
	mu := q / 1.1 * (1 - math.Pow(1-n.P(10), 1.1))
	if got, want := float64(allHazards(f, d, m)[0]), mu/(1+20*mu); !nearly(got, want) {
		t.Errorf("%g, want %g", got, want)
	}
}

// A playground 30 m off by hand: p P(d)/tau for each kind.
func TestClusterByHand(t *testing.T) {
	f := emptyField(1)
	f.Sources = []Source{{OSM: "way/1", As: "playground", Activity: hours.Playground,
		Mix: []Presence{{Kind: Child, Present: 4}, {Kind: ChildrenNoise, Present: 1}}}}
	f.Touches = []Touch{{Source: 0, DistM: 30, Share: .5, InSight: true}}
	f.TouchAt = []int32{0, 1}
	d := &Dog{ByKind: map[Kind]Need{Child: {40, 20}, ChildrenNoise: {30, 10}}}
	m := at(t, "2026-11-04 16:30") // the busiest hour on a school day
	chance := func() float64 { return float64(allHazards(f, d, m)[0]) }
	child := .5 * (1 - math.Exp(-4)) * (Need{40, 20}).P(30) / 20
	noise := func(dist float64) float64 { return .5 * (1 - math.Exp(-1)) * (Need{30, 10}).P(dist) / 20 }
	if got := chance(); !nearly(got, child+noise(30)) {
		t.Errorf("in sight: %g, want %g", got, child+noise(30))
	}
	f.Touches[0].InSight = false
	f.Touches[0].DropDB = float32(20 * math.Log10(2)) // as if twice as far
	if got := chance(); !nearly(got, noise(60)) {
		t.Errorf("behind houses: %g, want the noise alone, %g", got, noise(60))
	}
	f.Sources[0].Hours = "Mo-Fr 08:00-12:00"
	g := &Field{}
	*g = Field{OwnPerDay: f.OwnPerDay, Near: f.Near, Left: f.Left, Right: f.Right, SightFwdM: f.SightFwdM, SightBackM: f.SightBackM,
		Place: f.Place, Marks: f.Marks, TouchAt: f.TouchAt, Touches: f.Touches, Sources: f.Sources}
	if got := allHazards(g, d, m)[0]; got != 0 {
		t.Errorf("closed: %g", got)
	}
}

// Across a large dog field the ideal-gas rate holds, on a small one a fresh
// chance every dead time.
func TestRoamingInsideAnArea(t *testing.T) {
	m := at(t, "2026-11-04 17:30") // the busiest hour
	hazard := func(areaM2 float32) float64 {
		f := emptyField(1)
		f.Sources = []Source{{OSM: "way/1", As: "dog_park", Activity: hours.DogPark, AreaM2: areaM2, Mix: []Presence{{Kind: DogOffLead, Present: 2}}}}
		f.Touches, f.TouchAt = []Touch{{Share: 1, InSight: true}}, []int32{0, 1}
		return float64(allHazards(f, onlyDogs(20), m)[0])
	}
	n := Need{20, 10}
	b := n.steepness()
	want := 2 * 2e-6 * meanRelativeSpeed(1.1, DefaultSpeedMPS) * n.ReactionM * math.Pi / b / math.Sin(math.Pi/b)
	if got := hazard(1e6); !agrees(got, want, .02) {
		t.Errorf("a square kilometre: %g, want %g", got, want)
	}
	if got, want := hazard(100), (1-math.Exp(-2))/20; !nearly(got, want) {
		t.Errorf("a yard: %g, want %g", got, want)
	}
}

// Cutting an edge in two changes nothing where both halves see the same.
func TestSplitEdge(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 4))
	f := randomField(r, 30)
	m := at(t, sunday)
	steps := []Step{{Edge: 3, Seconds: 80, At: m}}
	halves := []Step{{Edge: 3, Seconds: 30, At: m}, {Edge: 3, Seconds: 50, At: m}}
	a, b := f.Along(wary(), steps, nil), f.Along(wary(), halves, nil)
	if !agrees(a.Reactions, b.Reactions, 1e-12) || !agrees(a.Calm(), b.Calm(), 1e-12) {
		t.Errorf("X %g and %g, calm %g and %g", a.Reactions, b.Reactions, a.Calm(), b.Calm())
	}
	for k := range KindCount {
		if !agrees(a.Kinds[k].Expected, b.Kinds[k].Expected, 1e-12) || !agrees(a.Kinds[k].InsideS, b.Kinds[k].InsideS, 1e-12) {
			t.Errorf("%s: %+v and %+v", k, a.Kinds[k], b.Kinds[k])
		}
	}
}

func BenchmarkSums5000Edges(b *testing.B) {
	f := randomField(rand.New(rand.NewPCG(1, 1)), 5000)
	d := wary()
	b.ReportAllocs()
	for b.Loop() {
		f.Sums(d, nil)
	}
}

// Twelve kinds and no sources: what the bins alone cost.
func BenchmarkSums5000EdgesTwelveKinds(b *testing.B) {
	f := randomField(rand.New(rand.NewPCG(1, 1)), 5000)
	f.Touches, f.TouchAt = nil, make([]int32, 5001)
	d := wary()
	for k := Train; k <= Bells; k++ {
		d.ByKind[k] = Need{}
	}
	b.ReportAllocs()
	for b.Loop() {
		f.Sums(d, nil)
	}
}

func BenchmarkHour5000Edges(b *testing.B) {
	f := randomField(rand.New(rand.NewPCG(1, 1)), 5000)
	s, m := f.Sums(wary(), nil), at(b, schoolMorning)
	out := make([]float32, 5000)
	b.ReportAllocs()
	for b.Loop() {
		out = s.Hazard(m, nil, out)
	}
}

func BenchmarkWeek5000Edges(b *testing.B) {
	f := randomField(rand.New(rand.NewPCG(1, 1)), 5000)
	s := f.Sums(wary(), nil)
	out := make([]float32, 5000)
	var week []hours.Moment
	c := clockFor(b)
	start := at(b, "2026-11-02 00:30").Time
	for h := range 168 {
		week = append(week, c.At(start.Add(time.Duration(h)*time.Hour)))
	}
	for b.Loop() {
		for _, m := range week {
			out = s.Hazard(m, nil, out)
		}
	}
}
