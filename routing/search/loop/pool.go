package loop

// A search that is cut off by width misses now and then what another of the same
// kind would have found. A light search first says what everything else can be
// pruned by; then come the same beams in a window cut to its short end, beams that
// tell variants apart otherwise, and one led by multipliers. Of 293 real
// neighbourhoods at 30 minutes this misses the best walk known at 5, by 1.0 % at
// most, in 10.9 ms; the full effort first and nothing pruned misses 9, by 4.8 % at
// most, in 11.7 ms of the same run.
const (
	narrowShare = 0.03 // how much longer than the shortest the walks of the narrow window are
	earlyKin    = 5    // chains after which walks to one vertex are told apart, the second beam
	lateKin     = 14   // and the third
	ledSteps    = 8    // of multipliers before the beam that they lead
)

// Calmest searches harder than Solve. Where the problem allows turning about, walks
// there and back and laps compete, each judged as a walk of this problem, so that
// the answer is the cheapest by Walk.Minimised of any shape. Laps are no walk of the
// model; Walk.Laps tells.
func (s *Solver) Calmest(p Problem) (Answer, error) {
	a, err := s.Lightly(p)
	if err != nil {
		return a, err
	}
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

// again looks for something better than the best walk in other ways than a light
// search, on what a better one can contain.
func (s *Solver) again() error {
	if err := s.shrink(); err != nil {
		return err
	}
	c := &s.core
	e := effortFor(len(c.chain))
	e.led = 0
	longest := c.maxS
	c.maxS = min(longest, c.minS+narrowShare*c.p.MinS)
	err := s.hunt(e)
	c.maxS = longest
	if err == nil {
		err = s.shrink()
	}
	if err != nil {
		return err
	}
	e.beams, e.led = nil, ledSteps
	for _, kin := range []int{earlyKin, lateKin} {
		w := mainBeam
		w.kin = kin
		e.beams = append(e.beams, w)
	}
	return s.hunt(e)
}
