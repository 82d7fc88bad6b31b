package hours_test

import (
	"fmt"
	"time"

	"wideberth/exposure/hours"
)

func ExampleParse() {
	school, err := hours.Parse("Mo-Fr 07:30-16:00; PH off")
	if err != nil {
		fmt.Println(err)
		return
	}
	clock := &hours.Clock{Loc: time.UTC}
	for _, day := range []int{2, 7} { // a Monday and a Saturday
		at := time.Date(2026, time.March, day, 8, 0, 0, 0, time.UTC)
		fmt.Println(at.Weekday(), school.At(clock.At(at)) == hours.Open)
	}
	// Output:
	// Monday true
	// Saturday false
}
