package network_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"
	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// rawGraph is the map node by node, nothing split or contracted, for an outside
// library; nodes that nobody passes are left out but as ends.
func rawGraph(w *world) *simple.WeightedUndirectedGraph {
	raw := simple.NewWeightedUndirectedGraph(0, math.Inf(1))
	for _, s := range w.ways {
		for k := 1; k < len(s.Nodes); k++ {
			u, v := s.Nodes[k-1], s.Nodes[k]
			if u != v && !w.barred[u] && !w.barred[v] {
				raw.SetWeightedEdge(raw.NewWeightedEdge(simple.Node(u), simple.Node(v), s.Line[k-1].DistanceM(s.Line[k])))
			}
		}
	}
	return raw
}

// contracted is the network for the same library, with the least of parallel edges.
func contracted(g *network.Graph) *simple.WeightedUndirectedGraph {
	out := simple.NewWeightedUndirectedGraph(0, math.Inf(1))
	for e := range g.EdgeArc {
		a := g.EdgeArc[e]
		u, v := int64(g.Star.Head[g.Star.Twin[a]]), int64(g.Star.Head[a])
		if u == v {
			continue
		}
		if w, ok := out.Weight(u, v); !ok || float64(g.LengthM[e]) < w {
			out.SetWeightedEdge(out.NewWeightedEdge(simple.Node(u), simple.Node(v), float64(g.LengthM[e])))
		}
	}
	return out
}

// Splitting and contracting change no distance: all shortest paths between vertices
// are as long as those over the raw map, by another library on both.
func TestContractionKeepsDistances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		g, _ := mustBuild(t, w)
		raw, short := path.DijkstraAllPaths(rawGraph(w)), path.DijkstraAllPaths(contracted(g))
		for u := range g.VertexNode {
			for v := range g.VertexNode {
				if u == v || w.barred[g.VertexNode[u]] || w.barred[g.VertexNode[v]] {
					continue
				}
				want, got := raw.Weight(g.VertexNode[u], g.VertexNode[v]), short.Weight(int64(u), int64(v))
				if math.IsInf(want, 1) != math.IsInf(got, 1) || math.Abs(want-got) > 1e-3 {
					t.Fatalf("from node %d to %d: %v m, over the raw map %v m", g.VertexNode[u], g.VertexNode[v], got, want)
				}
			}
		}
	})
}

// Moving the whole map moves the network and nothing else.
func TestMovedMap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		g, st := mustBuild(t, w)
		by := plane.Point{X: 4096, Y: -8192} // exact in binary
		moved := &world{barred: w.barred}
		for _, s := range w.ways {
			line := make(plane.Polyline, len(s.Line))
			for k, p := range s.Line {
				line[k] = p.Add(by)
			}
			s.Line = line
			moved.ways = append(moved.ways, s)
		}
		h, su := mustBuild(t, moved)
		if g.EdgeCount() != h.EdgeCount() || math.Abs(st.LengthM-su.LengthM) > 1e-6 {
			t.Fatalf("%+v became %+v", st, su)
		}
		for v := range g.Vertex {
			if g.VertexNode[v] != h.VertexNode[v] || g.Vertex[v].Add(by).DistanceM(h.Vertex[v]) > 1e-9 {
				t.Fatalf("vertex %d at %v became %v", v, g.Vertex[v], h.Vertex[v])
			}
		}
	})
}

func TestSnap(t *testing.T) {
	w := draw("a   b\n\nc", "ab ac") // one edge: 200 m up from c to a, 400 m on to b
	g, _ := w.build(t)
	for _, c := range []struct {
		name  string
		p     plane.Point
		distM float64
		fromB float64 // along the edge from b
		at    plane.Point
	}{
		{"beside the way", plane.Point{X: 130, Y: 40}, 40, 270, plane.Point{X: 130, Y: 0}},
		{"on it", plane.Point{X: 0, Y: -50}, 0, 450, plane.Point{X: 0, Y: -50}},
		{"beyond its end", plane.Point{X: 430, Y: 40}, 50, 0, plane.Point{X: 400, Y: 0}},
		{"just within the limit", plane.Point{X: 200, Y: 300}, 300, 200, plane.Point{X: 200, Y: 0}},
	} {
		got, err := g.Snap(c.p, network.SnapLimitM)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		along := got.AlongM
		if g.VertexNode[g.Star.Head[g.EdgeArc[0]]] == 'b' {
			along = float64(g.LengthM[0]) - along
		}
		if math.Abs(got.DistM-c.distM) > 1e-9 || math.Abs(along-c.fromB) > 1e-3 || got.At.DistanceM(c.at) > 1e-9 {
			t.Errorf("%s: %+v, %v m from b", c.name, got, along)
		}
	}
	_, err := g.Snap(plane.Point{X: 200, Y: 812.4}, network.SnapLimitM)
	if err == nil || err.Error() != "the nearest way is 812 m away, the limit is 300 m" {
		t.Errorf("too far: %v", err)
	}
	if _, err := g.Snap(plane.Point{X: math.NaN()}, network.SnapLimitM); err == nil {
		t.Error("no place is snapped to a way")
	}
}
