package search

import (
	"fmt"
	"math"
	"slices"
)

// Source is a vertex a tree grows from and what it has cost to be there, in the
// unit of the arc costs; the offset is 0 or more.
type Source struct {
	Vertex int32
	Offset float64
}

// Span says how far and which way a tree grows.
type Span struct {
	Cutoff   float64 // largest distance that still counts; +Inf for all
	Reversed bool    // distances from the vertices to the sources, not from the sources
	Barred   []bool  // arcs not to use, or nil
}

// Tree is a least-cost tree over the vertices within a cutoff. It holds working
// memory of its router: call Release when done and do not use it afterwards. It
// may be read by many goroutines, until released.
type Tree struct {
	// Settled lists the vertices reached, nearest first; vertices whose distances
	// differ by less than one part in 2^24 may stand in either order.
	Settled []int32

	r        *Router
	s        *scratch
	reversed bool
}

// Reach grows a least-cost tree from one or more sources up to a cutoff.
func (r *Router) Reach(sources []Source, cost []float32, span Span) (*Tree, error) {
	if err := r.checkSlices(cost, span.Barred); err != nil {
		return nil, err
	}
	if math.IsNaN(span.Cutoff) {
		return nil, fmt.Errorf("search: the cutoff is not a number")
	}
	for _, source := range sources {
		if source.Vertex < 0 || int(source.Vertex) >= r.g.VertexCount() {
			return nil, fmt.Errorf("search: source %d is not one of the %d vertices", source.Vertex, r.g.VertexCount())
		}
		if !(source.Offset >= 0) {
			return nil, fmt.Errorf("search: the offset of source %d is %v; it must be 0 or more", source.Vertex, source.Offset)
		}
	}
	s := r.take()
	for _, source := range sources {
		if n := s.at(source.Vertex); source.Offset < n.distF && source.Offset <= span.Cutoff {
			n.distF = source.Offset
			s.qF.Push(Pack(source.Offset, source.Vertex))
		}
	}
	for !s.qF.Empty() {
		r.growTree(s, s.qF.Pop(), cost, &span)
	}
	return &Tree{Settled: s.order, r: r, s: s, reversed: span.Reversed}, nil
}

// growTree settles one vertex and relaxes its arcs.
func (r *Router) growTree(s *scratch, entry uint64, cost []float32, span *Span) {
	v := EntryID(entry)
	node := s.nodes.of(v)
	d := node.distF
	if Pack(d, v) != entry {
		return
	}
	if node.local < 0 {
		node.local = int32(len(s.order))
		s.order = append(s.order, v)
	}
	for a := r.g.First[v]; a < r.g.First[v+1]; a++ {
		arc := a
		if span.Reversed {
			arc = r.g.Twin[a]
		}
		c := float64(cost[arc])
		next := d + c
		if !(next <= span.Cutoff && c >= 0) || math.IsInf(next, 1) || (span.Barred != nil && span.Barred[arc]) {
			continue
		}
		w := r.g.Head[a]
		n := s.nodes.of(w)
		if n.stamp != s.stamp {
			n.refresh(s.stamp)
		}
		if next >= n.distF {
			continue
		}
		n.distF, n.arcF = next, arc
		s.qF.Push(Pack(next, w))
	}
}

// seen is the node of a vertex that the query came to, nil for others.
func (s *scratch) seen(v int32) *node {
	if p := s.nodes[v>>pageBits]; p != nil && p[v&(pageLen-1)].stamp == s.stamp {
		return &p[v&(pageLen-1)]
	}
	return nil
}

// Dist is the distance between the sources and a vertex, or +Inf when it is not
// within the cutoff.
func (t *Tree) Dist(v int32) float64 {
	if n := t.s.seen(v); n != nil {
		return n.distF
	}
	return math.Inf(1)
}

// Arc is the tree arc at a vertex: the last arc of the path from the sources, or
// in a reversed tree the first arc of the path to them. It is -1 at a source and
// where the tree does not reach.
func (t *Tree) Arc(v int32) int32 {
	if n := t.s.seen(v); n != nil {
		return n.arcF
	}
	return -1
}

// Path appends the arcs of the tree path to a vertex (in a reversed tree: from
// the vertex), in walking order, and nothing where the tree does not reach.
func (t *Tree) Path(arcs []int32, v int32) []int32 {
	start := len(arcs)
	for a := t.Arc(v); a >= 0; a = t.Arc(v) {
		arcs = append(arcs, a)
		if t.reversed {
			v = t.r.g.Head[a]
		} else {
			v = t.r.g.Head[t.r.g.Twin[a]]
		}
	}
	if !t.reversed {
		slices.Reverse(arcs[start:])
	}
	return arcs
}

// Release gives the tree's working memory back.
func (t *Tree) Release() {
	if t.s == nil {
		return
	}
	t.s.order = t.Settled[:0]
	t.r.give(t.s)
	t.s, t.Settled = nil, nil
}
