package plane_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
)

const (
	stopsWay  = 1
	stopsView = 2
)

// plain answers every question of an index by looking at all pieces: its slow twin.
type plain []plane.Segment

func (s plain) nearest(p plane.Point, maxM float64, mask uint8) (int, float64) {
	best, dist := -1, math.Inf(1)
	for i, g := range s {
		q, _ := plane.NearestOnSegment(p, g.A, g.B)
		if d := p.DistanceM(q); g.Mask&mask != 0 && d <= maxM && d < dist {
			best, dist = i, d
		}
	}
	return best, dist
}

func (s plain) within(p plane.Point, rM float64, mask uint8) []int32 {
	var out []int32
	for i, g := range s {
		q, _ := plane.NearestOnSegment(p, g.A, g.B)
		if g.Mask&mask != 0 && p.DistanceM(q) <= rM {
			out = append(out, int32(i))
		}
	}
	return out
}

// meets tells where a line from p to q crosses a piece, by areas of triangles: a
// way of its own to the same answer, without touching cases.
func meets(p, q, a, b plane.Point) (t float64, ok bool) {
	side := func(o, u, v plane.Point) float64 { return u.Sub(o).Cross(v.Sub(o)) }
	a1, a2 := side(p, q, a), side(p, q, b)
	b1, b2 := side(a, b, p), side(a, b, q)
	if a1*a2 >= 0 || b1*b2 >= 0 {
		return 0, false
	}
	return b1 / (b1 - b2), true
}

func (s plain) firstHit(p, q plane.Point, mask uint8) (int, float64) {
	best, dist := -1, math.Inf(1)
	for i, g := range s {
		if t, ok := meets(p, q, g.A, g.B); ok && g.Mask&mask != 0 && t*p.DistanceM(q) < dist {
			best, dist = i, t*p.DistanceM(q)
		}
	}
	return best, dist
}

// touches tells whether an end of a piece lies on the line from p to q or the
// other way round.
func (s plain) touches(p, q plane.Point) bool {
	onto := func(o, a, b plane.Point) bool {
		c, _ := plane.NearestOnSegment(o, a, b)
		return near(o, c, 1e-6)
	}
	return slices.ContainsFunc(s, func(g plane.Segment) bool {
		return onto(g.A, p, q) || onto(g.B, p, q) || onto(p, g.A, g.B) || onto(q, g.A, g.B)
	})
}

func drawSegments(t *rapid.T) plain {
	var s plain
	for range rapid.IntRange(0, 60).Draw(t, "pieces") {
		a := drawPoint(t, 200)
		reach := rapid.SampledFrom([]float64{0, 1, 10, 60, 400}).Draw(t, "reach")
		s = append(s, plane.Segment{A: a, B: a.Add(drawPoint(t, reach+1e-9)), ID: int32(7 * len(s)), Mask: uint8(rapid.IntRange(1, 3).Draw(t, "mask"))})
	}
	return s
}

func TestIndexAgainstPlainSearch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSegments(t)
		x := plane.NewIndex(s, rapid.SampledFrom([]float64{4, 32, 50, 1000}).Draw(t, "cell"))
		mask := uint8(rapid.IntRange(1, 3).Draw(t, "asked"))
		p, q := drawPoint(t, 300), drawPoint(t, 300)
		maxM := rapid.SampledFrom([]float64{5, 50, 300, math.Inf(1)}).Draw(t, "max")
		h, ok := x.Nearest(p, maxM, mask)
		i, d := s.nearest(p, maxM, mask)
		if ok != (i >= 0) || ok && (h.DistM != d || h.Segment != int32(i) || h.ID != int32(7*i)) {
			t.Fatalf("nearest %+v %v, plain search finds %d at %v", h, ok, i, d)
		}
		if r := rapid.Float64Range(0, 200).Draw(t, "r"); !slices.Equal(x.Within(p, r, mask, nil), s.within(p, r, mask)) {
			t.Fatalf("within %v of %v: %v, plain search %v", r, p, x.Within(p, r, mask, nil), s.within(p, r, mask))
		}
		if s.touches(p, q) {
			return // the twin knows no touching; the table below does
		}
		f, ok := x.FirstHit(p, q, mask)
		j, d := s.firstHit(p, q, mask)
		if ok != (j >= 0) || ok && (math.Abs(f.DistM-d) > 1e-7 || !near(f.At, p.Add(q.Sub(p).Mul(d/p.DistanceM(q))), 1e-7)) {
			t.Fatalf("first hit %+v %v, plain search finds %d at %v", f, ok, j, d)
		}
		if x.Visible(p, q, mask) != (j < 0) {
			t.Fatalf("visible %v but plain search finds %d", x.Visible(p, q, mask), j)
		}
	})
}

// Boxes: a piece shares a point with a box exactly if its end lies inside or it
// crosses one of the diagonals' hull sides.
func TestIndexInBox(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSegments(t)
		x := plane.NewIndex(s, 32)
		b := plane.EmptyBox().With(drawPoint(t, 250)).With(drawPoint(t, 250))
		var want []int32
		c := []plane.Point{b.Min, {X: b.Max.X, Y: b.Min.Y}, b.Max, {X: b.Min.X, Y: b.Max.Y}}
		for i, g := range s {
			in := b.Contains(g.A) || b.Contains(g.B)
			for k := range c {
				_, cross := meets(c[k], c[(k+1)%4], g.A, g.B)
				in = in || cross
				if (plain{g}).touches(c[k], c[(k+1)%4]) {
					return // whether it touches is rounding
				}
			}
			if in && g.Mask&stopsView != 0 {
				want = append(want, int32(i))
			}
		}
		if x.Any(b, stopsView) != (len(want) > 0) {
			t.Fatalf("any in box %v: %v, want %v", b, x.Any(b, stopsView), want)
		}
		if got := x.InBox(b, stopsView, []int32{-5}); !slices.Equal(got[1:], want) || got[0] != -5 {
			t.Fatalf("in box %v: %v, want %v after what was there", b, got, want)
		}
	})
}

func TestRays(t *testing.T) {
	wall := plane.Segment{A: pt(10, -5), B: pt(10, 5), ID: 1, Mask: stopsWay | stopsView}
	// A long fence is listed in the first cell of the ray but meets it in a later
	// one, behind the wall.
	fence := plane.Segment{A: pt(-30, 1), B: pt(300, -9), ID: 2, Mask: stopsWay}
	x := plane.NewIndex([]plane.Segment{fence, wall}, 8)
	for _, c := range []struct {
		name     string
		from, to plane.Point
		mask     uint8
		id       int32
		distM    float64
	}{
		{"a nearer wall in a later cell beats the fence", pt(0, -1), pt(200, -1), stopsWay, 1, 10},
		{"the fence stops the way", pt(20, -4), pt(20, 4), stopsWay, 2, 4 - 17/33.0},
		{"the fence does not stop the view", pt(20, -4), pt(20, 4), stopsView, -1, 0},
		{"short of the wall", pt(0, -4), pt(9.99, -4), stopsWay, -1, 0},
		{"touching the wall's end", pt(0, 5), pt(20, 5), stopsView, 1, 10},
		{"past the wall's end", pt(0, 5.001), pt(20, 5.001), stopsView, -1, 0},
		{"ending on the wall", pt(0, 0.5), pt(10, 0.5), stopsView, 1, 10},
		{"along the wall, edge-on", pt(10, -9), pt(10, 9), stopsView, -1, 0},
		{"no line at all", pt(3, 3), pt(3, 3), stopsView, -1, 0},
		{"not a number", pt(math.NaN(), 3), pt(3, 3), stopsView, -1, 0},
		{"backwards", pt(20, 0.25), pt(-20, 0.25), stopsView, 1, 10},
		{"diagonal through cell corners", pt(-16, -16), pt(16, 16), stopsView, -1, 0},
	} {
		h, ok := x.FirstHit(c.from, c.to, c.mask)
		if ok != (c.id >= 0) || ok && (h.ID != c.id || math.Abs(h.DistM-c.distM) > 1e-9) {
			t.Errorf("%s: %+v %v", c.name, h, ok)
		}
		if x.Visible(c.from, c.to, c.mask) == ok {
			t.Errorf("%s: visible %v", c.name, !ok)
		}
	}
}

// A crossing exactly in the corner of four cells must be found whichever cell the
// ray passes through.
func TestRayThroughCorners(t *testing.T) {
	for _, d := range []plane.Point{{8, 8}, {8, -8}, {-8, 8}, {-8, -8}, {16, 8}, {0, 8}, {8, 0}} {
		across := pt(-d.Y, d.X)
		s := []plane.Segment{{A: pt(8, 8).Sub(across), B: pt(8, 8).Add(across), Mask: 1}}
		x := plane.NewIndex(s, 8)
		if _, ok := x.FirstHit(pt(8, 8).Sub(d), pt(8, 8).Add(d), 1); !ok {
			t.Errorf("heading %v: the crossing in the corner is missed", d)
		}
	}
}

func TestIndexOddInput(t *testing.T) {
	nan := math.NaN()
	x := plane.NewIndex([]plane.Segment{
		{A: pt(nan, 0), B: pt(1, 1), Mask: 1},
		{A: pt(math.Inf(1), 0), B: pt(1, 1), Mask: 1},
		{A: pt(1e300, 0), B: pt(1, 1), Mask: 1},
		{A: pt(5, 0), B: pt(5, 0), ID: 9, Mask: 1},
	}, 32)
	if h, ok := x.Nearest(pt(2, 4), 10, 1); !ok || h.ID != 9 || h.DistM != 5 {
		t.Errorf("nearest %+v %v", h, ok)
	}
	if _, ok := x.Nearest(pt(nan, 4), 10, 1); ok {
		t.Error("something is near to no place")
	}
	if h, ok := x.Nearest(pt(1e7, 0), math.Inf(1), 1); !ok || h.ID != 9 {
		t.Errorf("from far away: %+v %v", h, ok)
	}
	if got := x.Within(pt(nan, nan), 10, 1, nil); got != nil {
		t.Errorf("within of no place: %v", got)
	}
	empty := plane.NewIndex(nil, 32)
	if _, ok := empty.Nearest(plane.Point{}, math.Inf(1), 1); ok || len(empty.InBox(plane.Box{}, 1, nil)) != 0 || !empty.Visible(plane.Point{}, pt(9, 9), 1) {
		t.Error("an empty index finds something")
	}
}

// town makes n house outlines in rows, with gaps, for the benchmarks.
func town(n int) plain {
	r := rand.New(rand.NewPCG(1, 2))
	var s plain
	for i := range n {
		x, y := float64(i%200)*18+r.Float64()*4, float64(i/200)*40+r.Float64()*4
		ring := square(x, y, 8+r.Float64()*4)
		for k := range ring {
			s = append(s, plane.Segment{A: ring[k], B: ring[(k+1)%4], ID: int32(i), Mask: stopsWay | stopsView})
		}
	}
	return s
}

func BenchmarkIndex(b *testing.B) {
	s := town(20000)
	for _, cell := range []float64{16, 32, 64} {
		x := plane.NewIndex(s, cell)
		r := rand.New(rand.NewPCG(3, 4))
		pts := make([]plane.Point, 1024)
		for i := range pts {
			pts[i] = plane.Point{X: r.Float64() * 3600, Y: r.Float64() * 4000}
		}
		name := map[float64]string{16: "16m", 32: "32m", 64: "64m"}[cell]
		b.Run(name+"/ray60m", func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				p := pts[i%1024]
				x.FirstHit(p, plane.Point{X: p.X + 40, Y: p.Y + 44}, stopsWay)
			}
		})
		b.Run(name+"/nearest", func(b *testing.B) {
			for i := 0; b.Loop(); i++ {
				x.Nearest(pts[i%1024], 300, stopsWay)
			}
		})
		b.Run(name+"/build", func(b *testing.B) {
			for b.Loop() {
				plane.NewIndex(s, cell)
			}
		})
	}
	b.Run("plain/ray60m", func(b *testing.B) {
		for b.Loop() {
			s.firstHit(plane.Point{X: 1800, Y: 2000}, plane.Point{X: 1840, Y: 2044}, stopsWay)
		}
	})
}
