package exposure_test

import (
	"fmt"

	"wideberth/exposure"
)

// Half of the encounters go over threshold at the reaction distance, one in ten at
// the working distance.
func ExampleNeed_P() {
	n := exposure.Need{WorkingM: 30, ReactionM: 10}
	fmt.Printf("%.2f %.2f %.2f\n", n.P(10), n.P(30), n.P(90))
	// Output: 0.50 0.10 0.01
}
