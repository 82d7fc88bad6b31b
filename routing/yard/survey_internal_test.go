package yard

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/sketch"
)

func square(x, y, side float64) plane.Polygon {
	return plane.Polygon{Outer: plane.Ring{{X: x, Y: y}, {X: x + side, Y: y}, {X: x + side, Y: y + side}, {X: x, Y: y + side}}}
}

// chance draws a world about the origin: areas of all sorts over each other, houses,
// streets, lanes and paths, roads, walls and a school.
func chance(t testing.TB, rng *rand.Rand) *Ground {
	t.Helper()
	g := &Ground{Field: &exposure.Field{}}
	within := func(m float64) float64 { return m * (2*rng.Float64() - 1) }
	for range 3 + rng.IntN(5) {
		a := osmdata.Ground{Area: square(within(200), within(200), 40+rng.Float64()*160)}
		switch rng.IntN(7) {
		case 0, 1:
			a.Kind, a.Standing = osmdata.Park, osmdata.StandingPublic
		case 2:
			a.Kind, a.Standing = osmdata.Grass, osmdata.StandingUnknown
		case 3:
			a.Kind, a.Standing = osmdata.Wood, osmdata.StandingUnknown
		case 4:
			a.Kind, a.Standing = osmdata.Residentials, osmdata.StandingNever
		case 5:
			a.Kind, a.Standing = []osmdata.GroundKind{osmdata.Industrial, osmdata.Retail}[rng.IntN(2)], osmdata.StandingNever
		default:
			a.Kind, a.Standing = osmdata.Water, osmdata.StandingNever
		}
		g.Areas = append(g.Areas, a)
	}
	for range rng.IntN(5) {
		g.Buildings = append(g.Buildings, square(within(160), within(160), 8+rng.Float64()*30))
	}
	k := sketch.New()
	for _, class := range []osmdata.Class{osmdata.Service, osmdata.Residential, osmdata.Path, osmdata.Footway, osmdata.Service} {
		s := k.Street(class, plane.Polyline{{X: within(180), Y: within(180)}, {X: within(180), Y: within(180)}, {X: within(180), Y: within(180)}})
		if rng.IntN(6) == 0 {
			s.Flags |= osmdata.FlagBridge
		}
		if rng.IntN(8) == 0 {
			s.Flags |= osmdata.FlagTunnel
		}
	}
	g.Network = k.Net(t)
	for range rng.IntN(2) {
		g.Roads = append(g.Roads, plane.Polyline{{X: within(180), Y: within(180)}, {X: within(180), Y: within(180)}})
	}
	var walls []plane.Segment
	for range rng.IntN(4) {
		mask := uint8(osmdata.BlocksWay)
		if rng.IntN(3) == 0 {
			mask = uint8(osmdata.BlocksView) // a hedge that one can step through
		}
		walls = append(walls, plane.Segment{A: plane.Point{X: within(160), Y: within(160)}, B: plane.Point{X: within(160), Y: within(160)}, Mask: mask})
	}
	g.Barriers = plane.NewIndex(walls, 32)
	for _, as := range []string{"school", "pitch", "playground"}[:rng.IntN(4)] {
		g.Field.Sources = append(g.Field.Sources, exposure.Source{As: as, Area: []plane.Polygon{square(within(160), within(160), 20+rng.Float64()*60)}})
	}
	return g
}

// twin says what a cell is by the rules, written down cell by cell.
func twin(g *Ground, car, at plane.Point) Cell {
	public, grass, never, lawn := false, false, false, false
	for i := range g.Areas {
		a := &g.Areas[i]
		if !a.Area.Contains(at) {
			continue
		}
		somebodys := a.Kind == osmdata.Residentials || a.Kind == osmdata.Industrial || a.Kind == osmdata.Retail
		public = public || a.Standing == osmdata.StandingPublic
		grass = grass || a.Standing == osmdata.StandingUnknown && a.Kind != osmdata.Wood
		lawn = lawn || a.Standing == osmdata.StandingNever && somebodys
		never = never || a.Standing == osmdata.StandingNever && !somebodys || a.Standing == osmdata.StandingUnknown && a.Kind == osmdata.Wood
	}
	is := Closed
	switch {
	case never:
	case public:
		is = Public
	case grass && !lawn:
		is = Grass
	}
	off := func(l plane.Polyline) float64 {
		_, _, d := l.Nearest(at)
		return d
	}
	passed := false
	for e := range int32(g.Network.EdgeCount()) {
		class, d := g.Network.Class[e], off(g.Network.EdgeLine(e))
		if g.Network.Flags[e]&(osmdata.FlagBridge|osmdata.FlagTunnel) != 0 {
			continue
		}
		if class == osmdata.Service && d <= 14 && at.DistanceM(car) <= 90 || class > osmdata.Service && d <= 6 {
			passed = passed || is == Closed
		}
	}
	if passed {
		is = Passed
	}
	for e := range int32(g.Network.EdgeCount()) {
		bridged := g.Network.Flags[e]&(osmdata.FlagBridge|osmdata.FlagTunnel) != 0
		if !bridged && g.Network.Class[e] <= osmdata.Service && off(g.Network.EdgeLine(e)) <= 8 && is >= Grass {
			is = Closed
		}
	}
	for i := range g.Field.Sources {
		if s := &g.Field.Sources[i]; s.As != "pitch" && s.As != "park" && s.Area[0].Contains(at) {
			is = Closed
		}
	}
	for i := range g.Buildings {
		if g.Buildings[i].Contains(at) {
			is = Closed
		}
	}
	for _, r := range g.Roads {
		if off(r) <= 8 {
			is = Closed
		}
	}
	if _, near := g.Barriers.Nearest(at, 5.1, uint8(osmdata.BlocksWay)); near {
		is = Closed
	}
	return is
}

// TestSurveyCellByCell: in worlds drawn by chance every cell of a yard is what the rules
// make of it one by one; a yard is kept exactly where it has twenty open cells and a way
// lies within 80 m of the car.
func TestSurveyCellByCell(t *testing.T) {
	const seed = 23
	rng := rand.New(rand.NewPCG(seed, 1))
	var of [4]int
	kept, left := 0, 0
	for world := range 60 {
		g := chance(t, rng)
		cars := []plane.Point{{X: 60 * (2*rng.Float64() - 1), Y: 60 * (2*rng.Float64() - 1)}, {X: 5000, Y: 0}}
		got, err := g.Survey(t.Context(), cars)
		if err != nil {
			t.Fatal(err)
		}
		want := Yard{Car: cars[0]}
		for cell := range Across * Across {
			want.Set(cell, twin(g, cars[0], want.Middle(cell)))
		}
		_, near := g.Network.Near(cars[0], 80)
		if near && want.Count(Grass) >= 20 {
			kept++
			if len(got) != 1 || got[0].Car != cars[0] {
				t.Fatalf("seed %d, world %d: %d yards, want one", seed, world, len(got))
			}
			for cell := range Across * Across {
				of[want.Cell(cell)]++
				if got[0].Cell(cell) != want.Cell(cell) {
					t.Fatalf("seed %d, world %d: cell %d at %v is %d, by the rules %d", seed, world, cell, want.Middle(cell), got[0].Cell(cell), want.Cell(cell))
				}
			}
		} else {
			left++
			if len(got) != 0 {
				t.Fatalf("seed %d, world %d: a yard with %d open cells, a way near: %v", seed, world, want.Count(Grass), near)
			}
		}
	}
	if kept < 20 || left < 3 || slices.Min(of[:]) < 50 {
		t.Errorf("%d yards kept, %d left out, cells by sort %v: too much alike", kept, left, of)
	}
}

// TestSurveyKeepsTheOrder: yards come in the order of their cars, those without ground
// left out.
func TestSurveyKeepsTheOrder(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Residential, plane.Polyline{{X: -5000}, {X: 5000}})
	g := &Ground{Network: k.Net(t), Field: &exposure.Field{}, Barriers: plane.NewIndex(nil, 32)}
	for _, x := range []float64{-3000, 0, 3000} {
		g.Areas = append(g.Areas, osmdata.Ground{Kind: osmdata.Park, Standing: osmdata.StandingPublic, Area: square(x, 20, 100)})
	}
	cars := []plane.Point{{X: 3000}, {X: 1500}, {X: -3000}, {X: 0, Y: 70}, {X: 0, Y: 90}, {X: -3000, Y: 1}}
	got, err := g.Survey(t.Context(), cars)
	if err != nil {
		t.Fatal(err)
	}
	var at []plane.Point
	for i := range got {
		at = append(at, got[i].Car)
	}
	if want := []plane.Point{cars[0], cars[2], cars[3], cars[5]}; !slices.Equal(at, want) {
		t.Errorf("yards at %v, want %v", at, want)
	}
}

// TestKerbsBesideGreens: each is on a street where a car can stop, within 60 m of the
// outline of ground open to everybody and 200 m from every other and from every car park;
// and no such place is left out where there is room for one.
func TestKerbsBesideGreens(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	some := 0
	for world := range 20 {
		k := sketch.New()
		for i := range 6 {
			class := []osmdata.Class{osmdata.Residential, osmdata.Tertiary, osmdata.Primary, osmdata.Path, osmdata.Service, osmdata.LivingStreet}[i]
			s := k.Street(class, plane.Polyline{{X: rng.Float64() * 1500, Y: rng.Float64() * 1500}, {X: rng.Float64() * 1500, Y: rng.Float64() * 1500}})
			if rng.IntN(5) == 0 {
				s.Flags |= []osmdata.StreetFlags{osmdata.FlagBridge, osmdata.FlagTunnel, osmdata.FlagLink}[rng.IntN(3)]
			}
		}
		g := &Ground{Network: k.Net(t)}
		for range 6 {
			a := osmdata.Ground{Kind: osmdata.Park, Standing: osmdata.StandingPublic, Area: square(rng.Float64()*1400, rng.Float64()*1400, 60+rng.Float64()*240)}
			if rng.IntN(4) == 0 {
				a.Standing = osmdata.StandingUnknown
			}
			g.Areas = append(g.Areas, a)
		}
		cars := []plane.Point{{X: rng.Float64() * 1500, Y: rng.Float64() * 1500}, {X: rng.Float64() * 1500, Y: rng.Float64() * 1500}}
		out := g.Kerbs(cars)
		some += len(out)
		all := append(slices.Clone(cars), out...)
		apart := func(p plane.Point, i int) bool {
			for j, q := range all {
				if j != i && p.DistanceM(q) < 200 {
					return false
				}
			}
			return true
		}
		stop := func(e int32) bool {
			switch g.Network.Class[e] {
			case osmdata.Residential, osmdata.Unclassified, osmdata.LivingStreet, osmdata.Service, osmdata.Tertiary:
				return g.Network.Flags[e]&(osmdata.FlagBridge|osmdata.FlagTunnel|osmdata.FlagLink) == 0
			}
			return false
		}
		// Every 25 m of every outline, from its first corner on.
		rims := func(do func(rim plane.Point)) {
			for i := range g.Areas {
				a := &g.Areas[i]
				if a.Standing != osmdata.StandingPublic || a.Area.AreaM2() < 6000 {
					continue
				}
				ring := append(plane.Polyline(slices.Clone(a.Area.Outer)), a.Area.Outer[0])
				for m := 0.0; m < ring.LengthM(); m += 25 {
					do(ring.At(m))
				}
			}
		}
		for i, p := range out {
			if !apart(p, len(cars)+i) {
				t.Errorf("world %d: kerb %d lies within 200 m of another place for a car", world, i)
			}
			place, near := g.Network.Near(p, 0.01)
			if !near || !stop(place.Edge) {
				t.Errorf("world %d: kerb %d is on no street to stop at", world, i)
			}
			beside := false
			rims(func(rim plane.Point) { beside = beside || rim.DistanceM(p) <= 60+1e-6 })
			if !beside {
				t.Errorf("world %d: kerb %d lies beside no green", world, i)
			}
		}
		rims(func(rim plane.Point) {
			if place, near := g.Network.Near(rim, 60); near && stop(place.Edge) && apart(place.At, -1) {
				t.Errorf("world %d: a car could stop at %v, and none does", world, place.At)
			}
		})
	}
	if some < 10 {
		t.Errorf("only %d kerbs", some)
	}
}

// TestBoxesAgainstLookingAtAll: what a grid of boxes finds is what intersects, by looking
// at each.
func TestBoxesAgainstLookingAtAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		box := func() plane.Box {
			x, y := rapid.Float64Range(-2000, 2000).Draw(t, "x"), rapid.Float64Range(-2000, 2000).Draw(t, "y")
			return plane.Box{Min: plane.Point{X: x, Y: y}, Max: plane.Point{X: x + rapid.Float64Range(0, 1500).Draw(t, "w"), Y: y + rapid.Float64Range(0, 1500).Draw(t, "h")}}
		}
		all := make([]plane.Box, rapid.IntRange(0, 12).Draw(t, "n"))
		for i := range all {
			if all[i] = box(); rapid.IntRange(0, 9).Draw(t, "empty") == 0 {
				all[i] = plane.EmptyBox()
			}
		}
		b, in := newBoxes(len(all), func(i int) plane.Box { return all[i] }), box()
		var want []int32
		for i, x := range all {
			if !x.Empty() && x.Min.X <= in.Max.X && in.Min.X <= x.Max.X && x.Min.Y <= in.Max.Y && in.Min.Y <= x.Max.Y {
				want = append(want, int32(i))
			}
		}
		if got := b.in(in); !slices.Equal(got, want) {
			t.Fatalf("%v meets %v, want %v of %v", in, got, want, all)
		}
	})
}

// TestCellsOfAPoint: the cell of a point is the one whose middle is nearest, none beyond
// half a cell off the grid.
func TestCellsOfAPoint(t *testing.T) {
	y := Yard{Car: plane.Point{X: 12.5, Y: -7}}
	if c := y.Corner(); c != (plane.Point{X: 12.5 - 160, Y: -7 - 160}) {
		t.Errorf("the south-western cell lies at %v", c)
	}
	in, out := 0, 0
	for dx := -181.3; dx < 182; dx += 7.7 { // never on the border of a cell
		for dy := -179.9; dy < 180; dy += 8.3 {
			d := plane.Point{X: dx, Y: dy}
			p := y.Car.Add(d)
			got := y.At(p)
			if inside := math.Abs(dx) < 165 && math.Abs(dy) < 165; inside != (got >= 0) {
				t.Fatalf("%v lies in cell %d", d, got)
			}
			if got < 0 {
				out++
				continue
			}
			in++
			if m := y.Middle(got).Sub(p); math.Max(math.Abs(m.X), math.Abs(m.Y)) > 5 {
				t.Fatalf("%v lies in cell %d, whose middle is %v off", d, got, m)
			}
		}
	}
	if in < 500 || out < 100 {
		t.Errorf("%d points in the yard, %d off it", in, out)
	}
}
