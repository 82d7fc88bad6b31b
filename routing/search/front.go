package search

import (
	"cmp"
	"slices"
)

// Front is every best trade between time and cost within the time limit, exact,
// from the fastest to the calmest: time strictly rises and cost strictly falls
// along it. It returns ErrNoPath when nothing leads there and a *TimeLimitError
// when the limit is too short. When the work allowed runs out, proved is false, the
// calm end of the front is there and the fastest path stands for the rest.
//
// Every member's Bound equals its Cost when the front is proved.
func (r *Router) Front(q Timed) (ways []Way, proved bool, err error) {
	if err := q.check(r); err != nil {
		return nil, false, err
	}
	q.trim()
	if err := r.shorten(&q); err != nil {
		return nil, false, err
	}
	s, err := r.prepare(&q)
	if err != nil {
		return nil, false, err
	}
	defer r.give(s)
	l := &s.labels
	if len(q.ChangeS) == 0 {
		proved = l.front()
	} else {
		proved = l.clocked(&q, false)
	}
	if l.givenUp() {
		return nil, false, l.stop
	}
	if proved && len(l.found) == 0 {
		return nil, false, r.tooShort(&q)
	}
	ways, err = r.ways(&q, l, proved)
	return ways, proved, err
}

// ways measures what a search found and keeps the front of it.
func (r *Router) ways(q *Timed, l *labelling, proved bool) ([]Way, error) {
	ways := make([]Way, 0, len(l.found)+1)
	var arcs []int32
	for _, f := range l.found {
		start := len(arcs)
		arcs = l.trace(arcs, f)
		ways = append(ways, Way{Arcs: arcs[start:len(arcs):len(arcs)]})
	}
	if !proved {
		w, err := r.fastest(q, 0)
		if err != nil {
			return nil, err
		}
		ways = append(ways, w)
	}
	for i := range ways {
		w := &ways[i]
		w.TimeS, w.Cost = q.measure(w.Arcs)
		if proved {
			w.Bound = w.Cost
		}
	}
	return strict(ways), nil
}

// strict sorts ways by time and keeps those that are cheaper than all before.
func strict(ways []Way) []Way {
	slices.SortFunc(ways, func(a, b Way) int {
		return cmp.Or(cmp.Compare(a.TimeS, b.TimeS), cmp.Compare(a.Cost, b.Cost))
	})
	kept := ways[:0]
	for _, w := range ways {
		if len(kept) == 0 || w.Cost < kept[len(kept)-1].Cost {
			kept = append(kept, w)
		}
	}
	return kept
}

// shorten lowers the limit of a query to the time of a cheapest path, beyond which
// no trade can lie. It leaves a query whose costs change with the clock alone.
func (r *Router) shorten(q *Timed) error {
	if len(q.ChangeS) > 0 {
		return nil
	}
	route, err := r.Path(nil, q.From, q.To, q.Cost[0], q.Barred)
	if err != nil {
		return err
	}
	q.LimitS = min(q.LimitS, sum(q.TimeS, route.Arcs))
	return nil
}

// Thin keeps at most most members of a front, fastest to calmest. The two ends
// always stay. Between them it takes, one by one, the member that adds most to the
// area dominated in the time-cost plane, among those that share at most shared of
// the shorter walk's time with every member kept; time walked on an edge counts
// as shared whichever way it is walked.
func (r *Router) Thin(front []Way, timeS []float32, most int, shared float64) []Way {
	if len(front) <= 1 || most <= 1 {
		return slices.Clone(front[max(0, len(front)-max(most, 0)):])
	}
	t := thinning{front: front, edges: make([][]int32, len(front)), kept: []int{0, len(front) - 1}, open: make([]bool, len(front))}
	for i := range front {
		t.edges[i] = r.edgesOf(front[i].Arcs)
		t.open[i] = i > 0 && i < len(front)-1
	}
	t.close(0, timeS, shared)
	t.close(len(front)-1, timeS, shared)
	for len(t.kept) < most {
		i := t.best()
		if i < 0 {
			break
		}
		t.kept = append(t.kept, i)
		slices.Sort(t.kept)
		t.close(i, timeS, shared)
	}
	thin := make([]Way, len(t.kept))
	for k, i := range t.kept {
		thin[k] = front[i]
	}
	return thin
}

// edgesOf names each arc's edge by the lower of its two arcs, sorted.
func (r *Router) edgesOf(arcs []int32) []int32 {
	edges := make([]int32, len(arcs))
	for i, a := range arcs {
		edges[i] = min(a, r.g.Twin[a])
	}
	slices.Sort(edges)
	return edges
}

// thinning is the state of Thin: which members may still be taken.
type thinning struct {
	front []Way
	edges [][]int32
	kept  []int
	open  []bool
}

// close shuts out the members that share too much with a member just kept.
func (t *thinning) close(kept int, timeS []float32, shared float64) {
	t.open[kept] = false
	for i := range t.front {
		if !t.open[i] {
			continue
		}
		shorter := min(t.front[i].TimeS, t.front[kept].TimeS)
		if commonTime(t.edges[i], t.edges[kept], timeS) > shared*shorter {
			t.open[i] = false
		}
	}
}

// best is the open member that adds most area between its neighbours kept, or -1.
func (t *thinning) best() int {
	best, gain := -1, 0.0
	for k := 0; k+1 < len(t.kept); k++ {
		lo, hi := t.front[t.kept[k]], t.front[t.kept[k+1]]
		for i := t.kept[k] + 1; i < t.kept[k+1]; i++ {
			w := t.front[i]
			if area := (hi.TimeS - w.TimeS) * (lo.Cost - w.Cost); t.open[i] && area > gain {
				best, gain = i, area
			}
		}
	}
	return best
}

// commonTime is the time on edges that two sorted lists share.
func commonTime(a, b []int32, timeS []float32) float64 {
	total := 0.0
	for len(a) > 0 && len(b) > 0 {
		switch {
		case a[0] < b[0]:
			a = a[1:]
		case a[0] > b[0]:
			b = b[1:]
		default:
			total += float64(timeS[a[0]])
			a, b = a[1:], b[1:]
		}
	}
	return total
}
