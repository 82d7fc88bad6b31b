package loop_test

import (
	"fmt"

	"wideberth/routing/search"
	"wideberth/routing/search/loop"
)

// A square with a diagonal, a minute an edge: the loop of four minutes goes round it,
// and costs what its edges cost.
func ExampleSolver_Solve() {
	// 0-1, 1-2, 2-3, 3-0 and 0-2, each edge once in each direction.
	g := &search.Graph{
		First: []int32{0, 3, 5, 8, 10},
		Head:  []int32{1, 3, 2, 0, 2, 1, 3, 0, 2, 0},
		Twin:  []int32{3, 9, 7, 0, 5, 4, 8, 2, 6, 1},
	}
	times, costs := make([]float32, 10), make([]float32, 10)
	for a := range times {
		times[a], costs[a] = 60, 0.01
	}
	answer, err := loop.NewSolver().Solve(loop.Problem{Graph: g, TimeS: times, Cost: [][]float32{costs}, MinS: 240, MaxS: 240})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f s, %.2f expected reactions, %d arcs\n", answer.Walk.DurationS, answer.Walk.Cost, len(answer.Walk.Arcs))
	// Output: 240 s, 0.04 expected reactions, 4 arcs
}
