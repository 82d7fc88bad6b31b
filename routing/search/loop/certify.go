package loop

import (
	"fmt"
	"math"
	"slices"
)

// LoopProof says how good a loop is within the walk model of LoopProblem: this
// graph, these costs, this window, these prices of second passes and turns. It
// says nothing about laps, about turning anywhere else, or whether the costs are
// true.
type Proof struct {
	Best       Walk    // the loop, or a better one that the proof came across
	LowerBound float64 // no loop of the model has Minimised below this
	Gap        float64 // share of Best's cost that another loop could save at most; 0 is proved best
	Work       int     // work done, in partial walks
}

// DefaultProofWork is a budget for Certify that takes about 20 ms.
const DefaultProofWork = 200_000

// cellsPerWork is how many table cells cost as much as one partial walk.
const cellsPerWork = 60

// proofSteps are the shares that the proof tries to show cannot be saved.
var proofSteps = []float64{.4, .3, .2, .15, .1, .07, .05, .03, .02, .01, 0}

// Certify proves how much cheaper than the given loop any loop of the problem
// could be. work bounds the effort, counted in partial walks; 0 takes
// DefaultProofWork. The loop must be one that the solver returned for the
// problem; of laps it proves how much cheaper a walk of the model could be.
func (s *Solver) Certify(p Problem, l Walk, work int) (Proof, error) {
	if l.Laps > 1 {
		return s.certifyLaps(p, l, work)
	}
	ok, err := s.prepare(p)
	if err != nil {
		return Proof{}, err
	}
	if !ok || !s.adopt(l.Arcs) {
		return Proof{}, fmt.Errorf("%w: the loop to certify is not one of this problem", ErrProblem)
	}
	if work <= 0 {
		work = DefaultProofWork
	}
	if err := s.shrink(); err != nil {
		return Proof{}, err
	}
	proof, err := s.prove(work)
	if err != nil {
		return Proof{}, err
	}
	proof.Best = s.loop()
	return proof, nil
}

// certifyLaps proves how much cheaper than laps a walk of the model could be.
func (s *Solver) certifyLaps(p Problem, l Walk, work int) (Proof, error) {
	a, err := s.Solve(p)
	if err != nil {
		return Proof{}, err
	}
	perS := a.SurchargePerS
	if p.Repeat != nil {
		perS = *p.Repeat
	}
	if l, err = p.remeasured(l, perS); err != nil {
		return Proof{}, err
	}
	proof := Proof{Best: l}
	switch a.Status {
	case Found:
		if proof, err = s.Certify(p, a.Walk, work); err != nil {
			return proof, err
		}
	case Unknown:
	default:
		proof.LowerBound = l.Minimised() // there is no walk of the model
	}
	if l.Minimised() <= proof.Best.Minimised() {
		proof.Best = l
		proof.LowerBound = min(proof.LowerBound, l.Minimised())
		proof.Gap = 0
		if x := l.Minimised(); x > 0 {
			proof.Gap = (x - proof.LowerBound) / x
		}
	}
	return proof, nil
}

// remeasured is laps with their figures, from their arcs alone.
func (p *Problem) remeasured(l Walk, surchargePerS float64) (Walk, error) {
	at := p.Door
	for _, a := range l.Arcs {
		if p.barred(a) || p.Graph.Head[p.Graph.Twin[a]] != at {
			return l, fmt.Errorf("%w: the laps to certify are not some of this problem", ErrProblem)
		}
		at = p.Graph.Head[a]
	}
	if at != p.Door {
		return l, fmt.Errorf("%w: the laps to certify end away from the door", ErrProblem)
	}
	out := p.measure(l.Arcs, surchargePerS)
	if out.DurationS < p.MinS-windowSlackS || out.DurationS > p.MaxS+windowSlackS {
		return l, fmt.Errorf("%w: the laps to certify take %g s", ErrProblem, out.DurationS)
	}
	out.Laps, out.StemS = l.Laps, l.StemS
	return out, nil
}

// CertifyThereAndBack is Certify for an answer of ThereAndBack: how much cheaper
// than the given walk any walk could be that goes out by a way that uses no edge
// twice, turns at a vertex and comes home the same way. Where costs change with
// the clock every edge is counted at its least, which leaves a gap.
func (s *Solver) CertifyThereAndBack(p Problem, l Walk, work int) (Proof, error) {
	relaxed := p
	if len(p.Cost) > 1 {
		relaxed.Cost, relaxed.ChangeS = [][]float32{leastOf(p.Cost)}, nil
	}
	ok, err := s.cutOpen(relaxed)
	if err != nil {
		return Proof{}, err
	}
	if !ok || len(l.Arcs)%2 != 0 || !s.adopt(l.Arcs[:len(l.Arcs)/2]) || !slices.Equal(s.loop().Arcs, l.Arcs) {
		return Proof{}, fmt.Errorf("%w: the walk to certify is not one of this problem", ErrProblem)
	}
	if work <= 0 {
		work = DefaultProofWork
	}
	if err := s.shrink(); err != nil {
		return Proof{}, err
	}
	proof, err := s.prove(work)
	if err != nil {
		return Proof{}, err
	}
	proof.Best = p.thereAndBack(s.loop().Arcs)
	if given := p.thereAndBack(l.Arcs); !(proof.Best.Minimised() < given.Minimised()) {
		proof.Best = given
	}
	if least := proof.Best.Minimised(); least > 0 {
		proof.Gap = max(0, (least-proof.LowerBound)/least)
	}
	return proof, nil
}

// leastOf is the least of every entry over slices of costs.
func leastOf(slices [][]float32) []float32 {
	least := append([]float32(nil), slices[0]...)
	for _, c := range slices[1:] {
		for a, x := range c {
			least[a] = min(least[a], x)
		}
	}
	return least
}

// prove raises the bound by multipliers and drops what it shows to be too dear,
// in turns, and then searches exhaustively with a share of the best cost shaved
// off, smaller and smaller.
func (s *Solver) prove(work int) (Proof, error) {
	m := multipliers{s: s, layers: fullEffort.tableLayers}
	bound, spent, err := s.tighten(&m, work/3)
	if err == nil {
		err = s.over()
	}
	if err != nil {
		return Proof{}, err
	}
	if spent < work {
		spent += s.lead(m.best)
	}
	proof := Proof{LowerBound: min(bound, s.best.cost)}
	s.tail.begin(&s.core, &s.bound, &s.best)
	s.tail.spent = 0
	s.tail.price = newPenalties(m.best)
	for _, share := range proofSteps {
		target := s.best.cost - share*(s.best.cost-s.core.stemSurcharge)
		if target <= proof.LowerBound && share > 0 {
			continue
		}
		left := work - spent - s.tail.spent
		s.tail.shave = share
		if left <= 0 || !s.tail.exhaust(left) {
			break
		}
		if err := s.over(); err != nil {
			return Proof{}, err
		}
		proof.LowerBound = max(proof.LowerBound, s.tail.cutoff)
	}
	if s.best.cost > s.core.stemSurcharge {
		proof.Gap = max(0, (s.best.cost-proof.LowerBound)/(s.best.cost-s.core.stemSurcharge))
	}
	proof.Work = spent + s.tail.spent
	return proof, nil
}

// tightenRounds bounds how often multipliers and reduction take turns.
const tightenRounds = 6

// tighten leaves the bound table filled with the best multipliers for what is
// left of the core, and gives the bound and the work done: about as much as it may,
// and one table at least.
func (s *Solver) tighten(m *multipliers, work int) (bound float64, spent int, err error) {
	c := &s.core
	m.start()
	bound = math.Inf(-1)
	for round := range tightenRounds {
		perFill := m.layers*len(c.arc)/cellsPerWork + 1
		steps := min(maxMultiplierSteps/tightenRounds*(1+round), (work-spent)/perFill-2)
		if steps < 0 {
			break
		}
		bound = max(bound, m.raise(steps))
		spent += (steps + 2) * perFill
		s.bound.fill(c, m.layers, true, m.best)
		if bound >= s.best.cost || c.directed || !s.dropDear(m) {
			continue
		}
		if err := s.relay(); err != nil {
			return 0, 0, err
		}
		m.carryOver()
	}
	layers := s.layersFor(work - spent)
	s.bound.fill(c, layers, true, m.best)
	spent += layers * len(c.arc) / cellsPerWork
	if spent < work && !c.directed && s.dropDear(m) {
		if err := s.relay(); err != nil {
			return 0, 0, err
		}
		m.carryOver()
		layers = s.layersFor(work - spent)
		s.bound.fill(c, layers, true, m.best)
		spent += layers * len(c.arc) / cellsPerWork
	}
	bound = max(bound, s.bound.bound()-newPenalties(m.best).owed)
	if n := s.affordable(m.layers, work); n > 0 && bound < s.best.cost {
		s.remember(m, n)
		bound = max(bound, m.raise(rememberSteps))
		s.bound.fill(c, s.fineLayers(), true, m.best)
		bound = max(bound, s.bound.bound()-newPenalties(m.best).owed)
		spent += ((rememberSteps+1)*m.layers + s.fineLayers()) * len(c.arc) * s.bound.sets() / cellsPerWork
	}
	return bound, spent, nil
}

// fineLayers is how fine the table of the exhaustive search can be.
func (s *Solver) fineLayers() int {
	perLayer := max(1, len(s.core.arc)*s.bound.sets())
	return max(fullEffort.tableLayers, min(finestLayers, mostFineCells/perLayer))
}

// layersFor is how fine the next table is where so much work is left: as fine as it can
// be, a tenth of fullEffort's layers at least.
func (s *Solver) layersFor(work int) int {
	affordable := max(0, work) * cellsPerWork / max(1, len(s.core.arc))
	return max(fullEffort.tableLayers/10, min(s.fineLayers(), affordable))
}

// Remembering which of a few chains have been walked lifts the bound more than
// steps of multipliers do (measured: at 3 chains a tenth more loops are proved
// best), but each chain doubles the table.
const (
	mostRemembered = 3
	rememberSteps  = 4
)

// affordable is how many chains the table can remember within the work.
func (s *Solver) affordable(layers, work int) int {
	n := 0
	for n < mostRemembered && (rememberSteps+1)*layers*len(s.core.arc)<<(n+1)/cellsPerWork <= work {
		n++
	}
	return n
}

// remember makes the table remember the chains with the highest multipliers, no
// two at one vertex so that they stand for different blocks, in their place.
func (s *Solver) remember(m *multipliers, n int) {
	c := &s.core
	taken := cleared(s.tail.walked, len(c.number))
	s.bound.remembered = nil
	for range n {
		most, at := 0.0, int32(-1)
		for i, x := range m.best {
			if k := &c.chain[i]; x > most && taken[k.from] == 0 && taken[k.to] == 0 {
				most, at = x, int32(i)
			}
		}
		if at < 0 {
			return
		}
		k := &c.chain[at]
		taken[k.from], taken[k.to] = 1, 1
		m.best[at], m.most[at] = 0, 0
		s.bound.remembered = append(s.bound.remembered, at)
	}
}

// The table of the exhaustive search is filled finer than those of the steps
// before it: rounding every time up to a 400th makes a walk of forty chains 5 %
// longer than it is, and the bound as much too low.
const (
	finestLayers  = 2000
	mostFineCells = 1_200_000
)
