package routing

import (
	"context"
	"fmt"
	"math"
	"strings"

	"wideberth/routing/reach"
	"wideberth/routing/search/loop"
)

// Work spent on a certificate before answering: a small part of what proves most
// answers, so that the answer is not kept waiting. There and back is proved in about
// two milliseconds.
const (
	quickProof = 6_000
	backProof  = 60_000
)

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
	quality := Quality{LowerX: proof.LowerBound}.of(proof.Best.Minimised())
	return proof.Best, quality, nil
}

// of is the quality of a walk whose sum is known, given the bound.
func (q Quality) of(sum float64) Quality {
	gap := 0.0
	if sum > 0 {
		gap = max(0, (sum-q.LowerX)/sum)
	}
	out := Quality{LowerX: q.LowerX, Sum: sum, Proved: gap < provedGap, WithinPct: 100 * gap}
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
	solver, done := p.land.Solver()
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
	walks := p.ranked(&w, q, []loop.Walk{best}, quality)
	walks[0].Quality.Checking = false
	return p.Answer(&w, start, walks), nil
}

// covers says in words what a proof of a walk is about: which walks, of which figure,
// and which walks are left out.
func covers(w *Wish, walk *Walk) string {
	minS, maxS := w.window()
	sum := []string{"expected reactions"}
	switch w.Strain.Weight() {
	case 0:
	case 1:
		sum = append(sum, "the strain of moving traffic, wide crossings and the dark")
	default:
		sum = append(sum, fmt.Sprintf("%.0f times the strain of moving traffic, wide crossings, noise and the dark", w.Strain.Weight()))
	}
	if w.Soft {
		sum = append(sum, fmt.Sprintf("%g for each minute on hard ground", reach.HardPerMin))
	}
	kind, out := "walk", "walks that use a street twice in the same direction, or turn about away from a junction or the end of a way"
	switch w.Shape {
	case Calmest:
		sum = append(sum, fmt.Sprintf("%g for each turning round", reach.TurnEach), "the price of ground walked twice")
	case ThereAndBack:
		kind, out = "walk there and back by one way", "walks that turn away from a junction or the end of a way"
	default:
		kind, out = "loop", "walks that turn about, or use a street twice in the same direction"
		sum = append(sum, "the price of ground walked twice")
	}
	smaller := "smaller"
	if !walk.Quality.Proved {
		smaller = fmt.Sprintf("more than %.0f %% smaller", math.Ceil(max(1, walk.Quality.WithinPct)))
	}
	return fmt.Sprintf("no %s of %.0f to %.0f minutes from this door has a %s sum of %s; not covered are %s, and ground that is kept off: drives, car parks in use, buildings and the carriageways of fast roads", kind, minS/60, maxS/60, smaller, listed(sum), out)
}

// listed joins words as a list in a sentence.
func listed(words []string) string {
	last := len(words) - 1
	if last == 0 {
		return words[0]
	}
	return strings.Join(words[:last], ", ") + " and " + words[last]
}

// withCovers says of every walk whose quality is known what the proof is about. Ways
// from A to B are proved of the trade between time and sum, which is told elsewhere.
func withCovers(w *Wish, walks []Walk) {
	if w.Shape == Way || w.Shape == LongestCalm {
		return
	}
	for i := range walks {
		if q := &walks[i].Quality; q.Proved || q.WithinPct >= 0 {
			q.Covers = covers(w, &walks[i])
		}
	}
}
