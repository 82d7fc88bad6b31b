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
