package testdata_test

import (
	"encoding/json"
	"fmt"

	"wideberth/testdata"
)

// Everything is in the program: no file is read.
func Example() {
	var dog struct{ Name string }
	if err := json.Unmarshal(testdata.Dog(), &dog); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(dog.Name, "lives in", testdata.TownName)
	// Output: Kessa lives in Tannerswick
}
