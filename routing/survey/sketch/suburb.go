package sketch

import (
	"math"
	"math/rand/v2"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

func Footprint(x, y, side float64) plane.Polygon {
	return plane.Polygon{Outer: plane.Ring(Line(x, y, x+side, y, x+side, y+side, x, y+side))}
}

// Place adds a feature at a point.
func Place(k *Map, as string, x, y float64) {
	k.X.Features = append(k.X.Features, osmdata.Feature{As: as, OSM: "node/1", Point: plane.Point{X: x, Y: y}})
}

// Area adds a feature with a square area.
func Area(k *Map, as string, x, y, side float64) {
	k.X.Features = append(k.X.Features, osmdata.Feature{As: as, OSM: "way/1", Point: plane.Point{X: x + side/2, Y: y + side/2},
		Areas: []plane.Polygon{Footprint(x, y, side)}})
}

// town is a suburb with shops, stops, a school and a park.
func SmallTown(n int) *Map {
	k := Suburb(n, 6)
	Place(k, "shop", 250, 130)
	Place(k, "shop", 380, 130)
	Place(k, "bus_stop", 300, 360)
	Place(k, "school", 600, 600)
	Area(k, "park", 470, 230, 200)
	Place(k, "parking", 480, 240)
	return k
}

// Suburb is a grid of n by n blocks of 120 m with some edges left out, dead ends,
// and a loop: the same streets for the same seed.
func Suburb(n int, seed uint64) *Map {
	k := New()
	r := rand.New(rand.NewPCG(seed, 3))
	at := func(i, j int) (x, y float64) { // crooked, so that no two ways are equally long
		return float64(120*i) + 15*math.Sin(float64(7*i+13*j)), float64(120*j) + 15*math.Cos(float64(11*i+5*j))
	}
	for i := range n {
		for j := range n {
			x, y := at(i, j)
			if r.IntN(10) > 0 {
				ex, ey := at(i+1, j)
				k.Street(osmdata.Residential, Line(x, y, ex, ey))
			}
			if r.IntN(10) > 0 {
				nx, ny := at(i, j+1)
				k.Street(osmdata.Residential, Line(x, y, x+30, y+60, nx, ny))
			}
			if r.IntN(6) == 0 {
				k.Street(osmdata.Residential, Line(x, y, x+50, y+50)) // a dead end
			}
		}
	}
	x, y := at(0, 0)
	k.Street(osmdata.Path, Line(x, y, -40, 0, -40, -40, 0, -40, x, y)) // a loop
	return k
}
