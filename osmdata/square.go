package osmdata

import (
	"github.com/paulmach/osm"

	"wideberth/osmdata/plane"
)

// A pedestrian area is walked along its edges and straight across between its
// entrances, the nodes where other ways meet it.
const (
	// maxEntrances bounds the lines across one area to 120. Of more entrances every
	// nth is joined; the others still reach the edge (our assumption).
	maxEntrances = 16
	// detourToCross is by how much the edge must be longer than the straight line
	// before the line is worth having (our assumption).
	detourToCross = 1.1
)

// square is a walkable area waiting for its crossing lines.
type square struct {
	street   Street // without line
	polygons []plane.Polygon
	rings    [][]idRing
}

// square takes in a walkable area: its edges at once, its lines later, when all
// streets are known.
func (b *builder) square(kind string, id int64, tags osm.Tags, s *shape) {
	st, _, ok := b.streets.read(id, kind, tags)
	if !ok || !st.Foot || len(s.polygons) == 0 {
		return
	}
	if kind == "relation" {
		st.ID = -id
	}
	st.Motor = false
	st.Flags |= FlagAreaEdge
	b.squares = append(b.squares, square{st, s.polygons, s.rings})
	for _, rings := range s.rings {
		for _, r := range rings {
			parts, _, _ := b.runs(b.indexes(r.closed()))
			for _, p := range parts {
				edge := st
				edge.Nodes, edge.Line = p.nodes, p.line
				b.x.Streets = append(b.x.Streets, edge)
			}
		}
	}
}

// joinSquares draws the lines across all areas.
func (b *builder) joinSquares() {
	meets := map[int64]int{} // edge nodes of areas: how many ways and other areas meet there
	for _, q := range b.squares {
		for _, rings := range q.rings {
			for _, r := range rings {
				for _, id := range r {
					meets[b.root(id)]++
				}
			}
		}
	}
	if len(meets) == 0 {
		return
	}
	for i := range b.x.Streets {
		s := &b.x.Streets[i]
		if !s.Foot || s.Flags&FlagAreaEdge != 0 {
			continue
		}
		for _, id := range s.Nodes {
			if n, ok := meets[id]; ok {
				meets[id] = n + 1
			}
		}
	}
	for i := range b.squares {
		for k := range b.squares[i].polygons {
			b.joinAcross(&b.squares[i], k, meets)
		}
	}
}

// entrance is a node of an area's edge where something else meets it.
type entrance struct {
	node   int64
	at     plane.Point
	ring   int
	alongM float64 // from the ring's first node
}

// joinAcross draws the lines across one polygon of an area.
func (b *builder) joinAcross(q *square, k int, meets map[int64]int) {
	in, roundM := b.entrances(q.rings[k], meets)
	if len(in) > maxEntrances {
		b.note(oddCrossings, object("way", q.street.ID))
		some := make([]entrance, maxEntrances)
		for i := range some {
			some[i] = in[i*len(in)/maxEntrances]
		}
		in = some
	}
	for i, from := range in {
		for _, to := range in[i+1:] {
			straightM := from.at.DistanceM(to.at)
			if straightM == 0 || from.ring == to.ring && edgeM(from, to, roundM) < detourToCross*straightM {
				continue
			}
			if sees(&q.polygons[k], from.at, to.at) {
				line := q.street
				line.Nodes, line.Line = []int64{from.node, to.node}, plane.Polyline{from.at, to.at}
				b.x.Streets = append(b.x.Streets, line)
			}
		}
	}
}

// entrances lists the entrances of one polygon and the lengths of its rings.
func (b *builder) entrances(rings []idRing, meets map[int64]int) (in []entrance, roundM []float64) {
	for ri, r := range rings {
		alongM := 0.0
		before, have := plane.Point{}, false
		for _, id := range r.closed() {
			p, ok := b.place(id)
			if !ok {
				continue
			}
			if have {
				alongM += before.DistanceM(p)
			}
			before, have = p, true
			if node := b.root(id); meets[node] > 1 {
				in = append(in, entrance{node, p, ri, alongM})
			}
		}
		roundM = append(roundM, alongM)
		// The first node came again at the end.
		if n := len(in); n > 1 && in[n-1].node == b.root(r[0]) && in[n-1].alongM > 0 {
			in = in[:n-1]
		}
	}
	return in, roundM
}

// edgeM is the shorter way along the ring between two entrances of one ring.
func edgeM(a, b entrance, roundM []float64) float64 {
	d := b.alongM - a.alongM
	if d < 0 {
		d = -d
	}
	return min(d, roundM[a.ring]-d)
}

// sees tells whether the straight line from a to b, two points of the rings, stays
// inside the polygon.
func sees(g *plane.Polygon, a, b plane.Point) bool {
	// Where the line touches a corner it crosses no side, so several points are asked.
	const samples = 8
	for i := 1; i < samples; i++ {
		if !g.Contains(a.Add(b.Sub(a).Mul(float64(i) / samples))) {
			return false
		}
	}
	for _, r := range append([]plane.Ring{g.Outer}, g.Holes...) {
		for i := range r {
			if crosses(a, b, r[i], r[(i+1)%len(r)]) {
				return false
			}
		}
	}
	return true
}

// crosses tells whether two segments cross in a point inside both.
func crosses(a, b, c, d plane.Point) bool {
	ab, cd := b.Sub(a), d.Sub(c)
	c1, c2 := ab.Cross(c.Sub(a)), ab.Cross(d.Sub(a))
	c3, c4 := cd.Cross(a.Sub(c)), cd.Cross(b.Sub(c))
	return c1*c2 < 0 && c3*c4 < 0
}
