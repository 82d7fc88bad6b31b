package routing_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/contents"
	"wideberth/routing/network"
	"wideberth/routing/plantest"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/survey"
	"wideberth/routing/tiling"
	"wideberth/testdata"
)

// townTile is the town as the block of a tile: the same map with a wider box, so that it
// lies in another frame.
func townTile(t *testing.T, maxLon string) *bytes.Reader {
	t.Helper()
	const stated = `maxlon="-6.9821833"`
	packed, err := gzip.NewReader(bytes.NewReader(testdata.Town()))
	if err != nil {
		t.Fatal(err)
	}
	town, err := io.ReadAll(packed)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(town, []byte(stated)) {
		t.Fatal("the town states another box")
	}
	return bytes.NewReader(bytes.Replace(town, []byte(stated), []byte(`maxlon="`+maxLon+`"`), 1))
}

// joinedTown is the town put together from two tiles that surveyed half of it each, all
// three in frames of their own.
func joinedTown(t *testing.T) *snapshot.Snapshot {
	t.Helper()
	ctx, o := context.Background(), snapshot.ImportOptions{Country: "", Tool: "test"}
	const middle = -7.0009
	halves := []func(lon, lat float64) bool{
		func(lon, _ float64) bool { return lon < middle },
		func(lon, _ float64) bool { return lon >= middle },
	}
	var shares []*survey.Share
	for _, core := range halves {
		o.Core = core
		share, err := snapshot.Glance(ctx, townTile(t, "-6.98"), o)
		if err != nil {
			t.Fatal(err)
		}
		shares = append(shares, share)
	}
	o.Whole = survey.Gather(shares)
	var parts []snapshot.Part
	for i, core := range halves {
		o.Core = core
		s, err := snapshot.ImportFrom(ctx, townTile(t, []string{"-6.975", "-6.97"}[i]), "town.osm", o)
		if err != nil {
			t.Fatal(err)
		}
		parts = append(parts, snapshot.Part{From: s, Holds: core})
	}
	o.Core = nil
	s, err := snapshot.Join(ctx, townTile(t, "-6.965"), "town.osm", o, parts)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A tile joined from what its neighbours surveyed plans the walks of the whole map, with
// the reactions that the whole map expects.
func TestJoinedTilePlansAsTheWhole(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	joined := joinedTown(t)
	if breaches := joined.Check(); len(breaches) > 0 {
		t.Fatal(breaches)
	}
	whole, tile := plantest.Town(t), plantest.On(t, joined)
	if whole.Frame() == tile.Frame() {
		t.Fatal("both lie in one frame, so that nothing was shown of it")
	}
	rng := rand.New(rand.NewPCG(6, 1))
	starts := []plane.Point{maptest.Door(whole.Frame())}
	g := whole.Snapshot().Graph
	for len(starts) < 5 {
		starts = append(starts, g.Vertex[rng.IntN(len(g.Vertex))])
	}
	if s := seamOf(whole.Snapshot(), joined, nil); s.edges < 500 || s.unmatched+s.differ > 1 {
		t.Errorf("%+v", s)
	}
	same := 0
	for _, from := range starts {
		w := routing.Wish{Shape: routing.Loop, From: from, Minutes: 25, Dog: maptest.Kessa(), Depart: maptest.Morning, Walks: 1}
		a, err := whole.Plan(context.Background(), w)
		w.From = tile.Frame().Forward(whole.Frame().Inverse(from))
		b, other := tile.Plan(context.Background(), w)
		if err != nil || other != nil {
			if (err == nil) != (other == nil) {
				t.Errorf("from %v: %v, joined %v", from, err, other)
			}
			continue
		}
		p, q := &a.Walks[0], &b.Walks[0]
		// In one frame both are the same to the last digit that is kept; in two, what passes just
		// at the border of a bin may be in either.
		if math.Abs(p.LengthM-q.LengthM) > .2 || len(p.Legs) != len(q.Legs) || math.Abs(p.ExpectedReactions-q.ExpectedReactions) > .001*p.ExpectedReactions {
			t.Errorf("from %v: %.1f m, %d legs, X %.4f; joined %.1f m, %d legs, X %.4f", from, p.LengthM, len(p.Legs), p.ExpectedReactions, q.LengthM, len(q.Legs), q.ExpectedReactions)
			continue
		}
		same++
	}
	if same < 3 {
		t.Errorf("%d starts of %d have a walk", same, len(starts))
	}
}

// seam is how far a tile lies from the whole map.
type seam struct {
	edges, unmatched int
	differ           int // edges with another row
	flows            int // edges with flows more than 0.7 % and a party a week apart
}

// nameOf is what an edge is called in every map that has it.
type nameOf struct {
	way, tail, head int64
	nth             int // of those that are called the same
}

func namesOf(g *network.Graph) map[nameOf]int32 {
	out := map[nameOf]int32{}
	for e := range int32(g.EdgeCount()) {
		tail, head := g.Ends(e)
		n := nameOf{way: g.Parts[g.PartAt[e]].Street, tail: g.VertexNode[tail], head: g.VertexNode[head]}
		for _, taken := out[n]; taken; _, taken = out[n] {
			n.nth++
		}
		out[n] = e
	}
	return out
}

// seamOf compares the edges of a tile that begin in a box, nil for all, with the whole's.
func seamOf(whole, tile *snapshot.Snapshot, holds func(lon, lat float64) bool) (s seam) {
	names := namesOf(whole.Graph)
	for name, e := range namesOf(tile.Graph) {
		tail, _ := tile.Graph.Ends(e)
		if holds != nil && !holds(tile.Frame.Inverse(tile.Graph.Vertex[tail])) {
			continue
		}
		s.edges++
		f, ok := names[name]
		switch {
		case !ok:
			s.unmatched++
		case !sameRow(whole.Field, tile.Field, f, e):
			s.differ++
		}
		for p := range whole.Field.OwnPerDay {
			u, v := float64(whole.Field.OwnPerDay[p][f]), float64(tile.Field.OwnPerDay[p][e])
			if ok && math.Abs(u-v) > 1./7+.007*max(u, v) {
				s.flows++
				break
			}
		}
	}
	return s
}

// sameRow tells whether two edges have the same row, but for flows, to what the file keeps
// and single precision moves.
func sameRow(w, p *exposure.Field, f, e int32) bool {
	near := func(a, b float32) bool { return math.Abs(float64(a-b)) <= .1+5e-3*math.Abs(float64(a)) }
	side := func(a, b exposure.Side) bool {
		return near(a.LowM, b.LowM) && near(a.LeastM, b.LeastM) && a.Default == b.Default
	}
	a, b := w.Sides(f, false), p.Sides(e, false)
	if !side(a.Left, b.Left) || !side(a.Right, b.Right) || !near(w.SightFwdM[f], p.SightFwdM[e]) || !near(w.SightBackM[f], p.SightBackM[e]) {
		return false
	}
	if w.Marks[f] != p.Marks[e] || w.Place[f] != p.Place[e] || math.Abs(float64(w.LevelDB[f]-p.LevelDB[e])) > .2 || math.Abs(float64(w.SoftShare[f]-p.SoftShare[e])) > .005 {
		return false
	}
	touches := 0
	for range w.TouchesOf(f) {
		touches++
	}
	for range p.TouchesOf(e) {
		touches--
	}
	if touches != 0 || len(w.Roadside.Of(f)) != len(p.Roadside.Of(e)) {
		return false
	}
	dog := exposure.Need{WorkingM: 40, ReactionM: 20}
	for k := range w.OwnPerDay {
		x, y := w.NearBins(exposure.Pattern(k), f), p.NearBins(exposure.Pattern(k), e)
		u, v := 0.0, 0.0
		for b := range x {
			u, v = u+x[b].RatePerS()*dog.P(x[b].DistM(b)), v+y[b].RatePerS()*dog.P(y[b].DistM(b))
		}
		if math.Abs(u-v) > .12*max(u, v)+3e-5 {
			return false
		}
	}
	return true
}

// A state as tiles, each in a frame of its own and its margin from its neighbours, has the
// rows of the state in one file, and plans from doors near the borders of tiles expect the
// same.
func TestJoinedState(t *testing.T) {
	if os.Getenv("WIDEBERTH_SLOW") == "" {
		t.Skip("SKIPPED: two imports of a state; set WIDEBERTH_SLOW=1")
	}
	path, dir := maptest.DelawarePath(t), t.TempDir()
	whole := plantest.On(t, maptest.Delaware(t))
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	o := tiling.Options{Settings: tiling.Settings{Map: filepath.Base(path)}, TileBytes: 3 << 20, Now: func() time.Time { return maptest.Morning }}
	res, err := o.Import(t.Context(), f, dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(res.Table.Tiles) < 4 {
		t.Fatalf("%d tiles", len(res.Table.Tiles))
	}
	rng := rand.New(rand.NewPCG(7, 1))
	plans, exact := 0, 0
	frames := map[plane.Frame]bool{whole.Frame(): true}
	for _, tile := range res.Table.Tiles {
		snap, err := snapshot.Open(filepath.Join(dir, tile.File))
		if err != nil {
			t.Fatal(err)
		}
		frames[snap.Frame] = true
		core, all := seamOf(whole.Snapshot(), snap, tile.Core.Holds), seamOf(whole.Snapshot(), snap, tile.Served.Holds)
		t.Logf("tile %s: in its core %+v, in all that it serves %+v", tile.Key, core, all)
		if few := 2 + core.edges/500; core.unmatched > 0 || core.differ > few || core.flows > few+core.edges/200 {
			t.Errorf("tile %s: %+v", tile.Key, core)
		}
		// Seven kilometres off, where a block ends, streets and what lies beside them are cut.
		if all.unmatched+all.differ+all.flows > 10+all.edges/50 {
			t.Errorf("tile %s: of all that it serves %+v", tile.Key, all)
		}
		joined := plantest.On(t, snap)
		for _, from := range nearBorder(rng, snap, tile.Core, 6) {
			w := routing.Wish{Shape: routing.Loop, From: from, Minutes: 25, Dog: maptest.Kessa(), Depart: maptest.Morning, Walks: 1}
			b, other := joined.Plan(t.Context(), w)
			w.From = whole.Frame().Forward(snap.Frame.Inverse(from))
			a, err := whole.Plan(t.Context(), w)
			if err != nil || other != nil {
				if (err == nil) != (other == nil) {
					t.Errorf("tile %s, from %v: %v, joined %v", tile.Key, from, err, other)
				}
				continue
			}
			plans++
			x, y := a.Walks[0].ExpectedReactions, b.Walks[0].ExpectedReactions
			if off := math.Abs(x - y); off <= .002*x {
				exact++
			} else if off > .03*x+.001 {
				t.Errorf("tile %s, from %v: X %.4f, joined %.4f", tile.Key, from, x, y)
			}
		}
		if err := snap.Close(); err != nil {
			t.Error(err)
		}
	}
	t.Logf("%d of %d plans expect the same within 0.2 %%, in %d frames", exact, plans, len(frames))
	if plans < 10 || float64(exact) < .8*float64(plans) || len(frames) < 3 {
		t.Errorf("%d of %d plans within 0.2 %%, in %d frames", exact, plans, len(frames))
	}
}

// nearBorder are corners of a tile's core at random that lie within about a kilometre of
// its border, inside of the whole map.
func nearBorder(rng *rand.Rand, s *snapshot.Snapshot, core contents.Box, n int) (out []plane.Point) {
	const deg = .009
	for range 20000 {
		at := s.Graph.Vertex[rng.IntN(len(s.Graph.Vertex))]
		lon, lat := s.Frame.Inverse(at)
		inner := contents.Box{core[0] + deg, core[1] + deg, core[2] - deg, core[3] - deg}
		if core.Holds(lon, lat) && !inner.Holds(lon, lat) {
			if out = append(out, at); len(out) == n {
				break
			}
		}
	}
	return out
}
