package survey

import (
	"context"
	"math"
	"slices"

	"wideberth/osmdata/parallel"
	"wideberth/routing/search"
)

// killedUntil is by which share more get into an arc before it is looked at where they
// go on. Of all metres a few times that share is left out so, on a state of those on one
// edge at most seventy times.
const killedUntil = 5e-6

// killedWalk spreads metres a day from all vertices at once: walkers go out at
// random without about-turns except at dead ends, turn back after an exponential
// length of mean halfM and come home the way they went. Passes by edge; times the
// lengths they add up to the metres but for a few times killedUntil. The cheap twin
// of the tours: its cost does not depend on how far they go.
func (w *ground) killedWalk(ctx context.Context, metres, weight []float64, halfM float64, workers int) ([]float64, error) {
	star := &w.g.Star
	keep := make([]float64, len(w.cost))
	for a, long := range w.cost {
		keep[a] = math.Exp(-float64(long) / halfM)
	}
	begin := make([]float64, len(keep))
	for v := range metres {
		total := w.weightAt(int32(v), weight)
		if metres[v] == 0 || total == 0 {
			continue
		}
		for a := star.First[v]; a < star.First[v+1]; a++ {
			begin[a] = metres[v] / (2 * halfM) * weight[w.g.ArcEdge[a]] / total
		}
	}
	sum, err := newWander(star, w.bends(weight, keep), begin).spread(ctx, workers)
	if err != nil {
		return nil, err
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

// bend is an arc with how walkers get into it at its tail: they part by the weight of
// the arcs, never back the way they came but at a dead end.
type bend struct {
	came   int32   // where what comes by its twin stands
	parts  float64 // of that, what parts among a unit of weight of the other arcs; 0 at a dead end
	weight float64
	back   float64 // of that, what turns about; 0 but at a dead end
}

// bends are those of all arcs, keep the share that walks an arc to its end.
func (w *ground) bends(weight, keep []float64) []bend {
	star := &w.g.Star
	out := make([]bend, star.ArcCount())
	for v := range int32(star.VertexCount()) {
		total := w.weightAt(v, weight)
		lo, hi := star.First[v], star.First[v+1]
		for a := lo; a < hi; a++ {
			b := &out[a]
			b.came, b.weight = star.Twin[a], weight[w.g.ArcEdge[a]]
			if rest := total - b.weight; hi-lo > 1 && rest > 1e-12*total {
				b.parts = keep[b.came] / rest
			} else {
				b.back = keep[b.came]
			}
		}
	}
	return out
}

// wander is a killed walk under way: how many get into each arc is what begins there
// and what goes on from the arcs before, a linear system that is solved block by block
// of neighbouring vertices, in place, to and fro (block Jacobi with symmetric
// Gauss-Seidel inside; Saad 2003, Iterative Methods for Sparse Linear Systems, ch. 4),
// where more came since. Between rounds blocks know of each other only what crossed
// their borders in the round before, so that the result does not hang on who does which
// when.
type wander struct {
	star   *search.Graph
	bends  []bend
	begin  []float64
	sum    []float64 // by arc: how many get into it; behind those what crosses borders
	across []int32   // the arcs that do
	stir   []bool    // by vertex: more came since it was passed
}

const (
	wanderBlock  = 1024 // vertices of a block: what is known of them stays in a core's own cache
	wanderSweeps = 2    // to and fro twice
)

func newWander(star *search.Graph, bends []bend, begin []float64) *wander {
	w := &wander{star: star, bends: bends, begin: begin, stir: make([]bool, star.VertexCount())}
	for a := range bends {
		came := star.Twin[a]
		if star.Head[came]/wanderBlock != star.Head[a]/wanderBlock {
			bends[a].came = int32(len(bends) + len(w.across))
			w.across = append(w.across, came)
		}
	}
	for v := range w.stir {
		w.stir[v] = true
	}
	w.sum = make([]float64, len(bends)+len(w.across))
	return w
}

// spread solves the system.
func (w *wander) spread(ctx context.Context, workers int) ([]float64, error) {
	n := w.star.VertexCount()
	for going := true; going; {
		err := parallel.With(ctx, workers, (n+wanderBlock-1)/wanderBlock, func() func(int) error {
			var parts []float64
			return func(i int) error {
				parts = w.round(int32(i*wanderBlock), int32(min(n, (i+1)*wanderBlock)), parts)
				return nil
			}
		})
		if err != nil {
			return nil, err
		}
		for i, a := range w.across {
			if known := &w.sum[len(w.bends)+i]; w.sum[a]-*known > killedUntil*w.sum[a] {
				*known, w.stir[w.star.Head[a]] = w.sum[a], true
			}
		}

		going = slices.Contains(w.stir, true)
	}
	return w.sum[:len(w.bends)], nil
}

// round sweeps over the vertices of a block that more came to. parts is working memory.
func (w *wander) round(lo, hi int32, parts []float64) []float64 {
	for sweep := range wanderSweeps {
		for i := range hi - lo {
			v := lo + i
			if sweep%2 == 1 {
				v = hi - 1 - i
			}
			if w.stir[v] {
				parts = w.pass(v, parts)
			}
		}
	}
	return parts
}

// pass brings what comes to a vertex into the arcs that leave it. What comes in by one
// arc parts among the others, so each arc gets its weight times the sum over all that
// came, less its own: one pass over the arcs instead of all pairs.
func (w *wander) pass(v int32, parts []float64) []float64 {
	lo, hi := w.star.First[v], w.star.First[v+1]
	bends, begin, sum := w.bends[lo:hi], w.begin[lo:hi], w.sum[lo:hi]
	w.stir[v] = false
	parts = parts[:0]
	all := 0.0
	for c := range bends {
		y := w.sum[bends[c].came] * bends[c].parts
		parts = append(parts, y)
		all += y
	}
	for c := range bends {
		b := &bends[c]
		x := begin[c] + b.weight*max(0, all-parts[c])
		if b.back > 0 {
			x += b.back * w.sum[b.came]
		}
		if x-sum[c] > killedUntil*x && int(b.came) < len(w.bends) {
			w.stir[w.star.Head[lo+int32(c)]] = true
		}
		sum[c] = x
	}
	return parts
}
