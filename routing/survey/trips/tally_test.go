package trips

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestTalliesDoNotDependOnTheOrder: sums of any order are the same bit by bit, and near
// what they should be.
func TestTalliesDoNotDependOnTheOrder(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	x := make([]float64, 500)
	sum := 0.0
	for i := range x {
		x[i] = rng.ExpFloat64() * 100
		sum += x[i]
	}
	first := make(Tallies, 1)
	for _, v := range x {
		first.Add(0, v)
	}
	for range 5 {
		rng.Shuffle(len(x), func(i, j int) { x[i], x[j] = x[j], x[i] })
		other := make(Tallies, 1)
		for _, v := range x {
			other.Add(0, v)
		}
		if other[0] != first[0] {
			t.Fatalf("%d and %d", other[0], first[0])
		}
	}
	if got := first.Passes()[0]; math.Abs(got-sum) > 500./unit {
		t.Errorf("%g instead of %g", got, sum)
	}
}
