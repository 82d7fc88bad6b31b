package plane

import (
	"math"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
)

// NearestOnSegment gives the point of the segment from a to b that is nearest to
// p, and where it lies: 0 at a, 1 at b. A segment without length is its point.
func NearestOnSegment(p, a, b Point) (at Point, t float64) {
	d := b.Sub(a)
	if n := d.Dot(d); n > 0 {
		t = min(1, max(0, p.Sub(a).Dot(d)/n))
	}
	return a.Add(d.Mul(t)), t
}

// Meets tells whether the line shares a point with a box.
func (l Polyline) Meets(b Box) bool {
	for i := 1; i < len(l); i++ {
		if segmentMeetsBox(l[i-1], l[i], b) {
			return true
		}
	}
	return false
}

// LengthM is the length of the line in metres.
func (l Polyline) LengthM() float64 {
	sum := 0.0
	for i := 1; i < len(l); i++ {
		sum += l[i-1].DistanceM(l[i])
	}
	return sum
}

// At is the point alongM metres from the line's first point, measured along it;
// before the beginning and after the end it is the end point. The line must
// have a point.
func (l Polyline) At(alongM float64) Point {
	p, _ := l.locate(alongM)
	return p
}

// DirectionAt is the unit vector in which the line runs alongM metres from its
// first point: that of the piece before a bend exactly on it. It is zero for a
// line without length.
func (l Polyline) DirectionAt(alongM float64) Point {
	_, i := l.locate(alongM)
	for ; i > 0; i-- {
		if d := l[i].DistanceM(l[i-1]); d > 0 {
			return l[i].Sub(l[i-1]).Mul(1 / d)
		}
	}
	return Point{}
}

// locate gives the point at alongM and the index of the point that ends the
// piece it lies on.
func (l Polyline) locate(alongM float64) (Point, int) {
	if alongM <= 0 || len(l) == 1 {
		i := 1
		for i < len(l)-1 && l[i] == l[0] {
			i++
		}
		return l[0], min(i, len(l)-1)
	}
	for i := 1; i < len(l); i++ {
		d := l[i-1].DistanceM(l[i])
		if alongM <= d {
			return l[i-1].Add(l[i].Sub(l[i-1]).Mul(alongM / d)), i
		}
		alongM -= d
	}
	return l[len(l)-1], len(l) - 1
}

// Nearest gives the point of the line nearest to p, its place along the line and
// its distance from p, both in metres. The first of several equally near points
// wins. A line without points is infinitely far.
func (l Polyline) Nearest(p Point) (at Point, alongM, distM float64) {
	distM = math.Inf(1)
	if len(l) == 1 {
		return l[0], 0, p.DistanceM(l[0])
	}
	walked := 0.0
	for i := 1; i < len(l); i++ {
		q, t := NearestOnSegment(p, l[i-1], l[i])
		d := l[i-1].DistanceM(l[i])
		if r := p.DistanceM(q); r < distM {
			at, alongM, distM = q, walked+t*d, r
		}
		walked += d
	}
	return at, alongM, distM
}

// Cut is the run of the line between two places along it, in metres from its
// first point; it runs backwards when toM is less than fromM. It always has at
// least two points.
func (l Polyline) Cut(fromM, toM float64) Polyline {
	if toM < fromM {
		return l.Cut(toM, fromM).Reversed()
	}
	out := Polyline{l.At(fromM)}
	walked := 0.0
	for i := 1; i < len(l)-1; i++ {
		walked += l[i-1].DistanceM(l[i])
		if walked > fromM && walked < toM {
			out = append(out, l[i])
		}
	}
	return append(out, l.At(toM))
}

// Reversed is a copy of the line run the other way.
func (l Polyline) Reversed() Polyline {
	out := make(Polyline, len(l))
	for i, p := range l {
		out[len(l)-1-i] = p
	}
	return out
}

// Simplified is a line through some of the points that strays at most tolM
// metres from each of the others (Douglas and Peucker 1973, Cartographica
// 10:112-122). The ends stay.
func (l Polyline) Simplified(tolM float64) Polyline {
	ls := make(orb.LineString, len(l))
	for i, p := range l {
		ls[i] = orb.Point{p.X, p.Y}
	}
	ls = simplify.DouglasPeucker(tolM).LineString(ls)
	out := make(Polyline, len(ls))
	for i, p := range ls {
		out[i] = Point{p[0], p[1]}
	}
	return out
}

// Box is the smallest box round the line.
func (l Polyline) Box() Box {
	b := EmptyBox()
	for _, p := range l {
		b = b.With(p)
	}
	return b
}
