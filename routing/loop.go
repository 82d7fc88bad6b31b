package routing

import (
	"cmp"
	"context"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/routing/network"
	"wideberth/routing/reach"
	"wideberth/routing/search/loop"
)

// Tolerances of a wished duration. The best loop always sits at the short end,
// so that end is the tighter one.
const (
	DefaultShorter = 0.03
	DefaultLonger  = 0.10
	defaultWalks   = 3
)

// window is the range of durations in seconds that a wish accepts.
func (w *Wish) window() (minS, maxS float64) {
	shorter, longer := w.Shorter, w.Longer
	if shorter == 0 {
		shorter = DefaultShorter
	}
	if longer == 0 {
		longer = DefaultLonger
	}
	t := w.Minutes * 60
	return t * (1 - shorter), t * (1 + longer)
}

// loop plans closed walks from the door. Where the ground allows no loop of that
// length it plans laps round a smaller one or the way there and back, and says so.
func (p *Planner) loop(ctx context.Context, w *Wish, start network.Place) ([]Walk, error) {
	q, err := p.ask(w, start)
	if err != nil {
		return nil, err
	}
	solver, done := p.land.Solver(ctx)
	defer done()
	answer, err := solver.Solve(q.problem)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if answer.Status != loop.Found {
		return p.lapOrReturn(w, q, answer, solver)
	}
	best, quality, err := q.certify(solver, answer.Walk, quickProof)
	if err != nil {
		return nil, err
	}
	walks := []Walk{p.Build(w, q.reach, q.prices, best.Arcs)}
	walks[0].Quality = quality
	others, err := solver.Others(q.problem, []loop.Walk{best}, w.walks()-1)
	if err != nil {
		return nil, err
	}
	for _, l := range others {
		if l.Cost > mostDearer*best.Cost+dearerSlack {
			continue
		}
		walk := p.Build(w, q.reach, q.prices, l.Arcs)
		walk.Quality.Checking = false
		walks = append(walks, walk)
	}
	slices.SortStableFunc(walks, func(a, b Walk) int { return cmp.Compare(a.ExpectedReactions, b.ExpectedReactions) })
	return walks, nil
}

// Alternatives that cost more than this much of the best one's expected reactions
// are no alternatives; a calm best walk leaves room for a small absolute more.
const (
	mostDearer  = 2
	dearerSlack = 0.02
)

func (w *Wish) walks() int {
	if w.Walks == 0 {
		return defaultWalks
	}
	return w.Walks
}

// lapOrReturn takes the better of laps and there and back where no loop exists.
func (p *Planner) lapOrReturn(w *Wish, q *asked, answer loop.Answer, solver *loop.Solver) ([]Walk, error) {
	laps, err := solver.Laps(q.problem)
	if err != nil {
		return nil, err
	}
	back, err := solver.ThereAndBack(q.problem)
	if err != nil {
		return nil, err
	}
	switch {
	case laps.Status == loop.Found && (back.Status != loop.Found || laps.Walk.Cost <= back.Walk.Cost):
		return []Walk{p.whole(w, q, &laps.Walk, Loop)}, nil
	case back.Status == loop.Found:
		return []Walk{p.whole(w, q, &back.Walk, ThereAndBack)}, nil
	}
	return nil, p.noLoop(w, q, answer, solver)
}

// whole is the account of a walk that is laps or there and back.
func (p *Planner) whole(w *Wish, q *asked, l *loop.Walk, shape Shape) Walk {
	walk := p.Build(w, q.reach, q.prices, l.Arcs)
	walk.Shape, walk.Laps, walk.Quality.Checking = shape, max(1, l.Laps), false
	return walk
}

// thereAndBack plans a walk out and home by the same way.
func (p *Planner) thereAndBack(ctx context.Context, w *Wish, start network.Place) ([]Walk, error) {
	q, err := p.ask(w, start)
	if err != nil {
		return nil, err
	}
	solver, done := p.land.Solver(ctx)
	defer done()
	back, err := solver.ThereAndBack(q.problem)
	if err != nil {
		return nil, err
	}
	if back.Status == loop.Found {
		return []Walk{p.whole(w, q, &back.Walk, ThereAndBack)}, nil
	}
	if q.worst != (reach.Limit{}) {
		return nil, &reach.Infeasible{Reason: reach.LimitsForbid, Field: "limits", Limit: q.worst, Offers: []reach.Offer{{What: "without_limit", Limit: q.worst}}}
	}
	return nil, &reach.Infeasible{Reason: reach.MapTooSmall, Field: "minutes", Short: lengthM(q.reach), Unit: "m"}
}

// longest plans the loop of most minutes whose expected reactions stay within
// what the wish allows, with a proved ceiling.
func (p *Planner) longest(ctx context.Context, w *Wish, start network.Place) ([]Walk, error) {
	at := *w
	at.Minutes, at.Shorter, at.Longer = longestMinutes, 1-float64(LeastMinutes)/longestMinutes, 1e-9
	if w.Minutes > 0 {
		at.Minutes, at.Shorter = w.Minutes, 1-float64(LeastMinutes)/w.Minutes
	}
	q, err := p.ask(&at, start)
	if err != nil {
		return nil, err
	}
	solver, done := p.land.Solver(ctx)
	defer done()
	answer, err := solver.Longest(q.problem, w.MaxX)
	if err != nil {
		return nil, err
	}
	if answer.Status != loop.Found {
		return nil, &reach.Infeasible{Reason: reach.NoLoop, Field: "max_expected_reactions", Proved: answer.Status != loop.Unknown}
	}
	walk := p.whole(&at, q, &answer.Walk, LongestCalm)
	walk.CeilingS = answer.CeilingS
	return []Walk{walk}, nil
}

// longestMinutes is how far the longest calm walk is looked for.
const longestMinutes = 90

// lengthM is the length of everything within reach.
func lengthM(r *reach.Reach) (m float64) {
	for a := range r.Piece {
		m += float64(r.Piece[a].LengthM) / 2
	}
	return m
}

// noLoop says why there is no loop and what would help.
func (p *Planner) noLoop(w *Wish, q *asked, answer loop.Answer, solver *loop.Solver) error {
	none := &reach.Infeasible{Reason: reach.NoLoop, Field: "minutes", Proved: answer.Status != loop.Unknown}
	if answer.LongestS > 0 {
		none.Offers = append(none.Offers, reach.Offer{What: "minutes", Minutes: answer.LongestS / 60, Shape: string(Loop)})
	}
	if q.worst == (reach.Limit{}) {
		return none
	}
	free := *q
	free.problem.Barred = nil
	arcs, _, err := p.best(&free, solver)
	if err != nil {
		return err
	}
	if arcs == nil {
		return none
	}
	walk := p.Build(w, q.reach, q.prices, arcs)
	none.Reason, none.Field, none.Limit = reach.LimitsForbid, "limits", q.worst
	none.Offers = append(none.Offers, reach.Offer{What: "without_limit", Limit: q.worst, Calm: walk.CalmChance})
	later, err := p.laterHour(w, q, solver)
	if err != nil {
		return err
	}
	if later != nil {
		none.Offers = append([]reach.Offer{*later}, none.Offers...)
	}
	return none
}

// laterHour finds the next hour within a day at which the limits can be kept.
func (p *Planner) laterHour(w *Wish, q *asked, solver *loop.Solver) (*reach.Offer, error) {
	for i := 1; i <= 24; i++ {
		at := *w
		at.Depart = w.Depart.Truncate(time.Hour).Add(time.Duration(i) * time.Hour)
		then := p.askAt(&at, q.reach, q.prices.Sums)
		arcs, _, err := p.best(then, solver)
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

// asked is a wish made ready for the loop search.
type asked struct {
	reach   *reach.Reach
	prices  *reach.Prices
	worst   reach.Limit // the limit that forbids most, none if none does
	problem loop.Problem
}

func (p *Planner) ask(w *Wish, start network.Place) (*asked, error) {
	_, maxS := w.window()
	r, err := p.land.Around(start, nil, maxS*w.Dog.PaceMPS())
	if err != nil {
		return nil, err
	}
	return p.askAt(w, r, r.SumsFor(&w.Dog)), nil
}

// askAt is ask where the reach and its sums are known.
func (p *Planner) askAt(w *Wish, r *reach.Reach, sums *exposure.Sums) *asked {
	minS, maxS := w.window()
	c := r.Price(sums, &w.Dog, w.Depart, w.Factors, maxS)
	barred, worst := r.Bars(&w.Limits, w.Asker(), c)
	return &asked{r, c, worst, loop.Problem{
		Graph: &r.Star, Door: r.Door, TimeS: c.TimeS, Cost: c.Cost, ChangeS: c.ChangeS, MinS: minS, MaxS: maxS, Barred: barred,
	}}
}

// best is the best loop of a question, nil if there is none.
func (p *Planner) best(q *asked, solver *loop.Solver) ([]int32, loop.Answer, error) {
	answer, err := solver.Solve(q.problem)
	if err != nil || answer.Status != loop.Found {
		return nil, answer, err
	}
	return answer.Walk.Arcs, answer, nil
}

// quickProof is the work spent on a certificate before answering: a small part
// of what proves most answers, so that the answer is not kept waiting.
const quickProof = 6_000

// certify says how good a loop is, with so much work; 0 is the usual amount for
// a second request. It may come across a better loop, which it gives back.
func (q *asked) certify(solver *loop.Solver, l loop.Walk, work int) (loop.Walk, Quality, error) {
	proof, err := solver.Certify(q.problem, l, work)
	if err != nil {
		return l, Quality{}, err
	}
	quality := Quality{Work: proof.Work, LowerX: proof.LowerBound, WithinPct: 100 * proof.Gap, Proved: proof.Gap < provedGap}
	if quality.Proved {
		quality.WithinPct = 0
	}
	if quality.WithinPct > mostPct {
		quality.WithinPct = -1
	}
	quality.Checking = !quality.Proved
	return proof.Best, quality, nil
}

const (
	provedGap = 1e-4 // a gap below rounding is none
	mostPct   = 25   // a looser bound says nothing worth saying
)

// Prove works longer on how good the best loop of a wish is: the answer to a
// second request while somebody already reads the first. The same wish gives the
// same answer.
func (p *Planner) Prove(ctx context.Context, w Wish) (*Plan, error) {
	w.Shape = Loop
	if err := w.Check(); err != nil {
		return nil, err
	}
	start, err := p.land.Place(w.From)
	if err != nil {
		return nil, err
	}
	q, err := p.ask(&w, start)
	if err != nil {
		return nil, err
	}
	solver, done := p.land.Solver(ctx)
	defer done()
	p.land.CountSearch()
	_, answer, err := p.best(q, solver)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if answer.Status != loop.Found {
		return nil, p.noLoop(&w, q, answer, solver)
	}
	loop, quality, err := q.certify(solver, answer.Walk, 0)
	if err != nil {
		return nil, err
	}
	walk := p.Build(&w, q.reach, q.prices, loop.Arcs)
	walk.Quality = quality
	walk.Quality.Checking = false
	return p.Answer(&w, start, []Walk{walk}), nil
}
