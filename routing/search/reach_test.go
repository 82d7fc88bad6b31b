package search

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"
	"pgregory.net/rapid"
)

func TestReachOnPublishedExamples(t *testing.T) {
	w := newPathWorld(t, 5, textbookFive())
	for _, tc := range []struct {
		name string
		span Span
		want []float64 // by vertex
	}{
		{"all, as published", Span{Cutoff: math.Inf(1)}, []float64{0, 8, 9, 5, 7}},
		{"up to 7, the end counts", Span{Cutoff: 7}, []float64{0, -1, -1, 5, 7}},
		{"to the start, by hand", Span{Cutoff: 11, Reversed: true}, []float64{0, 11, 11, 9, 7}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			tc.span.Barred = w.barred
			tree, err := w.router.Reach([]Source{{Vertex: 0}}, w.cost, tc.span)
			if err != nil {
				t.Fatal(err)
			}
			defer tree.Release()
			for v, want := range tc.want {
				if want < 0 {
					want = math.Inf(1)
				}
				if got := tree.Dist(int32(v)); got != want {
					t.Errorf("vertex %d: %v, want %v", v, got, want)
				}
			}
		})
	}
}

// TestReachAgainstSlowTwin draws worlds, sources, cutoffs and directions, and
// checks every distance, every tree path and the order of settling.
func TestReachAgainstSlowTwin(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := seeded(t, rapid.Uint64().Draw(rt, "seed"))
		n := 1 + r.IntN(40)
		w := newPathWorld(t, n, randomEdges(r, n, n+r.IntN(2*n)))
		var sources []Source
		for range 1 + r.IntN(3) {
			sources = append(sources, Source{Vertex: int32(r.IntN(n)), Offset: float64(r.IntN(5))})
		}
		span := Span{Cutoff: float64(r.IntN(40)), Reversed: r.IntN(2) == 0, Barred: w.barred}
		tree, err := w.router.Reach(sources, w.cost, span)
		if err != nil {
			rt.Fatal(err)
		}
		defer tree.Release()
		want := w.bellman(sources, w.cost, span.Reversed)
		settled := 0
		for v := range int32(n) {
			if want[v] > span.Cutoff {
				want[v] = math.Inf(1)
			} else {
				settled++
			}
			if got := tree.Dist(v); got != want[v] {
				rt.Fatalf("vertex %d: %v, want %v", v, got, want[v])
			}
			w.mustBeTreePath(rt, tree, v, sources, span)
		}
		if settled != len(tree.Settled) || !slices.IsSortedFunc(tree.Settled, func(a, b int32) int {
			return int(tree.Dist(a) - tree.Dist(b))
		}) {
			rt.Fatalf("settled %v of %d", tree.Settled, settled)
		}
	})
}

// mustBeTreePath checks the path at a vertex: it joins a source and the vertex and
// costs what the tree says.
func (w *pathWorld) mustBeTreePath(t rapid.TB, tree *Tree, v int32, sources []Source, span Span) {
	t.Helper()
	arcs := tree.Path(nil, v)
	d := tree.Dist(v)
	if math.IsInf(d, 1) {
		if len(arcs) != 0 || tree.Arc(v) != -1 {
			t.Fatalf("vertex %d is not reached but has a path %v", v, arcs)
		}
		return
	}
	other := v
	for range arcs {
		if span.Reversed {
			other = w.g.Head[tree.Arc(other)]
		} else {
			other = w.tail(tree.Arc(other))
		}
	}
	if span.Reversed {
		w.mustLead(t, arcs, v, other)
	} else {
		w.mustLead(t, arcs, other, v)
	}
	for _, s := range sources {
		if s.Vertex == other && s.Offset+total(w.cost, arcs) == d {
			return
		}
	}
	t.Fatalf("vertex %d: path %v from %d does not cost %v from any source", v, arcs, other, d)
}

func TestReachAgainstGonum(t *testing.T) {
	const side = 24
	r := seeded(t, 53)
	w := newPathWorld(t, side*side, roadLattice(r, side))
	tree, err := w.router.Reach([]Source{{Vertex: 300}}, w.cost, Span{Cutoff: math.Inf(1)})
	if err != nil {
		t.Fatal(err)
	}
	defer tree.Release()
	oracle := path.DijkstraFrom(simple.Node(300), w.gonumGraph(w.cost))
	for v := range int32(side * side) {
		if got, want := tree.Dist(v), oracle.WeightTo(int64(v)); got != want {
			t.Fatalf("vertex %d: %v, gonum %v", v, got, want)
		}
	}
}

func TestReachArguments(t *testing.T) {
	w := newPathWorld(t, 2, []pathEdge{undirected(0, 1, 3)})
	for _, tc := range []struct {
		name    string
		sources []Source
		cost    []float32
		span    Span
		want    string
	}{
		{"source beyond the graph", []Source{{Vertex: 2}}, w.cost, Span{Cutoff: 1}, "source 2"},
		{"offset below 0", []Source{{Vertex: 0, Offset: -1}}, w.cost, Span{Cutoff: 1}, "offset of source 0 is -1"},
		{"offset not a number", []Source{{Offset: math.NaN()}}, w.cost, Span{Cutoff: 1}, "NaN"},
		{"cutoff not a number", []Source{{}}, w.cost, Span{Cutoff: math.NaN()}, "cutoff"},
		{"short costs", []Source{{}}, nil, Span{}, "0 costs"},
		{"short flags", []Source{{}}, w.cost, Span{Barred: []bool{true}}, "1 barred flags"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			if _, err := w.router.Reach(tc.sources, tc.cost, tc.span); err == nil || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("got %v, want %q", err, tc.want)
			}
		})
	}
	for name, cutoff := range map[string]float64{"below every offset": 1, "below 0": -1} {
		tree, err := w.router.Reach([]Source{{Offset: 2}}, w.cost, Span{Cutoff: cutoff})
		if err != nil || len(tree.Settled) != 0 || !math.IsInf(tree.Dist(0), 1) {
			t.Errorf("cutoff %s: settled %v, %v", name, tree.Settled, err)
		}
		tree.Release()
		tree.Release() // a second time does nothing
	}
	infinite := []float32{float32(math.Inf(1)), float32(math.Inf(1))}
	tree, err := w.router.Reach([]Source{{}}, infinite, Span{Cutoff: math.Inf(1)})
	if err != nil || len(tree.Settled) != 1 {
		t.Errorf("an infinite cost was walked: %v %v", tree.Settled, err)
	}
	if _, err := w.router.Path(nil, 0, 1, infinite, nil); !errors.Is(err, ErrNoPath) {
		t.Error(err)
	}
}
