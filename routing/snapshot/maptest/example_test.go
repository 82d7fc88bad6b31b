package maptest_test

import (
	"fmt"

	"wideberth/routing/snapshot/maptest"
)

// The invented town is made once, however often it is asked for.
func ExampleInvented() {
	first, again := maptest.Invented(), maptest.Invented()
	fmt.Println(first.Name, first == again)
	// Output: Tannerswick true
}
