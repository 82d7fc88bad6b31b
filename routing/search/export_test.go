package search

import (
	"math/rand/v2"
	"testing"
)

// LatticeWorld gives tests outside the package the road-like lattice: its graph,
// times and costs.
func LatticeWorld(t testing.TB, r *rand.Rand, side int) (*Graph, []float32, []float32) {
	w := newPathWorld(t, side*side, roadLattice(r, side))
	return w.g, w.time, w.cost
}
