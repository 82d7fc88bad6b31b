package elevation_test

import (
	"fmt"

	"wideberth/osmdata/elevation"
)

// One walks fastest on a slope of 5 % downhill (Tobler 1993).
func ExampleSlowness() {
	for _, slope := range []float64{0, 0.1, -0.05} {
		fmt.Printf("%.2f\n", elevation.Slowness(slope))
	}
	// Output:
	// 1.00
	// 1.42
	// 0.84
}
