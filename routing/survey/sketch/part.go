package sketch

import (
	"maps"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// Degrees is a box of the earth: west, south, east, north.
type Degrees [4]float64

// Holds tells whether a place lies in the box; each place lies in one of two boxes with a
// common side.
func (d Degrees) Holds(lonDeg, latDeg float64) bool {
	return lonDeg >= d[0] && lonDeg < d[2] && latDeg >= d[1] && latDeg < d[3]
}

// Part is what a file of a box would hold, in a frame of its own: whatever meets the box,
// ways and areas whole.
func Part(x *osmdata.Extract, box Degrees) *osmdata.Extract {
	p := &parting{from: x.Frame, to: plane.NewFrame((box[0]+box[2])/2, (box[1]+box[3])/2), box: box}
	out := &osmdata.Extract{Frame: p.to, West: box[0], South: box[1], East: box[2], North: box[3], Timestamp: x.Timestamp,
		Barred: maps.Clone(x.Barred), CarsEnd: maps.Clone(x.CarsEnd), TurnBans: x.TurnBans, Countries: x.Countries, Borders: x.Borders, Report: x.Report}
	for _, s := range x.Streets {
		if !p.meets(s.Line) {
			continue
		}
		if !box.Holds(x.Frame.Inverse(s.Line[0])) {
			s.Flags |= osmdata.FlagOpenStart
		}
		if !box.Holds(x.Frame.Inverse(s.Line[len(s.Line)-1])) {
			s.Flags |= osmdata.FlagOpenEnd
		}
		s.Line = p.moved(s.Line)
		out.Streets = append(out.Streets, s)
	}
	for _, at := range x.StockEnds {
		if p.has(at) {
			out.StockEnds = append(out.StockEnds, p.move(at))
		}
	}
	for _, c := range x.Crossings {
		if p.has(c.At) {
			c.At = p.move(c.At)
			out.Crossings = append(out.Crossings, c)
		}
	}
	out.Features, out.Places = p.features(x.Features), p.features(x.Places)
	for _, o := range x.Obstacles {
		if p.meets(o.Line) {
			o.Line = p.moved(o.Line)
			out.Obstacles = append(out.Obstacles, o)
		}
	}
	for _, b := range x.Buildings {
		if p.meets(b.Area.Outer) {
			b.Area = p.area(b.Area)
			out.Buildings = append(out.Buildings, b)
		}
	}
	for _, g := range x.Grounds {
		if p.meets(g.Area.Outer) {
			g.Area = p.area(g.Area)
			out.Grounds = append(out.Grounds, g)
		}
	}
	for _, r := range x.Rails {
		if p.meets(r) {
			out.Rails = append(out.Rails, p.moved(r))
		}
	}
	for _, a := range x.Addresses {
		if p.has(a.At) {
			a.At = p.move(a.At)
			out.Addresses = append(out.Addresses, a)
		}
	}
	return out
}

// parting moves what meets a box from one frame to another.
type parting struct {
	from, to plane.Frame
	box      Degrees
}

func (p *parting) has(at plane.Point) bool { return p.box.Holds(p.from.Inverse(at)) }

func (p *parting) move(at plane.Point) plane.Point { return p.to.Forward(p.from.Inverse(at)) }

// meets tells whether a line or ring has a point in the box.
func (p *parting) meets(line []plane.Point) bool {
	for _, at := range line {
		if p.has(at) {
			return true
		}
	}
	return false
}

func (p *parting) moved(line []plane.Point) []plane.Point {
	out := make([]plane.Point, len(line))
	for i, at := range line {
		out[i] = p.move(at)
	}
	return out
}

func (p *parting) area(g plane.Polygon) plane.Polygon {
	out := plane.Polygon{Outer: p.moved(g.Outer)}
	for _, h := range g.Holes {
		out.Holes = append(out.Holes, p.moved(h))
	}
	return out
}

func (p *parting) features(list []osmdata.Feature) (out []osmdata.Feature) {
	for _, ft := range list {
		near := p.has(ft.Point) || p.meets(ft.Line)
		for _, g := range ft.Areas {
			near = near || p.meets(g.Outer)
		}
		if !near {
			continue
		}
		areas := make([]plane.Polygon, len(ft.Areas))
		for i := range areas {
			areas[i] = p.area(ft.Areas[i])
		}
		ft.Point, ft.Line, ft.Areas = p.move(ft.Point), p.moved(ft.Line), areas
		out = append(out, ft)
	}
	return out
}
