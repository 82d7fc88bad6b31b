package network_test

import (
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
)

// TestNearIsSnap: the same place within the limit, and beyond it none.
func TestNearIsSnap(t *testing.T) {
	g, _ := draw("a b\n c\nd  e", "ac cb cd de").build(t)
	rapid.Check(t, func(rt *rapid.T) {
		at := plane.Point{X: rapid.Float64Range(-900, 900).Draw(rt, "x"), Y: rapid.Float64Range(-900, 900).Draw(rt, "y")}
		limit := rapid.Float64Range(1, 500).Draw(rt, "limit")
		place, ok := g.Near(at, limit)
		snapped, err := g.Snap(at, limit)
		if ok != (err == nil) || place != snapped || ok && place.DistM > limit {
			rt.Errorf("near %+v, %v; snapped %+v, %v", place, ok, snapped, err)
		}
	})
}
