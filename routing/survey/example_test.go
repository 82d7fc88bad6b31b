package survey_test

import (
	"bytes"
	"context"
	"fmt"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/routing/network"
	"wideberth/routing/survey"
	"wideberth/testdata"
)

// The survey of the invented town knows that traffic is heard less at the invented door than
// on most streets.
func ExampleSurvey() {
	x, err := osmdata.Options{Rules: exposure.Rules()}.Read(context.Background(), bytes.NewReader(testdata.Town()))
	if err != nil {
		fmt.Println(err)
		return
	}
	g, _, err := network.Build(x.Streets, x.Barred, network.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	f, err := survey.Survey(context.Background(), x, g, survey.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	door, err := g.Snap(x.Frame.Forward(testdata.DoorLon, testdata.DoorLat), network.SnapLimitM)
	if err != nil {
		fmt.Println(err)
		return
	}
	busy := 0
	for e := range g.EdgeCount() {
		if f.LevelDB[e] > f.LevelDB[door.Edge] {
			busy++
		}
	}
	fmt.Println(f.LevelDB[door.Edge] > 0, 2*busy > g.EdgeCount())
	// Output: true true
}
