package homes_test

import (
	"fmt"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/homes"
	"wideberth/routing/survey/sketch"
)

// Where no building is mapped, homes lie along the streets: fifty a kilometre.
func ExampleFind() {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 0, 2000, 0))
	h := homes.Find(&k.X, 2, nil)
	fmt.Println("from buildings:", h.Mapped(plane.Point{X: 250}))
	fmt.Println("dense:", h.DwellingsPerKM2(plane.Point{X: 1000}) > 10)
	// Output:
	// from buildings: false
	// dense: true
}
