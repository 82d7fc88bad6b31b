package exposure

// Thinned is the hazard (1/s) of reactions that merge while one lasts: mu is the
// rate of reactions (1/s), each encounter thinned by its P before dead time.
//
//	h = mu / (1 + mu tau)
//
// Non-paralysable dead time (Knoll, Radiation Detection and Measurement, ch. 4).
// Thinning first keeps it monotone: with dead time on all encounters and the
// mean P afterwards, far and harmless streams would lower the hazard.
func Thinned(mu float64) float64 { return mu / (1 + mu*DeadTimeS) }

// Edges is the list of edges that the sums are of, in the order of results.
func (s *Sums) Edges() []int32 { return s.edges }
