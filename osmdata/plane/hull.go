package plane

import (
	"cmp"
	"math"
	"slices"
)

// Hull is a convex polygon, anticlockwise.
type Hull []Point

// HullOf is the hull of points (Andrew's monotone chain 1979).
func HullOf(points []Point) Hull {
	sorted := slices.Clone(points)
	slices.SortFunc(sorted, func(a, b Point) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	sorted = slices.Compact(sorted)
	if len(sorted) < 3 {
		return sorted
	}
	var out Hull
	for range 2 {
		begun := len(out)
		for _, p := range sorted {
			for len(out) >= begun+2 && out[len(out)-1].Sub(out[len(out)-2]).Cross(p.Sub(out[len(out)-1])) <= 0 {
				out = out[:len(out)-1]
			}
			out = append(out, p)
		}
		out = out[:len(out)-1] // the next chain begins with it
		slices.Reverse(sorted)
	}
	return out
}

// DepthM is how far inside the hull a point of it lies.
func (h Hull) DepthM(p Point) float64 {
	least := math.Inf(1)
	for i := range h {
		at, _ := NearestOnSegment(p, h[i], h[(i+1)%len(h)])
		least = min(least, at.DistanceM(p))
	}
	return least
}

// PerimeterM is the length of the hull's border.
func (h Hull) PerimeterM() (sum float64) {
	for i := range h {
		sum += h[i].DistanceM(h[(i+1)%len(h)])
	}
	return sum
}

// AreaHa is the area of polygons that do not overlap, in hectares.
func AreaHa(areas []Polygon) (ha float64) {
	for _, g := range areas {
		ha += g.AreaM2() / 1e4
	}
	return ha
}
