package setup_test

import (
	"context"
	"fmt"
	"math"
	"time"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/training/setup"
)

// Ground for a meeting of the invented dog with a calm helper, and how near the two come.
func Example() {
	s := maptest.Invented()
	p, err := routing.NewPlanner(s, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	drive, release, err := setup.ByCar(p, maptest.Door(s.Frame), 15)
	if err != nil {
		fmt.Println(err)
		return
	}
	defer release()
	found, err := setup.Find(context.Background(), p, setup.Wish{Dog: maptest.Kessa(), Kind: exposure.DogOnLead, Calm: setup.Calm, Ground: setup.Green,
		At: time.Date(2026, 11, 28, 6, 30, 0, 0, time.UTC)}, drive)
	if err != nil || len(found.Setups) == 0 {
		fmt.Println(found, err)
		return
	}
	best := &found.Setups[0]
	proof, err := best.Prove(context.Background(), 30)
	fmt.Println(len(best.Lines), "lines,", math.Round(best.Lines[0].NeedM), "to", math.Round(best.Lines[3].NeedM), "m; steps kept:", proof.MarginM >= 0, err)
	// Output: 4 lines, 61 to 30 m; steps kept: true <nil>
}
