package loop

// A search that is cut off by width misses now and then what another of the same
// kind would have found: of 339 real neighbourhoods the first effort misses the
// best walk known at 28, by 0.08 % on average and 4.5 % at most; with the window
// cut to its short end 23, and with beams that tell variants apart otherwise 20,
// by 1.4 % at most.
const (
	narrowShare = 0.03 // how much longer than the shortest the walks of the narrow window are
	earlyKin    = 5    // chains after which walks to one vertex are told apart, the second beam
	lateKin     = 14   // and the third
)

// Calmest searches harder than Solve: again in a narrower window and with other
// beams. Where the problem allows turning about, walks there and back and laps
// compete, each judged as a walk of this problem, so that the answer is the
// cheapest by Loop.Minimised of any shape. Laps are no walk of the model; Loop.Laps
// tells.
func (s *Solver) Calmest(p Problem) (Answer, error) {
	a, err := s.Solve(p)
	if err != nil {
		return a, err
	}
	if a.Status == Found && a.Edges > smallCore {
		nodes := a.Nodes
		if err := s.again(); err != nil {
			return a, err
		}
		a = s.answer()
		a.Nodes += nodes
	}
	if p.Turn == nil {
		return a, nil
	}
	for _, rival := range []func(Problem) (Answer, error){s.ThereAndBack, s.Laps} {
		b, err := rival(p)
		if err != nil {
			return a, err
		}
		if b.Status == Found {
			l := p.measure(b.Walk.Arcs, a.SurchargePerS)
			l.Laps, l.StemS = b.Walk.Laps, b.Walk.StemS
			p.compete(&a, l)
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

// again looks for something better than the best walk in other ways than hunt.
func (s *Solver) again() error {
	c := &s.core
	e := effortFor(len(c.chain))
	longest := c.maxS
	c.maxS = min(longest, c.minS+narrowShare*c.p.MinS)
	err := s.hunt(e)
	c.maxS = longest
	if err != nil {
		return err
	}
	e.beams = nil
	for _, kin := range []int{earlyKin, lateKin} {
		w := mainBeam
		w.kin = kin
		e.beams = append(e.beams, w)
	}
	return s.hunt(e)
}
