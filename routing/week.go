package routing

import (
	"cmp"
	"context"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/parallel"
	"wideberth/routing/reach"
	"wideberth/routing/search/loop"
)

// HourOutlook is the best walk that one hour offers.
type HourOutlook struct {
	Depart     time.Time
	Found      bool // there is a walk that keeps the limits
	Reactions  float64
	Strain     float64 // of the walk, at its price
	CalmChance float64
	DurationS  float64
	Most       string        // what adds most to it
	MostKind   exposure.Kind // and its kind
	Dark       bool          // the sun is more than 6 degrees down at departure
	Free       bool          // the handler is free then and, unless they go out in the dark, it is light or the way is lit
}

// mostHours bounds a calendar to a fortnight.
const mostHours = 14 * 24

// Week looks at the same wish for every whole hour from its departure on: the
// calmest walk, or the best loop where loops are wished, and what it brings.
func (p *Planner) Week(ctx context.Context, w Wish, hourCount int) ([]HourOutlook, error) {
	p = p.Under(w.Weather)
	if w.Shape != Loop {
		w.Shape = Calmest
	}
	if err := p.Check(&w); err != nil {
		return nil, err
	}
	if hourCount < 1 || hourCount > mostHours {
		return nil, fault.Problems{{Pointer: "/hours", Value: fault.Number(float64(hourCount)), Mend: "ask for 1 to 336 hours"}}
	}
	start, err := p.land.Place(w.From)
	if err != nil {
		return nil, err
	}
	r, err := p.land.Around(start, nil, w.reachS()*w.Dog.PaceMPS())
	if err != nil {
		return nil, err
	}
	sums := r.SumsFor(&w.Dog)
	out := make([]HourOutlook, hourCount)
	first := wholeHour(w.Depart.In(p.land.Clock.Loc))
	err = p.each(ctx, hourCount, func(solver *loop.Solver, i int) error {
		at := w
		at.Depart = first.Add(time.Duration(i) * time.Hour)
		var err error
		out[i], err = p.freeOutlook(&at, r, sums, solver)
		return err
	})
	return out, err
}

// freeOutlook is what an hour offers, on lit ways in the dark hours that are free, if
// there is a walk on them.
func (p *Planner) freeOutlook(w *Wish, r *reach.Reach, sums *exposure.Sums, solver *loop.Solver) (HourOutlook, error) {
	if !w.Free.Hold(p.land.Clock.At(w.Depart), w.Minutes) {
		return p.hourOutlook(w, r, sums, solver, solver.Solve)
	}
	offered := p.Offered(*w)
	out, err := p.hourOutlook(&offered, r, sums, solver, solver.Solve)
	out.Free = out.Found
	if out.Found || err != nil || offered.Limits.LitOnly == w.Limits.LitOnly {
		return out, err
	}
	return p.hourOutlook(w, r, sums, solver, solver.Solve)
}

func (p *Planner) hourOutlook(w *Wish, r *reach.Reach, sums *exposure.Sums, solver *loop.Solver, search func(loop.Problem) (loop.Answer, error)) (HourOutlook, error) {
	out := HourOutlook{Depart: w.Depart, Dark: p.land.Clock.At(w.Depart).Light() == 0}
	q := p.askAt(w, r, sums)
	arcs, err := q.best(solver, search)
	if err != nil || arcs == nil {
		return out, err
	}
	t := newTrace(r, q.prices, arcs)
	dose := p.land.Snap.Field.Along(&w.Dog, p.steps(w, r, t), w.Factors)
	for _, s := range t.strain {
		out.Strain += s
	}
	out.Found, out.Reactions, out.CalmChance, out.DurationS = true, dose.Reactions, dose.Calm(), dose.DurationS
	if len(dose.Movers) > 0 {
		out.Most, out.MostKind = p.contributor(&dose.Movers[0]), dose.Movers[0].Kind
	}
	return out, nil
}

// each runs n pieces of work on all cores, each with a solver that nobody else has
// meanwhile; the first error stops the rest.
func (p *Planner) each(ctx context.Context, n int, work func(solver *loop.Solver, i int) error) error {
	return parallel.For(ctx, n, func(i int) error {
		solver, done := p.land.Solver(ctx)
		if err := work(solver, i); err != nil {
			return err
		}
		done() // not after a panic: who knows what it holds then
		return nil
	})
}

// BestWindows gives the indices of the free hours with least expected reactions and
// strain, best first, at most most, no two on neighbouring hours; of equal ones the
// earlier.
func BestWindows(hours []HourOutlook, most int) []int {
	order := make([]int, 0, len(hours))
	for i := range hours {
		if hours[i].Found && hours[i].Free {
			order = append(order, i)
		}
	}
	sum := func(i int) float64 { return hours[i].Reactions + hours[i].Strain }
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(sum(a), sum(b)) })
	best := []int{}
	for _, i := range order {
		if len(best) < most && !slices.ContainsFunc(best, func(j int) bool { return max(i-j, j-i) < 2 }) {
			best = append(best, i)
		}
	}
	return best
}
