package search

import "math"

// loopTable answers, for a partial walk that has just walked an arc, at least
// how much more it will cost to be home with the shortest duration filled: the
// least cost of any walk home of at least that duration that does not turn
// about, edges repeated freely.
//
// It is a dynamic programme over (layers of time still to fill, arc): a cell
// holds the least cost from the arc's tail for a walk that does not start with
// that arc, which is what a walk arriving by the twin needs to know.
type loopTable struct {
	c       *loopCore
	roundUp bool // times rounded up, costs at their least: a lower bound; else to nearest, for guidance
	stepS   float64
	perStep float64
	layers  int32
	shrink  float64 // factor that takes float32 rounding out of a lower bound

	arc      []tableArc
	steps    []int32 // time of each arc in steps
	low      []int32 // per vertex: any way home fills this many layers already
	high     []int32 // per vertex: more layers than this cannot be left there
	base     []float32
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
	t.shrink = 1 - float64(layers+8)*roundingFloat32
	t.measure()
	t.cell = sized(t.cell, (int(t.layers)+1)*len(c.arc))
	t.rootBest = sized(t.rootBest, int(t.layers)+1)
	t.priceHome(penalty)
	t.price(0, penalty)
	t.rootBest[0] = float32(t.dist[0])
	for r := int32(1); r <= t.layers; r++ {
		if len(c.p.ChangeS) > 0 && &t.costsAt(t.clockOf(r))[0] != &t.costsAt(t.clockOf(r - 1))[0] {
			t.price(r, penalty)
		}
		t.fillLayer(r)
	}
}

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
	m := len(c.arc)
	t.arc = sized(t.arc, m)
	cost := t.costsAt(t.clockOf(r))
	for i := range c.arc {
		k := &c.arc[i]
		x := float32(costWith(cost[i], k, penalty))
		t.arc[i] = tableArc{
			under: t.steps[i] + t.low[k.head],
			off:   k.twin - t.steps[i]*int32(m),
			cost:  x,
			home:  x + t.base[k.twin],
		}
	}
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
func (t *loopTable) priceHome(penalty []float64) {
	c := t.c
	clockS, stem := c.minS-(c.minS-c.startS)/8, 0.0
	if t.roundUp {
		clockS, stem = c.maxS, c.leastStemHomeCost()
	} else {
		stem = c.stemHomeCost(c.minS)
	}
	t.homeCost = append(t.homeCost[:0], t.costsAt(clockS)...)
	for a := range t.homeCost {
		t.homeCost[a] = costWith(t.homeCost[a], &c.arc[a], penalty)
	}
	t.dist = c.distances(t.dist, t.homeCost, true, stem)
	if c.open {
		clear(t.dist)
	}
	t.base = sized(t.base, len(c.arc))
	for v := range int32(c.vertexCount()) {
		for a := c.first[v]; a < c.first[v+1]; a++ {
			t.base[a] = float32(t.homeWithout(v, a, stem))
		}
	}
}

func (t *loopTable) homeWithout(v, not int32, stem float64) float64 {
	if v == 0 || t.c.open {
		return stem
	}
	least := math.Inf(1)
	for b := t.c.first[v]; b < t.c.first[v+1]; b++ {
		if b != not {
			least = min(least, t.homeCost[b]+t.dist[t.c.arc[b].head])
		}
	}
	return least
}

// fillLayer computes the cells with r layers left to fill.
func (t *loopTable) fillLayer(r int32) {
	m := int32(len(t.arc))
	row := r * m
	first, arcs, cells := t.c.first, t.arc, t.cell
	for v := int32(0); v < t.end[r]; v++ {
		if r > t.high[v] || r <= t.low[v] {
			continue
		}
		from, to := first[v], first[v+1]
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
			cells[row+at] = second
		}
		if v == 0 {
			t.rootBest[r] = best
		}
	}
}

// layer is how many layers are still to fill at a clock.
func (t *loopTable) layer(clockS float64) int32 {
	x := (t.c.minS - clockS) * t.perStep
	if t.roundUp {
		return int32(x + 1 - 1e-9)
	}
	return int32(x + 0.5)
}

// toGo is the value of the table for a walk that has just walked arc a.
func (t *loopTable) toGo(a int32, clockS float64) float64 {
	k := &t.c.arc[a]
	r := t.layer(clockS)
	if r <= t.low[k.head] {
		return float64(t.base[k.twin])
	}
	r = min(r, t.high[k.head])
	if r <= t.low[k.head] {
		return float64(t.base[k.twin])
	}
	return float64(t.cell[int(r)*len(t.arc)+int(k.twin)])
}

// bound is a lower bound on the cost of every walk from the root that fills the
// window, the penalties of the table included.
func (t *loopTable) bound() float64 {
	return t.c.startCost + float64(t.rootBest[t.layers])*t.shrink
}
