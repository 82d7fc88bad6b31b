package search

import "math"

// bestWalk is the best closed walk found so far, as core arcs from the root.
// Its cost is what is minimised: with surcharges, the stem and its surcharge.
type bestWalk struct {
	cost float64
	arcs []int32
}

func (b *bestWalk) clear() { b.cost, b.arcs = math.Inf(1), b.arcs[:0] }

// beamWidth sets how much a beam keeps.
type beamWidth struct {
	walks  int // partial walks per layer
	perArc int // of them at most so many that end with the same arc
	layers int // layers of the clock
}

// loopBeam grows partial walks layer of time by layer of time, keeps the most
// promising of each layer as judged by the table, and closes a walk when it
// comes home, or when it meets itself and its own first part leads home.
type loopBeam struct {
	c    *loopCore
	t    *loopTable
	best *bestWalk

	label  []beamLabel
	bucket []int32 // per layer: last label that falls in it, or -1
	picked []pick
	slot   []arcSlot
	layer  int32
	nodes  int
}

// beamLabel is a partial walk: its last arc and the label before it.
type beamLabel struct {
	parent, arc, next int32
	repeats           bool // some chain has been walked twice
	atS               float64
	cost              float64
	seen              [2]uint64 // bloom filter of the vertices on it
	estimate          float32   // of the whole walk's cost
	backCost          float32   // of walking home the way it came, surcharges included
}

type pick struct {
	estimate float32
	label    int32
}

// arcSlot holds the places in picked of the labels that end with one arc.
type arcSlot struct {
	layer int32
	count int32
	at    [2]int32
}

const noArc = -1

func bloomBit(v int32) (word int, bit uint64) { return int(v>>6) & 1, 1 << (v & 63) }

// run grows the beam and improves best.
func (b *loopBeam) run(c *loopCore, t *loopTable, best *bestWalk, w beamWidth) {
	b.c, b.t, b.best = c, t, best
	b.label = b.label[:0]
	b.slot = cleared(b.slot, len(c.arc))
	perLayer := (c.maxS - c.startS) / float64(w.layers)
	b.bucket = sized(b.bucket, 2*w.layers)
	for i := range b.bucket {
		b.bucket[i] = noArc
	}
	start := beamLabel{parent: -1, arc: noArc, next: -1, atS: c.startS, cost: c.startCost, backCost: float32(c.stemHomeCost(c.minS))}
	word, bit := bloomBit(0)
	start.seen[word] |= bit
	b.label = append(b.label, start)
	b.layer = 0
	b.expand(0, perLayer)
	for b.layer = 1; int(b.layer) < len(b.bucket); b.layer++ {
		b.choose(w)
		for _, k := range b.picked {
			b.expand(k.label, perLayer)
		}
	}
}

// choose fills picked with the labels of the layer to go on with.
func (b *loopBeam) choose(w beamWidth) {
	b.picked = b.picked[:0]
	for l := b.bucket[b.layer]; l >= 0; l = b.label[l].next {
		e := b.label[l].estimate
		if float64(e) >= b.best.cost {
			continue
		}
		s := &b.slot[b.label[l].arc]
		if s.layer != b.layer {
			*s = arcSlot{layer: b.layer}
		}
		if int(s.count) < w.perArc {
			s.at[s.count] = int32(len(b.picked))
			s.count++
			b.picked = append(b.picked, pick{e, l})
			continue
		}
		worst := s.at[0]
		if s.count == 2 && b.picked[s.at[1]].estimate > b.picked[worst].estimate {
			worst = s.at[1]
		}
		if e < b.picked[worst].estimate {
			b.picked[worst] = pick{e, l}
		}
	}
	if len(b.picked) > w.walks {
		lowest(b.picked, w.walks)
		b.picked = b.picked[:w.walks]
	}
}

func (p pick) before(q pick) bool {
	return p.estimate < q.estimate || (p.estimate == q.estimate && p.label < q.label)
}

// lowest moves the k lowest picks to the front, in no particular order.
func lowest(p []pick, k int) {
	lo, hi := 0, len(p)
	for hi-lo > 1 {
		pivot := p[lo+(hi-lo)/2]
		i, j := lo, hi-1
		for i <= j {
			for p[i].before(pivot) {
				i++
			}
			for pivot.before(p[j]) {
				j--
			}
			if i <= j {
				p[i], p[j] = p[j], p[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j + 1
		case k >= i:
			lo = i
		default:
			return
		}
	}
}

// expand walks every arc on from a label.
func (b *loopBeam) expand(l int32, perLayer float64) {
	b.nodes++
	from := b.label[l] // a copy: the labels move when they grow
	v, back := int32(0), int32(noArc)
	if from.arc >= 0 {
		v, back = b.c.arc[from.arc].head, b.c.arc[from.arc].twin
	}
	for a := b.c.first[v]; a < b.c.first[v+1]; a++ {
		if a != back {
			b.walk(l, &from, a, perLayer)
		}
	}
}

// walk adds the label that walks arc a on from a label, unless it breaks the
// rules or cannot be good enough.
func (b *loopBeam) walk(l int32, from *beamLabel, a int32, perLayer float64) {
	c := b.c
	k := &c.arc[a]
	at := from.atS + k.timeS
	if at+c.homeS[k.head] > c.maxS {
		return
	}
	x := c.costAt(a, from.atS)
	next := beamLabel{parent: l, arc: a, repeats: from.repeats, atS: at, cost: from.cost + x, seen: from.seen}
	e := next.cost + b.t.toGo(a, at)
	if e >= b.best.cost {
		return
	}
	back := x
	if len(c.p.ChangeS) == 0 {
		back = c.cost[k.twin]
	}
	next.backCost = from.backCost + float32(back+c.arc[k.twin].surcharge)
	word, bit := bloomBit(k.head)
	if next.seen[word]&bit != 0 {
		if !b.meet(l, &next) {
			return
		}
		e += next.cost - (from.cost + x)
	}
	next.seen[word] |= bit
	if k.head == 0 && at >= c.minS {
		b.offer(&next, -1)
	}
	next.estimate = float32(e)
	layer := max(b.layer+1, int32((at-c.startS)/perLayer))
	if int(layer) >= len(b.bucket) || e >= b.best.cost {
		return
	}
	next.next = b.bucket[layer]
	b.bucket[layer] = int32(len(b.label))
	b.label = append(b.label, next)
}

// meet walks back over a walk whose new head may be on it already: it charges
// or forbids second passes, and tries to close the walk over its first part.
func (b *loopBeam) meet(l int32, next *beamLabel) bool {
	c := b.c
	run := c.arc[next.arc].run
	for q := l; b.label[q].arc >= 0; q = b.label[q].parent {
		switch other := c.arc[b.label[q].arc].run; {
		case other == run:
			return false
		case other == run^1:
			if !c.arc[next.arc].lasting {
				return false
			}
			next.cost += c.arc[next.arc].surcharge
			next.repeats = true
		}
	}
	if next.repeats {
		return true
	}
	head := c.arc[next.arc].head
	for q := l; b.label[q].arc >= 0; q = b.label[q].parent {
		if c.arc[b.label[q].arc].head == head {
			b.offer(next, q)
		}
	}
	return true
}

// offer closes a walk: at the root, or over the way that its label stem came.
func (b *loopBeam) offer(end *beamLabel, stem int32) {
	c := b.c
	at, cost := end.atS, end.cost
	if stem >= 0 && len(c.p.ChangeS) == 0 && cost+float64(b.label[stem].backCost) >= b.best.cost*(1+1e-5) {
		return
	}
	for q := stem; q >= 0 && b.label[q].arc >= 0; q = b.label[q].parent {
		twin := c.arc[b.label[q].arc].twin
		if !c.arc[twin].lasting {
			return
		}
		cost += c.costAt(twin, at) + c.arc[twin].surcharge
		at += c.arc[twin].timeS
	}
	if at < c.minS || at > c.maxS {
		return
	}
	if cost += c.stemHomeCost(at); cost >= b.best.cost {
		return
	}
	b.best.cost = cost
	b.keep(end, stem)
}

// keep writes the arcs of a closed walk to best.
func (b *loopBeam) keep(end *beamLabel, stem int32) {
	arcs := append(b.best.arcs[:0], end.arc)
	for q := end.parent; b.label[q].arc >= 0; q = b.label[q].parent {
		arcs = append(arcs, b.label[q].arc)
	}
	for i, j := 0, len(arcs)-1; i < j; i, j = i+1, j-1 {
		arcs[i], arcs[j] = arcs[j], arcs[i]
	}
	for q := stem; q >= 0 && b.label[q].arc >= 0; q = b.label[q].parent {
		arcs = append(arcs, b.c.arc[b.label[q].arc].twin)
	}
	b.best.arcs = arcs
}
