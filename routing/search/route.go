package search

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
)

// ErrNoPath is returned when no path leads from the start to the goal over arcs
// that are not barred.
var ErrNoPath = errors.New("search: no path")

// Route is a path as the arcs walked, first to last, with its cost: the sum of
// the arcs' costs in walking order. A path from a vertex to itself has no arcs.
type Route struct {
	Arcs []int32
	Cost float64
}

// Router answers path questions on one graph. It may be used by many goroutines
// at once: each query takes its working memory from a pool and gives it back, and
// that memory is stamped by generation, so a query costs what it visits and
// nothing that grows with the map.
//
// In every query, cost holds one number per arc, which must not be negative;
// +Inf bars an arc. A negative or NaN cost bars the arc as well, so that no input
// keeps a search running. barred, when not nil, holds
// one flag per arc.
//
// Costs are summed in float64. The sum of float32 costs is then exact, and equal
// whatever the order of summing, while the total stays below 2^29 times the
// smallest cost that is not zero.
type Router struct {
	g    *Graph
	star *star
	pool sync.Pool // of *scratch
}

// NewRouter makes a router for a graph that has passed Check. The graph must not
// change afterwards.
func NewRouter(g *Graph) (*Router, error) {
	if len(g.First) == 0 {
		return nil, errors.New("search: a graph without a first array")
	}
	if g.VertexCount() > idMask {
		return nil, fmt.Errorf("search: %d vertices, more than the %d a queue entry can name", g.VertexCount(), idMask)
	}
	return &Router{g: g, star: newStar(g)}, nil
}

// node is what a search knows of a vertex: the distance from the start and to
// the goal, and the arcs that gave them. Both directions share half a cache line.
type node struct {
	distF, distB float64
	arcF, arcB   int32
	stamp        uint32
	local        int32
}

// nodes are those of a graph, page by page of neighbouring vertices. A page is made when
// a search first comes there, so that memory follows what is visited and not the map.
type nodes []*nodePage

const (
	pageBits = 9
	pageLen  = 1 << pageBits
)

type nodePage [pageLen]node

// of is the node of a vertex, as the last query that came there left it.
func (ns nodes) of(v int32) *node {
	p := ns[v>>pageBits]
	if p == nil {
		p = ns.make(v >> pageBits)
	}
	return &p[v&(pageLen-1)]
}

func (ns nodes) make(page int32) *nodePage {
	ns[page] = new(nodePage)
	return ns[page]
}

// scratch is the working memory of one query.
type scratch struct {
	nodes  nodes
	stamp  uint32
	qF, qB Queue
	order  []int32
	corr   corridor
	labels labelling
}

func (r *Router) take() *scratch {
	s, _ := r.pool.Get().(*scratch)
	if s == nil {
		s = &scratch{nodes: make(nodes, (r.g.VertexCount()+pageLen-1)/pageLen)}
	}
	s.stamp++
	if s.stamp == 0 { // after 2^32 queries old stamps could be mistaken for new
		clear(s.nodes)
		s.stamp = 1
	}
	s.qF.Reset()
	s.qB.Reset()
	s.order = s.order[:0]
	return s
}

func (r *Router) give(s *scratch) { r.pool.Put(s) }

// at is the node of a vertex, made fresh when this query sees it first.
func (s *scratch) at(v int32) *node {
	n := s.nodes.of(v)
	if n.stamp != s.stamp {
		n.refresh(s.stamp)
	}
	return n
}

func (n *node) refresh(stamp uint32) {
	*n = node{distF: math.Inf(1), distB: math.Inf(1), arcF: -1, arcB: -1, stamp: stamp, local: -1}
}

// checkEnds reports arguments no query can work with.
func (r *Router) checkEnds(from, to int32, cost []float32, barred []bool) error {
	for _, end := range [...]struct {
		name string
		v    int32
	}{{"start", from}, {"goal", to}} {
		if end.v < 0 || int(end.v) >= r.g.VertexCount() {
			return fmt.Errorf("search: %s %d is not one of the %d vertices", end.name, end.v, r.g.VertexCount())
		}
	}
	return r.checkSlices(cost, barred)
}

func (r *Router) checkSlices(cost []float32, barred []bool) error {
	if len(cost) != r.g.ArcCount() {
		return fmt.Errorf("search: %d costs for %d arcs", len(cost), r.g.ArcCount())
	}
	if barred != nil && len(barred) != r.g.ArcCount() {
		return fmt.Errorf("search: %d barred flags for %d arcs", len(barred), r.g.ArcCount())
	}
	return nil
}

// Path is the least-cost path between two vertices, exact, by searching from both
// ends. Its arcs are appended to arcs, which may be nil. It returns ErrNoPath when
// there is none.
func (r *Router) Path(arcs []int32, from, to int32, cost []float32, barred []bool) (Route, error) {
	if err := r.checkEnds(from, to, cost, barred); err != nil {
		return Route{}, err
	}
	if from == to {
		return Route{Arcs: arcs}, nil
	}
	s := r.take()
	defer r.give(s)
	m := meeting{scratch: s, star: r.star, cost: cost, barred: barred, best: math.Inf(1), via: -1}
	m.run(from, to)
	if m.via < 0 {
		return Route{}, ErrNoPath
	}
	start := len(arcs)
	arcs = r.trace(arcs, s, m.via)
	return Route{Arcs: arcs, Cost: sum(cost, arcs[start:])}, nil
}

// trace appends the path through a vertex that both searches reached.
func (r *Router) trace(arcs []int32, s *scratch, via int32) []int32 {
	start := len(arcs)
	for a := s.nodes.of(via).arcF; a >= 0; {
		arcs = append(arcs, a)
		a = s.nodes.of(r.g.Head[r.g.Twin[a]]).arcF
	}
	slices.Reverse(arcs[start:])
	for a := s.nodes.of(via).arcB; a >= 0; {
		arcs = append(arcs, a)
		a = s.nodes.of(r.g.Head[a]).arcB
	}
	return arcs
}

func sum(cost []float32, arcs []int32) float64 {
	total := 0.0
	for _, a := range arcs {
		total += float64(cost[a])
	}
	return total
}

// meeting is Dijkstra's algorithm from both ends (Dijkstra 1959, Numerische
// Mathematik 1:269-271; stopping rule of Pohl 1971, Machine Intelligence 6:
// stop when the two least keys together reach the best path seen), with two
// short cuts. Both sides begin by climbing out of the tree they may stand in and
// then never go down into one, see star. And a vertex with a single way on is not
// queued: the search goes on through it at once. It may come there too early, with a
// distance that is bettered later, and then goes through again; distances only fall,
// and whatever is not final is still in a queue or beyond something that is, so the
// stopping rule holds.
type meeting struct {
	*scratch
	star   *star
	cost   []float32
	barred []bool
	best   float64
	via    int32
}

func (m *meeting) run(from, to int32) {
	m.climb(from)
	m.climbBack(to)
	for {
		f, b := m.qF.floor(), m.qB.floor()
		if !(f+b < m.best) { // also when one side has run dry
			return
		}
		if f <= b {
			m.forward(m.qF.Pop(), b)
		} else {
			m.backward(m.qB.Pop(), f)
		}
	}
}

// climb labels the way from the start out of its tree and queues the top.
func (m *meeting) climb(v int32) {
	n := m.at(v)
	n.distF = 0
	for a := m.star.up[v]; a >= 0; a = m.star.up[v] {
		c := float64(m.cost[a])
		if !(c >= 0) || (m.barred != nil && m.barred[a]) {
			return
		}
		d := n.distF + c
		v = m.star.links[m.star.hubs[v].first].head
		n = m.at(v)
		n.distF, n.arcF = d, a
	}
	m.qF.Push(Pack(n.distF, v))
}

// climbBack labels the way to the goal down into its tree, from below, and queues
// the top.
func (m *meeting) climbBack(v int32) {
	n := m.at(v)
	n.distB = 0
	for {
		if total := n.distF + n.distB; total < m.best {
			m.best, m.via = total, v
		}
		if m.star.up[v] < 0 {
			break
		}
		l := m.star.links[m.star.hubs[v].first]
		c := float64(m.cost[l.twin])
		if !(c >= 0) || (m.barred != nil && m.barred[l.twin]) {
			return
		}
		d := n.distB + c
		v = l.head
		n = m.at(v)
		n.distB, n.arcB = d, l.twin
	}
	m.qB.Push(Pack(n.distB, v))
}

// forward relaxes the arcs out of a vertex. A distance that with the least key of
// the other side does not better the best path cannot be part of a better one,
// since the other side already covers the rest of it.
func (m *meeting) forward(entry uint64, other float64) {
	v := EntryID(entry)
	d := m.nodes.of(v).distF
	if Pack(d, v) != entry { // an old entry, bettered since
		return
	}
	star, cost, nodes, stamp := m.star, m.cost, m.nodes, m.stamp
	limit := m.best - other
	h := star.hubs[v]
	for _, l := range star.links[h.first:h.live] {
		for at := d; ; {
			c := float64(cost[l.arc])
			next := at + c
			if !(next < limit && c >= 0) || (m.barred != nil && m.barred[l.arc]) {
				break
			}
			n := nodes.of(l.head)
			if n.stamp != stamp {
				n.refresh(stamp)
			} else if next >= n.distF {
				break
			}
			n.distF, n.arcF = next, l.arc
			if total := next + n.distB; total < m.best {
				m.best, m.via = total, l.head
				limit = total - other
			}
			if l.onward < 0 {
				m.qF.Push(Pack(next, l.head))
				break
			}
			at, l = next, star.links[l.onward]
		}
	}
}

// backward relaxes the arcs into a vertex, the twins of those out of it.
func (m *meeting) backward(entry uint64, other float64) {
	v := EntryID(entry)
	d := m.nodes.of(v).distB
	if Pack(d, v) != entry {
		return
	}
	star, cost, nodes, stamp := m.star, m.cost, m.nodes, m.stamp
	limit := m.best - other
	h := star.hubs[v]
	for _, l := range star.links[h.first:h.live] {
		for at := d; ; {
			c := float64(cost[l.twin])
			next := at + c
			if !(next < limit && c >= 0) || (m.barred != nil && m.barred[l.twin]) {
				break
			}
			n := nodes.of(l.head)
			if n.stamp != stamp {
				n.refresh(stamp)
			} else if next >= n.distB {
				break
			}
			n.distB, n.arcB = next, l.twin
			if total := next + n.distF; total < m.best {
				m.best, m.via = total, l.head
				limit = total - other
			}
			if l.onward < 0 {
				m.qB.Push(Pack(next, l.head))
				break
			}
			at, l = next, star.links[l.onward]
		}
	}
}
