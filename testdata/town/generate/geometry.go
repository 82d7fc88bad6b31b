package main

import (
	"math"
	"sort"
)

// pt is a point of the town's drawing sheet in metres, x east and y north.
type pt struct{ x, y float64 }

func (p pt) add(q pt) pt            { return pt{p.x + q.x, p.y + q.y} }
func (p pt) sub(q pt) pt            { return pt{p.x - q.x, p.y - q.y} }
func (p pt) times(k float64) pt     { return pt{p.x * k, p.y * k} }
func (p pt) dot(q pt) float64       { return p.x*q.x + p.y*q.y }
func (p pt) cross(q pt) float64     { return p.x*q.y - p.y*q.x }
func (p pt) dist(q pt) float64      { return math.Hypot(p.x-q.x, p.y-q.y) }
func (p pt) left() pt               { return pt{-p.y, p.x} }
func (p pt) mix(q pt, t float64) pt { return pt{p.x + (q.x-p.x)*t, p.y + (q.y-p.y)*t} }

// unit is p at length one, or the zero vector for the zero vector.
func (p pt) unit() pt {
	n := math.Hypot(p.x, p.y)
	if n == 0 {
		return pt{}
	}
	return pt{p.x / n, p.y / n}
}

// key is a point rounded to the centimetre: what lies on one key is one node.
type key struct{ x, y int64 }

func (p pt) key() key {
	return key{int64(math.Round(p.x * 100)), int64(math.Round(p.y * 100))}
}

// smooth draws a Catmull-Rom spline through ctrl with a point about every
// stepM metres. The first and last control points are kept.
func smooth(ctrl []pt, stepM float64) []pt {
	out := []pt{ctrl[0]}
	for i := 0; i+1 < len(ctrl); i++ {
		p1, p2 := ctrl[i], ctrl[i+1]
		p0, p3 := p1, p2
		if i > 0 {
			p0 = ctrl[i-1]
		}
		if i+2 < len(ctrl) {
			p3 = ctrl[i+2]
		}
		n := max(1, int(math.Round(p1.dist(p2)/stepM)))
		for k := 1; k <= n; k++ {
			out = append(out, catmullRom(p0, p1, p2, p3, float64(k)/float64(n)))
		}
	}
	return out
}

func catmullRom(p0, p1, p2, p3 pt, t float64) pt {
	f := func(a, b, c, d float64) float64 {
		return 0.5 * (2*b + (c-a)*t + (2*a-5*b+4*c-d)*t*t + (3*b-a-3*c+d)*t*t*t)
	}
	return pt{f(p0.x, p1.x, p2.x, p3.x), f(p0.y, p1.y, p2.y, p3.y)}
}

func lengthOf(l []pt) float64 {
	var sum float64
	for i := 1; i < len(l); i++ {
		sum += l[i-1].dist(l[i])
	}
	return sum
}

// at is the point and the unit direction at s metres along l, held to its ends.
func at(l []pt, s float64) (p, dir pt) {
	for i := 1; i < len(l); i++ {
		d := l[i-1].dist(l[i])
		if s <= d || i == len(l)-1 {
			t := math.Min(1, math.Max(0, s/math.Max(d, 1e-9)))
			return l[i-1].mix(l[i], t), l[i].sub(l[i-1]).unit()
		}
		s -= d
	}
	return l[0], pt{1, 0}
}

// between is the piece of l from s0 to s1 metres.
func between(l []pt, s0, s1 float64) []pt {
	first, _ := at(l, s0)
	last, _ := at(l, s1)
	out := []pt{first}
	var s float64
	for i := 1; i < len(l); i++ {
		s += l[i-1].dist(l[i])
		if s > s0+0.2 && s < s1-0.2 {
			out = append(out, l[i])
		}
	}
	return append(out, last)
}

// offset is l moved d metres to its left (negative: right).
func offset(l []pt, d float64) []pt {
	out := make([]pt, len(l))
	for i := range l {
		a, b := l[max(0, i-1)], l[min(len(l)-1, i+1)]
		n := b.sub(a).unit().left()
		// A mitre, so that the moved line keeps its distance in a bend.
		if i > 0 {
			if c := l[i].sub(l[i-1]).unit().left().dot(n); c > 0.5 {
				n = n.times(1 / c)
			}
		}
		out[i] = l[i].add(n.times(d))
	}
	return out
}

func reversed(l []pt) []pt {
	out := make([]pt, len(l))
	for i, p := range l {
		out[len(l)-1-i] = p
	}
	return out
}

// meet intersects the segments a-b and c-d; t and u run 0..1 along them.
func meet(a, b, c, d pt) (p pt, t, u float64, ok bool) {
	r, s := b.sub(a), d.sub(c)
	den := r.cross(s)
	if math.Abs(den) < 1e-12 {
		return pt{}, 0, 0, false
	}
	t = c.sub(a).cross(s) / den
	u = c.sub(a).cross(r) / den
	if t < 0 || t > 1 || u < 0 || u > 1 {
		return pt{}, 0, 0, false
	}
	return a.mix(b, t), t, u, true
}

// nearestOn is the point of segment a-b nearest to p and its place 0..1.
func nearestOn(p, a, b pt) (pt, float64) {
	d := b.sub(a)
	n := d.dot(d)
	if n == 0 {
		return a, 0
	}
	t := math.Min(1, math.Max(0, p.sub(a).dot(d)/n))
	return a.mix(b, t), t
}

// segmentsApart is the least distance between segments a-b and c-d.
func segmentsApart(a, b, c, d pt) float64 {
	if _, _, _, ok := meet(a, b, c, d); ok {
		return 0
	}
	best := math.Inf(1)
	for _, q := range [][3]pt{{a, c, d}, {b, c, d}, {c, a, b}, {d, a, b}} {
		n, _ := nearestOn(q[0], q[1], q[2])
		best = math.Min(best, n.dist(q[0]))
	}
	return best
}

// project is the place along l nearest to p: metres from its start and distance.
func project(l []pt, p pt) (s, d float64) {
	d = math.Inf(1)
	var run float64
	for i := 1; i < len(l); i++ {
		n, t := nearestOn(p, l[i-1], l[i])
		if e := n.dist(p); e < d {
			d, s = e, run+t*l[i-1].dist(l[i])
		}
		run += l[i-1].dist(l[i])
	}
	return s, d
}

// inside tells whether p lies in the ring (even-odd rule; ring not closed).
func inside(ring []pt, p pt) bool {
	in := false
	for i, j := 0, len(ring)-1; i < len(ring); j, i = i, i+1 {
		a, b := ring[i], ring[j]
		if (a.y > p.y) != (b.y > p.y) && p.x < (b.x-a.x)*(p.y-a.y)/(b.y-a.y)+a.x {
			in = !in
		}
	}
	return in
}

// areaOf is the signed area of a ring in m², positive when it runs left about.
func areaOf(ring []pt) float64 {
	var sum float64
	for i, j := 0, len(ring)-1; i < len(ring); j, i = i, i+1 {
		sum += ring[j].cross(ring[i])
	}
	return sum / 2
}

func centroid(ring []pt) pt {
	var c pt
	var sum float64
	o := ring[0]
	for i := 1; i+1 < len(ring); i++ {
		a, b := ring[i].sub(o), ring[i+1].sub(o)
		w := a.cross(b)
		c = c.add(a.add(b).times(w / 3))
		sum += w
	}
	if sum == 0 {
		return o
	}
	return o.add(c.times(1 / sum))
}

// box is the smallest rectangle at any angle round a ring.
type box struct {
	mid         pt
	along       pt // unit, the long way
	long, short float64
}

func boxOf(ring []pt) box {
	best := box{}
	bestArea := math.Inf(1)
	for k := range 45 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 90)
		u := pt{cos, sin}
		lo, hi := pt{math.Inf(1), math.Inf(1)}, pt{math.Inf(-1), math.Inf(-1)}
		for _, p := range ring {
			q := pt{p.dot(u), p.dot(u.left())}
			lo = pt{math.Min(lo.x, q.x), math.Min(lo.y, q.y)}
			hi = pt{math.Max(hi.x, q.x), math.Max(hi.y, q.y)}
		}
		w, h := hi.x-lo.x, hi.y-lo.y
		if w*h >= bestArea {
			continue
		}
		bestArea = w * h
		c := lo.mix(hi, 0.5)
		best = box{u.times(c.x).add(u.left().times(c.y)), u, w, h}
		if h > w {
			best.along, best.long, best.short = u.left(), h, w
		}
	}
	return best
}

// inset moves every side of a ring inward by d metres. It suits the nearly
// convex rings of blocks; a ring too thin for d comes back nil.
func inset(ring []pt, d float64) []pt {
	r := thinned(ring, 1)
	each := make([]float64, len(r))
	for i := range each {
		each[i] = d
	}
	return insetBy(r, each)
}

// insetBy moves side i of a ring, from point i to the next, inward by d[i].
// Points that would come nearer to another side than that side allows are left
// out, so that a corner may be cut off.
func insetBy(ring []pt, d []float64) []pt {
	n := len(ring)
	turn := 1.0
	if areaOf(ring) < 0 {
		turn = -1
	}
	out := make([]pt, 0, n)
	for i, b := range ring {
		before, after := b.sub(ring[(i+n-1)%n]).unit(), ring[(i+1)%n].sub(b).unit()
		d1, d2 := d[(i+n-1)%n], d[i]
		n1, n2 := before.left().times(turn), after.left().times(turn)
		p1, p2 := b.add(n1.times(d1)), b.add(n2.times(d2))
		p := b.add(n1.add(n2).unit().times(math.Max(d1, d2)))
		if c := before.cross(after); math.Abs(c) > 0.3 {
			// Both moved sides meet here.
			p = p1.add(before.times(p2.sub(p1).cross(after) / c))
		}
		if inside(ring, p) && keeps(ring, d, p) {
			out = append(out, p)
		}
	}
	if len(out) < 3 || areaOf(out)*turn <= 0 {
		return nil
	}
	return out
}

// keeps tells whether p is d[i] metres, less a tenth, from each side i.
func keeps(ring []pt, d []float64, p pt) bool {
	for i, a := range ring {
		if q, _ := nearestOn(p, a, ring[(i+1)%len(ring)]); q.dist(p) < 0.9*d[i] {
			return false
		}
	}
	return true
}

// thinned leaves out points that lie within tol metres of the line between
// their neighbours.
func thinned(ring []pt, tol float64) []pt {
	out := append([]pt(nil), ring...)
	for i := 0; i < len(out) && len(out) > 4; {
		a, b, c := out[(i+len(out)-1)%len(out)], out[i], out[(i+1)%len(out)]
		if n, _ := nearestOn(b, a, c); n.dist(b) < tol {
			out = append(out[:i], out[i+1:]...)
			continue
		}
		i++
	}
	return out
}

// ellipse is a ring of n points, slightly uneven so that it looks dug by hand.
func ellipse(c pt, rx, ry float64, n int) []pt {
	out := make([]pt, n)
	for i := range out {
		a := 2 * math.Pi * float64(i) / float64(n)
		k := 1 + 0.07*math.Sin(3*a+1) + 0.04*math.Cos(5*a)
		out[i] = pt{c.x + rx*k*math.Cos(a), c.y + ry*k*math.Sin(a)}
	}
	return out
}

// ringsApart is the least distance of two rings' outlines, 0 when they overlap.
func ringsApart(r, q []pt) float64 {
	if inside(r, q[0]) || inside(q, r[0]) {
		return 0
	}
	best := math.Inf(1)
	for i := range r {
		for j := range q {
			best = math.Min(best, segmentsApart(r[i], r[(i+1)%len(r)], q[j], q[(j+1)%len(q)]))
		}
	}
	return best
}

func ascending(v []float64) []float64 {
	sort.Float64s(v)
	return v
}
