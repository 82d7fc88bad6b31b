package problem_test

import (
	"context"
	"errors"
	"fmt"

	"wideberth/api/problem"
	"wideberth/osmdata/fault"
	"wideberth/routing/briefing"
)

// Each error has its type and status; one that nobody knows is the program's own fault.
func ExampleOf() {
	for _, err := range []error{
		fault.Problems{{Pointer: "/minutes", Value: "0", Mend: "give 5 to 180 minutes"}},
		fmt.Errorf("plan: %w", context.DeadlineExceeded),
		errors.New("a pipe burst"),
	} {
		p, ours := problem.Of(err, briefing.Words{})
		fmt.Println(p.Status, p.Type, ours != "")
	}
	// Output:
	// 422 urn:wideberth:invalid false
	// 504 urn:wideberth:too-slow false
	// 500 urn:wideberth:internal true
}
