package loop

import (
	"cmp"
	"fmt"
	"slices"
)

// MostShared is the share of the shorter of two walks, by the time on the edges
// it uses, each counted once and without those that every walk from the door
// uses, up to which they count as different ground.
const MostShared = 0.5

// otherTries are the factors by which the edges of the walks chosen so far are
// made dearer, one after the other until different ground comes out.
var otherTries = []float64{0.6, 1.2, 2.5, 5}

// Others finds up to n more walks on other ground than those given and than each
// other, best first. Their figures are the true ones. The walks given may be
// laps; fewer than n come back where the search finds no more.
func (s *Solver) Others(p Problem, chosen []Walk, n int) ([]Walk, error) {
	return s.apart(p, chosen, nil, n)
}

// Apart is Others for the best walk where some were looked for beside another: of those
// given the cheapest that are on other ground than the best and each other are taken, and
// more are looked for where they are fewer than n.
func (s *Solver) Apart(p Problem, best Walk, given []Walk, n int) ([]Walk, error) {
	given = slices.SortedStableFunc(slices.Values(given), func(a, b Walk) int { return cmp.Compare(a.Minimised(), b.Minimised()) })
	return s.apart(p, []Walk{best}, given, n)
}

func (s *Solver) apart(p Problem, chosen, given []Walk, n int) ([]Walk, error) {
	ok, err := s.prepare(p)
	if err != nil || !ok {
		return nil, err
	}
	for _, l := range slices.Concat(chosen, given) {
		if i := slices.IndexFunc(l.Arcs, func(a int32) bool { return a < 0 || int(a) >= p.Graph.ArcCount() }); i >= 0 {
			return nil, fmt.Errorf("%w: a walk to differ from has the arc %d of %d", ErrProblem, l.Arcs[i], p.Graph.ArcCount())
		}
	}
	o := others{s: s, chosen: slices.Clone(chosen)}
	o.findForced()
	for i := range given {
		if len(o.chosen) < len(chosen)+n && o.differs(&given[i]) {
			o.chosen = append(o.chosen, given[i])
		}
	}
	for len(o.chosen) < len(chosen)+n && o.next() {
	}
	return o.chosen[len(chosen):], s.over()
}

// otherEffort is for walks beside the best: twice the effort finds them 0.3 % cheaper.
var otherEffort = effort{120, []beamWidth{scoutBeam, {60, 2, 60, 2}}, 0, 1, 200}

// others keeps the walks chosen so far.
type others struct {
	s      *Solver
	chosen []Walk
	forced map[int32]bool // edges, by their lower arc, that every walk from the door uses
	rate   float64        // median cost a second
}

// next adds one more walk.
func (o *others) next() bool {
	for _, factor := range otherTries {
		o.fine(factor)
		o.s.best.clear()
		err := o.s.hunt(otherEffort)
		o.unfine()
		if err != nil || len(o.s.best.arcs) == 0 {
			return false
		}
		l := o.s.loop()
		if o.differs(&l) {
			o.chosen = append(o.chosen, l)
			return true
		}
	}
	return false
}

// findForced lists the edges that no walk in the window can do without: the stem,
// and bridges on the near side of which there is too little to walk.
func (o *others) findForced() {
	c := &o.s.core
	o.rate = c.medianRate()
	o.forced = map[int32]bool{}
	for _, l := range c.stem {
		o.forced[o.edge(c.r.arc[l])] = true
	}
	c.findBridges()
	on := o.walked()
	for i := range c.chain {
		if c.bridge[i] && on[o.edge(c.r.arc[c.member[c.chain[i].first]])] && c.mostWithout(int32(i)) < c.minS-c.startS {
			c.eachMember(c.byRun[2*i], func(arc int32) { o.forced[o.edge(arc)] = true })
		}
	}
}

// walked are the edges of the walks chosen so far.
func (o *others) walked() map[int32]bool {
	on := map[int32]bool{}
	for i := range o.chosen {
		for _, a := range o.chosen[i].Arcs {
			on[o.edge(a)] = true
		}
	}
	return on
}

// mostWithout is the time that walking everything takes which can be reached
// from the root without a chain, every edge once in each direction; it stops
// counting where that fills the window.
func (c *loopCore) mostWithout(chain int32) float64 {
	seen := make([]bool, c.vertexCount())
	seen[0] = true
	t := 0.0
	for stack := []int32{0}; len(stack) > 0 && t < c.minS-c.startS; {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for a := c.first[v]; a < c.first[v+1]; a++ {
			k := &c.arc[a]
			if k.run>>1 == chain {
				continue
			}
			if k.timeS < barredS {
				t += k.timeS
			}
			if !seen[k.head] {
				seen[k.head] = true
				stack = append(stack, k.head)
			}
		}
	}
	return t
}

// barredS is less than what a barred arc takes and more than any other.
const barredS = 1e18

// fine makes every chain on a chosen walk dearer, but for those that cannot be
// helped: by a share of its cost and of the median cost of its time.
func (o *others) fine(factor float64) {
	c := &o.s.core
	on := o.walked()
	c.fine = cleared(c.fine, len(c.chain))
	for i := range c.chain {
		k := &c.chain[i]
		e := o.edge(c.r.arc[c.member[k.first]])
		if !on[e] || o.forced[e] {
			continue
		}
		x, t, m := 0.0, 0.0, 0.0
		for _, back := range []int32{0, 1} {
			run := c.byRun[2*int32(i)+back]
			if c.arc[run].timeS < barredS {
				x, t, m = x+c.cost[run], t+c.arc[run].timeS, m+1
			}
		}
		if m > 0 {
			c.fine[i] = factor * (x + o.rate*t) / m
		}
	}
	o.shift(1)
}

// unfine takes the fines back.
func (o *others) unfine() {
	o.shift(-1)
	o.s.core.fine = nil
}

func (o *others) shift(sign float64) {
	c := &o.s.core
	m := len(c.arc)
	for i := range c.cost {
		x := sign * c.fine[c.arc[i%m].run>>1]
		c.cost[i] += x
		c.least[i] += x
	}
}

func (o *others) differs(l *Walk) bool {
	for i := range o.chosen {
		if o.shared(l, &o.chosen[i]) > MostShared {
			return false
		}
	}
	return true
}

// shared is the time on edges that two walks both use, each counted once, as a
// share of the shorter; edges that every walk uses are left out.
func (o *others) shared(a, b *Walk) float64 {
	ofA, both := o.groundOf(a, b)
	ofB, _ := o.groundOf(b, a)
	if least := min(ofA, ofB); least > 0 {
		return both / least
	}
	return 1
}

// groundOf is the time on the distinct edges of a walk, and of it that on edges
// of the other walk. An edge takes the mean of its two directions.
func (o *others) groundOf(l, other *Walk) (t, both float64) {
	p := &o.s.p
	on := make(map[int32]bool, len(other.Arcs))
	for _, a := range other.Arcs {
		on[o.edge(a)] = true
	}
	seen := make(map[int32]bool, len(l.Arcs))
	for _, a := range l.Arcs {
		e := o.edge(a)
		if seen[e] || o.forced[e] {
			continue
		}
		seen[e] = true
		x := (float64(p.TimeS[a]) + float64(p.TimeS[p.Graph.Twin[a]])) / 2
		t += x
		if on[e] {
			both += x
		}
	}
	return t, both
}

// edge names an edge by its lower arc.
func (o *others) edge(arc int32) int32 { return min(arc, o.s.p.Graph.Twin[arc]) }
