package counts_test

import (
	"fmt"

	"wideberth/routing/counts"
)

// A model that tells twice as many as were counted in two places and as many in a third.
func ExampleOf() {
	s := counts.Of([]counts.Pair{
		{Predicted: 20, Counted: 10, Shape: 2}, {Predicted: 80, Counted: 40, Shape: 2}, {Predicted: 30, Counted: 30, Shape: 2},
	})
	fmt.Printf("%d pairs, %.2f times the counts, within a factor of three: %d\n", s.N, s.GM, s.Within3)
	// Output: 3 pairs, 1.59 times the counts, within a factor of three: 3
}
