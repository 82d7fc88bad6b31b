package loop

import (
	"errors"
	"math"
)

// adopt makes a walk on the graph the best walk of the core. It reports false
// for a walk that the model does not allow.
func (s *Solver) adopt(arcs []int32) bool {
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
	for i, l := range c.stem {
		if arcs[i] != c.r.arc[l] || arcs[len(arcs)-1-i] != c.r.arc[l^1] {
			return false
		}
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
func (s *Solver) shrink() error {
	if !s.drop(s.best.cost) {
		return nil
	}
	return s.relay()
}

// dropDearer is shrink where there is no best walk yet, only a cost to stay below. It
// reports false where nothing is left to walk.
func (s *Solver) dropDearer() (bool, error) {
	if !s.drop(s.best.cost) {
		return true, nil
	}
	return s.core.build(&s.p, &s.reach)
}

// drop drops every chain that only walks dearer than a cost can contain.
func (s *Solver) drop(most float64) bool {
	c := &s.core
	c.weight = append(c.weight[:0], c.leastCosts(c.maxS)...)
	for a := range c.arc {
		c.weight[a] = costWith(c.weight[a], &c.arc[a], nil)
	}
	out := c.distances(nil, c.weight, false, c.startCost+c.leastEndCost())
	home := c.distances(nil, c.weight, true, 0)
	if c.open {
		clear(home) // it may end right there
	}
	limit := most * (1 + 1e-9)
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
	return dropped
}

// relay lays the core out anew after chains have been dropped.
func (s *Solver) relay() error {
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

// dropDear drops every chain that no loop cheaper than the best can contain:
// where the least cost from the root to one end, along the chain, and home from
// the other is too much for every way to split the time between the two. With
// equal costs in both directions one table gives both.
func (s *Solver) dropDear(m *multipliers) bool {
	c, t := &s.core, &s.bound
	fixed := c.startCost - c.leastEndCost() - newPenalties(m.best).owed // both parts have an end
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
