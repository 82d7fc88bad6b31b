package search

// mostLaps bounds how often Laps walks the same round: more than four times
// round one block is no walk that anybody asked for (our assumption).
const mostLaps = 4

// lapTries is how often the round's window is corrected for a stem that turns
// out longer than thought.
const lapTries = 3

// Laps finds a loop whose round part is walked several times to fill the
// window, for doors where Solve proves that nothing else does. The cheapest
// number of laps from two to four wins; Loop.Laps says how many. Walking the
// round again costs what it costs at that hour: no surcharge decides here.
func (s *LoopSolver) Laps(p LoopProblem) (LoopAnswer, error) {
	best := LoopAnswer{Status: LoopUnknown}
	ok, err := s.prepare(p)
	if err != nil {
		return best, err
	}
	if !ok {
		best.Status = LoopNoCycle
		return best, nil
	}
	stemS := s.core.startS + s.core.stemHomeS
	for n := 2; n <= mostLaps; n++ {
		a, err := s.lap(p, n, stemS)
		if err != nil {
			return LoopAnswer{}, err
		}
		if a.Status == LoopFound && (best.Status != LoopFound || a.Loop.Cost < best.Loop.Cost) {
			best = a
		}
	}
	return best, nil
}

// lap looks for a round that n laps of fill the window, with a stem that takes
// stemS out and home.
func (s *LoopSolver) lap(p LoopProblem, n int, stemS float64) (LoopAnswer, error) {
	laps := float64(n)
	for range lapTries {
		q := p
		q.MinS = (p.MinS-stemS)/laps + stemS
		q.MaxS = (p.MaxS-stemS)/laps + stemS
		if !(q.MinS > 0) {
			break
		}
		a, err := s.solve(q, func(int) effort { return lightEffort })
		if err != nil || a.Status != LoopFound {
			return LoopAnswer{}, err
		}
		arcs, stem := lapped(p.Graph, a.Loop.Arcs, n)
		l := p.measure(arcs, a.SurchargePerS)
		if l.DurationS >= p.MinS-windowSlackS && l.DurationS <= p.MaxS+windowSlackS {
			l.Laps = n
			l.StemS = p.measure(stem, 0).DurationS * 2
			a.Loop = l
			return a, nil
		}
		stemS = 2 * p.measure(stem, 0).DurationS
	}
	return LoopAnswer{}, nil
}

// lapped walks the round part of a loop n times: what is left of it when the
// way out that is also the way home is taken off both ends. It gives that way
// out too.
func lapped(g *Graph, arcs []int32, n int) (walk, stem []int32) {
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
