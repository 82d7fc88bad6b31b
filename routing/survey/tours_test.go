package survey

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/sketch"
	"wideberth/routing/survey/trips"
)

func groundOf(t testing.TB, g *network.Graph) *ground {
	t.Helper()
	w, err := newGround(g, plane.Frame{}, make([]exposure.PlaceKind, g.EdgeCount()))
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func passMetres(g *network.Graph, passes []float64) float64 {
	sum := 0.0
	for e, n := range passes {
		sum += n * float64(g.LengthM[e])
	}
	return sum
}

func quiet(int) {}

// evenMetres gives every vertex some metres, unlike ones.
func evenMetres(n int) (metres []float64, total float64) {
	metres = make([]float64, n)
	for v := range metres {
		metres[v] = float64(300 + 10*(v%7))
		total += metres[v]
	}
	return metres, total
}

// Passes times lengths are the metres that were to be walked, for tours to one in
// a million, for the killed walk but for those still under way when it ends.
func TestToursConserveMetres(t *testing.T) {
	for seed := range uint64(3) {
		g := sketch.Suburb(8, seed).Net(t)
		w := groundOf(t, g)
		metres, total := evenMetres(len(g.Vertex))
		weight := w.pleasure()
		tours, err := w.tours(context.Background(), metres, weight, toursPerHome, 2, quiet)
		if err != nil {
			t.Fatal(err)
		}
		if got := passMetres(g, tours); !about(got, total, 1e-6) {
			t.Errorf("seed %d: tours walk %.3f m of %.3f", seed, got, total)
		}
		killed, err := w.killedWalk(context.Background(), metres, weight, 900, 2)
		if err != nil {
			t.Fatal(err)
		}
		if got := passMetres(g, killed); !about(got, total, 5*killedUntil) {
			t.Errorf("seed %d: killed walk %.3f m of %.3f", seed, got, total)
		}
	}
}

// A place from which no tour can be made still gets its walks: to and fro.
func TestToursWhereNothingFits(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Track, sketch.Line(0, 0, 9000, 0))
	g := k.Net(t)
	w := groundOf(t, g)
	tours, err := w.tours(context.Background(), []float64{450, 0}, w.pleasure(), 5, 1, quiet)
	if err != nil {
		t.Fatal(err)
	}
	if got := passMetres(g, tours); !about(got, 450, 1e-6) {
		t.Errorf("%g m of 450", got)
	}
}

// The two ways of spreading dogs must see the same streets as busy (rank
// correlation 0.83 to 0.91 in a measured prototype, on real maps).
func TestToursAgreeWithTheirTwin(t *testing.T) {
	g := sketch.Suburb(12, 5).Net(t)
	w := groundOf(t, g)
	metres, _ := evenMetres(len(g.Vertex))
	for v, p := range g.Vertex {
		metres[v] *= math.Exp(p.X / 500) // from gardens to flats
	}
	weight := w.pleasure()
	tours, err := w.tours(context.Background(), metres, weight, 48, 2, quiet)
	if err != nil {
		t.Fatal(err)
	}
	killed, err := w.killedWalk(context.Background(), metres, weight, dogWalkS*1.1/2, 2)
	if err != nil {
		t.Fatal(err)
	}
	if rho := stat.Correlation(tours, killed, nil); rho < .8 {
		t.Errorf("correlation of tours and killed walk %.2f", rho)
	}
}

// The slow twin of the killed walk: walkers one by one, by dice.
func TestKilledWalkAgainstWalkers(t *testing.T) {
	const seed, walkers, half = 4, 60000, 250.0
	g := sketch.Suburb(4, 2).Net(t)
	w := groundOf(t, g)
	weight := w.pleasure()
	home := int32(len(g.Vertex) / 2)
	metres := make([]float64, len(g.Vertex))
	metres[home] = 2 * half * walkers
	got, err := w.killedWalk(context.Background(), metres, weight, half, 1)
	if err != nil {
		t.Fatal(err)
	}
	want := make([]float64, g.EdgeCount())
	r := rand.New(rand.NewPCG(seed, seed))
	star := &g.Star
	for range walkers {
		v, last := home, int32(-1)
		for left := r.ExpFloat64() * half; left > 0; {
			total := 0.0
			for a := star.First[v]; a < star.First[v+1]; a++ {
				if last < 0 || a != star.Twin[last] || star.First[v+1]-star.First[v] == 1 {
					total += weight[g.ArcEdge[a]]
				}
			}
			x := r.Float64() * total
			for a := star.First[v]; a < star.First[v+1]; a++ {
				if last >= 0 && a == star.Twin[last] && star.First[v+1]-star.First[v] > 1 {
					continue
				}
				if x -= weight[g.ArcEdge[a]]; x < 0 {
					last = a
					break
				}
			}
			long := float64(w.cost[last])
			want[g.ArcEdge[last]] += 2 * min(1, left/long)
			left -= long
			v = star.Head[last]
		}
	}
	for e := range want {
		if want[e] > walkers/20 && !about(got[e], want[e], .08) {
			t.Errorf("seed %d, edge %d: %.0f, walkers %.0f", seed, e, got[e], want[e])
		}
	}
}

// A walk is closed, has no about-turn but at dead ends and on its way home, and is
// not much longer than wished.
func TestTourShape(t *testing.T) {
	g := sketch.Suburb(10, 7).Net(t)
	w := groundOf(t, g)
	tourist := newTourist(w, w.pleasure(), w.homeward())
	var longest, total float64
	const n = 400
	for v := range int32(4) {
		home := v * 17
		sum := make(trips.Tallies, g.EdgeCount())
		tourist.visit(home, 1, n/4, sum)
		for _, edges := range tourist.all {
			length := 0.0
			degree := map[int32]int{}
			for _, e := range edges {
				length += float64(g.LengthM[e])
				tail, head := g.Ends(e)
				degree[tail]++
				degree[head]++
			}
			for at, d := range degree {
				if d%2 != 0 {
					t.Fatalf("a tour from %d does not close: %d ends at vertex %d", home, d, at)
				}
			}
			longest = max(longest, length)
			total += length
		}
	}
	mean := total / n
	if longest > tourTolerance*tourMostM || mean < 1200 || mean > 2200 {
		t.Errorf("tours of %.0f m on average, %.0f m at most", mean, longest)
	}
}

// A piece of a map has the tours of the whole: numbers of vertices and arcs do not
// matter, only OSM's.
func TestToursOfAPart(t *testing.T) {
	small := sketch.Suburb(9, 1)
	part := small.Net(t)
	big := sketch.Suburb(9, 1)
	for i := range 40 { // more map, far off, with nodes of its own
		x := 20000 + 130*float64(i)
		big.Street(osmdata.Residential, sketch.Line(x, 9000, x+130, 9000))
		big.Street(osmdata.Residential, sketch.Line(x, 9000, x, 9300))
	}
	whole := big.Net(t)
	flows := func(g *network.Graph) map[plane.Point]float64 {
		w := groundOf(t, g)
		metres := make([]float64, len(g.Vertex))
		for v, p := range g.Vertex {
			if p.Y < 5000 {
				metres[v] = 100
			}
		}
		tours, err := w.tours(context.Background(), metres, w.pleasure(), 6, 2, quiet)
		if err != nil {
			t.Fatal(err)
		}
		out := map[plane.Point]float64{}
		for e, n := range tours {
			out[g.EdgeLine(int32(e)).At(float64(g.LengthM[e])/2)] += n
		}
		return out
	}
	a, b := flows(part), flows(whole)
	worst := 0.0
	for at, n := range a {
		near := math.Inf(1)
		for q, m := range b {
			if q.DistanceM(at) < .01 {
				near = m
			}
		}
		worst = max(worst, math.Abs(near-n)/(n+1e-9))
	}
	if worst > 1e-6 {
		t.Errorf("flows differ by up to %.4f of themselves", worst)
	}
}

// The number of workers changes nothing, to the last bit.
func TestToursForAnyNumberOfWorkers(t *testing.T) {
	g := sketch.Suburb(8, 4).Net(t)
	w := groundOf(t, g)
	metres, _ := evenMetres(len(g.Vertex))
	one, err := w.tours(context.Background(), metres, w.pleasure(), 6, 1, quiet)
	if err != nil {
		t.Fatal(err)
	}
	eight, err := w.tours(context.Background(), metres, w.pleasure(), 6, 8, quiet)
	if err != nil {
		t.Fatal(err)
	}
	for e := range one {
		if one[e] != eight[e] {
			t.Fatalf("edge %d: %v with one worker, %v with eight", e, one[e], eight[e])
		}
	}
}

func TestToursStop(t *testing.T) {
	g := sketch.Suburb(5, 4).Net(t)
	w := groundOf(t, g)
	metres, _ := evenMetres(len(g.Vertex))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := w.tours(ctx, metres, w.pleasure(), 6, 2, quiet); err == nil {
		t.Error("tours go on after the context ended")
	}
	if _, err := w.killedWalk(ctx, metres, w.pleasure(), 500, 2); err == nil {
		t.Error("the killed walk goes on after the context ended")
	}
}

// killedPlainly is the killed walk as its words say it: all walk an arc at a time, until
// hardly anybody is left.
func (w *ground) killedPlainly(metres, weight []float64, halfM float64) []float64 {
	star := &w.g.Star
	flow, out := make([]float64, star.ArcCount()), make([]float64, w.g.EdgeCount())
	for v := range metres {
		for a := star.First[v]; a < star.First[v+1]; a++ {
			flow[a] = metres[v] / (2 * halfM) * weight[w.g.ArcEdge[a]] / w.weightAt(int32(v), weight)
		}
	}
	for range 3000 {
		next := make([]float64, len(flow))
		for a := range flow {
			e, twin, long := w.g.ArcEdge[a], star.Twin[a], float64(w.cost[a])
			keep := math.Exp(-long / halfM)
			out[e] += 2 * flow[a] * (1 - keep) * halfM / long
			v := star.Head[a]
			rest := w.weightAt(v, weight) - weight[e]
			if star.First[v+1]-star.First[v] == 1 {
				next[twin] += flow[a] * keep
				continue
			}
			for b := star.First[v]; b < star.First[v+1]; b++ {
				if b != twin {
					next[b] += flow[a] * keep * weight[w.g.ArcEdge[b]] / rest
				}
			}
		}
		flow = next
	}
	return out
}

// TestKilledWalkAgainstThePlainWay: solved block by block it is what it is step by step,
// however many blocks there are, and to the last bit for any number of workers.
func TestKilledWalkAgainstThePlainWay(t *testing.T) {
	for seed := range uint64(3) {
		r := rand.New(rand.NewPCG(seed, 9))
		w := groundOf(t, sketch.Ragged(r).Net(t))
		if seed == 2 {
			w = groundOf(t, sketch.Suburb(36, 2).Net(t)) // of more than one block
			if len(w.g.Vertex) < wanderBlock+100 {
				t.Fatalf("%d vertices are one block", len(w.g.Vertex))
			}
		}
		metres, weight := make([]float64, len(w.g.Vertex)), make([]float64, w.g.EdgeCount())
		for v := range metres {
			metres[v] = 1000 * r.ExpFloat64() * float64(r.IntN(2))
		}
		for e := range weight {
			weight[e] = 0.05 + 4*r.Float64()*r.Float64()
		}
		const half = 400
		got, err := w.killedWalk(context.Background(), metres, weight, half, 1)
		if err != nil {
			t.Fatal(err)
		}
		others, err := w.killedWalk(context.Background(), metres, weight, half, 5)
		if err != nil {
			t.Fatal(err)
		}
		want := w.killedPlainly(metres, weight, half)
		for e := range want {
			if !about(got[e], want[e], 1e-4) {
				t.Errorf("seed %d, edge %d: %.6f, step by step %.6f", seed, e, got[e], want[e])
			}
			if got[e] != others[e] {
				t.Fatalf("seed %d, edge %d: %v of one worker, %v of five", seed, e, got[e], others[e])
			}
		}
	}
}
