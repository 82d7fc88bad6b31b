package setup_test

import (
	"math/rand/v2"

	"wideberth/osmdata/plane"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

func stateDoors(s *snapshot.Snapshot, n int) []plane.Point {
	return maptest.RandomDoors(s, n, rand.New(rand.NewPCG(7, 7)))
}

// reach is a drive of up to 15 minutes at 45 km/h over a third more than the straight line.
func reach(from plane.Point) func(at plane.Point) (float64, bool) {
	return func(at plane.Point) (float64, bool) {
		s := 120 + from.DistanceM(at)*1.3/(45/3.6)
		return s, s <= 15*60
	}
}
