package routing

import (
	"time"

	"wideberth/routing/reach"
	"wideberth/routing/search/loop"
)

// noLoop says why there is no closed walk and what would help.
func (p *Planner) noLoop(w *Wish, q *asked, answer loop.Answer, solver *loop.Solver) error {
	none := &reach.Infeasible{Reason: reach.NoLoop, Field: "minutes", Proved: answer.Status != loop.Unknown}
	if w.Shape != Loop {
		none.Reason, none.Short, none.Unit = reach.MapTooSmall, q.openM(), "m"
	}
	if answer.LongestS > 0 {
		none.Offers = append(none.Offers, reach.Offer{What: "minutes", Minutes: answer.LongestS / 60, Shape: string(w.Shape)})
	}
	limit, arcs, err := q.inTheWay(w, solver)
	if err != nil {
		return err
	}
	if arcs == nil {
		return none
	}
	walk := p.Build(w, q.reach, q.prices, arcs)
	none.Reason, none.Field, none.Limit, none.Short, none.Unit = reach.LimitsForbid, "limits", limit, 0, ""
	none.Offers = append(none.Offers, reach.Offer{What: "without_limit", Limit: limit, Calm: walk.CalmChance})
	later, err := p.laterHour(w, q, solver)
	if err != nil {
		return err
	}
	if later != nil {
		none.Offers = append([]reach.Offer{*later}, none.Offers...)
	}
	return none
}

// inTheWay is the limit without which there is a walk, and that walk; nil for none. Where
// lifting what was wished does not help, it may be ground that all keep off.
func (q *asked) inTheWay(w *Wish, solver *loop.Solver) (limit reach.Limit, arcs []int32, err error) {
	if q.worst != (reach.Limit{}) {
		if arcs, err = q.without(w, reach.Limits{InsideReaction: true, AnyGround: w.Limits.AnyGround}, solver); arcs != nil || err != nil {
			return q.worst, arcs, err
		}
	}
	if q.problem.Barred == nil || w.Limits.AnyGround {
		return limit, nil, nil
	}
	open := w.Limits
	open.AnyGround = true
	arcs, err = q.without(w, open, solver)
	return reach.Limit{What: reach.LimitGround}, arcs, err
}

// without is the best walk under other limits, nil if there is none.
func (q *asked) without(w *Wish, limits reach.Limits, solver *loop.Solver) ([]int32, error) {
	free, at := *q, *w
	free.wish, at.Limits = &at, limits
	free.off = w.keepOff()[0]
	free.bar()
	return free.best(solver, solver.Solve)
}

// openM is the length of everything within reach that may be walked.
func (q *asked) openM() (m float64) {
	for a := range q.reach.Piece {
		if q.problem.Barred == nil || !q.problem.Barred[a] {
			m += float64(q.reach.Piece[a].LengthM) / 2
		}
	}
	return m
}

// laterHour finds the next free hour within a day at which the limits can be kept.
func (p *Planner) laterHour(w *Wish, q *asked, solver *loop.Solver) (*reach.Offer, error) {
	for i := 1; i <= 24; i++ {
		at := *w
		at.Depart = wholeHour(w.Depart.In(p.land.Clock.Loc)).Add(time.Duration(i) * time.Hour)
		if !w.Free.Hold(p.land.Clock.At(at.Depart), w.Minutes) {
			continue
		}
		then := p.askAt(&at, q.reach, q.prices.Sums)
		arcs, err := then.best(solver, solver.Solve)
		if err != nil {
			return nil, err
		}
		if arcs != nil {
			dose := p.land.Snap.Field.Along(&w.Dog, p.steps(&at, q.reach, newTrace(q.reach, then.prices, arcs)), w.Factors)
			return &reach.Offer{What: "leave_at", Depart: at.Depart.In(p.land.Clock.Loc), Calm: dose.Calm()}, nil
		}
	}
	return nil, nil
}
