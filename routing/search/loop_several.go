package search

import "fmt"

// MostShared is the share of the shorter of two loops, by time and without the
// stem that every loop from the door has, up to which they count as different.
const MostShared = 0.5

// otherTries are the factors by which the edges of the loops chosen so far are
// made dearer, one after the other until a different loop comes out. The first
// two are from a measured comparison, the others for small neighbourhoods.
var otherTries = []float64{0.6, 0.8, 1.2, 2}

// Others finds up to n more loops that differ from those given and from each
// other, best first. Their costs are the true ones. The loops given must be
// loops of the problem; fewer than n come back where the search finds no more.
func (s *LoopSolver) Others(p LoopProblem, chosen []Loop, n int) ([]Loop, error) {
	ok, err := s.prepare(p)
	if err != nil || !ok {
		return nil, err
	}
	for _, l := range chosen {
		if !s.adopt(l.Arcs) {
			return nil, fmt.Errorf("%w: a loop to differ from is not one of this problem", ErrLoopProblem)
		}
	}
	o := others{s: s, chosen: append([]Loop(nil), chosen...)}
	s.core.findBridges()
	for range n {
		if !o.next() {
			break
		}
	}
	return o.chosen[len(chosen):], nil
}

// others keeps the loops chosen so far.
type others struct {
	s      *LoopSolver
	chosen []Loop
}

// next adds one more loop.
func (o *others) next() bool {
	for _, factor := range otherTries {
		o.fine(factor)
		o.s.best.clear()
		o.s.hunt(lightEffort)
		o.unfine()
		if len(o.s.best.arcs) == 0 {
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

// fine makes every chain on a chosen loop dearer, but for bridges, which cannot
// be helped: by a share of its cost and of half the median cost of its time.
func (o *others) fine(factor float64) {
	c := &o.s.core
	on := map[int32]bool{}
	for i := range o.chosen {
		for _, a := range o.chosen[i].Arcs {
			on[min(a, c.p.Graph.Twin[a])] = true
		}
	}
	c.fine = cleared(c.fine, len(c.chain))
	median := c.surchargePerS / c.p.surcharge()
	for i := range c.chain {
		k := &c.chain[i]
		a := c.r.arc[c.member[k.first]]
		if c.bridge[i] || !on[min(a, c.p.Graph.Twin[a])] {
			continue
		}
		x, t, m := 0.0, 0.0, 0.0
		for _, back := range []int32{0, 1} {
			run := c.byRun[2*int32(i)+back]
			if c.arc[run].timeS < 1e18 {
				x, t, m = x+c.cost[run], t+c.arc[run].timeS, m+1
			}
		}
		if m > 0 {
			c.fine[i] = factor * (x + median*t/2) / m
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

func (o *others) differs(l *Loop) bool {
	for i := range o.chosen {
		if Shared(&o.s.p, l, &o.chosen[i]) > MostShared {
			return false
		}
	}
	return true
}

// Shared is the time that two loops of a problem spend on edges that both walk,
// as a share of the shorter of them; the stem that every loop shares is left
// out. Where they walk shared edges for different times, the longer counts.
func Shared(p *LoopProblem, a, b *Loop) float64 {
	shared := max(timeOnEdgesOf(p, a, b), timeOnEdgesOf(p, b, a)) - min(a.StemS, b.StemS)
	length := min(a.DurationS-a.StemS, b.DurationS-b.StemS)
	if length <= 0 {
		return 1
	}
	return shared / length
}

func timeOnEdgesOf(p *LoopProblem, a, b *Loop) float64 {
	on := make(map[int32]bool, len(b.Arcs))
	for _, x := range b.Arcs {
		on[min(x, p.Graph.Twin[x])] = true
	}
	t := 0.0
	for _, x := range a.Arcs {
		if on[min(x, p.Graph.Twin[x])] {
			t += float64(p.TimeS[x])
		}
	}
	return t
}
