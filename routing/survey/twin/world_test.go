package twin

import (
	"bytes"
	"context"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/search"
	"wideberth/routing/survey"
	"wideberth/testdata"
)

// slowRun tells whether the long simulations are asked for.
func slowRun() bool { return os.Getenv("WIDEBERTH_SLOW") != "" }

// evening is a busy hour of a working day.
var evening = (&hours.Clock{}).At(time.Date(2026, time.November, 4, 17, 15, 0, 0, time.UTC))

// world is the ground that agents move on: ways, and what blocks the view.
type world struct {
	name   string
	x      *osmdata.Extract
	g      *network.Graph
	walls  *plane.Index
	router *search.Router
}

// worldOf lays out an extract.
func worldOf(t testing.TB, name string, x *osmdata.Extract) *world {
	t.Helper()
	g, _, err := network.Build(x.Streets, x.Barred, network.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var segs []plane.Segment
	for i := range x.Obstacles {
		o := &x.Obstacles[i]
		for k := 1; k < len(o.Line) && o.Blocks&osmdata.BlocksView != 0; k++ {
			segs = append(segs, plane.Segment{A: o.Line[k-1], B: o.Line[k], Mask: 1})
		}
	}
	router, err := search.NewRouter(&g.Star)
	if err != nil {
		t.Fatal(err)
	}
	return &world{name, x, g, plane.NewIndex(segs, 32), router}
}

// sees tells whether nothing stands between two places.
func (w *world) sees(a, b plane.Point) bool {
	return a.DistanceM(b) < 1 || w.walls.Visible(a, b, 1)
}

// town is a square about the middle of the invented town.
func town(t testing.TB, sideM float64) *world {
	t.Helper()
	x, err := osmdata.Options{Rules: exposure.Rules()}.Read(context.Background(), bytes.NewReader(testdata.Town()))
	if err != nil {
		t.Fatal(err)
	}
	return worldOf(t, "invented town", pieceOf(x, squareAt(plane.Point{}, sideM/2)))
}

// realPiece is a square about a place of an extract that the OSM reading module
// carries as its test data (© OpenStreetMap contributors).
func realPiece(t testing.TB, file, place string, sideM float64) *world {
	t.Helper()
	dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		t.Skip("the module with the extract is not there: ", err)
	}
	x, err := osmdata.Options{Rules: exposure.Rules()}.ReadFile(context.Background(), filepath.Join(strings.TrimSpace(string(dir)), "testdata", file))
	if err != nil {
		t.Fatal(err)
	}
	for i := range x.Places {
		if x.Places[i].Name == place {
			return worldOf(t, place, pieceOf(x, squareAt(x.Places[i].Point, sideM/2)))
		}
	}
	t.Fatalf("no place %s in %s", place, file)
	return nil
}

func squareAt(c plane.Point, halfM float64) plane.Box {
	h := plane.Point{X: halfM, Y: halfM}
	return plane.Box{Min: c.Sub(h), Max: c.Add(h)}
}

// pieceOf cuts an extract down to a box: ways node by node, the rest by their
// boxes.
func pieceOf(x *osmdata.Extract, b plane.Box) *osmdata.Extract {
	p := &osmdata.Extract{Frame: x.Frame, Barred: x.Barred, Report: x.Report}
	for i := range x.Streets {
		s := x.Streets[i]
		for lo := 0; lo < len(s.Line); lo++ {
			hi := lo
			for hi < len(s.Line) && b.Contains(s.Line[hi]) {
				hi++
			}
			if hi-lo > 1 {
				run := s
				run.Line, run.Nodes = s.Line[lo:hi], s.Nodes[lo:hi]
				p.Streets = append(p.Streets, run)
			}
			lo = hi
		}
	}
	wide := b.Grown(100)
	for _, o := range x.Obstacles {
		if wide.Intersects(o.Line.Box()) {
			p.Obstacles = append(p.Obstacles, o)
		}
	}
	for _, ft := range x.Features {
		if b.Contains(ft.Point) {
			p.Features = append(p.Features, ft)
		}
	}
	for _, gr := range x.Grounds {
		if wide.Intersects(gr.Area.Box()) {
			p.Grounds = append(p.Grounds, gr)
		}
	}
	return p
}

// track is where somebody is over time: straight runs walked at one speed.
type track struct {
	at    []plane.Point
	clock []float64 // seconds since setting out, by point
	edge  []int32   // by run: the edge that it lies on
	arcs  []int32
}

// trackOf walks arcs at a speed in m/s.
func (w *world) trackOf(arcs []int32, speedMPS float64) *track {
	tr := &track{arcs: arcs}
	for _, a := range arcs {
		e := w.g.ArcEdge[a]
		line := w.g.EdgeLine(e)
		if w.g.EdgeArc[e] != a {
			line = line.Reversed()
		}
		for k, p := range line {
			if len(tr.at) == 0 {
				tr.at, tr.clock = append(tr.at, p), append(tr.clock, 0)
				continue
			}
			d := tr.at[len(tr.at)-1].DistanceM(p)
			if k == 0 || d == 0 {
				continue
			}
			tr.clock = append(tr.clock, tr.clock[len(tr.clock)-1]+d/speedMPS)
			tr.at, tr.edge = append(tr.at, p), append(tr.edge, e)
		}
	}
	return tr
}

// seconds is how long the track takes.
func (tr *track) seconds() float64 { return tr.clock[len(tr.clock)-1] }

// stroll wanders from a vertex without turning about until half of the length is
// walked, then goes home the shortest way: arcs.
func (w *world) stroll(r *rand.Rand, from int32, lengthM float64) []int32 {
	star := &w.g.Star
	at, gone, last := from, 0.0, int32(-1)
	walked := map[int32]bool{}
	var arcs []int32
	for gone < lengthM/2 {
		var open []int32
		var odds []float64
		total := 0.0
		for a := star.First[at]; a < star.First[at+1]; a++ {
			if last < 0 || a != star.Twin[last] {
				odd := 1.0
				if last >= 0 {
					odd = math.Exp(w.heading(a, false).Dot(w.heading(last, true)))
				}
				if walked[w.g.ArcEdge[a]] {
					odd *= .2
				}
				total += odd
				open, odds = append(open, a), append(odds, odd)
			}
		}
		if len(open) == 0 {
			break
		}
		pick := 0
		for x := r.Float64()*total - odds[0]; x > 0 && pick+1 < len(odds); x -= odds[pick] {
			pick++
		}
		last = open[pick]
		walked[w.g.ArcEdge[last]] = true
		arcs = append(arcs, last)
		gone += float64(w.g.LengthM[w.g.ArcEdge[last]])
		at = star.Head[last]
	}
	home, ok := w.shortest(at, from, nil)
	if !ok {
		return nil
	}
	return append(arcs, home...)
}

// heading is the direction in which an arc begins or ends.
func (w *world) heading(a int32, end bool) plane.Point {
	line := w.g.EdgeLine(w.g.ArcEdge[a])
	if w.g.EdgeArc[w.g.ArcEdge[a]] != a {
		line = line.Reversed()
	}
	if end {
		return line.DirectionAt(line.LengthM())
	}
	return line.DirectionAt(0)
}

// shortest is the shortest way between two vertices over the edges that use lets
// through; nil lets all.
func (w *world) shortest(from, to int32, use func(e int32) bool) ([]int32, bool) {
	cost := make([]float32, w.g.Star.ArcCount())
	for a := range cost {
		e := w.g.ArcEdge[a]
		cost[a] = w.g.LengthM[e]
		if use != nil && !use(e) {
			cost[a] = float32(math.Inf(1))
		}
	}
	tree, err := w.router.Reach([]search.Source{{Vertex: from}}, cost, search.Span{Cutoff: 1e5})
	if err != nil || math.IsInf(tree.Dist(to), 1) {
		return nil, false
	}
	defer tree.Release()
	return tree.Path(nil, to), true
}

// mover is a kind of agent.
type mover struct {
	name     string
	kind     exposure.Kind
	pattern  exposure.Pattern
	share    float64 // of the pattern's flow that the kind is
	activity hours.Activity
	speedMPS float64
	groups   []int   // sizes of parties, equally likely
	closed   bool    // tours that come home, else trips, as often there as back
	meanM    float64 // of tours
	roads    bool    // keeps to roads
	startsPH float64 // parties an hour and square kilometre
}

// The movers. Groups have the mean sizes of the table of kinds.
var (
	dogWalkers = mover{"dogs", exposure.DogOnLead, exposure.DogWalks, 1, hours.Dogs, 1.1, []int{1, 1, 1, 1, 1, 1, 1, 1, 1, 2}, true, 1800, false, 60}
	adults     = mover{"people", exposure.Adult, exposure.WalkingTrips, .85, hours.People, 1.34, []int{1, 2}, false, 0, false, 100}
	cyclists   = mover{"bicycles", exposure.Bicycle, exposure.WheelTrips, .88, hours.Bicycles, 4.2, []int{1, 1, 1, 1, 2}, false, 0, false, 60}
	drivers    = mover{"cars", exposure.Car, exposure.CarTraffic, .99, hours.Cars, 11, []int{1, 2}, false, 0, true, 60}
)

// meanGroup is the mean size of a party.
func (m *mover) meanGroup() float64 {
	n := 0
	for _, g := range m.groups {
		n += g
	}
	return float64(n) / float64(len(m.groups))
}

// drivable tells whether motors run on an edge.
func (w *world) drivable(e int32) bool {
	c := w.g.Class[e]
	return c >= osmdata.Motorway && c <= osmdata.LivingStreet
}

// pool makes tours or trips for agents to draw from.
func (w *world) pool(r *rand.Rand, m *mover, n int) []*track {
	var out []*track
	var use func(int32) bool
	if m.roads {
		use = w.drivable
	}
	for len(out) < n {
		from, to := int32(r.IntN(len(w.g.Vertex))), int32(r.IntN(len(w.g.Vertex)))
		var arcs []int32
		if m.closed {
			arcs = w.stroll(r, from, m.meanM*(.4+1.2*r.Float64()))
		} else {
			arcs, _ = w.shortest(from, to, use)
		}
		if len(arcs) == 0 {
			continue
		}
		out = append(out, w.trackOf(arcs, m.speedMPS))
		if !m.closed {
			out = append(out, w.trackOf(w.back(arcs), m.speedMPS))
		}
	}
	return out
}

// back is the way back along arcs.
func (w *world) back(arcs []int32) []int32 {
	out := make([]int32, len(arcs))
	for i, a := range arcs {
		out[len(arcs)-1-i] = w.g.Star.Twin[a]
	}
	return out
}

// passes counts how often the pool passes each edge, for one start of every track.
func (w *world) passes(pool []*track) []float64 {
	out := make([]float64, w.g.EdgeCount())
	for _, tr := range pool {
		for _, a := range tr.arcs {
			out[w.g.ArcEdge[a]]++
		}
	}
	return out
}

// field is the model's view of pools that set out so many parties an hour: flows
// are the passes of the pools, everything else is surveyed.
func (w *world) field(t testing.TB, movers []*mover, pools [][]*track, startsPH []float64) *exposure.Field {
	t.Helper()
	var perDay [exposure.PatternCount][]float32
	for i := range movers {
		m := movers[i]
		each := startsPH[i] * m.meanGroup() / float64(len(pools[i])) / m.share / hours.ShapeOf(m.activity).At(evening)
		q := make([]float32, w.g.EdgeCount())
		for e, n := range w.passes(pools[i]) {
			q[e] = float32(n * each)
		}
		perDay[m.pattern] = q
	}
	f, err := survey.Counted(context.Background(), w.x, w.g, perDay, survey.Options{Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	f.Sources, f.Touches = nil, nil // places have tests of their own
	clear(f.TouchAt)
	return f
}

// steps is a track as the model walks it.
func (w *world) steps(tr *track, speedMPS float64) []exposure.Step {
	var out []exposure.Step
	for _, a := range tr.arcs {
		e := w.g.ArcEdge[a]
		out = append(out, exposure.Step{Edge: e, Seconds: float64(w.g.LengthM[e]) / speedMPS, At: evening})
	}
	return out
}
