package survey

import (
	"context"
	"math"

	"wideberth/osmdata/parallel"

	"wideberth/routing/search"
)

// killedUntil is the share of the killed walk's walkers that may still be under
// way when it ends.
const killedUntil = 1e-5

// killedWalk spreads metres a day from all vertices at once: walkers go out at
// random without about-turns except at dead ends, turn back after an exponential
// length of mean halfM and come home the way they went. Passes by edge; times the
// lengths they add up to the metres but for a share of killedUntil. The cheap twin
// of the tours: its cost does not depend on how far they go.
func (w *ground) killedWalk(ctx context.Context, metres, weight []float64, halfM float64, workers int) ([]float64, error) {
	star := &w.g.Star
	t := w.turning(weight)
	keep := make([]float64, len(w.cost))
	for a, long := range w.cost {
		keep[a] = math.Exp(-float64(long) / halfM)
	}
	flow, next, sum := make([]float64, len(keep)), make([]float64, len(keep)), make([]float64, len(keep))
	left := 0.0
	for v := range metres {
		total := w.weightAt(int32(v), weight)
		if metres[v] == 0 || total == 0 {
			continue
		}
		for a := star.First[v]; a < star.First[v+1]; a++ {
			flow[a] = metres[v] / (2 * halfM) * weight[w.g.ArcEdge[a]] / total
			left += flow[a]
		}
	}
	for until := left * killedUntil; left > until; {
		left = 0
		err := parallel.EachIndex(ctx, len(metres), workers, nil, func() func(int32) {
			return func(v int32) { t.pass(v, flow, next, keep) }
		})
		if err != nil {
			return nil, err
		}
		for a := range sum {
			sum[a] += flow[a]
			left += next[a]
		}
		flow, next = next, flow
	}
	out := make([]float64, w.g.EdgeCount())
	for a, x := range sum {
		if long := float64(w.cost[a]); long > 0 {
			out[w.g.ArcEdge[a]] += 2 * x * (1 - keep[a]) * halfM / long
		}
	}
	return out, nil
}

func (w *ground) weightAt(v int32, weight []float64) float64 {
	total := 0.0
	for a := w.g.Star.First[v]; a < w.g.Star.First[v+1]; a++ {
		total += weight[w.g.ArcEdge[a]]
	}
	return total
}

// turning is how walkers part at vertices: by the weight of the arcs, never back
// the way they came but at a dead end.
type turning struct {
	star   *search.Graph
	weight []float64 // by arc
	others []float64 // by arc: one over the weight of the other arcs out of its tail; 0 at a dead end
}

func (w *ground) turning(weight []float64) *turning {
	star := &w.g.Star
	t := &turning{star, make([]float64, len(star.Head)), make([]float64, len(star.Head))}
	for v := range int32(star.VertexCount()) {
		total := w.weightAt(v, weight)
		lo, hi := star.First[v], star.First[v+1]
		for a := lo; a < hi; a++ {
			t.weight[a] = weight[w.g.ArcEdge[a]]
			if rest := total - t.weight[a]; hi-lo > 1 && rest > 1e-12*total {
				t.others[a] = 1 / rest
			}
		}
	}
	return t
}

// pass brings what comes to a vertex into the arcs that leave it. What comes in
// by one arc parts among the others, so each arc gets its weight times the sum
// over all that came, less its own: one pass over the arcs instead of all pairs.
func (t *turning) pass(v int32, flow, next, keep []float64) {
	lo, hi := t.star.First[v], t.star.First[v+1]
	all := 0.0
	for c := lo; c < hi; c++ {
		came := t.star.Twin[c]
		next[c] = flow[came] * keep[came] * t.others[c]
		all += next[c]
	}
	for c := lo; c < hi; c++ {
		if t.others[c] == 0 {
			came := t.star.Twin[c]
			next[c] = flow[came]*keep[came] + t.weight[c]*all
			continue
		}
		next[c] = t.weight[c] * max(0, all-next[c])
	}
}
