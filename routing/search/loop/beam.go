package loop

import (
	"context"
	"math"
	"slices"
)

// bestWalk is the best closed walk found so far, as core arcs from the root.
// Its cost is what is minimised: with surcharges, the stem and its surcharge.
type bestWalk struct {
	cost float64
	arcs []int32
}

func (b *bestWalk) clear() { b.cost, b.arcs = math.Inf(1), b.arcs[:0] }

// beamWidth sets how much a beam keeps.
type beamWidth struct {
	walks     int // partial walks per layer
	perVertex int // of them at most so many that end at the same vertex
	layers    int // layers of the clock
	kin       int // walks at one vertex that were one walk so many chains before are variants: one of them is kept
}

// loopBeam grows partial walks layer of time by layer of time, keeps the most
// promising of each layer as judged by the table, and closes a walk when it
// comes home, or when it meets itself and its own first part leads home.
type loopBeam struct {
	ctx  context.Context // ends it, nil for none
	c    *loopCore
	t    *loopTable
	best *bestWalk
	fine *penalties // those of the table, or nil

	rounds *lapRounds // told of every round, or nil

	label  []beamLabel
	trail  []footprint
	filter []pathFilter // per footprint
	bucket []int32      // per layer: last label that falls in it, or -1
	picked []pick
	slot   []vertexSlot
	ends   []int32 // vertices where labels of the layer end
	layer  int32
	meetS  float64 // clock before which no walk that goes home the way it came fills the window
	nodes  int
}

// meetShare is how far into the shortest duration a walk has to be before its
// own first part can lead home in time: half of it, less where home is slower.
const meetShare = 0.4

// beamLabel is a partial walk that may be walked on.
type beamLabel struct {
	parent, arc, next int32 // footprint before the last arc, the last arc, next label of the bucket
	repeats           bool  // some chain has been walked twice, as any that turns about has
	turns             int16 // so many about-turns
	atS               float64
	cost              float64
	paid              float64 // penalties of the chains on it
	estimate          float32 // of the whole walk's cost
}

// wayBack is what walking home the way one came takes and costs from now on,
// the stem included; what of it is a second pass is not charged.
type wayBack struct{ timeS, cost float32 }

// footprint is a label that was walked on, kept small because walks are traced
// back along them all the time. The first one stands at the root.
type footprint struct {
	parent, arc, head int32
	back              wayBack
}

// pathFilter says of a vertex or a chain that it is not on a walk, or that it
// may be: one bit stands for all with the same remainder.
type pathFilter struct {
	vertices [4]uint64
	chains   [2]uint64
}

func (f *pathFilter) hasVertex(v int32) bool { return f.vertices[v>>6&3]&(1<<(v&63)) != 0 }
func (f *pathFilter) addVertex(v int32)      { f.vertices[v>>6&3] |= 1 << (v & 63) }
func (f *pathFilter) hasChain(i int32) bool  { return f.chains[i>>6&1]&(1<<(i&63)) != 0 }
func (f *pathFilter) addChain(i int32)       { f.chains[i>>6&1] |= 1 << (i & 63) }

type pick struct {
	estimate float32
	label    int32
}

// vertexSlot holds the best labels of a layer that end at one vertex, best first.
type vertexSlot struct {
	layer int32
	count int
	at    [mostPerVertex]pick
	kin   [mostPerVertex]int32
}

// mostPerVertex bounds the labels kept for one vertex.
const mostPerVertex = 8

const noArc = -1

// filterSlack covers the rounding of float32 in quick tests before exact ones.
const filterSlack = 1e-5

// run grows the beam and improves best.
func (b *loopBeam) run(c *loopCore, t *loopTable, best *bestWalk, w beamWidth) {
	b.c, b.t, b.best = c, t, best
	b.label, b.trail, b.filter = b.label[:0], b.trail[:0], b.filter[:0]
	b.slot = cleared(b.slot, c.vertexCount())
	perLayer := (c.maxS - c.startS) / float64(w.layers)
	b.bucket = sized(b.bucket, 2*w.layers)
	for i := range b.bucket {
		b.bucket[i] = noArc
	}
	start := beamLabel{parent: -1, arc: noArc, next: -1, atS: c.startS, cost: c.startCost}
	b.label = append(b.label, start)
	b.layer = 0
	b.meetS = c.startS + meetShare*(c.minS-c.startS)
	if b.rounds != nil {
		b.meetS = 0
	}
	b.expand(0, perLayer)
	for b.layer = 1; int(b.layer) < len(b.bucket); b.layer++ {
		if b.ctx != nil && b.ctx.Err() != nil {
			return
		}
		b.choose(w)
		for _, k := range b.picked {
			b.expand(k.label, perLayer)
		}
	}
}

// choose fills picked with the labels of the layer to go on with: the best for
// every vertex first, then the second best, and so on while there is room, so
// that a place further out is never crowded out by variants of one near by.
func (b *loopBeam) choose(w beamWidth) {
	b.picked, b.ends = b.picked[:0], b.ends[:0]
	for l := b.bucket[b.layer]; l >= 0; l = b.label[l].next {
		if e := b.label[l].estimate; float64(e) < b.best.cost {
			b.rank(pick{e, l}, w)
		}
	}
	for r := range w.perVertex {
		from := len(b.picked)
		for _, v := range b.ends {
			if s := &b.slot[v]; r < s.count {
				b.picked = append(b.picked, s.at[r])
			}
		}
		if len(b.picked) > w.walks {
			lowest(b.picked[from:], w.walks-from)
			b.picked = b.picked[:w.walks]
		}
		if len(b.picked) == from || len(b.picked) == w.walks {
			return
		}
	}
}

// rank enters a label among the best at the same vertex, in place of a variant
// of it if there is one.
func (b *loopBeam) rank(p pick, w beamWidth) {
	v := b.c.arc[b.label[p.label].arc].head
	s := &b.slot[v]
	if s.layer != b.layer {
		s.layer, s.count = b.layer, 0
		b.ends = append(b.ends, v)
	}
	kin := b.kin(p.label, w.kin)
	i := slices.Index(s.kin[:s.count], kin)
	if i < 0 && s.count < w.perVertex {
		i = s.count
		s.count++
	} else {
		if i < 0 {
			i = s.count - 1
		}
		if !p.before(s.at[i]) {
			return
		}
	}
	for i > 0 && p.before(s.at[i-1]) {
		s.at[i], s.kin[i] = s.at[i-1], s.kin[i-1]
		i--
	}
	s.at[i], s.kin[i] = p, kin
}

// kin is the footprint that a label's walk left so many chains before its last.
func (b *loopBeam) kin(l int32, chains int) int32 {
	q := b.label[l].parent
	for ; chains > 0 && q > 0; chains-- {
		q = b.trail[q].parent
	}
	return q
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
	here := int32(len(b.trail))
	b.trail = append(b.trail, footprint{from.parent, from.arc, v, b.wayBack(&from)})
	filter := pathFilter{}
	if from.arc >= 0 {
		filter = b.filter[from.parent]
		filter.addChain(b.c.arc[from.arc].run >> 1)
	}
	filter.addVertex(v)
	b.filter = append(b.filter, filter)
	for a := b.c.first[v]; a < b.c.first[v+1]; a++ {
		switch {
		case a != back:
			b.walk(here, &from, a, 0, perLayer)
		case b.c.turns && !b.c.open:
			b.walk(here, &from, a, b.c.turn[v]+b.c.further(int(from.turns)), perLayer)
		}
	}
}

// wayBack of a label from that of the footprint before it.
func (b *loopBeam) wayBack(l *beamLabel) wayBack {
	c := b.c
	if l.arc < 0 {
		return wayBack{float32(c.stemHomeS), float32(c.stemHomeCost(c.minS))}
	}
	before := b.trail[l.parent].back
	twin := c.arc[l.arc].twin
	return wayBack{before.timeS + float32(c.arc[twin].timeS), before.cost + float32(c.cost[twin])}
}

// walk adds the label that walks arc a on from a label with its footprint at
// here, for the price of a turn, unless it breaks the rules or cannot be good
// enough.
func (b *loopBeam) walk(here int32, from *beamLabel, a int32, turn, perLayer float64) {
	c := b.c
	k := &c.arc[a]
	at := from.atS + k.timeS
	if at+c.homeS[k.head] > c.maxS {
		return
	}
	cost := from.cost + turn + c.costAt(a, from.atS)
	paid := from.paid
	e := cost + b.t.toGo(a, at, 0)
	if b.fine != nil {
		paid += b.fine.each[k.run>>1]
		e += paid - b.fine.owed
	}
	if e >= b.best.cost {
		return
	}
	next := beamLabel{
		parent: here, arc: a, repeats: from.repeats, turns: from.turns, atS: at, cost: cost, paid: paid,
	}
	if c.isTurn(from.arc, a) {
		next.turns++
	}
	if f := &b.filter[here]; f.hasVertex(k.head) && (f.hasChain(k.run>>1) || at >= b.meetS) {
		if !b.meet(&next) {
			return
		}
		e += next.cost - cost + next.paid - paid
	}
	if (k.head == 0 || c.open) && at >= c.minS {
		b.offer(&next, 0)
	}
	if b.rounds != nil && k.head == 0 && !next.repeats {
		b.rounds.closes(b, &next, 0)
	}
	if c.turns && !c.open && !next.repeats {
		b.turnHome(&next)
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
func (b *loopBeam) meet(next *beamLabel) bool {
	c := b.c
	k := &c.arc[next.arc]
	met := int32(0)
	for q := next.parent; q > 0; q = b.trail[q].parent {
		f := &b.trail[q]
		switch {
		case f.arc == next.arc:
			return false
		case f.arc == k.twin:
			if !k.lasting {
				return false
			}
			next.cost += k.surcharge
			next.repeats = true
			if b.fine != nil {
				next.paid -= b.fine.each[k.run>>1]
			}
		}
		if f.head == k.head && met == 0 {
			met = q
		}
	}
	if met > 0 && !next.repeats {
		b.offer(next, met)
		if b.rounds != nil {
			b.rounds.closes(b, next, met)
		}
	}
	return true
}

// offer closes a walk: at the root, or over the way that its footprint stem
// came. Footprint 0 is the root.
func (b *loopBeam) offer(end *beamLabel, stem int32) {
	b.finish(end, noArc, stem, end.atS, end.cost)
}

// turnHome closes a walk that has turned nowhere yet by turning where it stands and
// going home the way it came.
func (b *loopBeam) turnHome(end *beamLabel) {
	c := b.c
	twin := c.arc[end.arc].twin
	k := &c.arc[twin]
	turn := c.turn[c.arc[end.arc].head]
	homeS := end.atS + k.timeS + float64(b.trail[end.parent].back.timeS)
	if !k.lasting || homeS < c.minS*(1-filterSlack) || homeS > c.maxS*(1+filterSlack) || math.IsInf(turn, 1) {
		return
	}
	b.finish(end, twin, end.parent, end.atS+k.timeS, end.cost+turn+c.costAt(twin, end.atS)+k.surcharge)
}

// finish closes a walk that stands where its footprint stem stood, after one
// more arc or none, by going home the way that footprint came.
func (b *loopBeam) finish(end *beamLabel, more, stem int32, at, cost float64) {
	c := b.c
	if len(c.p.ChangeS) == 0 && cost+float64(b.trail[stem].back.cost) >= b.best.cost*(1+filterSlack) {
		return
	}
	for q := stem; q > 0; q = b.trail[q].parent {
		twin := c.arc[b.trail[q].arc].twin
		if !c.arc[twin].lasting {
			return
		}
		cost += c.costAt(twin, at) + c.arc[twin].surcharge
		at += c.arc[twin].timeS
	}
	if at < c.minS || at > c.maxS {
		return
	}
	v := int32(0)
	if c.open {
		v = c.arc[end.arc].head
	}
	if cost += c.endCost(v, at); cost >= b.best.cost {
		return
	}
	b.best.cost = cost
	b.keep(end, more, stem)
}

// keep writes the arcs of a closed walk to best.
func (b *loopBeam) keep(end *beamLabel, more, stem int32) {
	arcs := append(b.pathTo(b.best.arcs[:0], end.parent), end.arc)
	if more != noArc {
		arcs = append(arcs, more)
	}
	b.best.arcs = b.pathBack(arcs, stem)
}

// pathTo appends the arcs from the root to a footprint.
func (b *loopBeam) pathTo(arcs []int32, foot int32) []int32 {
	from := len(arcs)
	for q := foot; q > 0; q = b.trail[q].parent {
		arcs = append(arcs, b.trail[q].arc)
	}
	slices.Reverse(arcs[from:])
	return arcs
}

// pathBack appends the arcs from a footprint home the way it came.
func (b *loopBeam) pathBack(arcs []int32, foot int32) []int32 {
	for q := foot; q > 0; q = b.trail[q].parent {
		arcs = append(arcs, b.c.arc[b.trail[q].arc].twin)
	}
	return arcs
}
