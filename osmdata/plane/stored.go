package plane

import (
	"math"
	"math/bits"
	"sort"
)

// Lines are lines that lie in a file, as an Index looks at their pieces: piece i runs from
// At[i] to At[i+1].
type Lines struct {
	At     []Centimetres // the points of all lines
	End    []int32       // where each line ends in At
	Mask   []uint8       // by point: that of the piece which begins there, 0 where a line ends
	Ground Extent        // what all points lie on
}

// LinesOf are lines with the mask of each.
func LinesOf(at []Centimetres, end []int32, ground Extent, mask func(line int) uint8) *Lines {
	l := &Lines{At: at, End: end, Ground: ground, Mask: make([]uint8, len(at))}
	from := int32(0)
	for i, to := range end {
		for k := from; k < to-1; k++ {
			l.Mask[k] = mask(i)
		}
		from = to
	}
	return l
}

// ends are where a piece begins and ends, which is a point where no piece begins.
func (l *Lines) ends(i int32) (a, b Point) {
	return l.Ground.Held(l.At[i]).Point(), l.Ground.Held(l.At[min(int(i)+1, len(l.At)-1)]).Point()
}

// line is the number of the line that a piece is of.
func (l *Lines) line(i int32) int32 {
	return int32(sort.Search(len(l.End), func(k int) bool { return l.End[k] > i }))
}

// Grid is an Index without its pieces, as it lies in a file.
type Grid struct {
	Block    [][2]int32 // column and row of each block of cells that holds anything
	Occupied []uint64   // by block: the cells that do, row by row from the south west
	From     []uint32   // by occupied cell, and one more: its first in Piece
	Piece    []int32
}

// Grid is what an index of lines' pieces holds: NewIndex of the pieces of some lines, in
// order, with the line as ID, and Lines.Index of those lines and this grid, find the same.
func (x *Index) Grid() Grid {
	g := Grid{Block: make([][2]int32, len(x.blocks)), Occupied: make([]uint64, len(x.blocks)), From: x.from, Piece: make([]int32, len(x.list))}
	for i, n := range x.table.nums {
		if n > 0 {
			key := x.table.keys[i]
			g.Block[n-1] = [2]int32{int32(uint32(key >> 32)), int32(uint32(key))}
		}
	}
	for b := range x.blocks {
		g.Occupied[b] = x.blocks[b].occupied
	}
	for i, n := range x.list {
		g.Piece[i] = n + x.segs[n].ID // each line has one piece less than points
	}
	return g
}

// Sound says whether a grid can be that of n points: whatever else is in it, it leads to
// pieces that there are.
func (g *Grid) Sound(n int) bool {
	cells := 0
	for _, o := range g.Occupied {
		cells += bits.OnesCount64(o)
	}
	if len(g.Block) != len(g.Occupied) || len(g.From) != cells+1 || g.From[0] != 0 || int64(g.From[cells]) != int64(len(g.Piece)) {
		return false
	}
	for i := 1; i < len(g.From); i++ {
		if g.From[i] < g.From[i-1] {
			return false
		}
	}
	for _, p := range g.Piece {
		if p < 0 || int(p) >= n {
			return false
		}
	}
	return true
}

// Index is the index of lines and the grid that was made of them, which is Sound for
// their points.
func (l *Lines) Index(g Grid, cellM float64) *Index {
	x := &Index{lines: l, cellM: cellM, table: newCellTable(len(g.Block)), box: EmptyBox(), from: g.From, list: g.Piece}
	first := uint32(0)
	for i, at := range g.Block {
		if int(x.table.add(at[0], at[1])) == len(x.blocks) { // else it stands twice, and the first is found
			x.blocks = append(x.blocks, block{g.Occupied[i], first, math.MaxUint8}) // any mask may be there
		}
		for cells := g.Occupied[i]; cells != 0; cells &= cells - 1 {
			k := bits.TrailingZeros64(cells)
			x.box = x.box.With(Point{math.Ldexp(float64(at[0]), blockBits) + float64(k&(blockSide-1)), math.Ldexp(float64(at[1]), blockBits) + float64(k>>blockBits)})
		}
		first += uint32(bits.OnesCount64(g.Occupied[i]))
	}
	return x
}
