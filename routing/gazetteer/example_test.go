package gazetteer_test

import (
	"fmt"

	"wideberth/routing/gazetteer"
	"wideberth/routing/snapshot/maptest"
)

// The invented door has a name, and its name leads back to it.
func ExampleGazetteer_Find() {
	s := maptest.Invented()
	g := gazetteer.New(s)
	name, ok := g.Called(maptest.Door(s.Frame))
	found := g.Find("  weaver   ROW 1")
	fmt.Println(name, ok, len(found) > 0 && found[0].Name == "Weaver Row 1")
	// Output:
	// Weaver Row 12 true true
}
