package loop

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
