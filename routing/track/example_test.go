package track_test

import (
	"fmt"
	"time"

	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/track"
)

// A minute along a street, noted by a device that is a few metres off.
func ExampleMatch() {
	g, _, err := network.Build([]osmdata.Street{{ID: 10, Nodes: []int64{1, 2}, Line: plane.Polyline{{X: 0}, {X: 200}},
		Class: osmdata.Residential, Foot: true}}, nil, network.Options{MinIslandM: -1})
	if err != nil {
		fmt.Println(err)
		return
	}
	begun := time.Date(2026, 11, 25, 7, 10, 0, 0, time.UTC)
	var points []track.Point
	for i := range 7 {
		points = append(points, track.Point{At: plane.Point{X: 12 * float64(i), Y: 4}, When: begun.Add(time.Duration(i) * 10 * time.Second)})
	}
	for _, s := range track.Match(g, &hours.Clock{}, points) {
		fmt.Printf("edge %d: %.0f s\n", s.Edge, s.Seconds)
	}
	// Output: edge 0: 60 s
}
