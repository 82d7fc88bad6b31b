package fault_test

import (
	"fmt"

	"wideberth/osmdata/fault"
)

func ExampleProblems() {
	wrong := append(fault.One("/minutes", "0", "give 5 to 240 minutes"), fault.Problem{Mend: "needs a dog"})
	fmt.Println(wrong)
	// Output: /minutes = 0: give 5 to 240 minutes; /: needs a dog
}
