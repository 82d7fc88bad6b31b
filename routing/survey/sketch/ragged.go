package sketch

import (
	"math/rand/v2"

	"wideberth/osmdata"
)

// Ragged is a map of blocks with gaps, cul-de-sacs that branch, a square on which
// many streets meet, and pieces that hang together with nothing.
func Ragged(r *rand.Rand) *Map {
	k := New()
	n := 3 + r.IntN(5)
	at := func(i, j int) (x, y float64) {
		return 130*float64(i) + float64(37*i*j%50), 110*float64(j) + float64(53*i*(j+2)%40)
	}
	street := func(x0, y0, x1, y1 float64) { k.Street(osmdata.Residential, Line(x0, y0, x1, y1)) }
	keep := .4 + .6*r.Float64()
	for i := range n {
		for j := range n {
			x, y := at(i, j)
			if i+1 < n && r.Float64() < keep {
				x1, y1 := at(i+1, j)
				street(x, y, x1, y1)
			}
			if j+1 < n && r.Float64() < keep {
				x1, y1 := at(i, j+1)
				street(x, y, x1, y1)
			}
			for depth := r.IntN(4); depth > 0; depth-- { // a cul-de-sac that branches
				x1, y1 := x+20+30*r.Float64(), y+20+30*r.Float64()
				street(x, y, x1, y1)
				street(x, y, x+15*r.Float64(), y-30-20*r.Float64())
				x, y = x1, y1
			}
		}
	}
	for range r.IntN(20) { // more streets at one place than a byte has bits
		x, y := at(r.IntN(n), r.IntN(n))
		street(55, 47, x, y)
	}
	street(9000, 0, 9100, 0)
	street(9100, 0, 9100, 70+100*r.Float64())
	return k
}
