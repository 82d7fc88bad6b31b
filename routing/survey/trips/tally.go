package trips

import (
	"context"
	"math"
	"sync"

	"wideberth/osmdata/parallel"
)

// unit is the step of the accumulators: sums of integers do not depend on their
// order, so the field is the same for any number of workers.
const unit = 1 << 30

// Tallies gathers passes by edge in steps of 1/unit.
type Tallies []int64

// Add counts x, in the nearest step.
func (t Tallies) Add(i int32, x float64) { t[i] += int64(math.Round(x * unit)) }

// Passes is what was gathered.
func (t Tallies) Passes() []float64 {
	out := make([]float64, len(t))
	for i, x := range t {
		out[i] = float64(x) / unit
	}
	return out
}

// Gathered runs work over 0 to n-1 on several workers, each with tallies of its
// own of the given length, and adds those up.
func Gathered(ctx context.Context, n, workers, length int, tick func(int), newWork func(sum Tallies) func(i int32)) (Tallies, error) {
	var mu sync.Mutex // guards owns
	var owns []Tallies
	err := parallel.InRuns(ctx, n, tourRun, workers, tick, func() func(int32) {
		own := make(Tallies, length)
		mu.Lock()
		owns = append(owns, own)
		mu.Unlock()
		return newWork(own)
	})
	all := make(Tallies, length)
	for _, own := range owns {
		for i, x := range own {
			all[i] += x
		}
	}
	return all, err
}

// tourRun is how many homes or destinations a worker takes at a time.
const tourRun = 32
