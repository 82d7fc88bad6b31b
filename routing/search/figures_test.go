package search_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/search"
)

const (
	figurePairs  = 1000
	figureRounds = 5 // each pair's time is the least of so many
	walkMPS      = 1.3
)

// ground is a graph with weights and the pairs to ask about.
type ground struct {
	name   string
	g      *search.Graph
	time   []float32
	cost   []float32
	router *search.Router
	pairs  []figurePair
}

// figurePair is one question; the limit lies between the times of the fastest and
// of the cheapest path, so that it binds.
type figurePair struct {
	from, to int32
	limitS   float64
}

// answer is what one program says about one pair.
type answer struct{ value, ns float64 }

// TestBaselineRatios prints this package's times over those of a C++ baseline of the
// same algorithms (without the short cuts past cul-de-sacs and through vertices with
// a single way on, but with graph and weights interleaved beforehand) and over
// gonum's, on the same pairs in the same run, and checks that all agree on the costs.
// A quiet core is wanted.
func TestBaselineRatios(t *testing.T) {
	if os.Getenv("WIDEBERTH_FIGURES") == "" {
		t.Skip("skipped: set WIDEBERTH_FIGURES=1 to compile the C++ baseline and measure against it")
	}
	compiler, err := exec.LookPath("g++")
	if err != nil {
		t.Skip("skipped: no g++ here, so nothing to measure against")
	}
	program := filepath.Join(t.TempDir(), "baseline")
	if out, err := exec.Command(compiler, "-O3", "-o", program, filepath.Join("testdata", "baseline", "baseline.cpp")).CombinedOutput(); err != nil {
		t.Fatalf("compiling the baseline: %v\n%s", err, out)
	}
	for _, lay := range []func(testing.TB) *ground{latticeGround, delawareGround} {
		k := lay(t)
		if k == nil {
			continue
		}
		t.Run(k.name, func(t *testing.T) { k.compare(t, program) })
	}
}

func (k *ground) compare(t *testing.T, program string) {
	file := filepath.Join(t.TempDir(), "graph.bin")
	if err := os.WriteFile(file, k.encode(), 0o600); err != nil {
		t.Fatal(err)
	}
	// The two programs take turns, so that a busy machine hurts both.
	var plain, both, within, ourPath, ourWithin []answer
	for range 2 {
		out, err := exec.Command(program, file, "3").Output()
		if err != nil {
			t.Fatal(err)
		}
		theirs := make([]float64, len(out)/8)
		if err := binary.Read(bytes.NewReader(out), binary.LittleEndian, theirs); err != nil {
			t.Fatal(err)
		}
		plain, both, within = keepLeast(plain, column(theirs, 0)), keepLeast(both, column(theirs, 1)), keepLeast(within, column(theirs, 2))
		ourPath = keepLeast(ourPath, k.measure(t, k.path()))
		ourWithin = keepLeast(ourWithin, k.measure(t, k.cheapest))
	}
	gonum := k.measureGonum(t)
	for i := range k.pairs {
		if ourPath[i].value != plain[i].value || ourPath[i].value != both[i].value || ourPath[i].value != gonum[i].value {
			t.Fatalf("pair %d: path costs %v, C++ %v and %v, gonum %v", i, ourPath[i].value, plain[i].value, both[i].value, gonum[i].value)
		}
		if ourWithin[i].value != within[i].value {
			t.Fatalf("pair %d: %v within the limit, C++ %v", i, ourWithin[i].value, within[i].value)
		}
	}
	t.Logf("%s: %d vertices, %d edges, %d pairs, costs identical", k.name, k.g.VertexCount(), k.g.ArcCount()/2, len(k.pairs))
	report := func(what string, ours, theirs []answer, least, most float64) {
		a, b := spread(ours), spread(theirs)
		ratio := a[1] / b[1]
		if least > 0 {
			ratio = b[1] / a[1]
		}
		t.Logf("%-34s ours p50 %6.1f p99 %7.1f us, theirs p50 %7.1f p99 %7.1f us, ratio at the median %.2f", what, a[1], a[2], b[1], b[2], ratio)
		if (most > 0 && ratio > most) || ratio < least {
			t.Errorf("%s: ratio %.2f, wanted at most %.1f or at least %.0f", what, ratio, most, least)
		}
	}
	report("path / C++ both ends", ourPath, both, 0, 1.5)
	report("path / C++ plain Dijkstra", ourPath, plain, 0, 1.5)
	report("within limit / C++ labels", ourWithin, within, 0, 2)
	report("gonum / path", ourPath, gonum, 20, 0)
	front := k.measure(t, k.front)
	members := 0.0
	for _, f := range front {
		members += f.value
	}
	f := spread(front)
	t.Logf("%-34s ours p50 %6.1f p99 %7.1f us, %.1f trades a pair", "front to twice the fastest", f[1], f[2], members/float64(len(front)))
}

// column takes one of the three answers of every pair from the baseline's output.
func column(out []float64, kind int) []answer {
	list := make([]answer, 0, len(out)/6)
	for i := 2 * kind; i < len(out); i += 6 {
		list = append(list, answer{out[i], out[i+1]})
	}
	return list
}

// keepLeast keeps the lesser time of two runs.
func keepLeast(old, fresh []answer) []answer {
	for i := range old {
		fresh[i].ns = min(fresh[i].ns, old[i].ns)
	}
	return fresh
}

// spread is the least, the median and the 99th percentile in microseconds.
func spread(list []answer) [3]float64 {
	ns := make([]float64, len(list))
	for i, a := range list {
		ns[i] = a.ns / 1000
	}
	slices.Sort(ns)
	return [3]float64{ns[0], ns[len(ns)/2], ns[len(ns)*99/100]}
}

// measure asks about every pair in rounds and keeps each pair's least time.
func (k *ground) measure(t *testing.T, ask func(figurePair) (float64, error)) []answer {
	t.Helper()
	list := make([]answer, len(k.pairs))
	for i := range list {
		list[i].ns = math.Inf(1)
	}
	for range figureRounds {
		for i, p := range k.pairs {
			start := time.Now()
			value, err := ask(p)
			ns := float64(time.Since(start).Nanoseconds())
			if err != nil {
				t.Fatal(err)
			}
			list[i] = answer{value, min(list[i].ns, ns)}
		}
	}
	return list
}

func (k *ground) path() func(figurePair) (float64, error) {
	var arcs []int32
	return func(p figurePair) (float64, error) {
		route, err := k.router.Path(arcs[:0], p.from, p.to, k.cost, nil)
		arcs = route.Arcs
		return route.Cost, err
	}
}

func (k *ground) cheapest(p figurePair) (float64, error) {
	w, err := k.router.Cheapest(search.Timed{From: p.from, To: p.to, TimeS: k.time, Cost: [][]float32{k.cost}, LimitS: p.limitS})
	return w.Cost, err
}

// front asks for all trades up to twice the limit and gives their number.
func (k *ground) front(p figurePair) (float64, error) {
	ways, _, err := k.router.Front(search.Timed{From: p.from, To: p.to, TimeS: k.time, Cost: [][]float32{k.cost}, LimitS: 2 * p.limitS})
	return float64(len(ways)), err
}

// measureGonum times gonum's search on the same graph, parallel edges collapsed.
func (k *ground) measureGonum(t *testing.T) []answer {
	g := simple.NewWeightedDirectedGraph(0, math.Inf(1))
	for v := range k.g.VertexCount() {
		g.AddNode(simple.Node(v))
	}
	for a := range k.g.Head {
		u, v := int64(k.g.Head[k.g.Twin[a]]), int64(k.g.Head[a])
		if old, ok := g.Weight(u, v); u != v && (!ok || old > float64(k.cost[a])) {
			g.SetWeightedEdge(g.NewWeightedEdge(simple.Node(u), simple.Node(v), float64(k.cost[a])))
		}
	}
	list := make([]answer, len(k.pairs))
	for i, p := range k.pairs {
		start := time.Now()
		_, value := path.DijkstraFromTo(simple.Node(p.from), simple.Node(p.to), g)
		list[i] = answer{value, float64(time.Since(start).Nanoseconds())}
	}
	return list
}

// encode writes the ground in the baseline's format.
func (k *ground) encode() []byte {
	var b bytes.Buffer
	write := func(v any) { _ = binary.Write(&b, binary.LittleEndian, v) } // a buffer takes everything
	write([]int32{int32(k.g.VertexCount()), int32(k.g.ArcCount()), int32(len(k.pairs))})
	write(k.g.First)
	write(k.g.Head)
	write(k.g.Twin)
	write(k.time)
	write(k.cost)
	for _, p := range k.pairs {
		write([]int32{p.from, p.to})
		write(p.limitS)
	}
	return b.Bytes()
}

// choose draws pairs that fit and sets their limits between the fastest and the
// cheapest path.
func (k *ground) choose(t testing.TB, r *rand.Rand, fits func(u, v int32) bool, vertices []int32) {
	router, err := search.NewRouter(k.g)
	if err != nil {
		t.Fatal(err)
	}
	if err := router.CheckCosts(k.cost); err != nil {
		t.Fatal(err)
	}
	k.router = router
	for len(k.pairs) < figurePairs {
		u, v := vertices[r.IntN(len(vertices))], vertices[r.IntN(len(vertices))]
		if !fits(u, v) {
			continue
		}
		fastest, err := router.Path(nil, u, v, k.time, nil)
		if err != nil {
			continue
		}
		cheapest, err := router.Path(nil, u, v, k.cost, nil)
		if err != nil {
			t.Fatal(err)
		}
		slowS := 0.0
		for _, a := range cheapest.Arcs {
			slowS += float64(k.time[a])
		}
		k.pairs = append(k.pairs, figurePair{u, v, fastest.Cost + (slowS-fastest.Cost)*r.Float64()})
	}
}

// latticeGround is an invented road-like graph of 68,000 vertices.
func latticeGround(t testing.TB) *ground {
	const side = 261
	r := rand.New(rand.NewPCG(1, 2))
	k := &ground{name: "invented lattice"}
	k.g, k.time, k.cost = search.LatticeWorld(t, r, side)
	vertices := make([]int32, side*side)
	for v := range vertices {
		vertices[v] = int32(v)
	}
	k.choose(t, r, func(u, v int32) bool {
		d := 90 * math.Hypot(float64(u%side-v%side), float64(u/side-v/side))
		return d >= 500 && d <= 2500
	}, vertices)
	return k
}

// delawareGround is the walkable network of the state extract that the OSM module
// carries as test data (© OpenStreetMap contributors), with pairs 0.5 to 2.5 km apart
// around Wilmington. Costs are invented: time by a factor that varies smoothly over
// the ground and at random by edge.
func delawareGround(t testing.TB) *ground {
	dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		t.Log("no Delaware extract, so no figures on it: ", err)
		return nil
	}
	x, err := osmdata.Options{}.ReadFile(context.Background(), filepath.Join(strings.TrimSpace(string(dir)), "testdata", "delaware-latest.osm.pbf"))
	if err != nil {
		t.Log("no Delaware extract, so no figures on it: ", err)
		return nil
	}
	n, _, err := network.Build(x.Streets, x.Barred, network.Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(3, 4))
	k := &ground{name: "Wilmington", g: &n.Star, time: make([]float32, n.Star.ArcCount()), cost: make([]float32, n.Star.ArcCount())}
	for e, a := range n.EdgeArc {
		at := n.EdgeLine(int32(e))[0]
		b := n.Star.Twin[a]
		k.time[a] = n.LengthM[e] / walkMPS
		k.time[b] = k.time[a]
		factor := math.Exp(0.6*math.Sin(at.X/300)*math.Cos(at.Y/400) + 0.6*r.NormFloat64())
		k.cost[a] = k.time[a] * float32(factor) / 1000
		k.cost[b] = k.cost[a] * (0.9 + 0.2*r.Float32())
	}
	k.choose(t, r, func(u, v int32) bool {
		d := math.Hypot(n.Vertex[u].X-n.Vertex[v].X, n.Vertex[u].Y-n.Vertex[v].Y)
		return d >= 500 && d <= 2500
	}, inBox(n.Vertex, x.Frame.Forward(-75.60, 39.70), x.Frame.Forward(-75.48, 39.80)))
	return k
}

// inBox lists the points between two corners.
func inBox(points []plane.Point, low, high plane.Point) []int32 {
	var in []int32
	for v, p := range points {
		if p.X >= low.X && p.X <= high.X && p.Y >= low.Y && p.Y <= high.Y {
			in = append(in, int32(v))
		}
	}
	return in
}
