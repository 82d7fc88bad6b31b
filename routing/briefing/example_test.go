package briefing_test

import (
	"fmt"

	"wideberth/routing/briefing"
)

// The same numbers in the words of two places.
func ExampleWords() {
	for _, w := range []briefing.Words{{}, {Units: briefing.US, TwelveHour: true}} {
		fmt.Println(w.Distance(38), "|", w.Minutes(1830), "|", w.Answer(0.72))
	}
	// Output:
	// 40 m | 31 min | 7 of 10 walks like this stay calm
	// 120 ft | 31 min | 7 of 10 walks like this stay calm
}
