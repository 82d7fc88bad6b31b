package dogfile_test

import (
	"fmt"
	"strings"

	"wideberth/api/wire/dogfile"
)

func ExampleDecode() {
	_, err := dogfile.Decode(strings.NewReader(`{"name": "Kessa", "needs": {"dogs": {"working_m": 10, "reaction_m": 30}}}`))
	fmt.Println(err)
	// Output: /needs/dogs/reaction_m = 30: must be less than working_m (10): the dog reacts nearer than it works
}
