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
type queue struct{ entries []uint64 }

// pack makes a queue entry. The key must not be negative.
func pack(key float64, id int32) uint64 {
	return math.Float64bits(key)&^idMask | uint64(uint32(id))
}

// entryKey is the key of an entry, rounded down.
func entryKey(e uint64) float64 { return math.Float64frombits(e &^ idMask) }

// entryID is the id of an entry.
func entryID(e uint64) int32 { return int32(e & idMask) }

func (q *queue) reset()      { q.entries = q.entries[:0] }
func (q *queue) empty() bool { return len(q.entries) == 0 }

// floor is the least key queued, rounded down, or +Inf when nothing is queued.
func (q *queue) floor() float64 {
	if len(q.entries) == 0 {
		return math.Inf(1)
	}
	return entryKey(q.entries[0])
}

// push adds an entry.
func (q *queue) push(e uint64) {
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
func (q *queue) pop() uint64 {
	h := q.entries
	least, n := h[0], len(h)-1
	e := h[n]
	h = h[:n]
	q.entries = h
	i := 0
	for {
		c := i<<2 + 1
		if c+3 >= n {
			break
		}
		four := h[c : c+4 : c+4]
		a, ai := four[0], c
		if four[1] < a {
			a, ai = four[1], c+1
		}
		b, bi := four[2], c+2
		if four[3] < b {
			b, bi = four[3], c+3
		}
		if b < a {
			a, ai = b, bi
		}
		if e <= a {
			h[i] = e
			return least
		}
		h[i] = a
		i = ai
	}
	q.settle(i, e)
	return least
}

// settle finishes a pop at the bottom of the heap, where fewer than four
// children may be left.
func (q *queue) settle(i int, e uint64) {
	h := q.entries
	n := len(h)
	if n == 0 {
		return
	}
	for {
		c := i<<2 + 1
		if c >= n {
			break
		}
		least := c
		for k := c + 1; k < min(c+4, n); k++ {
			if h[k] < h[least] {
				least = k
			}
		}
		if e <= h[least] {
			break
		}
		h[i] = h[least]
		i = least
	}
	h[i] = e
}
