package routing

import (
	"context"
	"time"

	"wideberth/exposure"
	"wideberth/routing/network"
	"wideberth/routing/search"
)

// Tolerances of a wished duration. The best loop always sits at the short end,
// so that end is the tighter one.
const (
	defaultShorter = 0.03
	defaultLonger  = 0.10
	defaultWalks   = 3
)

// window is the range of durations in seconds that a wish accepts.
func (w *Wish) window() (minS, maxS float64) {
	shorter, longer := w.Shorter, w.Longer
	if shorter == 0 {
		shorter = defaultShorter
	}
	if longer == 0 {
		longer = defaultLonger
	}
	t := w.Minutes * 60
	return t * (1 - shorter), t * (1 + longer)
}

// loop plans closed walks from the door.
func (p *Planner) loop(ctx context.Context, w *Wish, start network.Place) ([]Walk, error) {
	q, err := p.ask(w, start)
	if err != nil {
		return nil, err
	}
	solver := p.loops.Get().(*search.LoopSolver)
	defer p.loops.Put(solver)
	_, answer, err := p.best(q, solver)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if answer.Status != search.LoopFound {
		return nil, p.noLoop(w, q, answer, solver)
	}
	loop, quality, err := q.certify(solver, answer.Loop, quickProof)
	if err != nil {
		return nil, err
	}
	walk := p.build(w, q.reach, q.costs, loop.Arcs)
	walk.Quality = quality
	return []Walk{walk}, nil
}

// noLoop says why there is no loop and what would help.
func (p *Planner) noLoop(w *Wish, q *asked, answer search.LoopAnswer, solver *search.LoopSolver) error {
	none := &Infeasible{Reason: NoLoop, Field: "minutes", Proved: answer.Status != search.LoopUnknown}
	if answer.LongestS > 0 {
		none.Offers = append(none.Offers, Offer{What: "minutes", Minutes: answer.LongestS / 60, Shape: Loop})
	}
	if q.worst == "" {
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
	walk := p.build(w, q.reach, q.costs, arcs)
	none.Reason, none.Field, none.Limit, none.Best = LimitsForbid, "limits", q.worst, &walk
	none.Offers = append(none.Offers, Offer{What: "without_limit", Name: q.worst, Calm: walk.CalmChance})
	later, err := p.laterHour(w, q, solver)
	if err != nil {
		return err
	}
	if later != nil {
		none.Offers = append([]Offer{*later}, none.Offers...)
	}
	return none
}

// laterHour finds the next hour within a day at which the limits can be kept.
func (p *Planner) laterHour(w *Wish, q *asked, solver *search.LoopSolver) (*Offer, error) {
	for i := 1; i <= 24; i++ {
		at := *w
		at.Depart = w.Depart.Truncate(time.Hour).Add(time.Duration(i) * time.Hour)
		then := p.askAt(&at, q.reach, q.costs.sums)
		arcs, _, err := p.best(then, solver)
		if err != nil {
			return nil, err
		}
		if arcs != nil {
			dose := p.snap.Field.Along(&w.Dog, p.steps(&at, q.reach, newTrace(q.reach, then.costs, arcs)), w.Factors)
			return &Offer{What: "leave_at", Depart: at.Depart.In(p.clock.Loc), Calm: dose.Calm()}, nil
		}
	}
	return nil, nil
}

// asked is a wish made ready for the loop search.
type asked struct {
	reach   *reach
	costs   *costs
	worst   string // the limit that forbids most, "" if none does
	problem search.LoopProblem
}

func (p *Planner) ask(w *Wish, start network.Place) (*asked, error) {
	_, maxS := w.window()
	r, err := p.around(start, nil, maxS*w.Dog.PaceMPS())
	if err != nil {
		return nil, err
	}
	return p.askAt(w, r, p.snap.Field.Sums(&w.Dog, r.edges)), nil
}

// askAt is ask where the reach and its sums are known.
func (p *Planner) askAt(w *Wish, r *reach, sums *exposure.Sums) *asked {
	minS, maxS := w.window()
	c := p.priceAt(r, w, sums, maxS)
	barred, worst := p.bars(r, w, c)
	return &asked{r, c, worst, search.LoopProblem{
		Graph: &r.star, Door: r.door, TimeS: c.timeS, Cost: c.cost, ChangeS: c.changeS, MinS: minS, MaxS: maxS, Barred: barred,
	}}
}

// best is the best loop of a question, nil if there is none.
func (p *Planner) best(q *asked, solver *search.LoopSolver) ([]int32, search.LoopAnswer, error) {
	answer, err := solver.Solve(q.problem)
	if err != nil || answer.Status != search.LoopFound {
		return nil, answer, err
	}
	return answer.Loop.Arcs, answer, nil
}

// quickProof is the work spent on a certificate before answering: about a fifth
// of what proves most answers, so that the answer is not kept waiting.
const quickProof = 20_000

// certify says how good a loop is, with so much work; 0 is the usual amount for
// a second request. It may come across a better loop, which it gives back.
func (q *asked) certify(solver *search.LoopSolver, l search.Loop, work int) (search.Loop, Quality, error) {
	proof, err := solver.Certify(q.problem, l, work)
	if err != nil {
		return l, Quality{}, err
	}
	quality := Quality{LowerX: proof.LowerBound, WithinPct: 100 * proof.Gap, Proved: proof.Gap < provedGap}
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
	start, err := p.snapTo(w.From)
	if err != nil {
		return nil, err
	}
	q, err := p.ask(&w, start)
	if err != nil {
		return nil, err
	}
	solver := p.loops.Get().(*search.LoopSolver)
	defer p.loops.Put(solver)
	_, answer, err := p.best(q, solver)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if answer.Status != search.LoopFound {
		return nil, p.noLoop(&w, q, answer, solver)
	}
	loop, quality, err := q.certify(solver, answer.Loop, 0)
	if err != nil {
		return nil, err
	}
	walk := p.build(&w, q.reach, q.costs, loop.Arcs)
	walk.Quality = quality
	walk.Quality.Checking = false
	return p.plan(&w, start, []Walk{walk}), nil
}
