package network

import (
	"math/bits"
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
	known := newNodeTable(b.stats.Points)
	b.points = make([]point, 0, b.stats.Points)
	for i, s := range b.streets {
		run := all[:len(s.Nodes):len(s.Nodes)]
		all = all[len(s.Nodes):]
		for k, n := range s.Nodes {
			p, fresh := known.number(n)
			if fresh {
				b.points = append(b.points, point{node: n, at: s.Line[k], same: p, bar: len(b.barred) > 0 && b.barred[n]})
			}
			run[k] = p
		}
		b.runs[i] = run
	}
}

// nodeTable numbers nodes in the order in which they come: an open-addressing hash table,
// at most half full.
type nodeTable struct {
	nodes []int64
	nums  []int32 // number of the node plus one, 0 for an empty slot
	shift int     // 64 minus log2 of the size
	used  int32
}

// newNodeTable makes a table with room for n nodes.
func newNodeTable(n int) nodeTable {
	log := bits.Len(uint(2 * n))
	return nodeTable{nodes: make([]int64, 1<<log), nums: make([]int32, 1<<log), shift: 64 - log}
}

// slot is where a node is or would be put. The factor is 2^64 over the golden ratio
// (Knuth, The Art of Computer Programming 3, section 6.4).
func (t *nodeTable) slot(node int64) int {
	i := int(uint64(node) * 0x9E3779B97F4A7C15 >> t.shift)
	for t.nums[i] != 0 && t.nodes[i] != node {
		i = (i + 1) & (len(t.nodes) - 1)
	}
	return i
}

// number is that of a node, which is fresh if it comes for the first time.
func (t *nodeTable) number(node int64) (n int32, fresh bool) {
	i := t.slot(node)
	if t.nums[i] != 0 {
		return t.nums[i] - 1, false
	}
	t.used++
	t.nodes[i], t.nums[i] = node, t.used
	return t.used - 1, true
}

// find is the number of a node, false for one that never came.
func (t *nodeTable) find(node int64) (n int32, ok bool) {
	i := t.slot(node)
	return t.nums[i] - 1, t.nums[i] != 0
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
	// Pieces by their lesser end, each in order: those at p are order[first[p]:first[p+1]].
	first := make([]int32, len(b.points)+1)
	for i := range b.pieces {
		first[min(b.pieces[i].tail, b.pieces[i].head)+1]++
	}
	for p := range b.points {
		first[p+1] += first[p]
	}
	order, next := make([]int32, len(b.pieces)), slices.Clone(first)
	for i := range b.pieces {
		p := min(b.pieces[i].tail, b.pieces[i].head)
		order[next[p]] = int32(i)
		next[p]++
	}
	drop := make([]bool, len(b.pieces))
	for p := range b.points {
		at := order[first[p]:first[p+1]]
		for k, i := range at {
			for _, j := range at[k+1:] {
				// The greater ends are one where the sums of both ends are.
				if b.pieces[i].tail+b.pieces[i].head == b.pieces[j].tail+b.pieces[j].head && !drop[i] && !drop[j] && b.sameShape(i, j) {
					drop[j] = true
					b.stats.Duplicates++
					b.stats.DuplicateM += b.pieces[j].lengthM()
				}
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
	if len(r) != len(s) {
		return false
	}
	for k := range r {
		if r[k] != s[len(s)-1-k] {
			return false
		}
	}
	return true
}
