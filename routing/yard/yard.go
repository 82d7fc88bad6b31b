// Package yard is the open ground round a place where a car is left, as a grid of
// cells that each say whether one may stay there: what a meeting with a known helper
// is laid out on. It hides how areas, buildings, barriers and lanes become cells.
package yard

import (
	"math"

	"wideberth/osmdata/plane"
)

// CellM is the width of a cell in metres, Across how many there are in a row.
const (
	CellM  = 10.0
	Across = 33
)

// Cell is what the ground about a cell's middle is.
type Cell uint8

// The cells, from the least open to the most.
const (
	Closed Cell = iota // built on, water, beside a street, fenced, private or not known
	Passed             // may be walked across: a lane of a car park, a footway
	Grass              // grass whose owner the map does not tell
	Public             // a park, a pitch, a green
)

// Yard is the ground of one place, north up. Cell (x, y) of the grid has its middle
// at Corner + (CellM x, CellM y).
type Yard struct {
	Car   plane.Point // where the car is left
	Cells [Size]byte  // four cells to a byte, row by row from the south west
}

// Size is the number of bytes of a yard's cells.
const Size = (Across*Across + 3) / 4

// Corner is the middle of the south-western cell.
func (y *Yard) Corner() plane.Point {
	const half = CellM * (Across - 1) / 2
	return y.Car.Sub(plane.Point{X: half, Y: half})
}

// Middle is the middle of a cell by its number.
func (y *Yard) Middle(cell int) plane.Point {
	return y.Corner().Add(plane.Point{X: CellM * float64(cell%Across), Y: CellM * float64(cell/Across)})
}

// At is the number of the cell that a point lies in, -1 for none.
func (y *Yard) At(p plane.Point) int {
	d := p.Sub(y.Corner())
	i, j := int(math.Floor(d.X/CellM+.5)), int(math.Floor(d.Y/CellM+.5))
	if i < 0 || j < 0 || i >= Across || j >= Across {
		return -1
	}
	return j*Across + i
}

// Cell is what a cell is by its number; what lies outside is closed.
func (y *Yard) Cell(cell int) Cell {
	if cell < 0 {
		return Closed
	}
	return Cell(y.Cells[cell/4] >> (cell % 4 * 2) & 3)
}

// Set says what a cell is.
func (y *Yard) Set(cell int, c Cell) {
	shift := cell % 4 * 2
	y.Cells[cell/4] = y.Cells[cell/4]&^(3<<shift) | byte(c)<<shift
}

// Count is how many cells are at least so open.
func (y *Yard) Count(least Cell) (n int) {
	for i := range Across * Across {
		if y.Cell(i) >= least {
			n++
		}
	}
	return n
}
