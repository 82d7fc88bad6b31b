package beside

import (
	"math"
	"slices"

	"wideberth/osmdata/plane"
)

// A raster holds areas as cells of rasterM metres in blocks of blockCells by
// blockCells, so that whether a point lies in one of many large areas is one look.
const (
	rasterM    = 5.0
	blockCells = 256
)

type block [blockCells * blockCells / 64]uint64

type raster struct {
	first int32 // row of blocks of the first in rows
	rows  []blockRow
	cross [][]float64 // of fill, by row of cells: where an outline crosses its middle
}

// blockRow is the blocks beside each other from the first that holds anything to the
// last, nil where one holds nothing.
type blockRow struct {
	first  int32
	blocks []*block
}

func newRaster() *raster { return &raster{} }

// contains tells whether the middle of the cell that holds p lies in an area.
func (r *raster) contains(p plane.Point) bool {
	x, y := cellOf(p.X), cellOf(p.Y)
	k := int(y>>8 - r.first)
	if uint(k) >= uint(len(r.rows)) {
		return false
	}
	row := &r.rows[k]
	i := int(x>>8 - row.first)
	if uint(i) >= uint(len(row.blocks)) || row.blocks[i] == nil {
		return false
	}
	bit := y&255<<8 | x&255
	return row.blocks[i][bit>>6]>>(bit&63)&1 != 0
}

// at is a block by its place among blocks, a new one if there is none yet.
func (r *raster) at(bx, by int32) *block {
	row := reached(&r.rows, &r.first, by)
	b := reached(&row.blocks, &row.first, bx)
	if *b == nil {
		*b = new(block)
	}
	return *b
}

// reached is the place of number at in a list whose first has the number first; the list
// is grown either way until it has it.
func reached[T any](list *[]T, first *int32, at int32) *T {
	if len(*list) == 0 {
		*first = at
	}
	if before := *first - at; before > 0 {
		*list = slices.Insert(*list, 0, make([]T, before)...)
		*first = at
	}
	if after := int(at-*first) + 1 - len(*list); after > 0 {
		*list = append(*list, make([]T, after)...)
	}
	return &(*list)[at-*first]
}

func cellOf(v float64) int32 { return int32(math.Floor(v / rasterM)) }

// fill marks the cells whose middle lies in the polygon, row by row between its
// crossings.
func (r *raster) fill(g plane.Polygon) {
	box := g.Box()
	if box.Empty() {
		return
	}
	first := cellOf(box.Min.Y)
	high := int(cellOf(box.Max.Y)-first) + 1
	r.cross = slices.Grow(r.cross[:0], high)[:high]
	crossRows(r.cross, first, g.Outer)
	for _, hole := range g.Holes {
		crossRows(r.cross, first, hole)
	}
	for k, xs := range r.cross {
		slices.Sort(xs)
		for i := 0; i+1 < len(xs); i += 2 {
			r.fillRow(first+int32(k), xs[i], xs[i+1])
		}
		r.cross[k] = xs[:0]
	}
}

// crossRows adds where a ring crosses the middles of rows.
func crossRows(rows [][]float64, first int32, ring plane.Ring) {
	for i := range ring {
		crossedBy(rows, first, ring[i], ring[(i+1)%len(ring)])
	}
}

// crossedBy adds where the piece from a to b crosses the middles of rows.
func crossedBy(rows [][]float64, first int32, a, b plane.Point) {
	if a.Y > b.Y {
		a, b = b, a
	}
	for k := max(0, cellOf(a.Y)-first); int(k) < len(rows); k++ {
		y := (float64(first+k) + 0.5) * rasterM
		if y >= b.Y {
			return
		}
		if y >= a.Y {
			rows[k] = append(rows[k], a.X+(b.X-a.X)*(y-a.Y)/(b.Y-a.Y))
		}
	}
}

// fillRow marks the cells of a row whose middles lie from x0 to x1, block by block and in
// each a word at a time.
func (r *raster) fillRow(y int32, x0, x1 float64) {
	from, to := int32(math.Ceil(x0/rasterM-0.5)), int32(math.Ceil(x1/rasterM-0.5)) // to is left out
	for from < to {
		end := min(to, from|(blockCells-1)+1)
		b := r.at(from>>8, y>>8)
		row := y & 255 << 8
		for lo, hi := row|from&255, row|(end-1)&255; lo <= hi; lo = lo | 63 + 1 {
			word := ^uint64(0) << (lo & 63)
			if hi>>6 == lo>>6 {
				word &= ^uint64(0) >> (63 - hi&63)
			}
			b[lo>>6] |= word
		}
		from = end
	}
}
