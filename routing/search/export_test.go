package search

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// LatticeWorld gives tests outside the package the road-like lattice: its graph,
// times and costs.
func LatticeWorld(t testing.TB, r *rand.Rand, side int) (*Graph, []float32, []float32) {
	w := newPathWorld(t, side*side, roadLattice(r, side))
	return w.g, w.time, w.cost
}

// Pair finds two paths between two vertices that share no edge, not even one in
// each direction, with the least total cost, the cheaper first. It returns ErrNoPath
// when not even one path exists and ErrNoPair when no second one does.
func (r *Router) Pair(from, to int32, cost []float32, barred []bool) ([2]Route, error) {
	if to < 0 || int(to) >= r.g.VertexCount() {
		return [2]Route{}, fmt.Errorf("search: goal %d is not one of the %d vertices", to, r.g.VertexCount())
	}
	return r.WaysOut(from, func(v int32) bool { return v == to }, cost, barred)
}

// CheckCosts reports the first cost that is negative or NaN, or a wrong number of
// costs.
func (r *Router) CheckCosts(cost []float32) error {
	if len(cost) != r.g.ArcCount() {
		return fmt.Errorf("search: %d costs for %d arcs", len(cost), r.g.ArcCount())
	}
	for a, c := range cost {
		if !(c >= 0) {
			return fmt.Errorf("search: the cost of arc %d is %v; costs must be 0 or more", a, c)
		}
	}
	return nil
}
