package loop

import (
	"cmp"
	"slices"
)

// detours improves a closed walk by local search: it collects ways that leave
// the walk and come back to it later on (or at the same place, which inserts a
// round; or nowhere else, which cuts one out), and takes one of them, or one
// that saves cost together with one that makes up for the time lost.
type detours struct {
	c    *loopCore
	best *bestWalk

	atS, cost []float64 // per position on the walk: clock and cost so far
	at        []int32   // per vertex: last position there, or -1
	before    []int32   // per position: the previous one at the same vertex, or -1
	walked    []bool    // per chain: on the walk
	last      int       // last position: the root again

	step    []detourStep
	bins    [detourBins][]int32
	kept    []detourMark // per vertex and bin
	round   int32
	found   []detour
	saving  []detour
	filling []detour
	moves   []detourMove
	trial   []int32
	passes  []uint8
}

const (
	detourBins   = 8   // a detour may take detourBins * detourBinAs of the duration
	detourBin    = .02 // width of a bin as a share of the duration
	detourTries  = 12  // moves checked exactly before a round gives up
	detourRounds = 40  // moves taken in one go
	maxSavings   = 400 // detours of either kind that are combined
)

// detourStep is a partial way off the walk.
type detourStep struct {
	parent, arc, head int32
	timeS, cost       float64
}

type detourMark struct {
	round, step int32
}

// detour replaces the walk between two positions; the changes count what is
// left out and what comes in.
type detour struct {
	from, to    int32
	step        int32 // its last step, or -1 for none
	timeS, cost float64
}

type detourMove struct {
	gain float64
	a, b detour // b.from < 0: none
}

// improve takes moves until none is left, at most detourRounds of them.
func (d *detours) improve(c *loopCore, best *bestWalk) {
	d.c, d.best = c, best
	for range detourRounds {
		d.ready()
		d.collect()
		if !d.move() {
			return
		}
	}
}

// ready lays the walk out by position.
func (d *detours) ready() {
	c, arcs := d.c, d.best.arcs
	d.last = len(arcs)
	d.atS, d.cost = sized(d.atS, len(arcs)+1), sized(d.cost, len(arcs)+1)
	d.before = sized(d.before, len(arcs)+1)
	d.walked = cleared(d.walked, len(c.chain))
	d.at = sized(d.at, c.vertexCount())
	for v := range d.at {
		d.at[v] = -1
	}
	d.kept = sized(d.kept, c.vertexCount()*detourBins)
	clear(d.kept)
	d.round = 0
	d.atS[0], d.cost[0], d.before[0], d.at[0] = c.startS, c.startCost, -1, 0
	v, by, turns := int32(0), int32(noArc), 0
	for i, a := range arcs {
		k := &c.arc[a]
		x := c.turnOnto(v, by, a) + c.costAt(a, d.atS[i])
		if c.isTurn(by, a) {
			x += c.further(turns)
			turns++
		}
		v, by = k.head, a
		if d.walked[k.run>>1] {
			x += k.surcharge
		}
		d.walked[k.run>>1] = true
		d.atS[i+1], d.cost[i+1] = d.atS[i]+k.timeS, d.cost[i]+x
		d.before[i+1], d.at[k.head] = d.at[k.head], int32(i+1)
	}
}

// collect finds the detours from every position.
func (d *detours) collect() {
	d.found, d.step = d.found[:0], d.step[:0]
	v := int32(0)
	for i := 0; i < d.last; i++ {
		d.leave(int32(i), v)
		v = d.c.arc[d.best.arcs[i]].head
	}
}

// leave grows ways off the walk from one position, shortest first, and keeps of
// those that reach a vertex at about the same time the cheapest.
func (d *detours) leave(from, v int32) {
	d.round++
	d.record(from, v, -1)
	binS := detourBin * (d.c.minS - d.c.startS)
	for b := range d.bins {
		d.bins[b] = d.bins[b][:0]
	}
	d.extend(from, v, -1, binS)
	for b := range d.bins {
		for i := 0; i < len(d.bins[b]); i++ {
			s := d.bins[b][i]
			if m := d.kept[int(d.step[s].head)*detourBins+b]; m.step != s {
				continue // a cheaper one has come since
			}
			d.extend(from, d.step[s].head, s, binS)
		}
	}
}

// extend walks on from a step off the walk.
func (d *detours) extend(from, v, step int32, binS float64) {
	c := d.c
	timeS, cost := 0.0, 0.0
	if step >= 0 {
		timeS, cost = d.step[step].timeS, d.step[step].cost
	}
	for a := c.first[v]; a < c.first[v+1]; a++ {
		k := &c.arc[a]
		t := timeS + k.timeS
		if d.walked[k.run>>1] || t >= detourBins*binS || d.onWay(step, k.run) {
			continue
		}
		x := cost + c.costAt(a, d.atS[from]+timeS)
		b := int(t / binS)
		m := &d.kept[int(k.head)*detourBins+b]
		if m.round == d.round && d.step[m.step].cost <= x {
			continue
		}
		*m = detourMark{d.round, int32(len(d.step))}
		d.bins[b] = append(d.bins[b], int32(len(d.step)))
		d.step = append(d.step, detourStep{step, a, k.head, t, x})
		d.record(from, k.head, m.step)
	}
}

// onWay says whether a way off the walk has been on a chain.
func (d *detours) onWay(step, run int32) bool {
	for ; step >= 0; step = d.step[step].parent {
		if d.c.arc[d.step[step].arc].run>>1 == run>>1 {
			return true
		}
	}
	return false
}

// record notes every way to rejoin the walk at a vertex.
func (d *detours) record(from, v, step int32) {
	for to := d.at[v]; to >= from; to = d.before[to] {
		x := detour{from: from, to: to, step: step, timeS: d.atS[from] - d.atS[to], cost: d.cost[from] - d.cost[to]}
		if step >= 0 {
			x.timeS += d.step[step].timeS
			x.cost += d.step[step].cost
		} else if to == from {
			continue
		}
		if x.cost < 0 || x.timeS > 0 {
			d.found = append(d.found, x)
		}
	}
}

// move takes the best move that stands up to an exact check.
func (d *detours) move() bool {
	d.moves = d.moves[:0]
	least, most := d.c.minS-d.atS[d.last], d.c.maxS-d.atS[d.last]
	d.saving, d.filling = d.saving[:0], d.filling[:0]
	for _, x := range d.found {
		if x.cost < 0 {
			if x.timeS >= least && x.timeS <= most {
				d.moves = append(d.moves, detourMove{-x.cost, x, detour{from: -1}})
			}
			d.saving = append(d.saving, x)
		} else if x.timeS > 0 {
			d.filling = append(d.filling, x)
		}
	}
	byCost := func(x, y detour) int { return cmp.Compare(x.cost, y.cost) }
	slices.SortFunc(d.saving, byCost)
	slices.SortFunc(d.filling, byCost)
	d.saving = d.saving[:min(len(d.saving), maxSavings)]
	for _, x := range d.saving {
		if !d.pair(x, least, most, d.filling) {
			d.pair(x, least, most, d.saving)
		}
	}
	slices.SortFunc(d.moves, func(x, y detourMove) int { return cmp.Compare(y.gain, x.gain) })
	for _, m := range d.moves[:min(len(d.moves), detourTries)] {
		if d.take(m) {
			return true
		}
	}
	return false
}

// pair finds the cheapest detour elsewhere that brings the walk back into the
// window.
func (d *detours) pair(x detour, least, most float64, others []detour) bool {
	for _, y := range others {
		if x.cost+y.cost >= 0 {
			return false
		}
		t := x.timeS + y.timeS
		if t >= least && t <= most && (y.from >= x.to || y.to <= x.from) && (x.from != y.from || x.to != y.to) {
			d.moves = append(d.moves, detourMove{-x.cost - y.cost, x, y})
			return true
		}
	}
	return false
}

// take builds the walk after a move and keeps it if it is allowed and better.
func (d *detours) take(m detourMove) bool {
	a, b := m.a, m.b
	if b.from >= 0 && (b.from < a.from || (b.from == a.from && b.to < a.to)) {
		a, b = b, a
	}
	d.trial = append(d.trial[:0], d.best.arcs[:a.from]...)
	d.trial = d.via(d.trial, a.step)
	rest := a.to
	if b.from >= 0 {
		d.trial = append(d.trial, d.best.arcs[a.to:b.from]...)
		d.trial = d.via(d.trial, b.step)
		rest = b.to
	}
	d.trial = append(d.trial, d.best.arcs[rest:]...)
	cost, ok := d.c.judge(d.trial, &d.passes)
	if !ok || cost >= d.best.cost*(1-1e-9) {
		return false
	}
	d.best.cost = cost
	d.best.arcs = append(d.best.arcs[:0], d.trial...)
	return true
}

// via appends the arcs of a way off the walk.
func (d *detours) via(arcs []int32, step int32) []int32 {
	from := len(arcs)
	for ; step >= 0; step = d.step[step].parent {
		arcs = append(arcs, d.step[step].arc)
	}
	slices.Reverse(arcs[from:])
	return arcs
}
