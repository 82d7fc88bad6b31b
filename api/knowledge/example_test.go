package knowledge_test

import (
	"fmt"

	"wideberth/api/knowledge"
	"wideberth/api/wire/kept"
)

// Of a dog of which nothing is said, a wide default is taken, and said to be one.
func ExampleDistances() {
	d, err := knowledge.Distances(&kept.Profile{Name: "Fern"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for name, x := range d {
		fmt.Println(name, x.From, x.WorkingM)
	}
	// Output: dogs unknown 25
}
