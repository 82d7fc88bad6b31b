package parallel

import "context"

// RunLength is how many indices a worker takes at a time: enough that taking costs
// nothing, few enough that the last one does not keep the others waiting.
const RunLength = 128

// EachIndex works through 0 to n-1 on several workers and returns when all
// are done, or with the context's error when it ends before. newWork makes one
// worker's function, with scratch of its own; it is called with runs of edges that
// no other worker gets. Workers below 1 mean one per processor. tick, if not nil,
// is called with the number done since it was last called, concurrently.
func EachIndex(ctx context.Context, n, workers int, tick func(int), newWork func() func(i int32)) error {
	return InRuns(ctx, n, RunLength, workers, tick, newWork)
}

// InRuns is EachIndex with runs of a length.
func InRuns(ctx context.Context, n, run, workers int, tick func(int), newWork func() func(i int32)) error {
	return With(ctx, workers, (n+run-1)/run, func() func(int) error {
		work := newWork()
		return func(k int) error {
			lo, hi := k*run, min(n, (k+1)*run)
			for i := lo; i < hi; i++ {
				work(int32(i))
			}
			if tick != nil {
				tick(hi - lo)
			}
			return nil
		}
	})
}
