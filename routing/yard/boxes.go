package yard

import (
	"math"
	"slices"

	"wideberth/osmdata/plane"
)

// boxes finds things by their boxes, on a coarse grid: areas may hold a yard whole, so
// that none of their outline lies in it.
type boxes struct {
	of   func(i int) plane.Box
	held map[[2]int32][]int32
}

// boxCellM is about the size of a yard.
const boxCellM = 512.0

func newBoxes(n int, of func(i int) plane.Box) *boxes {
	b := &boxes{of: of, held: map[[2]int32][]int32{}}
	for i := range n {
		if box := of(i); !box.Empty() {
			b.cells(box, func(c [2]int32) { b.held[c] = append(b.held[c], int32(i)) })
		}
	}
	return b
}

func (b *boxes) cells(box plane.Box, f func(c [2]int32)) {
	at := func(m float64) int32 { return int32(math.Floor(m / boxCellM)) }
	for x := at(box.Min.X); x <= at(box.Max.X); x++ {
		for y := at(box.Min.Y); y <= at(box.Max.Y); y++ {
			f([2]int32{x, y})
		}
	}
}

// in lists what has its box in another, ascending.
func (b *boxes) in(box plane.Box) (out []int32) {
	b.cells(box, func(c [2]int32) {
		for _, i := range b.held[c] {
			if b.of(int(i)).Intersects(box) {
				out = append(out, i)
			}
		}
	})
	slices.Sort(out)
	return slices.Compact(out)
}
