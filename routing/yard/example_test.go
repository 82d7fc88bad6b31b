package yard_test

import (
	"fmt"

	"wideberth/osmdata/plane"
	"wideberth/routing/yard"
)

// A yard is asked by places on the plane.
func Example() {
	y := yard.Yard{Car: plane.Point{X: 1000, Y: 500}}
	meadow := plane.Point{X: 1040, Y: 520}
	y.Set(y.At(meadow), yard.Grass)
	fmt.Println(y.Cell(y.At(meadow)) >= yard.Grass, y.Cell(y.At(y.Car)) == yard.Closed, y.Count(yard.Grass))
	// Output: true true 1
}
