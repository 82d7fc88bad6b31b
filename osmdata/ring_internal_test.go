package osmdata

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// A ring that was cut into ways, each perhaps turned round, in any order, comes
// back as the same ring.
func TestJoinRingsUndoesCuts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var ways []*rawWay
		var want []idRing
		next, way := int64(1), int64(1)
		for range rapid.IntRange(1, 4).Draw(t, "rings") {
			n := rapid.IntRange(3, 12).Draw(t, "nodes")
			ring := make(idRing, n)
			for i := range ring {
				ring[i] = next
				next++
			}
			want = append(want, ring)
			ids := rapid.Permutation([]int64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11}).Draw(t, "ids")
			for i, refs := range pieces(t, ring) {
				ways = append(ways, &rawWay{id: way + ids[i], refs: refs})
			}
			way += 12
		}
		ways = rapid.Permutation(ways).Draw(t, "order")
		got, open := joinRings(ways)
		if len(open) != 0 || len(got) != len(want) {
			t.Fatalf("%d rings and %d open chains from %d rings", len(got), len(open), len(want))
		}
		for _, r := range got {
			if !slices.ContainsFunc(want, func(w idRing) bool { return sameRing(r, w) }) {
				t.Fatalf("ring %v is none of %v", r, want)
			}
		}
	})
}

// pieces cuts a ring at some of its nodes.
func pieces(t *rapid.T, ring idRing) (refs [][]int64) {
	closed := ring.closed()
	piece := []int64{closed[0]}
	for i, id := range closed[1:] {
		piece = append(piece, id)
		last := i == len(closed)-2
		if last || rapid.Bool().Draw(t, "cut") {
			if rapid.Bool().Draw(t, "turn") {
				slices.Reverse(piece)
			}
			refs = append(refs, piece)
			piece = []int64{id}
		}
	}
	return refs
}

// sameRing tells whether two rings are alike but for start and direction.
func sameRing(a, b idRing) bool {
	if len(a) != len(b) {
		return false
	}
	for range 2 {
		for k := range b {
			if slices.Equal(a, slices.Concat(b[k:], b[:k])) {
				return true
			}
		}
		b = slices.Clone(b)
		slices.Reverse(b)
	}
	return false
}

func TestJoinRingsKeepsOpenChains(t *testing.T) {
	ways := []*rawWay{{id: 1, refs: []int64{1, 2}}, {id: 2, refs: []int64{3, 2}}, {id: 3, refs: []int64{1, 4}}, {id: 4, refs: []int64{9}}}
	rings, open := joinRings(ways)
	if len(rings) != 0 || len(open) != 1 || !(slices.Equal(open[0], []int64{3, 2, 1, 4}) || slices.Equal(open[0], []int64{4, 1, 2, 3})) {
		t.Errorf("rings %v, open %v", rings, open)
	}
}

// Rings that touch in one node come apart there.
func TestJoinRingsThatTouch(t *testing.T) {
	ways := []*rawWay{
		{id: 1, refs: []int64{1, 2, 3}}, {id: 2, refs: []int64{3, 4, 1}},
		{id: 3, refs: []int64{1, 5, 6}}, {id: 4, refs: []int64{6, 7, 1}},
	}
	rings, open := joinRings(ways)
	if len(rings) != 2 || len(open) != 0 || !sameRing(rings[0], idRing{1, 2, 3, 4}) || !sameRing(rings[1], idRing{1, 5, 6, 7}) {
		t.Errorf("rings %v, open %v", rings, open)
	}
}
