package beside

import (
	"context"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/sketch"
)

// roomOf measures one street of a sketch, seen along its drawing.
func roomOf(t *testing.T, k *sketch.Map, s *osmdata.Street) (left, right exposure.Side) {
	t.Helper()
	g := k.Net(t)
	l, r, err := Room(context.Background(), g, NewTerrain(&k.X, nil), nil, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	e := sketch.EdgeOf(t, g, s)
	if g.EdgeLine(e)[0] != s.Line[0] {
		return r[e], l[e]
	}
	return l[e], r[e]
}

func TestRoom(t *testing.T) {
	east := sketch.Line(0, 0, 300, 0)
	for _, c := range []struct {
		name        string
		class       osmdata.Class
		prepare     func(k *sketch.Map, s *osmdata.Street)
		left, right exposure.Side
	}{
		{"houses in rows with gaps of 6 m: the fronts, not the gaps", osmdata.Footway, func(k *sketch.Map, _ *osmdata.Street) {
			for x := -32.0; x < 330; x += 16 {
				k.House(x, 12, 10)
				k.House(x+7, -19, 10)
			}
		}, exposure.Side{LowM: 12, LeastM: 12}, exposure.Side{LowM: 9, LeastM: 9}},
		{"front gardens are private: the cap of a residential street", osmdata.Residential, func(k *sketch.Map, _ *osmdata.Street) {
			for x := -32.0; x < 330; x += 16 {
				k.House(x, 12, 10)
			}
		}, exposure.Side{LowM: 8, LeastM: 8}, exposure.Side{LowM: 8, LeastM: 8}},
		{"nothing mapped on a street with two sides: half the default to each", osmdata.Residential, nil,
			exposure.Side{LowM: 4.5, LeastM: 4.5, Default: true}, exposure.Side{LowM: 4.5, LeastM: 4.5, Default: true}},
		{"nothing mapped about a path: the default to either side", osmdata.Path, nil,
			exposure.Side{LowM: 8, LeastM: 8, Default: true}, exposure.Side{LowM: 8, LeastM: 8, Default: true}},
		{"nothing mapped beside a major road: the default on each pavement", osmdata.Primary, nil,
			exposure.Side{LowM: 4, LeastM: 4, Default: true}, exposure.Side{LowM: 4, LeastM: 4, Default: true}},
		{"a fence in a later cell does not beat a nearer wall", osmdata.Path, func(k *sketch.Map, _ *osmdata.Street) {
			k.Fence(sketch.Line(-500, 90, 1500, -39)) // crosses the way far off, is 8 to 58 m to the left here
			k.Wall(sketch.Line(-50, 5, 350, 5))
			k.Wall(sketch.Line(-50, -7, 350, -7))
		}, exposure.Side{LowM: 5, LeastM: 5}, exposure.Side{LowM: 7, LeastM: 7}},
		{"a passage under a house", osmdata.Footway, func(k *sketch.Map, s *osmdata.Street) {
			s.Flags |= osmdata.FlagTunnel
			k.House(-5, -40, 80)
		}, exposure.Side{LowM: 1.5, LeastM: 1.5}, exposure.Side{LowM: 1.5, LeastM: 1.5}},
		{"a street in a cutting: both sides together", osmdata.Tertiary, func(_ *sketch.Map, s *osmdata.Street) { s.Flags |= osmdata.FlagCutting },
			exposure.Side{LowM: .75, LeastM: .75}, exposure.Side{LowM: .75, LeastM: .75}},
		{"a bridge of a major road", osmdata.Primary, func(_ *sketch.Map, s *osmdata.Street) { s.Flags |= osmdata.FlagBridge },
			exposure.Side{LowM: 1.5, LeastM: 1.5}, exposure.Side{LowM: 1.5, LeastM: 1.5}},
		{"a major street counts from the kerb", osmdata.Primary, func(k *sketch.Map, s *osmdata.Street) {
			s.Lanes = 4
			k.Wall(sketch.Line(-50, 10, 350, 10))
		}, exposure.Side{LowM: 10 - 2*laneM, LeastM: 10 - 2*laneM}, exposure.Side{LowM: 12, LeastM: 12}},
		{"a path does not cross the main road beside it", osmdata.Footway, func(k *sketch.Map, _ *osmdata.Street) {
			k.Street(osmdata.Secondary, sketch.Line(-100, -15, 400, -15)).WidthM = 8
		}, exposure.Side{LowM: 25, LeastM: 25}, exposure.Side{LowM: 11, LeastM: 11}},
		{"but passes under its bridge", osmdata.Footway, func(k *sketch.Map, _ *osmdata.Street) {
			k.Street(osmdata.Secondary, sketch.Line(-100, -15, 400, -15)).Flags = osmdata.FlagBridge
		}, exposure.Side{LowM: 6, LeastM: 6, Default: true}, exposure.Side{LowM: 6, LeastM: 6, Default: true}},
		{"a lawn to the left lifts the cap", osmdata.Residential, func(k *sketch.Map, _ *osmdata.Street) {
			k.Ground(osmdata.Grass, -50, 6, 350, 28)
		}, exposure.Side{LowM: 25, LeastM: 25}, exposure.Side{LowM: 4.5, LeastM: 4.5, Default: true}},
		{"a park all round, but a fence to the right", osmdata.Path, func(k *sketch.Map, _ *osmdata.Street) {
			k.Ground(osmdata.Park, -100, -100, 400, 100)
			k.Fence(sketch.Line(-50, -31, 350, -31))
		}, exposure.Side{LowM: 40, LeastM: 40}, exposure.Side{LowM: 31, LeastM: 31}},
		{"farmland is not public", osmdata.Path, func(k *sketch.Map, _ *osmdata.Street) { k.Ground(osmdata.Farmland, -100, -100, 400, 100) },
			exposure.Side{LowM: 8, LeastM: 8, Default: true}, exposure.Side{LowM: 8, LeastM: 8, Default: true}},
		{"narrow for a fifth of the way: the quartile and the least", osmdata.Path, func(k *sketch.Map, _ *osmdata.Street) {
			k.Wall(sketch.Line(-50, 20, 350, 20))
			k.Wall(sketch.Line(-50, -20, 350, -20))
			k.Wall(sketch.Line(0, 2, 40, 2)) // felt 20 m beyond its end
		}, exposure.Side{LowM: 20, LeastM: 2}, exposure.Side{LowM: 20, LeastM: 20}},
	} {
		k := sketch.New()
		s := k.Street(c.class, east)
		if c.prepare != nil {
			c.prepare(k, s)
			s = &k.X.Streets[0]
		}
		left, right := roomOf(t, k, s)
		if !sideIs(left, c.left) || !sideIs(right, c.right) {
			t.Errorf("%s: left %+v right %+v, want %+v and %+v", c.name, left, right, c.left, c.right)
		}
	}
}

func sideIs(a, b exposure.Side) bool {
	return math.Abs(float64(a.LowM-b.LowM)) < 1e-3 && math.Abs(float64(a.LeastM-b.LeastM)) < 1e-3 && a.Default == b.Default
}

// One ray to each side slips between houses; so would the envelope if it were
// narrower than the gap and a house. This is what the five rays are for.
func TestSingleRaysSlipThroughGaps(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Footway, sketch.Line(0, 0, 300, 0))
	for x := -32.0; x < 330; x += 16 {
		k.House(x, 12, 10)
	}
	terr := NewTerrain(&k.X, nil)
	open := 0
	s := Sampler{G: k.Net(t)}
	all := s.Samples(0)
	for _, x := range all {
		if _, hit := terr.lines.FirstHit(x.At, x.At.Add(plane.Point{Y: roomReachM}), stopsWay); !hit {
			open++
		}
	}
	if share := float64(open) / float64(len(all)); share < 0.25 {
		t.Errorf("single rays see through %v of the samples: the trap is not in the test", share)
	}
}

// plainEnvelope is the slow twin of envelope: five rays against every wall.
func plainEnvelope(walls []plane.Segment, at, dir plane.Point, sign float64) float64 {
	across := plane.Point{X: -dir.Y, Y: dir.X}.Mul(sign)
	least := math.Inf(1)
	for _, off := range []float64{-20, -10, 0, 10, 20} {
		begin := at.Add(across.Mul(besideM))
		from := begin.Add(dir.Mul(off))
		if firstCrossing(walls, begin, from) <= 1 {
			continue
		}
		if d := firstCrossing(walls, from, from.Add(across.Mul(roomReachM))); d <= 1 {
			least = min(least, d*roomReachM+besideM)
		}
	}
	return least
}

// firstCrossing is where the way from p to q first crosses a wall, as a share of
// it; above 1 if it does not.
func firstCrossing(walls []plane.Segment, p, q plane.Point) float64 {
	first := 2.0
	for _, w := range walls {
		b1 := w.B.Sub(w.A).Cross(p.Sub(w.A))
		b2 := w.B.Sub(w.A).Cross(q.Sub(w.A))
		a1 := q.Sub(p).Cross(w.A.Sub(p))
		a2 := q.Sub(p).Cross(w.B.Sub(p))
		if b1*b2 < 0 && a1*a2 < 0 {
			first = min(first, b1/(b1-b2))
		}
	}
	return first
}

func TestEnvelopeAgainstPlainRays(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		k := sketch.New()
		k.Street(osmdata.Path, sketch.Line(0.5, 0.25, 90.5, 37.25))
		var walls []plane.Segment
		for range rapid.IntRange(0, 15).Draw(rt, "walls") {
			a := plane.Point{X: rapid.Float64Range(-40, 130).Draw(rt, "x"), Y: rapid.Float64Range(-60, 100).Draw(rt, "y")}
			b := a.Add(plane.Point{X: rapid.Float64Range(-30, 30).Draw(rt, "dx"), Y: rapid.Float64Range(1, 30).Draw(rt, "dy")})
			k.Wall(plane.Polyline{a, b})
			walls = append(walls, plane.Segment{A: a, B: b})
		}
		g := k.Net(t)
		r := roomer{g: g, t: NewTerrain(&k.X, nil), s: Sampler{G: g}}
		all := slices.Clone(r.s.Samples(0))
		r.gather(all)
		for _, x := range all {
			r.turn(&x)
			for _, sign := range []float64{1, -1} {
				got, want := r.envelope(&g.Parts[0], sign), plainEnvelope(walls, x.At, x.dir, sign)
				if math.Abs(got-want) > 1e-6 && got != want {
					rt.Fatalf("at %v side %v: %v, plain rays %v", x.At, sign, got, want)
				}
			}
		}
	})
}

// What is drawn along the very line of a way stands on neither side of it, however its
// places are rounded.
func TestWallAlongTheWay(t *testing.T) {
	for _, turn := range []float64{0, .1, .7, 1.3, 2.9} {
		k := sketch.New()
		at := func(x float64) plane.Point { return plane.Point{X: x * math.Cos(turn), Y: x * math.Sin(turn)} }
		k.Street(osmdata.Path, plane.Polyline{at(-100), at(100)})
		k.Wall(plane.Polyline{at(-60), at(-20.1), at(33.3), at(70)})
		l, r, err := Room(context.Background(), k.Net(t), NewTerrain(&k.X, nil), nil, 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		if want := float32(defaultRoomM[osmdata.Path]); l[0].LeastM != want || r[0].LeastM != want {
			t.Errorf("turned by %g: %v and %v, want %g", turn, l[0], r[0], want)
		}
	}
}

// Cutting a wall in two, or the edge at a sample's border, changes nothing.
func TestRoomDoesNotSeeCuts(t *testing.T) {
	build := func(cut bool) (*network.Graph, []exposure.Side) {
		k := sketch.New()
		k.Street(osmdata.Path, sketch.Line(0, 0, 100, 0))
		if cut {
			k.Wall(sketch.Line(-50, 6, 33, 6, 150, 6))
		} else {
			k.Wall(sketch.Line(-50, 6, 150, 6))
		}
		g := k.Net(t)
		l, _, err := Room(context.Background(), g, NewTerrain(&k.X, nil), nil, 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		return g, l
	}
	_, whole := build(false)
	_, cut := build(true)
	if !slices.Equal(whole, cut) {
		t.Errorf("whole wall %v, cut %v", whole, cut)
	}
}

func TestHalfWidth(t *testing.T) {
	for _, c := range []struct {
		name  string
		class osmdata.Class
		flags osmdata.StreetFlags
		width float32
		lanes float32
		wantM float64
	}{
		{"as tagged", osmdata.Primary, 0, 9, 4, 4.5},
		{"by lanes", osmdata.Primary, 0, 0, 4, 2 * laneM},
		{"two lanes by default", osmdata.Residential, 0, 0, 0, laneM},
		{"one way, one lane", osmdata.Secondary, osmdata.FlagOneWay, 0, 0, laneM / 2},
		{"half of a dual road", osmdata.Motorway, osmdata.FlagOneWay, 0, 0, laneM},
		{"a slip road", osmdata.Motorway, osmdata.FlagOneWay | osmdata.FlagLink, 0, 0, laneM / 2},
		{"a path has no carriageway", osmdata.Path, 0, 0, 0, 0},
	} {
		if got := halfWidthM(c.class, c.flags, c.width, c.lanes); math.Abs(got-c.wantM) > 1e-6 {
			t.Errorf("%s: %v m, want %v", c.name, got, c.wantM)
		}
	}
}
