package network

import (
	"cmp"
	"slices"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// point is a place where streets run.
type point struct {
	node   int64
	at     plane.Point
	same   int32 // another point at the same place, itself for the one that stands for all
	uses   uint8 // how often streets run through, 2 for twice or more
	branch bool  // the network branches or ends here
	open   bool  // it goes on outside the extract
	bar    bool  // nobody passes
}

// number gives every node of the streets a point.
func (b *builder) number() {
	b.runs = make([][]int32, len(b.streets))
	all := make([]int32, b.stats.Points)
	for i, s := range b.streets {
		run := all[:len(s.Nodes):len(s.Nodes)]
		all = all[len(s.Nodes):]
		for k, n := range s.Nodes {
			p, ok := b.index[n]
			if !ok {
				p = int32(len(b.points))
				b.index[n] = p
				b.points = append(b.points, point{node: n, at: s.Line[k], same: p, bar: b.barred[n]})
			}
			run[k] = p
		}
		b.runs[i] = run
	}
}

// mergeCoincident makes nodes one point that follow each other on a way and lie at
// one place: an edge without length would have no direction and no share of
// anything.
func (b *builder) mergeCoincident() {
	for _, run := range b.runs {
		for k := 1; k < len(run); k++ {
			u, v := b.root(run[k-1]), b.root(run[k])
			if u == v || b.points[u].at.DistanceM(b.points[v].at) > mergeM {
				continue
			}
			b.stats.ZeroLength++
			if b.points[v].node < b.points[u].node {
				u, v = v, u
			}
			b.points[v].same = u
			b.points[u].bar = b.points[u].bar || b.points[v].bar
		}
	}
	for _, run := range b.runs {
		for k := range run {
			run[k] = b.root(run[k])
		}
	}
}

func (b *builder) root(p int32) int32 {
	for b.points[p].same != p {
		b.points[p].same = b.points[b.points[p].same].same
		p = b.points[p].same
	}
	return p
}

// cut finds where the network branches and makes the pieces between.
func (b *builder) cut() {
	for i, run := range b.runs {
		b.mark(run, b.streets[i].Flags)
	}
	for i := range b.runs {
		b.cutStreet(int32(i))
	}
	b.stats.Pieces = len(b.pieces)
	for i := range b.points {
		if b.points[i].bar {
			b.stats.Barred++
		}
		if b.points[i].open {
			b.stats.Open++
		}
	}
}

// mark notes the branching places of one street: its ends, points that a street
// runs through again, and points where it turns back on itself.
func (b *builder) mark(run []int32, f osmdata.StreetFlags) {
	last := len(run) - 1
	b.points[run[0]].branch, b.points[run[last]].branch = true, true
	b.points[run[0]].open = b.points[run[0]].open || f&osmdata.FlagOpenStart != 0
	b.points[run[last]].open = b.points[run[last]].open || f&osmdata.FlagOpenEnd != 0
	for k, p := range run {
		if k > 0 && run[k-1] == p {
			continue
		}
		q := &b.points[p]
		q.uses = min(2, q.uses+1)
		turn := k > 0 && k < last && run[k-1] == run[k+1]
		if q.uses > 1 || q.bar || turn {
			q.branch = true
		}
	}
}

func (b *builder) cutStreet(i int32) {
	run, line := b.runs[i], b.streets[i].Line
	from, fromM, atM := 0, 0.0, 0.0
	for k := 1; k < len(run); k++ {
		atM += line[k-1].DistanceM(line[k])
		if !b.points[run[k]].branch || run[k] == run[k-1] && k < len(run)-1 {
			continue
		}
		if atM-fromM > mergeM {
			b.pieces = append(b.pieces, piece{street: i, from: int32(from), to: int32(k),
				tail: run[from], head: run[k], fromM: fromM, toM: atM})
		}
		from, fromM = k, atM
	}
}

// partBarred gives every piece that ends at a barred node an end of its own.
func (b *builder) partBarred() {
	end := func(p *int32) {
		if b.points[*p].bar {
			b.points = append(b.points, b.points[*p])
			*p = int32(len(b.points) - 1)
		}
	}
	for i := range b.pieces {
		end(&b.pieces[i].tail)
		end(&b.pieces[i].head)
	}
}

// line appends the places of a piece, backwards if asked, to l; a first place that
// l already ends with is left out.
func (b *builder) line(l []plane.Point, p *piece, back bool) []plane.Point {
	run := b.runs[p.street][p.from : p.to+1]
	for k := range run {
		if back {
			k = len(run) - 1 - k
		}
		at := b.points[run[k]].at
		if len(l) == 0 || l[len(l)-1] != at {
			l = append(l, at)
		}
	}
	return l
}

// nodes appends the nodes of the places that line appends.
func (b *builder) nodes(l []int64, p *piece, back bool) []int64 {
	run := b.runs[p.street][p.from : p.to+1]
	for k := range run {
		if back {
			k = len(run) - 1 - k
		}
		if n := b.points[run[k]].node; len(l) == 0 || l[len(l)-1] != n {
			l = append(l, n)
		}
	}
	return l
}

// dropDuplicates keeps one of pieces that are drawn on the same points: two areas
// with a common border, a way entered twice. Two that were both kept would look
// like different ways to go.
func (b *builder) dropDuplicates() {
	order := make([]int32, len(b.pieces))
	for i := range order {
		order[i] = int32(i)
	}
	ends := func(i int32) (int32, int32) {
		p := &b.pieces[i]
		return min(p.tail, p.head), max(p.tail, p.head)
	}
	slices.SortFunc(order, func(i, j int32) int {
		a1, a2 := ends(i)
		c1, c2 := ends(j)
		return cmp.Or(cmp.Compare(a1, c1), cmp.Compare(a2, c2), cmp.Compare(i, j))
	})
	drop := make([]bool, len(b.pieces))
	for x := 0; x < len(order); x++ {
		a1, a2 := ends(order[x])
		for y := x + 1; y < len(order); y++ {
			if c1, c2 := ends(order[y]); a1 != c1 || a2 != c2 {
				break
			}
			if !drop[order[x]] && !drop[order[y]] && b.sameShape(order[x], order[y]) {
				drop[order[y]] = true
				b.stats.Duplicates++
				b.stats.DuplicateM += b.pieces[order[y]].lengthM()
			}
		}
	}
	kept := b.pieces[:0]
	for i, p := range b.pieces {
		if !drop[i] {
			kept = append(kept, p)
		}
	}
	b.pieces = kept
}

// sameShape tells whether two pieces run over the same points, either way.
func (b *builder) sameShape(i, j int32) bool {
	p, q := &b.pieces[i], &b.pieces[j]
	r, s := b.runs[p.street][p.from:p.to+1], b.runs[q.street][q.from:q.to+1]
	if slices.Equal(r, s) {
		return true
	}
	s = slices.Clone(s)
	slices.Reverse(s)
	return slices.Equal(r, s)
}
