package search

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// slowTrees marks the vertices that go when vertices of one arc are taken away
// until none is left, a whole round at a time. In a piece that is all tree, one
// vertex is left over; which one is open.
func (w *pathWorld) slowTrees() (gone []bool) {
	n := int32(w.g.VertexCount())
	gone = make([]bool, n)
	for changed := true; changed; {
		changed = false
		for v := range n {
			degree := 0
			for a := w.g.First[v]; a < w.g.First[v+1]; a++ {
				if !gone[w.g.Head[a]] {
					degree++
				}
			}
			if !gone[v] && degree == 1 {
				gone[v], changed = true, true
			}
		}
	}
	return gone
}

func TestStarAgainstSlowTwin(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := seeded(t, rapid.Uint64().Draw(rt, "seed"))
		n := 1 + r.IntN(40)
		w := newPathWorld(t, n, randomEdges(r, n, r.IntN(2*n)))
		s := newStar(w.g)
		gone := 0
		for v, out := range w.slowTrees() {
			if out {
				gone++
			}
			if s.up[v] >= 0 {
				gone--
			}
		}
		if gone != 0 {
			rt.Fatalf("%d vertices more in trees than found", gone)
		}
		var arcs []int32
		for v := range int32(n) {
			if s.up[v] >= 0 && (s.hubs[v].live-s.hubs[v].first != 1 || s.links[s.hubs[v].first].arc != s.up[v]) {
				rt.Fatalf("vertex %d of a tree has other ways than up", v)
			}
			for i := s.hubs[v].first; i < s.hubs[v+1].first; i++ {
				l := s.links[i]
				arcs = append(arcs, l.arc)
				if w.tail(l.arc) != v || w.g.Head[l.arc] != l.head || w.g.Twin[l.arc] != l.twin {
					rt.Fatalf("link %+v of vertex %d is not that of the graph", l, v)
				}
				if down := s.up[l.head] == l.twin; down != (i >= s.hubs[v].live) {
					rt.Fatalf("link %+v of vertex %d stands on the wrong side", l, v)
				}
				s.mustGoOn(rt, l)
			}
		}
		slices.Sort(arcs)
		for a := range arcs {
			if arcs[a] != int32(a) || len(arcs) != w.g.ArcCount() {
				rt.Fatal("an arc is missing or twice there")
			}
		}
	})
}

// mustGoOn checks that onward is the only way on at the head, or -1.
func (s *star) mustGoOn(t rapid.TB, l edge) {
	t.Helper()
	var ways []int32
	for i := s.hubs[l.head].first; i < s.hubs[l.head].live; i++ {
		if s.links[i].arc != l.twin {
			ways = append(ways, i)
		}
	}
	single := s.hubs[l.head].live-s.hubs[l.head].first == 2
	if l.onward < 0 {
		if single {
			t.Fatalf("link %+v could go on", l)
		}
		return
	}
	if !single || !slices.Contains(ways, l.onward) {
		t.Fatalf("link %+v goes on among %v", l, ways)
	}
}

// TestPathsIntoAndOutOfTrees: graphs that are mostly trees, with long stems, so
// that starts and goals stand deep in cul-de-sacs, in the same one too.
func TestPathsIntoAndOutOfTrees(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := seeded(t, rapid.Uint64().Draw(rt, "seed"))
		n := 2 + r.IntN(50)
		var edges []pathEdge
		for v := 1; v < n; v++ {
			u := v - 1 - r.IntN(min(v, 1+r.IntN(5)))
			edges = append(edges, randomEdges(r, 1, 1)[0])
			edges[v-1].u, edges[v-1].v = int32(u), int32(v)
		}
		for range r.IntN(4) {
			e := randomEdges(r, n, 1)[0]
			edges = append(edges, e)
		}
		w := newPathWorld(t, n, edges)
		from := int32(r.IntN(n))
		cost, times := w.bellman([]Source{{Vertex: from}}, w.cost, false), w.bellman([]Source{{Vertex: from}}, w.time, false)
		for to := range int32(n) {
			route, err := w.router.Path(nil, from, to, w.cost, w.barred)
			if err != nil {
				route.Cost = math.Inf(1)
			}
			if route.Cost != cost[to] {
				rt.Fatalf("%d to %d: %v, want %v", from, to, route.Cost, cost[to])
			}
			if math.IsInf(cost[to], 1) {
				continue
			}
			w.mustLead(rt, route.Arcs, from, to)
			q := w.timed(from, to, times[to])
			front, _, err := w.router.Front(q)
			if err != nil {
				rt.Fatal(err)
			}
			w.mustBeFront(rt, front, q)
			mustMatch(rt, front, w.slowLabels(q))
			q.LimitS -= 0.5
			var short *TimeLimitError
			if _, err := w.router.Cheapest(q); from != to && (!errors.As(err, &short) || short.LeastS != times[to]) {
				rt.Fatalf("half a second too little: %v", err)
			}
		}
	})
}
