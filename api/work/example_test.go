package work_test

import (
	"fmt"

	"wideberth/api/work"
)

func Example() {
	// What stands on the board: names of files, and what to do with them.
	step := work.Step{Inputs: []string{"blocks/0321.pbf"}, Output: "surveyed/0321.wb", What: []byte(`{"kind":"survey"}`)}
	fmt.Println(&work.FailedError{Output: step.Output, Why: "the block is cut off"})
	// Output: make surveyed/0321.wb: the block is cut off
}
