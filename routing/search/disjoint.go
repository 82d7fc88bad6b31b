package search

import (
	"errors"
	"math"
	"slices"
)

// ErrNoPair is returned when there is a path but no second one that shares no edge
// with it: an edge on every path, a bridge, stands between.
var ErrNoPair = errors.New("search: no two paths without a shared edge")

// WaysOut finds two paths from a vertex that share no edge, each to some vertex
// of a target set, perhaps the same, with the least total cost, the cheaper first.
// isTarget may be asked about a vertex more than once. From a target both paths
// are empty. It returns ErrNoPath when not even one path exists and ErrNoPair when no
// second one does.
//
// Method: Suurballe and Tarjan 1984, "A quick method for finding shortest pairs of
// disjoint paths", Networks 14:325-336, on undirected edges: the second search runs
// on reduced costs, may undo an arc of the first path and may not use it again.
// Walking such an edge back is never worth more than undoing it, so no edge is used
// once each way. Distances beyond the first path's length are taken as that length,
// which keeps reduced costs at 0 or more and lets the first search stop early.
func (r *Router) WaysOut(from int32, isTarget func(vertex int32) bool, cost []float32, barred []bool) ([2]Route, error) {
	if err := r.checkEnds(from, from, cost, barred); err != nil {
		return [2]Route{}, err
	}
	if isTarget(from) {
		return [2]Route{}, nil
	}
	s := r.take()
	defer r.give(s)
	p := pairing{scratch: s, g: r.g, cost: cost, barred: barred, isTarget: isTarget}
	end := p.first(from)
	if end < 0 {
		return [2]Route{}, ErrNoPath
	}
	p.top = s.nodes.of(end).distF
	for a := s.nodes.of(end).arcF; a >= 0; {
		tail := s.nodes.of(r.g.Head[r.g.Twin[a]])
		tail.local = a
		a = tail.arcF
	}
	undone := p.second(from)
	if undone < 0 {
		return [2]Route{}, ErrNoPair
	}
	p.merge(end, undone)
	pair := [2]Route{p.follow(from), p.follow(from)}
	if pair[1].Cost < pair[0].Cost {
		pair[0], pair[1] = pair[1], pair[0]
	}
	return pair, nil
}

// pairing is the state of the two searches for a pair. distF and arcF belong to
// the first search, distB and arcB to the second, and local is the arc by which the
// first path leaves a vertex.
type pairing struct {
	*scratch
	g        *Graph
	cost     []float32
	barred   []bool
	isTarget func(int32) bool
	top      float64 // cost of the first path
}

// usable is the cost of an arc, or +Inf when it is barred.
func (p *pairing) usable(a int32) float64 {
	c := float64(p.cost[a])
	if !(c >= 0) || (p.barred != nil && p.barred[a]) {
		return math.Inf(1)
	}
	return c
}

// first finds the nearest target, or -1, and settles everything nearer.
func (p *pairing) first(from int32) int32 {
	p.at(from).distF = 0
	p.qF.Push(Pack(0, from))
	end, best := int32(-1), math.Inf(1)
	for p.qF.floor() < best {
		entry := p.qF.Pop()
		v := EntryID(entry)
		d := p.nodes.of(v).distF
		if Pack(d, v) != entry {
			continue
		}
		if p.isTarget(v) {
			if d < best {
				end, best = v, d
			}
			continue
		}
		for a := p.g.First[v]; a < p.g.First[v+1]; a++ {
			next := d + p.usable(a)
			w := p.g.Head[a]
			if n := p.at(w); next < n.distF {
				n.distF, n.arcF = next, a
				p.qF.Push(Pack(next, w))
			}
		}
	}
	return end
}

// height is a vertex's potential: its distance, but at most that of the target.
func (p *pairing) height(n *node) float64 { return min(n.distF, p.top) }

// second finds the target where the other path ends, or -1.
func (p *pairing) second(from int32) int32 {
	p.qB.Push(Pack(0, from))
	p.at(from).distB = 0
	end, best := int32(-1), math.Inf(1)
	for p.qB.floor() < best {
		entry := p.qB.Pop()
		v := EntryID(entry)
		node := p.nodes.of(v)
		d := node.distB
		if Pack(d, v) != entry {
			continue
		}
		if p.isTarget(v) {
			if d < best {
				end, best = v, d
			}
			continue
		}
		for a := p.g.First[v]; a < p.g.First[v+1]; a++ {
			if a == node.local {
				continue
			}
			w := p.g.Head[a]
			n := p.at(w)
			next := d // undoing an arc of the first path is free on reduced costs
			if n.local < 0 || n.local != p.g.Twin[a] {
				next += max(0, p.usable(a)+p.height(node)-p.height(n))
			}
			if next < n.distB {
				n.distB, n.arcB = next, a
				p.qB.Push(Pack(next, w))
			}
		}
	}
	return end
}

// merge collects the arcs of both paths in order of their numbers, less those that
// the second path undoes.
func (p *pairing) merge(firstEnd, secondEnd int32) {
	arcs := p.order[:0]
	for a := p.nodes.of(firstEnd).arcF; a >= 0; a = p.nodes.of(p.g.Head[p.g.Twin[a]]).arcF {
		arcs = append(arcs, a)
	}
	slices.Sort(arcs)
	ones := len(arcs)
	for a := p.nodes.of(secondEnd).arcB; a >= 0; a = p.nodes.of(p.g.Head[p.g.Twin[a]]).arcB {
		if k, undoes := slices.BinarySearch(arcs[:ones], p.g.Twin[a]); undoes {
			arcs = slices.Delete(arcs, k, k+1)
			ones--
			continue
		}
		arcs = append(arcs, a)
	}
	slices.Sort(arcs)
	p.order = arcs
}

// follow takes one path from the start to a target out of the merged arcs. Arcs
// out of one vertex have neighbouring numbers, so the next arc is found by halving.
// A round that costs nothing may be left in the arcs; it is cut out.
func (p *pairing) follow(from int32) Route {
	var arcs []int32
	for v := from; !p.isTarget(v); {
		k, _ := slices.BinarySearch(p.order, p.g.First[v])
		a := p.order[k]
		p.order = slices.Delete(p.order, k, k+1)
		p.nodes.of(v).local = int32(len(arcs))
		arcs = append(arcs, a)
		v = p.g.Head[a]
		// local is now the place in arcs of the arc that left a vertex, if it is still there.
		if i := p.nodes.of(v).local; i >= 0 && int(i) < len(arcs) && p.g.Head[p.g.Twin[arcs[i]]] == v {
			arcs = arcs[:i]
		}
	}
	return Route{Arcs: arcs, Cost: sum(p.cost, arcs)}
}
