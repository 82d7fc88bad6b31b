package routing_test

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/plantest"
	"wideberth/routing/snapshot/maptest"
)

// toSource is the distance in metres from a place to a source, by another library,
// and the point of the source that is nearest; negative within the circle of one that
// has no outline.
func toSource(s *exposure.Source, at plane.Point) (distM float64, to plane.Point) {
	if len(s.Area) == 0 {
		return at.DistanceM(s.At) - float64(s.RadiusM), s.At
	}
	distM = math.Inf(1)
	for _, a := range s.Area {
		var g orb.Polygon
		for _, r := range append([]plane.Ring{a.Outer}, a.Holes...) {
			var ring orb.Ring
			for _, q := range append(r, r[0]) {
				ring = append(ring, orb.Point{q.X, q.Y})
			}
			g = append(g, ring)
		}
		if planar.PolygonContains(g, orb.Point{at.X, at.Y}) {
			return 0, at
		}
		for _, ring := range g {
			if d, i := planar.DistanceFromWithIndex(orb.LineString(ring), orb.Point{at.X, at.Y}); d < distM {
				j := max(0, min(i, len(ring)-2))
				q, _ := plane.NearestOnSegment(at, plane.Point{X: ring[j][0], Y: ring[j][1]}, plane.Point{X: ring[j+1][0], Y: ring[j+1][1]})
				distM, to = d, q
			}
		}
	}
	return distM, to
}

// leftByKerb tells a side by what it means: from the left kerb, a little before the
// place, one gets towards what is on the left without crossing the way.
func leftByKerb(l plane.Polyline, alongM float64, to plane.Point) bool {
	const stepM, kerbM = 0.2, 0.001
	at, before := l.At(alongM), l.DirectionAt(alongM-stepM)
	a := l.At(alongM - stepM).Add(plane.Point{X: -before.Y, Y: before.X}.Mul(kerbM))
	b := at.Add(to.Sub(at).Mul(stepM / to.DistanceM(at)))
	area := func(p, q, r plane.Point) float64 { return q.Sub(p).Cross(r.Sub(p)) }
	near := l.Cut(alongM-1, alongM+1)
	left := true
	for i := 1; i < len(near); i++ {
		c, d := near[i-1], near[i]
		if area(a, b, c)*area(a, b, d) < 0 && area(c, d, a)*area(c, d, b) < 0 {
			left = !left
		}
	}
	return left
}

// TestPassedIsMeasuredOnTheWay holds where, how near and on which side sources are
// passed against many points of the walk and another library's distances.
func TestPassedIsMeasuredOnTheWay(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	rng := rand.New(rand.NewPCG(5, 0))
	dog := maptest.Kessa()
	dog.ByKind[exposure.Child] = exposure.Need{WorkingM: 60, ReactionM: 20} // bus stops, schools
	corners, sides := 0, map[string]int{}
	for i, from := range maptest.RandomDoors(p.Snapshot(), 24, rng) {
		wish := routing.Wish{From: from, Shape: routing.Loop, Dog: dog, Depart: maptest.Morning, Minutes: 20 + 10*float64(i%4)}
		if i%3 == 2 {
			wish.Shape = routing.ThereAndBack
		}
		plan, err := p.Plan(context.Background(), wish)
		if err != nil {
			continue
		}
		for k := range plan.Walks {
			w := &plan.Walks[k]
			for _, s := range w.Passed {
				corner, side := holdPassed(t, p, w, &s)
				if sides[side]++; corner {
					corners++
				}
			}
		}
	}
	t.Logf("sides held %v, %d of them at corners", sides, corners)
	if sides["left"] < 50 || sides["right"] < 50 || corners < 20 {
		t.Errorf("held too few: %v, %d at corners", sides, corners)
	}
}

// holdPassed says whether the source was passed at a corner, and the side if that
// could be held.
func holdPassed(t *testing.T, p *routing.Planner, w *routing.Walk, s *routing.Passed) (corner bool, side string) {
	t.Helper()
	const stepM, slackM = 0.2, 0.6 // lengths of the walk are sums of rounded ones
	source := &p.Snapshot().Field.Sources[s.Source]
	least, at := math.Inf(1), 0.0
	for m := 0.0; m <= w.Line.LengthM(); m += stepM {
		if d, _ := toSource(source, w.Line.At(m)); d < least-0.02 {
			least, at = d, m
		}
	}
	if math.Abs(max(0, least)-s.NearestM) > stepM {
		t.Errorf("%s (source %d) is passed at %.2f m, told %.2f m", s.Name, s.Source, least, s.NearestM)
	}
	if d, _ := toSource(source, w.Line.At(s.FromM)); max(0, d) > s.NearestM+slackM {
		t.Errorf("%s (source %d) is %.2f m away at %.1f m, where %.2f m are told", s.Name, s.Source, d, s.FromM, s.NearestM)
	}
	// The exact place near the one that is told.
	if math.Abs(at-s.FromM) > 3 || least < 0.5 {
		return false, "" // twice as near, or within it
	}
	near := w.Line.Cut(s.FromM-4, s.FromM+4)
	_, to := toSource(source, w.Line.At(at))
	_, along, d := near.Nearest(to)
	along += max(0, s.FromM-4)
	before, after := w.Line.DirectionAt(along-0.1), w.Line.DirectionAt(along+0.1)
	if along < 1 || along > w.Line.LengthM()-1 || d < 0.5 || before.Dot(after) < -0.9 {
		return false, "" // at an end, or where the walk turns about
	}
	side = "right"
	if leftByKerb(w.Line, along, to) {
		side = "left"
	}
	if s.Side != side {
		t.Errorf("%s (source %d) at %.1f m: told %s, is %s", s.Name, s.Source, s.FromM, s.Side, side)
	}
	return math.Abs(before.Cross(after)) > 0.3, side
}
