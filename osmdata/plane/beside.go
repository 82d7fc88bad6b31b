package plane

import "math"

// onBendM is how near in metres to a bend a place of a line counts as on it: over
// the rounding of stored lengths, under anything measured.
const onBendM = 0.01

// LeftOf tells whether p lies to the left of one who walks the line, at the place
// alongM metres from its first point. On a bend what lies between the way come and
// the way on is on the side of the bend, and everything else on the other. Where the
// line turns about, the way come decides. What lies straight ahead or behind is not
// left.
func (l Polyline) LeftOf(alongM float64, p Point) bool {
	in, out, w := l.DirectionAt(alongM-onBendM), l.DirectionAt(alongM+onBendM), p.Sub(l.At(alongM))
	bend := in.Cross(out)
	switch {
	case in.Dot(out) < 0 && math.Abs(bend) < 1e-6:
		return in.Cross(w) > 0
	case bend > 0:
		return in.Cross(w) > 0 && out.Cross(w) > 0
	}
	return in.Cross(w) > 0 || out.Cross(w) > 0
}

// Approach is where a line comes nearest to the polygon: the place along the line
// and the distance, both in metres, and the point of the polygon that is nearest
// there. The distance is 0 where the line first lies in the polygon. The first of
// several equally near places wins; of a line without a piece or a polygon without
// points the distance is infinite.
func (g Polygon) Approach(l Polyline) (alongM, distM float64, to Point) {
	distM = math.Inf(1)
	if len(l) > 1 && g.Contains(l[0]) {
		return 0, 0, l[0]
	}
	const same = 1e-9
	found := func(along, d float64, at Point) {
		if d < distM-same || d < distM+same && along < alongM {
			alongM, distM, to = along, d, at
		}
	}
	walked := 0.0
	for i := 1; i < len(l) && distM > 0; i++ {
		a, b := l[i-1], l[i]
		n := a.DistanceM(b)
		piece := func(c, d Point) {
			if t, ok := segmentHit(a, b, c, d); ok {
				found(walked+t*n, 0, a.Add(b.Sub(a).Mul(t)))
			}
			q, _ := NearestOnSegment(a, c, d)
			found(walked, a.DistanceM(q), q)
			q, _ = NearestOnSegment(b, c, d)
			found(walked+n, b.DistanceM(q), q)
			q, t := NearestOnSegment(c, a, b)
			found(walked+t*n, c.DistanceM(q), c)
		}
		for j := range g.Outer {
			piece(g.Outer[j], g.Outer[(j+1)%len(g.Outer)])
		}
		for _, h := range g.Holes {
			for j := range h {
				piece(h[j], h[(j+1)%len(h)])
			}
		}
		walked += n
	}
	return alongM, distM, to
}
