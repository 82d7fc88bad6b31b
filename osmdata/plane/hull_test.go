package plane

import (
	"math"
	"testing"
)

// Convex hulls by hand.
func TestConvexHull(t *testing.T) {
	points := []Point{{}, {X: 10}, {X: 10, Y: 10}, {Y: 10}, {X: 5, Y: 5}, {X: 5}, {X: 1, Y: 1}, {X: 10, Y: 10}}
	h := HullOf(points)
	if len(h) != 4 {
		t.Fatalf("hull %v", h)
	}
	for _, c := range []struct {
		p    Point
		want float64
	}{{Point{X: 5, Y: 5}, 5}, {Point{X: 9, Y: 5}, 1}, {Point{}, 0}} {
		if got := h.DepthM(c.p); math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%v lies %g deep, want %g", c.p, got, c.want)
		}
	}
	if h := HullOf([]Point{{}, {X: 1}}); len(h) != 2 {
		t.Errorf("hull of two points %v", h)
	}
}
