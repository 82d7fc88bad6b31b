package outing_test

import (
	"context"
	"fmt"

	"wideberth/routing"
	"wideberth/routing/outing"
	"wideberth/routing/outing/replay"
	"wideberth/routing/snapshot/maptest"
)

// Two dogs and two people at the invented door. What the timetable promises is walked
// again by a replay that knows nothing of how it was made.
func ExamplePlan() {
	p, err := routing.NewPlanner(maptest.Invented(), nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	near, far := maptest.Kessa(), maptest.Kessa()
	near.Name, far.Name = "Tilly", "Oro"
	t, err := outing.Plan(context.Background(), p, outing.Wish{
		Gate: maptest.Door(p.Frame()), Start: maptest.Morning, Minutes: 90, Seed: 1,
		Dogs:   []outing.Dog{{Dog: near, Minutes: 20}, {Dog: far, Minutes: 20}},
		People: []outing.Person{{Name: "Ada"}, {Name: "Sam"}},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	walks, rules := t.Replay()
	report, err := replay.Check(context.Background(), walks, rules, 20, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(len(t.Rows), "walks,", len(t.Unserved), "left in, kept:", report.Kept())
	// Output: 2 walks, 0 left in, kept: true
}
