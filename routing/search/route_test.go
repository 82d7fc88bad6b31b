package search

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"sync"
	"testing"

	dgraph "github.com/dominikbraun/graph"
	"gonum.org/v1/gonum/graph"
	"gonum.org/v1/gonum/graph/multi"
	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"
	"pgregory.net/rapid"
)

// dijkstraSix is the six-vertex example with which Wikipedia's article on
// Dijkstra's algorithm explains it (edges from memory, distances recomputed by
// hand). Vertices are numbered from 0 here, from 1 there.
func dijkstraSix() []pathEdge {
	return []pathEdge{
		undirected(0, 1, 7), undirected(0, 2, 9), undirected(0, 5, 14), undirected(1, 2, 10), undirected(1, 3, 15),
		undirected(2, 3, 11), undirected(2, 5, 2), undirected(3, 4, 6), undirected(4, 5, 9),
	}
}

// textbookFive is the directed figure for Dijkstra's algorithm in Cormen,
// Leiserson, Rivest and Stein, Introduction to Algorithms (from memory): s t x y z
// are 0 1 2 3 4.
func textbookFive() []pathEdge {
	return []pathEdge{
		oneWay(0, 1, 10, 1), oneWay(0, 3, 5, 1), oneWay(1, 2, 1, 1), oneWay(1, 3, 2, 1), oneWay(3, 1, 3, 1),
		oneWay(3, 2, 9, 1), oneWay(3, 4, 2, 1), oneWay(2, 4, 4, 1), oneWay(4, 0, 7, 1), oneWay(4, 2, 6, 1),
	}
}

func TestPathOnPublishedExamples(t *testing.T) {
	for _, tc := range []struct {
		name  string
		n     int
		edges []pathEdge
		want  []float64
	}{
		{"six vertices, undirected", 6, dijkstraSix(), []float64{0, 7, 9, 20, 20, 11}},
		{"five vertices, directed", 5, textbookFive(), []float64{0, 8, 9, 5, 7}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			w := newPathWorld(t, tc.n, tc.edges)
			for v, want := range tc.want {
				got, err := w.router.Path(nil, 0, int32(v), w.cost, w.barred)
				if err != nil {
					t.Fatal(err)
				}
				if got.Cost != want {
					t.Errorf("to vertex %d: %v, published %v", v, got.Cost, want)
				}
				w.mustLead(t, got.Arcs, 0, int32(v))
			}
		})
	}
	w := newPathWorld(t, 6, dijkstraSix())
	got, _ := w.router.Path(nil, 0, 4, w.cost, nil)
	at := []int32{0}
	for _, a := range got.Arcs {
		at = append(at, w.g.Head[a])
	}
	if fmt.Sprint(at) != "[0 2 5 4]" { // published as 1-3-6-5
		t.Errorf("path to vertex 4 runs over %v", at)
	}
}

// TestPathAgainstOracles compares with two libraries that share nothing with this
// package, on random multigraphs collapsed to their cheapest parallel arcs.
func TestPathAgainstOracles(t *testing.T) {
	r := seeded(t, 7)
	for range 60 {
		n := 2 + r.IntN(60)
		w := newPathWorld(t, n, randomEdges(r, n, n+r.IntN(2*n)))
		gonum, ints := w.gonumGraph(w.cost), w.integerGraph(t)
		for range 6 {
			from, to := int32(r.IntN(n)), int32(r.IntN(n))
			got, err := w.router.Path(nil, from, to, w.cost, w.barred)
			_, want := path.DijkstraFrom(simple.Node(from), gonum).To(int64(to))
			if errors.Is(err, ErrNoPath) {
				if !math.IsInf(want, 1) {
					t.Fatalf("%d to %d: no path, gonum has %v", from, to, want)
				}
				continue
			}
			if err != nil {
				t.Fatal(err)
			}
			w.mustLead(t, got.Arcs, from, to)
			if got.Cost != want || got.Cost != total(w.cost, got.Arcs) {
				t.Fatalf("%d to %d: %v, gonum %v, recounted %v", from, to, got.Cost, want, total(w.cost, got.Arcs))
			}
			if from == to {
				continue
			}
			hops, err := dgraph.ShortestPath(ints, int(from), int(to))
			if err != nil {
				t.Fatal(err)
			}
			if sum := integerCost(t, ints, hops); float64(sum) != got.Cost {
				t.Fatalf("%d to %d: %v, integer oracle %v", from, to, got.Cost, sum)
			}
		}
	}
}

// TestPathAgainstMultigraph lets gonum see the parallel edges themselves.
func TestPathAgainstMultigraph(t *testing.T) {
	r := seeded(t, 17)
	for range 20 {
		n := 2 + r.IntN(30)
		w := newPathWorld(t, n, randomEdges(r, n, 3*n))
		lines := multi.NewWeightedDirectedGraph()
		lines.EdgeWeightFunc = func(lines graph.WeightedLines) float64 {
			least := math.Inf(1)
			for lines.Next() {
				least = min(least, lines.WeightedLine().Weight())
			}
			lines.Reset()
			return least
		}
		for v := range n {
			lines.AddNode(multi.Node(v))
		}
		for a := range w.g.Head {
			if u, v := w.tail(int32(a)), w.g.Head[a]; !w.barred[a] && u != v {
				lines.SetWeightedLine(lines.NewWeightedLine(multi.Node(u), multi.Node(v), float64(w.cost[a])))
			}
		}
		tree := path.DijkstraFrom(multi.Node(0), lines)
		for v := range n {
			got, err := w.router.Path(nil, 0, int32(v), w.cost, w.barred)
			if err != nil {
				got.Cost = math.Inf(1)
			}
			if want := tree.WeightTo(int64(v)); got.Cost != want {
				t.Fatalf("to %d: %v, gonum %v", v, got.Cost, want)
			}
		}
	}
}

// gonumGraph is the world as gonum's simple directed graph, each pair of vertices
// with its cheapest arc.
func (w *pathWorld) gonumGraph(weight []float32) *simple.WeightedDirectedGraph {
	g := simple.NewWeightedDirectedGraph(0, math.Inf(1))
	for v := range w.g.VertexCount() {
		g.AddNode(simple.Node(v))
	}
	for a := range w.g.Head {
		u, v := int64(w.tail(int32(a))), int64(w.g.Head[a])
		if w.barred[a] || u == v {
			continue
		}
		if old, ok := g.Weight(u, v); !ok || old > float64(weight[a]) {
			g.SetWeightedEdge(g.NewWeightedEdge(simple.Node(u), simple.Node(v), float64(weight[a])))
		}
	}
	return g
}

// integerGraph is the world for the library that knows integer weights only and
// refuses parallel edges.
func (w *pathWorld) integerGraph(t *testing.T) dgraph.Graph[int, int] {
	g := dgraph.New(dgraph.IntHash, dgraph.Directed(), dgraph.Weighted())
	for v := range w.g.VertexCount() {
		if err := g.AddVertex(v); err != nil {
			t.Fatal(err)
		}
	}
	for a := range w.g.Head {
		u, v := int(w.tail(int32(a))), int(w.g.Head[a])
		if w.barred[a] || u == v {
			continue
		}
		err := g.AddEdge(u, v, dgraph.EdgeWeight(int(w.cost[a])))
		if errors.Is(err, dgraph.ErrEdgeAlreadyExists) {
			if old, _ := g.Edge(u, v); old.Properties.Weight > int(w.cost[a]) {
				err = g.UpdateEdge(u, v, dgraph.EdgeWeight(int(w.cost[a])))
			} else {
				err = nil
			}
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	return g
}

func integerCost(t *testing.T, g dgraph.Graph[int, int], hops []int) int {
	sum := 0
	for i := 1; i < len(hops); i++ {
		e, err := g.Edge(hops[i-1], hops[i])
		if err != nil {
			t.Fatal(err)
		}
		sum += e.Properties.Weight
	}
	return sum
}

// TestPathOnLattice compares with the slow twin on float costs of a road-like
// graph, bit for bit: sums of float32 are exact here.
func TestPathOnLattice(t *testing.T) {
	r := seeded(t, 3)
	const side = 40
	w := newPathWorld(t, side*side, roadLattice(r, side))
	for range 8 {
		from := int32(r.IntN(side * side))
		dist := w.bellman([]Source{{Vertex: from}}, w.cost, false)
		for range 40 {
			to := int32(r.IntN(side * side))
			got, err := w.router.Path(nil, from, to, w.cost, nil)
			if err != nil {
				got.Cost = math.Inf(1)
			}
			if got.Cost != dist[to] {
				t.Fatalf("%d to %d: %v, want %v", from, to, got.Cost, dist[to])
			}
		}
	}
}

func TestPathProperties(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := seeded(t, rapid.Uint64().Draw(rt, "seed"))
		n := 2 + r.IntN(30)
		w := newPathWorld(t, n, randomEdges(r, n, 2*n))
		from, via, to := int32(r.IntN(n)), int32(r.IntN(n)), int32(r.IntN(n))
		whole, err := w.router.Path(nil, from, to, w.cost, w.barred)
		first, err1 := w.router.Path(nil, from, via, w.cost, w.barred)
		second, err2 := w.router.Path(nil, via, to, w.cost, w.barred)
		if err1 == nil && err2 == nil && (err != nil || whole.Cost > first.Cost+second.Cost) {
			rt.Fatalf("the way over %d costs %v + %v, the direct one %v (%v)", via, first.Cost, second.Cost, whole.Cost, err)
		}
		if err != nil || len(whole.Arcs) == 0 {
			return
		}
		w.barred[whole.Arcs[r.IntN(len(whole.Arcs))]] = true
		if barred, err := w.router.Path(nil, from, to, w.cost, w.barred); err == nil && barred.Cost < whole.Cost {
			rt.Fatalf("barring an arc of the path made it cheaper: %v, was %v", barred.Cost, whole.Cost)
		}
	})
}

func TestPathArguments(t *testing.T) {
	w := newPathWorld(t, 3, []pathEdge{undirected(0, 1, 2)})
	nan, inf := float32(math.NaN()), float32(math.Inf(1))
	for _, tc := range []struct {
		name     string
		from, to int32
		cost     []float32
		barred   []bool
		want     string
	}{
		{"start below 0", -1, 1, w.cost, nil, "start -1"},
		{"goal beyond the last vertex", 0, 3, w.cost, nil, "goal 3"},
		{"too few costs", 0, 1, w.cost[:1], nil, "1 costs for 2 arcs"},
		{"too few flags", 0, 1, w.cost, []bool{true}, "1 barred flags"},
		{"nothing leads there", 0, 2, w.cost, nil, "no path"},
		{"barred", 0, 1, w.cost, []bool{true, true}, "no path"},
		{"NaN bars", 0, 1, []float32{nan, nan}, nil, "no path"},
		{"infinity bars", 0, 1, []float32{inf, inf}, nil, "no path"},
		{"a negative cost bars and ends", 0, 1, []float32{-1, -1}, nil, "no path"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			if _, err := w.router.Path(nil, tc.from, tc.to, tc.cost, tc.barred); err == nil || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("got %v, want %q", err, tc.want)
			}
		})
	}
	here, err := w.router.Path([]int32{9}, 2, 2, w.cost, nil)
	if err != nil || here.Cost != 0 || len(here.Arcs) != 1 {
		t.Errorf("from a vertex to itself: %v %v", here, err)
	}
}

func TestCheckCosts(t *testing.T) {
	w := newPathWorld(t, 2, []pathEdge{undirected(0, 1, 2)})
	for _, tc := range []struct {
		name string
		cost []float32
		want string
	}{
		{"sound", []float32{0, float32(math.Inf(1))}, ""},
		{"negative", []float32{1, -1}, "the cost of arc 1 is -1"},
		{"NaN", []float32{float32(math.NaN()), 1}, "the cost of arc 0 is NaN"},
		{"short", []float32{1}, "1 costs for 2 arcs"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			err := w.router.CheckCosts(tc.cost)
			if (err == nil) != (tc.want == "") || (err != nil && !strings.Contains(err.Error(), tc.want)) {
				t.Errorf("got %v, want %q", err, tc.want)
			}
		})
	}
}

func TestNewRouterRefuses(t *testing.T) {
	if _, err := NewRouter(&Graph{}); err == nil {
		t.Error("a graph without a first array was taken")
	}
}

// TestRouterStampWraps checks that memory stamped 2^32 queries ago is not taken
// for fresh.
func TestRouterStampWraps(t *testing.T) {
	w := newPathWorld(t, 3, []pathEdge{undirected(0, 1, 2), undirected(1, 2, 2)})
	s := w.router.take()
	s.at(1).distF = 0.5
	s.nodes.of(1).stamp = 1 // as an old query left it, one round of stamps ago
	s.stamp = math.MaxUint32
	w.router.give(s)
	s = w.router.take()
	if s.stamp == 0 {
		t.Fatal("stamp 0 means never seen")
	}
	if d := s.at(1).distF; !math.IsInf(d, 1) {
		t.Fatalf("a distance of %v survived", d)
	}
}

// TestMemoryFollowsTheSearch: on a large map a short search holds the pages that it came to.
func TestMemoryFollowsTheSearch(t *testing.T) {
	const n = 400 * pageLen
	edges := make([]pathEdge, 0, n)
	for v := range int32(n - 1) {
		edges = append(edges, undirected(v, v+1, 1))
	}
	w := newPathWorld(t, n, edges)
	pages := func(ns nodes) (held int) {
		for _, p := range ns {
			if p != nil {
				held++
			}
		}
		return held
	}
	grow := func(cutoff float64) (held int) {
		tree, err := w.router.Reach([]Source{{Vertex: n / 2}}, w.cost, Span{Cutoff: cutoff})
		if err != nil {
			t.Fatal(err)
		}
		s := tree.s
		held = pages(s.nodes)
		if d := tree.Dist(0); !math.IsInf(d, 1) && cutoff < n/2 || pages(s.nodes) != held {
			t.Errorf("a vertex that was not come to lies at %g, and %d pages are held", d, pages(s.nodes))
		}
		tree.Release()
		return held
	}
	if held := grow(pageLen); held > 4 {
		t.Errorf("%d pages for a thousand vertices", held)
	}
	if held := grow(n); held != 400 {
		t.Errorf("%d pages for all vertices of 400", held)
	}
}

func TestRouterIsSafeForManyGoroutines(t *testing.T) {
	r := seeded(t, 5)
	const side = 20
	w := newPathWorld(t, side*side, roadLattice(r, side))
	pairs := latticePairs(r, w, side, 40, 3, 18)
	want := make([]float64, len(pairs))
	for i, p := range pairs {
		route, err := w.router.Path(nil, p[0], p[1], w.cost, nil)
		if err != nil {
			t.Fatal(err)
		}
		want[i] = route.Cost
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for i, p := range pairs {
				if got, err := w.router.Path(nil, p[0], p[1], w.cost, nil); err != nil || got.Cost != want[i] {
					t.Errorf("pair %d: %v %v, alone %v", i, got.Cost, err, want[i])
				}
			}
		})
	}
	wg.Wait()
}
