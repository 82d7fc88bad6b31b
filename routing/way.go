package routing

import (
	"context"
	"errors"
	"math"

	"wideberth/routing/network"
	"wideberth/routing/reach"
	"wideberth/routing/search"
)

// Ways of A to B that are offered: at most five, sharing at most this much of
// the shorter one's time.
const (
	mostWays    = 5
	sharedShare = 0.8
	leastWayM   = 600 // budget of a very short way: room for a detour round a block
)

// way plans from one place to another: the trade between time and expected
// reactions, fastest first in the front, calmest first in the plan.
func (p *Planner) way(ctx context.Context, w *Wish, from network.Place) ([]Walk, error) {
	to, err := p.land.Place(*w.To)
	if err != nil {
		return nil, reach.About(err, "to")
	}
	pace := w.Dog.PaceMPS()
	quickest, err := p.quickestM(from, to)
	if err != nil {
		return nil, err
	}
	budgetM := w.Minutes * 60 * pace
	if w.Minutes == 0 {
		budgetM = max(2*quickest, leastWayM)
	}
	if budgetM < quickest {
		return nil, tooShort(quickest/pace, budgetM/pace)
	}
	r, err := p.land.Around(from, &to, budgetM)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	c := r.PriceFor(w.taste(), r.SumsFor(&w.Dog), &w.Dog, w.Depart, w.Factors, budgetM/pace)
	barred, worst := r.Bars(&w.Limits, w.Asker(), c)
	router, err := search.NewRouter(&r.Star)
	if err != nil {
		return nil, err
	}
	q := search.Timed{From: r.Door, To: r.Goal, TimeS: c.TimeS, Cost: c.Cost, ChangeS: c.ChangeS, Barred: barred, LimitS: budgetM / pace,
		Work: search.NewWork(ctx, search.DefaultTimedWork)}
	front, proved, err := router.Front(q)
	if err != nil {
		return nil, p.noWay(w, r, router, &q, err, worst)
	}
	most := mostWays
	if w.Walks > 0 {
		most = w.Walks
	}
	thin := router.Thin(front, c.TimeS, most, sharedShare)
	var walks []Walk
	for i := len(thin) - 1; i >= 0; i-- {
		walk := p.Build(w, r, c, thin[i].Arcs)
		walk.Quality = Quality{Proved: proved, WithinPct: 0, LowerX: thin[i].Bound}
		if !proved {
			walk.Quality.WithinPct = -1
		}
		walks = append(walks, walk)
	}
	return walks, nil
}

// quickestM is about the length of the shortest way between two places.
func (p *Planner) quickestM(from, to network.Place) (float64, error) {
	if from.Edge == to.Edge {
		return math.Abs(from.AlongM - to.AlongM), nil
	}
	best := math.Inf(1)
	for _, a := range p.land.Ends(from) {
		for _, b := range p.land.Ends(to) {
			route, err := p.land.Router.Path(nil, a.Vertex, b.Vertex, p.land.ArcM, nil)
			if errors.Is(err, search.ErrNoPath) {
				return 0, &reach.Infeasible{Reason: reach.NotConnected, Field: "to", Proved: true}
			}
			if err != nil {
				return 0, err
			}
			best = min(best, a.Offset+route.Cost+b.Offset)
		}
	}
	return best, nil
}

// noWay says why no way was found and what would do.
func (p *Planner) noWay(w *Wish, r *reach.Reach, router *search.Router, q *search.Timed, err error, worst reach.Limit) error {
	var limit *search.TimeLimitError
	switch {
	case errors.As(err, &limit):
		return tooShort(limit.LeastS, limit.LimitS)
	case !errors.Is(err, search.ErrNoPath):
		return err
	case worst != (reach.Limit{}):
		free := *q
		free.Barred = nil
		if _, err := router.Cheapest(free); err == nil {
			return &reach.Infeasible{Reason: reach.LimitsForbid, Field: "limits", Limit: worst, Proved: true, Offers: []reach.Offer{{What: "without_limit", Limit: worst}}}
		}
	}
	return &reach.Infeasible{Reason: reach.NotConnected, Field: "to", Proved: true}
}

func tooShort(leastS, limitS float64) *reach.Infeasible {
	return &reach.Infeasible{Reason: reach.TooShort, Field: "minutes", Short: leastS - limitS, Unit: "s", Proved: true,
		Offers: []reach.Offer{{What: "minutes", Minutes: math.Ceil(leastS / 60), Shape: string(Way)}}}
}
