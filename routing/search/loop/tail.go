package loop

import "math"

// loopTail completes partial walks depth first, cheapest estimate first, and
// drops those whose estimate is not below a cutoff. With a table that bounds
// from below and enough nodes it is exact.
type loopTail struct {
	c    *loopCore
	t    *loopTable
	best *bestWalk

	price  *penalties // nil without
	shave  float64    // share of the best cost that a walk must save to be looked at
	nodes  int        // how many expansions are left
	spent  int
	broken bool // the nodes ran out

	walked []uint8 // per chain: bit 0 forward, bit 1 backward
	path   []int32
	turns  int    // about-turns on the walk
	set    uint32 // remembered chains of the table on the walk
	kids   []kid
	prefix []int32 // scratch of improve
	cutoff float64
}

type kid struct {
	estimate, cost float64
	arc            int32
}

// begin readies an empty walk at the root.
func (d *loopTail) begin(c *loopCore, t *loopTable, best *bestWalk) {
	d.c, d.t, d.best, d.price, d.shave = c, t, best, nil, 0
	d.broken, d.set, d.turns = false, 0, 0
	d.walked = cleared(d.walked, len(c.chain))
	d.path, d.kids = d.path[:0], d.kids[:0]

}

// exhaust looks at every completion of the empty walk and reports whether it
// got through within the nodes.
func (d *loopTail) exhaust(nodes int) bool {
	d.nodes, d.broken = nodes, false
	d.setCutoff()
	d.grow(0, noArc, d.c.startS, d.c.startCost)
	return !d.broken
}

// setCutoff follows the best cost down. The share is of what the walk costs
// without the surcharge for the stem, which no walk can avoid.
func (d *loopTail) setCutoff() {
	d.cutoff = d.best.cost
	if d.shave > 0 {
		d.cutoff -= d.shave * (d.best.cost - d.c.stemSurcharge)
	}
}

// grow completes the walk that stands at vertex v, having arrived by arc by.
func (d *loopTail) grow(v, by int32, atS, cost float64) {
	if d.nodes <= 0 {
		d.broken = true
		return
	}
	d.nodes--
	d.spent++
	from := len(d.kids)
	d.spread(v, by, atS, cost)
	for i := from; i < len(d.kids) && !d.broken; i++ {
		k := d.kids[i]
		if k.estimate >= d.cutoff {
			break
		}
		d.enter(k, atS)
	}
	d.kids = d.kids[:from]
}

// spread appends the arcs that go on from v, lowest estimate first.
func (d *loopTail) spread(v, by int32, atS, cost float64) {
	c := d.c
	from := len(d.kids)
	for a := c.first[v]; a < c.first[v+1]; a++ {
		k := &c.arc[a]
		at := atS + k.timeS
		turn := c.turnOnto(v, by, a)
		if at+c.homeS[k.head] > c.maxS || math.IsInf(turn, 1) {
			continue
		}
		surcharge, ok := d.pass(a)
		if !ok {
			continue
		}
		if c.isTurn(by, a) {
			turn += c.further(d.turns)
		}
		x := cost + turn + c.costAt(a, atS) + surcharge
		e := d.estimate(a, at, x)
		if e >= d.cutoff {
			continue
		}
		d.kids = append(d.kids, kid{e, x, a})
		for i := len(d.kids) - 1; i > from && d.kids[i].estimate < d.kids[i-1].estimate; i-- {
			d.kids[i], d.kids[i-1] = d.kids[i-1], d.kids[i]
		}
	}
}

// pass is the surcharge for walking an arc now, and whether that is allowed.
func (d *loopTail) pass(a int32) (surcharge float64, ok bool) {
	k := &d.c.arc[a]
	switch w := d.walked[k.run>>1]; {
	case w == 0:
		return 0, true
	case w&(1<<(k.run&1)) != 0 || !k.lasting:
		return 0, false
	default:
		return k.surcharge, true
	}
}

// estimate of the whole cost when arc a is walked next, home at cost x after it.
func (d *loopTail) estimate(a int32, atS, x float64) float64 {
	e := d.t.toGo(a, atS, d.t.after(d.set, a))
	if d.t.roundUp {
		e *= d.t.shrink
	}
	if d.price != nil {
		e -= d.price.owed
		if run := d.c.arc[a].run; d.walked[run>>1] == 0 {
			e += d.price.each[run>>1]
		}
	}
	return x + e
}

// enter walks one arc, closes the walk where it can, and goes on from there.
func (d *loopTail) enter(k kid, atS float64) {
	run := d.c.arc[k.arc].run
	bit := uint8(1) << (run & 1)
	fresh := d.walked[run>>1] == 0
	d.walked[run>>1] |= bit
	set := d.set
	d.set = d.t.after(set, k.arc)
	if fresh && d.price != nil {
		d.price.owed -= d.price.each[run>>1]
	}
	turns := d.turns
	if n := len(d.path); n > 0 && d.c.isTurn(d.path[n-1], k.arc) {
		d.turns++
	}
	d.path = append(d.path, k.arc)
	at := atS + d.c.arc[k.arc].timeS
	head := d.c.arc[k.arc].head
	if head == 0 || d.c.open {
		d.close(head, at, k.cost)
	}
	d.grow(head, k.arc, at, k.cost)
	d.path = d.path[:len(d.path)-1]
	d.set, d.turns = set, turns
	d.walked[run>>1] &^= bit
	if fresh && d.price != nil {
		d.price.owed += d.price.each[run>>1]
	}
}

// close takes the walk as it stands at a vertex where it may end if it is in the
// window and better than the best.
func (d *loopTail) close(v int32, atS, cost float64) {
	if atS < d.c.minS || atS > d.c.maxS {
		return
	}
	if cost += d.c.endCost(v, atS); cost < d.best.cost {
		d.best.cost = cost
		d.best.arcs = append(d.best.arcs[:0], d.path...)
		d.setCutoff()
	}
}

// improve completes anew first parts of the best walk, longest first, in both
// directions of walking, until a round brings nothing.
func (d *loopTail) improve(rounds, nodes int) {
	for range rounds {
		before := d.best.cost
		for _, reverse := range []bool{false, true} {
			d.prefix = append(d.prefix[:0], d.best.arcs...)
			if reverse && d.c.open {
				continue
			}
			if reverse {
				for i, a := range d.best.arcs {
					d.prefix[len(d.prefix)-1-i] = d.c.arc[a].twin
				}
			}
			for tenths := 9; tenths >= 1; tenths-- {
				d.complete(d.prefix[:len(d.prefix)*tenths/10], nodes)
			}
		}
		if !(d.best.cost < before) {
			return
		}
	}
}

// complete searches the completions of a given first part.
func (d *loopTail) complete(prefix []int32, nodes int) {
	clear(d.walked)
	d.path, d.turns = d.path[:0], 0
	if d.price != nil {
		d.price.owed = 0
		for _, x := range d.price.each {
			d.price.owed += x
		}
	}
	d.nodes, d.broken = nodes, false
	d.setCutoff()
	v, by, at, cost := int32(0), int32(noArc), d.c.startS, d.c.startCost
	for _, a := range prefix {
		surcharge, ok := d.pass(a)
		if !ok {
			return
		}
		k := &d.c.arc[a]
		cost += d.c.turnOnto(v, by, a) + d.c.costAt(a, at) + surcharge
		if d.c.isTurn(by, a) {
			cost += d.c.further(d.turns)
			d.turns++
		}
		at += k.timeS
		if d.price != nil && d.walked[k.run>>1] == 0 {
			d.price.owed -= d.price.each[k.run>>1]
		}
		d.walked[k.run>>1] |= 1 << (k.run & 1)
		d.path = append(d.path, a)
		v, by = k.head, a
	}
	if at > d.c.maxS || math.IsInf(cost, 1) {
		return
	}
	d.grow(v, by, at, cost)
}

// penalties are the multipliers of "each chain at most once": a pass pays the
// penalty, which is owed back once for every chain not yet walked.
type penalties struct {
	each []float64 // per chain
	owed float64   // sum over the chains not walked
}

func newPenalties(each []float64) *penalties {
	p := &penalties{each: each}
	for _, x := range each {
		p.owed += x
	}
	return p
}
