package exposure

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
)

// The dose of a walk is the time on its edges times the hazard of the sums.
func TestAlongIsTheSumOfHazards(t *testing.T) {
	f := randomField(rand.New(rand.NewPCG(8, 8)), 60)
	d, m := wary(), at(t, afternoon)
	h := allHazards(f, d, m)
	var steps []Step
	want := 0.0
	for e := range int32(60) {
		steps = append(steps, Step{e, 10 + float64(e), m})
		want += float64(h[e]) * (10 + float64(e))
	}
	dose := f.Along(d, steps, nil)
	if !nearly(dose.Reactions, want) {
		t.Errorf("X %g, want %g", dose.Reactions, want)
	}
	var byKind, byStep, byMover float64
	for k := range KindCount {
		kd := dose.Kinds[k]
		byKind += kd.Reactions
		if kd.Inside > kd.Expected+1e-9 || kd.Reactions < 0 {
			t.Errorf("%s: %+v", k, kd)
		}
	}
	for _, x := range dose.StepX {
		byStep += x
	}
	for i, c := range dose.Movers {
		byMover += c.Reactions
		if i > 0 && c.Reactions > dose.Movers[i-1].Reactions {
			t.Error("movers out of order")
		}
	}
	for name, x := range map[string]float64{"kinds": byKind, "steps": byStep, "movers": byMover} {
		if !agrees(x, dose.Reactions, 1e-9) {
			t.Errorf("by %s: %g, whole %g", name, x, dose.Reactions)
		}
	}
	if dose.Calm() <= 0 || dose.Calm() >= 1 || dose.DurationS != 60*10+59*30 {
		t.Errorf("calm %g, %g s", dose.Calm(), dose.DurationS)
	}
}

// A walk is evaluated at its clock, not at its start: a step past the hour has
// the next hour's flow.
func TestAlongFollowsTheClock(t *testing.T) {
	f := emptyField(1)
	f.OwnPerDay[DogWalks][0] = 20
	d := onlyDogs(30)
	early, late := Step{0, 60, at(t, "2026-11-04 07:59")}, Step{0, 60, at(t, "2026-11-04 12:00")}
	a, b := f.Along(d, []Step{early}, nil).Reactions, f.Along(d, []Step{late}, nil).Reactions
	if both := f.Along(d, []Step{early, late}, nil).Reactions; !agrees(both, a+b, 1e-12) || a <= b {
		t.Errorf("%g and %g, together %g", a, b, both)
	}
}

// Little's law the other way round: on one's own way, 12 slow walkers an hour are
// passed 12 times an hour, whatever comes inside the working distance.
func TestEncounterCounts(t *testing.T) {
	f := emptyField(1)
	f.Left[0].LowM = 30
	m := at(t, schoolMorning)
	f.OwnPerDay[SchoolTrips][0] = 100
	d := &Dog{SpeedMPS: 1.2, ByKind: map[Kind]Need{Child: {20, 10}}}
	k := f.Along(d, []Step{{0, 3600, m}}, nil).Kinds[Child]
	want := 100 * .65 * tempoAt(m).flow(SchoolTrips) / kinds[Child].Group
	if !agrees(k.Expected, want, 1e-9) || k.Inside != 0 || k.InsideS != 0 {
		t.Errorf("%+v, want %g outside", k, want)
	}
	f.Left[0].LowM = 12
	k = f.Along(d, []Step{{0, 3600, m}}, nil).Kinds[Child]
	// A head-on meeting at 2.4 m/s with 12 m to the side: 32 m of chord, 13.3 s.
	if !agrees(k.Inside, want, 1e-9) || !agrees(k.InsideS, want*32/2.4, 1e-9) {
		t.Errorf("%+v, want %g inside for %g s", k, want, want*32/2.4)
	}
}

// A source counts once a walk, however many edges it is seen from.
func TestSourceCountsOnce(t *testing.T) {
	f := emptyField(3)
	f.Sources = []Source{{OSM: "way/9", As: "playground", Activity: 5, Mix: []Presence{{Kind: Child, Present: 8}}}}
	f.Touches = []Touch{{Source: 0, DistM: 60, Share: 1, InSight: true}, {Source: 0, DistM: 15, Share: 1, InSight: true}, {Source: 0, DistM: 20, Share: .5, InSight: true}}
	f.TouchAt = []int32{0, 1, 2, 3}
	m := at(t, "2026-11-04 16:30")
	d := &Dog{ByKind: map[Kind]Need{Child: {30, 15}}}
	dose := f.Along(d, []Step{{0, 40, m}, {1, 40, m}, {2, 40, m}}, nil)
	p := 1 - math.Exp(-8)
	k := dose.Kinds[Child]
	if !agrees(k.Expected, p, 1e-9) || !agrees(k.Inside, p, 1e-9) || !agrees(k.InsideS, p*60, 1e-9) {
		t.Errorf("%+v, want one encounter with chance %g for %g s", k, p, p*60)
	}
	if got := dose.StepMeetings; got[0] != 0 || !agrees(got[1], p, 1e-9) || got[2] != 0 {
		t.Errorf("meetings by step %v", got)
	}
	if c := dose.Movers[0]; c.Source != 0 || c.Edge != 1 {
		t.Errorf("moved by %+v", c)
	}
}

// What was learnt on the ground changes level and doubt; a disputed source is
// gone.
func TestFactors(t *testing.T) {
	f := emptyField(1)
	f.OwnPerDay[DogWalks][0] = 1
	f.Sources = []Source{{OSM: "report/1", Activity: 0, Mix: []Presence{{Kind: DogBehindFence, Present: 1}}}}
	f.Touches, f.TouchAt = []Touch{{Share: 1, DistM: 20, InSight: true}}, []int32{0, 1}
	m := at(t, schoolMorning)
	d, step := onlyDogs(40), []Step{{0, 600, at(t, schoolMorning)}}
	part := tempoAt(m).part
	fa := &Factors{Cells: map[Cell]Factor{{DogOnLead, PlaceOpen, part}: {3, 20}}, There: map[int32]float64{0: 0}}
	plain, learnt := f.Along(d, step, nil), f.Along(d, step, fa)
	if r := learnt.Kinds[DogOnLead].Expected / plain.Kinds[DogOnLead].Expected; !agrees(r, 3, 1e-9) {
		t.Errorf("three times as many dogs: %g", r)
	}
	if plain.Kinds[DogBehindFence].Reactions == 0 || learnt.Kinds[DogBehindFence].Reactions != 0 {
		t.Errorf("fence: %+v, disputed %+v", plain.Kinds[DogBehindFence], learnt.Kinds[DogBehindFence])
	}
	if s := learnt.reactions[DogOnLead][FromHomes].shape(); !agrees(s, 20, 1e-9) {
		t.Errorf("shape %g, want the learnt 20", s)
	}
	if s := plain.reactions[DogBehindFence][FromReport].shape(); !agrees(s, 3, 1e-9) {
		t.Errorf("a reported source has shape %g", s)
	}
	other := &Factors{Cells: map[Cell]Factor{{DogOnLead, PlacePark, part}: {3, 20}}}
	if x := f.Along(d, step, other).Reactions; x != plain.Reactions {
		t.Errorf("learnt elsewhere: %g, want %g", x, plain.Reactions)
	}
}

// A source that is there in one case of two brings half the reactions, however
// many are expected at it; half the number present would hardly change a school.
func TestSourceThatMayNotBeThere(t *testing.T) {
	f := emptyField(1)
	f.Sources = []Source{{OSM: "way/1", Activity: 0, Mix: []Presence{{Kind: DogBehindFence, Present: 40}}},
		{OSM: "way/2", Activity: 0, Mix: []Presence{{Kind: Siren, PerDay: 12}}}}
	f.Touches, f.TouchAt = []Touch{{Source: 0, Share: 1, DistM: 20, InSight: true}, {Source: 1, Share: 1, DistM: 20}}, []int32{0, 2}
	m := at(t, schoolMorning)
	d := &Dog{ByCategory: map[Category]Need{Dogs: {40, 20}, Sounds: {100, 40}}}
	perhaps := &Factors{There: map[int32]float64{0: 0.5, 1: 0.5}}
	step := []Step{{0, 600, m}}
	sure, half := f.Along(d, step, nil), f.Along(d, step, perhaps)
	for _, k := range []Kind{DogBehindFence, Siren} {
		if r := half.Kinds[k].Reactions / sure.Kinds[k].Reactions; !agrees(r, .5, 1e-2) {
			t.Errorf("%s: %g of the reactions, want half", k, r)
		}
	}
	if a, b := f.Active(0, d, m, nil), f.Active(0, d, m, perhaps); !agrees(b, a/2, 1e-12) || a < .9 {
		t.Errorf("active %g and %g", a, b)
	}
}

func TestExplain(t *testing.T) {
	f := randomField(rand.New(rand.NewPCG(2, 2)), 20)
	m := at(t, afternoon)
	for e := range int32(20) {
		terms := f.Explain(e, onlyDogs(40), m, nil)
		sum := 0.0
		for i, term := range terms {
			sum += term.HazardPerS
			if i > 0 && term.HazardPerS > terms[i-1].HazardPerS {
				t.Fatal("lines out of order")
			}
			if term.P < 0 || term.P > 1 || term.RatePerS < 0 || term.Shape <= 0 {
				t.Fatalf("line %+v", term)
			}
			if calm := term.Kind.Category() != Dogs; calm && term.HazardPerS != 0 {
				t.Fatalf("a dog calm about %s reacts to it", term.Kind)
			}
			if !term.stays() && term.HazardPerS > term.RatePerS*term.P*(1+1e-9) {
				t.Fatalf("dead time raises a line: %+v", term)
			}
		}
		if h := float64(f.Sums(onlyDogs(40), []int32{e}).Hazard(m, nil, nil)[0]); !nearly(h, sum) {
			t.Errorf("edge %d: lines add up to %g, hazard %g", e, sum, h)
		}
	}
}

func TestActive(t *testing.T) {
	f := emptyField(1)
	f.Sources = []Source{
		{Activity: 5, Mix: []Presence{{Kind: Child, Present: 3}, {Kind: Adult, Present: 1}}}, // a playground
		{Activity: 3, Mix: []Presence{{Kind: Siren, PerDay: 4}}},
	}
	m := at(t, "2026-11-04 16:30")
	d := &Dog{ByKind: map[Kind]Need{Child: {20, 10}, Adult: {30, 8}}}
	if got := f.Active(0, d, m, nil); !agrees(got, 1-math.Exp(-4), 1e-9) {
		t.Errorf("playground: %g", got)
	}
	if got := f.Active(0, d, at(t, "2026-11-04 03:00"), nil); got != 0 {
		t.Errorf("at night: %g", got)
	}
	if got := f.Active(1, d, m, nil); got != 0 {
		t.Errorf("sirens, and a dog calm about them: %g", got)
	}
	if got := f.Active(1, wary(), m, nil); got <= 0 || got > .01 {
		t.Errorf("a siren within a minute: %g", got)
	}
	if n := f.NeedAt(0, d); n != (Need{20, 10}) {
		t.Errorf("need %v", n)
	}
	if n := f.NeedAt(1, d); n != (Need{}) {
		t.Errorf("need %v", n)
	}
}

func BenchmarkAlong100Steps(b *testing.B) {
	f := randomField(rand.New(rand.NewPCG(1, 1)), 500)
	m := at(b, schoolMorning)
	var steps []Step
	for e := range int32(100) {
		steps = append(steps, Step{e * 5, 18, m})
	}
	d := wary()
	b.ReportAllocs()
	for b.Loop() {
		f.Along(d, steps, nil)
	}
}

// What is only seen ends where streams end; what is heard goes on.
func TestSourcesOutOfReach(t *testing.T) {
	f := emptyField(1)
	f.Sources = []Source{{OSM: "way/1", As: "playground", Activity: 5, Mix: []Presence{{Kind: Child, Present: 8}, {Kind: ChildrenNoise, Present: 2}}}}
	f.Touches, f.TouchAt = []Touch{{DistM: 250, Share: 1, InSight: true}}, []int32{0, 1}
	m := at(t, "2026-11-04 16:30")
	d := &Dog{ByKind: map[Kind]Need{Child: {300, 150}, ChildrenNoise: {300, 150}}}
	dose := f.Along(d, []Step{{0, 600, m}}, nil)
	if dose.Kinds[Child].Expected != 0 || dose.Kinds[ChildrenNoise].Reactions <= 0 {
		t.Errorf("children %+v, their noise %+v", dose.Kinds[Child], dose.Kinds[ChildrenNoise])
	}
	if h := float64(allHazards(f, d, m)[0]); !nearly(h*600, dose.Reactions) {
		t.Errorf("sums %g, terms %g", h*600, dose.Reactions)
	}
}

// The parts of a walk bring what they would bring as walks of their own, and the whole
// what it brings without them; so it does where an edge is told in two steps of one clock.
func TestPartsOfAWalk(t *testing.T) {
	f := randomField(rand.New(rand.NewPCG(9, 9)), 40)
	d, m, later := wary(), at(t, afternoon), at(t, "2026-11-04 19:10")
	steps := []Step{{0, 20, m}, {0, 10, m}}
	for e := range int32(40) {
		when := m
		if e > 20 {
			when = later
		}
		steps = append(steps, Step{e % 30, 10 + float64(e), when})
	}
	ends := []int{1, 2, 17, 17, 30}
	whole, parts := f.AlongParts(d, steps, ends, nil)
	if want := f.Along(d, steps, nil); !reflect.DeepEqual(whole, want) {
		t.Errorf("the whole brings %g, along it %g", whole.Reactions, want.Reactions)
	}
	from := 0
	for i, end := range ends {
		if want := f.Along(d, steps[from:end], nil); !reflect.DeepEqual(parts[i], want) {
			t.Errorf("part %d brings %g, by itself %g", i, parts[i].Reactions, want.Reactions)
		}
		from = end
	}
	one := []Step{{0, 30, m}}
	if a, b := f.Along(d, steps[:2], nil), f.Along(d, one, nil); len(parts) != len(ends) || !agrees(a.Reactions, b.Reactions, 1e-12) || !agrees(a.Calm(), b.Calm(), 1e-12) {
		t.Errorf("%d parts; in two steps %g, in one %g", len(parts), a.Reactions, b.Reactions)
	}
}
