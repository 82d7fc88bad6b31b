package outing

import (
	"context"
	"math"
	"math/bits"
	"slices"

	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"
)

// band is when a walk may be where. A walk at nominal progress u (seconds at the
// usual pace) is there no earlier than early(u) and no later than late(u),
// seconds after its printed start. With D the greatest lateness, pace between
// 0.9 and 1.1 of the usual, and k(u) the last hold before u:
//
//	free     early = u/1.1                  late = D + u/0.9
//	printed  early = k/0.9 + (u-k)/1.1      late = D + u/0.9
//	holds    early = k/0.9 + (u-k)/1.1      late = u/0.9
//
// Every point of the band is reached by some lateness and some constant pace, and
// walks stray independently of each other, so that two dogs can come within a
// distance if and only if two points that near to each other have overlapping
// windows. Under holds people come to the gate D early and leave on the minute.
type band struct {
	slack Slack
	holds []float64 // progress, rising
}

// early is the earliest departure from progress u; at a hold that is the printed
// time, whenever the dog came there.
func (b *band) early(u float64) float64 {
	k := 0.0
	if b.slack != Free {
		for _, h := range b.holds {
			if h > u {
				break
			}
			k = h
		}
	}
	return k/slowPace + (u-k)/fastPace
}

func (b *band) late(u float64) float64 {
	if b.slack == Holds {
		return u / slowPace
	}
	return lateS + u/slowPace
}

// Cells: loops are compared in pieces of ten seconds of walking, grouped in blocks.
const (
	cellS     = 10.0 // coarser loses slots, finer time: of 121 minutes 5 s forbid 53.7, 10 s 53.9, 20 s 54.5 (measured)
	blockSize = 12
)

// cell is a piece of a walk: a disc that holds it, and the window in which the
// dog may be on it, standing at a hold at its end included.
type cell struct {
	at          plane.Point
	rM          float64
	earlyS, upS float64 // window after the printed start
	zone        bool    // some of it lies in the gate zone
}

// block is a disc round consecutive cells.
type block struct {
	at      plane.Point
	rM      float64
	zone    bool
	first   int
	through int // one past the last
}

// insideS is how long a dog that is home may still be at the gate (our assumption).
const insideS = 30.0

// cellsOf cuts a walk into cells; holds fall on cell borders, so that the wait is
// wholly in the cell before. The last one lasts until the dog is inside.
func cellsOf(line plane.Polyline, atS []float64, b *band, gate plane.Point, zoneM float64) []cell {
	total := atS[len(atS)-1]
	var cuts []float64
	for u := 0.0; u < total; u += cellS {
		cuts = append(cuts, u)
	}
	cuts = append(append(cuts, total), b.holds...)
	slices.Sort(cuts)
	cuts = slices.Compact(cuts)
	cells := make([]cell, 0, len(cuts)-1)
	t := tracer{line: line, atS: atS}
	for i := 1; i < len(cuts); i++ {
		at, r := t.disc(cuts[i-1], cuts[i])
		cells = append(cells, cell{at, r, b.early(cuts[i-1]), b.late(cuts[i]), at.DistanceM(gate) < zoneM+r})
	}
	cells[len(cells)-1].upS += insideS
	return cells
}

// tracer runs along a timed line.
type tracer struct {
	line plane.Polyline
	atS  []float64
	i    int // the point before the last place asked for
}

// at is the place at progress u; calls must come in rising order of u.
func (t *tracer) at(u float64) plane.Point {
	for t.i < len(t.line)-2 && t.atS[t.i+1] < u {
		t.i++
	}
	if len(t.line) == 1 {
		return t.line[0]
	}
	a, b := t.atS[t.i], t.atS[t.i+1]
	if b <= a {
		return t.line[t.i+1]
	}
	f := min(1, max(0, (u-a)/(b-a)))
	return t.line[t.i].Add(t.line[t.i+1].Sub(t.line[t.i]).Mul(f))
}

// disc holds the line between two progresses: round the middle of its ends, as
// far as the farthest point.
func (t *tracer) disc(from, to float64) (at plane.Point, rM float64) {
	a := t.at(from)
	first := t.i
	b := t.at(to)
	at = a.Add(b).Mul(0.5)
	rM = max(at.DistanceM(a), at.DistanceM(b))
	for j := first; j <= t.i+1 && j < len(t.line); j++ {
		if t.atS[j] > from && t.atS[j] < to {
			rM = max(rM, at.DistanceM(t.line[j]))
		}
	}
	return at, rM
}

func blocksOf(cells []cell) (out []block) {
	for i := 0; i < len(cells); i += blockSize {
		b := block{first: i, through: min(i+blockSize, len(cells))}
		box := plane.EmptyBox()
		for _, c := range cells[b.first:b.through] {
			box = box.With(c.at)
			b.zone = b.zone || c.zone
		}
		b.at = box.Min.Add(box.Max).Mul(0.5)
		for _, c := range cells[b.first:b.through] {
			b.rM = max(b.rM, b.at.DistanceM(c.at)+c.rM)
		}
		out = append(out, b)
	}
	return out
}

// track is a walk as the table sees it.
type track struct {
	cells  []cell
	blocks []block
	endS   float64 // latest end after the printed start
}

// table holds for every ordered pair of loops and every class of separation the
// differences of starts, in whole minutes, that are forbidden. It is exact for
// loops cut into cells: a difference is forbidden if and only if two cells nearer
// than the separation have overlapping windows. Immutable once filled.
type table struct {
	classM []float64 // separations, rising
	reach  int       // differences run from -reach to reach
	words  int       // of one set
	n      int
	sets   []uint64
}

// set is the set of forbidden starts of b minus starts of a; bit i is the
// difference i - reach.
func (t *table) set(a, b, class int) []uint64 {
	at := ((a*t.n+b)*len(t.classM) + class) * t.words
	return t.sets[at : at+t.words]
}

// forbids looks one difference up.
func (t *table) forbids(a, b, class, delta int) bool {
	i := delta + t.reach
	return i >= 0 && i <= 2*t.reach && t.set(a, b, class)[i>>6]>>(i&63)&1 != 0
}

// mostClasses of separation: the table grows with them. Where more are asked for,
// pairs are kept as far apart as the next class wants.
const mostClasses = 16

// classesOf are the classes for some separations, rising: each of them where they
// are few, else such as each can be rounded up to.
func classesOf(separationM []float64) []float64 {
	all := slices.Clone(separationM)
	slices.Sort(all)
	all = slices.Compact(all)
	if len(all) <= mostClasses {
		return all
	}
	var out []float64
	for k := 1; k <= mostClasses; k++ {
		out = append(out, all[k*len(all)/mostClasses-1])
	}
	return out
}

// class is the class of a separation: the least that is no smaller.
func (t *table) class(m float64) int {
	i, _ := slices.BinarySearch(t.classM, m)
	return min(i, len(t.classM)-1)
}

// newTable fills a table, sharing the pairs among the cores. Given up by ctx it is
// not whole and must not be used.
func newTable(ctx context.Context, tracks []track, classM []float64) *table {
	t := &table{classM: classM, n: len(tracks)}
	for i := range tracks {
		t.reach = max(t.reach, int(tracks[i].endS/60)+1)
	}
	t.words = (2*t.reach + 64) / 64
	t.sets = make([]uint64, t.n*t.n*len(classM)*t.words)
	_ = parallel.With(ctx, 0, t.n, func() func(int) error { // ends early only with ctx
		diff := make([]int32, len(classM)*(2*t.reach+2))
		return func(a int) error {
			for b := a; b < t.n; b++ {
				t.pair(tracks, a, b, diff)
			}
			return nil
		}
	})
	return t
}

// pair fills the sets of a pair and of its mirror image.
func (t *table) pair(tracks []track, a, b int, diff []int32) {
	clear(diff)
	width := 2*t.reach + 2
	most := t.classM[len(t.classM)-1]
	x, y := &tracks[a], &tracks[b]
	for i := range x.blocks {
		for j := range y.blocks {
			p, q := &x.blocks[i], &y.blocks[j]
			if p.at.DistanceM(q.at) < most+p.rM+q.rM || p.zone && q.zone {
				t.blocks(x.cells[p.first:p.through], y.cells[q.first:q.through], diff, width)
			}
		}
	}
	for k := range t.classM {
		t.spread(diff[k*width:(k+1)*width], k, a, b)
	}
}

// blocks adds the conflicts of two blocks to the differences of differences: of
// each pair of cells to the least class in which it is one.
func (t *table) blocks(xs, ys []cell, diff []int32, width int) {
	for i := range xs {
		x := &xs[i]
		for j := range ys {
			y := &ys[j]
			k := 0
			if !x.zone || !y.zone {
				gap := x.at.DistanceM(y.at) - x.rM - y.rM
				for k < len(t.classM) && gap >= t.classM[k] {
					k++
				}
				if k == len(t.classM) {
					continue
				}
			}
			lo := int(math.Ceil((x.earlyS - y.upS) / 60))
			hi := int(math.Floor((x.upS - y.earlyS) / 60))
			if lo <= hi {
				diff[k*width+lo+t.reach]++
				diff[k*width+hi+1+t.reach]--
			}
		}
	}
}

// spread turns counts into the sets of a class, which hold those of the class
// below.
func (t *table) spread(diff []int32, k, a, b int) {
	to, mirror := t.set(a, b, k), t.set(b, a, k)
	if k > 0 {
		copy(to, t.set(a, b, k-1))
		copy(mirror, t.set(b, a, k-1))
	}
	open := int32(0)
	for i := 0; i <= 2*t.reach; i++ {
		open += diff[i]
		if open > 0 {
			to[i>>6] |= 1 << (i & 63)
			m := 2*t.reach - i
			mirror[m>>6] |= 1 << (m & 63)
		}
	}
}

// slots is a set of minutes of the outing.
type slots []uint64

// fill makes the set hold the minutes from..to.
func (s slots) fill(from, to int) {
	clear(s)
	s.span(from, to, func(w int, mask uint64) { s[w] = mask })
}

// drop takes out the minutes from..to.
func (s slots) drop(from, to int) {
	s.span(from, to, func(w int, mask uint64) { s[w] &^= mask })
}

// span visits the words that hold the minutes from..to with the bits of these.
func (s slots) span(from, to int, visit func(w int, mask uint64)) {
	from, to = max(0, from), min(to, 64*len(s)-1)
	if from > to {
		return
	}
	for w := from >> 6; w <= to>>6; w++ {
		mask := ^uint64(0)
		if w == from>>6 {
			mask <<= from & 63
		}
		if w == to>>6 {
			mask &= ^uint64(0) >> (63 - to&63)
		}
		visit(w, mask)
	}
}

// dropShifted takes out the minutes of a set of differences counted from start.
func (s slots) dropShifted(set []uint64, reach, start int) {
	for w := range s {
		from := 64*w - start + reach // bit of the set that falls on the word's first minute
		s[w] &^= window(set, from)
	}
}

// window is the 64 bits of a set from a bit on; outside it is empty.
func window(set []uint64, from int) (x uint64) {
	i, r := from>>6, uint(from&63)
	if i >= 0 && i < len(set) {
		x = set[i] >> r
	}
	if r > 0 && i+1 >= 0 && i+1 < len(set) {
		x |= set[i+1] << (64 - r)
	}
	return x
}

func (s slots) has(i int) bool { return i >= 0 && i>>6 < len(s) && s[i>>6]>>(i&63)&1 != 0 }

func (s slots) none() bool {
	for _, w := range s {
		if w != 0 {
			return false
		}
	}
	return true
}

// first is the first minute of the set, -1 if it is empty.
func (s slots) first() int { return s.next(0) }

// next is the first minute of the set from one on, -1 if there is none.
func (s slots) next(from int) int {
	for i := from >> 6; i < len(s); i++ {
		w := s[i]
		if i == from>>6 {
			w &= ^uint64(0) << (from & 63)
		}
		if w != 0 {
			return 64*i + bits.TrailingZeros64(w)
		}
	}
	return -1
}

func (s slots) count() (n int) {
	for _, w := range s {
		n += bits.OnesCount64(w)
	}
	return n
}

// nth is the n-th minute of the set, from 0.
func (s slots) nth(n int) int {
	for i, w := range s {
		if c := bits.OnesCount64(w); n >= c {
			n -= c
			continue
		}
		for ; n > 0; n-- {
			w &= w - 1
		}
		return 64*i + bits.TrailingZeros64(w)
	}
	return -1
}

// ends keeps the minutes at either end of a run of the set.
func (s slots) ends(into slots) {
	for i := range s {
		before, after := s[i]<<1, s[i]>>1
		if i > 0 {
			before |= s[i-1] >> 63
		}
		if i+1 < len(s) {
			after |= s[i+1] << 63
		}
		into[i] = s[i] &^ (before & after)
	}
}
