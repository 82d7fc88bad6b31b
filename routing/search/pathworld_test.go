package search

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// pathEdge is a street piece of a test world: time and cost each way. A negative
// time bars a direction.
type pathEdge struct {
	u, v           int32
	time, timeBack float32
	cost, costBack float32
}

// pathWorld is a small graph with its weights.
type pathWorld struct {
	g      *Graph
	router *Router
	time   []float32
	cost   []float32
	barred []bool
}

// newPathWorld lays edges out as a forward star.
func newPathWorld(t testing.TB, vertices int, edges []pathEdge) *pathWorld {
	t.Helper()
	g := &Graph{First: make([]int32, vertices+1), Head: make([]int32, 2*len(edges)), Twin: make([]int32, 2*len(edges))}
	for _, e := range edges {
		g.First[e.u+1]++
		g.First[e.v+1]++
	}
	for v := range vertices {
		g.First[v+1] += g.First[v]
	}
	w := &pathWorld{g: g, time: make([]float32, 2*len(edges)), cost: make([]float32, 2*len(edges)), barred: make([]bool, 2*len(edges))}
	next := slices.Clone(g.First)
	for _, e := range edges {
		a := next[e.u]
		next[e.u]++
		b := next[e.v]
		next[e.v]++
		g.Head[a], g.Head[b], g.Twin[a], g.Twin[b] = e.v, e.u, b, a
		w.time[a], w.time[b], w.cost[a], w.cost[b] = max(0, e.time), max(0, e.timeBack), e.cost, e.costBack
		w.barred[a], w.barred[b] = e.time < 0, e.timeBack < 0
	}
	if err := g.Check(); err != nil {
		t.Fatal(err)
	}
	router, err := NewRouter(g)
	if err != nil {
		t.Fatal(err)
	}
	w.router = router
	return w
}

// randomEdges draws a sparse multigraph: a random tree's worth of edges and more,
// with parallel edges and loops, some directions barred, and integer weights so
// that integer oracles agree to the last bit. Zero costs and ties are common.
func randomEdges(r *rand.Rand, vertices, edges int) []pathEdge {
	list := make([]pathEdge, 0, edges)
	for i := range edges {
		u, v := int32(r.IntN(vertices)), int32(r.IntN(vertices))
		if i > 0 && r.IntN(8) == 0 { // a parallel edge
			u, v = list[i-1].u, list[i-1].v
		}
		e := pathEdge{u: u, v: v, time: float32(1 + r.IntN(20)), timeBack: float32(1 + r.IntN(20)), cost: float32(r.IntN(15)), costBack: float32(r.IntN(15))}
		if r.IntN(10) == 0 {
			e.timeBack = -1
		}
		list = append(list, e)
	}
	return list
}

// roadLattice is a road-like planar graph with positions drawn on a square
// lattice, a third of its edges taken away (2.6 arcs to a vertex), times from
// lengths and costs that differ from time by a log-normal factor.
func roadLattice(r *rand.Rand, side int) []pathEdge {
	const spacingM, jitterM, speedMPS, keep = 90.0, 50.0, 1.3, 0.66
	x, y := make([]float64, side*side), make([]float64, side*side)
	for i := range x {
		x[i] = float64(i%side)*spacingM + r.Float64()*jitterM
		y[i] = float64(i/side)*spacingM + r.Float64()*jitterM
	}
	var edges []pathEdge
	add := func(u, v int) {
		if r.Float64() > keep {
			return
		}
		lengthM := math.Hypot(x[u]-x[v], y[u]-y[v]) * (1 + 0.3*r.Float64()*r.Float64())
		t := float32(lengthM / speedMPS)
		c := t * float32(math.Exp(0.8*r.NormFloat64())) / 1000
		edges = append(edges, pathEdge{u: int32(u), v: int32(v), time: t, timeBack: t, cost: c, costBack: c * (0.9 + 0.2*r.Float32())})
	}
	for i := range x {
		if i%side+1 < side {
			add(i, i+1)
		}
		if i/side+1 < side {
			add(i, i+side)
		}
	}
	return edges
}

// latticePairs draws connected pairs at least and at most so many cells apart.
func latticePairs(r *rand.Rand, w *pathWorld, side, count int, least, most float64) [][2]int32 {
	var pairs [][2]int32
	for len(pairs) < count {
		u, v := r.IntN(side*side), r.IntN(side*side)
		d := math.Hypot(float64(u%side-v%side), float64(u/side-v/side))
		if d < least || d > most {
			continue
		}
		if _, err := w.router.Path(nil, int32(u), int32(v), w.time, w.barred); err == nil {
			pairs = append(pairs, [2]int32{int32(u), int32(v)})
		}
	}
	return pairs
}

// tail is the vertex an arc leaves.
func (w *pathWorld) tail(a int32) int32 { return w.g.Head[w.g.Twin[a]] }

// mustLead fails unless the arcs are a walk from one vertex to another over arcs
// that are not barred. It knows nothing of the searches.
func (w *pathWorld) mustLead(t rapid.TB, arcs []int32, from, to int32) {
	t.Helper()
	at := from
	for i, a := range arcs {
		if w.tail(a) != at {
			t.Fatalf("arc %d of %v leaves %d, not %d", i, arcs, w.tail(a), at)
		}
		if w.barred[a] {
			t.Fatalf("arc %d of %v is barred", i, arcs)
		}
		at = w.g.Head[a]
	}
	if at != to {
		t.Fatalf("%v ends at %d, not %d", arcs, at, to)
	}
}

// total adds weights up by hand.
func total(weight []float32, arcs []int32) float64 {
	s := 0.0
	for _, a := range arcs {
		s += float64(weight[a])
	}
	return s
}

// simplePaths lists every path without a repeated vertex, the naive way.
func (w *pathWorld) simplePaths(from, to int32) [][]int32 {
	var all [][]int32
	seen := make([]bool, w.g.VertexCount())
	var walk func(v int32, arcs []int32)
	walk = func(v int32, arcs []int32) {
		if v == to {
			all = append(all, slices.Clone(arcs))
			return
		}
		seen[v] = true
		for a := w.g.First[v]; a < w.g.First[v+1]; a++ {
			if !w.barred[a] && !seen[w.g.Head[a]] {
				walk(w.g.Head[a], append(arcs, a))
			}
		}
		seen[v] = false
	}
	walk(from, nil)
	return all
}

// bellman is the slow twin of every distance here: Bellman-Ford relaxations until
// nothing changes (Bellman 1958, Quarterly of Applied Mathematics 16:87-90).
func (w *pathWorld) bellman(sources []Source, weight []float32, reversed bool) []float64 {
	dist := make([]float64, w.g.VertexCount())
	for v := range dist {
		dist[v] = math.Inf(1)
	}
	for _, s := range sources {
		dist[s.Vertex] = min(dist[s.Vertex], s.Offset)
	}
	for changed := true; changed; {
		changed = false
		for a := range w.g.Head {
			u, v := w.tail(int32(a)), w.g.Head[a]
			if reversed {
				u, v = v, u
			}
			if d := dist[u] + float64(weight[a]); !w.barred[a] && d < dist[v] {
				dist[v], changed = d, true
			}
		}
	}
	return dist
}

// close enough for sums that were added in another order.
func nearly(a, b float64) bool {
	return a == b || math.Abs(a-b) <= 1e-9*max(1, math.Abs(a), math.Abs(b))
}

func seeded(t testing.TB, seed uint64) *rand.Rand {
	t.Helper()
	t.Logf("seed %d", seed)
	return rand.New(rand.NewPCG(seed, 0x9e3779b97f4a7c15))
}

func (e pathEdge) String() string { return fmt.Sprintf("%d-%d", e.u, e.v) }

// undirected makes an edge that costs and takes the same both ways.
func undirected(u, v int32, cost float32) pathEdge {
	return pathEdge{u: u, v: v, time: cost, timeBack: cost, cost: cost, costBack: cost}
}

// oneWay makes an edge that can only be walked from u to v.
func oneWay(u, v int32, cost, time float32) pathEdge {
	return pathEdge{u: u, v: v, time: time, timeBack: -1, cost: cost}
}
