package search

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestFrontOnPublishedExample(t *testing.T) {
	w := primerSix(t) // its Pareto set, cost and time, by the same hand enumeration
	published := [][2]float64{{24, 8}, {15, 10}, {13, 13}, {5, 15}, {3, 18}}
	for _, limit := range []float64{7, 8, 9, 10, 13, 14, 15, 17, 18, 19, 100} {
		front, proved, err := w.router.Front(w.timed(0, 5, limit))
		if limit < 8 {
			var short *TimeLimitError
			if !errors.As(err, &short) || short.LeastS != 8 {
				t.Errorf("limit %v: got %v", limit, err)
			}
			continue
		}
		if err != nil || !proved {
			t.Fatal(limit, proved, err)
		}
		var want [][2]float64
		for _, p := range published {
			if p[1] <= limit {
				want = append(want, p)
			}
		}
		if len(front) != len(want) {
			t.Fatalf("limit %v: %d trades, published %d", limit, len(front), len(want))
		}
		for i, f := range front {
			w.mustLead(t, f.Arcs, 0, 5)
			if f.Cost != want[i][0] || f.TimeS != want[i][1] {
				t.Errorf("limit %v, member %d: %v in %v, published %v", limit, i, f.Cost, f.TimeS, want[i])
			}
		}
	}
}

// slowFront is the front over all simple paths.
func (w *pathWorld) slowFront(q Timed) []Way {
	var ways []Way
	for _, arcs := range w.simplePaths(q.From, q.To) {
		if timeS := total(q.TimeS, arcs); timeS <= q.LimitS {
			ways = append(ways, Way{Arcs: arcs, TimeS: timeS, Cost: total(q.Cost[0], arcs)})
		}
	}
	return w.keepBest(ways)
}

// keepBest keeps ways that no other betters, by looking at every pair.
func (w *pathWorld) keepBest(ways []Way) []Way {
	var kept []Way
	for i, a := range ways {
		best := true
		for j, b := range ways {
			if b.TimeS <= a.TimeS && b.Cost <= a.Cost && (b.TimeS < a.TimeS || b.Cost < a.Cost || j < i) {
				best = false
				break
			}
		}
		if best {
			kept = append(kept, a)
		}
	}
	return kept
}

// mustMatch compares two fronts whatever their order.
func mustMatch(t rapid.TB, got, want []Way) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d trades, want %d", len(got), len(want))
	}
	for _, g := range got {
		found := false
		for _, x := range want {
			found = found || (g.TimeS == x.TimeS && g.Cost == x.Cost)
		}
		if !found {
			t.Fatalf("%v in %v is not on the front", g.Cost, g.TimeS)
		}
	}
}

// mustBeFront checks order, limit and each member's figures.
func (w *pathWorld) mustBeFront(t rapid.TB, front []Way, q Timed) {
	t.Helper()
	for i, f := range front {
		w.mustLead(t, f.Arcs, q.From, q.To)
		if timeS, cost := q.slowMeasure(f.Arcs); timeS != f.TimeS || cost != f.Cost {
			t.Fatalf("member %d says %v in %v, recounted %v in %v", i, f.Cost, f.TimeS, cost, timeS)
		}
		if f.TimeS > q.LimitS {
			t.Fatalf("member %d takes %v of %v", i, f.TimeS, q.LimitS)
		}
		if i > 0 && (f.TimeS <= front[i-1].TimeS || f.Cost >= front[i-1].Cost) {
			t.Fatalf("member %d: %v in %v after %v in %v", i, f.Cost, f.TimeS, front[i-1].Cost, front[i-1].TimeS)
		}
	}
}

// slowMeasure walks along with a clock of its own.
func (q *Timed) slowMeasure(arcs []int32) (timeS, cost float64) {
	for _, a := range arcs {
		slice := 0
		for k, at := range q.ChangeS {
			if timeS >= at {
				slice = k + 1
			}
		}
		cost += float64(q.Cost[slice][a])
		timeS += float64(q.TimeS[a])
	}
	return timeS, cost
}

func TestFrontAgainstEnumeration(t *testing.T) {
	r := seeded(t, 23)
	members := 0
	for range 1500 {
		n := 2 + r.IntN(8)
		w := newPathWorld(t, n, randomEdges(r, n, n+r.IntN(n+3)))
		q := w.timed(int32(r.IntN(n)), int32(r.IntN(n)), float64(20+r.IntN(80)))
		front, proved, err := w.router.Front(q)
		want := w.slowFront(q)
		if err != nil {
			if len(want) > 0 {
				t.Fatalf("%v, but there are %d trades", err, len(want))
			}
			w.mustBeTooShort(t, q, err)
			continue
		}
		if !proved {
			t.Fatal("not proved")
		}
		w.mustBeFront(t, front, q)
		mustMatch(t, front, want)
		members += len(front)
	}
	if members < 500 {
		t.Errorf("only %d trades in all: the worlds are too poor", members)
	}
}

// slowLabels is the front by plain label correcting without any bound: the slow
// twin for graphs too large to enumerate. It uses no code of the search.
func (w *pathWorld) slowLabels(q Timed) []Way {
	sets := make([][]Way, w.g.VertexCount())
	sets[q.From] = []Way{{}}
	work := []struct {
		v int32
		p Way
	}{{v: q.From}}
	for len(work) > 0 {
		at := work[0]
		work = work[1:]
		for a := w.g.First[at.v]; a < w.g.First[at.v+1]; a++ {
			next := Way{TimeS: at.p.TimeS + float64(w.time[a]), Cost: at.p.Cost + float64(w.cost[a])}
			if w.barred[a] || next.TimeS > q.LimitS {
				continue
			}
			head := w.g.Head[a]
			beaten := false
			kept := sets[head][:0:0]
			for _, old := range sets[head] {
				if old.TimeS <= next.TimeS && old.Cost <= next.Cost {
					beaten = true
				}
				if !(next.TimeS <= old.TimeS && next.Cost <= old.Cost) {
					kept = append(kept, old)
				}
			}
			if !beaten {
				sets[head] = append(kept, next)
				work = append(work, struct {
					v int32
					p Way
				}{head, next})
			}
		}
	}
	return sets[q.To]
}

func TestFrontOnLattice(t *testing.T) {
	const side = 18
	r := seeded(t, 29)
	w := newPathWorld(t, side*side, roadLattice(r, side))
	for i, p := range latticePairs(r, w, side, 25, 5, 15) {
		fastest, _ := w.router.Path(nil, p[0], p[1], w.time, nil)
		q := w.timed(p[0], p[1], fastest.Cost*[]float64{1.1, 1.4, 3}[i%3])
		front, proved, err := w.router.Front(q)
		if err != nil || !proved {
			t.Fatal(proved, err)
		}
		w.mustBeFront(t, front, q)
		mustMatch(t, front, w.slowLabels(q))
		if front[0].TimeS != fastest.Cost {
			t.Fatalf("the front begins at %v, the fastest takes %v", front[0].TimeS, fastest.Cost)
		}
		for _, f := range front {
			one, err := w.router.Cheapest(w.timed(p[0], p[1], f.TimeS))
			if err != nil || one.Cost != f.Cost {
				t.Fatalf("cheapest within %v is %v (%v), on the front %v", f.TimeS, one.Cost, err, f.Cost)
			}
		}
	}
}

func TestFrontStopsAtItsWork(t *testing.T) {
	const side = 30
	r := seeded(t, 31)
	w := newPathWorld(t, side*side, roadLattice(r, side))
	unproved := 0
	for _, p := range latticePairs(r, w, side, 30, 12, 25) {
		q := w.timed(p[0], p[1], 1e5)
		whole, _, err := w.router.Front(q)
		if err != nil {
			t.Fatal(err)
		}
		q.MaxLabels = 60
		part, proved, err := w.router.Front(q)
		if err != nil || len(part) == 0 {
			t.Fatal(len(part), err)
		}
		w.mustBeFront(t, part, q)
		if proved {
			mustMatch(t, part, whole)
			continue
		}
		unproved++
		if part[0].TimeS != whole[0].TimeS || part[len(part)-1].Cost != whole[len(whole)-1].Cost {
			t.Fatalf("the ends are %v s and cost %v, of the whole front %v s and %v", part[0].TimeS, part[len(part)-1].Cost, whole[0].TimeS, whole[len(whole)-1].Cost)
		}
	}
	if unproved == 0 {
		t.Error("sixty labels were enough everywhere: the test tests nothing")
	}
}

func TestThin(t *testing.T) {
	const side = 26
	r := seeded(t, 37)
	w := newPathWorld(t, side*side, roadLattice(r, side))
	pairs := latticePairs(r, w, side, 40, 8, 22)
	rapid.Check(t, func(rt *rapid.T) {
		p := rapid.SampledFrom(pairs).Draw(rt, "pair")
		most, shared := rapid.IntRange(1, 6).Draw(rt, "most"), rapid.Float64Range(0.2, 1).Draw(rt, "shared")
		front, _, err := w.router.Front(w.timed(p[0], p[1], 1e5))
		if err != nil {
			rt.Fatal(err)
		}
		thin := w.router.Thin(front, w.time, most, shared)
		if len(thin) == 0 || len(thin) > most || (len(front) > 1 && most > 1 && len(thin) < 2) {
			rt.Fatalf("%d of %d kept, at most %d wanted", len(thin), len(front), most)
		}
		if thin[len(thin)-1].Cost != front[len(front)-1].Cost || (most > 1 && thin[0].TimeS != front[0].TimeS) {
			rt.Fatal("an end of the front was lost")
		}
		for i, a := range thin {
			for j, b := range thin[:i] {
				if j == 0 && i == len(thin)-1 {
					continue // the two ends stay whatever they share
				}
				if part := w.sharedTime(a.Arcs, b.Arcs); part > shared*min(a.TimeS, b.TimeS)*(1+1e-9) {
					rt.Fatalf("members %d and %d share %v of %v s", i, j, part, min(a.TimeS, b.TimeS))
				}
			}
		}
		w.mustBeFront(rt, thin, w.timed(p[0], p[1], 1e5))
	})
	if got := w.router.Thin(nil, w.time, 5, 0.5); len(got) != 0 {
		t.Error("nothing was thinned to something")
	}
}

// sharedTime compares every arc of one path with every arc of the other.
func (w *pathWorld) sharedTime(a, b []int32) float64 {
	s := 0.0
	for _, x := range a {
		for _, y := range b {
			if x == y || w.g.Twin[x] == y {
				s += float64(w.time[x])
				break
			}
		}
	}
	return s
}

// TestThinTakesWhatAddsMost: of two members that both differ enough, the one that
// lies deeper below the line between the ends goes in first.
func TestThinTakesWhatAddsMost(t *testing.T) {
	var edges []pathEdge
	for _, way := range [][2]float32{{10, 10}, {12, 9}, {14, 3}, {30, 1}} { // time, cost
		edges = append(edges, oneWay(0, 1, way[1], way[0]))
	}
	w := newPathWorld(t, 2, edges)
	front, _, err := w.router.Front(w.timed(0, 1, 100))
	if err != nil || len(front) != 4 {
		t.Fatal(len(front), err)
	}
	thin := w.router.Thin(front, w.time, 3, 0.5)
	if len(thin) != 3 || thin[1].Cost != 3 {
		t.Errorf("kept %+v, want the member of cost 3 between the ends", thin)
	}
}

// clockWorld is a world with costs that change twice.
func clockWorld(t testing.TB, r interface{ IntN(int) int }, w *pathWorld) Timed {
	q := w.timed(0, 0, 0)
	for k := range 3 {
		slice := w.cost
		if k > 0 {
			slice = make([]float32, len(w.cost))
			for a := range slice {
				slice[a] = float32(r.IntN(15))
				if r.IntN(30) == 0 {
					slice[a] = float32(math.Inf(1)) // closed at this hour
				}
			}
		}
		q.Cost = append(q.Cost[:k:k], slice)
	}
	q.ChangeS = []float64{float64(8 + r.IntN(8)), float64(16 + r.IntN(20))}
	return q
}

// slowClock is the front over every walk within the limit, vertices repeated or
// not, by exhaustion. Times are at least 1, so it ends.
func (w *pathWorld) slowClock(q Timed) []Way {
	var ways []Way
	var walk func(v int32, timeS, cost float64)
	walk = func(v int32, timeS, cost float64) {
		if v == q.To {
			ways = append(ways, Way{TimeS: timeS, Cost: cost})
		}
		slice := 0
		for slice < len(q.ChangeS) && timeS >= q.ChangeS[slice] {
			slice++
		}
		for a := w.g.First[v]; a < w.g.First[v+1]; a++ {
			next, price := timeS+float64(q.TimeS[a]), float64(q.Cost[slice][a])
			if !w.barred[a] && next <= q.LimitS && !math.IsInf(price, 1) {
				walk(w.g.Head[a], next, cost+price)
			}
		}
	}
	walk(q.From, 0, 0)
	return w.keepBest(ways)
}

func TestClockAgainstEnumeration(t *testing.T) {
	r := seeded(t, 41)
	waited, members := 0, 0
	for range 2000 {
		n := 2 + r.IntN(5)
		edges := randomEdges(r, n, n+r.IntN(4))
		for i := range edges { // long enough arcs to keep the walks countable
			edges[i].time += 4
			if edges[i].timeBack > 0 {
				edges[i].timeBack += 4
			}
		}
		w := newPathWorld(t, n, edges)
		q := clockWorld(t, r, w)
		q.From, q.To, q.LimitS = int32(r.IntN(n)), int32(r.IntN(n)), float64(20+r.IntN(40))
		want := w.slowClock(q)
		front, proved, err := w.router.Front(q)
		if err != nil {
			if len(want) > 0 {
				t.Fatalf("%v, but there are %d trades", err, len(want))
			}
			continue
		}
		if !proved {
			t.Fatal("not proved")
		}
		w.mustBeFront(t, front, q)
		mustMatch(t, front, want)
		members += len(front)
		one, err := w.router.Cheapest(q)
		if err != nil || one.Cost != front[len(front)-1].Cost || one.Bound != one.Cost {
			t.Fatalf("cheapest %+v %v, the front ends at %v", one, err, front[len(front)-1].Cost)
		}
		for _, f := range front {
			if w.repeats(f.Arcs, q.From) {
				waited++
			}
		}
	}
	if waited == 0 || members < 500 {
		t.Errorf("%d trades, %d of them by waiting: the worlds are too poor", members, waited)
	}
}

// repeats says that a path passes a vertex twice.
func (w *pathWorld) repeats(arcs []int32, from int32) bool {
	seen := map[int32]bool{from: true}
	for _, a := range arcs {
		if seen[w.g.Head[a]] {
			return true
		}
		seen[w.g.Head[a]] = true
	}
	return false
}

// TestClockCountsEveryPriceThatFalls: the early way meets four old prices that the
// late one does not. No single fall makes up for the late way's cost, all four do.
func TestClockCountsEveryPriceThatFalls(t *testing.T) {
	edges := []pathEdge{oneWay(0, 1, 0, 10), oneWay(0, 1, 5, 14)}
	for v := int32(1); v < 5; v++ {
		edges = append(edges, oneWay(v, v+1, 2, 1))
	}
	w := newPathWorld(t, 6, edges)
	q := w.timed(0, 5, 30)
	free := make([]float32, len(w.cost))
	q.Cost, q.ChangeS = append(q.Cost, free), []float64{14}
	front, proved, err := w.router.Front(q)
	if err != nil || !proved {
		t.Fatal(proved, err)
	}
	mustMatch(t, front, []Way{{TimeS: 14, Cost: 8}, {TimeS: 18, Cost: 5}})
}

// TestFrontTellsPricesTheQueueCannot: keys are rounded in the queue, so these two
// ways may come out of it in the wrong order; both belong to the front.
func TestFrontTellsPricesTheQueueCannot(t *testing.T) {
	fast, calm := [2]float32{2e-6, 5}, [2]float32{1e-6, 6} // cost, time
	for _, order := range [][2][2]float32{{fast, calm}, {calm, fast}} {
		w := newPathWorld(t, 4, []pathEdge{
			oneWay(0, 1, 1024, 1), oneWay(0, 2, 1024, 1),
			oneWay(1, 3, order[0][0], order[0][1]), oneWay(2, 3, order[1][0], order[1][1]),
			oneWay(0, 3, 1, 20), // or the search would begin with one of the two as the tail of least cost
		})
		front, proved, err := w.router.Front(w.timed(0, 3, 100))
		if err != nil || !proved {
			t.Fatal(proved, err)
		}
		if len(front) != 3 || front[0].TimeS != 6 || front[1].TimeS != 7 {
			t.Errorf("got %+v, want both ways and the calmest", front)
		}
	}
}

// TestClockThatNeverChangesIsNoClock: equal slices, and changes after the limit,
// give what a single slice gives.
func TestClockThatNeverChangesIsNoClock(t *testing.T) {
	const side = 14
	r := seeded(t, 43)
	w := newPathWorld(t, side*side, roadLattice(r, side))
	dear := make([]float32, len(w.cost))
	for a := range dear {
		dear[a] = 1000
	}
	for _, p := range latticePairs(r, w, side, 25, 3, 12) {
		fastest, _ := w.router.Path(nil, p[0], p[1], w.time, nil)
		plain := w.timed(p[0], p[1], 1.4*fastest.Cost)
		want, _, err := w.router.Front(plain)
		if err != nil {
			t.Fatal(err)
		}
		equal, late := plain, plain
		equal.Cost, equal.ChangeS = [][]float32{w.cost, w.cost}, []float64{fastest.Cost / 2}
		late.Cost, late.ChangeS = [][]float32{w.cost, dear}, []float64{plain.LimitS + 1}
		for _, q := range []Timed{equal, late} {
			got, proved, err := w.router.Front(q)
			if err != nil || !proved {
				t.Fatal(proved, err)
			}
			mustMatch(t, got, want)
		}
	}
}

// TestClockOnLattice runs costs that fall and rise at a change on a road-like graph
// and checks against the same search with no early dominance, a label at a time.
func TestClockOnLattice(t *testing.T) {
	const side = 12
	r := seeded(t, 47)
	w := newPathWorld(t, side*side, roadLattice(r, side))
	for i, p := range latticePairs(r, w, side, 12, 3, 6) {
		fastest, _ := w.router.Path(nil, p[0], p[1], w.time, nil)
		q := w.timed(p[0], p[1], 1.25*fastest.Cost)
		later := make([]float32, len(w.cost))
		for a := range later {
			later[a] = w.cost[a] * float32(0.6+0.8*r.Float64())
		}
		q.Cost, q.ChangeS = [][]float32{w.cost, later}, []float64{fastest.Cost * float64(1+i%3) / 4}
		front, proved, err := w.router.Front(q)
		if err != nil || !proved {
			t.Fatal(proved, err)
		}
		w.mustBeFront(t, front, q)
		mustMatch(t, front, w.slowClockBounded(q))
	}
}

// slowClockBounded is slowClock with the least time left as its only bound, and
// walks that are at the same vertex at the same time compared.
func (w *pathWorld) slowClockBounded(q Timed) []Way {
	left := w.bellman([]Source{{Vertex: q.To}}, q.TimeS, true)
	type moment struct {
		v int32
		t float64
	}
	best := map[moment]float64{{q.From, 0}: 0}
	work := []moment{{q.From, 0}}
	for len(work) > 0 {
		m := work[len(work)-1]
		work = work[:len(work)-1]
		cost := best[m]
		slice := 0
		for slice < len(q.ChangeS) && m.t >= q.ChangeS[slice] {
			slice++
		}
		for a := w.g.First[m.v]; a < w.g.First[m.v+1]; a++ {
			next := moment{w.g.Head[a], m.t + float64(q.TimeS[a])}
			if w.barred[a] || next.t+left[next.v] > q.LimitS {
				continue
			}
			price := cost + float64(q.Cost[slice][a])
			if old, ok := best[next]; !ok || price < old {
				best[next] = price
				work = append(work, next)
			}
		}
	}
	var ways []Way
	for m, cost := range best {
		if m.v == q.To {
			ways = append(ways, Way{TimeS: m.t, Cost: cost})
		}
	}
	return w.keepBest(ways)
}
