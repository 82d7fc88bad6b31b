package outing

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
)

// farGate is a gate that no test loop comes near.
var farGate = plane.Point{X: 1e6}

// timedLine walks points at 1.2 m/s.
func timedLine(points ...plane.Point) (plane.Polyline, []float64) {
	atS := []float64{0}
	for i := 1; i < len(points); i++ {
		atS = append(atS, atS[i-1]+points[i].DistanceM(points[i-1])/usualPaceMPS)
	}
	return points, atS
}

// triangle is a loop of three segments, some minutes long.
func triangle(rng *rand.Rand) (plane.Polyline, []float64) {
	p := func() plane.Point { return plane.Point{X: 400 * rng.Float64(), Y: 400 * rng.Float64()} }
	home := p()
	return timedLine(home, p(), p(), home)
}

func trackOf(line plane.Polyline, atS []float64, b *band, gate plane.Point, zoneM float64) track {
	cells := cellsOf(line, atS, b, gate, zoneM)
	return track{cells, blocksOf(cells), b.late(atS[len(atS)-1])}
}

// visit is one place that a dog may be at and when, for the naive twin.
type visit struct {
	at       plane.Point
	from, to float64
}

// visits walks a loop under a fine grid of lateness and pace and notes, for each
// second of progress, the earliest and the latest time it is there; at a hold
// from coming to leaving.
func visits(line plane.Polyline, atS []float64, b *band) (out []visit) {
	end := atS[len(atS)-1]
	for u := 0.0; u <= end; u += 1 {
		out = append(out, visit{placeAt(line, atS, u), math.Inf(1), math.Inf(-1)})
	}
	late := []float64{0, 60, 120, lateS}
	if b.slack == Holds {
		late = []float64{0}
	}
	for _, l := range late {
		for pace := slowPace; pace <= fastPace+1e-9; pace += 0.02 {
			t, hold := l, 0
			for i := range out {
				u := float64(i)
				if i > 0 {
					t += 1 / pace
				}
				come := t
				for b.slack != Free && hold < len(b.holds) && b.holds[hold] <= u {
					t = max(t, b.holds[hold]/slowPace+(u-b.holds[hold])/pace)
					hold++
				}
				out[i].from, out[i].to = min(out[i].from, come), max(out[i].to, t)
			}
		}
	}
	return out
}

func placeAt(line plane.Polyline, atS []float64, u float64) plane.Point {
	i, _ := slices.BinarySearch(atS, u)
	if i == 0 {
		return line[0]
	}
	if i == len(atS) {
		return line[i-1]
	}
	f := (u - atS[i-1]) / (atS[i] - atS[i-1])
	return line[i-1].Add(line[i].Sub(line[i-1]).Mul(f))
}

// naiveForbids says that two loops started so many minutes apart can come nearer
// than a distance, by trying every pair of places.
func naiveForbids(x, y []visit, deltaMin int, m float64) bool {
	shift := 60 * float64(deltaMin)
	for i := range x {
		for j := range y {
			if x[i].from <= y[j].to+shift && y[j].from+shift <= x[i].to && x[i].at.DistanceM(y[j].at) < m {
				return true
			}
		}
	}
	return false
}

// TestForbiddenAgainstGrid: on loops of three segments the table forbids whatever
// a fine grid of lateness and pace finds, and nothing that such a grid does not
// find for a distance larger by what cells of ten seconds give away.
func TestForbiddenAgainstGrid(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	const needM = 40.0
	rng := rand.New(rand.NewPCG(4, 1))
	forbidden, free := 0, 0
	for round := range 40 {
		for _, slack := range []Slack{Holds, Printed, Free} {
			a, atA := triangle(rng)
			b, atB := triangle(rng)
			ba, bb := band{slack: slack}, band{slack: slack}
			if slack != Free {
				ba.holds, bb.holds = []float64{math.Floor(atA[2] / 2)}, []float64{math.Floor(atB[2] * 0.7), math.Floor(atB[3] * 0.8)}
			}
			tab := newTable(context.Background(), []track{trackOf(a, atA, &ba, farGate, 60), trackOf(b, atB, &bb, farGate, 60)}, []float64{0, needM})
			x, y := visits(a, atA, &ba), visits(b, atB, &bb)
			for delta := -tab.reach; delta <= tab.reach; delta++ {
				got := tab.forbids(0, 1, 1, delta)
				if !got && naiveForbids(x, y, delta, needM-1e-6) {
					t.Fatalf("round %d, %s: %d minutes apart are allowed, the grid comes under %g m", round, slack, delta, needM)
				}
				// a cell is 12 m long and 11 s wide: as much again in time
				if got && !naiveForbidsLoosely(x, y, delta, needM+2*cellS*usualPaceMPS) {
					t.Fatalf("round %d, %s: %d minutes apart are forbidden, the grid stays clear of %g m", round, slack, delta, needM+2*cellS*usualPaceMPS)
				}
				if got {
					forbidden++
				} else {
					free++
				}
			}
		}
	}
	if forbidden < 100 || free < 100 {
		t.Errorf("lopsided: %d forbidden, %d free", forbidden, free)
	}
}

// naiveForbidsLoosely widens the windows by what a cell's length adds.
func naiveForbidsLoosely(x, y []visit, deltaMin int, m float64) bool {
	wide := func(in []visit) []visit {
		out := slices.Clone(in)
		for i := range out {
			out[i].from -= cellS / slowPace
			out[i].to += cellS / slowPace
			if i >= len(out)-1-cellS {
				out[i].to += insideS
			}
		}
		return out
	}
	return naiveForbids(wide(x), wide(y), deltaMin, m)
}

// TestTableProperties: the mirror image, a loop against itself, wider needs and
// wider slack.
func TestTableProperties(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 2))
	for range 20 {
		a, atA := triangle(rng)
		b, atB := triangle(rng)
		tables := map[Slack]*table{}
		for _, slack := range []Slack{Holds, Printed, Free} {
			ba, bb := band{slack: slack}, band{slack: slack}
			if slack != Free {
				ba.holds, bb.holds = []float64{atA[1]}, []float64{atB[2]}
			}
			tab := newTable(context.Background(), []track{trackOf(a, atA, &ba, farGate, 60), trackOf(b, atB, &bb, farGate, 60)}, []float64{0, 30, 60})
			tables[slack] = tab
			for d := -tab.reach; d <= tab.reach; d++ {
				for k := range tab.classM {
					if tab.forbids(0, 1, k, d) != tab.forbids(1, 0, k, -d) {
						t.Fatalf("%s: %d minutes are not the mirror image", slack, d)
					}
					if k > 0 && tab.forbids(0, 1, k-1, d) && !tab.forbids(0, 1, k, d) {
						t.Fatalf("%s: a larger need frees %d minutes", slack, d)
					}
				}
			}
			if !tab.forbids(0, 0, 0, 0) || !tab.forbids(1, 1, 1, 0) {
				t.Fatalf("%s: a loop may be walked twice at one time", slack)
			}
			if tab.forbids(0, 1, 2, tab.reach+1) || tab.forbids(0, 1, 2, -tab.reach-1) {
				t.Fatalf("%s: walks that are never out together are forbidden", slack)
			}
		}
		for d := -tables[Holds].reach; d <= tables[Holds].reach; d++ {
			h, p, f := tables[Holds].forbids(0, 1, 2, d), tables[Printed].forbids(0, 1, 2, d), tables[Free].forbids(0, 1, 2, d)
			if h && !p || p && !f {
				t.Fatalf("%d minutes apart: holds %v, printed %v, free %v: more slack frees them", d, h, p, f)
			}
		}
	}
}

// TestZoneHoldsOneDog: two loops that part at once are forbidden as long as both
// can be in the zone, whatever the dogs need.
func TestZoneHoldsOneDog(t *testing.T) {
	gate := plane.Point{}
	a, atA := timedLine(gate, plane.Point{X: 600}, gate)
	b, atB := timedLine(gate, plane.Point{X: -600}, gate)
	bd := band{Holds, []float64{900}}
	tab := newTable(context.Background(), []track{trackOf(a, atA, &bd, gate, 60), trackOf(b, atB, &bd, gate, 60)}, []float64{0})
	for d, want := range map[int]bool{0: true, 1: true, -1: true, 2: false, -2: false, 4: false} {
		if got := tab.forbids(0, 1, 0, d); got != want {
			t.Errorf("%d minutes apart: forbidden %v, want %v (60 m take 55.6 s at the slow pace)", d, got, want)
		}
	}
}

// TestBand holds the windows against the arithmetic of their definition at
// u = 30 minutes: 9.1 minutes wide when free (D + 0.202 u with D = 3 minutes).
func TestBand(t *testing.T) {
	const u = 1800.0
	for _, c := range []struct {
		slack     Slack
		holds     []float64
		early, to float64
	}{
		{Free, nil, u / 1.1, 180 + u/0.9},
		{Printed, []float64{900, 1500}, 1500/0.9 + 300/1.1, 180 + u/0.9},
		{Holds, []float64{900, 1500}, 1500/0.9 + 300/1.1, u / 0.9},
		{Holds, []float64{900, 1800}, 2000, 2000},
	} {
		b := band{c.slack, c.holds}
		if math.Abs(b.early(u)-c.early) > 1e-9 || math.Abs(b.late(u)-c.to) > 1e-9 {
			t.Errorf("%s %v: %.1f to %.1f, want %.1f to %.1f", c.slack, c.holds, b.early(u), b.late(u), c.early, c.to)
		}
	}
	free := band{slack: Free}
	if w := (free.late(u) - free.early(u)) / 60; math.Abs(w-9.06) > 0.01 {
		t.Errorf("free: %.2f minutes wide, want 9.06", w)
	}
}

// TestCellsHoldTheLine: every place of a walk lies in the disc of its cell at any
// time of its window.
func TestCellsHoldTheLine(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	for range 50 {
		line, atS := triangle(rng)
		end := atS[len(atS)-1]
		b := band{Printed, []float64{math.Floor(0.3 * end), math.Floor(0.7 * end)}}
		cells := cellsOf(line, atS, &b, line[0], 60)
		cuts := []float64{}
		for u := 0.0; u < end; u += cellS {
			cuts = append(cuts, u)
		}
		cuts = append(append(cuts, end), b.holds...)
		slices.Sort(cuts)
		cuts = slices.Compact(cuts)
		for i, c := range cells {
			for f := 0.0; f <= 1; f += 0.25 {
				u := cuts[i] + f*(cuts[i+1]-cuts[i])
				p := placeAt(line, atS, u)
				if d := c.at.DistanceM(p); d > c.rM+1e-6 {
					t.Fatalf("cell %d misses its line by %.3f m", i, d-c.rM)
				}
				if b.early(u) < c.earlyS-1e-9 || b.late(u) > c.upS+1e-9 {
					t.Fatalf("cell %d: window %.1f to %.1f, at %.1f s it is %.1f to %.1f", i, c.earlyS, c.upS, u, b.early(u), b.late(u))
				}
				if p.DistanceM(line[0]) < 60-1e-6 && !c.zone {
					t.Fatalf("cell %d reaches into the zone and does not say so", i)
				}
			}
		}
	}
}

// TestSlots holds the sets of minutes against plain maps.
func TestSlots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const n = 200
		s, twin := make(slots, n/64+1), map[int]bool{}
		from, to := rapid.IntRange(-10, n).Draw(t, "from"), rapid.IntRange(-10, n-1).Draw(t, "to")
		s.fill(from, to)
		for i := max(0, from); i <= to; i++ {
			twin[i] = true
		}
		a, b := rapid.IntRange(-10, n).Draw(t, "a"), rapid.IntRange(-10, n+90).Draw(t, "b")
		s.drop(a, b)
		for i := a; i <= b; i++ {
			delete(twin, i)
		}
		reach := rapid.IntRange(1, 100).Draw(t, "reach")
		set := make([]uint64, (2*reach+64)/64)
		start := rapid.IntRange(-300, n).Draw(t, "start")
		for _, d := range rapid.SliceOfN(rapid.IntRange(-reach, reach), 0, 20).Draw(t, "differences") {
			set[(d+reach)>>6] |= 1 << ((d + reach) & 63)
			delete(twin, start+d)
		}
		s.dropShifted(set, reach, start)
		compareSlots(t, s, twin, n)
	})
}

func compareSlots(t *rapid.T, s slots, twin map[int]bool, n int) {
	ends, count, first := make(slots, len(s)), 0, -1
	s.ends(ends)
	for i := range n {
		if s.has(i) != twin[i] {
			t.Fatalf("minute %d: %v, want %v", i, s.has(i), twin[i])
		}
		if want := twin[i] && (!twin[i-1] || !twin[i+1]); ends.has(i) != want {
			t.Fatalf("minute %d: end %v, want %v", i, ends.has(i), want)
		}
		if !twin[i] {
			continue
		}
		if first < 0 {
			first = i
		}
		if got := s.nth(count); got != i {
			t.Fatalf("the %dth minute is %d, want %d", count, got, i)
		}
		if got := s.next(i); got != i {
			t.Fatalf("next from %d is %d", i, got)
		}
		count++
	}
	if s.count() != count || s.first() != first || s.none() != (count == 0) {
		t.Fatalf("count %d, first %d, none %v; want %d, %d", s.count(), s.first(), s.none(), count, first)
	}
}

// TestMostOverlapping: 9:00-9:30, 9:15-9:45 and 9:30-10:00 need two corridors; with
// 9:40-10:10 three (interval graphs: Golumbic 1980, the numbers by hand).
func TestMostOverlapping(t *testing.T) {
	for _, c := range []struct {
		walks [][2]int
		want  int
	}{
		{nil, 0},
		{[][2]int{{0, 30}, {30, 60}}, 1},
		{[][2]int{{0, 30}, {15, 45}, {30, 60}}, 2},
		{[][2]int{{0, 30}, {15, 45}, {30, 60}, {40, 70}}, 3},
	} {
		if got := mostOverlapping(c.walks); got != c.want {
			t.Errorf("%v: %d, want %d", c.walks, got, c.want)
		}
	}
}

// TestGateArithmetic: walks of half an hour block the gate for about 14 minutes
// when nobody waits, so that some 13 fit into three hours and 17 into four; with
// holds for about 3 (a measured prototype, and the formula by hand).
func TestGateArithmetic(t *testing.T) {
	o := Wish{Minutes: 180, Dogs: make([]Dog, 12)}
	for i := range o.Dogs {
		o.Dogs[i].Minutes = 30
	}
	for _, c := range []struct {
		slack   Slack
		minutes float64
		blocked float64
		walks   int
	}{
		{Free, 180, 14.4, 12}, {Free, 240, 14.4, 16}, {Printed, 180, 9.2, 19}, {Holds, 180, 3.2, 56},
	} {
		t.Run(fmt.Sprint(c.slack, c.minutes), func(t *testing.T) {
			o.Slack, o.Minutes = c.slack, c.minutes
			g := gateArithmetic(&o, lastHoldS)
			if got := g.OutMin + g.InMin; math.Abs(got-c.blocked) > 0.05 || g.Walks != c.walks || g.Sufficient != (c.walks >= 12) {
				t.Errorf("%.2f minutes, %d walks, sufficient %v; want %.1f, %d", got, g.Walks, g.Sufficient, c.blocked, c.walks)
			}
		})
	}
}

// TestClasses: whatever is asked for, a class is no nearer than the separation, the
// farthest is its own, and few separations are classes of their own.
func TestClasses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		asked := append([]float64{0}, rapid.SliceOfN(rapid.Float64Range(0, mostSeparationM), 0, 60).Draw(t, "asked")...)
		tab := &table{classM: classesOf(asked)}
		if len(tab.classM) > mostClasses || !slices.IsSorted(tab.classM) || slices.Max(tab.classM) != slices.Max(asked) {
			t.Fatalf("%v for %v", tab.classM, asked)
		}
		for _, m := range asked {
			if c := tab.classM[tab.class(m)]; c < m || len(asked) <= mostClasses && c != m {
				t.Errorf("%g m is kept as %g m", m, c)
			}
		}
	})
}

// TestTableGivenUp: a table that nobody waits for is not filled.
func TestTableGivenUp(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	line, atS := timedLine(plane.Point{}, plane.Point{X: 100}, plane.Point{})
	b := band{slack: Free}
	tab := newTable(ctx, []track{trackOf(line, atS, &b, plane.Point{}, 60)}, []float64{0})
	if tab.forbids(0, 0, 0, 0) {
		t.Error("filled after it was given up")
	}
}
