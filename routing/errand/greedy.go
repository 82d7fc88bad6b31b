package errand

import (
	"math"

	"wideberth/routing/search"
)

// score is a cheap guess at what the best walk from an edge costs: from there outward,
// always the way with the least rate that hangs together with what was taken, until
// half of the walk is filled, and all of it twice. It says which places are worth a
// search, and nothing of the walk: no bound lies in it.
func (r *rates) score(start int32) float64 {
	var queue search.Queue
	seen := map[int32]bool{start: true}
	queue.Push(search.Pack(0, start)) // whatever it is like: one stands there
	cost, left := 0.0, r.halfS
	for !queue.Empty() && left > 0 {
		e := search.EntryID(queue.Pop())
		s := min(left, float64(r.g.LengthM[e])/r.paceM)
		left -= s
		cost += s * float64(r.perS[e])
		a := r.g.EdgeArc[e]
		for _, v := range [2]int32{r.g.Star.Head[a], r.g.Star.Head[r.g.Star.Twin[a]]} {
			for b := r.g.Star.First[v]; b < r.g.Star.First[v+1]; b++ {
				next := r.g.ArcEdge[b]
				if seen[next] {
					continue
				}
				seen[next] = true
				key := float64(r.perS[next])
				if r.avoid[next] {
					key += avoidPerS
				}
				queue.Push(search.Pack(key, next))
			}
		}
	}
	if left > 0 {
		return math.Inf(1)
	}
	return 2 * cost
}

// avoidPerS puts ground to keep off last in the greedy order.
const avoidPerS = 1.0
