package drive_test

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/graph/path"
	"gonum.org/v1/gonum/graph/simple"

	"wideberth/exposure/strain"
	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
	"wideberth/routing/drive"
)

// town is streets on a grid of points, with what each of them is to a car.
type town struct {
	streets []osmdata.Street
	at      map[int64]plane.Point
	turns   []osmdata.TurnBan
}

func (t *town) street(class osmdata.Class, flags osmdata.StreetFlags, kmh float64, nodes ...int64) {
	s := osmdata.Street{ID: int64(len(t.streets) + 1), Class: class, Flags: flags, Motor: true, SpeedMPS: float32(kmh / 3.6), Nodes: nodes}
	for _, n := range nodes {
		s.Line = append(s.Line, t.at[n])
	}
	t.streets = append(t.streets, s)
}

func (t *town) roads(tb testing.TB, ends osmdata.Barred) *drive.Network {
	tb.Helper()
	n, err := drive.New(t.streets, ends, t.turns, strain.Elsewhere)
	if err != nil {
		tb.Fatal(err)
	}
	if err := n.Check(); err != nil {
		tb.Fatal(err)
	}
	return n
}

// seconds is the drive between two places, infinite where there is none.
func seconds(tb testing.TB, n *drive.Network, from, to plane.Point) float64 {
	tb.Helper()
	a, ok := n.Kerb(from, 50)
	b, too := n.Kerb(to, 50)
	if !ok || !too {
		tb.Fatalf("no kerb at %v or %v", from, to)
	}
	trips, err := n.From(a, 1e6)
	if err != nil {
		tb.Fatal(err)
	}
	defer trips.Release()
	return trips.Seconds(b)
}

const gridM = 400.0

// randomTown draws a grid of streets with gaps, one-way streets, limits of their own
// and a bridge that runs over it from corner to corner without meeting anything.
func randomTown(r *rand.Rand, side int64) *town {
	t := &town{at: map[int64]plane.Point{}}
	id := func(x, y int64) int64 { return 1 + y*side + x }
	for y := range side {
		for x := range side {
			t.at[id(x, y)] = plane.Point{X: float64(x)*gridM + 60*r.Float64(), Y: float64(y)*gridM + 60*r.Float64()}
		}
	}
	for y := range side {
		for x := range side {
			for _, to := range [][2]int64{{x + 1, y}, {x, y + 1}} {
				if to[0] == side || to[1] == side || r.Float64() < .12 {
					continue
				}
				a, b := id(x, y), id(to[0], to[1])
				if r.IntN(2) == 0 {
					a, b = b, a
				}
				var flags osmdata.StreetFlags
				if r.Float64() < .35 {
					flags |= osmdata.FlagOneWay
				}
				t.street([]osmdata.Class{osmdata.Tertiary, osmdata.Residential, osmdata.Service}[r.IntN(3)], flags, []float64{0, 30, 50, 80}[r.IntN(4)], a, b)
			}
		}
	}
	t.street(osmdata.Secondary, osmdata.FlagBridge, 60, id(0, 0), id(side-1, side-1))
	return t
}

// slow is the same drives as the general library has them, every node a vertex.
func (t *town) slow() (g *simple.WeightedDirectedGraph) {
	g = simple.NewWeightedDirectedGraph(0, math.Inf(1))
	usual := map[osmdata.Class]float64{osmdata.Tertiary: 50, osmdata.Residential: 40, osmdata.Service: 15, osmdata.Secondary: 50}
	degree := map[int64]int{}
	for _, s := range t.streets {
		for k := 1; k < len(s.Nodes); k++ {
			degree[s.Nodes[k-1]]++
			degree[s.Nodes[k]]++
		}
	}
	for _, s := range t.streets {
		for k := 1; k < len(s.Nodes); k++ {
			kmh := usual[s.Class]
			if s.SpeedMPS > 0 {
				kmh = float64(s.SpeedMPS) * 3.6
			}
			time := t.at[s.Nodes[k-1]].DistanceM(t.at[s.Nodes[k]]) / (0.85 * kmh / 3.6)
			add := func(a, b int64) {
				cost := time
				if degree[b] > 2 {
					cost += 3
				}
				g.SetWeightedEdge(simple.WeightedEdge{F: simple.Node(a), T: simple.Node(b), W: cost})
			}
			add(s.Nodes[k-1], s.Nodes[k])
			if s.Flags&osmdata.FlagOneWay == 0 {
				add(s.Nodes[k], s.Nodes[k-1])
			}
		}
	}
	return g
}

// Drives over random towns with one-way streets and a bridge take what Dijkstra's
// algorithm of gonum finds on the bare nodes.
func TestDrivesAgainstGonum(t *testing.T) {
	compared := 0
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 5))
		world := randomTown(r, 7)
		roads, slow := world.roads(t, nil), world.slow()
		for range 6 {
			// Between middles of streets that end at junctions: of others that go on as one
			// road, the time is spread evenly over it.
			from, to := &world.streets[r.IntN(len(world.streets)-1)], &world.streets[r.IntN(len(world.streets)-1)]
			if from == to || !world.whole(from) || !world.whole(to) {
				continue
			}
			compared++
			got := seconds(t, roads, middle(from), middle(to))
			want := slowly(slow, from, to)
			if math.IsInf(got, 1) != math.IsInf(want, 1) || !math.IsInf(want, 1) && math.Abs(got-want) > 0.02 {
				t.Fatalf("seed %d, street %d to %d: %.3f s, gonum %.3f s", seed, from.ID, to.ID, got, want)
			}
		}
	}
	if compared < 100 {
		t.Errorf("only %d drives were compared", compared)
	}
}

// whole says that a street goes on as no other.
func (t *town) whole(s *osmdata.Street) bool {
	degree := map[int64]int{}
	for i := range t.streets {
		degree[t.streets[i].Nodes[0]]++
		degree[t.streets[i].Nodes[1]]++
	}
	return degree[s.Nodes[0]] != 2 && degree[s.Nodes[1]] != 2
}

func middle(s *osmdata.Street) plane.Point { return s.Line.At(s.Line.LengthM() / 2) }

// slowly is the drive from the middle of one street to the middle of another.
func slowly(g *simple.WeightedDirectedGraph, from, to *osmdata.Street) float64 {
	best := math.Inf(1)
	for _, out := range [2][2]int64{{from.Nodes[0], from.Nodes[1]}, {from.Nodes[1], from.Nodes[0]}} {
		first := g.WeightedEdge(out[0], out[1])
		if first == nil {
			continue
		}
		wait := first.Weight() - drivenS(from)
		tree := path.DijkstraFrom(simple.Node(out[1]), g)
		for _, in := range [2]int64{to.Nodes[0], to.Nodes[1]} {
			other := to.Nodes[0] + to.Nodes[1] - in
			if g.WeightedEdge(in, other) == nil {
				continue
			}
			best = min(best, drivenS(from)/2+wait+tree.WeightTo(in)+drivenS(to)/2)
		}
	}
	return best
}

// drivenS is the time from end to end of a street, junctions apart.
func drivenS(s *osmdata.Street) float64 {
	kmh := map[osmdata.Class]float64{osmdata.Tertiary: 50, osmdata.Residential: 40, osmdata.Service: 15, osmdata.Secondary: 50}[s.Class]
	if s.SpeedMPS > 0 {
		kmh = float64(s.SpeedMPS) * 3.6
	}
	return s.Line.LengthM() / (0.85 * kmh / 3.6)
}

// block is a square of streets, the first of them one way, with a bridge over the
// square that meets none of them, and a yard behind a gate.
//
//	3 ---- 4      5 - 6 crosses 1-3 and 2-4 as a bridge
//	|      |
//	1 ---> 2 -x- 7 (bollard at x, node 8)
func block() *town {
	t := &town{at: map[int64]plane.Point{1: {X: 0, Y: 0}, 2: {X: 1000, Y: 0}, 3: {X: 0, Y: 1000}, 4: {X: 1000, Y: 1000},
		5: {X: -800, Y: 500}, 6: {X: 1800, Y: 500}, 7: {X: 1600, Y: 0}, 8: {X: 1300, Y: 0}, 9: {X: -800, Y: 2500}}}
	t.street(osmdata.Residential, osmdata.FlagOneWay, 36, 1, 2)
	t.street(osmdata.Residential, 0, 36, 2, 4)
	t.street(osmdata.Residential, 0, 36, 4, 3)
	t.street(osmdata.Residential, 0, 36, 3, 1)
	t.street(osmdata.Secondary, osmdata.FlagBridge, 36, 5, 6)
	t.street(osmdata.Residential, 0, 36, 5, 9)
	t.street(osmdata.Residential, 0, 36, 2, 8, 7)
	return t
}

func TestOneWayBridgeAndBollard(t *testing.T) {
	world := block()
	roads := world.roads(t, osmdata.Barred{8: true})
	const mps = 0.85 * 10
	west, east := plane.Point{X: 300, Y: 2}, plane.Point{X: 700, Y: -2}
	if got, want := seconds(t, roads, west, east), 400/mps; math.Abs(got-want) > 0.1 {
		t.Errorf("along the one-way street %.1f s, want %.1f", got, want)
	}
	// Against it leads the way round: on to its end, where another street is met, and
	// three sides of the square.
	if got, want := seconds(t, roads, east, west), (300+3000+300)/mps+3; math.Abs(got-want) > 0.1 {
		t.Errorf("against the one-way street %.1f s, want the way round, %.1f", got, want)
	}
	// The bridge crosses two sides of the square and has no way down to them.
	if got := seconds(t, roads, east, plane.Point{X: -800, Y: 1500}); !math.IsInf(got, 1) {
		t.Errorf("from under the bridge onto it in %.1f s", got)
	}
	if got := seconds(t, roads, east, plane.Point{X: 1250, Y: 0}); got > 600/mps {
		t.Errorf("%.1f s to before the bollard", got)
	}
	if k, ok := roads.Kerb(plane.Point{X: 1500, Y: 0}, 100); ok {
		t.Errorf("a car halts behind the bollard, at %v", k.At)
	}
	if got := seconds(t, world.roads(t, nil), east, plane.Point{X: 1500, Y: 0}); math.IsInf(got, 1) {
		t.Error("no way where the bollard is not")
	}
}

// What a stranger may not drive on is no road, and nobody halts on a motorway or a
// bridge.
func TestWhereNobodyHalts(t *testing.T) {
	world := block()
	world.at[10], world.at[11] = plane.Point{X: 0, Y: 5000}, plane.Point{X: 3000, Y: 5000}
	world.street(osmdata.Motorway, osmdata.FlagOneWay, 120, 10, 11)
	world.at[12] = plane.Point{X: -3000, Y: 0}
	world.street(osmdata.Service, osmdata.FlagByLeave, 0, 1, 12)
	world.at[13] = plane.Point{X: 0, Y: -400}
	world.street(osmdata.Service, osmdata.FlagDriveway, 0, 1, 13)
	roads := world.roads(t, nil)
	for what, at := range map[string]plane.Point{"motorway": {X: 1500, Y: 5000}, "bridge": {X: 500, Y: 500}, "private road": {X: -2000, Y: 0}, "drive": {X: 0, Y: -200}} {
		if k, ok := roads.Kerb(at, 100); ok {
			t.Errorf("a car halts on the %s, at %v", what, k.At)
		}
	}
	if k, ok := roads.Kerb(plane.Point{X: 500, Y: 40}, 100); !ok || k.DistM > 41 {
		t.Errorf("no kerb beside a street: %v, %v", k, ok)
	}
}

// A map without roads for cars has an empty network, with no kerb anywhere.
func TestNoRoads(t *testing.T) {
	for what, streets := range map[string][]osmdata.Street{
		"nothing": nil,
		"a path":  {{ID: 1, Class: osmdata.Path, Foot: true, Nodes: []int64{1, 2}, Line: plane.Polyline{{X: 0}, {X: 5000}}}},
		"a yard":  {{ID: 1, Class: osmdata.Service, Motor: true, Nodes: []int64{1, 2}, Line: plane.Polyline{{X: 0}, {X: 100}}}},
	} {
		n, err := drive.New(streets, nil, nil, strain.Elsewhere)
		if err != nil {
			t.Fatal(err)
		}
		if _, roads := n.Size(); roads > 0 {
			t.Errorf("%s: there are roads", what)
		}
		if _, ok := n.Kerb(plane.Point{}, 1e6); ok {
			t.Errorf("%s: there is a kerb", what)
		}
		if _, roads := written(t, n).Size(); roads > 0 {
			t.Errorf("%s: roads came from the file", what)
		}
	}
}

func written(t *testing.T, n *drive.Network) *drive.Network {
	t.Helper()
	file, magic := filepath.Join(t.TempDir(), "roads"), [8]byte{'R'}
	w, err := flatfile.Create(file, magic, 1)
	if err != nil {
		t.Fatal(err)
	}
	n.Encode(w, "road.")
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	f, err := flatfile.Open(file, magic, 1)
	if err != nil {
		t.Fatal(err)
	}
	again, err := drive.Decode(f, "road.")
	if err != nil {
		t.Fatal(err)
	}
	return again
}

// What comes out of the file drives as what went in.
func TestCodec(t *testing.T) {
	world := randomTown(rand.New(rand.NewPCG(3, 5)), 7)
	a := world.roads(t, nil)
	b := written(t, a)
	var whole []*osmdata.Street
	for i := range world.streets[:len(world.streets)-1] {
		if world.whole(&world.streets[i]) {
			whole = append(whole, &world.streets[i])
		}
	}
	for i := range whole {
		from, to := middle(whole[0]), middle(whole[i])
		if x, y := seconds(t, a, from, to), seconds(t, b, from, to); x != y {
			t.Fatalf("street %d: %g s before, %g s after", i, x, y)
		}
	}
}

// TestSpoiltRoadsAreRefused: a file of sound checksums whose numbers make no network is
// found out, each fault by its own words.
func TestSpoiltRoadsAreRefused(t *testing.T) {
	sound := func() sections {
		return sections{vertex: [][2]float32{{0, 0}, {100, 0}}, ends: [][2]int32{{0, 1}, {1, 0}}, seconds: []float32{9, 9}, use: []uint8{1, 1}, bendAt: []int32{0, 1, 2}, bend: [][2]float32{{50, 1}, {50, 1}}}
	}
	if _, err := sound().decoded(t); err != nil {
		t.Fatal(err)
	}
	for want, spoil := range map[string]func(s *sections){
		"2 roads with 1 times":          func(s *sections) { s.seconds = s.seconds[:1] },
		"times and 1 uses":              func(s *sections) { s.use = s.use[:1] },
		"do not span 2 points":          func(s *sections) { s.bendAt[2] = 1 },
		"of 2 roads do not span":        func(s *sections) { s.bendAt = s.bendAt[:2] },
		"the bends of 2 roads":          func(s *sections) { s.bendAt[0] = 1 },
		"road 1 ends at a vertex":       func(s *sections) { s.ends[1][0] = 2 },
		"road 0 ends at a vertex":       func(s *sections) { s.ends[0][1] = -1 },
		"road 0 takes NaN seconds":      func(s *sections) { s.seconds[0] = float32(math.NaN()) },
		"road 1 takes -1 seconds":       func(s *sections) { s.seconds[1] = -1 },
		"road 1 takes +Inf seconds":     func(s *sections) { s.seconds[1] = float32(math.Inf(1)) },
		"road 1 end before they begin":  func(s *sections) { s.bendAt[1] = 3 },
		"ban 0 is of roads that do not": func(s *sections) { s.ban = [][2]int32{{0, 9}} },
		"section is not there":          func(s *sections) { s.without = "use" },
	} {
		s := sound()
		spoil(&s)
		if _, err := s.decoded(t); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", want, err)
		}
	}
}

// sections are what a network is kept as.
type sections struct {
	vertex  [][2]float32
	ends    [][2]int32
	seconds []float32
	use     []uint8
	bendAt  []int32
	bend    [][2]float32
	ban     [][2]int32
	without string // a section that is left out
}

func (s sections) decoded(t *testing.T) (*drive.Network, error) {
	t.Helper()
	path, magic := filepath.Join(t.TempDir(), "roads"), [8]byte{'R'}
	w, err := flatfile.Create(path, magic, 1)
	if err != nil {
		t.Fatal(err)
	}
	flatfile.Put(w, "road.vertex", s.vertex)
	flatfile.Put(w, "road.ends", s.ends)
	flatfile.Put(w, "road.seconds", s.seconds)
	if s.without != "use" {
		flatfile.Put(w, "road.use", s.use)
	}
	flatfile.Put(w, "road.bend-at", s.bendAt)
	flatfile.Put(w, "road.bend", s.bend)
	flatfile.Put(w, "road.ban", s.ban)
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	f, err := flatfile.Open(path, magic, 1)
	if err != nil {
		t.Fatal(err)
	}
	return drive.Decode(f, "road.")
}
