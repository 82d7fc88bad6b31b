package beside

import (
	"math"
	"slices"

	"wideberth/osmdata/plane"
)

// A raster holds areas as cells of rasterM metres in blocks of blockCells by
// blockCells, so that whether a point lies in one of many large areas is one look. Cells
// hang on degrees, as plane.Square does, and areas on nodes as they are kept: a part of a
// map has the cells of the whole. In a band of blockCells rows all columns are as wide as
// in its middle.
const (
	rasterM    = 5.0
	blockBits  = 8
	blockCells = 1 << blockBits
	cellMask   = blockCells - 1
)

// cellDeg is how high a cell is in degrees.
const cellDeg = rasterM / plane.MetresPerDegree

type block [blockCells * blockCells / 64]uint64

// blockAt names a block by its band, south to north, and its place in it, west to east.
type blockAt struct{ band, col int32 }

type raster struct {
	frame  plane.Frame
	blocks map[blockAt]*block
}

func newRaster(f plane.Frame) *raster { return &raster{f, map[blockAt]*block{}} }

// band is a band of rows.
type band struct {
	at     int32
	perDeg float64 // columns in a degree of longitude
}

func bandOf(row int32) band {
	at := row >> blockBits
	lat := (float64(at) + .5) * blockCells * cellDeg * math.Pi / 180
	return band{at, max(0.01, math.Cos(lat)) / cellDeg}
}

// eye looks at a raster: one for each worker.
type eye struct {
	*raster
	earth *plane.Earth
	band  band // that was looked at last
	last  blockAt
	block *block // that was looked at last, nil if nothing lies there
}

func (r *raster) eye() *eye {
	return &eye{raster: r, earth: plane.NewEarth(r.frame), band: bandOf(0), last: blockAt{math.MinInt32, 0}}
}

// contains tells whether the middle of the cell that holds p lies in an area.
func (l *eye) contains(p plane.Point) bool {
	if len(l.blocks) == 0 {
		return false
	}
	lon, lat := l.earth.Degrees(p)
	y := int32(math.Floor(lat / cellDeg))
	if y>>blockBits != l.band.at {
		l.band = bandOf(y)
	}
	x := int32(math.Floor(lon * l.band.perDeg))
	if at := (blockAt{l.band.at, x >> blockBits}); at != l.last {
		l.last, l.block = at, l.blocks[at]
	}
	if l.block == nil {
		return false
	}
	bit := y&cellMask<<blockBits | x&cellMask
	return l.block[bit>>6]>>(bit&63)&1 != 0
}

// fill marks the cells whose middle lies in the polygon, row by row between its
// crossings.
func (r *raster) fill(g plane.Polygon) {
	earth := plane.NewEarth(r.frame)
	var rings [][]plane.Point // of longitudes and rows
	south, north := math.Inf(1), math.Inf(-1)
	for _, ring := range append([]plane.Ring{g.Outer}, g.Holes...) {
		out := make([]plane.Point, len(ring))
		for i, p := range ring {
			lon, lat := earth.Node(p)
			out[i] = plane.Point{X: lon, Y: lat / cellDeg}
			south, north = min(south, out[i].Y), max(north, out[i].Y)
		}
		rings = append(rings, out)
	}
	if south > north {
		return
	}
	first := int32(math.Floor(south))
	rows := make([][]float64, int32(math.Floor(north))-first+1)
	for _, ring := range rings {
		for i := range ring {
			crossRows(rows, first, ring[i], ring[(i+1)%len(ring)])
		}
	}
	b := bandOf(first)
	for k, lons := range rows {
		slices.Sort(lons)
		y := first + int32(k)
		if y>>blockBits != b.at {
			b = bandOf(y)
		}
		for i := 0; i+1 < len(lons); i += 2 {
			r.fillRow(b, y, lons[i]*b.perDeg, lons[i+1]*b.perDeg)
		}
	}
}

// crossRows adds where the piece from a to b crosses the middles of rows.
func crossRows(rows [][]float64, first int32, a, b plane.Point) {
	if a.Y > b.Y || a.Y == b.Y && a.X > b.X { // the same whichever way round
		a, b = b, a
	}
	for k := max(0, int32(math.Floor(a.Y))-first); int(k) < len(rows); k++ {
		y := float64(first+k) + 0.5
		if y >= b.Y {
			return
		}
		if y >= a.Y {
			rows[k] = append(rows[k], a.X+(b.X-a.X)*(y-a.Y)/(b.Y-a.Y))
		}
	}
}

// fillRow marks the cells of a row whose middles lie from column x0 to x1.
func (r *raster) fillRow(b band, y int32, x0, x1 float64) {
	for x := int32(math.Ceil(x0 - 0.5)); float64(x) < x1-0.5; x++ {
		key := blockAt{b.at, x >> blockBits}
		cells := r.blocks[key]
		if cells == nil {
			cells = new(block)
			r.blocks[key] = cells
		}
		bit := y&cellMask<<blockBits | x&cellMask
		cells[bit>>6] |= 1 << (bit & 63)
	}
}
