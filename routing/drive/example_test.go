package drive_test

import (
	"fmt"

	"wideberth/exposure/strain"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/drive"
)

// Five kilometres of a road without a limit, driven at 0.85 of what is usual there.
func ExampleNew() {
	street := osmdata.Street{ID: 1, Class: osmdata.Tertiary, Motor: true, Nodes: []int64{1, 2}, Line: plane.Polyline{{X: 0}, {X: 5000}}}
	roads, err := drive.New([]osmdata.Street{street}, nil, nil, strain.Elsewhere)
	if err != nil {
		fmt.Println(err)
		return
	}
	from, _ := roads.Kerb(plane.Point{X: 0, Y: 10}, 50)
	to, _ := roads.Kerb(plane.Point{X: 5000}, 50)
	trips, err := roads.From(from, 3600)
	if err != nil {
		fmt.Println(err)
		return
	}
	defer trips.Release()
	fmt.Printf("%.0f s\n", trips.Seconds(to))
	// Output: 424 s
}
