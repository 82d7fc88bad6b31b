package trips_test

import (
	"context"
	"fmt"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/search"
	"wideberth/routing/survey/sketch"
	"wideberth/routing/survey/trips"
)

// Ten trips a day from one end of a street of two blocks: most go to the shop on the
// first corner, a few to the equally good one at the far end.
func Example() {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 0, 100, 0))
	k.Street(osmdata.Residential, sketch.Line(100, 0, 400, 0))
	k.Street(osmdata.Residential, sketch.Line(100, 0, 100, 50))
	g, _, err := network.Build(k.X.Streets, nil, network.Options{MinIslandM: -1})
	if err != nil {
		fmt.Println(err)
		return
	}
	router, err := search.NewRouter(&g.Star)
	if err != nil {
		fmt.Println(err)
		return
	}
	cost := make([]float32, g.Star.ArcCount())
	for a, e := range g.ArcEdge {
		cost[a] = g.LengthM[e]
	}
	m := &trips.Gravity{G: g, Router: router, Costs: [][]float32{cost}, LambdaM: 200, ZoneM: 10, Workers: 1, Tick: func(int) {},
		Origin: make([]float64, len(g.Vertex)), Pull: make([]float64, len(g.Vertex))}
	for v, at := range g.Vertex {
		switch {
		case at.X == 0:
			m.Origin[v] = 10
		case at.Y == 0:
			m.Pull[v] = 1
		}
	}
	got, err := m.Assign(context.Background(), plane.NewEarth(plane.Frame{}))
	if err != nil {
		fmt.Println(err)
		return
	}
	for e, n := range got.Passes {
		fmt.Printf("%.0f m: %.2f trips\n", g.LengthM[e], n)
	}
	// Output:
	// 100 m: 10.00 trips
	// 300 m: 1.82 trips
	// 50 m: 0.00 trips
}
