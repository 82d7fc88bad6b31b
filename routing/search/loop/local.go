package loop

import (
	"fmt"
	"math"
	"wideberth/routing/search"
)

// streetIndex numbers the vertices met from a door 0, 1, 2, ... It is an
// open-addressed table that is cleared by stepping its generation, so a query
// costs what it touches and nothing for the size of the map.
type streetIndex struct {
	slot       []indexSlot // a power of two, at most half full
	generation uint32
	used       int
}

type indexSlot struct {
	generation uint32
	vertex     int32
	number     int32
}

func (x *streetIndex) reset() {
	x.used = 0
	x.generation++
	if x.generation == 0 || x.slot == nil {
		x.slot = make([]indexSlot, max(len(x.slot), 1024))
		x.generation = 1
	}
}

// at finds the slot of a vertex, or the free one where it would go.
func (x *streetIndex) at(vertex int32) *indexSlot {
	mask := uint32(len(x.slot) - 1)
	i := uint32(vertex) * 2654435769 >> 7 & mask
	for {
		s := &x.slot[i]
		if s.generation != x.generation || s.vertex == vertex {
			return s
		}
		i = (i + 1) & mask
	}
}

// number of a vertex, or -1.
func (x *streetIndex) number(vertex int32) int32 {
	if s := x.at(vertex); s.generation == x.generation {
		return s.number
	}
	return -1
}

// add gives a vertex the next number unless it has one.
func (x *streetIndex) add(vertex int32) (number int32, added bool) {
	s := x.at(vertex)
	if s.generation == x.generation {
		return s.number, false
	}
	*s = indexSlot{x.generation, vertex, int32(x.used)}
	x.used++
	if 2*x.used > len(x.slot) {
		x.grow()
	}
	return int32(x.used - 1), true
}

func (x *streetIndex) grow() {
	old, generation := x.slot, x.generation
	x.slot, x.generation = make([]indexSlot, 2*len(old)), 1
	for _, s := range old {
		if s.generation == generation {
			*x.at(s.vertex) = indexSlot{1, s.vertex, s.number}
		}
	}
}

// loopReach is what can take part in a closed walk of at most limitS from the
// door. Vertices are numbered in the order they were met; edge e has the arcs
// 2e and 2e+1, twins of each other.
type loopReach struct {
	index  streetIndex
	vertex []int32   // graph vertex of each local one; 0 is the door
	turn   []float64 // price of an about-turn at each, +Inf where none is allowed
	distS  []float64 // time from the door, the faster direction of every edge
	order  []int32   // local vertices by rising distS
	placed []bool
	queue  search.Queue

	head  []int32 // per local arc
	arc   []int32 // per local arc: the arc of the graph
	timeS []float64
	first []int32 // arcs out of v: out[first[v]:first[v+1]]
	out   []int32
	gone  []bool  // per edge
	deg   []int32 // per vertex: ends of edges that are not gone
	stack []int32
}

// grow collects everything within reach of the door.
func (r *loopReach) grow(p *Problem, limitS float64) error {
	r.index.reset()
	r.vertex, r.distS, r.order = r.vertex[:0], r.distS[:0], r.order[:0]
	r.placed = r.placed[:0]
	r.queue.Reset()
	r.meet(p.Door, 0)
	for !r.queue.Empty() {
		e := r.queue.Pop()
		u := search.EntryID(e)
		if search.Pack(r.distS[u], u) != e {
			continue
		}
		if !r.placed[u] {
			r.placed[u] = true
			r.order = append(r.order, u)
		}
		if err := r.relax(p, u, limitS/2); err != nil {
			return err
		}
	}
	r.collect(p, limitS)
	r.link()
	return r.priceTurns(p)
}

func (r *loopReach) priceTurns(p *Problem) error {
	r.turn = sized(r.turn, len(r.vertex))
	for v, vertex := range r.vertex {
		x := p.turnAt(vertex)
		if !(x >= 0) {
			return fmt.Errorf("%w: price %g of turning at vertex %d must be at least 0", ErrProblem, x, vertex)
		}
		r.turn[v] = x
	}
	return nil
}

// turnable says whether a walk may turn about at a local vertex.
func (r *loopReach) turnable(v int32) bool { return !math.IsInf(r.turn[v], 1) }

// meet records a way to a vertex that takes t seconds.
func (r *loopReach) meet(vertex int32, t float64) {
	v, added := r.index.add(vertex)
	if added {
		r.vertex, r.distS, r.placed = append(r.vertex, vertex), append(r.distS, t), append(r.placed, false)
	} else if t < r.distS[v] {
		r.distS[v] = t
	} else {
		return
	}
	r.queue.Push(search.Pack(t, v))
}

func (r *loopReach) relax(p *Problem, u int32, cutoffS float64) error {
	g := p.Graph
	for a := g.First[r.vertex[u]]; a < g.First[r.vertex[u]+1]; a++ {
		if t := float64(p.TimeS[a]); !(t >= 0) || math.IsInf(t, 1) {
			return fmt.Errorf("%w: time %g s on arc %d must be finite and not negative", ErrProblem, t, a)
		}
		if t := r.distS[u] + p.fasterS(a); t <= cutoffS {
			r.meet(g.Head[a], t)
		}
	}
	return nil
}

// fasterS is the time on an edge in its faster open direction.
func (p *Problem) fasterS(a int32) float64 {
	return min(p.arcS(a), p.arcS(p.Graph.Twin[a]))
}

// arcS is the time on an arc, +Inf where it is barred.
func (p *Problem) arcS(a int32) float64 {
	if p.barred(a) {
		return math.Inf(1)
	}
	return float64(p.TimeS[a])
}

// collect lists the edges that a closed walk in the limit can use.
func (r *loopReach) collect(p *Problem, limitS float64) {
	g := p.Graph
	r.head, r.arc, r.timeS = r.head[:0], r.arc[:0], r.timeS[:0]
	for u, vertex := range r.vertex {
		for a := g.First[vertex]; a < g.First[vertex+1]; a++ {
			twin := g.Twin[a]
			if a > twin {
				continue
			}
			v := r.index.number(g.Head[a])
			if v < 0 || r.distS[u]+p.fasterS(a)+r.distS[v] > limitS {
				continue
			}
			r.head = append(r.head, v, int32(u))
			r.arc = append(r.arc, a, twin)
			r.timeS = append(r.timeS, p.arcS(a), p.arcS(twin))
		}
	}
}

// link builds the lists of arcs out of each vertex.
func (r *loopReach) link() {
	n := len(r.vertex)
	r.first = sized(r.first, n+1)
	r.out = sized(r.out, len(r.head))
	r.gone = cleared(r.gone, len(r.head)/2)
	clear(r.first)
	for a := range r.head {
		r.first[r.tail(int32(a))+1]++
	}
	for v := range n {
		r.first[v+1] += r.first[v]
	}
	r.stack = append(r.stack[:0], r.first...)
	for a := range r.head {
		t := r.tail(int32(a))
		r.out[r.stack[t]] = int32(a)
		r.stack[t]++
	}
}

func (r *loopReach) tail(a int32) int32 { return r.head[a^1] }

func (r *loopReach) arcsOut(v int32) []int32 { return r.out[r.first[v]:r.first[v+1]] }

// strip takes away dead ends where nobody can turn until none is left but the
// door: nothing behind them can be walked.
func (r *loopReach) strip() {
	r.countEnds()
	r.stack = r.stack[:0]
	for v := range r.deg {
		r.stack = append(r.stack, int32(v))
	}
	for len(r.stack) > 0 {
		v := r.stack[len(r.stack)-1]
		r.stack = r.stack[:len(r.stack)-1]
		if v == 0 || r.deg[v] != 1 || r.turnable(v) {
			continue
		}
		for _, a := range r.arcsOut(v) {
			if !r.gone[a>>1] {
				r.gone[a>>1] = true
				r.deg[v]--
				r.deg[r.head[a]]--
				r.stack = append(r.stack, r.head[a])
				break
			}
		}
	}
}

func (r *loopReach) countEnds() {
	r.deg = cleared(r.deg, len(r.vertex))
	for a, v := range r.head {
		if !r.gone[a>>1] {
			r.deg[v]++
		}
	}
}

// sized gives a slice of n entries with whatever was in them before.
func sized[T any](s []T, n int) []T {
	if cap(s) < n {
		return make([]T, n, n+n/4)
	}
	return s[:n]
}

// cleared gives a slice of n zero entries.
func cleared[T any](s []T, n int) []T {
	s = sized(s, n)
	clear(s)
	return s
}
