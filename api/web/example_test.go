package web_test

import (
	"fmt"
	"io/fs"

	"wideberth/api/web"
)

// The page lies in the program; before it is built its folder is empty but there.
func ExampleFiles() {
	_, err := fs.Stat(web.Files(), ".")
	fmt.Println(err)
	// Output: <nil>
}
