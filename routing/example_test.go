package routing_test

import (
	"context"
	"fmt"

	"wideberth/routing"
	"wideberth/routing/snapshot/maptest"
)

// Half an hour round from the invented door.
func ExamplePlanner_Plan() {
	p, err := routing.NewPlanner(maptest.Invented(), nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	plan, err := p.Plan(context.Background(), routing.Wish{
		Shape: routing.Loop, From: maptest.Door(p.Frame()), Minutes: 30, Depart: maptest.Morning, Dog: maptest.Kessa(), Walks: 1,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	w := &plan.Walks[0]
	minutes := w.DurationS / 60
	fmt.Println(len(plan.Walks), "walk; in the window:", minutes >= 30*(1-routing.DefaultShorter) && minutes <= 30*(1+routing.DefaultLonger))
	fmt.Println("home again:", w.Line[0] == w.Line[len(w.Line)-1], "chance within its interval:", w.CalmLow <= w.CalmChance && w.CalmChance <= w.CalmHigh)
	// Output:
	// 1 walk; in the window: true
	// home again: true chance within its interval: true
}
