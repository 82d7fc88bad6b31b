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

// ExampleProblems_many: a list that somebody made long is not said whole.
func ExampleProblems_many() {
	var wrong fault.Problems
	for i := range 23 {
		wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("/%d", i), Mend: "no"})
	}
	fmt.Println(wrong)
	// Output: /0: no; /1: no; /2: no; /3: no; /4: no; /5: no; /6: no; /7: no; /8: no; /9: no; /10: no; /11: no; /12: no; /13: no; /14: no; /15: no; /16: no; /17: no; /18: no; /19: no; and 3 more
}
