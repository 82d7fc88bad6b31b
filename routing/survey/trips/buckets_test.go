package trips

import (
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"wideberth/routing/search"
)

// TestBucketsAgainstAHeap: what is pushed at rising costs leaves in the order of the heap
// that all other searches use, and what is queued anew after that as well.
func TestBucketsAgainstAHeap(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		const reach = 900.0
		q := newBuckets(reach)
		for range 3 {
			var heap search.Queue
			costOf := map[uint64]float64{}
			push := func(cost float64, id int32) {
				costOf[search.Pack(cost, id)] = cost
				q.push(cost, id)
				heap.Push(search.Pack(cost, id))
			}
			push(reach*r.Float64()*float64(r.IntN(2)), 7)
			for left := 200; ; left-- {
				got, ok := q.pop(search.Pack(reach, lastID))
				if ok == heap.Empty() {
					rt.Fatalf("one queue is empty, the other is not")
				}
				if !ok {
					break
				}
				want := heap.Pop()
				if got != want {
					rt.Fatalf("%x leaves, of a heap %x", got, want)
				}
				for range min(left, r.IntN(4)) {
					if cost := costOf[got] + float64(r.IntN(90))/3; cost <= reach {
						push(cost, r.Int32N(100))
					}
				}
			}
		}
	})
}
