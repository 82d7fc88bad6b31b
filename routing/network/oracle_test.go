package network_test

import (
	"errors"
	"math"
	"slices"
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

// A map drawn in another frame, as a part of a larger one is, has the same network: the
// same vertices in the same order, and edges that run the same way.
func TestMapInAnotherFrame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		lon, lat := rapid.Float64Range(-170, 170).Draw(t, "lon"), rapid.Float64Range(-70, 70).Draw(t, "lat")
		here := plane.NewFrame(lon, lat)
		there := plane.NewFrame(lon+rapid.Float64Range(-.5, .5).Draw(t, "east"), lat+rapid.Float64Range(-.5, .5).Draw(t, "north"))
		g, st := inFrame(t, w, here, here)
		h, su := inFrame(t, w, here, there)
		if !slices.Equal(g.VertexNode, h.VertexNode) || !slices.Equal(g.Star.Head, h.Star.Head) || !slices.Equal(g.EdgeArc, h.EdgeArc) {
			t.Fatalf("%+v became %+v", st, su)
		}
		for v := range g.Vertex {
			if d := there.Forward(here.Inverse(g.Vertex[v])).DistanceM(h.Vertex[v]); d > .02 {
				t.Fatalf("vertex %d moved by %g m", v, d)
			}
		}
	})
}

// inFrame builds a world that was drawn in one frame in another; its places are rounded
// to what OpenStreetMap keeps.
func inFrame(t *rapid.T, w *world, from, to plane.Frame) (*network.Graph, network.Stats) {
	ways := slices.Clone(w.ways)
	for i := range ways {
		line := make(plane.Polyline, len(ways[i].Line))
		for k, p := range ways[i].Line {
			lon, lat := from.Inverse(p)
			line[k] = to.Forward(math.Round(lon*1e7)/1e7, math.Round(lat*1e7)/1e7)
		}
		ways[i].Line = line
	}
	g, st, err := network.Build(ways, w.barred, network.Options{MinIslandM: -1, Frame: to})
	if errors.Is(err, network.ErrNoStreets) {
		t.Skip("nothing to walk on")
	}
	if err != nil {
		t.Fatal(err)
	}
	return g, st
}

// A part of a map has the vertices of the whole in the order of the whole.
func TestPartIsOrderedAsTheWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		g, _ := mustBuild(t, w)
		part := &world{ways: w.ways[:rapid.IntRange(1, len(w.ways)).Draw(t, "part")], barred: w.barred}
		h, _ := mustBuild(t, part)
		at := map[int64]int{}
		for v, n := range g.VertexNode {
			at[n] = v
		}
		last := -1
		for _, n := range h.VertexNode {
			if v, ok := at[n]; ok && !w.barred[n] {
				if v < last {
					t.Fatalf("whole %v, part %v", g.VertexNode, h.VertexNode)
				}
				last = v
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
