package plane

import (
	"iter"
	"math"
	"math/bits"
	"slices"
)

// Segment is one straight piece in an Index. ID is the caller's, Mask says what
// the piece is or stops: a query meets the pieces that share a bit with its own
// mask. A piece whose ends coincide is a point.
type Segment struct {
	A, B Point
	ID   int32
	Mask uint8
}

// Hit is a piece found by an index.
type Hit struct {
	Segment int32 // index into the slice the Index was made from
	ID      int32 // its ID
	At      Point // the nearest point, or the point hit
	DistM   float64
}

// Index finds segments by place. It is a uniform grid whose occupied cells stand
// in one hash table, so that its size follows the pieces and not the box around
// them. Rays of tens of metres are what it is made for: a grid of about 32 m was
// three to seven times faster for them than a packed R-tree in a measured
// prototype. Immutable; may be shared between goroutines.
type Index struct {
	segs   []Segment
	lines  *Lines // in place of segs: an index that lies in a file
	cellM  float64
	table  cellTable // numbers the blocks that hold anything
	blocks []block
	from   []uint32 // by occupied cell, block by block, and one more: its first in list
	list   []int32
	box    Box // of all pieces, in cells
}

// A block is a square of cells that lie side by side in memory too, because a ray
// that has looked at one looks at its neighbour next.
const (
	blockBits  = 3
	blockSide  = 1 << blockBits
	blockCells = blockSide * blockSide
)

// block says which of its cells hold pieces, where in from the first of them is, and
// what masks they have between them: where there is open ground a query need look no
// further.
type block struct {
	occupied uint64
	first    uint32
	masks    uint8
}

// cell gives where in from a cell of the block is; false if it holds nothing.
func (b *block) cell(k int32) (uint32, bool) {
	bit := uint64(1) << k
	return b.first + uint32(bits.OnesCount64(b.occupied&(bit-1))), b.occupied&bit != 0
}

// inBlock is the number of a cell in its block.
func inBlock(cx, cy int32) int32 { return cy&(blockSide-1)<<blockBits | cx&(blockSide-1) }

// slackM widens the cells that a piece is listed in, so that a crossing exactly on
// a border or corner is found from both sides; far above the rounding of
// coordinates, which is below 2e-9 m up to 10,000 km from the origin.
const slackM = 1e-6

// worldM bounds coordinates that an index takes, in metres: more than twice round
// the earth.
const worldM = 1e8

// Far is a limit for Nearest that leaves nothing out: nothing on the earth is
// farther, in metres.
const Far = worldM

// linearRings is the number of rings of cells that a nearest search looks at
// before it takes the plain scan of all pieces instead.
const linearRings = 64

// NewIndex makes an index of the segments, which it keeps and which must not be
// changed, with cells cellM metres wide. Segments that do not lie on the earth
// (coordinates that are not finite or above 100,000 km) are left out.
func NewIndex(segs []Segment, cellM float64) *Index {
	x := &Index{segs: segs, cellM: cellM, table: newCellTable(len(segs) / blockSide), box: EmptyBox()}
	var listed, owner []int32 // per listing: block and cell in one number, and the piece
	var count []uint32        // by block and cell
	for i := range segs {
		x.cover(segs[i].A, segs[i].B, func(cx, cy int32) {
			b := x.table.add(cx>>blockBits, cy>>blockBits)
			if int(b) == len(x.blocks) {
				x.blocks = append(x.blocks, block{})
				count = append(count, make([]uint32, blockCells)...)
			}
			x.blocks[b].masks |= segs[i].Mask
			c := b<<(2*blockBits) | inBlock(cx, cy)
			count[c]++
			listed, owner = append(listed, c), append(owner, int32(i))
			x.box = x.box.With(Point{float64(cx), float64(cy)})
		})
	}
	at := uint32(0)
	for b := range x.blocks {
		x.blocks[b].first = uint32(len(x.from))
		for k, n := range count[b*blockCells : (b+1)*blockCells] {
			if n > 0 {
				x.blocks[b].occupied |= 1 << k
				x.from = append(x.from, at)
			}
			count[b*blockCells+k] = at // from here on: where its next piece goes
			at += n
		}
	}
	x.from = append(x.from, at)
	x.list = make([]int32, len(listed))
	for n, c := range listed {
		x.list[count[c]] = owner[n]
		count[c]++
	}
	return x
}

// cover calls yield for every cell that comes within slackM of the segment.
func (x *Index) cover(a, b Point, yield func(cx, cy int32)) {
	if a.X > b.X {
		a, b = b, a
	}
	if far := math.Abs(a.X) + math.Abs(a.Y) + math.Abs(b.X) + math.Abs(b.Y); !(far <= worldM) {
		return
	}
	lo, hi := x.cell(a.X-slackM), x.cell(b.X+slackM)
	for cx := lo; cx <= hi; cx++ {
		y0, y1 := a.Y, b.Y
		if lo != hi && b.X > a.X {
			k := (b.Y - a.Y) / (b.X - a.X)
			left, right := float64(cx)*x.cellM-slackM, float64(cx+1)*x.cellM+slackM
			y0 = a.Y + k*(min(max(left, a.X), b.X)-a.X)
			y1 = a.Y + k*(min(max(right, a.X), b.X)-a.X)
		}
		for cy := x.cell(min(y0, y1) - slackM); cy <= x.cell(max(y0, y1)+slackM); cy++ {
			yield(cx, cy)
		}
	}
}

func (x *Index) cell(v float64) int32 { return int32(math.Floor(v / x.cellM)) }

// at is the list of pieces in a cell.
func (x *Index) at(cx, cy int32) []int32 {
	b := x.table.find(cx>>blockBits, cy>>blockBits)
	if b < 0 {
		return nil
	}
	return x.inCell(&x.blocks[b], inBlock(cx, cy))
}

// inCell is the list of pieces in a cell of a block.
func (x *Index) inCell(b *block, k int32) []int32 {
	i, holds := b.cell(k)
	if !holds {
		return nil
	}
	return x.list[x.from[i]:x.from[i+1]]
}

// Segment is the piece with the given index.
func (x *Index) Segment(i int32) Segment {
	if x.lines == nil {
		return x.segs[i]
	}
	a, b := x.lines.ends(i)
	return Segment{A: a, B: b, ID: x.lines.line(i), Mask: x.lines.Mask[i]}
}

// mask is that of a piece.
func (x *Index) mask(i int32) uint8 {
	if x.lines == nil {
		return x.segs[i].Mask
	}
	return x.lines.Mask[i]
}

// ends are where a piece begins and ends.
func (x *Index) ends(i int32) (a, b Point) {
	if x.lines == nil {
		s := &x.segs[i]
		return s.A, s.B
	}
	return x.lines.ends(i)
}

// Len is the number that all indexes of pieces lie below.
func (x *Index) Len() int {
	if x.lines == nil {
		return len(x.segs)
	}
	return len(x.lines.Mask)
}

// InBox appends to dst the indexes of all pieces in the mask that share a point
// with the box, ascending, each once.
func (x *Index) InBox(b Box, mask uint8, dst []int32) []int32 {
	return x.gather(b, mask, dst, func(a, z Point) bool { return segmentMeetsBox(a, z, b) })
}

// Within appends to dst the indexes of all pieces in the mask with a point at
// most rM metres from p, ascending, each once.
func (x *Index) Within(p Point, rM float64, mask uint8, dst []int32) []int32 {
	b := Box{p, p}.Grown(rM)
	return x.gather(b, mask, dst, func(a, z Point) bool {
		q, _ := NearestOnSegment(p, a, z)
		return p.DistanceM(q) <= rM
	})
}

// Any tells whether a piece in the mask shares a point with the box.
func (x *Index) Any(b Box, mask uint8) bool {
	for listed := range x.Listed(b, mask) {
		for _, i := range listed {
			if x.mask(i)&mask == 0 {
				continue
			}
			if a, z := x.ends(i); segmentMeetsBox(a, z, b) {
				return true
			}
		}
	}
	return false
}

// Listed goes through the cells that the box touches, always in the same order, and
// gives what is listed in each: every piece in the mask that shares a point with the box
// at least once, and others, whatever their masks.
func (x *Index) Listed(b Box, mask uint8) iter.Seq[[]int32] {
	return func(yield func([]int32) bool) {
		c := x.cellsOf(b)
		if !(c.Min.X <= c.Max.X && c.Min.Y <= c.Max.Y) { // also when not a number
			return
		}
		x0, y0, x1, y1 := int32(c.Min.X), int32(c.Min.Y), int32(c.Max.X), int32(c.Max.Y)
		for by := y0 >> blockBits; by <= y1>>blockBits; by++ {
			for bx := x0 >> blockBits; bx <= x1>>blockBits; bx++ {
				n := x.table.find(bx, by)
				if n < 0 {
					continue
				}
				k := &x.blocks[n]
				if k.masks&mask == 0 {
					continue
				}
				for in := k.occupied & cellsOfBlock(x0-bx<<blockBits, y0-by<<blockBits, x1-bx<<blockBits, y1-by<<blockBits); in != 0; in &= in - 1 {
					i, _ := k.cell(int32(bits.TrailingZeros64(in)))
					if !yield(x.list[x.from[i]:x.from[i+1]]) {
						return
					}
				}
			}
		}
	}
}

// cellsOfBlock has a bit for each cell of a block whose column and row lie between two
// bounds, which may lie outside it.
func cellsOfBlock(x0, y0, x1, y1 int32) uint64 {
	between := func(lo, hi int32) uint64 {
		return (1<<(min(hi, blockSide-1)+1) - 1) &^ (1<<max(lo, 0) - 1)
	}
	rows := uint64(0)
	for m := between(y0, y1); m != 0; m &= m - 1 {
		rows |= 1 << (blockSide * bits.TrailingZeros64(m))
	}
	return rows * between(x0, x1)
}

// cellsOf is the box of occupied cells that b touches; empty or not a number if
// there are none.
func (x *Index) cellsOf(b Box) Box {
	return Box{
		Point{max(math.Floor(b.Min.X/x.cellM), x.box.Min.X), max(math.Floor(b.Min.Y/x.cellM), x.box.Min.Y)},
		Point{min(math.Floor(b.Max.X/x.cellM), x.box.Max.X), min(math.Floor(b.Max.Y/x.cellM), x.box.Max.Y)},
	}
}

// gather collects the pieces listed in the cells of b that pass the test.
func (x *Index) gather(b Box, mask uint8, dst []int32, test func(a, b Point) bool) []int32 {
	start := len(dst)
	for listed := range x.Listed(b, mask) {
		for _, i := range listed {
			if x.mask(i)&mask == 0 {
				continue
			}
			if a, b := x.ends(i); test(a, b) {
				dst = append(dst, i)
			}
		}
	}
	slices.Sort(dst[start:])
	return dst[:start+len(slices.Compact(dst[start:]))]
}

// Nearest is the piece in the mask nearest to p, at most maxM metres away (which
// may be infinite). Of equally near pieces the first wins.
func (x *Index) Nearest(p Point, maxM float64, mask uint8) (Hit, bool) {
	best := Hit{Segment: -1, DistM: maxM}
	cx, cy := math.Floor(p.X/x.cellM), math.Floor(p.Y/x.cellM)
	// Rings of cells that cannot touch the occupied box are skipped.
	first := max(0, x.box.Min.X-cx, cx-x.box.Max.X, x.box.Min.Y-cy, cy-x.box.Max.Y)
	last := max(cx-x.box.Min.X, x.box.Max.X-cx, cy-x.box.Min.Y, x.box.Max.Y-cy)
	for k := first; k <= last; k++ {
		if (k-1)*x.cellM > best.DistM {
			return best, best.Segment >= 0
		}
		if k-first > linearRings || k > math.MaxInt16 {
			return x.scan(p, maxM, mask)
		}
		x.ring(int32(cx), int32(cy), int32(k), func(i int32) { best.improve(x, p, i, mask) })
	}
	return best, best.Segment >= 0
}

// ring calls yield for the pieces of all cells k steps from a cell.
func (x *Index) ring(cx, cy, k int32, yield func(i int32)) {
	row := func(y, step int32) {
		for c := cx - k; c <= cx+k; c += step {
			for _, i := range x.at(c, y) {
				yield(i)
			}
		}
	}
	row(cy-k, 1)
	if k == 0 {
		return
	}
	for y := cy - k + 1; y < cy+k; y++ {
		row(y, 2*k)
	}
	row(cy+k, 1)
}

// scan is Nearest without the grid.
func (x *Index) scan(p Point, maxM float64, mask uint8) (Hit, bool) {
	best := Hit{Segment: -1, DistM: maxM}
	for i := range x.Len() {
		best.improve(x, p, int32(i), mask)
	}
	return best, best.Segment >= 0
}

// improve takes piece i for the hit if it is nearer to p.
func (h *Hit) improve(x *Index, p Point, i int32, mask uint8) {
	if x.mask(i)&mask == 0 {
		return
	}
	a, b := x.ends(i)
	q, _ := NearestOnSegment(p, a, b)
	d := p.DistanceM(q)
	if d < h.DistM || d == h.DistM && (h.Segment < 0 || i < h.Segment) {
		*h = Hit{Segment: i, ID: x.Segment(i).ID, At: q, DistM: d}
	}
}
