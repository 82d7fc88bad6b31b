package escape_test

import (
	"fmt"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/escape"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// A dog on a lead comes along the street of the invented door, 60 m off.
func ExampleWaysOut() {
	s := maptest.Invented()
	land, err := reach.NewLand(s, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	dog, at := maptest.Kessa(), maptest.Door(s.Frame)
	threat := escape.Threat{At: at.Add(plane.Point{X: 60}), SpeedMPS: 1.3, Kind: exposure.DogOnLead}
	calm, brisk, err := escape.WaysOut(land, at, threat, &dog)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("calm: %s, nearest %.0f m\n", calm.Means, calm.NearestM)
	fmt.Println("brisk is no worse:", brisk.NearestM >= calm.NearestM)
	// Output:
	// calm: aside, nearest 36 m
	// brisk is no worse: true
}
