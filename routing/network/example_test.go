package network_test

import (
	"fmt"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// Two streets that share a node become three edges, and a place beside them lies on
// the nearest.
func ExampleBuild() {
	street := func(id int64, name string, nodes []int64, line ...plane.Point) osmdata.Street {
		return osmdata.Street{ID: id, Name: name, Nodes: nodes, Line: line, Class: osmdata.Residential, Foot: true}
	}
	g, stats, err := network.Build([]osmdata.Street{
		street(10, "Long Row", []int64{1, 2, 3}, plane.Point{X: 0, Y: 0}, plane.Point{X: 100, Y: 0}, plane.Point{X: 250, Y: 0}),
		street(11, "Side Row", []int64{2, 4}, plane.Point{X: 100, Y: 0}, plane.Point{X: 100, Y: 80}),
	}, nil, network.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d vertices, %d edges, %.0f m\n", stats.Vertices, stats.Edges, stats.LengthM)
	at, err := g.Snap(plane.Point{X: 108, Y: 50}, network.SnapLimitM)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s, %.0f m off\n", g.Names[g.Parts[g.PartAt[at.Edge]].Name], at.DistM)
	// Output:
	// 4 vertices, 3 edges, 330 m
	// Side Row, 8 m off
}
