package routing

import (
	"context"

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
func (p *Planner) loop(ctx context.Context, w *Wish, start network.Place, plan *Plan) error {
	q, err := p.ask(w, start)
	if err != nil {
		return err
	}
	solver := p.loops.Get().(*search.LoopSolver)
	defer p.loops.Put(solver)
	arcs, answer, err := p.best(q, solver)
	if err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	if arcs != nil {
		plan.Walks = append(plan.Walks, p.build(w, q.reach, q.costs, arcs))
		return nil
	}
	return &Infeasible{Reason: NoLoop, Field: "minutes", Proved: answer.Status != search.LoopUnknown}
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
