package parking_test

import (
	"fmt"

	"wideberth/routing/parking"
	"wideberth/routing/snapshot/maptest"
)

// The invented town has no car parks: one stops where a path leads into a park or wood.
func ExampleFind() {
	for _, s := range parking.Find(maptest.Invented()) {
		fmt.Println(s.Name.Head, "at", s.Name.Settlement, s.Sort == parking.Roadside)
	}
	// Output:
	// Kiln Wood at Tannerswick true
	// Kiln Park at Tannerswick true
	// Heath Green at Tannerswick true
	// Eastmoor Green at Tannerswick true
	// Northmoor Green at Tannerswick true
}
