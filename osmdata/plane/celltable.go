package plane

import "math/bits"

// cellTable numbers squares of a grid in the order they are added: an open-addressing
// hash table, at most half full, looked up millions of times a second by rays.
type cellTable struct {
	keys  []uint64
	nums  []int32 // number of the cell plus one, 0 for an empty slot
	shift int     // 64 minus log2 of the size
	used  int
}

// newCellTable makes a table with room for about n cells.
func newCellTable(n int) cellTable {
	log := max(6, bits.Len(uint(n)))
	return cellTable{keys: make([]uint64, 1<<log), nums: make([]int32, 1<<log), shift: 64 - log}
}

// slot is where the key is or would be put. The factor is 2^64 over the golden
// ratio (Knuth, The Art of Computer Programming 3, section 6.4).
func (t *cellTable) slot(key uint64) int {
	i := int(key * 0x9E3779B97F4A7C15 >> t.shift)
	for t.nums[i] != 0 && t.keys[i] != key {
		i = (i + 1) & (len(t.keys) - 1)
	}
	return i
}

func cellKey(cx, cy int32) uint64 { return uint64(uint32(cx))<<32 | uint64(uint32(cy)) }

// find is the number of a cell, -1 for one that was never added.
func (t *cellTable) find(cx, cy int32) int32 { return t.nums[t.slot(cellKey(cx, cy))] - 1 }

// add is the number of a cell, a new one if it is not there yet.
func (t *cellTable) add(cx, cy int32) int32 {
	key := cellKey(cx, cy)
	i := t.slot(key)
	if t.nums[i] != 0 {
		return t.nums[i] - 1
	}
	if 2*t.used >= len(t.keys) {
		t.grow()
		i = t.slot(key)
	}
	t.used++
	t.keys[i], t.nums[i] = key, int32(t.used)
	return int32(t.used - 1)
}

func (t *cellTable) grow() {
	old := *t
	t.keys, t.nums = make([]uint64, 2*len(old.keys)), make([]int32, 2*len(old.nums))
	t.shift--
	for i, n := range old.nums {
		if n != 0 {
			j := t.slot(old.keys[i])
			t.keys[j], t.nums[j] = old.keys[i], n
		}
	}
}
