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
