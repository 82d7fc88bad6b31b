package loop

import "math"

// loopTable answers, for a partial walk that has just walked an arc, at least
// how much more it will cost to be home with the shortest duration filled: the
// least cost of any walk home of at least that duration, about-turns paid or
// forbidden as the problem says, edges repeated freely.
//
// It is a dynamic programme over (layers of time still to fill, arc): a cell
// holds the least cost from the arc's tail for a walk that does not start with
// that arc, or does after an about-turn: what a walk arriving by the twin needs
// to know.
//
// A table may remember of a few chains whether they have been walked: it is then
// one table for each set of them, side by side in every layer, and a further pass
// pays the surcharge. That keeps the cheapest walk from circling one quiet block.
type loopTable struct {
	c       *loopCore
	roundUp bool // times rounded up, costs at their least: a lower bound; else to nearest, for guidance
	stepS   float64
	perStep float64
	layers  int32
	shrink  float64 // factor that takes float32 rounding out of a lower bound

	remembered []int32  // chains; nil for none
	bit        []uint32 // per chain: its bit in a set of the remembered, or 0

	arc      []tableArc // per set of remembered chains and arc
	steps    []int32    // time of each arc in steps
	low      []int32    // per vertex: any way home fills this many layers already
	high     []int32    // per vertex: more layers than this cannot be left there
	base     []float32
	turn     []float32 // per vertex: price of an about-turn
	cell     []float32 // layer by layer
	rootBest []float32 // per layer: least cost of a walk from the root
	end      []int32   // per layer: vertices from here on have no cell in it
	weight   []float64
	dist     []float64 // after fill: least cost home per vertex
	homeCost []float64 // per arc, as dist counts it
}

// tableArc is an arc as the table sees it: its value in a layer is
// cost + cell[layer, off], or home where the layer is no later than under.
type tableArc struct {
	under, off int32
	cost, home float32
}

// roundingFloat32 bounds the relative error of one float32 operation.
const roundingFloat32 = 1.0 / (1 << 24)

var infinite32 = float32(math.Inf(1))

// fill computes the table in the given number of layers. penalty, when not nil,
// is added to the cost of every pass over each chain.
func (t *loopTable) fill(c *loopCore, layers int, roundUp bool, penalty []float64) {
	t.c, t.roundUp = c, roundUp
	span := c.minS - c.startS
	t.layers = int32(layers)
	if span <= 0 {
		t.layers = 0
		span = 1
	}
	t.stepS = span / float64(layers)
	t.perStep = 1 / t.stepS
	operations := layers + 8 // one addition in every layer
	if c.turns {
		operations += layers
	}
	t.shrink = 1 - float64(operations)*roundingFloat32
	t.measure()
	t.index()
	t.cell = sized(t.cell, (int(t.layers)+1)*t.sets()*len(c.arc))
	t.rootBest = sized(t.rootBest, int(t.layers)+1)
	m := len(c.arc)
	t.arc, t.base = sized(t.arc, t.sets()*m), sized(t.base, t.sets()*m)
	t.turn = t.turn[:0]
	for _, x := range c.turn {
		t.turn = append(t.turn, float32(x))
	}
	for set := t.sets() - 1; set >= 0; set-- {
		t.priceHome(uint32(set), penalty)
	}
	t.price(0, penalty)
	t.rootBest[0] = float32(t.dist[0])
	for r := int32(1); r <= t.layers; r++ {
		if len(c.p.ChangeS) > 0 && &t.costsAt(t.clockOf(r))[0] != &t.costsAt(t.clockOf(r - 1))[0] {
			t.price(r, penalty)
		}
		t.fillLayer(r)
	}
}

// sets is how many sets of remembered chains there are.
func (t *loopTable) sets() int { return 1 << len(t.remembered) }

func (t *loopTable) index() {
	t.bit = cleared(t.bit, len(t.c.chain))
	for i, chain := range t.remembered {
		t.bit[chain] = 1 << i
	}
}

// after is the set of remembered chains once an arc has been walked.
func (t *loopTable) after(set uint32, a int32) uint32 { return set | t.bit[t.c.arc[a].run>>1] }

// measure sets the times in steps and the triangle of cells that matter.
func (t *loopTable) measure() {
	c := t.c
	t.steps, t.weight = sized(t.steps, len(c.arc)), sized(t.weight, len(c.arc))
	round := 0.5
	if t.roundUp {
		// A thousandth of what layer forgives, so that no walk of fewer than a
		// thousand arcs comes out short.
		round = 1 - 1e-12
	}
	for a := range c.arc {
		x := c.arc[a].timeS*t.perStep + round
		t.steps[a] = max(1, int32(min(x, float64(t.layers+1))))
		t.weight[a] = float64(t.steps[a])
	}
	n := c.vertexCount()
	t.low, t.high = sized(t.low, n), sized(t.high, n)
	t.dist = c.distances(t.dist, t.weight, true, 0)
	for v, d := range t.dist {
		t.low[v] = int32(min(d, float64(t.layers)))
	}
	if c.open {
		clear(t.low)
	}
	t.dist = c.distances(t.dist, t.weight, false, 0)
	for v, d := range t.dist {
		used := d
		if t.roundUp {
			used = math.Floor(c.outS[v]*t.perStep) - 1
		}
		t.high[v] = t.layers - int32(max(0, min(used, float64(t.layers))))
	}
	t.end = cleared(t.end, int(t.layers)+2)
	for v, h := range t.high {
		t.end[h] = int32(v) + 1
	}
	for r := t.layers - 1; r >= 0; r-- {
		t.end[r] = max(t.end[r], t.end[r+1])
	}
}

// clockOf is the clock of a walk with so many layers still to fill: exactly for
// guidance, at the latest for a bound.
func (t *loopTable) clockOf(r int32) float64 {
	clockS := t.c.minS - float64(r)*t.stepS
	if t.roundUp {
		clockS += t.stepS + 2*windowSlackS
	}
	return clockS
}

// costsAt is the cost of every arc entered at a clock: as it is for guidance, at
// its least so far for a bound.
func (t *loopTable) costsAt(clockS float64) []float64 {
	if t.roundUp {
		return t.c.leastCosts(clockS)
	}
	if t.c.open {
		clockS /= 2 // half of the time is for the way home
	}
	m := len(t.c.arc)
	s := t.c.p.sliceAt(clockS)
	return t.c.cost[s*m : s*m+m]
}

// price sets the cost of every arc from the layer r on.
func (t *loopTable) price(r int32, penalty []float64) {
	c := t.c
	m := int32(len(c.arc))
	width := m * int32(t.sets())
	cost := t.costsAt(t.clockOf(r))
	for set := range uint32(t.sets()) {
		for i := range c.arc {
			k := &c.arc[i]
			x := float32(t.costIn(set, cost[i], k, penalty))
			to := int32(t.after(set, int32(i)))*m + k.twin
			t.arc[int32(set)*m+int32(i)] = tableArc{
				under: t.steps[i] + t.low[k.head],
				off:   to - t.steps[i]*width,
				cost:  x,
				home:  x + t.base[to],
			}
		}
	}
}

// costIn is the cost of a pass where a set of remembered chains has been walked.
func (t *loopTable) costIn(set uint32, cost float64, k *coreArc, penalty []float64) float64 {
	if set&t.bit[k.run>>1] != 0 {
		if !k.lasting {
			return math.Inf(1)
		}
		cost += k.surcharge
	}
	return costWith(cost, k, penalty)
}

// costWith is a cost with its penalty, infinite where the arc is barred.
func costWith(cost float64, k *coreArc, penalty []float64) float64 {
	if math.IsInf(k.timeS, 1) {
		return k.timeS
	}
	if penalty != nil {
		return cost + penalty[k.run>>1]
	}
	return cost
}

// priceHome sets base: the least cost home from the tail of each arc without
// starting with it, however long that takes.
func (t *loopTable) priceHome(set uint32, penalty []float64) {
	c := t.c
	clockS, end := c.minS-(c.minS-c.startS)/8, c.leastEndCost()
	switch {
	case t.roundUp:
		clockS = c.maxS
	case !c.open:
		end = c.stemHomeCost(c.minS)
	}
	t.homeCost = append(t.homeCost[:0], t.costsAt(clockS)...)
	for a := range t.homeCost {
		t.homeCost[a] = t.costIn(set, t.homeCost[a], &c.arc[a], penalty)
	}
	t.dist = c.distances(t.dist, t.homeCost, true, end)
	if c.open {
		for v := range t.dist {
			t.dist[v] = end
		}
	}
	base := t.base[int(set)*len(c.arc):]
	for v := range int32(c.vertexCount()) {
		for a := c.first[v]; a < c.first[v+1]; a++ {
			base[a] = float32(t.homeWithout(v, a, end))
		}
	}
}

func (t *loopTable) homeWithout(v, not int32, end float64) float64 {
	if v == 0 || t.c.open {
		return end
	}
	least := math.Inf(1)
	for b := t.c.first[v]; b < t.c.first[v+1]; b++ {
		x := t.homeCost[b] + t.dist[t.c.arc[b].head]
		if b == not {
			x += t.c.turn[v]
		}
		least = min(least, x)
	}
	return least
}

// fillLayer computes the cells with r layers left to fill.
func (t *loopTable) fillLayer(r int32) {
	m := int32(len(t.c.arc))
	row := r * int32(len(t.arc))
	first := t.c.first
	for v := int32(0); v < t.end[r]; v++ {
		if r > t.high[v] || r <= t.low[v] {
			continue
		}
		for set := range int32(t.sets()) {
			best := t.fillVertex(r, row, set*m+first[v], set*m+first[v+1], t.turn[v])
			if v == 0 && set == 0 {
				t.rootBest[r] = best
			}
		}
	}
}

// fillVertex computes the cells of the arcs out of one vertex: the best there is,
// and for the arc that it starts with the second best, or the best after a turn.
func (t *loopTable) fillVertex(r, row, from, to int32, turn float32) float32 {
	arcs, cells := t.arc, t.cell
	best, second, at := infinite32, infinite32, from
	for i := from; i < to; i++ {
		a := &arcs[i]
		x := a.home
		if r > a.under {
			x = a.cost + cells[row+a.off]
		}
		if x < best {
			best, second, at = x, best, i
		} else if x < second {
			second = x
		}
	}
	for i := from; i < to; i++ {
		cells[row+i] = best
	}
	if from < to {
		cells[row+at] = min(second, best+turn)
	}
	return best
}

// layer is how many layers are still to fill at a clock.
func (t *loopTable) layer(clockS float64) int32 {
	x := (t.c.minS - clockS) * t.perStep
	if t.roundUp {
		return int32(x + 1 - 1e-9)
	}
	return int32(x + 0.5)
}

// toGo is the value of the table for a walk that has just walked arc a, with set
// the remembered chains on it.
func (t *loopTable) toGo(a int32, clockS float64, set uint32) float64 {
	k := &t.c.arc[a]
	at := int(set)*len(t.c.arc) + int(k.twin)
	r := min(t.layer(clockS), t.high[k.head])
	if r <= t.low[k.head] {
		return float64(t.base[at])
	}
	return float64(t.cell[int(r)*len(t.arc)+at])
}

// bound is a lower bound on the cost of every walk from the root that fills the
// window, the penalties of the table included.
func (t *loopTable) bound() float64 {
	return t.c.startCost + float64(t.rootBest[t.layers])*t.shrink
}
