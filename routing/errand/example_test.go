package errand_test

import (
	"context"
	"fmt"

	"wideberth/routing"
	"wideberth/routing/errand"
	"wideberth/routing/snapshot/maptest"
)

// About the invented door a short drive leads to ground that is calmer than the walk from
// the house.
func ExampleFinder_Where() {
	p, err := routing.NewPlanner(maptest.Invented(), nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	w := routing.Wish{From: maptest.Door(p.Frame()), Minutes: 20, Dog: maptest.Kessa(), Depart: maptest.Morning}
	c, err := errand.New(p).Where(context.Background(), p, errand.Errand{Wish: w, DriveMinutes: 15})
	if err != nil {
		fmt.Println(err)
		return
	}
	for i := range c.Options {
		o := &c.Options[i]
		fmt.Println(o.Kind, o.Saves.Share > 0)
	}
	// Output:
	// by_car true
	// door_later true
	// by_car true
	// door_now false
}
