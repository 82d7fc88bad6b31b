package loop

import (
	"context"
	"math"
)

// Solver searches for loops. It keeps its working memory between calls and
// is not safe for concurrent use; use one for each goroutine. What it keeps
// grows with the neighbourhood searched, never with the map.
type Solver struct {
	p       Problem
	reach   loopReach
	core    loopCore
	guide   loopTable
	bound   loopTable
	beam    loopBeam
	tail    loopTail
	detours detours
	best    bestWalk
	walk    []int32 // best walk in local arcs of the reach, the stem included
	ctx     context.Context
}

// NewSolver makes a solver.
func NewSolver() *Solver { return &Solver{} }

// Until makes every search of the solver end soon after a context has, with the
// context's error. nil lets all go on to their end.
func (s *Solver) Until(ctx context.Context) { s.ctx, s.beam.ctx = ctx, ctx }

// over is the error of the context, nil while searches may go on.
func (s *Solver) over() error {
	if s.ctx == nil {
		return nil
	}
	return s.ctx.Err()
}

// effort is how hard one search tries.
type effort struct {
	tableLayers int
	beams       []beamWidth // one after the other, each pruned by what the last has found
	led         int         // steps of multipliers before one more beam that they lead; 0 for none
	rounds      int         // of improvement by local search
	nodes       int         // per tail
}

// The numbers come from a measured comparison on some 300 real neighbourhoods: a
// narrow first beam gives the next one something to prune by; more walks for one
// place, and more beams that tell variants apart differently, help in small
// neighbourhoods, where they cost little; layers finer than a 400th of the
// duration gain nothing.
var (
	scoutBeam   = beamWidth{walks: 20, perVertex: 1, layers: 90}
	mainBeam    = beamWidth{walks: 200, perVertex: 4, layers: 120, kin: 2}
	smallEffort = effort{400, []beamWidth{scoutBeam, {300, 8, 140, 2}, {300, 8, 140, 9}}, 8, 3, 1000}
	fullEffort  = effort{400, []beamWidth{scoutBeam, mainBeam}, 0, 3, 1000}
	largeEffort = effort{240, []beamWidth{scoutBeam, {150, 2, 120, 2}}, 0, 2, 1000} // keeps very dense neighbourhoods within a pause
	lightEffort = effort{240, []beamWidth{scoutBeam, {100, 2, 90, 2}}, 0, 1, 500}   // for searches of which many are needed
)

// effortFor is the effort for a neighbourhood of so many chains.
func effortFor(chains int) effort {
	switch {
	case chains <= mediumCore:
		return smallEffort
	case chains <= largeCore:
		return fullEffort
	}
	return largeEffort
}

const (
	mediumCore = 190 // above it three beams and more would take longer than 15 ms
	largeCore  = 5000
)

// A core of up to smallCore chains is searched to the end, as far as
// smallCoreNodes go: that takes microseconds and leaves nothing to luck.
const (
	smallCore      = 24
	smallCoreNodes = 6000
)

// Solve finds a loop as cheap as the search can make it, or proves that there
// is none. The same problem always gives the same answer: the budget counts
// work, not time.
func (s *Solver) Solve(p Problem) (Answer, error) {
	return s.solve(p, effortFor)
}

// Lightly is Solve with less effort, for where many answers are held against each other
// and the best is searched for again.
func (s *Solver) Lightly(p Problem) (Answer, error) {
	return s.solve(p, func(int) effort { return lightEffort })
}

func (s *Solver) solve(p Problem, effort func(chains int) effort) (Answer, error) {
	ok, err := s.prepare(p)
	if err != nil {
		return Answer{}, err
	}
	if !ok {
		return Answer{Status: NoCycle}, nil
	}
	if err := s.hunt(effort(len(s.core.chain))); err != nil {
		return Answer{}, err
	}
	return s.answer(), nil
}

// ThereAndBack finds the cheapest walk out and home the same way whose duration
// falls in the window; it turns at a vertex and may end a way that leads nowhere
// else. Its second passes are no fault: Loop.Surcharge is 0. Where costs change
// with the clock, the way home is searched as if the walk took MinS; the cost
// that comes back is exact.
func (s *Solver) ThereAndBack(p Problem) (Answer, error) {
	ok, err := s.cutOpen(p)
	if err != nil {
		return Answer{}, err
	}
	if !ok {
		return Answer{Status: WindowUnfilled}, nil
	}
	if err := s.hunt(effortFor(len(s.core.chain))); err != nil {
		return Answer{}, err
	}
	return s.backAnswer(), nil
}

// thereAndBackBelow is ThereAndBack, lightly, for a walk whose Minimised is below most
// where the way home counts as a second pass. Where there is none, or none is found, the
// status is Unknown.
func (s *Solver) thereAndBackBelow(p Problem, most float64) (Answer, error) {
	if math.IsInf(most, 1) {
		return s.ThereAndBack(p)
	}
	ok, err := s.cutOpen(p)
	if err != nil || !ok {
		return Answer{}, err
	}
	s.best.cost = most - s.core.surchargePerS*p.MinS/2 // half of it at least is walked again
	if ok, err = s.dropDearer(); err != nil || !ok {
		return Answer{}, err
	}
	if err := s.hunt(lightEffort); err != nil || len(s.best.arcs) == 0 {
		return Answer{}, err
	}
	return s.backAnswer(), nil
}

func (s *Solver) backAnswer() Answer {
	a := s.answer()
	a.SurchargePerS = 0
	if a.Status == Found {
		a.Walk = s.p.thereAndBack(a.Walk.Arcs)
	}
	return a
}

// thereAndBack measures a walk out and home the same way: what it repeats is what
// was asked for and no fault.
func (p *Problem) thereAndBack(arcs []int32) Walk {
	return p.measure(arcs, 0)
}

// prepare cuts the neighbourhood out of the map.
func (s *Solver) prepare(p Problem) (bool, error) {
	s.core.open = false
	return s.cut(p)
}

// cutOpen is prepare for walks that end anywhere and go home the way they came.
func (s *Solver) cutOpen(p Problem) (bool, error) {
	s.core.open = true
	return s.cut(p)
}

func (s *Solver) cut(p Problem) (bool, error) {
	s.best.clear()
	s.beam.nodes, s.tail.spent = 0, 0
	s.bound.remembered = nil
	s.p = p
	if err := s.p.check(); err != nil {
		return false, err
	}
	s.core.surchargePerS = -1
	if err := s.reach.grow(&s.p, s.p.MaxS+windowSlackS); err != nil {
		return false, err
	}
	return s.core.build(&s.p, &s.reach)
}

// hunt runs the beams and improves what they find. The error is the context's.
func (s *Solver) hunt(e effort) error {
	if err := s.over(); err != nil {
		return err
	}
	c := &s.core
	s.guide.fill(c, e.tableLayers, false, nil)
	for _, w := range e.beams {
		s.beam.run(c, &s.guide, &s.best, w)
		if err := s.over(); err != nil {
			return err
		}
		if len(s.best.arcs) > 0 && !c.open {
			s.detours.improve(c, &s.best)
		}
	}
	s.polish(e)
	if err := s.over(); err != nil {
		return err
	}
	if e.led > 0 && len(s.best.arcs) > 0 && !c.open {
		m := multipliers{s: s, layers: e.tableLayers}
		m.start()
		m.raise(e.led)
		s.lead(m.best)
	}
	if len(c.chain) <= smallCore {
		s.bound.fill(c, e.tableLayers, true, nil)
		s.tail.begin(c, &s.bound, &s.best)
		s.tail.exhaust(smallCoreNodes)
	}
	return s.over()
}

// lead runs a beam led by multipliers: they know of second passes what the table
// alone does not. It gives the partial walks expanded.
func (s *Solver) lead(each []float64) (work int) {
	c := &s.core
	before := s.beam.nodes
	s.guide.fill(c, fullEffort.tableLayers, false, each)
	s.beam.fine = newPenalties(each)
	s.beam.run(c, &s.guide, &s.best, mainBeam)
	s.beam.fine = nil
	if len(s.best.arcs) > 0 && !c.open {
		s.detours.improve(c, &s.best)
	}
	return s.beam.nodes - before
}

// polish improves the best walk by local search.
func (s *Solver) polish(e effort) {
	if len(s.best.arcs) == 0 {
		return
	}
	c := &s.core
	for range e.rounds {
		before := s.best.cost
		if !c.open {
			s.detours.improve(c, &s.best)
		}
		s.tail.begin(c, &s.guide, &s.best)
		s.tail.improve(1, e.nodes)
		if s.best.cost == before || s.over() != nil {
			return
		}
	}
}

// answer turns the best walk into arcs of the graph; where there is none, it
// looks for one exhaustively.
func (s *Solver) answer() Answer {
	a := Answer{SurchargePerS: s.core.surchargePerS, Edges: len(s.core.chain)}
	if len(s.best.arcs) == 0 {
		a.Status, a.LongestS = s.lastResort()
	}
	if len(s.best.arcs) > 0 {
		a.Status = Found
		a.Walk = s.loop()
	}
	a.Nodes = s.beam.nodes + s.tail.spent
	return a
}

// loop is the best walk on the graph.
func (s *Solver) loop() Walk {
	c := &s.core
	n := 2 * len(c.stem)
	for _, a := range s.best.arcs {
		n += int(c.chain[c.arc[a].run>>1].size)
	}
	arcs := make([]int32, 0, n)
	for _, l := range c.stem {
		arcs = append(arcs, c.r.arc[l])
	}
	for _, a := range s.best.arcs {
		c.eachMember(a, func(arc int32) { arcs = append(arcs, arc) })
	}
	for i := len(c.stem) - 1; i >= 0; i-- {
		arcs = append(arcs, c.r.arc[c.stem[i]^1])
	}
	if c.open {
		for i := len(arcs) - 1; i >= 0; i-- {
			arcs = append(arcs, s.p.Graph.Twin[arcs[i]])
		}
	}
	l := s.p.measure(arcs, c.surchargePerS)
	l.StemS = c.startS + c.stemHomeS
	return l
}

// lastResort walks everything that can be walked. It reports what that proved.
func (s *Solver) lastResort() (Status, float64) {
	nodes := s.p.ExhaustNodes
	if nodes == 0 {
		nodes = defaultExhaustNodes
	}
	x := exhaustion{c: &s.core, nodes: nodes, walked: cleared(s.tail.walked, len(s.core.chain)), best: &s.best}
	x.grow(0, noArc, s.core.startS)
	s.tail.spent += nodes - x.nodes
	switch {
	case len(s.best.arcs) > 0:
		s.best.cost, _ = s.core.judge(s.best.arcs, &s.tail.walked)
		s.tail.begin(&s.core, &s.guide, &s.best)
		s.tail.improve(fullEffort.rounds, fullEffort.nodes)
		return Found, 0
	case x.nodes == 0:
		return Unknown, 0
	}
	if x.longestS > 0 {
		x.longestS += s.core.stemHomeS
	}
	return WindowUnfilled, x.longestS
}

// turnOnto is the price of turning about for a walk that has come to v by the
// arc by and goes on along a, as if it were its first: 0 where that is no turn. It
// bounds from below what a further turn costs.
func (c *loopCore) turnOnto(v, by, a int32) float64 {
	if !c.isTurn(by, a) {
		return 0
	}
	return c.turn[v]
}

// isTurn says whether going on along a is turning about for a walk that came by by.
func (c *loopCore) isTurn(by, a int32) bool { return by >= 0 && c.arc[by].twin == a }

// further is what a turn costs on top of its vertex's price after so many others.
func (c *loopCore) further(turns int) float64 { return float64(turns) * c.p.TurnMore }

// judge gives what a closed core walk costs, surcharges and stem included, and
// whether the model allows it. passes is scratch.
func (c *loopCore) judge(arcs []int32, passes *[]uint8) (cost float64, ok bool) {
	*passes = cleared(*passes, len(c.chain))
	v, by, atS, cost := int32(0), int32(noArc), c.startS, c.startCost
	turns := 0
	for _, a := range arcs {
		k := &c.arc[a]
		done, bit := &(*passes)[k.run>>1], uint8(1)<<(k.run&1)
		turn := c.turnOnto(v, by, a)
		if c.isTurn(by, a) {
			turn += c.further(turns)
			turns++
		}
		if c.arc[k.twin].head != v || math.IsInf(turn, 1) || *done&bit != 0 || (*done != 0 && !k.lasting) {
			return 0, false
		}
		cost += turn + c.costAt(a, atS)
		if *done != 0 {
			cost += k.surcharge
		}
		*done |= bit
		atS += k.timeS
		v, by = k.head, a
	}
	cost += c.endCost(v, atS)
	return cost, len(arcs) > 0 && (v == 0 || c.open) && atS >= c.minS && atS <= c.maxS && !math.IsInf(cost, 1)
}

// exhaustion walks every walk of the model that can still be home in time and
// stops at the first that is home in the window.
type exhaustion struct {
	c        *loopCore
	nodes    int
	walked   []uint8
	path     []int32
	best     *bestWalk
	longestS float64 // the latest that a walk was home, before the window
}

func (x *exhaustion) grow(v, by int32, atS float64) {
	if x.nodes == 0 {
		return
	}
	x.nodes--
	c := x.c
	for a := c.first[v]; a < c.first[v+1] && len(x.best.arcs) == 0; a++ {
		k := &c.arc[a]
		bit := uint8(1) << (k.run & 1)
		w := x.walked[k.run>>1]
		at := atS + k.timeS
		if at+c.homeS[k.head] > c.maxS || w&bit != 0 || (w != 0 && !k.lasting) || math.IsInf(c.turnOnto(v, by, a), 1) {
			continue
		}
		x.walked[k.run>>1] |= bit
		x.path = append(x.path, a)
		home := k.head == 0
		if c.open {
			home = !math.IsInf(c.turn[k.head], 1)
		}
		if home && at >= c.minS {
			x.best.arcs = append(x.best.arcs[:0], x.path...)
		} else {
			if home {
				x.longestS = math.Max(x.longestS, at)
			}
			x.grow(k.head, a, at)
		}
		x.path = x.path[:len(x.path)-1]
		x.walked[k.run>>1] &^= bit
	}
}
