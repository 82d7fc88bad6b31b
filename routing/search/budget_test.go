package search

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// primerSix is the six-vertex example of the resource-constrained shortest path:
// Ahuja, Magnanti and Orlin 1993, Network Flows, chapter 16, also in Desrosiers and
// Luebbecke 2005, A primer in column generation (arcs from memory; all nine paths
// from 1 to 6 were enumerated by hand). Costs and times; vertices from 0 here.
func primerSix(t testing.TB) *pathWorld {
	return newPathWorld(t, 6, []pathEdge{
		oneWay(0, 1, 1, 10), oneWay(0, 2, 10, 3), oneWay(1, 3, 1, 1), oneWay(1, 4, 2, 3), oneWay(2, 1, 1, 2),
		oneWay(2, 3, 5, 7), oneWay(2, 4, 12, 3), oneWay(3, 4, 10, 1), oneWay(3, 5, 1, 7), oneWay(4, 5, 2, 2),
	})
}

// timed asks about a world's own weights.
func (w *pathWorld) timed(from, to int32, limitS float64) Timed {
	return Timed{From: from, To: to, TimeS: w.time, Cost: [][]float32{w.cost}, Barred: w.barred, LimitS: limitS}
}

func TestCheapestOnPublishedExample(t *testing.T) {
	w := primerSix(t)
	for limit := 1; limit <= 25; limit++ {
		want := 0.0 // none
		switch {
		case limit >= 18:
			want = 3
		case limit >= 15:
			want = 5
		case limit >= 13:
			want = 13
		case limit >= 10:
			want = 15
		case limit >= 8:
			want = 24
		}
		t.Run(fmt.Sprintf("limit %d", limit), func(t *testing.T) {
			got, err := w.router.Cheapest(w.timed(0, 5, float64(limit)))
			var short *TimeLimitError
			if want == 0 {
				if !errors.As(err, &short) || short.LeastS != 8 || short.LimitS != float64(limit) {
					t.Fatalf("got %v, want a time limit error that says 8 s", err)
				}
				return
			}
			if err != nil || got.Cost != want || got.Bound != want || got.TimeS > float64(limit) {
				t.Fatalf("got %+v %v, want cost %v", got, err, want)
			}
			w.mustLead(t, got.Arcs, 0, 5)
		})
	}
	got, _ := w.router.Cheapest(w.timed(0, 5, 14))
	at := "1"
	for _, a := range got.Arcs {
		at += fmt.Sprint(w.g.Head[a] + 1)
	}
	if at != "13246" || got.TimeS != 13 {
		t.Errorf("at 14 the path is %s in %v, published 13246 in 13", at, got.TimeS)
	}
}

// TestLagrangianBoundOnPublishedExample: at a limit of 14 the best bound from
// pricing time is 7, at a price of 2 (same source; problem form of Handler and Zang
// 1980, Networks 10:293-309). It checks the least-cost path on many combined costs
// and that no bound contradicts the constrained optimum.
func TestLagrangianBoundOnPublishedExample(t *testing.T) {
	w := primerSix(t)
	const limit = 14
	bound := func(price float64) float64 {
		priced := make([]float32, len(w.cost))
		for a := range priced {
			priced[a] = w.cost[a] + float32(price)*w.time[a]
		}
		route, err := w.router.Path(nil, 0, 5, priced, w.barred)
		if err != nil {
			t.Fatal(err)
		}
		return route.Cost - price*limit
	}
	if got := bound(2); got != 7 {
		t.Errorf("bound at price 2 is %v, published 7", got)
	}
	best, _ := w.router.Cheapest(w.timed(0, 5, limit))
	for price := 0.0; price <= 12; price += 0.125 {
		if got := bound(price); got > 7 || got > best.Cost {
			t.Errorf("bound at price %v is %v: above the published best of 7", price, got)
		}
	}
}

// slowCheapest is the least cost within a limit over all simple paths.
func (w *pathWorld) slowCheapest(q Timed) float64 {
	best := math.Inf(1)
	for _, arcs := range w.simplePaths(q.From, q.To) {
		if total(q.TimeS, arcs) <= q.LimitS {
			best = min(best, total(q.Cost[0], arcs))
		}
	}
	return best
}

func TestCheapestAgainstEnumeration(t *testing.T) {
	r := seeded(t, 11)
	for range 400 {
		n := 2 + r.IntN(8)
		w := newPathWorld(t, n, randomEdges(r, n, n+r.IntN(n+3)))
		q := w.timed(int32(r.IntN(n)), int32(r.IntN(n)), float64(r.IntN(60)))
		got, err := w.router.Cheapest(q)
		want := w.slowCheapest(q)
		if math.IsInf(want, 1) != (err != nil) {
			t.Fatalf("%v: got %+v, want %v", err, got, want)
		}
		if err != nil {
			w.mustBeTooShort(t, q, err)
			continue
		}
		if got.Cost != want || got.Bound != want || got.TimeS > q.LimitS {
			t.Fatalf("got %+v, want %v within %v", got, want, q.LimitS)
		}
		w.mustLead(t, got.Arcs, q.From, q.To)
		if got.Cost != total(w.cost, got.Arcs) || got.TimeS != total(w.time, got.Arcs) {
			t.Fatalf("got %+v, recounted %v in %v", got, total(w.cost, got.Arcs), total(w.time, got.Arcs))
		}
	}
}

// mustBeTooShort checks that an error tells the truth about the least time.
func (w *pathWorld) mustBeTooShort(t *testing.T, q Timed, err error) {
	t.Helper()
	least := w.bellman([]Source{{Vertex: q.From}}, w.time, false)[q.To]
	var short *TimeLimitError
	switch {
	case errors.As(err, &short):
		if short.LeastS != least || least <= q.LimitS {
			t.Fatalf("%v, but the least time is %v", err, least)
		}
	case !errors.Is(err, ErrNoPath) || !math.IsInf(least, 1):
		t.Fatalf("%v, but the least time is %v", err, least)
	}
}

func TestLargerLimitIsNeverDearer(t *testing.T) {
	const side = 16
	r := seeded(t, 13)
	w := newPathWorld(t, side*side, roadLattice(r, side))
	pairs := latticePairs(r, w, side, 30, 4, 14)
	rapid.Check(t, func(rt *rapid.T) {
		p := rapid.SampledFrom(pairs).Draw(rt, "pair")
		fastest, _ := w.router.Path(nil, p[0], p[1], w.time, nil)
		calmest, _ := w.router.Path(nil, p[0], p[1], w.cost, nil)
		last := math.Inf(1)
		for limit := fastest.Cost; limit < 2*fastest.Cost; limit *= rapid.Float64Range(1.02, 1.2).Draw(rt, "more") {
			got, err := w.router.Cheapest(w.timed(p[0], p[1], limit))
			if err != nil {
				rt.Fatal(err)
			}
			if got.Cost > last || got.TimeS > limit || got.Cost < calmest.Cost || got.TimeS < fastest.Cost {
				rt.Fatalf("within %v: %v in %v; before %v, calmest %v, fastest %v", limit, got.Cost, got.TimeS, last, calmest.Cost, fastest.Cost)
			}
			last = got.Cost
		}
	})
}

// TestCheapestStopsAtItsWork: with hardly any labels allowed the answer is still a
// path within the limit, and its bound does not exceed the true optimum.
func TestCheapestStopsAtItsWork(t *testing.T) {
	const side = 30
	r := seeded(t, 19)
	w := newPathWorld(t, side*side, roadLattice(r, side))
	unproved := 0
	for _, p := range latticePairs(r, w, side, 60, 10, 25) {
		fastest, _ := w.router.Path(nil, p[0], p[1], w.time, nil)
		q := w.timed(p[0], p[1], 1.15*fastest.Cost)
		best, err := w.router.Cheapest(q)
		if err != nil {
			t.Fatal(err)
		}
		q.MaxLabels = 10
		got, err := w.router.Cheapest(q)
		if err != nil {
			t.Fatal(err)
		}
		w.mustLead(t, got.Arcs, p[0], p[1])
		if got.TimeS > q.LimitS || got.Cost < best.Cost || got.Bound > best.Cost || got.Bound > got.Cost {
			t.Fatalf("got %+v, best %v within %v", got, best.Cost, q.LimitS)
		}
		if got.Bound < got.Cost {
			unproved++
		}
	}
	if unproved == 0 {
		t.Error("ten labels were enough everywhere: the test tests nothing")
	}
}

func TestTimedArguments(t *testing.T) {
	w := newPathWorld(t, 4, []pathEdge{undirected(0, 1, 2), undirected(1, 2, 2)})
	good := w.timed(0, 2, 10)
	for _, tc := range []struct {
		name   string
		change func(*Timed)
		want   string
	}{
		{"start beyond the graph", func(q *Timed) { q.From = 9 }, "start 9"},
		{"no costs", func(q *Timed) { q.Cost = nil }, "0 cost slices"},
		{"a slice without its instant", func(q *Timed) { q.Cost = append(q.Cost[:1:1], w.cost) }, "2 cost slices need 1 change instants"},
		{"a short slice", func(q *Timed) { q.Cost = [][]float32{w.cost[:1]} }, "1 costs for 4 arcs"},
		{"short times", func(q *Timed) { q.TimeS = w.time[:2] }, "2 times for 4 arcs"},
		{"limit not a number", func(q *Timed) { q.LimitS = math.NaN() }, "time limit is NaN"},
		{"limit below 0", func(q *Timed) { q.LimitS = -5 }, "time limit is -5"},
		{"no limit", func(q *Timed) { q.LimitS = math.Inf(1) }, "time limit is +Inf"},
		{"instants that fall", func(q *Timed) {
			q.Cost, q.ChangeS = [][]float32{w.cost, w.cost, w.cost}, []float64{5, 4}
		}, "change instant 1 is 4"},
		{"unreachable", func(q *Timed) { q.To = 3 }, "no path"},
		{"too short", func(q *Timed) { q.LimitS = 3 }, "no path within 3 s; the fastest takes 4 s"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			q := good
			tc.change(&q)
			if _, err := w.router.Cheapest(q); err == nil || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("cheapest: got %v, want %q", err, tc.want)
			}
			if _, _, err := w.router.Front(q); err == nil || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("front: got %v, want %q", err, tc.want)
			}
		})
	}
}

// TestCheapestGoesRoundClosedArcs: an infinite cost bars an arc although its time
// is short, and the least time in the error is that of a way that is open.
func TestCheapestGoesRoundClosedArcs(t *testing.T) {
	w := newPathWorld(t, 3, []pathEdge{
		oneWay(0, 2, float32(math.Inf(1)), 1), oneWay(0, 1, 1, 4), oneWay(1, 2, 1, 4),
	})
	got, err := w.router.Cheapest(w.timed(0, 2, 9))
	if err != nil || got.Cost != 2 {
		t.Errorf("got %+v %v, want the way round", got, err)
	}
	var short *TimeLimitError
	if _, err = w.router.Cheapest(w.timed(0, 2, 5)); !errors.As(err, &short) || short.LeastS != 8 {
		t.Errorf("got %v, want 8 s as the least time", err)
	}
	if _, _, err = w.router.Front(w.timed(0, 2, 5)); !errors.As(err, &short) || short.LeastS != 8 {
		t.Errorf("front: got %v, want 8 s as the least time", err)
	}
}

func TestFromAVertexToItself(t *testing.T) {
	w := primerSix(t)
	got, err := w.router.Cheapest(w.timed(2, 2, 0))
	if err != nil || len(got.Arcs) != 0 || got.Cost != 0 {
		t.Errorf("got %+v %v", got, err)
	}
	front, proved, err := w.router.Front(w.timed(2, 2, 50))
	if err != nil || !proved || len(front) != 1 || len(front[0].Arcs) != 0 {
		t.Errorf("front %+v %v %v", front, proved, err)
	}
}
