package body_test

import (
	"fmt"

	"wideberth/api/body"
)

// A mark that would turn the rest of a name about is taken out; a name that stands twice
// is refused.
func ExampleUnmarshal() {
	var dog struct{ Name string }
	fmt.Println(body.Unmarshal([]byte(`{"name":"Fern\u202e"}`), &dog), dog.Name)
	fmt.Println(body.Unmarshal([]byte(`{"name":"Fern","name":"Oro"}`), &dog) != nil)
	// Output:
	// <nil> Fern
	// true
}
