package plane_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
)

func TestLeftOf(t *testing.T) {
	east := plane.Polyline{{0, 0}, {50, 0}}
	left := plane.Polyline{{0, 0}, {50, 0}, {50, 40}}
	right := plane.Polyline{{0, 0}, {50, 0}, {50, -40}}
	hairpin := plane.Polyline{{0, 0}, {50, 0}, {10, 8}}
	back := plane.Polyline{{0, 0}, {50, 0}, {0, 0}}
	for _, c := range []struct {
		name string
		l    plane.Polyline
		at   float64
		p    plane.Point
		left bool
	}{
		{"beside", east, 20, pt(20, 5), true},
		{"beside", east, 20, pt(20, -5), false},
		{"behind the beginning", east, 0, pt(-5, 3), true},
		{"beyond the end", east, 50, pt(60, -3), false},
		{"straight ahead", east, 50, pt(60, 0), false},
		{"inside a bend to the left", left, 50, pt(45, 5), true},
		{"outside a bend to the left, ahead", left, 50, pt(55, 5), false},
		{"outside a bend to the left, on the corner", left, 50, pt(55, -5), false},
		{"inside a bend to the right", right, 50, pt(45, -5), false},
		{"outside a bend to the right, ahead and to the right of the way come", right, 50, pt(55, -5), true},
		{"outside a bend to the right, on the corner", right, 50, pt(55, 5), true},
		{"beyond a hairpin to the left, left of the way come", hairpin, 50, pt(58, 4), false},
		{"in a hairpin to the left", hairpin, 50, pt(40, 1), true},
		{"there, on the way out", back, 30, pt(30, 5), true},
		{"the same on the way back", back, 70, pt(30, 5), false},
		{"where it turns about, as one comes", back, 50, pt(52, 5), true},
		{"where it turns about, as one comes", back, 50, pt(52, -5), false},
		{"a bend with a doubled point", bent, 30, pt(35, 5), false},
		{"lengths that were rounded", left, 50.0004, pt(55, 5), false},
	} {
		if got := c.l.LeftOf(c.at, c.p); got != c.left {
			t.Errorf("%s: left %v of %v at %v m", c.name, got, c.p, c.at)
		}
	}
}

// crosses tells whether two segments cross, by the signs of four areas.
func crosses(a, b, c, d plane.Point) bool {
	area := func(p, q, r plane.Point) float64 { return q.Sub(p).Cross(r.Sub(p)) }
	return area(a, b, c)*area(a, b, d) < 0 && area(c, d, a)*area(c, d, b) < 0
}

// TestLeftIsReachedWithoutCrossing holds sides against what the word means: from the
// left kerb one gets to what is on the left without crossing the way.
func TestLeftIsReachedWithoutCrossing(t *testing.T) {
	const stepM, kerbM = 1e-2, 1e-5
	sides := map[bool]int{}
	rapid.Check(t, func(t *rapid.T) {
		a, b, c, p := drawPoint(t, 100), drawPoint(t, 100), drawPoint(t, 100), drawPoint(t, 150)
		l := plane.Polyline{a, b, c}
		at, along, d := l.Nearest(p)
		in, out := l.DirectionAt(along-stepM), l.DirectionAt(along+stepM)
		w := p.Sub(at).Mul(1 / d)
		slim := func(x float64) bool { return math.IsNaN(x) || math.Abs(x) < 0.01 }
		if a.DistanceM(b) < 1 || b.DistanceM(c) < 1 || d < 0.1 || slim(in.Cross(w)) || slim(out.Cross(w)) || b.Sub(a).Dot(c.Sub(b)) < -0.999*a.DistanceM(b)*b.DistanceM(c) {
			t.Skip("too near to a line for a side")
		}
		if ab := math.Abs(along - a.DistanceM(b)); ab > 1e-9 && ab < 1 || along < 1 || along > l.LengthM()-1 {
			t.Skip("no room for a step")
		}
		kerb := at.Sub(in.Mul(stepM / 2)).Add(plane.Point{X: -in.Y, Y: in.X}.Mul(kerbM))
		step := at.Add(w.Mul(stepM / 2))
		left := crosses(kerb, step, a, b) == crosses(kerb, step, b, c)
		if got := l.LeftOf(along, p); got != left {
			t.Fatalf("%v at %v m of %v: left %v", p, along, l, got)
		}
		sides[left]++
	})
	if sides[true] < 5 || sides[false] < 5 {
		t.Errorf("sides met: %v", sides)
	}
}

// TestApproach holds the nearest place of a line to a polygon against its many points.
func TestApproach(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLine(t, 100)
		g := plane.Polygon{Outer: plane.Ring(drawLine(t, 60))}
		if rapid.Bool().Draw(t, "hole") {
			g.Holes = []plane.Ring{{{-9, -9}, {9, -9}, {9, 9}, {-9, 9}}}
		}
		along, d, to := g.Approach(l)
		const stepM = 0.25
		for m := 0.0; m <= l.LengthM(); m += stepM {
			if got := g.DistanceM(l.At(m)); got < d-1e-9 {
				t.Fatalf("%v m at %v m of the line, %v m told at %v", got, m, d, along)
			} else if d == 0 && got == 0 && m < along-1e-6 {
				t.Fatalf("in it from %v m, told from %v m", m, along)
			}
		}
		if got := g.DistanceM(l.At(along)); math.Abs(got-d) > 1e-6 {
			t.Fatalf("at %v m it is %v m off, told %v", along, got, d)
		}
		if got := to.DistanceM(l.At(along)); math.Abs(got-d) > 1e-6 {
			t.Fatalf("the point told is %v m off, told %v", got, d)
		}
	})
	square := plane.Polygon{Outer: plane.Ring{{10, 10}, {20, 10}, {20, 20}, {10, 20}}}
	for _, c := range []struct {
		name     string
		l        plane.Polyline
		along, d float64
	}{
		{"beside a whole side: where that begins", plane.Polyline{{0, 7}, {40, 7}}, 10, 3},
		{"past a corner between two far points", plane.Polyline{{-200, 0}, {200, 0}}, 210, 10},
		{"through it", plane.Polyline{{0, 15}, {40, 15}}, 10, 0},
		{"over a corner, with no point of its own in it", plane.Polyline{{15, 6}, {25, 16}}, 4 * math.Sqrt2, 0},
		{"from within", plane.Polyline{{15, 15}, {40, 15}}, 0, 0},
		{"no line", nil, 0, math.Inf(1)},
	} {
		if along, d, _ := square.Approach(c.l); math.Abs(along-c.along) > 1e-9 || d != c.d && math.Abs(d-c.d) > 1e-9 {
			t.Errorf("%s: %v m off at %v m", c.name, d, along)
		}
	}
}
