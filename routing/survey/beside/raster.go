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

type raster struct{ blocks map[[2]int32]*block }

func newRaster() *raster { return &raster{map[[2]int32]*block{}} }

// contains tells whether the middle of the cell that holds p lies in an area.
func (r *raster) contains(p plane.Point) bool {
	x, y := cellOf(p.X), cellOf(p.Y)
	b := r.blocks[[2]int32{x >> 8, y >> 8}]
	if b == nil {
		return false
	}
	bit := y&255<<8 | x&255
	return b[bit>>6]>>(bit&63)&1 != 0
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
	rows := make([][]float64, cellOf(box.Max.Y)-first+1)
	for _, ring := range append([]plane.Ring{g.Outer}, g.Holes...) {
		for i := range ring {
			crossRows(rows, first, ring[i], ring[(i+1)%len(ring)])
		}
	}
	for k, xs := range rows {
		slices.Sort(xs)
		for i := 0; i+1 < len(xs); i += 2 {
			r.fillRow(first+int32(k), xs[i], xs[i+1])
		}
	}
}

// crossRows adds where the piece from a to b crosses the middles of rows.
func crossRows(rows [][]float64, first int32, a, b plane.Point) {
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

// fillRow marks the cells of a row whose middles lie from x0 to x1.
func (r *raster) fillRow(y int32, x0, x1 float64) {
	for x := int32(math.Ceil(x0/rasterM - 0.5)); float64(x) < x1/rasterM-0.5; x++ {
		key := [2]int32{x >> 8, y >> 8}
		b := r.blocks[key]
		if b == nil {
			b = new(block)
			r.blocks[key] = b
		}
		bit := y&255<<8 | x&255
		b[bit>>6] |= 1 << (bit & 63)
	}
}
