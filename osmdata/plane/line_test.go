package plane_test

import (
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"
	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
)

func near(a, b plane.Point, tolM float64) bool { return a.DistanceM(b) <= tolM }

// an L of 30 m east and 40 m north with a doubled point in the bend
var bent = plane.Polyline{{0, 0}, {30, 0}, {30, 0}, {30, 40}}

func TestLineAt(t *testing.T) {
	if got := bent.LengthM(); got != 70 {
		t.Errorf("length %v, want 70", got)
	}
	for _, c := range []struct {
		name   string
		m      float64
		at     plane.Point
		facing plane.Point
	}{
		{"before the beginning", -5, pt(0, 0), pt(1, 0)},
		{"beginning", 0, pt(0, 0), pt(1, 0)},
		{"first piece", 12, pt(12, 0), pt(1, 0)},
		{"on the bend", 30, pt(30, 0), pt(1, 0)},
		{"second piece", 45, pt(30, 15), pt(0, 1)},
		{"end", 70, pt(30, 40), pt(0, 1)},
		{"after the end", 99, pt(30, 40), pt(0, 1)},
	} {
		if got := bent.At(c.m); !near(got, c.at, 1e-12) {
			t.Errorf("%s: at %v, want %v", c.name, got, c.at)
		}
		if got := bent.DirectionAt(c.m); !near(got, c.facing, 1e-12) {
			t.Errorf("%s: faces %v, want %v", c.name, got, c.facing)
		}
	}
	dot := plane.Polyline{{3, 4}, {3, 4}}
	if got := dot.DirectionAt(0); got != (plane.Point{}) {
		t.Errorf("a line without length faces %v", got)
	}
	if got := (plane.Polyline{{3, 4}}).At(7); got != (pt(3, 4)) {
		t.Errorf("a single point is at %v", got)
	}
	if got := (plane.Polyline{{0, 0}, {0, 0}, {0, 9}}).DirectionAt(0); got != (pt(0, 1)) {
		t.Errorf("a doubled first point hides the heading: %v", got)
	}
}

func TestLineNearest(t *testing.T) {
	for _, c := range []struct {
		name     string
		p, at    plane.Point
		along, d float64
	}{
		{"beside the first piece", pt(10, -3), pt(10, 0), 10, 3},
		{"beyond the end", pt(33, 44), pt(30, 40), 70, 5},
		{"outside the bend", pt(33, -4), pt(30, 0), 30, 5},
		{"between two pieces, equally near: the first", pt(25, 5), pt(25, 0), 25, 5},
	} {
		at, along, d := bent.Nearest(c.p)
		if !near(at, c.at, 1e-12) || math.Abs(along-c.along) > 1e-12 || math.Abs(d-c.d) > 1e-12 {
			t.Errorf("%s: %v %v %v", c.name, at, along, d)
		}
	}
	if _, _, d := (plane.Polyline{}).Nearest(plane.Point{}); !math.IsInf(d, 1) {
		t.Errorf("no line is %v away", d)
	}
	if _, _, d := (plane.Polyline{{3, 4}}).Nearest(plane.Point{}); d != 5 {
		t.Errorf("a single point is %v away", d)
	}
}

func drawPoint(t *rapid.T, rangeM float64) plane.Point {
	return plane.Point{
		X: rapid.Float64Range(-rangeM, rangeM).Draw(t, "x"),
		Y: rapid.Float64Range(-rangeM, rangeM).Draw(t, "y"),
	}
}

func drawLine(t *rapid.T, rangeM float64) plane.Polyline {
	l := make(plane.Polyline, rapid.IntRange(2, 12).Draw(t, "n"))
	for i := range l {
		l[i] = drawPoint(t, rangeM)
	}
	return l
}

func TestLineProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLine(t, 100)
		p := drawPoint(t, 150)
		full := l.LengthM()
		at, along, d := l.Nearest(p)
		if !near(l.At(along), at, 1e-7) {
			t.Fatalf("nearest says %v at %v m, there is %v", at, along, l.At(along))
		}
		ls := make(orb.LineString, len(l))
		for i, q := range l {
			ls[i] = orb.Point{q.X, q.Y}
		}
		if want := planar.DistanceFrom(ls, orb.Point{p.X, p.Y}); math.Abs(d-want) > 1e-9 {
			t.Fatalf("distance %v, another library says %v", d, want)
		}
		if want := planar.Length(ls); math.Abs(full-want) > 1e-9 {
			t.Fatalf("length %v, another library says %v", full, want)
		}
		a, b := rapid.Float64Range(0, full).Draw(t, "from"), rapid.Float64Range(0, full).Draw(t, "to")
		cut := l.Cut(a, b)
		if math.Abs(cut.LengthM()-math.Abs(a-b)) > 1e-7 || !near(cut[0], l.At(a), 1e-9) || !near(cut[len(cut)-1], l.At(b), 1e-9) {
			t.Fatalf("cut %v to %v is %v, %v m", a, b, cut, cut.LengthM())
		}
		if r := l.Reversed(); math.Abs(r.LengthM()-full) > 1e-9 || !near(r.At(full-a), l.At(a), 1e-7) {
			t.Fatalf("reversed line differs")
		}
		tol := rapid.Float64Range(0, 30).Draw(t, "tolerance")
		s := l.Simplified(tol)
		if s[0] != l[0] || s[len(s)-1] != l[len(l)-1] {
			t.Fatalf("simplifying moved an end")
		}
		for _, q := range l {
			if _, _, d := s.Nearest(q); d > tol+1e-9 {
				t.Fatalf("simplified by %v m, point %v is %v m off", tol, q, d)
			}
		}
		if box := l.Box().Grown(1e-9); !box.Contains(l.At(a)) {
			t.Fatalf("box %v leaves out %v", box, l.At(a))
		}
	})
}

func pt(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }

func TestVectors(t *testing.T) {
	p, q := pt(3, 4), pt(-4, 3)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"length", p.NormM(), 5}, {"distance", p.DistanceM(q), math.Sqrt(50)}, {"square to each other", p.Dot(q), 0},
		{"left is positive", p.Cross(q), 25}, {"right is negative", q.Cross(p), -25},
		{"difference and sum", p.Sub(q).Add(q).DistanceM(p), 0}, {"stretched", p.Mul(-2).NormM(), 10},
	} {
		if math.Abs(c.got-c.want) > 1e-12 {
			t.Errorf("%s: %v, want %v", c.name, c.got, c.want)
		}
	}
}

func TestNearestOnSegment(t *testing.T) {
	a, b := pt(2, 1), pt(8, 1)
	for _, c := range []struct {
		name string
		p    plane.Point
		at   plane.Point
		t    float64
	}{
		{"beside", pt(5, 9), pt(5, 1), 0.5}, {"before", pt(-1, 0), a, 0}, {"behind", pt(80, 7), b, 1}, {"on it", pt(3.5, 1), pt(3.5, 1), 0.25},
	} {
		if at, u := plane.NearestOnSegment(c.p, a, b); !near(at, c.at, 1e-12) || math.Abs(u-c.t) > 1e-12 {
			t.Errorf("%s: %v at %v", c.name, at, u)
		}
	}
	if at, u := plane.NearestOnSegment(pt(5, 5), a, a); at != a || u != 0 {
		t.Errorf("a segment without length: %v at %v", at, u)
	}
}

// Whatever numbers come in, nothing panics or hangs.
func FuzzLine(f *testing.F) {
	f.Add(0.0, 0.0, 3.0, 4.0, 2.5)
	f.Add(math.NaN(), 0.0, math.Inf(1), 4.0, -1.0)
	f.Add(1e300, -1e300, 1e-300, 0.0, 1e308)
	f.Fuzz(func(t *testing.T, ax, ay, bx, by, m float64) {
		l := plane.Polyline{pt(ax, ay), pt(bx, by), pt(ay, bx), pt(ay, bx)}
		l.At(m)
		l.DirectionAt(m)
		l.Cut(m, ax)
		l.Nearest(pt(m, ax))
		g := plane.Polygon{Outer: plane.Ring(l), Holes: []plane.Ring{plane.Ring(l[:2])}}
		g.Contains(pt(m, by))
		g.DistanceM(pt(m, by))
		g.Inside()
		if a := g.AreaM2(); a < 0 {
			t.Errorf("area %v", a)
		}
		x := plane.NewIndex([]plane.Segment{{A: pt(0, 0), B: pt(5, 5), Mask: 1}, {A: pt(0, 9), B: pt(5, -5), Mask: 1}}, 8)
		x.Nearest(pt(ax, by), m, 1)
		x.Within(pt(ax, by), min(m, 1e6), 1, nil)
		x.InBox(l.Box(), 1, nil)
	})
}
