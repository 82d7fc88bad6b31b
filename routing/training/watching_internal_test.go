package training

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/search"
	"wideberth/routing/snapshot/maptest"
)

// TestPostsHoldTheirRules: every post of the town lies in the band, no nearer to what is
// watched than told, within reach on foot, on one way where one may stand, with the room of
// the side that is away from what is watched.
func TestPostsHoldTheirRules(t *testing.T) {
	s, views, posts := scouted(t, append(exposure.Dogs.Kinds(), exposure.Car))
	g, f := s.p.Land().Snap.Graph, s.p.Land().Snap.Field
	// The way from the start to every vertex of the network, by relaxing.
	start, err := s.p.Land().Place(s.from)
	if err != nil {
		t.Fatal(err)
	}
	walk := make([]float64, len(g.Vertex))
	for v := range walk {
		walk[v] = math.Inf(1)
	}
	var todo []int32
	for _, e := range s.p.Land().Ends(start) {
		walk[e.Vertex] = math.Min(walk[e.Vertex], e.Offset)
		todo = append(todo, e.Vertex)
	}
	for ; len(todo) > 0; todo = todo[1:] {
		for a := g.Star.First[todo[0]]; a < g.Star.First[todo[0]+1]; a++ {
			if m := walk[todo[0]] + float64(g.LengthM[g.ArcEdge[a]]); m < walk[g.Star.Head[a]]-1e-9 {
				walk[g.Star.Head[a]] = m
				todo = append(todo, g.Star.Head[a])
			}
		}
	}
	areas, ways, left := 0, 0, 0
	for i, v := range views {
		for k := range posts[i] {
			c := &posts[i][k]
			least := math.Inf(1)
			for _, l := range v.lines {
				_, _, d := l.Nearest(c.At)
				least = math.Min(least, d)
			}
			if v.areas != nil {
				for j := range v.areas.Area {
					least = math.Min(least, v.areas.Area[j].DistanceM(c.At))
				}
				if len(v.areas.Area) == 0 {
					least = math.Max(0, c.At.DistanceM(v.areas.At)-float64(v.areas.RadiusM))
				}
				areas++
			} else {
				ways++
			}
			if math.Abs(c.DistM-least) > 0.01 || math.Abs(c.Multiple-least/v.WorkingM) > 1e-3 || c.Multiple < 1-1e-9 || c.Multiple > 2.2+1e-9 {
				t.Fatalf("a post %.2f m off, told are %.2f m and %.3f times the distance", least, c.DistM, c.Multiple)
			}
			a := g.EdgeArc[c.Edge]
			on := math.Min(walk[g.Star.Head[g.Star.Twin[a]]]+c.alongM, walk[g.Star.Head[a]]+float64(g.LengthM[c.Edge])-c.alongM)
			if math.Abs(c.WalkM-on) > 0.5 || c.WalkM > s.reachM {
				t.Fatalf("a post %.1f m on foot, told are %.1f m", on, c.WalkM)
			}
			line := g.EdgeLine(c.Edge)
			if line.At(c.alongM).DistanceM(c.At) > 0.1 {
				t.Fatal("a post off its edge")
			}
			part := partAt(s.p, c.Edge, c.alongM)
			if !standable(part.Class, part.Flags, false) || c.Street == "" || c.SightShare < leastSightShare || c.SightShare > 1 {
				t.Fatalf("a post on %q that sees %g", c.Street, c.SightShare)
			}
			// Which side is away: by the sign of the cross product with the line's direction.
			toward := v.toward[c.vertex].Sub(c.At)
			if cross := line.DirectionAt(c.alongM + 0.01).Cross(toward); math.Abs(cross) > 0.2*toward.NormM() {
				side := f.Sides(c.Edge, false).Left
				if cross > 0 {
					side = f.Sides(c.Edge, false).Right
					left++
				}
				if c.RoomM != float64(side.LowM) || c.RoomDefault != side.Default {
					t.Fatalf("a post with %g m of room, on the side away are %g m", c.RoomM, side.LowM)
				}
			}
		}
	}
	if areas < 20 || ways < 20 || left < 10 {
		t.Errorf("%d posts of areas, %d of ways, %d with what is watched on the left", areas, ways, left)
	}
}

// TestCrossingOfAnArea: the mean chord of a convex area is pi A / P (Cauchy; as in texts of
// integral geometry, Santalo 1976): of a square of side a it is pi a / 4, of a disc pi r / 2.
func TestCrossingOfAnArea(t *testing.T) {
	square := plane.Polygon{Outer: plane.Ring{{}, {X: 120}, {X: 120, Y: 120}, {Y: 120}}}
	speed := exposure.Adult.Info().SpeedMPS
	for _, c := range []struct {
		what string
		src  exposure.Source
		want float64
	}{
		{"a square of 120 m", exposure.Source{Area: []plane.Polygon{square}, AreaM2: 14_400}, math.Pi * 120 / 4 / speed},
		{"a place of 60 m", exposure.Source{RadiusM: 60}, math.Pi * 60 / 2 / speed},
		{"a small place", exposure.Source{RadiusM: 5}, exposure.DeadTimeS},
	} {
		v := &view{areas: &c.src}
		if got := v.crossingS(exposure.Adult); math.Abs(got-c.want) > 1e-6 {
			t.Errorf("%s is crossed in %g s, want %g s", c.what, got, c.want)
		}
		if got := v.crossingS(exposure.DogBehindFence); exposure.DogBehindFence.Info().SpeedMPS == 0 && got != 2*exposure.DeadTimeS {
			t.Errorf("%s: who does not move shows for %g s", c.what, got)
		}
	}
}

// TestPassersByHand: two streams at 60 m, one too near and one too far to be what is watched:
// numbers add, each lasts by its speed, and the dog reacts at the distance of the place.
func TestPassersByHand(t *testing.T) {
	dog := maptest.Kessa()
	s := &scout{dog: &dog}
	v := &view{kinds: []exposure.Kind{exposure.DogOnLead, exposure.DogOffLead}}
	term := func(k exposure.Kind, distM, rate float64) exposure.Term {
		return exposure.Term{Kind: k, Source: -1, DistM: distM, RatePerS: rate, HazardPerS: 1}
	}
	terms := []exposure.Term{term(exposure.DogOnLead, 60, 0.01), term(exposure.DogOffLead, 60, 0.005), term(exposure.DogOnLead, 40, 1), term(exposure.DogOnLead, 91, 1), term(exposure.Adult, 60, 1)}
	own := term(exposure.DogOnLead, 60, 1)
	own.Own = true
	source := term(exposure.DogOnLead, 60, 1)
	source.Source = 3
	terms = append(terms, own, source)
	var out Showing
	s.passers(v, &Vantage{DistM: 60}, 300, terms, &out)
	onLead, off := exposure.DogOnLead.Info().SpeedMPS, exposure.DogOffLead.Info().SpeedMPS
	per := (3/onLead + 1.5/off) / 4.5
	p := dog.Need(exposure.DogOnLead).P(60)
	if math.Abs(out.Number-4.5) > 1e-9 || out.Active != 1 || math.Abs(out.WatchX-4.5*p) > 1e-9 {
		t.Errorf("%+v, want 4.5 of them and %g reactions", out, 4.5*p)
	}
	// A chord at 60 m of a circle of 66 m: 2 sqrt(66^2 - 60^2) = 55.0 m, of one of 75 m 90 m.
	if math.Abs(out.LastsLowS-2*math.Sqrt(66*66-60*60)*per) > 1e-6 || math.Abs(out.LastsHighS-90*per) > 1e-6 {
		t.Errorf("they last %g to %g s, want %g to %g s", out.LastsLowS, out.LastsHighS, 2*math.Sqrt(66*66-60*60)*per, 90*per)
	}
	var none Showing
	s.passers(v, &Vantage{DistM: 60}, 300, nil, &none)
	if none.Number != 0 || none.LastsHighS != 0 {
		t.Errorf("nobody passes: %+v", none)
	}
	for i, want := range []bool{true, true, false, true, false, false, false} {
		if got := v.watches(&terms[i], 60); got != want {
			t.Errorf("term %d is watched: %v", i, got)
		}
	}
	area := &view{areas: &exposure.Source{}, Watched: Watched{Source: 3}}
	if !area.watches(&source, 60) || area.watches(&terms[0], 60) {
		t.Error("of an area its source is watched, and nothing else")
	}
}

// TestShowingAddsUp: what a place shows is enough to train by, what else comes is the rest of
// what is met there at rest, numbers lie in their range, and food lasts for what may come.
func TestShowingAddsUp(t *testing.T) {
	s, views, posts := scouted(t, exposure.Dogs.Kinds())
	shown, refused := 0, 0
	for _, at := range []time.Time{time.Date(2026, 11, 28, 7, 20, 0, 0, time.UTC), time.Date(2026, 11, 28, 16, 0, 0, 0, time.UTC), time.Date(2026, 11, 28, 3, 0, 0, 0, time.UTC)} {
		m := s.p.Land().Clock.At(at)
		for i, v := range views {
			for k := 0; k < len(posts[i]); k += 6 {
				c := &posts[i][k].Vantage
				out, ok := s.showing(v, c, m, 450)
				if !ok {
					refused++
					continue
				}
				shown++
				if out.Number < math.Ln2-0.01 || out.Active < 0.5 || out.Number > 450/exposure.DeadTimeS && v.areas != nil {
					t.Fatalf("%g of them with a chance of %g", out.Number, out.Active)
				}
				other := 0.0
				for _, x := range s.p.Land().Snap.Field.Explain(c.Edge, s.standing, m, nil) {
					if !v.watches(&x, c.DistM) {
						other += 450 * x.HazardPerS
					}
				}
				if math.Abs(out.OtherX-other) > 1e-9+1e-6*other {
					t.Fatalf("everything else brings %g, want %g", out.OtherX, other)
				}
				if out.Low > out.Number || out.High < out.Number || out.LastsLowS > out.LastsHighS || out.TreatsLow > out.TreatsHigh || out.TreatsLow < 1 || out.TreatsHigh > 225 {
					t.Fatalf("%+v", out)
				}
				if most := math.Min(math.Max(out.High, 1)*out.LastsHighS, 450); out.TreatsHigh != int(math.Ceil(most/routing.RewardFastS)) {
					t.Fatalf("%d treats for %g s", out.TreatsHigh, most)
				}
				// That of at least one, by Poisson: of 1.05 expected 65 in 100 show one.
				if math.Abs(out.Active-1+math.Exp(-out.Number)) > 1e-12 || v.areas != nil && s.chance(v, m) < 0.5 {
					t.Fatalf("%g of %g shows", out.Active, out.Number)
				}
			}
		}
	}
	if shown < 10 || refused < 10 {
		t.Errorf("%d places show something, %d nothing: too much alike", shown, refused)
	}
}

// TestAnchorsAreGreedy: stretches are taken from the start outward, 300 m apart, six at most,
// on the ways and within reach; one that is left out lies near one that is nearer, or beyond
// the sixth.
func TestAnchorsAreGreedy(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 5))
	full := 0
	for range 60 {
		s := &scout{from: plane.Point{X: 50, Y: -20}, reachM: 300 + 1500*rng.Float64()}
		var lines []plane.Polyline
		for range 1 + rng.IntN(8) {
			at := func() plane.Point { return plane.Point{X: 1500 * rng.NormFloat64(), Y: 1500 * rng.NormFloat64()} }
			lines = append(lines, plane.Polyline{at(), at()})
		}
		got := s.anchors(lines)
		if len(got) > mostAnchors {
			t.Fatalf("%d stretches", len(got))
		}
		if len(got) == mostAnchors {
			full++
		}
		for i, p := range got {
			least := math.Inf(1)
			for _, l := range lines {
				_, _, d := l.Nearest(p)
				least = math.Min(least, d)
			}
			if least > 1e-6 || p.DistanceM(s.from) > s.reachM || i > 0 && p.DistanceM(s.from) < got[i-1].DistanceM(s.from) {
				t.Fatalf("a stretch %g m off all ways, %g m off the start", least, p.DistanceM(s.from))
			}
			for _, q := range got[:i] {
				if p.DistanceM(q) < anchorApartM {
					t.Fatalf("two stretches %g m apart", p.DistanceM(q))
				}
			}
		}
		for _, l := range lines {
			n := max(1, int(l.LengthM()/anchorStepM))
			for i := range n {
				p := l.At(l.LengthM() * (float64(i) + .5) / float64(n))
				d := p.DistanceM(s.from)
				if d > s.reachM || slices.ContainsFunc(got, func(q plane.Point) bool { return q.DistanceM(p) < anchorApartM && q.DistanceM(s.from) <= d+1e-9 }) {
					continue
				}
				if len(got) < mostAnchors || d < got[mostAnchors-1].DistanceM(s.from) {
					t.Fatalf("a stretch %g m off the start is left out", d)
				}
			}
		}
	}
	if full == 0 {
		t.Error("never six stretches")
	}
}

// TestOutlinesToLookAt: of an area eight points evenly along the outline of its nearest part,
// of a place a circle, of a way the stretch passed by.
func TestOutlinesToLookAt(t *testing.T) {
	square := func(x float64) plane.Polygon {
		return plane.Polygon{Outer: plane.Ring{{X: x}, {X: x + 40}, {X: x + 40, Y: 40}, {X: x, Y: 40}}}
	}
	v := &view{areas: &exposure.Source{Area: []plane.Polygon{square(0), square(500)}}}
	for at, want := range map[plane.Point]float64{{X: -50}: 0, {X: 600}: 500} {
		got := v.outline(at, plane.Point{}, 50)
		if len(got) != sightPoints {
			t.Fatalf("%d points", len(got))
		}
		for i, p := range got {
			if p.X < want || p.X > want+40 || p.DistanceM(got[(i+1)%len(got)]) > 20+1e-9 {
				t.Errorf("from %v one looks at %v", at, p)
			}
		}
	}
	v = &view{areas: &exposure.Source{RadiusM: 15}, Watched: Watched{At: plane.Point{X: 7}}}
	for _, p := range v.outline(plane.Point{}, plane.Point{}, 50) {
		if math.Abs(p.DistanceM(plane.Point{X: 7})-15) > 1e-9 {
			t.Errorf("one looks at %v of a place of 15 m", p)
		}
	}
	way := &view{lines: []plane.Polyline{{{X: -100, Y: 30}, {X: 100, Y: 30}}, {{X: -100}, {X: 100}}}}
	got := way.outline(plane.Point{Y: -40}, plane.Point{X: 80}, 40)
	var xs []float64
	for _, p := range got {
		if math.Abs(p.Y) > 1e-9 {
			t.Errorf("one looks at %v of a way along y = 0", p)
		}
		xs = append(xs, math.Round(p.X))
	}
	slices.Sort(xs)
	if want := []float64{40, 50, 60, 70, 80, 90, 100}; !slices.Equal(xs, want) {
		t.Errorf("one looks at %v, want %v", xs, want)
	}
	if got := way.outline(plane.Point{}, plane.Point{X: 5, Y: 15}, 40); len(got) != 1 || got[0] != (plane.Point{X: 5, Y: 15}) {
		t.Errorf("beside all ways one looks at %v", got)
	}
	if n := way.points(); n != 5 {
		t.Errorf("%d points of two ways of two", n)
	}
	if d, toward := way.nearest(plane.Point{X: 3, Y: 20}); d != 10 || toward != (plane.Point{X: 3, Y: 30}) {
		t.Errorf("%g m to %v", d, toward)
	}
	if (&scout{}).inward(way, plane.Point{X: 9}) != (plane.Point{}) {
		t.Error("looking in from nowhere")
	}
}

// TestKindsOfASource: of what is at a source those kinds are watched that stay, that are asked
// for and that the dog minds, at the largest of their distances.
func TestKindsOfASource(t *testing.T) {
	dog := maptest.Kessa()
	s := &scout{memo: newMemo(t.Context()), dog: &dog, kinds: []exposure.Kind{exposure.DogOnLead, exposure.Child, exposure.Car, exposure.Siren}}
	v := &view{areas: &exposure.Source{Mix: []exposure.Presence{{Kind: exposure.DogOnLead, Present: 1}, {Kind: exposure.Child, Present: 2}, {Kind: exposure.Adult, Present: 5}, {Kind: exposure.Car, Present: 1}, {Kind: exposure.Siren, PerDay: 3}}}}
	if !s.takeKinds(v) || !slices.Equal(v.kinds, []exposure.Kind{exposure.DogOnLead, exposure.Child}) || v.WorkingM != 38 {
		t.Errorf("watched are %v from %g m", v.kinds, v.WorkingM)
	}
	if empty := (&view{areas: &exposure.Source{Mix: []exposure.Presence{{Kind: exposure.Adult, Present: 5}}}}); s.takeKinds(empty) || empty.WorkingM != 0 {
		t.Errorf("watched are %v", empty.kinds)
	}
	var sieve Sieve
	for _, c := range []Vantage{{DistM: 70, Watched: Watched{Name: "A"}, Street: "one"}, {DistM: 50, Watched: Watched{Name: "B"}, Street: "two"}, {DistM: 60, Watched: Watched{Name: "C"}, Street: "three"}} {
		sieve.nearest(&c)
	}
	if sieve.NearestM != 50 || sieve.NearestAt != "B from two" {
		t.Errorf("the nearest is %q at %g m", sieve.NearestAt, sieve.NearestM)
	}
	// Work that is done ends a search, and is told apart from a context that has ended.
	s.work = search.NewWork(t.Context(), 10)
	if !s.spend(9) || s.over() || s.spend(5) || !s.over() {
		t.Error("ten steps of work")
	}
	if cut, err := s.ended(); !cut || err != nil {
		t.Errorf("cut short %v, %v", cut, err)
	}
	s.stop = context.Canceled
	if cut, err := s.ended(); cut || !errors.Is(err, context.Canceled) {
		t.Errorf("given up: cut short %v, %v", cut, err)
	}
}
