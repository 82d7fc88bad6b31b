package draw_test

import (
	"context"
	"fmt"
	"strings"

	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/draw"
	"wideberth/routing/snapshot/maptest"
)

// A walk of the invented town on a sheet of paper.
func ExampleScene_HandOut() {
	p, err := routing.NewPlanner(maptest.Invented(), nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	dog := maptest.Kessa()
	plan, err := p.Plan(context.Background(), routing.Wish{
		Shape: routing.Loop, From: maptest.Door(p.Frame()), Minutes: 20, Depart: maptest.Morning, Dog: dog, Walks: 1,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	scene, err := draw.NewScene(p.Snapshot(), plan, 0, &dog, briefing.Words{}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	var page strings.Builder
	if err := scene.HandOut(&page, draw.HandOutOptions{Paper: draw.A4}); err != nil {
		fmt.Println(err)
		return
	}
	for _, text := range []string{"<!doctype html>", "Kessa", "OpenStreetMap contributors", "<svg"} {
		fmt.Println(text, strings.Contains(strings.ToLower(page.String()), strings.ToLower(text)))
	}
	// Output:
	// <!doctype html> true
	// Kessa true
	// OpenStreetMap contributors true
	// <svg true
}
