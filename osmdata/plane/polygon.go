package plane

import (
	"math"
	"slices"
)

// EmptyBox is the box of nothing.
func EmptyBox() Box {
	inf := math.Inf(1)
	return Box{Point{inf, inf}, Point{-inf, -inf}}
}

// Empty tells whether the box holds no point.
func (b Box) Empty() bool { return b.Min.X > b.Max.X || b.Min.Y > b.Max.Y }

// With is the smallest box that holds b and p.
func (b Box) With(p Point) Box {
	return Box{Point{min(b.Min.X, p.X), min(b.Min.Y, p.Y)}, Point{max(b.Max.X, p.X), max(b.Max.Y, p.Y)}}
}

// Union is the smallest box that holds both.
func (b Box) Union(c Box) Box {
	return Box{
		Point{min(b.Min.X, c.Min.X), min(b.Min.Y, c.Min.Y)},
		Point{max(b.Max.X, c.Max.X), max(b.Max.Y, c.Max.Y)},
	}
}

// Grown is the box with m metres more on every side.
func (b Box) Grown(m float64) Box {
	return Box{Point{b.Min.X - m, b.Min.Y - m}, Point{b.Max.X + m, b.Max.Y + m}}
}

// Contains tells whether p lies in the box or on its border.
func (b Box) Contains(p Point) bool {
	return p.X >= b.Min.X && p.X <= b.Max.X && p.Y >= b.Min.Y && p.Y <= b.Max.Y
}

// Intersects tells whether the boxes share a point.
func (b Box) Intersects(c Box) bool {
	return b.Min.X <= c.Max.X && c.Min.X <= b.Max.X && b.Min.Y <= c.Max.Y && c.Min.Y <= b.Max.Y
}

// Box is the smallest box round the ring.
func (r Ring) Box() Box { return Polyline(r).Box() }

// AreaM2 is the area in square metres, positive for a ring that runs
// anticlockwise. A first point that is repeated at the end does no harm.
func (r Ring) AreaM2() float64 {
	sum := 0.0
	for i := range r {
		// Differences from the first point keep digits far from the origin.
		a, b := r[i].Sub(r[0]), r[(i+1)%len(r)].Sub(r[0])
		sum += a.Cross(b)
	}
	return sum / 2
}

// Contains tells whether p lies inside, by the even-odd rule; of points on the
// ring itself some count as inside and some do not.
func (r Ring) Contains(p Point) bool {
	in := false
	for i, j := 0, len(r)-1; i < len(r); i, j = i+1, i {
		a, b := r[i], r[j]
		if (a.Y > p.Y) != (b.Y > p.Y) && p.X < (b.X-a.X)*(p.Y-a.Y)/(b.Y-a.Y)+a.X {
			in = !in
		}
	}
	return in
}

// moment gives the sum of position times area, from the origin o, and the area.
func (r Ring) moment(o Point) (Point, float64) {
	var m Point
	area := 0.0
	for i := range r {
		a, b := r[i].Sub(o), r[(i+1)%len(r)].Sub(o)
		c := a.Cross(b) / 2
		m = m.Add(a.Add(b).Mul(c / 3))
		area += c
	}
	return m, area
}

// distanceM is the distance in metres from p to the nearest point of the ring's line.
func (r Ring) distanceM(p Point) float64 {
	d := math.Inf(1)
	for i := range r {
		q, _ := NearestOnSegment(p, r[i], r[(i+1)%len(r)])
		d = min(d, p.DistanceM(q))
	}
	return d
}

// AreaM2 is the area in square metres without the holes, never negative,
// whichever way the rings run.
func (g Polygon) AreaM2() float64 {
	sum := math.Abs(g.Outer.AreaM2())
	for _, h := range g.Holes {
		sum -= math.Abs(h.AreaM2())
	}
	return max(0, sum)
}

// Contains tells whether p lies inside and in no hole.
func (g Polygon) Contains(p Point) bool {
	if !g.Outer.Contains(p) {
		return false
	}
	for _, h := range g.Holes {
		if h.Contains(p) {
			return false
		}
	}
	return true
}

// Holds tells whether p lies inside and farther than depthM metres from the border: of
// places on a border that a street was drawn on, rounding would decide.
func (g Polygon) Holds(p Point, depthM float64) bool {
	if !g.Contains(p) || g.Outer.distanceM(p) <= depthM {
		return false
	}
	for _, h := range g.Holes {
		if h.distanceM(p) <= depthM {
			return false
		}
	}
	return true
}

// DistanceM is the distance in metres from p to the polygon, 0 inside.
func (g Polygon) DistanceM(p Point) float64 {
	if g.Contains(p) {
		return 0
	}
	d := g.Outer.distanceM(p)
	for _, h := range g.Holes {
		d = min(d, h.distanceM(p))
	}
	return d
}

// Centroid is the centre of the area; of a polygon without area the mean of its
// outer points. It may lie outside: see Inside.
func (g Polygon) Centroid() Point {
	if len(g.Outer) == 0 {
		return Point{}
	}
	o := g.Outer[0]
	m, area := g.Outer.moment(o)
	m, area = m.Mul(sign(area)), math.Abs(area)
	for _, h := range g.Holes {
		hm, ha := h.moment(o)
		m, area = m.Sub(hm.Mul(sign(ha))), area-math.Abs(ha)
	}
	if area <= 0 {
		var sum Point
		for _, p := range g.Outer {
			sum = sum.Add(p.Sub(o))
		}
		return o.Add(sum.Mul(1 / float64(len(g.Outer))))
	}
	return o.Add(m.Mul(1 / area))
}

func sign(x float64) float64 { return math.Copysign(1, x) }

// Inside is a point inside the polygon: the centroid if it is, else the middle of
// the longest run of a horizontal line through the polygon at the centroid's height,
// else, for polygons without area, the first point.
func (g Polygon) Inside() Point {
	c := g.Centroid()
	if len(g.Outer) == 0 || g.Contains(c) {
		return c
	}
	var xs []float64
	for _, r := range append([]Ring{g.Outer}, g.Holes...) {
		xs = append(xs, r.crossings(c.Y)...)
	}
	slices.Sort(xs)
	best, width := g.Outer[0], 0.0
	for i := 0; i+1 < len(xs); i += 2 {
		if w := xs[i+1] - xs[i]; w > width {
			best, width = Point{(xs[i] + xs[i+1]) / 2, c.Y}, w
		}
	}
	return best
}

// crossings are the places where the ring crosses the horizontal line at y.
func (r Ring) crossings(y float64) []float64 {
	var xs []float64
	for i, j := 0, len(r)-1; i < len(r); i, j = i+1, i {
		a, b := r[i], r[j]
		if (a.Y > y) != (b.Y > y) {
			xs = append(xs, (b.X-a.X)*(y-a.Y)/(b.Y-a.Y)+a.X)
		}
	}
	return xs
}

// Box is the smallest box round the polygon.
func (g Polygon) Box() Box { return g.Outer.Box() }

// DistanceM is the distance in metres from a point to the box, 0 inside it.
func (b Box) DistanceM(p Point) float64 {
	return math.Hypot(max(b.Min.X-p.X, p.X-b.Max.X, 0), max(b.Min.Y-p.Y, p.Y-b.Max.Y, 0))
}
