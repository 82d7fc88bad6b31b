package replay_test

import (
	"context"
	"fmt"

	"wideberth/osmdata/plane"
	"wideberth/routing/outing/replay"
)

// Two dogs walk towards each other on one street and stop 100 m and 160 m along it: at
// their nearest they are 60 m apart, and one of them needs 70.
func ExampleCheck() {
	street := func(from, to float64) plane.Polyline { return plane.Polyline{{X: from}, {X: to}} }
	report, err := replay.Check(context.Background(), []replay.Walk{
		{Dog: "Tilly", Line: street(0, 100), ProgressS: []float64{0, 100}, NeedM: 40},
		{Dog: "Oro", Line: street(260, 160), ProgressS: []float64{0, 100}, NeedM: 70},
	}, replay.Rules{SlowShare: 1, FastShare: 1}, 1, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, m := range report.Random {
		fmt.Printf("%v %.0f m, margin %.0f m\n", m.Dogs, m.LeastM, m.MarginM())
	}
	// Output: [Tilly Oro] 60 m, margin -10 m
}
