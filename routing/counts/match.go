package counts

import (
	"math"
	"slices"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// Place is a counting place: a point beside or on a street whose whole width was
// watched.
type Place struct {
	At      plane.Point
	Ways    []int64 // OSM ways that were counted, in order of trust; may be empty
	WithinM float64 // how far off the counted edge may lie
	HalfM   float64 // half the length of the line across the street that counts
	Driven  bool    // only motors were counted: pedestrian streets do not match
	Paths   bool    // any way of the network matches, paths too
}

// alikeDeg is how far the direction of a crossing edge may differ from the matched
// one's: what crosses the line at a wider angle is another street.
const alikeDeg = 40

// Screenline is what a counting place counts: the edge it stands at, and all edges
// that run along with it across the line that was watched.
type Screenline struct {
	Edge  int32   // the matched edge
	DistM float64 // from the point
	All   []int32 // every edge that crosses, the matched one among them, ascending
	Road  []int32 // of those, the carriageways of the matched street: open to motors, of the same name
}

// Match finds what a place counts, by the rule named screenline, fixed before any
// level was changed:
//
// The matched edge is the nearest within WithinM that is part of a counted way, or
// if none is, the nearest; only streets match, no paths unless asked for. A line of HalfM to each
// side goes through the point at right angles to the matched edge there. Every edge
// with a piece that cuts the line at less than alikeDeg off the matched piece's
// direction crosses. False if nothing lies near enough.
func Match(g *network.Graph, p Place) (Screenline, bool) {
	edge, seg, dist := nearest(g, p)
	if edge < 0 {
		return Screenline{}, false
	}
	s := Screenline{Edge: edge, DistM: dist}
	along := direction(seg[0], seg[1])
	across := plane.Point{X: -along.Y, Y: along.X}.Mul(p.HalfM)
	a, b := p.At.Sub(across), p.At.Add(across)
	name := g.Names[g.Parts[g.PartAt[edge]].Name]
	for _, e := range g.InBox(plane.EmptyBox().With(a).With(b)) {
		if e != edge && !crosses(g.EdgeLine(e), a, b, along) {
			continue
		}
		s.All = append(s.All, e)
		if e == edge || driven(g.Class[e]) && g.Names[g.Parts[g.PartAt[e]].Name] == name {
			s.Road = append(s.Road, e)
		}
	}
	for _, list := range [...]*[]int32{&s.All, &s.Road} {
		if !slices.Contains(*list, edge) { // the point may lie beyond the edge's end
			*list = append(*list, edge)
			slices.Sort(*list)
		}
	}
	return s, true
}

// nearest finds the matched edge and its piece nearest to the place; -1 if none.
func nearest(g *network.Graph, p Place) (edge int32, piece [2]plane.Point, distM float64) {
	edge, distM = -1, p.WithinM
	onWay := false
	for _, e := range g.InBox(plane.Box{Min: p.At, Max: p.At}.Grown(p.WithinM)) {
		if !p.Paths && !matches(g.Class[e], p.Driven) {
			continue
		}
		counted := holds(g, e, p.Ways)
		if onWay && !counted {
			continue
		}
		line := g.EdgeLine(e)
		for k := 1; k < len(line); k++ {
			at, _ := plane.NearestOnSegment(p.At, line[k-1], line[k])
			d := at.DistanceM(p.At)
			if d <= distM || counted && !onWay && d <= p.WithinM {
				edge, piece, distM = e, [2]plane.Point{line[k-1], line[k]}, d
				onWay = onWay || counted
			}
		}
	}
	return edge, piece, distM
}

// holds tells whether an edge runs along one of the ways.
func holds(g *network.Graph, e int32, ways []int64) bool {
	for i := g.PartAt[e]; i < g.PartAt[e+1]; i++ {
		if slices.Contains(ways, g.Parts[i].Street) {
			return true
		}
	}
	return false
}

// matches tells whether a class is one of streets that are counted.
func matches(c osmdata.Class, driven bool) bool {
	return c >= osmdata.Primary && c <= osmdata.Service || !driven && c == osmdata.Pedestrian
}

// driven tells whether motors run on a class.
func driven(c osmdata.Class) bool { return c >= osmdata.Motorway && c <= osmdata.Service }

func direction(a, b plane.Point) plane.Point {
	d := b.Sub(a)
	if n := d.NormM(); n > 0 {
		return d.Mul(1 / n)
	}
	return plane.Point{X: 1}
}

// crosses tells whether a line has a piece that cuts the one from a to b and runs
// about along a direction.
func crosses(line plane.Polyline, a, b, along plane.Point) bool {
	for k := 1; k < len(line); k++ {
		p, q := line[k-1], line[k]
		if math.Abs(direction(p, q).Dot(along)) <= math.Cos(alikeDeg*math.Pi/180) {
			continue
		}
		if cut(p, q, a, b) {
			return true
		}
	}
	return false
}

// cut tells whether two straight pieces share a point; parallel ones do not.
func cut(p, q, a, b plane.Point) bool {
	r, s := q.Sub(p), b.Sub(a)
	d := r.Cross(s)
	if d == 0 {
		return false
	}
	t, u := a.Sub(p).Cross(s)/d, a.Sub(p).Cross(r)/d
	return t >= 0 && t <= 1 && u >= 0 && u <= 1
}
