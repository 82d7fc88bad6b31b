package loop

import (
	"math"
	"wideberth/routing/search"
)

// mostLaps bounds how often Laps walks the same round: more than four times
// round one block is no walk that anybody asked for (our assumption).
const mostLaps = 4

// lapWindows are the shares of the duration in which loops are searched for whose
// rounds may fill it: with the stem out and home, which is walked once, such a
// loop takes more than its share.
var lapWindows = [][2]float64{{1. / mostLaps, 1. / 2}, {1. / 2, 3. / 4}}

// Laps finds a loop whose round part is walked several times to fill the
// window. It turns about nowhere. The cheapest number of laps from two to four
// wins; Loop.Laps says how many. The second time round is ground walked again and
// pays the surcharge. It searches for shorter loops and tries every round that the
// beams come across; nothing is proved.
func (s *Solver) Laps(p Problem) (Answer, error) { return s.lapsBelow(p, math.Inf(1)) }

// lapsBelow is Laps for walks whose Minimised is below most.
func (s *Solver) lapsBelow(p Problem, most float64) (Answer, error) {
	p.Turn = nil
	ok, err := s.prepare(p)
	if err != nil {
		return Answer{}, err
	}
	if !ok {
		return Answer{Status: NoCycle}, nil
	}
	rounds := &lapRounds{p: &p, perS: s.core.surchargePerS, most: most}
	s.beam.rounds = rounds
	defer func() { s.beam.rounds = nil }()
	for _, share := range lapWindows {
		q := p
		q.MinS, q.MaxS, q.Repeat = p.MinS*share[0], p.MaxS*share[1], &rounds.perS
		ok, err := s.prepare(q)
		if err != nil {
			return Answer{}, err
		}
		if !ok {
			continue
		}
		// A loop whose rounds fill the time costs more than itself alone, and what it
		// takes less than the time is walked again.
		s.best.cost = most - rounds.perS*max(0, p.MinS-q.MaxS)
		if ok, err = s.dropDearer(); err != nil {
			return Answer{}, err
		}
		if ok {
			if err := s.hunt(lapEffort); err != nil {
				return Answer{}, err
			}
		}
	}
	a := Answer{SurchargePerS: rounds.perS}
	if rounds.best.Laps > 0 {
		a.Status, a.Walk = Found, rounds.best
	}
	return a, nil
}

// lapEffort improves nothing: it is the beams that come across rounds.
var lapEffort = effort{240, lightEffort.beams, 0, 0, 0}

// lapRounds keeps the best laps of all rounds that a search comes across.
type lapRounds struct {
	p    *Problem // with the window of the whole walk
	perS float64
	most float64 // what Minimised has to stay below
	best Walk
	arcs []int32
}

// try walks the round of a loop n times.
func (r *lapRounds) try(loop []int32, n int) {
	arcs, stem := lapped(r.p.Graph, loop, n)
	l := r.p.measure(arcs, r.perS)
	if len(arcs) == 2*len(stem) || l.DurationS < r.p.MinS-windowSlackS || l.DurationS > r.p.MaxS+windowSlackS {
		return
	}
	if l.Minimised() < r.most {
		r.most = l.Minimised()
		l.Laps, l.StemS = n, 0
		for _, a := range stem {
			l.StemS += float64(r.p.TimeS[a]) + float64(r.p.TimeS[r.p.Graph.Twin[a]])
		}
		r.best = l
	}
}

// closes is told of every partial walk that meets itself at its footprint stem,
// or comes home.
func (r *lapRounds) closes(b *loopBeam, end *beamLabel, stem int32) {
	c := b.c
	if end.cost >= r.most {
		return
	}
	// The stem takes about as long out as home; try has the exact figures.
	outS := float64(b.trail[stem].back.timeS)
	for n := 2; n <= mostLaps; n++ {
		t := 2*outS + float64(n)*(end.atS-outS)
		if t < r.p.MinS*(1-lapSlack) || t > r.p.MaxS*(1+lapSlack) {
			continue
		}
		r.arcs = r.arcs[:0]
		for _, l := range c.stem {
			r.arcs = append(r.arcs, c.r.arc[l])
		}
		path := append(b.pathTo(nil, end.parent), end.arc)
		for _, a := range b.pathBack(path, stem) {
			c.eachMember(a, func(arc int32) { r.arcs = append(r.arcs, arc) })
		}
		for i := len(c.stem) - 1; i >= 0; i-- {
			r.arcs = append(r.arcs, c.r.arc[c.stem[i]^1])
		}
		r.try(r.arcs, n)
	}
}

// lapSlack is how far the two directions of a stem may differ, as a share of the
// walk, for its rounds to be tried.
const lapSlack = 0.1

// lapped walks the round part of a loop n times: what is left of it when the
// way out that is also the way home is taken off both ends. It gives that way
// out too.
func lapped(g *search.Graph, arcs []int32, n int) (walk, stem []int32) {
	i, j := 0, len(arcs)-1
	for i < j && g.Twin[arcs[i]] == arcs[j] {
		i++
		j--
	}
	walk = append(walk, arcs[:i]...)
	for range n {
		walk = append(walk, arcs[i:j+1]...)
	}
	return append(walk, arcs[j+1:]...), arcs[:i]
}
