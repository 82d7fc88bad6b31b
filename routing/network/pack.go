package network

import (
	"cmp"
	"math"
	"slices"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/search"
)

// edgeDraft is an edge on its way into the flat arrays.
type edgeDraft struct {
	tail, head int32 // vertices
	lengthM    float64
	line       []plane.Point
	nodes      []int64 // of its line, where two places are two nodes
	links      []link
}

// pack puts the chains into the graph's arrays.
func (b *builder) pack() *Graph {
	g := &Graph{Names: []string{""}}
	vertex := b.placeVertices(g)
	drafts := b.drafts(vertex)
	slices.SortFunc(drafts, func(d, e *edgeDraft) int {
		if c := cmp.Or(cmp.Compare(d.tail, e.tail), cmp.Compare(d.head, e.head)); c != 0 {
			return c
		}
		return cmp.Or(slices.Compare(d.nodes, e.nodes), compareLines(d.line, e.line))
	})
	names := map[string]int32{"": 0}
	b.makeRoom(g, drafts)
	for _, d := range drafts {
		b.addEdge(g, d, names)
	}
	g.Parts = slices.Clip(g.Parts)
	g.star(drafts)
	b.stats.Vertices, b.stats.Edges = len(g.Vertex), len(drafts)
	return g
}

// makeRoom makes the arrays by edge and those of lines and parts, empty.
func (b *builder) makeRoom(g *Graph, drafts []*edgeDraft) {
	n, points, links := len(drafts), 0, 0
	for _, d := range drafts {
		points, links = points+len(d.line), links+len(d.links)
	}
	g.LineAt, g.PartAt = make([]int32, 1, n+1), make([]int32, 1, n+1)
	g.LengthM, g.Class, g.Flags, g.OpenEdge = make([]float32, 0, n), make([]osmdata.Class, 0, n), make([]osmdata.StreetFlags, 0, n), make([]bool, 0, n)
	g.Line, g.Parts = make([]plane.Point, 0, points), make([]Part, 0, links)
}

// placeVertices numbers the ends of chains along a Hilbert curve, so that what is
// near on the map is near in memory: by point, the vertex that it is.
func (b *builder) placeVertices(g *Graph) []int32 {
	earth := plane.NewEarth(b.frame)
	type placed struct {
		key uint64
		p   int32
	}
	order, vertex := make([]placed, 0, len(b.chains)), make([]int32, len(b.points))
	for _, c := range b.chains {
		for _, p := range [2]int32{c.tail, c.head} {
			if vertex[p] == 0 {
				vertex[p] = 1
				order = append(order, placed{curve(earth.Degrees(b.points[p].at)), p})
			}
		}
	}
	slices.SortFunc(order, func(u, v placed) int {
		if u.key != v.key {
			return cmp.Compare(u.key, v.key)
		}
		p, q := &b.points[u.p], &b.points[v.p]
		return cmp.Or(cmp.Compare(p.node, q.node), comparePoints(p.at, q.at), cmp.Compare(u.p, v.p))
	})
	g.Vertex, g.VertexNode = make([]plane.Point, len(order)), make([]int64, len(order))
	for i, o := range order {
		vertex[o.p] = int32(i)
		g.Vertex[i], g.VertexNode[i] = b.points[o.p].at, b.points[o.p].node
	}
	return vertex
}

// drafts makes a draft of each chain; lines and nodes of all lie in one piece of memory.
func (b *builder) drafts(vertex []int32) []*edgeDraft {
	points := 0
	for _, c := range b.chains {
		for _, l := range b.links[c.first : c.first+c.count] {
			points += int(b.pieces[l.piece].to-b.pieces[l.piece].from) + 1
		}
	}
	lines, nodes := make([]plane.Point, 0, points), make([]int64, 0, points)
	all, out := make([]edgeDraft, len(b.chains)), make([]*edgeDraft, len(b.chains))
	for i, c := range b.chains {
		all[i] = b.draft(c, vertex, lines[len(lines):], nodes[len(nodes):])
		lines, nodes = lines[:len(lines)+len(all[i].line)], nodes[:len(nodes)+len(all[i].nodes)]
		out[i] = &all[i]
	}
	return out
}

// draft gives a chain its geometry, in the direction that does not depend on how
// the map was drawn: from the lower vertex, or of a closed one's two the lesser nodes.
// Line and nodes are put behind what is given, which is empty.
func (b *builder) draft(c chain, vertex []int32, line []plane.Point, nodes []int64) edgeDraft {
	d := edgeDraft{tail: vertex[c.tail], head: vertex[c.head], lengthM: c.lengthM, line: line, nodes: nodes, links: b.links[c.first : c.first+c.count]}
	for _, l := range d.links {
		d.line = b.line(d.line, &b.pieces[l.piece], l.back)
		d.nodes = b.nodes(d.nodes, &b.pieces[l.piece], l.back)
	}
	closed := d.line[0] == d.line[len(d.line)-1] // one vertex, or the two sides of a barred node
	if closed && lessBackwards(d.nodes) || !closed && d.tail > d.head {
		d.tail, d.head = d.head, d.tail
		slices.Reverse(d.line)
		slices.Reverse(d.nodes)
		slices.Reverse(d.links)
		for i := range d.links {
			d.links[i].back = !d.links[i].back
		}
	}
	return d
}

// lessBackwards tells whether a list read from its end is less than from its beginning.
func lessBackwards(list []int64) bool {
	for i, j := 0, len(list)-1; i < j; i, j = i+1, j-1 {
		if list[i] != list[j] {
			return list[j] < list[i]
		}
	}
	return false
}

func comparePoints(p, q plane.Point) int {
	return cmp.Or(cmp.Compare(p.X, q.X), cmp.Compare(p.Y, q.Y))
}

func compareLines(a, b []plane.Point) int { return slices.CompareFunc(a, b, comparePoints) }

// openFlags belong to the ends of a way and say nothing of an edge: Graph.OpenEdge
// does.
const openFlags = osmdata.FlagOpenStart | osmdata.FlagOpenEnd

// addEdge appends one edge's attributes.
func (b *builder) addEdge(g *Graph, d *edgeDraft, names map[string]int32) {
	var flags osmdata.StreetFlags
	var byClass [osmdata.ClassCount]float64
	first, atM := len(g.Parts), 0.0
	for _, l := range d.links {
		p := &b.pieces[l.piece]
		s := b.streets[p.street]
		flags |= s.Flags &^ openFlags
		byClass[s.Class] += p.lengthM()
		part := newPart(s, p, l.back, atM)
		if last := len(g.Parts) - 1; last < first || !continues(&g.Parts[last], &part) {
			part.Name = b.named(g, p.street, names)
			g.Parts = append(g.Parts, part)
		}
		atM += p.lengthM()
	}
	class := osmdata.Class(0)
	for c, m := range byClass {
		if m > byClass[class] {
			class = osmdata.Class(c)
		}
	}
	tail, head := b.ends(d)
	g.LengthM = append(g.LengthM, float32(d.lengthM))
	g.Class = append(g.Class, class)
	g.Flags = append(g.Flags, flags)
	g.Line = append(g.Line, d.line...)
	g.LineAt = append(g.LineAt, int32(len(g.Line)))
	g.PartAt = append(g.PartAt, int32(len(g.Parts)))
	g.OpenEdge = append(g.OpenEdge, b.points[tail].open || b.points[head].open)
	b.stats.LengthM += d.lengthM
}

// named is the number of a street's name, a new one for a name that comes for the first
// time.
func (b *builder) named(g *Graph, street int32, names map[string]int32) int32 {
	if b.nameOf == nil {
		b.nameOf = make([]int32, len(b.streets))
	}
	if n := b.nameOf[street]; n > 0 {
		return n
	}
	name := b.streets[street].Name
	n, ok := names[name]
	if !ok {
		n = int32(len(g.Names))
		names[name] = n
		g.Names = append(g.Names, name)
	}
	b.nameOf[street] = n
	return n
}

// ends are the points where a draft begins and ends.
func (b *builder) ends(d *edgeDraft) (tail, head int32) {
	first, last := d.links[0], d.links[len(d.links)-1]
	end := func(l link, head bool) int32 {
		if l.back != head {
			return b.pieces[l.piece].head
		}
		return b.pieces[l.piece].tail
	}
	return end(first, false), end(last, true)
}

func newPart(s *osmdata.Street, p *piece, back bool, atM float64) Part {
	part := Part{Street: s.ID, FromM: float32(atM), StreetM: float32(p.fromM), Class: s.Class, Run: runOf(back, s.Lanes),
		Flags: s.Flags &^ openFlags, WidthCM: widthCM(s.WidthM), SpeedMPS: s.SpeedMPS}
	if back {
		part.StreetM = float32(p.toM)
	}
	return part
}

// continues tells whether q only goes on where p is: the same way in the same
// direction, cut at a node where no junction was left.
func continues(p, q *Part) bool {
	if p.Street != q.Street || p.Reverse() != q.Reverse() {
		return false
	}
	run := q.FromM - p.FromM
	if p.Reverse() {
		run = -run
	}
	d := p.StreetM + run - q.StreetM
	return d < 0.05 && d > -0.05
}

// star fills the forward star: the arcs of each vertex in the order of their edges.
func (g *Graph) star(drafts []*edgeDraft) {
	n := len(g.Vertex)
	g.Star = search.Graph{First: make([]int32, n+1), Head: make([]int32, 2*len(drafts)), Twin: make([]int32, 2*len(drafts))}
	g.ArcEdge, g.EdgeArc = make([]int32, 2*len(drafts)), make([]int32, len(drafts))
	for _, d := range drafts {
		g.Star.First[d.tail+1]++
		g.Star.First[d.head+1]++
	}
	for v := range n {
		g.Star.First[v+1] += g.Star.First[v]
	}
	next := slices.Clone(g.Star.First)
	put := func(from, to int32, e int) int32 {
		a := next[from]
		next[from]++
		g.Star.Head[a], g.ArcEdge[a] = to, int32(e)
		return a
	}
	for e, d := range drafts {
		a := put(d.tail, d.head, e)
		t := put(d.head, d.tail, e)
		g.Star.Twin[a], g.Star.Twin[t], g.EdgeArc[e] = t, a, a
	}
}

// curveBits is the number of bits of a position per axis: half a centimetre at the
// equator.
const curveBits = 32

// curve is the position of a place along the Hilbert curve through the square that Web
// Mercator (EPSG:3857) makes of the earth. Degrees are taken as OpenStreetMap keeps them,
// so that a place has one position whatever frame it was drawn in.
func curve(lonDeg, latDeg float64) uint64 {
	const side, least, mostDeg = 1 << curveBits, 1e-7, 85.05112878
	lon := math.Round(lonDeg/least) * least
	lat := min(mostDeg, max(-mostDeg, math.Round(latDeg/least)*least)) * math.Pi / 180
	x, y := lon/360+.5, .5-math.Asinh(math.Tan(lat))/(2*math.Pi)
	at := func(share float64) uint32 { return uint32(min(side-1, max(0, math.Floor(share*side)))) }
	return hilbert(at(x), at(y))
}

// hilbert is the position of a cell along the Hilbert curve through the square of
// 2^curveBits cells a side (Hilbert 1891; the bit-by-bit form of Warren, Hacker's
// Delight, chapter 16).
func hilbert(x, y uint32) uint64 {
	var d uint64
	for s := uint32(1 << (curveBits - 1)); s > 0; s /= 2 {
		var rx, ry uint64
		if x&s != 0 {
			rx = 1
		}
		if y&s != 0 {
			ry = 1
		}
		d += uint64(s) * uint64(s) * (3*rx ^ ry)
		if ry == 0 {
			if rx == 1 {
				x, y = ^x, ^y
			}
			x, y = y, x
		}
	}
	return d
}
