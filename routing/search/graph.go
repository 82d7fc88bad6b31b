// Package search finds walks on bare arrays: least-cost paths, paths under a
// budget, the front between two costs, pairs that share no edge, and closed
// walks of a wished duration with a proof of how good they are. It knows no
// geography and no dogs: a graph is three slices and a cost is a number.
package search

import "fmt"

// Graph is a directed forward star in which every arc has a twin that runs the
// same edge the other way. It is immutable and may be shared between goroutines.
//
//	First  one entry per vertex plus one; the arcs out of v are First[v] .. First[v+1]-1
//	Head   one entry per arc: the vertex it leads to
//	Twin   one entry per arc: the same edge walked the other way (Twin[Twin[a]] == a)
//
// Parallel edges and loops (an arc whose head is its tail) are allowed.
type Graph struct {
	First []int32
	Head  []int32
	Twin  []int32
}

// VertexCount is the number of vertices.
func (g *Graph) VertexCount() int { return len(g.First) - 1 }

// ArcCount is the number of arcs, twice the number of edges.
func (g *Graph) ArcCount() int { return len(g.Head) }

// Check walks the invariants that every search relies on and reports the first
// that is broken.
func (g *Graph) Check() error {
	if len(g.First) == 0 || g.First[0] != 0 || int(g.First[len(g.First)-1]) != len(g.Head) {
		return fmt.Errorf("search: first does not span the %d arcs", len(g.Head))
	}
	if len(g.Twin) != len(g.Head) {
		return fmt.Errorf("search: %d twins for %d arcs", len(g.Twin), len(g.Head))
	}
	for v := 0; v < g.VertexCount(); v++ {
		if g.First[v] > g.First[v+1] || int(g.First[v+1]) > len(g.Head) {
			return fmt.Errorf("search: first does not rise to its end at vertex %d", v)
		}
		for a := g.First[v]; a < g.First[v+1]; a++ {
			if h := g.Head[a]; h < 0 || int(h) >= g.VertexCount() {
				return fmt.Errorf("search: arc %d leads to vertex %d of %d", a, h, g.VertexCount())
			}
			t := g.Twin[a]
			if t < 0 || int(t) >= len(g.Head) || t == a || g.Twin[t] != a || g.Head[t] != int32(v) {
				return fmt.Errorf("search: arc %d has no true twin", a)
			}
		}
	}
	return nil
}

// DeadEnds finds the trees that hang on the rest of the graph (cul-de-sacs, however
// branched) by taking away vertices of one arc until none is left: for each vertex so
// taken the arc towards the rest, for all others -1. Of a piece of the graph that is
// nothing but a tree one vertex is left.
func (g *Graph) DeadEnds() []int32 {
	n := g.VertexCount()
	up, degree := make([]int32, n), make([]int32, n)
	var leaves []int32
	for v := range int32(n) {
		up[v] = -1
		degree[v] = g.First[v+1] - g.First[v]
		if degree[v] == 1 {
			leaves = append(leaves, v)
		}
	}
	for len(leaves) > 0 {
		v := leaves[len(leaves)-1]
		leaves = leaves[:len(leaves)-1]
		for a := g.First[v]; a < g.First[v+1] && degree[v] == 1; a++ {
			w := g.Head[a]
			if up[w] == g.Twin[a] {
				continue // into a tree
			}
			up[v], degree[v] = a, 0
			if degree[w]--; degree[w] == 1 {
				leaves = append(leaves, w)
			}
		}
	}
	return up
}
