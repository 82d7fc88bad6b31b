package beside

import (
	"math"
	"slices"

	"wideberth/osmdata/plane"
)

// A raster holds areas as cells of rasterM metres in blocks of blockCells by
// blockCells, so that whether a point lies in one of many large areas is one look. Cells
// hang on degrees, as plane.Square does, and areas on nodes as they are kept: a part of a
// map has the cells of the whole. In a row of blocks all columns are as wide as in its
// middle.
const (
	rasterM    = 5.0
	blockCells = 256
)

// cellDeg is how high a cell is in degrees.
const cellDeg = rasterM / plane.MetresPerDegree

type block [blockCells * blockCells / 64]uint64

type raster struct {
	earth *plane.Earth // of fill
	first int32        // row of blocks of the first in rows
	rows  []blockRow
	ring  []plane.Point // of fill: longitudes and rows of cells
	cross [][]float64   // of fill, by row of cells: longitudes at which an outline crosses its middle
}

// blockRow is the blocks beside each other from the first that holds anything to the
// last, nil where one holds nothing.
type blockRow struct {
	perDeg float64 // columns of cells in a degree of longitude
	first  int32
	blocks []*block
}

func newRaster(f plane.Frame) *raster { return newRasterOn(plane.NewEarth(f)) }

// newRasterOn is one that asks an earth which others ask too.
func newRasterOn(e *plane.Earth) *raster { return &raster{earth: e.Apart()} }

// columnsPerDeg is how many columns of cells a degree of longitude has in a row of blocks.
func columnsPerDeg(by int32) float64 {
	return max(0.01, math.Cos((float64(by)+.5)*blockCells*cellDeg*math.Pi/180)) / cellDeg
}

// eye looks at a raster: one for each worker.
type eye struct {
	*raster
	earth *plane.Earth
}

func (r *raster) eye() *eye { return &eye{r, r.earth.Apart()} }

// contains tells whether the middle of the cell that holds p lies in an area.
func (l *eye) contains(p plane.Point) bool {
	if len(l.rows) == 0 {
		return false
	}
	lon, lat := l.earth.Degrees(p)
	y := cellOf(lat / cellDeg)
	k := int(y>>8 - l.first)
	if uint(k) >= uint(len(l.rows)) {
		return false
	}
	row := &l.rows[k]
	x := cellOf(lon * row.perDeg)
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
	row.perDeg = columnsPerDeg(by)
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

func cellOf(v float64) int32 { return int32(math.Floor(v)) }

// fill marks the cells whose middle lies in the polygon, row by row between its
// crossings.
func (r *raster) fill(g plane.Polygon) {
	south, north := math.Inf(1), math.Inf(-1)
	for _, p := range g.Outer {
		_, lat := r.earth.Node(p)
		south, north = min(south, lat/cellDeg), max(north, lat/cellDeg)
	}
	if south > north {
		return
	}
	first := cellOf(south)
	high := int(cellOf(north)-first) + 1
	r.cross = slices.Grow(r.cross[:0], high)[:high]
	r.crossRows(first, g.Outer)
	for _, hole := range g.Holes {
		r.crossRows(first, hole)
	}
	by, perDeg := first>>8, columnsPerDeg(first>>8)
	for k, lons := range r.cross {
		y := first + int32(k)
		if y>>8 != by {
			by, perDeg = y>>8, columnsPerDeg(y>>8)
		}
		slices.Sort(lons)
		for i := 0; i+1 < len(lons); i += 2 {
			r.fillRow(y, lons[i]*perDeg, lons[i+1]*perDeg)
		}
		r.cross[k] = lons[:0]
	}
}

// crossRows adds where a ring crosses the middles of rows.
func (r *raster) crossRows(first int32, ring plane.Ring) {
	r.ring = r.ring[:0]
	for _, p := range ring {
		lon, lat := r.earth.Node(p)
		r.ring = append(r.ring, plane.Point{X: lon, Y: lat / cellDeg})
	}
	for i := range r.ring {
		crossedBy(r.cross, first, r.ring[i], r.ring[(i+1)%len(r.ring)])
	}
}

// crossedBy adds where the piece from a to b crosses the middles of rows, the same
// whichever way round it is.
func crossedBy(rows [][]float64, first int32, a, b plane.Point) {
	if a.Y > b.Y {
		a, b = b, a
	}
	for k := max(0, cellOf(a.Y)-first); int(k) < len(rows); k++ {
		y := float64(first+k) + 0.5
		if y >= b.Y {
			return
		}
		if y >= a.Y {
			rows[k] = append(rows[k], a.X+(b.X-a.X)*(y-a.Y)/(b.Y-a.Y))
		}
	}
}

// fillRow marks the cells of a row whose middles lie between two places, counted in
// columns, block by block and in each a word at a time.
func (r *raster) fillRow(y int32, x0, x1 float64) {
	from, to := int32(math.Ceil(x0-0.5)), int32(math.Ceil(x1-0.5)) // to is left out
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
