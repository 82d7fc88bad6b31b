package routing

import (
	"context"
	"math"
	"time"

	"wideberth/routing/network"
	"wideberth/routing/search/loop"
)

// One plans the best closed walk of a wish from a place, with all that is to be known
// of it but a proof. What cannot be had is an *Infeasible.
func (p *Planner) One(ctx context.Context, w *Wish, start network.Place) (*Plan, error) {
	q, err := p.ask(w, start)
	if err != nil {
		return nil, err
	}
	solver, done := p.land.Solver(ctx)
	defer done()
	search := solver.Calmest
	if w.Shape == ThereAndBack {
		search = solver.ThereAndBack
	}
	answer, err := q.search(search)
	if err == nil {
		err = ctx.Err()
	}
	if err != nil {
		return nil, err
	}
	var walks []Walk
	if answer.Status != loop.Found {
		if walks, err = p.lapOrReturn(w, q, answer, solver); err != nil {
			return nil, err
		}
	} else {
		walks = []Walk{p.whole(w, q, &answer.Walk)}
	}
	return p.Answer(w, start, walks), nil
}

// Glance is what the walk from a place brings that a light effort finds without opening
// ground that is kept off: its expected reactions, strain, duration and time on service
// roads, nothing else. Nil if there is none.
func (p *Planner) Glance(ctx context.Context, w *Wish, start network.Place) (*Walk, error) {
	q, err := p.ask(w, start)
	if err != nil {
		return nil, err
	}
	solver, done := p.land.Solver(ctx)
	defer done()
	search := solver.Lightly
	if w.Shape == ThereAndBack {
		search = solver.ThereAndBack
	}
	answer, err := search(q.problem)
	if err != nil || answer.Status != loop.Found {
		return nil, err
	}
	t := newTrace(q.reach, q.prices, answer.Walk.Arcs)
	walk := &Walk{}
	for i, a := range t.arcs {
		walk.Strain += t.strain[i]
		walk.ServiceS += t.timeS[i] * p.land.ServiceShare(q.reach.Piece[a].Edge)
		walk.DurationS += t.timeS[i]
	}
	walk.ExpectedReactions = p.land.Snap.Field.Along(&w.Dog, p.steps(w, q.reach, t), w.Factors).Reactions
	return walk, nil
}

// BestHour is the free departure within a day that has the calmest walk from a door by a
// light effort for each,
// the zero time if none has any.
func (p *Planner) BestHour(ctx context.Context, w *Wish, start network.Place) (best time.Time, err error) {
	r, err := p.land.Around(start, nil, w.reachS()*w.Dog.PaceMPS())
	if err != nil {
		return best, err
	}
	sums := r.SumsFor(&w.Dog)
	list := p.departures(w)
	hour := make([]HourOutlook, len(list))
	err = p.each(ctx, len(list), func(solver *loop.Solver, i int) (err error) {
		at := *w
		at.Depart = list[i]
		at = p.Offered(at)
		hour[i], err = p.hourOutlook(&at, r, sums, solver, solver.Lightly)
		return err
	})
	least := math.Inf(1)
	for i := range hour {
		if sum := hour[i].Reactions + w.Strain.Weight()*hour[i].Strain; hour[i].Found && sum < least {
			least, best = sum, list[i]
		}
	}
	return best, err
}
