package search

import (
	"container/heap"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// slowHeap is the standard library's heap, the slow twin of queue.
type slowHeap []uint64

func (h slowHeap) Len() int           { return len(h) }
func (h slowHeap) Less(i, j int) bool { return h[i] < h[j] }
func (h slowHeap) Swap(i, j int)      { h[i], h[j] = h[j], h[i] }
func (h *slowHeap) Push(x any)        { *h = append(*h, x.(uint64)) }
func (h *slowHeap) Pop() any {
	last := (*h)[len(*h)-1]
	*h = (*h)[:len(*h)-1]
	return last
}

func TestQueueAgainstStandardHeap(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var q Queue
		var slow slowHeap
		for range rapid.IntRange(0, 300).Draw(rt, "steps") {
			if len(slow) > 0 && rapid.IntRange(0, 2).Draw(rt, "pop") == 0 {
				if got, want := q.Pop(), heap.Pop(&slow).(uint64); got != want {
					rt.Fatalf("popped %x, want %x", got, want)
				}
			} else {
				e := Pack(rapid.Float64Range(0, 1e9).Draw(rt, "key"), rapid.Int32Range(0, idMask).Draw(rt, "id"))
				q.Push(e)
				heap.Push(&slow, e)
			}
			if q.Empty() != (len(slow) == 0) {
				rt.Fatal("one is empty, the other not")
			}
			if len(slow) > 0 && q.floor() != entryKey(slow[0]) {
				rt.Fatalf("floor %v, want %v", q.floor(), entryKey(slow[0]))
			}
		}
		for len(slow) > 0 {
			if got, want := q.Pop(), heap.Pop(&slow).(uint64); got != want {
				rt.Fatalf("popped %x, want %x", got, want)
			}
		}
		if !math.IsInf(q.floor(), 1) {
			rt.Fatal("an empty queue has a floor")
		}
	})
}

func TestEntriesRoundDownAndKeepOrder(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a := rapid.Float64Range(0, math.MaxFloat64).Draw(rt, "a")
		b := rapid.Float64Range(0, math.MaxFloat64).Draw(rt, "b")
		id := rapid.Int32Range(0, idMask).Draw(rt, "id")
		e := Pack(a, id)
		if EntryID(e) != id {
			rt.Fatalf("id %d became %d", id, EntryID(e))
		}
		if k := entryKey(e); k > a || (a > 1e-300 && a-k > a/(1<<24)) {
			rt.Fatalf("key %v became %v", a, k)
		}
		if a < b && entryKey(e) > entryKey(Pack(b, id)) {
			rt.Fatalf("%v and %v changed order", a, b)
		}
	})
	if e := Pack(math.Inf(1), 3); !math.IsInf(entryKey(e), 1) {
		t.Error("infinity was rounded")
	}
}
