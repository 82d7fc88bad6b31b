package tagvalue_test

import (
	"fmt"

	"wideberth/osmdata/tagvalue"
)

// A limit in miles an hour, a width in feet and inches, and what nobody can read.
func Example() {
	speedMPS, _ := tagvalue.Speed("30 mph")
	widthM, _ := tagvalue.Width("12'6\"")
	_, ok := tagvalue.Lanes("many")
	fmt.Printf("%.1f m/s, %.2f m, %v", speedMPS, widthM, ok)
	// Output: 13.4 m/s, 3.81 m, false
}
