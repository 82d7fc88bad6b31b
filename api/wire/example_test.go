package wire_test

import (
	"encoding/json"
	"fmt"

	"wideberth/api/wire"
)

// What is kept as a whole may hold members that this program does not know: they stay.
func ExampleChanged() {
	body, err := wire.Changed(json.RawMessage(`{"step":1,"colour_of_the_mat":"green"}`), map[string]any{"step": 2})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(string(body))
	// Output: {"colour_of_the_mat":"green","step":2}
}
