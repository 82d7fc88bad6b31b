package trips

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"wideberth/routing/search"
	"wideberth/routing/survey/sketch"
)

// TestWaysHomeAgainstWholeTrees: ways home from doors anywhere, grown bit by bit, are as
// long as those of a tree over the whole network, to the last bit, and lead home.
func TestWaysHomeAgainstWholeTrees(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		g := sketch.Ragged(r).Net(t)
		router, err := search.NewRouter(&g.Star)
		if err != nil {
			rt.Fatal(err)
		}
		cost := make([]float32, g.Star.ArcCount())
		for a, e := range g.ArcEdge {
			cost[a] = g.LengthM[e]
		}
		reachM := 40 * math.Exp(3*r.Float64())
		k := newMesh(g).metric(cost, false, reachM)
		h := NewHomeward(k)
		star := &g.Star
		for range 12 {
			door := int32(r.IntN(len(g.Vertex)))
			if r.IntN(2) == 0 && h.foot >= 0 && k.m.twigAt[h.foot] < k.m.twigAt[h.foot+1] { // a neighbour's
				door = k.m.twigs[k.m.twigAt[h.foot]+r.Int32N(k.m.twigAt[h.foot+1]-k.m.twigAt[h.foot])].vertex
			}
			h.Leave(door)
			tree, err := router.Reach([]search.Source{{Vertex: door}}, cost, search.Span{Cutoff: reachM})
			if err != nil {
				rt.Fatal(err)
			}
			for _, part := range []float64{r.Float64(), 1} {
				h.Within(part * reachM)
				for v := range int32(len(g.Vertex)) {
					got, want := h.DistM(v), tree.Dist(v)
					if want <= part*reachM && got != want || got < want || math.IsInf(got, 1) && want <= part*reachM {
						rt.Fatalf("from %d to %d %g m, whole trees %g; grown to %g", door, v, got, want, part*reachM)
					}
					if want > part*reachM {
						continue
					}
					long := 0.0
					for at := v; at != door; {
						a := h.Arc(at)
						if star.Head[a] != at {
							rt.Fatalf("the last arc to %d leads to %d", at, star.Head[a])
						}
						long += float64(cost[a])
						at = star.Head[star.Twin[a]]
					}
					if long != want {
						rt.Fatalf("the way from %d home to %d is %g m, not %g", v, door, long, want)
					}
				}
			}
			tree.Release()
		}
	})
}
