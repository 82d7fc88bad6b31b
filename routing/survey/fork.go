package survey

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// forkRun is how many edges a worker takes at a time: enough that taking costs
// nothing, few enough that the last one does not keep the others waiting.
const forkRun = 128

// eachEdge works through edges 0 to n-1 on several workers and returns when all
// are done, or with the context's error when it ends before. newWork makes one
// worker's function, with scratch of its own; it is called with runs of edges that
// no other worker gets. Workers below 1 mean one per processor. tick, if not nil,
// is called with the number of edges done since it was last called, concurrently.
func eachEdge(ctx context.Context, n, workers int, tick func(int), newWork func() func(e int32)) error {
	if workers < 1 {
		workers = runtime.GOMAXPROCS(0)
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(workers, n/forkRun+1) {
		wg.Go(func() {
			work := newWork()
			for ctx.Err() == nil {
				lo := int(next.Add(forkRun)) - forkRun
				if lo >= n {
					return
				}
				hi := min(n, lo+forkRun)
				for e := lo; e < hi; e++ {
					work(int32(e))
				}
				if tick != nil {
					tick(hi - lo)
				}
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}
