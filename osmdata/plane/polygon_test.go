package plane_test

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
)

func square(x, y, side float64) plane.Ring {
	return plane.Ring{{x, y}, {x + side, y}, {x + side, y + side}, {x, y + side}}
}

// a U, open to the north, whose centroid lies in the gap
var horseshoe = plane.Polygon{Outer: plane.Ring{{0, 0}, {10, 0}, {10, 10}, {8, 10}, {8, 1}, {2, 1}, {2, 10}, {0, 10}}}

func TestPolygon(t *testing.T) {
	pond := plane.Polygon{Outer: square(0, 0, 10), Holes: []plane.Ring{square(4, 4, 4)}}
	for _, c := range []struct {
		name  string
		p     plane.Point
		in    bool
		distM float64
	}{
		{"on the land", pt(2, 2), true, 0},
		{"in the hole", pt(5, 6), false, 1},
		{"west of it", pt(-3, 5), false, 3},
		{"off a corner", pt(13, 14), false, 5},
	} {
		if got := pond.Contains(c.p); got != c.in {
			t.Errorf("%s: inside %v", c.name, got)
		}
		if got := pond.DistanceM(c.p); math.Abs(got-c.distM) > 1e-12 {
			t.Errorf("%s: %v m away, want %v", c.name, got, c.distM)
		}
	}
	if got := pond.AreaM2(); got != 84 {
		t.Errorf("area %v, want 84", got)
	}
	// 100 m2 at (5,5) without 16 m2 at (6,6)
	want := pt((500-96)/84.0, (500-96)/84.0)
	if got := pond.Centroid(); !near(got, want, 1e-12) {
		t.Errorf("centroid %v, want %v", got, want)
	}
	if got := pond.Box(); got != (plane.Box{Min: pt(0, 0), Max: pt(10, 10)}) {
		t.Errorf("box %v", got)
	}
}

func TestPolygonInside(t *testing.T) {
	if horseshoe.Contains(horseshoe.Centroid()) {
		t.Fatal("the case is none: the centroid lies inside")
	}
	if p := horseshoe.Inside(); !horseshoe.Contains(p) {
		t.Errorf("%v is not inside", p)
	}
	flat := plane.Polygon{Outer: plane.Ring{{1, 1}, {3, 1}, {5, 1}}}
	if p := flat.Centroid(); !near(p, pt(3, 1), 1e-12) {
		t.Errorf("centroid of a polygon without area %v", p)
	}
	if p := (plane.Polygon{}).Inside(); p != (plane.Point{}) {
		t.Errorf("inside of nothing is %v", p)
	}
}

func TestRingDirectionAndClosing(t *testing.T) {
	r := square(1e6, 2e6, 3)
	if got := r.AreaM2(); got != 9 {
		t.Errorf("anticlockwise far from the origin: %v, want 9", got)
	}
	closed := append(slices.Clone(r), r[0])
	if got := closed.AreaM2(); got != 9 {
		t.Errorf("closed: %v", got)
	}
	slices.Reverse(r)
	if got := r.AreaM2(); got != -9 {
		t.Errorf("clockwise: %v, want -9", got)
	}
	if got := (plane.Ring{}).AreaM2(); got != 0 {
		t.Errorf("no ring has area %v", got)
	}
}

// Star-shaped rings at random, against another library.
func TestPolygonAgainstLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 15).Draw(t, "n")
		var r plane.Ring
		var o orb.Ring
		for i := range n {
			a := 2 * math.Pi * float64(i) / float64(n)
			d := rapid.Float64Range(5, 100).Draw(t, "radius")
			r = append(r, plane.Point{X: d * math.Cos(a), Y: d * math.Sin(a)})
			o = append(o, orb.Point{d * math.Cos(a), d * math.Sin(a)})
		}
		o = append(o, o[0])
		if rapid.Bool().Draw(t, "clockwise") {
			slices.Reverse(r)
		}
		g := plane.Polygon{Outer: r}
		centre, area := planar.CentroidArea(o)
		if math.Abs(g.AreaM2()-math.Abs(area)) > 1e-7 {
			t.Fatalf("area %v, library %v", g.AreaM2(), area)
		}
		if !near(g.Centroid(), plane.Point{X: centre[0], Y: centre[1]}, 1e-7) {
			t.Fatalf("centroid %v, library %v", g.Centroid(), centre)
		}
		p := drawPoint(t, 100)
		op := orb.Point{p.X, p.Y}
		if edge := planar.DistanceFrom(orb.LineString(o), op); edge > 1e-9 {
			if got, want := g.Contains(p), planar.RingContains(o, op); got != want {
				t.Fatalf("contains %v: %v, library %v", p, got, want)
			}
			if got := g.DistanceM(p); !g.Contains(p) && math.Abs(got-edge) > 1e-9 {
				t.Fatalf("distance %v, library %v", got, edge)
			}
		}
		if !g.Contains(g.Inside()) {
			t.Fatalf("%v is not inside", g.Inside())
		}
	})
}

func TestBox(t *testing.T) {
	e := plane.EmptyBox()
	b := plane.Box{Min: pt(0, 0), Max: pt(4, 2)}
	if !e.Empty() || b.Empty() || e.Contains(plane.Point{}) || e.Intersects(b) || e.Union(b) != b {
		t.Error("the empty box is not neutral")
	}
	if got := b.Grown(-3); !got.Empty() {
		t.Errorf("a box shrunk beyond its middle is %v", got)
	}
	c := plane.Box{Min: pt(4, 2), Max: pt(5, 5)}
	if !b.Intersects(c) || b.Intersects(c.Grown(-0.1)) {
		t.Error("boxes that share a corner intersect, and no others")
	}
	if got := b.Union(c); got != (plane.Box{Min: pt(0, 0), Max: pt(5, 5)}) {
		t.Errorf("union %v", got)
	}
}

func TestBoxDistance(t *testing.T) {
	b := plane.Box{Min: pt(0, 0), Max: pt(4, 2)}
	for _, c := range []struct {
		name  string
		p     plane.Point
		distM float64
	}{{"inside", pt(1, 1), 0}, {"on its border", pt(4, 1), 0}, {"east of it", pt(9, 1), 5}, {"off a corner", pt(-3, 6), 5}} {
		if got := b.DistanceM(c.p); got != c.distM {
			t.Errorf("%s: %v m, want %v", c.name, got, c.distM)
		}
	}
}
