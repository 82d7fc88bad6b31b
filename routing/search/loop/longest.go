package loop

// LongestAnswer is the longest loop found that keeps a budget.
type LongestAnswer struct {
	Status   Status // LoopFound, LoopNoCycle, or LoopWindowUnfilled where CeilingS is below the window; else LoopUnknown
	Walk     Walk
	CeilingS float64 // proved: no loop at least this long keeps the budget, where that is below MaxS; else MaxS
}

// longestTries is how often the search halves the range of durations: six
// halvings of an hour leave a minute.
const longestTries = 6

// Longest finds the longest loop in the window whose cost is at most budget.
// The least cost of a loop that lasts at least t rises with t, so it halves the
// range of t; one table bounds that cost from below for every t at once, which
// gives the ceiling. It turns about nowhere.
func (s *Solver) Longest(p Problem, budget float64) (LongestAnswer, error) {
	p.Turn = nil
	ok, err := s.prepare(p)
	if err != nil {
		return LongestAnswer{}, err
	}
	if !ok {
		return LongestAnswer{Status: NoCycle}, nil
	}
	a := LongestAnswer{CeilingS: s.ceiling(budget)}
	low, high := p.MinS, min(a.CeilingS, p.MaxS)
	if low > high {
		a.Status = WindowUnfilled
		return a, nil
	}
	at := low
	for range longestTries {
		if l, ok := s.atLeast(at, budget); ok {
			a.Status, a.Walk = Found, l
			low = l.DurationS
		} else if high = at; at == p.MinS {
			break
		}
		if at = (low + high) / 2; high-low < 1 || s.over() != nil {
			break
		}
	}
	return a, s.over()
}

// ceiling is a duration that no loop within the budget reaches.
func (s *Solver) ceiling(budget float64) float64 {
	c := &s.core
	s.setMin(s.p.MaxS)
	s.bound.fill(c, fullEffort.tableLayers, true, nil)
	for r := range s.bound.layers + 1 {
		least := c.startCost + float64(s.bound.rootBest[r])*s.bound.shrink - c.stemSurcharge
		if least > budget {
			return c.startS + float64(r)*s.bound.stepS + c.stemHomeS
		}
	}
	return s.p.MaxS
}

// setMin moves the lower end of the window.
func (s *Solver) setMin(minS float64) {
	s.p.MinS = minS
	s.core.minS = minS - s.core.stemHomeS - windowSlackS
}

// atLeast looks for a loop within the budget that lasts at least minS.
func (s *Solver) atLeast(minS, budget float64) (Walk, bool) {
	s.setMin(minS)
	s.best.clear()
	if s.hunt(lightEffort) != nil {
		return Walk{}, false
	}
	if len(s.best.arcs) == 0 {
		return Walk{}, false
	}
	l := s.loop()
	return l, l.Cost <= budget
}
