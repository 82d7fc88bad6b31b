package routing

import (
	"context"
	"errors"

	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/reach"
	"wideberth/routing/search/loop"
)

// Given is a walk that was found before: its ground, and what the search said of
// it. With the wish and the network it is all that a walk is.
type Given struct {
	Shape    Shape
	Laps     int // 1, or how often the same round is walked
	Course   reach.Course
	Quality  Quality
	CeilingS float64 // of the longest calm walk
}

// Given is the walk without what it brings.
func (w *Walk) Given() Given { return Given{w.Shape, w.Laps, w.Course, w.Quality, w.CeilingS} }

// mostGiven bounds the walks that are told at once.
const mostGiven = 8

// Tell gives the whole account of walks that were found before, for the wish that
// they answer, in their order, without a search. Walks that cannot be walked so on
// this map are fault.Problems.
func (p *Planner) Tell(ctx context.Context, w Wish, given []Given) (*Plan, error) {
	p = p.Under(w.Weather)
	if err := w.Check(); err != nil {
		return nil, err
	}
	if len(given) == 0 || len(given) > mostGiven {
		return nil, fault.One("/walks", fault.Number(float64(len(given))), "give 1 to 8 walks")
	}
	r, err := p.reachOf(&w, given)
	if err != nil {
		return nil, err
	}
	start, err := p.land.Place(w.From)
	if err != nil {
		return nil, err
	}
	c := r.PriceFor(w.taste(), r.SumsFor(&w.Dog), &w.Dog, w.Depart, w.Factors, p.budgetS(&w, given))
	return p.besideGround(ctx, &w, start, func() ([]Walk, error) {
		walks := make([]Walk, len(given))
		for i := range given {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			arcs, err := r.Along(given[i].Course)
			if err != nil {
				return nil, fault.One("/walks/"+fault.Number(float64(i)), "", err.Error()+": plan it anew")
			}
			walks[i] = p.Build(&w, r, c, arcs)
			walks[i].Shape, walks[i].Laps, walks[i].Quality, walks[i].CeilingS = given[i].Shape, max(1, given[i].Laps), given[i].Quality, given[i].CeilingS
		}
		return walks, nil
	})
}

// budgetS is the longest that a walk of a wish may take, or that one of those given
// does.
func (p *Planner) budgetS(w *Wish, given []Given) float64 {
	most := w.reachS()
	for i := range given {
		most = max(most, given[i].Course.LengthM()/w.Dog.PaceMPS()*slowestS)
	}
	return most
}

// slowestS allows for slopes: a walk is told for this many times its time on level
// ground.
const slowestS = 1.5

// reachOf cuts out the reach that walks lie in, with room about them for refuges.
func (p *Planner) reachOf(w *Wish, given []Given) (*reach.Reach, error) {
	return p.reachWithin(w, p.budgetS(w, given)*w.Dog.PaceMPS())
}

// reachWithin cuts out what walks of a wish and of a length can use.
func (p *Planner) reachWithin(w *Wish, budgetM float64) (*reach.Reach, error) {
	from, err := p.land.Place(w.From)
	if err != nil {
		return nil, err
	}
	if w.Shape != Way {
		return p.land.Around(from, nil, budgetM)
	}
	to, err := p.land.Place(*w.To)
	if err != nil {
		return nil, reach.About(err, "to")
	}
	return p.land.Around(from, &to, budgetM)
}

// Match finds again, on this map, walks that were planned on another, by the lines
// they follow. A walk that cannot be walked so here is fault.Problems.
func (p *Planner) Match(ctx context.Context, w Wish, lines []plane.Polyline) ([]Given, error) {
	if err := w.Check(); err != nil {
		return nil, err
	}
	shape := w.Shape
	if shape == LongestCalm || shape == Calmest {
		shape = Loop
	}
	out := make([]Given, len(lines))
	for i, line := range lines {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		out[i] = Given{Shape: shape, Laps: 1, Quality: Quality{WithinPct: -1}}
		r, err := p.reachWithin(&w, max(p.budgetS(&w, nil)*w.Dog.PaceMPS(), 1.1*line.LengthM()))
		if err != nil {
			return nil, err
		}
		end := r.Door
		if w.Shape == Way {
			end = r.Goal
		}
		arcs, err := r.Match(line, r.Door, end)
		if err != nil {
			return nil, fault.One("/walks/"+fault.Number(float64(i)), "", err.Error()+": plan it anew")
		}
		out[i].Course = r.Course(arcs)
	}
	return out, nil
}

// Proved is a plan with the proof of its best walk, for who has nothing to read before it
// is there. The proof may come across a better walk, which then takes its place.
func (p *Planner) Proved(ctx context.Context, w Wish, plan *Plan) (*Plan, error) {
	if best := &plan.Walks[0]; !provable(&w, best.Given()) || best.Quality.Proved {
		return plan, nil
	}
	given := make([]Given, len(plan.Walks))
	for i := range plan.Walks {
		given[i] = plan.Walks[i].Given()
	}
	return p.ProveGiven(ctx, w, given)
}

// provable says of a walk that a second request can find more about it: of there and back
// all is known that can be, of other shapes, and of what stands in for a loop, nothing can.
func provable(w *Wish, best Given) bool {
	return w.Shape == Calmest || w.Shape == Loop && best.Laps == 1 && best.Shape == Loop
}

// ProveGiven works longer on how good the first of the walks given is: the answer
// to a second request while somebody reads the first. The proof may come across a
// better walk; then the plan has that one in its place.
func (p *Planner) ProveGiven(ctx context.Context, w Wish, given []Given) (*Plan, error) {
	p = p.Under(w.Weather)
	if len(given) == 0 || !provable(&w, given[0]) {
		return p.Tell(ctx, w, given)
	}
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
	arcs, err := q.reach.Along(given[0].Course)
	if err != nil {
		return nil, fault.One("/walks/0", "", err.Error()+": plan it anew")
	}
	found := loop.Walk{Arcs: arcs, Laps: max(1, given[0].Laps)}
	solver, done := p.land.Solver(ctx)
	defer done()
	best, quality, err := q.certify(solver, found, 0)
	for _, off := range w.keepOff()[1:] { // it may be on ground that was opened for want of another walk
		if !errors.Is(err, loop.ErrProblem) {
			break
		}
		q.off = off
		q.bar()
		best, quality, err = q.certify(solver, found, 0)
	}
	if errors.Is(err, loop.ErrProblem) {
		return nil, fault.One("/walks/0", "", "no loop that answers this wish: plan it anew")
	}
	if err != nil {
		return nil, err
	}
	told, err := p.Tell(ctx, w, given)
	if err != nil {
		return nil, err
	}
	proved, err := p.ranked(ctx, &w, q, []loop.Walk{best}, &quality, nil)
	if err != nil {
		return nil, err
	}
	told.Walks[0] = proved[0]
	told.Walks[0].Quality.Checking = false
	return p.answer(&w, start, told.Walks, told.Ground), nil
}
