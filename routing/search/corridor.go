package search

import (
	"fmt"
	"math"
)

// Timed asks for paths judged by time and by cost, under a limit on time.
type Timed struct {
	From, To int32

	TimeS []float32   // seconds on each arc, 0 or more, the same at every hour
	Cost  [][]float32 // one slice per stretch of the clock, each with one cost per arc

	// ChangeS holds the instants, in seconds after setting out and rising, at
	// which the cost changes from one slice to the next: one fewer than there are
	// slices. An arc entered at or after an instant costs what the later slice says.
	ChangeS []float64

	Barred []bool  // arcs not to use, or nil
	LimitS float64 // longest time allowed, seconds

	// MaxLabels bounds the work: the search gives up its proof after this many
	// partial paths. 0 means DefaultMaxLabels.
	MaxLabels int

	// Work bounds the work in partial paths looked at and ends the search with its
	// context. The first gives up the proof, the second everything. nil means
	// DefaultTimedWork, and no context.
	Work *Work
}

// DefaultTimedWork bounds the work of one search to about a second. Where costs change
// with the clock many partial paths are kept at a place, and each new one is held
// against all of them: their number alone bounds little.
const DefaultTimedWork = 100_000_000

// DefaultMaxLabels bounds the labels of one search to some 130 MB (our
// assumption: far above what walks of a few hours need).
const DefaultMaxLabels = 4 << 20

// TimeLimitError says that no path keeps within the limit, and the least time
// that one takes.
type TimeLimitError struct {
	LimitS, LeastS float64
}

func (e *TimeLimitError) Error() string {
	return fmt.Sprintf("search: no path within %.0f s; the fastest takes %.0f s", e.LimitS, e.LeastS)
}

// check reports what no search can work with.
func (q *Timed) check(r *Router) error {
	if len(q.Cost) == 0 || len(q.ChangeS) != len(q.Cost)-1 {
		return fmt.Errorf("search: %d cost slices need %d change instants, not %d", len(q.Cost), len(q.Cost)-1, len(q.ChangeS))
	}
	for _, cost := range q.Cost {
		if err := r.checkEnds(q.From, q.To, cost, q.Barred); err != nil {
			return err
		}
	}
	if len(q.TimeS) != r.g.ArcCount() {
		return fmt.Errorf("search: %d times for %d arcs", len(q.TimeS), r.g.ArcCount())
	}
	for i, at := range q.ChangeS {
		if !(at > 0) || (i > 0 && at < q.ChangeS[i-1]) {
			return fmt.Errorf("search: change instant %d is %v; instants must be above 0 and rise", i, at)
		}
	}
	if !(q.LimitS >= 0) || math.IsInf(q.LimitS, 1) {
		return fmt.Errorf("search: the time limit is %v s; it must be 0 or more and finite", q.LimitS)
	}
	return nil
}

// slice is the index of the cost slice in force at a time after setting out.
func (q *Timed) slice(t float64) int {
	i := 0
	for i < len(q.ChangeS) && t >= q.ChangeS[i] {
		i++
	}
	return i
}

// costAt is what an arc costs when entered at a time after setting out.
func (q *Timed) costAt(arc int32, t float64) float64 {
	if len(q.ChangeS) == 0 {
		return float64(q.Cost[0][arc])
	}
	c := float64(q.Cost[q.slice(t)][arc])
	if !(c >= 0) {
		return math.Inf(1)
	}
	return c
}

// trim forgets the changes of the clock that no path within the limit lives to see.
func (q *Timed) trim() {
	n := 0
	for n < len(q.ChangeS) && q.ChangeS[n] <= q.LimitS {
		n++
	}
	q.ChangeS, q.Cost = q.ChangeS[:n], q.Cost[:n+1]
}

// measure is the time and cost of a path, summed in walking order.
func (q *Timed) measure(arcs []int32) (timeS, cost float64) {
	for _, a := range arcs {
		cost += q.costAt(a, timeS)
		timeS += float64(q.TimeS[a])
	}
	return timeS, cost
}

// corridor is the part of the graph that a path within the time limit can touch,
// copied to a small graph of its own with the bounds the label searches need.
type corridor struct {
	verts []place
	arcs  []link // forward star: those of vertex v are verts[v].first .. verts[v+1].first-1
	// back is the same arcs by head: those into v are backFirst[v] .. backFirst[v+1]-1
	back      []link
	backFirst []int32
	falls     []drop // one per change of the clock
	from, to  int32
}

// place is a corridor vertex; it fills one cache line.
type place struct {
	timeLeft  float64 // least time to the goal
	costLeft  float64 // least cost to the goal, a lower bound where costs change with the clock
	tailTime  float64 // time of the path that has that least cost
	leastTime float64 // least time among the labels accepted here
	atCost    float64 // the cost of the label that has it
	first     int32
	tail      int32 // arc that begins the path of least cost, -1 at the goal
	list      int32 // first accepted label, where costs change with the clock
	vertex    int32 // the vertex in the whole graph
}

// link is a corridor arc: other is its head in arcs and its tail in back.
type link struct {
	other int32
	arc   int32 // the arc in the whole graph
	time  float32
	cost  float32
}

// slackOf widens a limit by what rounding may do to a sum (a few hundred additions
// at 2^-53 each); exact sums are compared with the limit itself at the end.
func slackOf(limit float64) float64 { return limit * (1 + 1e-13) }

// build finds the corridor of a query. It returns false when no path keeps within
// the limit.
//
// Both ends grow to half the limit first: every vertex of a path within the limit
// is nearer than that to one end. Beyond, each side enters only vertices that the
// other has settled and that still fit, so that the work is two half circles and an
// ellipse in place of two circles. Where costs stand still neither side goes down
// into trees, and both run through vertices with a single way on, as in meeting.
func (c *corridor) build(r *Router, s *scratch, q *Timed) bool {
	g := growth{scratch: s, star: r.star, q: q, limit: slackOf(q.LimitS), whole: len(q.ChangeS) > 0}
	g.half = g.limit / 2
	g.climb(q.From)
	g.climbBack(q.To)
	for _, reach := range [...]float64{g.half, g.limit} {
		g.narrow = reach > g.half
		for s.qF.floor() <= reach {
			g.forward(s.qF.Pop())
		}
		for s.qB.floor() <= reach {
			g.backward(s.qB.Pop())
		}
	}
	g.descend(q.To)
	g.descendBack(q.From)
	if s.at(q.To).distF > g.limit {
		return false
	}
	c.collect(r, s, &g)
	return true
}

// growth is the state of the two time searches that find a corridor.
type growth struct {
	*scratch
	star        *star
	q           *Timed
	limit, half float64
	whole       bool // go down into trees too: to turn round in one can pay by the clock
	narrow      bool // the second phase: enter only what the other side has settled and what fits
}

// enter notes a vertex that the start's side reaches for the first time.
func (g *growth) enter(n *node, v int32) *node {
	if n.local == -1 {
		n.local = -2
		g.order = append(g.order, v)
	}
	return n
}

// climb starts the start's side, at the top of the tree that the start may stand in.
func (g *growth) climb(v int32) {
	n := g.enter(g.at(v), v)
	n.distF = 0
	for !g.whole && g.star.up[v] >= 0 {
		l := g.star.links[g.star.hubs[v].first] // the way up
		next := n.distF + g.seconds(l.arc)
		v = l.head
		n = g.enter(g.at(v), v)
		n.distF = next
	}
	g.qF.Push(Pack(n.distF, v))
}

// climbBack starts the goal's side in the same way.
func (g *growth) climbBack(v int32) {
	n := g.at(v)
	n.distB = 0
	for !g.whole && g.star.up[v] >= 0 {
		l := g.star.links[g.star.hubs[v].first]
		next := n.distB + g.seconds(l.twin)
		v = l.head
		n = g.at(v)
		n.distB = next
	}
	g.qB.Push(Pack(n.distB, v))
}

// seconds is the time of an arc, or +Inf when it is barred.
func (g *growth) seconds(arc int32) float64 {
	t := float64(g.q.TimeS[arc])
	if !(t >= 0) || (g.q.Barred != nil && g.q.Barred[arc]) {
		return math.Inf(1)
	}
	return t
}

// ways are the arcs to follow out of a vertex.
func (g *growth) ways(v int32) []edge {
	h := g.star.hubs[v]
	if g.whole {
		return g.star.links[h.first:g.star.hubs[v+1].first]
	}
	return g.star.links[h.first:h.live]
}

// forward relaxes the arcs out of a vertex, from the start's side.
func (g *growth) forward(entry uint64) {
	v := EntryID(entry)
	node := g.nodes.of(v)
	d := node.distF
	if Pack(d, v) != entry || (g.narrow && d > g.half && d+node.distB > g.limit) {
		return
	}
	for _, l := range g.ways(v) {
		for at := d; ; {
			next := at + g.seconds(l.arc)
			if next > g.limit {
				break
			}
			n := g.at(l.head)
			if next >= n.distF || (g.narrow && next > g.half && next+n.distB > g.limit) {
				break
			}
			g.enter(n, l.head).distF = next
			if g.whole || l.onward < 0 {
				g.qF.Push(Pack(next, l.head))
				break
			}
			at, l = next, g.star.links[l.onward]
		}
	}
}

// backward relaxes the arcs into a vertex, from the goal's side.
func (g *growth) backward(entry uint64) {
	v := EntryID(entry)
	node := g.nodes.of(v)
	d := node.distB
	if Pack(d, v) != entry || (g.narrow && d > g.half && d+node.distF > g.limit) {
		return
	}
	for _, l := range g.ways(v) {
		for at := d; ; {
			next := at + g.seconds(l.twin)
			if next > g.limit {
				break
			}
			n := g.at(l.head)
			if next >= n.distB || (g.narrow && next > g.half && next+n.distF > g.limit) {
				break
			}
			n.distB = next
			if g.whole || l.onward < 0 {
				g.qB.Push(Pack(next, l.head))
				break
			}
			at, l = next, g.star.links[l.onward]
		}
	}
}

// descend carries times from the start down to a goal that stands in a tree.
func (g *growth) descend(v int32) {
	if g.whole || g.star.up[v] < 0 {
		return
	}
	l := g.star.links[g.star.hubs[v].first]
	g.descend(l.head)
	n := g.enter(g.at(v), v)
	n.distF = min(n.distF, g.at(l.head).distF+g.seconds(l.twin))
}

// descendBack carries times to the goal down to a start that stands in a tree.
func (g *growth) descendBack(v int32) {
	if g.whole || g.star.up[v] < 0 {
		return
	}
	l := g.star.links[g.star.hubs[v].first]
	g.descendBack(l.head)
	n := g.at(v)
	n.distB = min(n.distB, g.at(l.head).distB+g.seconds(l.arc))
}

// collect copies the vertices that fit the limit, and the arcs between them that
// do, into the corridor's own arrays.
func (c *corridor) collect(r *Router, s *scratch, g *growth) {
	c.verts, c.arcs = c.verts[:0], c.arcs[:0]
	for _, v := range s.order {
		n := s.nodes.of(v)
		if n.distF+n.distB > g.limit {
			continue
		}
		n.local = int32(len(c.verts))
		c.verts = append(c.verts, place{
			timeLeft: n.distB, costLeft: math.Inf(1), tailTime: math.Inf(1),
			leastTime: math.Inf(1), atCost: math.Inf(1), tail: -1, list: -1, vertex: v,
		})
	}
	c.verts = append(c.verts, place{})
	c.from, c.to = s.nodes.of(g.q.From).local, s.nodes.of(g.q.To).local
	count := len(c.verts) - 1
	c.backFirst = append(c.backFirst[:0], make([]int32, count+1)...)
	for i := range count {
		p := &c.verts[i]
		p.first = int32(len(c.arcs))
		c.copyArcs(r.star, g, p.vertex)
	}
	c.verts[count].first = int32(len(c.arcs))
	c.turn()
}

// copyArcs copies the arcs out of a vertex that fit the limit.
func (c *corridor) copyArcs(star *star, g *growth, v int32) {
	from := g.nodes.of(v).distF
	for _, l := range star.links[star.hubs[v].first:star.hubs[v+1].first] {
		n := g.nodes.of(l.head)
		t := g.q.TimeS[l.arc]
		if n.stamp != g.stamp || n.local < 0 || !(t >= 0) || from+float64(t)+n.distB > g.limit || (g.q.Barred != nil && g.q.Barred[l.arc]) {
			continue
		}
		cost := g.q.leastCost(l.arc, from, g.limit-n.distB-float64(t))
		if !(cost >= 0 && cost <= math.MaxFloat32) {
			continue
		}
		c.arcs = append(c.arcs, link{other: n.local, arc: l.arc, time: t, cost: cost})
		c.backFirst[n.local+1]++
	}
}

// leastCost is the least an arc can cost when entered between two times.
func (q *Timed) leastCost(arc int32, early, late float64) float32 {
	least := float32(math.Inf(1))
	for i := q.slice(early); i <= q.slice(late); i++ {
		if c := q.Cost[i][arc]; c < least && c >= 0 {
			least = c
		}
	}
	return least
}

// turn fills the arcs by head.
func (c *corridor) turn() {
	for i := 1; i < len(c.backFirst); i++ {
		c.backFirst[i] += c.backFirst[i-1]
	}
	if cap(c.back) < len(c.arcs) {
		c.back = make([]link, len(c.arcs), 2*len(c.arcs))
	}
	c.back = c.back[:len(c.arcs)]
	for v := len(c.verts) - 2; v >= 0; v-- {
		for a := c.verts[v].first; a < c.verts[v+1].first; a++ {
			l := c.arcs[a]
			c.backFirst[l.other+1]--
			c.back[c.backFirst[l.other+1]] = link{other: int32(v), arc: a, time: l.time, cost: l.cost}
		}
	}
	// backFirst[v+1] has run down to where the arcs into v begin.
	copy(c.backFirst, c.backFirst[1:])
	c.backFirst[len(c.backFirst)-1] = int32(len(c.arcs))
}

// lowerBounds fills the least cost from every corridor vertex to the goal, and
// the time of the fastest path among those of least cost.
func (c *corridor) lowerBounds(q *Queue) {
	q.Reset()
	goal := &c.verts[c.to]
	goal.costLeft, goal.tailTime = 0, 0
	q.Push(Pack(0, c.to))
	for !q.Empty() {
		entry := q.Pop()
		v := EntryID(entry)
		at := c.verts[v]
		if Pack(at.costLeft, v) != entry {
			continue
		}
		for _, l := range c.back[c.backFirst[v]:c.backFirst[v+1]] {
			cost, time := at.costLeft+float64(l.cost), at.tailTime+float64(l.time)
			p := &c.verts[l.other]
			if cost < p.costLeft || (cost == p.costLeft && time < p.tailTime) {
				p.costLeft, p.tailTime, p.tail = cost, time, l.arc
				q.Push(Pack(cost, l.other))
			}
		}
	}
}
