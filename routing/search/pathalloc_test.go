package search

import (
	"math"
	"runtime"
	"runtime/debug"
	"testing"
)

// bytesPerQuery is what a query allocates on average once the pool is warm.
func bytesPerQuery(queries int, query func(i int)) float64 {
	for i := range queries {
		query(i)
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	for i := range queries {
		query(i)
	}
	runtime.ReadMemStats(&after)
	return float64(after.TotalAlloc-before.TotalAlloc) / float64(queries)
}

// TestQueriesAllocateNothingThatGrowsWithTheMap runs every kind of query on a map
// whose working memory is 2 MB and allows only what the answers themselves need.
func TestQueriesAllocateNothingThatGrowsWithTheMap(t *testing.T) {
	defer debug.SetGCPercent(debug.SetGCPercent(-1)) // a collection would empty the pool
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))  // each processor has a pool of its own
	const side, queries = 255, 40
	r := seeded(t, 71)
	w := newPathWorld(t, side*side, roadLattice(r, side))
	for range 64 {
		s := w.router.take()
		w.router.give(s)
		if again := w.router.take(); again != s {
			t.Skip("skipped: the pool forgets what it is given, as it does under the race detector")
		}
		w.router.give(s)
	}
	pairs := latticePairs(r, w, side, queries, 8, 20)
	limit := make([]float64, queries)
	for i, p := range pairs {
		fastest, err := w.router.Path(nil, p[0], p[1], w.time, nil)
		if err != nil {
			t.Fatal(err)
		}
		limit[i] = 1.2 * fastest.Cost
	}
	later := make([]float32, len(w.cost))
	for a := range later {
		later[a] = w.cost[a] * 1.3
	}
	var buffer []int32
	for _, tc := range []struct {
		name  string
		most  float64 // bytes
		query func(i int)
	}{
		{"path", 0, func(i int) {
			route, err := w.router.Path(buffer[:0], pairs[i][0], pairs[i][1], w.cost, w.barred)
			if err != nil {
				t.Error(err)
			}
			buffer = route.Arcs
		}},
		{"tree", 200, func(i int) {
			tree, err := w.router.Reach([]Source{{Vertex: pairs[i][0]}}, w.time, Span{Cutoff: 600})
			if err != nil {
				t.Error(err)
			}
			tree.Release()
		}},
		{"cheapest", 4000, func(i int) {
			if _, err := w.router.Cheapest(w.timed(pairs[i][0], pairs[i][1], limit[i])); err != nil {
				t.Error(err)
			}
		}},
		{"front", 30000, func(i int) {
			if _, _, err := w.router.Front(w.timed(pairs[i][0], pairs[i][1], limit[i])); err != nil {
				t.Error(err)
			}
		}},
		{"front by the clock", 30000, func(i int) {
			q := w.timed(pairs[i][0], pairs[i][1], limit[i])
			q.Cost, q.ChangeS = [][]float32{w.cost, later}, []float64{limit[i] / 2}
			if _, _, err := w.router.Front(q); err != nil {
				t.Error(err)
			}
		}},
		{"too short", 4000, func(i int) {
			if _, err := w.router.Cheapest(w.timed(pairs[i][0], pairs[i][1], 1)); err == nil {
				t.Error("a second was enough")
			}
		}},
		{"pair", 8000, func(i int) {
			_, _ = w.router.Pair(pairs[i][0], pairs[i][1], w.cost, nil)
		}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			got := bytesPerQuery(queries, tc.query)
			t.Logf("%.0f bytes a query", got)
			if got > tc.most || math.IsNaN(got) {
				t.Errorf("%.0f bytes a query, at most %.0f wanted", got, tc.most)
			}
		})
	}
}
