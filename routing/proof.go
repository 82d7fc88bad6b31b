package routing

import (
	"context"

	"wideberth/routing/search/loop"
)

// backProof is the work spent on the certificate of a way there and back before it is
// answered: about two milliseconds. Other closed walks are answered without one, which
// takes longer than the search; ProveGiven makes it.
const backProof = 60_000

// certify says how good a walk is, with so much work; 0 is the usual amount for
// a second request. It may come across a better walk, which it gives back.
func (q *asked) certify(solver *loop.Solver, l loop.Walk, work int) (loop.Walk, Quality, error) {
	certify := solver.Certify
	if q.wish.Shape == ThereAndBack {
		certify = solver.CertifyThereAndBack
	}
	proof, err := certify(q.problem, l, work)
	if err != nil {
		return l, Quality{}, err
	}
	quality := Quality{LowerX: proof.LowerBound, Work: proof.Work}.of(proof.Best.Minimised())
	return proof.Best, quality, nil
}

// of is the quality of a walk whose sum is known, given the bound.
func (q Quality) of(sum float64) Quality {
	gap := 0.0
	if sum > 0 {
		gap = max(0, (sum-q.LowerX)/sum)
	}
	out := Quality{LowerX: q.LowerX, Work: q.Work, Sum: sum, Proved: gap < provedGap, WithinPct: 100 * gap}
	switch {
	case out.Proved:
		out.WithinPct = 0
	case out.WithinPct > mostPct:
		out.WithinPct = -1
	}
	out.Checking = !out.Proved
	return out
}

const (
	provedGap = 1e-4 // a gap below rounding is none
	mostPct   = 25   // a looser bound says nothing worth saying
)

// Prove works longer on how good the best closed walk of a wish is: the answer to a
// second request while somebody already reads the first. The same wish gives the
// same answer.
func (p *Planner) Prove(ctx context.Context, w Wish) (*Plan, error) {
	p = p.Under(w.Weather)
	if w.Shape != Loop && w.Shape != ThereAndBack {
		w.Shape = Calmest
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
	solver, done := p.land.Solver(ctx)
	defer done()
	p.land.CountSearch()
	search := solver.Calmest
	if w.Shape == ThereAndBack {
		search = solver.ThereAndBack
	}
	answer, err := q.search(search)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if answer.Status != loop.Found {
		return nil, p.noLoop(&w, q, answer, solver)
	}
	best, quality, err := q.certify(solver, answer.Walk, 0)
	if err != nil {
		return nil, err
	}
	walks, err := p.ranked(ctx, &w, q, []loop.Walk{best}, &quality, nil)
	if err != nil {
		return nil, err
	}
	walks[0].Quality.Checking = false
	return p.Answer(&w, start, walks), nil
}

// Covered is what a proof is about: walks from the door of a shape that take so long,
// by the sum of which it says that none is smaller.
type Covered struct {
	Shape        Shape // as wished; "" where nothing is proved
	MinS, MaxS   float64
	StrainWeight float64 // of strain beside expected reactions, 0 where it counts nothing
	Soft         bool    // minutes on hard ground count, too
}

// withCovers says of every walk whose quality is known what the proof is about. Ways
// from A to B are proved of the trade between time and sum, which is told elsewhere.
func withCovers(w *Wish, walks []Walk) {
	if w.Shape == Way || w.Shape == LongestCalm {
		return
	}
	minS, maxS := w.window()
	for i := range walks {
		if q := &walks[i].Quality; q.Proved || q.WithinPct >= 0 {
			q.Covers = Covered{Shape: w.Shape, MinS: minS, MaxS: maxS, StrainWeight: w.Strain.Weight(), Soft: w.Soft}
		}
	}
}
