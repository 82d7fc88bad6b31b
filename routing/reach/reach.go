package reach

import (
	"math"
	"slices"

	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/search"
)

// Reach is the part of the network that a walk can use, as a small graph of its
// own in which the places asked for are vertices, wherever on an edge they lie.
// The searches run on it, so that nothing they allocate grows with the map.
type Reach struct {
	Land  *Land
	Star  search.Graph
	Door  int32   // local vertex of the start
	Goal  int32   // local vertex of the other place, -1 if there is none
	Home  []int32 // per local vertex: the network's vertex, -1 for a place on an edge
	Piece []Piece // per local arc
	Edges []int32 // the network's edges that occur, ascending
}

// Piece is the stretch of a network edge that a local arc walks.
type Piece struct {
	Directed
	Slot    int32 // index of the edge in Reach.Edges
	LengthM float32
}

// JoinM is how near a place may lie to a vertex to be put on it: less than the
// width of the way.
const JoinM = 2

// span is an undirected stretch of an edge between two local vertices.
type span struct {
	tail, head int32
	edge       int32
	fromM, toM float32
}

// Around cuts out what can be walked from a place and back within budgetM
// metres of level ground, or, with a goal, from the place to the goal. Edges that carry
// a place are there in any case, and so are those at a vertex that a place is put on
// where otherwise none would be: nobody stands nowhere.
func (land *Land) Around(from network.Place, goal *network.Place, budgetM float64) (*Reach, error) {
	g := land.Snap.Graph
	budgetM *= land.Snap.Slopes.Swiftest()
	cut := budgetM / 2
	if goal != nil {
		cut = budgetM
	}
	out, err := land.Router.Reach(land.Ends(from), land.ArcM, search.Span{Cutoff: cut})
	if err != nil {
		return nil, err
	}
	defer out.Release()
	back := out
	if goal != nil {
		if back, err = land.Router.Reach(land.Ends(*goal), land.ArcM, search.Span{Cutoff: cut}); err != nil {
			return nil, err
		}
		defer back.Release()
	}
	b := builder{g: g, local: make(map[int32]int32, len(out.Settled))}
	r := &Reach{Land: land, Goal: -1}
	r.Door = b.place(from)
	if goal != nil {
		r.Goal = b.place(*goal)
	}
	within := func(u, v int32, lengthM float64) bool {
		du, bu, dv, bv := out.Dist(u), back.Dist(u), out.Dist(v), back.Dist(v)
		return min(du+bv, dv+bu)+lengthM <= budgetM
	}
	for _, u := range out.Settled {
		for a := g.Star.First[u]; a < g.Star.First[u+1]; a++ {
			e := g.ArcEdge[a]
			if g.EdgeArc[e] == a && (within(u, g.Star.Head[a], float64(g.LengthM[e])) || b.carries(e)) {
				b.edge(e)
			}
		}
	}
	if len(b.spans)+len(b.placed) == 0 {
		b.around(b.home[r.Door])
	}
	b.carriers()
	r.pack(&b)
	return r, nil
}

// Begun cuts out every way of which some part lies within reachM metres of level ground
// from a place, the whole of it: where one goes to a place on the way, not along it.
func (land *Land) Begun(from network.Place, reachM float64) (*Reach, error) {
	out, err := land.Router.Reach(land.Ends(from), land.ArcM, search.Span{Cutoff: reachM * land.Snap.Slopes.Swiftest()})
	if err != nil {
		return nil, err
	}
	defer out.Release()
	b := builder{g: land.Snap.Graph, local: make(map[int32]int32, len(out.Settled))}
	r := &Reach{Land: land, Goal: -1}
	r.Door = b.place(from)
	for _, u := range out.Settled {
		b.around(u)
	}
	b.carriers()
	r.pack(&b)
	return r, nil
}

// Within cuts out every way with a part in a box: a reach without a start.
func (land *Land) Within(box plane.Box) *Reach {
	b := builder{g: land.Snap.Graph, local: map[int32]int32{}}
	for _, e := range land.Snap.Graph.InBox(box) {
		b.edge(e)
	}
	r := &Reach{Land: land, Door: -1, Goal: -1}
	r.pack(&b)
	return r
}

// TimesS is the time in seconds that each arc takes at a pace on level ground,
// slopes allowed for.
func (r *Reach) TimesS(paceMPS float64) []float32 {
	out := make([]float32, len(r.Piece))
	for a := range out {
		c := &r.Piece[a]
		out[a] = c.LengthM / float32(paceMPS) * r.Land.Snap.Slopes.Factor(c.Edge, c.Against())
	}
	return out
}

// Ends are the vertices at both ends of a place's edge, with the way to them.
func (land *Land) Ends(at network.Place) []search.Source {
	g := land.Snap.Graph
	a := g.EdgeArc[at.Edge]
	return []search.Source{
		{Vertex: g.Star.Head[g.Star.Twin[a]], Offset: at.AlongM},
		{Vertex: g.Star.Head[a], Offset: math.Max(0, float64(g.LengthM[at.Edge])-at.AlongM)},
	}
}

// builder collects the vertices and stretches of a reach.
type builder struct {
	g      *network.Graph
	local  map[int32]int32 // network vertex to local vertex
	home   []int32
	spans  []span
	placed []placed
	whole  map[int32]bool // network edges that around has added
}

// placed is a place that became a local vertex on an edge.
type placed struct {
	edge   int32
	alongM float32
	vertex int32
}

func (b *builder) vertex(v int32) int32 {
	if l, ok := b.local[v]; ok {
		return l
	}
	l := int32(len(b.home))
	b.home = append(b.home, v)
	b.local[v] = l
	return l
}

func (b *builder) tailHead(e int32) (tail, head int32) {
	a := b.g.EdgeArc[e]
	return b.g.Star.Head[b.g.Star.Twin[a]], b.g.Star.Head[a]
}

// place makes a local vertex of a place; near a junction it is the junction.
func (b *builder) place(at network.Place) int32 {
	tail, head := b.tailHead(at.Edge)
	switch {
	case at.AlongM < JoinM:
		return b.vertex(tail)
	case float64(b.g.LengthM[at.Edge])-at.AlongM < JoinM:
		return b.vertex(head)
	}
	l := int32(len(b.home))
	b.home = append(b.home, -1)
	b.placed = append(b.placed, placed{at.Edge, float32(at.AlongM), l})
	return l
}

// carries says whether a place lies on the edge; such edges are cut up last.
func (b *builder) carries(e int32) bool {
	return slices.ContainsFunc(b.placed, func(p placed) bool { return p.edge == e })
}

func (b *builder) edge(e int32) {
	if b.carries(e) {
		return
	}
	tail, head := b.tailHead(e)
	b.spans = append(b.spans, span{b.vertex(tail), b.vertex(head), e, 0, b.g.LengthM[e]})
}

// around adds the edges at a vertex of the network, each once.
func (b *builder) around(v int32) {
	for a := b.g.Star.First[v]; a < b.g.Star.First[v+1]; a++ {
		e := b.g.ArcEdge[a]
		if !b.whole[e] {
			if b.whole == nil {
				b.whole = map[int32]bool{}
			}
			b.whole[e] = true
			b.edge(e)
		}
	}
}

// carriers adds the edges that places lie on, cut up at them.
func (b *builder) carriers() {
	slices.SortFunc(b.placed, func(x, y placed) int {
		if x.edge != y.edge {
			return int(x.edge - y.edge)
		}
		return int(1e3 * (x.alongM - y.alongM))
	})
	for i := 0; i < len(b.placed); {
		e := b.placed[i].edge
		tail, head := b.tailHead(e)
		at, v := float32(0), b.vertex(tail)
		for ; i < len(b.placed) && b.placed[i].edge == e; i++ {
			b.spans = append(b.spans, span{v, b.placed[i].vertex, e, at, b.placed[i].alongM})
			at, v = b.placed[i].alongM, b.placed[i].vertex
		}
		b.spans = append(b.spans, span{v, b.vertex(head), e, at, b.g.LengthM[e]})
	}
}

// pack puts the stretches into a forward star.
func (r *Reach) pack(b *builder) {
	n := len(b.home)
	r.Home = b.home
	first := make([]int32, n+1)
	for _, s := range b.spans {
		first[s.tail+1]++
		first[s.head+1]++
	}
	for v := range n {
		first[v+1] += first[v]
	}
	next := slices.Clone(first[:n])
	m := 2 * len(b.spans)
	r.Star = search.Graph{First: first, Head: make([]int32, m), Twin: make([]int32, m)}
	r.Piece = make([]Piece, m)
	for _, s := range b.spans {
		f := next[s.tail]
		next[s.tail]++
		t := next[s.head]
		next[s.head]++
		r.Star.Head[f], r.Star.Head[t] = s.head, s.tail
		r.Star.Twin[f], r.Star.Twin[t] = t, f
		r.Piece[f] = Piece{Directed: Directed{Edge: s.edge, FromM: s.fromM, ToM: s.toM}, LengthM: s.toM - s.fromM}
		r.Piece[t] = Piece{Directed: Directed{Edge: s.edge, FromM: s.toM, ToM: s.fromM}, LengthM: s.toM - s.fromM}
	}
	r.number()
}

// number lists the edges that occur and tells each arc its place in the list.
func (r *Reach) number() {
	for i := range r.Piece {
		r.Edges = append(r.Edges, r.Piece[i].Edge)
	}
	slices.Sort(r.Edges)
	r.Edges = slices.Compact(r.Edges)
	for i := range r.Piece {
		k, _ := slices.BinarySearch(r.Edges, r.Piece[i].Edge)
		r.Piece[i].Slot = int32(k)
	}
}
