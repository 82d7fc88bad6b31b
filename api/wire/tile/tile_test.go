package tile

import (
	"bytes"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/mvt"
	"github.com/paulmach/orb/maptile"
	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
	"wideberth/testdata"
)

var townLayers = sync.OnceValue(func() *Layers { return NewLayers(maptest.Invented(), nil) })

func town(t testing.TB) *Layers {
	t.Helper()
	return townLayers()
}

// tilesOver lists the tiles of a zoom level that the extract touches.
func tilesOver(a *Layers, z maptile.Zoom) (all []maptile.Tile) {
	lon0, lat0 := a.snap.Frame.Inverse(a.snap.Bounds.Min)
	lon1, lat1 := a.snap.Frame.Inverse(a.snap.Bounds.Max)
	low, high := maptile.At(orb.Point{lon0, lat1}, z), maptile.At(orb.Point{lon1, lat0}, z)
	for y := low.Y; y <= high.Y; y++ {
		for x := low.X; x <= high.X; x++ {
			all = append(all, maptile.New(x, y, z))
		}
	}
	return all
}

func (a *Layers) at(t testing.TB, tile maptile.Tile) []byte {
	t.Helper()
	data, err := a.Tile(uint64(tile.Z), uint64(tile.X), uint64(tile.Y))
	if err != nil {
		t.Fatalf("tile %v: %v", tile, err)
	}
	return data
}

// TestTilesAreSound decodes every tile over the town and holds it against the
// Mapbox Vector Tile Specification 2.1, section 4.3.4: exterior rings have
// positive area by the surveyor's formula in tile coordinates (y down), interior
// ones negative; rings have at least four positions with the closing one, lines
// two; and against our own buffer and order of layers.
func TestTilesAreSound(t *testing.T) {
	a := town(t)
	seen := map[string]int{}
	for z := maptile.Zoom(leastZoom); z <= mostZoom; z++ {
		for _, tile := range tilesOver(a, z) {
			data := a.at(t, tile)
			if data == nil {
				continue
			}
			layers, err := mvt.Unmarshal(data)
			if err != nil {
				t.Fatalf("tile %v: %v", tile, err)
			}
			last := -1
			for _, l := range layers {
				at := slices.Index(layerNames[:], l.Name)
				if at <= last || l.Version != 2 || l.Extent != tileExtent || len(l.Features) == 0 {
					t.Errorf("tile %v: layer %q, version %d, extent %d, %d features, after layer %d", tile, l.Name, l.Version, l.Extent, len(l.Features), last)
				}
				last = at
				for _, f := range l.Features {
					seen[l.Name]++
					checkGeometry(t, tile, l.Name, f.Geometry)
				}
			}
		}
	}
	for _, name := range layerNames[:] {
		if seen[name] == 0 && name != "rail" {
			t.Errorf("no tile has anything in layer %q", name)
		}
	}
}

func checkGeometry(t *testing.T, tile maptile.Tile, layer string, g orb.Geometry) {
	t.Helper()
	b := g.Bound()
	if b.Min[0] < -tileBuffer || b.Min[1] < -tileBuffer || b.Max[0] > tileExtent+tileBuffer || b.Max[1] > tileExtent+tileBuffer {
		t.Errorf("tile %v, %s: reaches to %v", tile, layer, b)
	}
	switch g := g.(type) {
	case orb.Polygon:
		for i, r := range g {
			if area := surveyors(r); len(r) < 4 || (area > 0) != (i == 0) || area == 0 {
				t.Errorf("tile %v, %s: ring %d of %d positions has area %g", tile, layer, i, len(r), area)
			}
		}
	case orb.MultiPolygon:
		t.Errorf("tile %v, %s: %d polygons where one was put in: a hole is wound like an outer ring", tile, layer, len(g))
	case orb.LineString:
		if len(g) < 2 {
			t.Errorf("tile %v, %s: a line of %d positions", tile, layer, len(g))
		}
	case orb.MultiLineString:
		for _, l := range g {
			if len(l) < 2 || l.Bound().Min == l.Bound().Max {
				t.Errorf("tile %v, %s: a part of no length", tile, layer)
			}
		}
	}
}

// surveyors is the formula of the specification's glossary, written out.
func surveyors(r orb.Ring) float64 {
	sum := 0.0
	for i := range r {
		j := (i + 1) % len(r)
		sum += r[i].X()*r[j].Y() - r[j].X()*r[i].Y()
	}
	return sum / 2
}

// TestTileHoldsTheDoor finds the example's house in the tile that its published
// address falls into (slippy map tile names: x = n (lon + 180) / 360,
// y = n (1 - asinh(tan lat) / pi) / 2 with n = 2^z).
func TestTileHoldsTheDoor(t *testing.T) {
	a := town(t)
	n := math.Exp2(15)
	x := n * (testdata.DoorLon + 180) / 360
	y := n * (1 - math.Asinh(math.Tan(testdata.DoorLat*math.Pi/180))/math.Pi) / 2
	layers, err := mvt.Unmarshal(a.at(t, maptile.New(uint32(x), uint32(y), 15)))
	if err != nil {
		t.Fatal(err)
	}
	door := orb.Point{(x - math.Floor(x)) * tileExtent, (y - math.Floor(y)) * tileExtent}
	nearest, named := math.Inf(1), false
	for _, l := range layers {
		for _, f := range l.Features {
			if g, ok := f.Geometry.(orb.Polygon); ok && l.Name == "solid" {
				for _, p := range g[0] {
					nearest = min(nearest, math.Hypot(p[0]-door[0], p[1]-door[1]))
				}
			}
			named = named || l.Name == "name" && f.Properties["name"] == "Weaver Row" && f.Properties["short"] == nil
		}
	}
	// One unit is about 0.2 m here; the door lies in the middle of a front wall.
	if nearest > 30 {
		t.Errorf("the nearest corner of a building is %.0f units from the door", nearest)
	}
	if !named {
		t.Error("no street in the door's tile is called Weaver Row")
	}
}

// TestNamesRunAcrossCrossings holds the runs of names against the pieces of ways: no
// metre is lost, and where the longest streets were in pieces they are long enough to be
// written on.
func TestNamesRunAcrossCrossings(t *testing.T) {
	a := town(t)
	g := a.snap.Graph
	pieces, metres := map[string]int{}, map[string]float64{}
	for e := range int32(g.EdgeCount()) {
		for p := g.PartAt[e]; p < g.PartAt[e+1]; p++ {
			if part := &g.Parts[p]; part.Name != 0 && part.Role() != network.Across {
				name := g.Names[part.Name]
				pieces[name]++
				metres[name] += partLine(g, e, p).LengthM()
			}
		}
	}
	runs, total, joined := 0, 0, map[string]float64{}
	for _, n := range a.names {
		runs++
		joined[n.name] += n.line.LengthM()
	}
	for name, m := range metres {
		total += pieces[name]
		if math.Abs(joined[name]-m) > 0.1 {
			t.Errorf("%s: %.1f m in pieces, %.1f m in runs", name, m, joined[name])
		}
	}
	t.Logf("%d pieces in %d runs", total, runs)
	if runs*2 > total {
		t.Errorf("%d pieces make %d runs", total, runs)
	}
}

// TestTileFrameFollowsTheProjection holds the polynomial to the exact way over
// degrees, as orb's own projection has it, all over tiles of every zoom level.
func TestTileFrameFollowsTheProjection(t *testing.T) {
	a := town(t)
	for z := maptile.Zoom(leastZoom); z <= mostZoom; z++ {
		for _, tile := range tilesOver(a, z) {
			to, b := newTileFrame(a, tile), tile.Bound()
			worst := 0.0
			for i := range 11 {
				for j := range 11 {
					ll := orb.Point{b.Min[0] + (b.Max[0]-b.Min[0])*float64(i)/10, b.Min[1] + (b.Max[1]-b.Min[1])*float64(j)/10}
					got := to.unit(a.snap.Frame.Forward(ll[0], ll[1]))
					f := maptile.Fraction(ll, tile.Z)
					want := orb.Point{(f[0] - float64(tile.X)) * tileExtent, (f[1] - float64(tile.Y)) * tileExtent}
					worst = max(worst, math.Abs(got[0]+0.5-want[0]), math.Abs(got[1]+0.5-want[1]))
				}
			}
			// Half a unit comes from rounding down; at zoom 8 a unit is 25 m.
			if limit := 0.51 + 2*math.Exp2(-2*float64(z-leastZoom)); worst > limit {
				t.Errorf("tile %v: %.2f units off, %.2f allowed", tile, worst, limit)
			}
		}
	}
}

func TestTilesDependOnTheirAddressOnly(t *testing.T) {
	a := town(t)
	tiles := tilesOver(a, 15)
	want := make([][]byte, len(tiles))
	for i, tile := range tiles {
		want[i] = a.at(t, tile)
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for i, tile := range tiles {
				if got := a.at(t, tile); !bytes.Equal(got, want[i]) {
					t.Errorf("tile %v came out otherwise the second time", tile)
				}
			}
		})
	}
	wg.Wait()
}

// TestFarLayersOutliveTheirMap: what is seen from afar is drawn the same when the map's file
// is closed, and takes little beside all that can be drawn.
func TestFarLayersOutliveTheirMap(t *testing.T) {
	path := filepath.Join(t.TempDir(), "town.wb")
	if err := maptest.Invented().WriteFile(path); err != nil {
		t.Fatal(err)
	}
	s, err := snapshot.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	near, far := newLayers(s, nil, FarZoom), NewFarLayers(s, nil)
	var tiles []maptile.Tile
	var want [][]byte
	drawn := 0
	for z := maptile.Zoom(leastZoom); z <= FarZoom; z++ {
		for _, tile := range tilesOver(near, z) {
			tiles, want = append(tiles, tile), append(want, near.at(t, tile))
			drawn += len(want[len(want)-1])
		}
	}
	if all := NewLayers(s, nil); far.Bytes() <= 0 || 5*far.Bytes() > all.Bytes() {
		t.Errorf("they take %d bytes, all that is drawn %d", far.Bytes(), all.Bytes())
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for i, tile := range tiles {
		if got := far.at(t, tile); !bytes.Equal(got, want[i]) {
			t.Errorf("tile %v is of %d bytes, with the map open of %d", tile, len(got), len(want[i]))
		}
	}
	if drawn < 500 {
		t.Errorf("only %d bytes are drawn", drawn)
	}
}

func TestEmptyGroundHasNoTile(t *testing.T) {
	if data := town(t).at(t, maptile.At(orb.Point{10, 50}, 14)); data != nil {
		t.Errorf("%d bytes a thousand kilometres off", len(data))
	}
}

func TestTileAddresses(t *testing.T) {
	for _, c := range []struct {
		name    string
		z, x, y uint64
		want    bool
	}{
		{"least zoom", leastZoom, 0, 0, true}, {"below", leastZoom - 1, 0, 0, false}, {"above", mostZoom + 1, 0, 0, false},
		{"last column", 8, 255, 255, true}, {"column beyond", 8, 256, 0, false}, {"row beyond", 8, 0, 256, false},
	} {
		if got := Exists(c.z, c.x, c.y); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

func TestSound(t *testing.T) {
	outer := orb.Ring{{0, 0}, {10, 0}, {10, 10}, {0, 10}, {0, 0}}
	hole := orb.Ring{{2, 2}, {2, 4}, {4, 4}, {4, 2}, {2, 2}}
	turned := func(r orb.Ring) orb.Ring { c := r.Clone(); c.Reverse(); return c }
	for _, c := range []struct {
		name string
		in   orb.Geometry
		want orb.Geometry
	}{
		{"polygon kept", orb.Polygon{outer, hole}, orb.Polygon{outer, hole}},
		{"outer ring turned", orb.Polygon{turned(outer)}, orb.Polygon{outer}},
		{"hole turned", orb.Polygon{outer, turned(hole)}, orb.Polygon{outer, hole}},
		{"flat hole dropped", orb.Polygon{outer, {{2, 2}, {4, 4}, {2, 2}, {2, 2}}}, orb.Polygon{outer}},
		{"flat polygon", orb.Polygon{{{0, 0}, {5, 5}, {0, 0}, {0, 0}}}, nil},
		{"short polygon", orb.Polygon{{{0, 0}, {5, 5}, {0, 0}}}, nil},
		{"empty polygon", orb.Polygon{}, nil},
		{"line", orb.LineString{{0, 0}, {1, 0}}, orb.LineString{{0, 0}, {1, 0}}},
		{"line of one place", orb.LineString{{1, 1}, {1, 1}}, nil},
		{"empty line", orb.LineString{}, nil},
		{"parts of no length", orb.MultiLineString{{{0, 0}, {0, 0}}, {{0, 0}, {2, 0}}}, orb.MultiLineString{{{0, 0}, {2, 0}}}},
		{"nothing left", orb.MultiLineString{{{0, 0}, {0, 0}}}, nil},
		{"point", orb.Point{3, 4}, orb.Point{3, 4}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := sound(c.in)
			if c.want == nil {
				if got != nil {
					t.Fatalf("got %v", got)
				}
				return
			}
			if !orb.Equal(got, c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

// TestSoundProperties: whatever ring comes in, what goes out can be encoded and
// is wound as it must be.
func TestSoundProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Custom(func(t *rapid.T) orb.Point {
			return orb.Point{float64(rapid.IntRange(-64, 4160).Draw(t, "x")), float64(rapid.IntRange(-64, 4160).Draw(t, "y"))}
		})
		var g orb.Polygon
		for range rapid.IntRange(1, 3).Draw(t, "rings") {
			r := orb.Ring(rapid.SliceOfN(at, 0, 8).Draw(t, "ring"))
			if len(r) > 0 {
				r = append(r, r[0])
			}
			g = append(g, r)
		}
		out, _ := sound(g).(orb.Polygon)
		for i, r := range out {
			if a := surveyors(r); a == 0 || (a > 0) != (i == 0) || len(r) < 4 {
				t.Fatalf("ring %d of %v has area %g", i, out, a)
			}
		}
	})
}

func TestWordsOfTheGround(t *testing.T) {
	for k := range osmdata.GroundKindCount {
		if w := groundWord(k); !strings.Contains(" green water ", " "+w+" ") && w != "" {
			t.Errorf("ground %d is called %q, which no style draws", k, w)
		}
	}
	if groundWord(osmdata.Water) != "water" || groundWord(osmdata.Park) != "green" || groundWord(osmdata.Industrial) != "" {
		t.Error("water, parks and industrial ground are mixed up")
	}
	for k := range osmdata.ObstacleKindCount {
		want := map[osmdata.ObstacleKind]string{osmdata.Wall: "wall", osmdata.Fence: "fence", osmdata.Hedge: "hedge", osmdata.Cliff: "cliff"}[k]
		if got := barrierWord(k); got != want {
			t.Errorf("obstacle %d is called %q, not %q", k, got, want)
		}
	}
}

// TestWordsOfRoads: fast roads are drawn as such, all others alike; shapes that are none
// are left out.
func TestWordsOfRoads(t *testing.T) {
	for c, want := range map[osmdata.Class]string{osmdata.Motorway: "fast", osmdata.Trunk: "fast", osmdata.Primary: "road", osmdata.Residential: "road"} {
		if got := roadWord(c); got != want {
			t.Errorf("class %d is %q, not %q", c, got, want)
		}
	}
	to := &tileFrame{}
	if f := to.line(plane.Polyline{{X: 1}}, "name", "Kiln Lane"); f != nil {
		t.Errorf("a line of one point: %+v", f)
	}
	if f := to.area(plane.Polygon{Outer: plane.Ring{{}, {X: 1}}}); f != nil {
		t.Errorf("an area of two corners: %+v", f)
	}
	if p := properties([]string{"name", "Kiln Lane", "short", ""}); len(p) != 1 || p["name"] != "Kiln Lane" {
		t.Errorf("%v", p)
	}
}

// BenchmarkTile reports the time for a tile of zoom 14, clipped, thinned out and
// encoded, at the median and at the 95th percentile.
func BenchmarkTile(b *testing.B) {
	a := town(b)
	tiles := tilesOver(a, 14)
	var took []float64
	for i := 0; b.Loop(); i++ {
		begin := time.Now()
		a.at(b, tiles[i%len(tiles)])
		took = append(took, float64(time.Since(begin).Microseconds())/1000)
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2], "p50-ms")
	b.ReportMetric(took[len(took)*95/100], "p95-ms")
}
