package network

import "wideberth/osmdata"

// chain is a future edge: pieces in a row between two points where a walk has a
// choice or an end.
type chain struct {
	tail, head   int32 // points
	first, count int32 // links
	lengthM      float64
}

// link is one piece of a chain, walked with or against its drawing.
type link struct {
	piece int32
	back  bool
}

// incidence lists the piece ends at every point, in forward-star form: those at
// point p are ends[first[p]:first[p+1]], each a piece number doubled, plus one if
// it is the piece's head.
type incidence struct{ first, ends []int32 }

func (b *builder) incidence() incidence {
	first := make([]int32, len(b.points)+1)
	for i := range b.pieces {
		first[b.pieces[i].tail+1]++
		first[b.pieces[i].head+1]++
	}
	for p := range b.points {
		first[p+1] += first[p]
	}
	ends, next := make([]int32, first[len(b.points)]), append([]int32(nil), first...)
	put := func(p, end int32) { ends[next[p]] = end; next[p]++ }
	for i := range b.pieces {
		put(b.pieces[i].tail, int32(2*i))
		put(b.pieces[i].head, int32(2*i+1))
	}
	return incidence{first, ends}
}

func (n incidence) at(p int32) []int32 { return n.ends[n.first[p]:n.first[p+1]] }

// guardedFlags are facts of ground that one may have to keep off: a street that ends
// in somebody's drive is an edge of its own.
const guardedFlags = osmdata.FlagDrive | osmdata.FlagAisle

// kept gives the flags of the piece with that end that an edge has all along.
func (b *builder) kept(end int32) osmdata.StreetFlags {
	return b.streets[b.pieces[end/2].street].Flags & b.apart
}

// contract strings pieces together through points where exactly two meet and where
// the flags stay that an edge has all along. A ring without a junction keeps one point.
func (b *builder) contract() {
	inc := b.incidence()
	inner := make([]bool, len(b.points))
	for p := range b.points {
		e := inc.at(int32(p))
		inner[p] = len(e) == 2 && e[0]/2 != e[1]/2 && !b.points[p].open && b.kept(e[0]) == b.kept(e[1])
	}
	done := make([]bool, len(b.pieces))
	for p := range b.points {
		if inner[p] {
			continue
		}
		for _, end := range inc.at(int32(p)) {
			if !done[end/2] {
				b.follow(inc, inner, done, end)
			}
		}
	}
	for i := range b.pieces { // rings
		if !done[i] {
			inner[b.pieces[i].tail] = false
			b.follow(inc, inner, done, int32(2*i))
		}
	}
}

// follow makes the chain that leaves by the given piece end.
func (b *builder) follow(inc incidence, inner, done []bool, end int32) {
	c := chain{first: int32(len(b.links))}
	c.tail, _ = b.across(end)
	for {
		i := end / 2
		done[i] = true
		b.links = append(b.links, link{piece: i, back: end%2 == 1})
		c.lengthM += b.pieces[i].lengthM()
		c.count++
		_, c.head = b.across(end)
		if !inner[c.head] {
			break
		}
		e := inc.at(c.head)
		if end = e[0]; end/2 == i {
			end = e[1]
		}
	}
	b.chains = append(b.chains, c)
}

// across gives the points at an end of a piece and at its other end.
func (b *builder) across(end int32) (here, there int32) {
	p := &b.pieces[end/2]
	if end%2 == 0 {
		return p.tail, p.head
	}
	return p.head, p.tail
}

// dropIslands drops connected pieces of network whose total length is below minM.
func (b *builder) dropIslands(minM float64) {
	component := b.components()
	length := map[int32]float64{}
	for _, c := range b.chains {
		length[component[c.tail]] += c.lengthM
	}
	kept := b.chains[:0]
	for _, c := range b.chains {
		if length[component[c.tail]] >= minM {
			kept = append(kept, c)
		} else {
			b.stats.IslandM += c.lengthM
		}
	}
	b.chains = kept
	for _, m := range length {
		if m >= minM {
			b.stats.Components++
		} else {
			b.stats.Islands++
		}
	}
}

// components gives each point that a chain ends at the point that stands for its
// connected piece of network (union by index with path halving, Tarjan and van Leeuwen
// 1984, J. ACM 31:245-281).
func (b *builder) components() []int32 {
	of := make([]int32, len(b.points))
	for p := range of {
		of[p] = int32(p)
	}
	find := func(p int32) int32 {
		for of[p] != p {
			of[p] = of[of[p]]
			p = of[p]
		}
		return p
	}
	for _, c := range b.chains {
		if tail, head := find(c.tail), find(c.head); tail < head {
			of[head] = tail
		} else {
			of[tail] = head
		}
	}
	for p := range of { // whoever stands for a piece is its least point
		of[p] = of[of[p]]
	}
	return of
}
