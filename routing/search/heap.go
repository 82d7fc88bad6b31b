package search

import "math"

// idBits is how many low bits of a queue entry name the thing queued; the rest
// is the key. 28 bits name 268 million vertices or labels, and leave the key 11
// bits of exponent and 24 of mantissa.
const idBits = 28

const idMask = 1<<idBits - 1

// queue is a lazy 4-ary heap of entries packed into one word: the upper bits of
// a non-negative float64 key above the id. Packing halves the memory that moves
// and lets the four children be compared as integers, without branches.
//
// Cutting the key's mantissa rounds it down by at most one part in 2^24, so
//   - the first key is a lower bound on everything queued, which is all a stopping
//     rule needs, and
//   - two entries may leave in the wrong order only when their keys differ by
//     less than that; every search here is label-correcting, or compares exact
//     values, and so stays exact.
type Queue struct{ entries []uint64 }

// pack makes a queue entry. The key must not be negative.
func Pack(key float64, id int32) uint64 {
	return math.Float64bits(key)&^idMask | uint64(uint32(id))
}

// entryKey is the key of an entry, rounded down.
func entryKey(e uint64) float64 { return math.Float64frombits(e &^ idMask) }

// entryID is the id of an entry.
func EntryID(e uint64) int32 { return int32(e & idMask) }

func (q *Queue) Reset()      { q.entries = q.entries[:0] }
func (q *Queue) Empty() bool { return len(q.entries) == 0 }

// floor is the least key queued, rounded down, or +Inf when nothing is queued.
func (q *Queue) floor() float64 {
	if len(q.entries) == 0 {
		return math.Inf(1)
	}
	return entryKey(q.entries[0])
}

// push adds an entry.
func (q *Queue) Push(e uint64) {
	h := append(q.entries, e)
	i := len(h) - 1
	for i > 0 {
		up := (i - 1) >> 2
		if h[up] <= e {
			break
		}
		h[i] = h[up]
		i = up
	}
	h[i] = e
	q.entries = h
}

// pop removes and returns the least entry. The queue must not be empty.
func (q *Queue) Pop() uint64 {
	h := q.entries
	least, n := h[0], len(h)-1
	e := h[n]
	h = h[:n]
	q.entries = h
	i, c := 0, 1 // a hole and its first child
	for ; c+3 < n; c = i<<2 + 1 {
		// One assignment to each if, so that the compiler makes no branch of it: which
		// child is least cannot be predicted.
		four := h[c : c+4 : c+4]
		b := min(min(four[0], four[1]), min(four[2], four[3]))
		k := c
		if four[1] == b {
			k = c + 1
		}
		if four[2] == b {
			k = c + 2
		}
		if four[3] == b {
			k = c + 3
		}
		if e <= b {
			h[i] = e
			return least
		}
		h[i] = b
		i = k
	}
	if c < n { // the last family may have fewer than four children, and they have none
		k := c
		for j := c + 1; j < n; j++ {
			if h[j] < h[k] {
				k = j
			}
		}
		if h[k] < e {
			h[i] = h[k]
			i = k
		}
	}
	if n > 0 {
		h[i] = e
	}
	return least
}
