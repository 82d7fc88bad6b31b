package osmdata

import "wideberth/osmdata/plane"

// Within gives the part of an extract that has something of itself in a box on its plane:
// whole streets, areas and lines, and all that is not at a place. It shares what it holds
// with the extract.
func (x *Extract) Within(box plane.Box) *Extract {
	y := *x
	lineIn := func(l plane.Polyline) bool { return l.Box().Intersects(box) }
	areaIn := func(a plane.Polygon) bool { return a.Outer.Box().Intersects(box) }
	at := box.Contains
	y.Streets = pick(x.Streets, func(s *Street) bool { return lineIn(s.Line) })
	y.StockEnds = pick(x.StockEnds, func(p *plane.Point) bool { return at(*p) })
	y.Crossings = pick(x.Crossings, func(c *Crossing) bool { return at(c.At) })
	y.Features = pick(x.Features, func(f *Feature) bool {
		for _, a := range f.Areas {
			if areaIn(a) {
				return true
			}
		}
		return len(f.Areas) == 0 && (lineIn(f.Line) || at(f.Point))
	})
	y.Obstacles = pick(x.Obstacles, func(o *Obstacle) bool { return lineIn(o.Line) })
	y.Buildings = pick(x.Buildings, func(b *Building) bool { return areaIn(b.Area) })
	y.Grounds = pick(x.Grounds, func(g *Ground) bool { return areaIn(g.Area) })
	y.Rails = pick(x.Rails, func(l *plane.Polyline) bool { return lineIn(*l) })
	y.Addresses = pick(x.Addresses, func(a *Address) bool { return at(a.At) })
	y.Report = newReport()
	return &y
}

// pick copies what is wanted.
func pick[T any](all []T, want func(*T) bool) []T {
	var out []T
	for i := range all {
		if want(&all[i]) {
			out = append(out, all[i])
		}
	}
	return out
}
