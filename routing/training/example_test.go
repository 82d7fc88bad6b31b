package training_test

import (
	"context"
	"fmt"
	"time"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/training"
)

// Visits from the invented door to watch other dogs: each step is nearer by no more
// than a quarter.
func ExampleVisits() {
	p, err := routing.NewPlanner(maptest.Invented(), nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	s, err := training.Visits(context.Background(), p, training.Wish{
		From: maptest.Door(p.Frame()), Dog: maptest.Kessa(), Kinds: exposure.Dogs.Kinds(), Times: []time.Time{maptest.Morning.Add(10 * time.Hour)}, MaxX: 1,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	steps := true
	for i := 1; i < len(s.Visits); i++ {
		near := s.Visits[i].Multiple / s.Visits[i-1].Multiple
		steps = steps && near > 0.74 && near <= 1.0001
	}
	fmt.Println("visits:", len(s.Visits) > 0, "small steps:", steps, "assumptions told:", len(s.Assumed) > 0)
	// Output: visits: true small steps: true assumptions told: true
}
