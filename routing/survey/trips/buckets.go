package trips

import (
	"math/bits"

	"wideberth/routing/search"
)

// buckets is a queue for keys that leave in rising order and are bounded: a queue of
// buckets (Dial 1969, Communications of the ACM 12:632-633), of which the one under
// way is sorted, so that entries leave in the very order of a heap. With one to three
// entries a bucket nothing is compared but neighbours.
type buckets struct {
	perCost float64
	first   [bucketCount]int32 // of a bucket's entries, -1 for none
	full    [bucketCount / 64]uint64
	pool    []bucketEntry
	free    int32    // first entry of the pool that is not in use, -1 for none
	now     []uint64 // entries of the bucket under way, the last to leave first
	at      int      // that bucket
}

// bucketCount is how many buckets span a tree's reach.
const bucketCount = 1024

// lastID is the largest number that a queue can name.
const lastID = 1<<28 - 1

type bucketEntry struct {
	entry uint64
	next  int32
}

func newBuckets(reach float64) *buckets {
	q := &buckets{perCost: (bucketCount - 1) / reach, free: -1}
	for i := range q.first {
		q.first[i] = -1
	}
	return q
}

// push queues a number at a cost from that of what left last up to reach.
func (q *buckets) push(cost float64, id int32) {
	entry, b := search.Pack(cost, id), int(cost*q.perCost)
	if b == q.at {
		q.sort(entry)
		return
	}
	i := q.free
	if i < 0 {
		i = int32(len(q.pool))
		q.pool = append(q.pool, bucketEntry{})
	} else {
		q.free = q.pool[i].next
	}
	q.pool[i] = bucketEntry{entry, q.first[b]}
	q.first[b] = i
	q.full[b>>6] |= 1 << (b & 63)
}

// sort puts an entry into its place in the bucket under way.
func (q *buckets) sort(entry uint64) {
	i := len(q.now)
	q.now = append(q.now, entry)
	for ; i > 0 && q.now[i-1] < entry; i-- {
		q.now[i] = q.now[i-1]
	}
	q.now[i] = entry
}

// pop takes the entry of least cost, of equals the one of the least number; false
// when none is left up to a last one. When none is left at all, the next may be pushed
// at any cost.
func (q *buckets) pop(until uint64) (entry uint64, ok bool) {
	if len(q.now) == 0 && !q.open() {
		return 0, false
	}
	last := len(q.now) - 1
	if entry = q.now[last]; entry > until {
		return 0, false
	}
	q.now = q.now[:last]
	return entry, true
}

// clear takes out whatever is left.
func (q *buckets) clear() {
	for word := q.at >> 6; word < len(q.full); word++ {
		for ; q.full[word] != 0; q.full[word] &= q.full[word] - 1 {
			q.first[word<<6+bits.TrailingZeros64(q.full[word])] = -1
		}
	}
	q.pool, q.free, q.now, q.at = q.pool[:0], -1, q.now[:0], 0
}

// open takes the next bucket that holds something under way.
func (q *buckets) open() bool {
	word := q.at >> 6
	for word < len(q.full) && q.full[word] == 0 {
		word++
	}
	if word == len(q.full) {
		q.at = 0
		return false
	}
	q.at = word<<6 + bits.TrailingZeros64(q.full[word])
	q.full[word] &= q.full[word] - 1
	for i := q.first[q.at]; i >= 0; {
		e := &q.pool[i]
		q.sort(e.entry)
		i, e.next, q.free = e.next, q.free, i
	}
	q.first[q.at] = -1
	return true
}
