package drive

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"wideberth/osmdata"
	"wideberth/routing/network"
	"wideberth/routing/search"
)

// run is an edge in one direction: twice its number, and one more from head to tail.
type run int32

func (r run) edge() int32 { return int32(r) / 2 }

func (r run) back() run { return r ^ 1 }

// ban says that who arrives by one run may not go on by another.
type ban struct{ from, to run }

// end is the vertex that a run leads to.
func (n *Network) end(r run) int32 {
	if r&1 != 0 {
		return n.edges[r.edge()].tail
	}
	return n.edges[r.edge()].head
}

// open tells whether a run may be driven.
func (n *Network) open(r run) bool {
	if r&1 != 0 {
		return n.edges[r.edge()].use&backward != 0
	}
	return n.edges[r.edge()].use&forward != 0
}

// leaving lists by vertex the runs that begin there, in order.
func (n *Network) leaving() [][]run {
	out := make([][]run, len(n.vertex))
	for e := range n.edges {
		r := run(2 * e)
		out[n.end(r.back())] = append(out[n.end(r.back())], r)
		out[n.end(r)] = append(out[n.end(r)], r.back())
	}
	return out
}

// bansOf are the bans between runs that a map's turn bans make. A way that runs through
// the node instead of ending there leaves open which side is meant: such a ban is left
// out, and so are those at nodes where no roads meet.
func (n *Network) bansOf(g *network.Graph, turns []osmdata.TurnBan) (out []ban) {
	if len(turns) == 0 {
		return nil
	}
	at := map[int64][]int32{}
	for v, node := range g.VertexNode {
		at[node] = append(at[node], int32(v))
	}
	leaving := n.leaving()
	for i := range turns {
		for _, v := range at[turns[i].Via] {
			out = append(out, bansAt(g, leaving[v], &turns[i])...)
		}
	}
	slices.SortFunc(out, compareBans)
	return slices.Compact(out)
}

func compareBans(a, b ban) int {
	return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(a.to, b.to))
}

// bansAt are the bans that one of the map makes among the runs that leave a vertex.
func bansAt(g *network.Graph, leaving []run, t *osmdata.TurnBan) (out []ban) {
	var from, to []run
	for _, r := range leaving {
		way := g.Parts[g.PartAt[r.edge()]].Street
		if r&1 != 0 {
			way = g.Parts[g.PartAt[r.edge()+1]-1].Street
		}
		if way == t.From {
			from = append(from, r.back())
		}
		if way == t.To {
			to = append(to, r)
		}
	}
	if len(from) != 1 || len(to) != 1 {
		return nil
	}
	for _, r := range leaving {
		if (r == to[0]) != t.Only {
			out = append(out, ban{from[0], r})
		}
	}
	return out
}

// halfway is a vertex of its own for those who arrive by one run after which something
// is banned. Nobody turns round in it.
type halfway struct {
	at    int32 // number in the star
	by    run
	taken []run // runs that may be taken from it
}

// halfways lists them in the order of their runs.
func (n *Network) halfways() (out []halfway) {
	if len(n.bans) == 0 {
		return nil
	}
	leaving := n.leaving()
	for i := 0; i < len(n.bans); {
		h := halfway{at: int32(len(n.vertex) + len(out)), by: n.bans[i].from}
		var banned []run
		for ; i < len(n.bans) && n.bans[i].from == h.by; i++ {
			banned = append(banned, n.bans[i].to)
		}
		for _, r := range leaving[n.end(h.by)] {
			if r.edge() != h.by.edge() && n.open(r) && !slices.Contains(banned, r) {
				h.taken = append(h.taken, r)
			}
		}
		out = append(out, h)
	}
	return out
}

// arrival is the vertex of the star that a run leads to.
func (n *Network) arrival(r run) int32 {
	if v, ok := n.halfOf[r]; ok {
		return v
	}
	return n.end(r)
}

// doubleArc is two arcs that are each other's twins.
type doubleArc struct {
	from, to    int32
	there, back float32 // seconds, infinite where that way is closed
}

// doubles lists all arcs of the star. An edge without bans at its ends is one pair, its
// two directions; else each direction is a pair of its own, since it does not lead to
// where the other begins.
func (n *Network) doubles(halves []halfway) []doubleArc {
	never := float32(math.Inf(1))
	out := make([]doubleArc, 0, len(n.edges)+4*len(halves))
	for e := range n.edges {
		r := run(2 * e)
		b := r.back()
		if n.arrival(r) == n.end(r) && n.arrival(b) == n.end(b) {
			out = append(out, doubleArc{n.end(b), n.end(r), n.runS(r), n.runS(b)})
			continue
		}
		out = append(out, doubleArc{n.end(b), n.arrival(r), n.runS(r), never}, doubleArc{n.end(r), n.arrival(b), n.runS(b), never})
	}
	for i := range halves {
		for _, r := range halves[i].taken {
			out = append(out, doubleArc{halves[i].at, n.arrival(r), n.runS(r), never})
		}
	}
	return out
}

// pack puts the edges into a forward star, with what each arc costs.
func (n *Network) pack() {
	n.degree = make([]int32, len(n.vertex))
	for _, e := range n.edges {
		n.degree[e.tail]++
		n.degree[e.head]++
	}
	halves := n.halfways()
	n.halfOf, n.halfFor = map[run]int32{}, map[run][]int32{}
	for i := range halves {
		n.halfOf[halves[i].by] = halves[i].at
		for _, r := range halves[i].taken {
			n.halfFor[r] = append(n.halfFor[r], halves[i].at)
		}
	}
	all := n.doubles(halves)
	first := make([]int32, len(n.vertex)+len(halves)+1)
	for _, d := range all {
		first[d.from+1]++
		first[d.to+1]++
	}
	for v := 1; v < len(first); v++ {
		first[v] += first[v-1]
	}
	next, m := append([]int32(nil), first[:len(first)-1]...), 2*len(all)
	n.star = search.Graph{First: first, Head: make([]int32, m), Twin: make([]int32, m)}
	n.cost = make([]float32, m)
	for _, d := range all {
		f := next[d.from]
		next[d.from]++
		b := next[d.to]
		next[d.to]++
		n.star.Head[f], n.star.Head[b], n.star.Twin[f], n.star.Twin[b] = d.to, d.from, b, f
		n.cost[f], n.cost[b] = d.there, d.back
	}
}

// runS is what a run costs, with the junction at its end; infinite where it is closed.
func (n *Network) runS(r run) float32 {
	if !n.open(r) {
		return float32(math.Inf(1))
	}
	return n.edges[r.edge()].seconds + float32(n.waitS(r))
}

// waitS is what the junction at the end of a run takes.
func (n *Network) waitS(r run) float64 {
	if n.edges[r.edge()].use&swift == 0 && n.degree[n.end(r)] > 2 {
		return JunctionS
	}
	return 0
}

// before is the time to where a run begins, for who goes on along it.
func (t *Trips) before(r run) float64 {
	best := t.tree.Dist(t.n.end(r.back()))
	for _, v := range t.n.halfFor[r] {
		best = min(best, t.tree.Dist(v))
	}
	return best
}

// checkBans walks the bans.
func (n *Network) checkBans() error {
	for i, b := range n.bans {
		if b.from < 0 || b.to < 0 || int(b.from.edge()) >= len(n.edges) || int(b.to.edge()) >= len(n.edges) || n.end(b.from) != n.end(b.to.back()) {
			return fmt.Errorf("turn ban %d is of roads that do not meet", i)
		}
		if i > 0 && compareBans(n.bans[i-1], b) >= 0 {
			return fmt.Errorf("turn ban %d is out of order", i)
		}
	}
	return nil
}
