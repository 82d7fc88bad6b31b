package routing

import (
	"cmp"
	"context"
	"slices"

	"wideberth/exposure"
	"wideberth/osmdata/parallel"
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

// reachS is the duration in seconds that the neighbourhood of a wish is cut out for:
// that of the usual window at least, so that what is measured of it, like the price
// of a second pass, is the same for a narrower one.
func (w *Wish) reachS() float64 {
	_, maxS := w.window()
	return max(maxS, w.Minutes*60*(1+DefaultLonger))
}

// The price of walking ground twice, as a share of the median of expected reactions
// on everything in reach (our assumption): where loops alone are wished a second pass
// is what one wants to be spared, elsewhere it is merely dull.
const (
	loopRepeat    = 2
	calmestRepeat = 0.25
)

// closed plans closed walks from the door: the calmest of any shape, or loops alone.
// Where the ground allows no loop of that length it plans laps round a smaller one or
// the way there and back, and says so.
func (p *Planner) closed(ctx context.Context, w *Wish, start network.Place) ([]Walk, error) {
	q, err := p.ask(w, start)
	if err != nil {
		return nil, err
	}
	s := several{p: p, w: w, q: q}
	solver, done := p.land.Solver(ctx)
	defer done()
	if w.walks() > 1 {
		var done func()
		s.second, done = p.land.Solver(ctx)
		defer done()
	}
	answer, err := q.search(func(problem loop.Problem) (loop.Answer, error) { return s.search(ctx, solver, problem) })
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if answer.Status != loop.Found {
		return p.lapOrReturn(w, q, answer, solver)
	}
	if s.second == nil {
		return p.ranked(ctx, w, q, []loop.Walk{answer.Walk}, nil, nil)
	}
	found, err := s.beside(&answer)
	if err != nil {
		return nil, err
	}
	return p.ranked(ctx, w, q, varied(found, w.walks(), q.formOf), nil, s.first)
}

// several looks for the best walk and at once for others: what a light search finds shares
// most of its ground with the best, so that walks apart from the one are nearly always
// apart from the other.
type several struct {
	p      *Planner
	w      *Wish
	q      *asked
	second *loop.Solver // of the others, nil where none are wished

	light  loop.Answer
	others []loop.Walk // on other ground than the light walk
	first  *told       // the best walk, told while others were looked for
}

// search is loop.Solver.Calmest, and besides what differs from what it finds first.
func (s *several) search(ctx context.Context, solver *loop.Solver, problem loop.Problem) (best loop.Answer, err error) {
	s.others = nil
	if s.light, err = solver.Lightly(problem); err != nil {
		return s.light, err
	}
	if s.light.Status != loop.Found || s.second == nil {
		return solver.Harder(problem, s.light)
	}
	err = parallel.Do(ctx, func() (err error) {
		if best, err = solver.Harder(problem, s.light); err == nil {
			s.first = &told{best.Walk.Arcs, s.p.whole(s.w, s.q, &best.Walk)}
		}
		return err
	}, func() (err error) {
		s.others, err = s.second.Others(problem, []loop.Walk{s.light.Walk}, s.wanted())
		return err
	})
	return best, err
}

func (s *several) wanted() int { return s.w.walks() - 1 + spares }

// beside is the best walk and those on other ground.
func (s *several) beside(best *loop.Answer) ([]loop.Walk, error) {
	if s.light.Status == loop.Found && slices.Equal(best.Walk.Arcs, s.light.Walk.Arcs) {
		return append([]loop.Walk{best.Walk}, s.others...), nil
	}
	others, err := s.second.Apart(s.q.problem, best.Walk, append(s.others, s.light.Walk), s.wanted())
	return append([]loop.Walk{best.Walk}, others...), err
}

// Walks beside the best differ in ground; of those that cost nearly the same one of
// another form is the greater help (our assumption).
const (
	spares     = 1    // walks that are looked for beyond what is answered
	nearlySame = 1.05 // of the least sum
)

// form is how a walk lies on the ground.
type form uint8

const (
	round form = iota
	outAndHome
	tailed // a round with a way out that is the way home as well
	laps
)

func (q *asked) formOf(l *loop.Walk) form {
	tail, tailS := tailOf(q.reach, l.Arcs), 0.0
	for _, a := range l.Arcs[:tail] {
		tailS += float64(q.prices.TimeS[a])
	}
	switch {
	case l.Laps > 1:
		return laps
	case 2*tail == len(l.Arcs):
		return outAndHome
	case tailS > tailShare*l.DurationS:
		return tailed
	}
	return round
}

// varied takes up to n of the walks found, the first of them for granted: each time the
// best that is left, or one of a form not yet taken that costs nearly the same.
func varied(found []loop.Walk, n int, formOf func(*loop.Walk) form) []loop.Walk {
	taken, left := found[:1:1], slices.Clone(found[1:])
	slices.SortStableFunc(left, func(a, b loop.Walk) int { return cmp.Compare(a.Minimised(), b.Minimised()) })
	known := map[form]bool{formOf(&found[0]): true}
	for len(taken) < n && len(left) > 0 {
		next := max(0, slices.IndexFunc(left, func(l loop.Walk) bool {
			return !known[formOf(&l)] && l.Minimised() <= nearlySame*left[0].Minimised()
		}))
		known[formOf(&left[next])] = true
		taken, left = append(taken, left[next]), slices.Delete(left, next, next+1)
	}
	return taken
}

// told is the account of a walk that is there already.
type told struct {
	arcs []int32
	walk Walk
}

// ranked gives the accounts of walks, best first, without those that are too dear
// beside the best. bound is what is known of the first, nil for nothing: a
// proof is asked for when somebody reads the answer already. One account may be there,
// or nil. The error is the context's.
func (p *Planner) ranked(ctx context.Context, w *Wish, q *asked, found []loop.Walk, bound *Quality, before *told) ([]Walk, error) {
	slices.SortStableFunc(found, func(a, b loop.Walk) int { return cmp.Compare(a.Minimised(), b.Minimised()) })
	least := found[0].Minimised()
	found = slices.DeleteFunc(found, func(l loop.Walk) bool { return l.Minimised() > mostDearer*least+dearerSlack })
	walks := make([]Walk, len(found))
	err := parallel.For(ctx, len(found), func(i int) error {
		if before != nil && slices.Equal(found[i].Arcs, before.arcs) {
			walks[i] = before.walk
		} else {
			walks[i] = p.whole(w, q, &found[i])
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	if bound != nil {
		walks[0].Quality = bound.of(least)
	}
	return walks, nil
}

// Alternatives that cost more than this much of the best one are no alternatives; a
// calm best walk leaves room for a small absolute more.
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

// whole is the account of a closed walk that a search has found, of whose quality
// nothing is known yet.
func (p *Planner) whole(w *Wish, q *asked, l *loop.Walk) Walk {
	walk := p.Build(w, q.reach, q.prices, l.Arcs)
	walk.Laps, walk.Quality = max(1, l.Laps), Quality{WithinPct: -1, Sum: l.Minimised(), Checking: true}
	return walk
}

// lapOrReturn takes the better of laps and there and back where no loop exists.
func (p *Planner) lapOrReturn(w *Wish, q *asked, answer loop.Answer, solver *loop.Solver) ([]Walk, error) {
	if w.Shape == Calmest {
		return nil, p.noLoop(w, q, answer, solver) // they have competed
	}
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
		return []Walk{p.whole(w, q, &laps.Walk)}, nil
	case back.Status == loop.Found:
		walk := p.whole(w, q, &back.Walk)
		walk.Shape = ThereAndBack
		return []Walk{walk}, nil
	}
	return nil, p.noLoop(w, q, answer, solver)
}

// thereAndBack plans a walk out and home by the same way.
func (p *Planner) thereAndBack(ctx context.Context, w *Wish, start network.Place) ([]Walk, error) {
	q, err := p.ask(w, start)
	if err != nil {
		return nil, err
	}
	solver, done := p.land.Solver(ctx)
	defer done()
	back, err := q.search(solver.ThereAndBack)
	if err != nil {
		return nil, err
	}
	if back.Status != loop.Found {
		return nil, p.noLoop(w, q, back, solver)
	}
	best, quality, err := q.certify(solver, back.Walk, backProof)
	if err != nil {
		return nil, err
	}
	return p.ranked(ctx, w, q, []loop.Walk{best}, &quality, nil)
}

// longest plans the loop of most minutes whose expected reactions and strain stay
// within what the wish allows, with a proved ceiling.
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
	walk := p.whole(&at, q, &answer.Walk)
	walk.CeilingS = answer.CeilingS
	return []Walk{walk}, nil
}

// longestMinutes is how far the longest calm walk is looked for.
const longestMinutes = 90

// asked is a wish made ready for the loop search.
type asked struct {
	reach   *reach.Reach
	prices  *reach.Prices
	worst   reach.Limit // the limit that forbids most, none if none does
	problem loop.Problem
	wish    *Wish
	off     reach.Ground // ground that it keeps off
	there   reach.Ground // and of that what there is here
}

// keepOff tries what to keep off: first everything, then what a walk needs that has
// no other. Somebody's drive is never walked on without being asked for. Ground with
// rules of its own is kept off away from home only: about one's door one knows them.
func (w *Wish) keepOff() []reach.Ground {
	if w.Away {
		return []reach.Ground{offAtHome[0] | reach.Precincts, offAtHome[0], offAtHome[1], offAtHome[2]}
	}
	return offAtHome[:]
}

var offAtHome = [...]reach.Ground{reach.Private | reach.Aisles | reach.FastRoads, reach.Private | reach.Aisles, reach.Private}

// search asks a search for a walk, and where there is none opens ground that it keeps
// off while another walk is there.
func (q *asked) search(for_ func(loop.Problem) (loop.Answer, error)) (loop.Answer, error) {
	answer, err := for_(q.problem)
	for _, off := range q.wish.keepOff()[1:] {
		if err != nil || answer.Status == loop.Found || q.there&^off == 0 {
			continue
		}
		q.off = off
		q.bar()
		answer, err = for_(q.problem)
	}
	return answer, err
}

// bar forbids what the limits and the ground forbid.
func (q *asked) bar() {
	q.problem.Barred, q.worst, q.there = q.reach.BarsAnd(q.off, &q.wish.Limits, q.wish.Asker(), q.prices)
}

func (p *Planner) ask(w *Wish, start network.Place) (*asked, error) {
	r, err := p.land.Around(start, nil, w.reachS()*w.Dog.PaceMPS())
	if err != nil {
		return nil, err
	}
	return p.askAt(w, r, r.SumsFor(&w.Dog)), nil
}

// askAt is ask where the reach and its sums are known.
func (p *Planner) askAt(w *Wish, r *reach.Reach, sums *exposure.Sums) *asked {
	minS, maxS := w.window()
	c := r.PriceFor(w.taste(), sums, &w.Dog, w.Depart, w.Factors, maxS)
	q := &asked{reach: r, prices: c, wish: w, off: w.keepOff()[0], problem: loop.Problem{
		Graph: &r.Star, Door: r.Door, TimeS: c.TimeS, Cost: c.Cost, ChangeS: c.ChangeS, MinS: minS, MaxS: maxS,
	}}
	q.bar()
	repeat := loopRepeat * r.MedianHazard(c, minS/2)
	if w.Shape == Calmest {
		repeat *= calmestRepeat / loopRepeat
	}
	q.problem.Repeat = &repeat
	if w.Shape == Calmest || w.Shape == ThereAndBack {
		q.problem.Turn, q.problem.TurnMore = r.TurnPrices(), reach.TurnMore
	}
	return q
}

// best is the best walk of a question that a search finds, nil if there is none; ways
// there and back have a search of their own.
func (q *asked) best(solver *loop.Solver, search func(loop.Problem) (loop.Answer, error)) ([]int32, error) {
	if q.wish.Shape == ThereAndBack {
		search = solver.ThereAndBack
	}
	answer, err := q.search(search)
	if err != nil || answer.Status != loop.Found {
		return nil, err
	}
	return answer.Walk.Arcs, nil
}
