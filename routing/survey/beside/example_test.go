package beside_test

import (
	"fmt"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/beside"
)

// A wall between two places hides one from the other; the end of it does not.
func ExampleTerrain_Sees() {
	wall := osmdata.Obstacle{Kind: osmdata.BuildingWall, Blocks: osmdata.BlocksWay | osmdata.BlocksView, Line: plane.Polyline{{X: 10, Y: -5}, {X: 10, Y: 5}}}
	ground := beside.NewTerrain(&osmdata.Extract{Obstacles: []osmdata.Obstacle{wall}}, nil)
	fmt.Println(ground.Sees(plane.Point{}, plane.Point{X: 20}), ground.Sees(plane.Point{Y: 8}, plane.Point{X: 20, Y: 8}))
	// Output: false true
}
