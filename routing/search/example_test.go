package search_test

import (
	"fmt"

	"wideberth/routing/search"
)

// A triangle: from 0 to 2 straight for 9, or by way of 1 for 3 and 4.
func ExampleRouter_Path() {
	g := &search.Graph{
		First: []int32{0, 2, 4, 6},
		Head:  []int32{1, 2, 0, 2, 0, 1},
		Twin:  []int32{2, 4, 0, 5, 1, 3},
	}
	if err := g.Check(); err != nil {
		fmt.Println(err)
		return
	}
	r, err := search.NewRouter(g)
	if err != nil {
		fmt.Println(err)
		return
	}
	cost := []float32{3, 9, 3, 4, 9, 4} // by arc
	way, err := r.Path(nil, 0, 2, cost, nil)
	fmt.Println(way.Arcs, way.Cost, err)
	way, err = r.Path(nil, 0, 2, cost, []bool{false, false, false, true, false, false})
	fmt.Println(way.Arcs, way.Cost, err)
	// Output:
	// [0 3] 7 <nil>
	// [1] 9 <nil>
}
