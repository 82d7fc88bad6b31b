package reach_test

import (
	"fmt"

	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// What can be walked and walked home in 600 m from the invented door is a small part of
// the town, and its door is a vertex of its own.
func ExampleLand_Around() {
	s := maptest.Invented()
	land, err := reach.NewLand(s, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	door, err := land.Place(maptest.Door(s.Frame))
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := land.Around(door, nil, 600)
	if err != nil {
		fmt.Println(err)
		return
	}
	dog := maptest.Kessa()
	prices := r.Price(r.SumsFor(&dog), &dog, maptest.Morning, nil, 600)
	fmt.Println("less than a tenth of the town:", 10*len(r.Edges) < s.Graph.EdgeCount())
	fmt.Println("the door lies on an edge:", r.Home[r.Door] < 0, "a time for each arc:", len(prices.TimeS) == r.Star.ArcCount())
	// Output:
	// less than a tenth of the town: true
	// the door lies on an edge: true a time for each arc: true
}
