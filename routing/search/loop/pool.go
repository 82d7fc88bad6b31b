package loop

import "math"

// A search that is cut off by width misses now and then what another of the same
// kind would have found. A light search first says what everything else can be
// pruned by; then come beams on what a better walk can contain, in a window cut to its
// short end, which tell variants apart each in another way. At 200 doors of a city the
// sum of the best loop is 0.03 % above that of five wider beams and one led by
// multipliers, at the mean, and 1.3 % at most; of the calmest walk as much; they took
// three times the work.
const narrowShare = 0.03 // how much longer than the shortest the walks of the narrow window are

// againEffort is what follows a light search in a neighbourhood of so many chains.
func againEffort(chains int) effort {
	walks := 100
	if chains > mediumCore {
		walks = 200
	}
	return effort{300, []beamWidth{{walks, 4, 120, 2}, {walks, 4, 120, 9}, {walks, 4, 120, 5}}, 0, 2, 500}
}

// Calmest searches harder than Solve. Where the problem allows turning about, walks
// there and back and laps compete, each judged as a walk of this problem, so that
// the answer is the cheapest by Walk.Minimised of any shape. Laps are no walk of the
// model; Walk.Laps tells.
func (s *Solver) Calmest(p Problem) (Answer, error) {
	a, err := s.Lightly(p)
	if err != nil {
		return a, err
	}
	return s.Harder(p, a)
}

// Harder is Calmest from where Lightly is done: a is what the solver has just answered to
// the same problem.
func (s *Solver) Harder(p Problem, a Answer) (Answer, error) {
	if a.Status == Found && a.Edges > smallCore {
		edges, nodes := a.Edges, a.Nodes
		if err := s.again(); err != nil {
			return a, err
		}
		a = s.answer()
		a.Edges, a.Nodes = edges, a.Nodes+nodes
	}
	if p.Turn == nil {
		return a, nil
	}
	most := math.Inf(1)
	if a.Status == Found {
		most, p.Repeat = a.Walk.Minimised(), &a.SurchargePerS
	}
	for _, rival := range []func(Problem, float64) (Answer, error){s.thereAndBackBelow, s.lapsBelow} {
		b, err := rival(p, most)
		if err != nil {
			return a, err
		}
		if b.Status == Found {
			l := p.measure(b.Walk.Arcs, a.SurchargePerS)
			l.Laps, l.StemS = b.Walk.Laps, b.Walk.StemS
			p.compete(&a, l)
			most = a.Walk.Minimised()
		}
	}
	return a, nil
}

// compete takes a walk as the answer if it is better than what there is.
func (p *Problem) compete(a *Answer, l Walk) {
	if a.Status != Found || l.Minimised() < a.Walk.Minimised() {
		a.Status, a.Walk = Found, l
	}
}

// again looks for something better than the best walk in other ways than a light
// search, on what a better one can contain.
func (s *Solver) again() error {
	if err := s.shrink(); err != nil {
		return err
	}
	c := &s.core
	longest := c.maxS
	c.maxS = min(longest, c.minS+narrowShare*c.p.MinS)
	err := s.hunt(againEffort(len(c.chain)))
	c.maxS = longest
	return err
}
