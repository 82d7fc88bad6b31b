package search

import (
	"context"
	"math"
	"slices"
)

// Way is a path with its time and its cost.
type Way struct {
	Arcs  []int32
	TimeS float64 // seconds
	Cost  float64

	// Bound is a lower bound on the cost of any path within the limit that was
	// asked for. It equals Cost when the way is proved cheapest.
	Bound float64
}

// Cheapest is the path of least cost within the time limit, exact. When the work
// allowed runs out it is the best path found so far and its Bound is below its
// Cost. It returns ErrNoPath when nothing leads there and a *TimeLimitError when
// the limit is too short.
func (r *Router) Cheapest(q Timed) (Way, error) {
	if err := q.check(r); err != nil {
		return Way{}, err
	}
	q.trim()
	if len(q.ChangeS) == 0 {
		w, err := r.unlimited(&q)
		if err != nil || w.TimeS <= q.LimitS {
			return w, err
		}
	}
	s, err := r.prepare(&q)
	if err != nil {
		return Way{}, err
	}
	defer r.give(s)
	l := &s.labels
	bound := l.cheapest(&q)
	if l.givenUp() {
		return Way{}, l.stop
	}
	if len(l.found) == 0 {
		if l.q.Empty() {
			return Way{}, r.tooShort(&q)
		}
		return r.fastest(&q, bound)
	}
	w := Way{Arcs: l.trace(nil, l.found[0])}
	w.TimeS, w.Cost = q.measure(w.Arcs)
	w.Bound = min(bound, w.Cost)
	if bound >= l.ceiling {
		w.Bound = w.Cost // but for rounding
	}
	return w, nil
}

// unlimited is the path of least cost whatever its time.
func (r *Router) unlimited(q *Timed) (Way, error) {
	route, err := r.Path(nil, q.From, q.To, q.Cost[0], q.Barred)
	if err != nil {
		return Way{}, err
	}
	w := Way{Arcs: route.Arcs, Bound: route.Cost}
	w.TimeS, w.Cost = q.measure(route.Arcs)
	return w, nil
}

// prepare finds the corridor and the bounds of a query that has been checked.
func (r *Router) prepare(q *Timed) (*scratch, error) {
	if q.MaxLabels <= 0 || q.MaxLabels > idMask {
		q.MaxLabels = DefaultMaxLabels
	}
	if q.Work == nil {
		q.Work = NewWork(context.Background(), DefaultTimedWork)
	}
	s := r.take()
	if !s.corr.build(r, s, q) {
		r.give(s)
		return nil, r.tooShort(q)
	}
	s.corr.lowerBounds(&s.qB)
	s.corr.drops(q, s.nodes)
	s.labels.start(&s.corr, q.LimitS, q.MaxLabels, q.Work)
	return s, nil
}

// tooShort says why no path keeps within the limit.
func (r *Router) tooShort(q *Timed) error {
	_, err := r.fastest(q, 0)
	if err == nil { // only where arcs are barred at some hours
		err = ErrNoPath
	}
	return err
}

// fastest is the path of least time with a finite cost at some hour: the answer of
// last resort when the work ran out before any path was found, and the mend when
// the limit is too short.
func (r *Router) fastest(q *Timed, bound float64) (Way, error) {
	route, err := r.Path(nil, q.From, q.To, q.TimeS, q.Barred)
	if err == nil && slices.ContainsFunc(route.Arcs, q.closed) {
		barred := make([]bool, r.g.ArcCount()) // rare enough to look at the whole map
		for a := range barred {
			barred[a] = q.closed(int32(a)) || (q.Barred != nil && q.Barred[a])
		}
		route, err = r.Path(nil, q.From, q.To, q.TimeS, barred)
	}
	if err != nil {
		return Way{}, err
	}
	if route.Cost > q.LimitS {
		return Way{}, &TimeLimitError{LimitS: q.LimitS, LeastS: route.Cost}
	}
	w := Way{Arcs: route.Arcs}
	w.TimeS, w.Cost = q.measure(route.Arcs)
	w.Bound = min(bound, w.Cost)
	return w, nil
}

// closed says that an arc's cost bars it at every hour asked about.
func (q *Timed) closed(arc int32) bool {
	for _, cost := range q.Cost {
		if c := cost[arc]; c >= 0 && c <= math.MaxFloat32 {
			return false
		}
	}
	return true
}
