package network

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestPartsByWay: every part is listed once, under its way and with its edge, those of a
// way in the order of the edges; a way that is not there has none.
func TestPartsByWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ids := []int64{1, 2, 3, math.MaxInt64, -7, 1 << 40}
		g := &Graph{PartAt: []int32{0}}
		of := map[int64][]int32{}
		edge := map[int32]int32{}
		for e := range int32(rapid.IntRange(0, 12).Draw(t, "edges")) {
			for range rapid.IntRange(1, 3).Draw(t, "parts") {
				way, i := rapid.SampledFrom(ids).Draw(t, "way"), int32(len(g.Parts))
				g.Parts = append(g.Parts, Part{Street: way})
				of[way], edge[i] = append(of[way], i), e
			}
			g.PartAt, g.EdgeArc = append(g.PartAt, int32(len(g.Parts))), append(g.EdgeArc, 0)
		}
		w := g.WayParts()
		for _, way := range append(ids, 99) {
			from, to := w.Of(way)
			if int(to-from) != len(of[way]) {
				t.Fatalf("%d parts of way %d, want %v", to-from, way, of[way])
			}
			for k, i := range of[way] {
				if at := from + int32(k); w.Part[at] != i || w.Edge[at] != edge[i] {
					t.Fatalf("way %d has part %d of edge %d, want %d of %d", way, w.Part[at], w.Edge[at], i, edge[i])
				}
			}
		}
	})
}
