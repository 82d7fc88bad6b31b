package search

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/graph/network"
	"gonum.org/v1/gonum/graph/simple"
	"pgregory.net/rapid"
)

// pairSix is the example of Wikipedia's article on Suurballe's algorithm, after
// Suurballe and Tarjan 1984, Networks 14:325-336, as undirected edges (from memory;
// the total of 10 by enumeration). A to F are 0 to 5.
func pairSix() []pathEdge {
	return []pathEdge{
		undirected(0, 1, 1), undirected(0, 2, 2), undirected(1, 3, 1), undirected(1, 4, 2),
		undirected(2, 3, 2), undirected(3, 5, 1), undirected(4, 5, 2),
	}
}

func TestPairOnPublishedExample(t *testing.T) {
	w := newPathWorld(t, 6, pairSix())
	single, _ := w.router.Path(nil, 0, 5, w.cost, nil)
	if single.Cost != 3 {
		t.Fatalf("the shortest path costs %v, published 3", single.Cost)
	}
	// The trap: take the shortest path away and nothing is left.
	barred := make([]bool, len(w.cost))
	for _, a := range single.Arcs {
		barred[a], barred[w.g.Twin[a]] = true, true
	}
	if _, err := w.router.Path(nil, 0, 5, w.cost, barred); !errors.Is(err, ErrNoPath) {
		t.Fatalf("removing the shortest path leaves a path (%v): this is not the trap", err)
	}
	pair, err := w.router.Pair(0, 5, w.cost, nil)
	if err != nil || pair[0].Cost != 5 || pair[1].Cost != 5 {
		t.Fatalf("got %+v %v, published 5 and 5", pair, err)
	}
	for _, p := range pair {
		w.mustLead(t, p.Arcs, 0, 5)
	}
	w.mustShareNothing(t, pair)
}

func (w *pathWorld) mustShareNothing(t rapid.TB, pair [2]Route) {
	t.Helper()
	for _, a := range pair[0].Arcs {
		for _, b := range pair[1].Arcs {
			if a == b || w.g.Twin[a] == b {
				t.Fatalf("%v and %v share an edge", pair[0].Arcs, pair[1].Arcs)
			}
		}
	}
}

// slowPair is the least total over all pairs of simple paths to a target that
// share no edge.
func (w *pathWorld) slowPair(from int32, isTarget func(int32) bool) float64 {
	var all [][]int32
	for v := range int32(w.g.VertexCount()) {
		if isTarget(v) {
			all = append(all, w.simplePaths(from, v)...)
		}
	}
	best := math.Inf(1)
	for i, a := range all {
		used := map[int32]bool{}
		for _, x := range a {
			used[x], used[w.g.Twin[x]] = true, true
		}
		for _, b := range all[:i] {
			apart := true
			for _, y := range b {
				apart = apart && !used[y]
			}
			if apart {
				best = min(best, total(w.cost, a)+total(w.cost, b))
			}
		}
	}
	return best
}

func TestPairAgainstEnumeration(t *testing.T) {
	r := seeded(t, 59)
	pairs, bridges := 0, 0
	for range 1200 {
		n := 2 + r.IntN(7)
		w := newPathWorld(t, n, randomEdges(r, n, n+r.IntN(n+2)))
		from, targets := int32(r.IntN(n)), 1+r.IntN(2)
		goal := map[int32]bool{}
		for range targets {
			goal[int32(r.IntN(n))] = true
		}
		isTarget := func(v int32) bool { return goal[v] }
		got, err := w.router.WaysOut(from, isTarget, w.cost, w.barred)
		want := w.slowPair(from, isTarget)
		if goal[from] {
			if err != nil || got[0].Cost+got[1].Cost != 0 || len(got[0].Arcs)+len(got[1].Arcs) != 0 {
				t.Fatalf("from a target: %+v %v", got, err)
			}
			continue
		}
		if err != nil {
			if !math.IsInf(want, 1) {
				t.Fatalf("%v, but a pair costs %v", err, want)
			}
			if errors.Is(err, ErrNoPair) {
				bridges++
			}
			continue
		}
		pairs++
		if got[0].Cost+got[1].Cost != want || got[0].Cost > got[1].Cost {
			t.Fatalf("%v + %v, want %v", got[0].Cost, got[1].Cost, want)
		}
		w.mustShareNothing(t, got)
		for _, p := range got {
			w.mustLead(t, p.Arcs, from, w.g.Head[p.Arcs[len(p.Arcs)-1]])
			if !goal[w.g.Head[p.Arcs[len(p.Arcs)-1]]] || p.Cost != total(w.cost, p.Arcs) {
				t.Fatalf("%+v does not end at a target or its cost is off", p)
			}
		}
	}
	if pairs < 200 || bridges < 50 {
		t.Errorf("%d pairs and %d bridges: the worlds are too poor", pairs, bridges)
	}
}

// TestPairAgainstMaxFlow: a pair exists exactly where gonum's maximum flow of unit
// capacities is 2 or more.
func TestPairAgainstMaxFlow(t *testing.T) {
	r := seeded(t, 61)
	for range 150 {
		n := 3 + r.IntN(25)
		var edges []pathEdge
		seen := map[[2]int32]bool{}
		for range n + r.IntN(n) {
			u, v := int32(r.IntN(n)), int32(r.IntN(n))
			if u != v && !seen[[2]int32{u, v}] && !seen[[2]int32{v, u}] {
				seen[[2]int32{u, v}] = true
				edges = append(edges, undirected(u, v, float32(r.IntN(9))))
			}
		}
		w := newPathWorld(t, n, edges)
		unit := simple.NewWeightedDirectedGraph(0, 0)
		for v := range n {
			unit.AddNode(simple.Node(v))
		}
		for a := range w.g.Head {
			unit.SetWeightedEdge(unit.NewWeightedEdge(simple.Node(w.tail(int32(a))), simple.Node(w.g.Head[a]), 1))
		}
		from, to := int32(0), int32(1+r.IntN(n-1))
		value := network.MaxFlowDinic(unit, simple.Node(from), simple.Node(to), 1e-9)
		_, err := w.router.Pair(from, to, w.cost, nil)
		switch {
		case value >= 2 && err != nil,
			value == 1 && !errors.Is(err, ErrNoPair),
			value == 0 && !errors.Is(err, ErrNoPath):
			t.Fatalf("max flow %v, got %v", value, err)
		}
	}
}

// TestPairOnLattice checks float costs on a road-like graph against the slow twin:
// successive shortest paths by Bellman-Ford on the residual graph.
func TestPairOnLattice(t *testing.T) {
	const side = 12
	r := seeded(t, 67)
	w := newPathWorld(t, side*side, roadLattice(r, side))
	found := 0
	for _, p := range latticePairs(r, w, side, 60, 2, 11) {
		got, err := w.router.Pair(p[0], p[1], w.cost, nil)
		want := w.residualPair(p[0], p[1])
		if err != nil {
			if !errors.Is(err, ErrNoPair) || !math.IsInf(want, 1) {
				t.Fatalf("%v, want %v", err, want)
			}
			continue
		}
		found++
		w.mustShareNothing(t, got)
		if sum := got[0].Cost + got[1].Cost; !nearly(sum, want) {
			t.Fatalf("%v, want %v", sum, want)
		}
	}
	if found < 20 {
		t.Errorf("only %d pairs: the lattice is too thin", found)
	}
}

// residualPair is the textbook way: shortest path, turn its arcs round with their
// costs negated, shortest path again (Bhandari 1999, Survivable Networks).
func (w *pathWorld) residualPair(from, to int32) float64 {
	weight := make([]float64, len(w.cost))
	for a := range weight {
		weight[a] = float64(w.cost[a])
	}
	sum := 0.0
	for range 2 {
		dist := make([]float64, w.g.VertexCount())
		by := make([]int32, w.g.VertexCount())
		for v := range dist {
			dist[v], by[v] = math.Inf(1), -1
		}
		dist[from] = 0
		for range dist {
			for a := range weight {
				u, v := w.tail(int32(a)), w.g.Head[a]
				if d := dist[u] + weight[a]; d < dist[v]-1e-12 {
					dist[v], by[v] = d, int32(a)
				}
			}
		}
		sum += dist[to]
		if math.IsInf(sum, 1) {
			return sum
		}
		for v := to; v != from; v = w.tail(by[v]) {
			weight[by[v]], weight[w.g.Twin[by[v]]] = math.Inf(1), -weight[by[v]]
		}
	}
	return sum
}

func TestPairArguments(t *testing.T) {
	w := newPathWorld(t, 3, []pathEdge{undirected(0, 1, 1), undirected(0, 1, 2)})
	for _, tc := range []struct {
		name     string
		from, to int32
		want     string
	}{
		{"start below 0", -1, 1, "start -1"},
		{"goal beyond the graph", 0, 3, "goal 3"},
		{"nothing leads there", 0, 2, "no path"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			if _, err := w.router.Pair(tc.from, tc.to, w.cost, nil); err == nil || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("got %v, want %q", err, tc.want)
			}
		})
	}
	pair, err := w.router.Pair(0, 1, w.cost, nil)
	if err != nil || pair[0].Cost != 1 || pair[1].Cost != 2 {
		t.Errorf("parallel edges: %+v %v", pair, err)
	}
	if _, err := w.router.Pair(0, 1, w.cost, []bool{true, false, false, false}); !errors.Is(err, ErrNoPair) {
		t.Errorf("with one edge barred: %v", err)
	}
}

// TestPairCutsOutFreeRounds: where arcs cost nothing, paths still pass no vertex
// twice.
func TestPairCutsOutFreeRounds(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := seeded(t, rapid.Uint64().Draw(rt, "seed"))
		n := 3 + r.IntN(12)
		w := newPathWorld(t, n, randomEdges(r, n, 3*n))
		for a := range w.cost {
			w.cost[a] = float32(r.IntN(2))
		}
		pair, err := w.router.Pair(0, int32(n-1), w.cost, w.barred)
		if err != nil {
			return
		}
		w.mustShareNothing(rt, pair)
		for _, p := range pair {
			w.mustLead(rt, p.Arcs, 0, int32(n-1))
			if w.repeats(p.Arcs, 0) {
				rt.Fatalf("%v passes a vertex twice", p.Arcs)
			}
		}
	})
}

// TestPairLeavesAFreeRoundOut: the second path may take a free edge against the first
// one's free edge beside it in place of undoing it. The two make a round that must
// not be walked.
func TestPairLeavesAFreeRoundOut(t *testing.T) {
	w := newPathWorld(t, 4, []pathEdge{
		undirected(0, 1, 0), oneWay(2, 1, 0, 1), undirected(1, 2, 0), undirected(2, 3, 0), undirected(0, 2, 1), undirected(1, 3, 1),
	})
	pair, err := w.router.Pair(0, 3, w.cost, w.barred)
	if err != nil || pair[0].Cost+pair[1].Cost != 2 {
		t.Fatalf("got %+v %v, want a total of 2", pair, err)
	}
	for _, p := range pair {
		w.mustLead(t, p.Arcs, 0, 3)
		if w.repeats(p.Arcs, 0) {
			t.Errorf("%v passes a vertex twice", p.Arcs)
		}
	}
	w.mustShareNothing(t, pair)
}
