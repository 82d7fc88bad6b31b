package search

import (
	"errors"
	"fmt"
	"math"
)

// LoopProof says how good a loop is within the walk model of LoopProblem: this
// graph, these costs, this window and surcharge. It says nothing about laps,
// dead ends, or whether the costs are true.
type LoopProof struct {
	Best       Loop    // the loop, or a better one that the proof came across
	LowerBound float64 // no loop of the model has Cost + Surcharge below this
	Gap        float64 // share of Best's cost that another loop could save at most; 0 is proved best
	Work       int     // work done, in partial walks
}

// DefaultProofWork is a budget for Certify that takes about 20 ms.
const DefaultProofWork = 150_000

// cellsPerWork is how many table cells cost as much as one partial walk.
const cellsPerWork = 110

// proofSteps are the shares that the proof tries to show cannot be saved.
var proofSteps = []float64{.4, .3, .2, .15, .1, .07, .05, .03, .02, .01, 0}

// Certify proves how much cheaper than the given loop any loop of the problem
// could be. work bounds the effort, counted in partial walks; 0 takes
// DefaultProofWork. The loop must be one that Solve returned for the problem.
func (s *LoopSolver) Certify(p LoopProblem, l Loop, work int) (LoopProof, error) {
	ok, err := s.prepare(p)
	if err != nil {
		return LoopProof{}, err
	}
	if !ok || !s.adopt(l.Arcs) {
		return LoopProof{}, fmt.Errorf("%w: the loop to certify is not one of this problem", ErrLoopProblem)
	}
	if work <= 0 {
		work = DefaultProofWork
	}
	if err := s.shrink(); err != nil {
		return LoopProof{}, err
	}
	proof, err := s.prove(work)
	if err != nil {
		return LoopProof{}, err
	}
	proof.Best = s.loop()
	return proof, nil
}

// adopt makes a walk on the graph the best walk of the core. It reports false
// for a walk that the model does not allow.
func (s *LoopSolver) adopt(arcs []int32) bool {
	c := &s.core
	stem := len(c.stem)
	s.best.clear()
	if len(arcs) <= 2*stem {
		return false
	}
	starts := make(map[int32]int32, len(c.arc))
	for a := range c.arc {
		starts[c.firstMember(int32(a))] = int32(a)
	}
	arcs = arcs[stem : len(arcs)-stem]
	for i := 0; i < len(arcs); {
		a, ok := starts[arcs[i]]
		if !ok {
			return false
		}
		c.eachMember(a, func(arc int32) {
			ok = ok && i < len(arcs) && arcs[i] == arc
			i++
		})
		if !ok {
			return false
		}
		s.best.arcs = append(s.best.arcs, a)
	}
	cost, ok := c.judge(s.best.arcs, &s.tail.walked)
	s.best.cost = cost
	return ok
}

// firstMember is the first arc of the graph along a core arc.
func (c *loopCore) firstMember(a int32) int32 {
	run := c.arc[a].run
	k := &c.chain[run>>1]
	if run&1 == 0 {
		return c.r.arc[c.member[k.first]]
	}
	return c.r.arc[c.member[k.first+k.size-1]^1]
}

// shrink drops every chain that only walks dearer than the best can contain,
// and what that leaves as dead ends, and lays the core out anew.
func (s *LoopSolver) shrink() error {
	c := &s.core
	c.weight = append(c.weight[:0], c.leastCosts(c.maxS)...)
	for a := range c.arc {
		c.weight[a] = costWith(c.weight[a], &c.arc[a], nil)
	}
	fixed := c.startCost + c.leastStemHomeCost()
	out := c.distances(nil, c.weight, false, fixed)
	home := c.distances(nil, c.weight, true, 0)
	limit := s.best.cost * (1 + 1e-9)
	dropped := false
	for i := range c.chain {
		least := math.Inf(1)
		for dir := range int32(2) {
			a := c.byRun[2*int32(i)+dir]
			tail, head := c.arc[c.arc[a].twin].head, c.arc[a].head
			least = min(least, out[tail]+c.weight[a]+home[head])
		}
		if least > limit {
			c.drop(&c.chain[i])
			dropped = true
		}
	}
	if !dropped {
		return nil
	}
	return s.relay()
}

// relay lays the core out anew after chains have been dropped.
func (s *LoopSolver) relay() error {
	c := &s.core
	s.walk = s.walk[:0]
	for _, l := range c.stem {
		s.walk = append(s.walk, c.r.arc[l])
	}
	for _, a := range s.best.arcs {
		c.eachMember(a, func(arc int32) { s.walk = append(s.walk, arc) })
	}
	for i := len(c.stem) - 1; i >= 0; i-- {
		s.walk = append(s.walk, c.r.arc[c.stem[i]^1])
	}
	if _, err := c.build(&s.p, &s.reach); err != nil {
		return err
	}
	if !s.adopt(s.walk) {
		return errors.New("search: the best loop was lost in reduction")
	}
	return nil
}

// prove raises the bound by multipliers and drops what it shows to be too dear,
// in turns, and then searches exhaustively with a share of the best cost shaved
// off, smaller and smaller.
func (s *LoopSolver) prove(work int) (LoopProof, error) {
	m := multipliers{s: s, t: &s.bound, layers: fullEffort.tableLayers, roundUp: true}
	bound, spent, err := s.tighten(&m, work/3)
	if err != nil {
		return LoopProof{}, err
	}
	proof := LoopProof{LowerBound: min(bound, s.best.cost)}
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
// left of the core, and gives the bound and the work done.
func (s *LoopSolver) tighten(m *multipliers, work int) (bound float64, spent int, err error) {
	c := &s.core
	m.start()
	bound = math.Inf(-1)
	for round := range tightenRounds {
		perFill := m.layers*len(c.arc)/cellsPerWork + 1
		steps := min(maxMultiplierSteps/tightenRounds*(1+round), (work-spent)/perFill-2)
		if steps < 0 && round > 0 {
			break
		}
		bound = max(bound, m.raise(max(0, steps)))
		spent += (max(0, steps) + 2) * perFill
		s.bound.fill(c, m.layers, true, m.best)
		if bound >= s.best.cost || c.directed || !s.dropDear(m) {
			continue
		}
		if err := s.relay(); err != nil {
			return 0, 0, err
		}
		m.carryOver()
	}
	fine := max(m.layers, min(finestLayers, mostFineCells/max(1, len(c.arc))))
	s.bound.fill(c, fine, true, m.best)
	if !c.directed && s.dropDear(m) {
		if err := s.relay(); err != nil {
			return 0, 0, err
		}
		m.carryOver()
		s.bound.fill(c, fine, true, m.best)
	}
	spent += 2 * fine * len(c.arc) / cellsPerWork
	return max(bound, s.bound.bound()-newPenalties(m.best).owed), spent, nil
}

// The table of the exhaustive search is filled finer than those of the steps
// before it: rounding every time up to a 400th makes a walk of forty chains 5 %
// longer than it is, and the bound as much too low.
const (
	finestLayers  = 2000
	mostFineCells = 3_000_000
)

// dropDear drops every chain that no loop cheaper than the best can contain:
// where the least cost from the root to one end, along the chain, and home from
// the other is too much for every way to split the time between the two. With
// equal costs in both directions one table gives both.
func (s *LoopSolver) dropDear(m *multipliers) bool {
	c, t := &s.core, &s.bound
	fixed := c.startCost - c.leastStemHomeCost() - newPenalties(m.best).owed
	dropped := false
	m.perEdge = cleared(m.perEdge, len(s.reach.head)/2)
	for i := range c.chain {
		k := &c.chain[i]
		m.perEdge[c.member[k.first]>>1] = m.best[i]
		a := c.byRun[2*i]
		along := c.cost[a] + m.best[i]
		if fixed+along+t.shrink*t.leastAround(a) > s.best.cost*(1+1e-9) {
			c.drop(k)
			dropped = true
		}
	}
	return dropped
}

// leastAround is the least cost of the two parts of a walk before and after arc
// a, over all ways to split the layers that the arc itself does not fill.
func (t *loopTable) leastAround(a int32) float64 {
	twin := t.c.arc[a].twin
	before, after := t.c.arc[twin].head, t.c.arc[a].head
	least := infinite32
	total := max(0, t.layers-t.steps[a])
	for r := range total + 1 {
		if x := t.valueAt(before, a, r) + t.valueAt(after, twin, total-r); x < least {
			least = x
		}
	}
	return float64(least)
}

// valueAt is the table's value at a vertex with r layers to fill and one arc
// out of it barred.
func (t *loopTable) valueAt(v, without, r int32) float32 {
	if r = min(r, t.high[v]); r <= t.low[v] {
		return t.base[without]
	}
	return t.cell[r*int32(len(t.arc))+without]
}

// maxMultiplierSteps is where more steps no longer pay for themselves.
const maxMultiplierSteps = 30

// multipliers searches penalties on second passes that make the bound of the
// table as high as possible: subgradient steps, the best kept.
//
// They bound from below because a walk that passes a chain once pays the
// penalty and is owed it back, one that passes it twice pays it once more than
// it gets back, and that is at most the surcharge.
type multipliers struct {
	s       *LoopSolver
	t       *loopTable
	layers  int
	roundUp bool
	now     []float64
	best    []float64
	most    []float64 // per chain: the surcharge
	passes  []float64
	perEdge []float64 // the best ones on the first edge of each chain
}

// start begins without penalties.
func (m *multipliers) start() {
	n := len(m.s.core.chain)
	m.now, m.best, m.passes = make([]float64, n), make([]float64, n), make([]float64, n)
	m.limit()
}

// carryOver gives the chains of a core laid out anew what their edges had.
func (m *multipliers) carryOver() {
	m.start()
	c := &m.s.core
	for i := range c.chain {
		k := &c.chain[i]
		for _, l := range c.member[k.first : k.first+k.size] {
			m.best[i] += m.perEdge[l>>1]
		}
		m.best[i] = min(m.best[i], m.most[i])
	}
}

// raise takes steps from the best penalties so far and keeps what is better.
func (m *multipliers) raise(steps int) float64 {
	s, c := m.s, &m.s.core
	copy(m.now, m.best)
	best, length := math.Inf(-1), 1.0
	for i := 0; i <= steps; i++ {
		m.t.fill(c, m.layers, m.roundUp, m.now)
		bound := m.t.bound()
		for _, x := range m.now {
			bound -= x
		}
		if bound > best {
			best = bound
			copy(m.best, m.now)
		} else {
			length *= 0.7
		}
		if i < steps && (best >= s.best.cost || !m.step(length*(s.best.cost-bound))) {
			break
		}
	}
	return best
}

func (m *multipliers) limit() {
	c := &m.s.core
	m.most = make([]float64, len(c.chain))
	for i := range m.most {
		a, b := &c.arc[c.byRun[2*i]], &c.arc[c.byRun[2*i+1]]
		m.most[i] = min(a.surcharge, b.surcharge)
		if !a.lasting {
			m.most[i] = m.s.best.cost
		}
	}
}

// step moves the penalties along the passes of the relaxed walk. It reports
// false when that walk leaves nothing to move.
func (m *multipliers) step(gain float64) bool {
	clear(m.passes)
	m.t.trace(func(chain int32) { m.passes[chain]++ })
	norm := 0.0
	for i, n := range m.passes {
		if (n > 1 && m.now[i] < m.most[i]) || (n < 1 && m.now[i] > 0) {
			norm += (n - 1) * (n - 1)
		}
	}
	if norm == 0 || gain <= 0 {
		return false
	}
	for i, n := range m.passes {
		m.now[i] = max(0, min(m.most[i], m.now[i]+gain/norm*(n-1)))
	}
	return true
}

// trace follows a walk from the root that attains the bound.
func (t *loopTable) trace(visit func(chain int32)) {
	c := t.c
	v, by, r := int32(0), int32(noArc), t.layers
	// A way home never repeats a vertex and a way that fills layers takes at
	// least one a step, which bounds the walk.
	for range int(t.layers) + c.vertexCount() + 1 {
		if v == 0 && r <= 0 {
			return
		}
		a := t.next(v, by, r)
		if a == noArc {
			return
		}
		visit(c.arc[a].run >> 1)
		r = max(r-t.steps[a], 0)
		v, by = c.arc[a].head, a
	}
}

// next is the arc that the value at v comes from.
func (t *loopTable) next(v, by, r int32) int32 {
	c := t.c
	m := int32(len(c.arc))
	least, at := math.Inf(1), int32(noArc)
	for a := c.first[v]; a < c.first[v+1]; a++ {
		if by >= 0 && a == c.arc[by].twin {
			continue
		}
		k := &t.arc[a]
		var x float64
		switch {
		case r <= t.low[v]:
			x = t.homeCost[a] + t.dist[c.arc[a].head]
		case r <= k.under:
			x = float64(k.home)
		default:
			x = float64(k.cost + t.cell[r*m+k.off])
		}
		if x < least {
			least, at = x, a
		}
	}
	return at
}
