package trips

import (
	"iter"
	"math"
	"math/bits"

	"wideberth/routing/network"
	"wideberth/routing/search"
)

// mesh is a network without its dead ends, laid out for growing very many small
// least-cost trees. Whoever comes out of a dead end, however branched, comes by the
// one vertex that it hangs on, its foot: trees need not be grown into it, as what
// lies inside is as much farther off as it is from the foot.
type mesh struct {
	g      *network.Graph
	of     []int32 // by vertex: its number in the mesh, -1 on a dead end; numbers rise with vertices
	vertex []int32 // by number
	hubs   []meshHub
	arcs   []int32 // by link: the arc of the network
	twigs  []twig  // those of a foot together, each before those that hang on it
	twigAt []int32 // by number and one more: the twigs of this foot
	twigOf []int32 // by vertex: its twig, -1 in the mesh
}

// meshHub says where a vertex's links begin, and where the bytes do that have a bit
// for each of them.
type meshHub struct{ link, bits int32 }

// twig is a vertex on a dead end with the edge towards its foot.
type twig struct {
	vertex int32
	arc    int32 // from the vertex
	up     int32 // the twig that it hangs on, -1 for the foot
	foot   int32 // number in the mesh
	end    int32 // twigs up to this one hang on it
}

func newMesh(g *network.Graph) *mesh {
	star := &g.Star
	n := int32(star.VertexCount())
	m := &mesh{g: g, of: make([]int32, n), twigOf: make([]int32, n)}
	up := star.DeadEnds()
	for v := range n {
		m.of[v], m.twigOf[v] = -1, -1
		if up[v] < 0 {
			m.of[v] = int32(len(m.vertex))
			m.vertex = append(m.vertex, v)
		}
	}
	slots := int32(0)
	for _, v := range m.vertex {
		m.hubs = append(m.hubs, meshHub{int32(len(m.arcs)), slots})
		first := len(m.arcs)
		m.twigAt = append(m.twigAt, int32(len(m.twigs)))
		for a := star.First[v]; a < star.First[v+1]; a++ {
			if w := star.Head[a]; up[w] == star.Twin[a] {
				m.hang(up, w, -1, m.of[v])
			} else {
				m.arcs = append(m.arcs, a)
			}
		}
		slots += int32(len(m.arcs)-first+7) / 8
	}
	m.hubs = append(m.hubs, meshHub{int32(len(m.arcs)), slots})
	m.twigAt = append(m.twigAt, int32(len(m.twigs)))
	return m
}

// hang adds a vertex on a dead end and all that hangs on it.
func (m *mesh) hang(up []int32, v, on, foot int32) {
	type place struct{ v, on int32 }
	star := &m.g.Star
	for open := []place{{v, on}}; len(open) > 0; {
		at := open[len(open)-1]
		open = open[:len(open)-1]
		i := int32(len(m.twigs))
		m.twigs = append(m.twigs, twig{vertex: at.v, arc: up[at.v], up: at.on, foot: foot, end: i + 1})
		m.twigOf[at.v] = i
		for a := star.First[at.v]; a < star.First[at.v+1]; a++ {
			if w := star.Head[a]; up[w] == star.Twin[a] {
				open = append(open, place{w, i})
			}
		}
	}
	for i := int32(len(m.twigs)) - 1; i >= 0 && m.twigs[i].foot == foot; i-- {
		if on := m.twigs[i].up; on >= 0 {
			m.twigs[on].end = max(m.twigs[on].end, m.twigs[i].end)
		}
	}
}

// branch is the first twig at the foot of the dead end that a twig stands on: its name.
func (m *mesh) branch(i int32) (first int32) {
	for m.twigs[i].up >= 0 {
		i = m.twigs[i].up
	}
	return i
}

// together tells whether two twigs stand on the same dead end.
func (m *mesh) together(i, j int32) bool {
	return i >= 0 && j >= 0 && m.branch(i) == m.branch(j)
}

// seat is where a vertex stands: its foot, itself in the mesh, and its twig or -1.
func (m *mesh) seat(v int32) (foot, twig int32) {
	if i := m.twigOf[v]; i >= 0 {
		return m.twigs[i].foot, i
	}
	return m.of[v], -1
}

// Metric is a set of costs in one direction, laid out along the mesh.
type Metric struct {
	m     *mesh
	reach float64 // cost to which trees are grown
	links []meshLink
	// Between twigs and their feet: what those pay who come from a twig's vertex to a
	// target elsewhere, what those do who come from elsewhere to a target on it.
	leave, come []float64
}

// meshLink is an arc of the mesh: where it leads and what it costs.
type meshLink struct {
	head int32
	cost float32
}

// metric lays out costs by arc; where towards holds, a tree has the costs from its
// vertices to its root, else from its root to them.
func (m *mesh) metric(cost []float32, towards bool, reach float64) *Metric {
	star, n := &m.g.Star, len(m.twigs)
	k := &Metric{m: m, reach: reach, links: make([]meshLink, len(m.arcs)), leave: make([]float64, n), come: make([]float64, n)}
	for l, a := range m.arcs {
		paid := a
		if towards {
			paid = star.Twin[a]
		}
		k.links[l] = meshLink{m.of[star.Head[a]], cost[paid]}
	}
	for i := range m.twigs {
		t := &m.twigs[i]
		k.leave[i], k.come[i] = float64(cost[t.arc]), float64(cost[star.Twin[t.arc]])
		if !towards {
			k.leave[i], k.come[i] = k.come[i], k.leave[i]
		}
		if t.up >= 0 {
			k.leave[i] += k.leave[t.up]
			k.come[i] += k.come[t.up]
		}
	}
	return k
}

// NewMetric lays out a network with a cost for each arc, for ways from a door that are no
// longer than reach.
func NewMetric(g *network.Graph, cost []float32, reach float64) *Metric {
	return newMesh(g).metric(cost, false, reach)
}

// Feet is how many vertices stand on no dead end.
func (k *Metric) Feet() int { return len(k.m.vertex) }

// Doors goes through one of them and all on the dead ends that hang on it.
func (k *Metric) Doors(foot int32) iter.Seq[int32] {
	return func(yield func(int32) bool) {
		if !yield(k.m.vertex[foot]) {
			return
		}
		for _, twig := range k.m.twigs[k.m.twigAt[foot]:k.m.twigAt[foot+1]] {
			if !yield(twig.vertex) {
				return
			}
		}
	}
}

// offset is what a tree has cost at its foot when its target stands on a twig, 0 where
// it stands in the mesh.
func (k *Metric) offset(twig int32) float64 {
	if twig < 0 {
		return 0
	}
	return k.come[twig]
}

// others goes through the twigs of a foot but for those of the target's own dead end,
// which step 0 leaves out.
func (m *mesh) others(foot int32, n int, target int32, use func(twig int32)) {
	for i := m.twigAt[foot]; i < m.twigAt[foot+1]; i++ {
		if m.twigs[i].up < 0 && n == 0 && m.together(i, target) {
			i = m.twigs[i].end - 1
			continue
		}
		use(i)
	}
}

// grower is one worker's scratch for growing trees.
type grower struct {
	cost    []float64 // by number; unknown between trees
	by      []meshArc // by number: how the tree comes here
	unknown float64   // just beyond reach
	queue   *buckets
	touched []int32
	sprouts []uint8 // by slot: bits of links that are the tree's, none between trees
	steps   []step  // the tree on the mesh
	inside  []step  // the tree on the dead end of its target
	stepOf  []int32 // by twig: its step inside
	load    []float64
}

// meshArc is a link and where it comes from.
type meshArc struct{ from, link int32 }

// step is a vertex of a tree, its root the first, each after the one that it hangs on.
type step struct {
	cost float64
	at   int32 // number in the mesh; inside a dead end the twig
	link int32 // by which the tree comes here, -1 at the root; inside a dead end the twig whose edge it is
	on   int32 // the step that it hangs on
}

func newGrower(m *mesh, reach float64) *grower {
	gr := &grower{queue: newBuckets(reach), cost: make([]float64, len(m.vertex)), by: make([]meshArc, len(m.vertex)), unknown: math.Nextafter(reach, math.Inf(1)), sprouts: make([]uint8, m.hubs[len(m.vertex)].bits), stepOf: make([]int32, len(m.twigs))}
	for i := range gr.cost {
		gr.cost[i] = gr.unknown
	}
	return gr
}

// grow makes the least-cost tree from a vertex of the mesh that is reached at a cost,
// as steps, and appends to out what regrow makes the same steps of: a bit for each
// link of each step. None where the root is out of reach.
func (gr *grower) grow(k *Metric, root int32, cost float64, out []uint8) []uint8 {
	gr.steps = gr.steps[:0]
	if cost > k.reach {
		return out
	}
	gr.begin(root, cost)
	gr.search(k, k.reach)
	hubs := k.m.hubs
	for _, v := range gr.touched[1:] {
		by := gr.by[v]
		hub := hubs[by.from]
		slot := by.link - hub.link
		gr.sprouts[hub.bits+slot>>3] |= 1 << (slot & 7)
	}
	gr.steps = append(gr.steps, step{cost: cost, at: root, link: -1})
	for i := 0; i < len(gr.steps); i++ {
		at := gr.steps[i].at
		gr.cost[at] = gr.unknown
		for b, l := hubs[at].bits, hubs[at].link; b < hubs[at+1].bits; b, l = b+1, l+8 {
			out = append(out, gr.sprouts[b])
			gr.sprout(k, int32(i), l, gr.sprouts[b])
			gr.sprouts[b] = 0
		}
	}
	return out
}

// regrow makes the steps of a tree of what grow appended, and gives what is left.
func (gr *grower) regrow(k *Metric, root int32, cost float64, in []uint8) []uint8 {
	gr.steps = gr.steps[:0]
	if cost > k.reach {
		return in
	}
	hubs := k.m.hubs
	gr.steps = append(gr.steps, step{cost: cost, at: root, link: -1})
	for i := 0; i < len(gr.steps); i++ {
		at := gr.steps[i].at
		for b, l := hubs[at].bits, hubs[at].link; b < hubs[at+1].bits; b, l = b+1, l+8 {
			gr.sprout(k, int32(i), l, in[0])
			in = in[1:]
		}
	}
	return in
}

// sprout adds the steps behind eight links of step i.
func (gr *grower) sprout(k *Metric, i, link int32, which uint8) {
	cost := gr.steps[i].cost
	for ; which != 0; which &= which - 1 {
		l := link + int32(bits.TrailingZeros8(which))
		gr.steps = append(gr.steps, step{cost: cost + float64(k.links[l].cost), at: k.links[l].head, link: l, on: i})
	}
}

// begin takes a vertex of the mesh that is reached at a cost as a tree's root.
func (gr *grower) begin(root int32, cost float64) {
	gr.touched = append(gr.touched[:0], root)
	gr.cost[root], gr.by[root] = cost, meshArc{-1, -1}
	gr.queue.push(cost, root)
}

// search grows the tree on until it holds all that costs no more than so much:
// Dijkstra's method with a lazy queue. Of two ways that cost the same the tree takes
// the one whose last vertex but one is nearer, then the one of the lower number.
func (gr *grower) search(k *Metric, until float64) {
	hubs, links, costs, q := k.m.hubs, k.links, gr.cost, gr.queue
	touched, last := gr.touched, search.Pack(until, lastID)
	for entry, ok := q.pop(last); ok; entry, ok = q.pop(last) {
		v := search.EntryID(entry)
		d := costs[v]
		if search.Pack(d, v) != entry {
			continue
		}
		link, end := hubs[v].link, hubs[v+1].link
		for i, l := range links[link:end] {
			next := d + float64(l.cost)
			known := costs[l.head]
			if next >= known {
				continue
			}
			if known == gr.unknown {
				touched = append(touched, l.head)
			}
			costs[l.head] = next
			gr.by[l.head] = meshArc{v, link + int32(i)}
			q.push(next, l.head)
		}
	}
	gr.touched = touched
}

// forget ends a tree that was not made steps of.
func (gr *grower) forget() {
	for _, n := range gr.touched {
		gr.cost[n] = gr.unknown
	}
	gr.queue.clear()
}

// enter makes the steps of a tree inside the dead end of its target, which stands on a
// twig: up to the foot and into all that hangs on the way. It gives the step of the
// first twig at the foot, -1 where that is out of reach.
func (gr *grower) enter(k *Metric, target int32) (top int32) {
	twigs := k.m.twigs
	gr.inside, gr.stepOf[target] = append(gr.inside[:0], step{at: target, link: -1}), 0
	for u, came := target, int32(-1); ; {
		for i := u + 1; i < twigs[u].end; {
			cost := k.come[target] - k.come[u] + k.leave[i] - k.leave[u]
			if i == came || cost > k.reach {
				i = twigs[i].end
				continue
			}
			gr.stepOf[i] = int32(len(gr.inside))
			gr.inside = append(gr.inside, step{cost: cost, at: i, link: i, on: gr.stepOf[twigs[i].up]})
			i++
		}
		up := twigs[u].up
		if up < 0 {
			return gr.stepOf[u]
		}
		cost := k.come[target] - k.come[up]
		if cost > k.reach {
			return -1
		}
		gr.stepOf[up] = int32(len(gr.inside))
		gr.inside = append(gr.inside, step{cost: cost, at: up, link: u, on: gr.stepOf[u]})
		u, came = up, u
	}
}
