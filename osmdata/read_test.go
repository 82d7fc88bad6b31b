package osmdata_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// village holds something of everything.
const village = `
b -10 -10 60 60
n 1 0 0
n 2 10 0 barrier=gate access=private
n 3 20 0
n 4 20 10
n 5 10 10 barrier=bollard
n 6 0 10
n 7 30 0 addr:housenumber=3 addr:street=North~Road
n 8 40 40 place=hamlet name=Nether~Test
n 9 30 30 leisure=playground name=Swings
n 11 2 2
n 12 4 2
n 13 4 4
n 14 2 4
n 21 30 10
n 22 50 10
n 23 50 30
n 24 30 30
n 25 35 15
n 26 45 15
n 27 45 25
n 28 35 25
w 100 1,2,3 highway=residential name=North~Road maxspeed=30 sidewalk=both
w 101 3,4,5,6 highway=path surface=gravel
w 102 1,6 highway=primary motorroad=yes
w 110 11,12,13,14,11 building=house addr:housenumber=1 addr:street=North~Road building:levels=2
w 120 21,22,23 natural=shingle
w 121 23,24,21
w 122 25,26,27,28,25
w 130 1,13 barrier=hedge
w 131 4,22 railway=rail
w 132 4,23 waterway=river
r 200 outer:120,outer:121,inner:122 type=multipolygon leisure=park name=The~Green
`

func TestXMLAndPBFAreOneMap(t *testing.T) {
	w := parseWorld(t, village)
	a, err := osmdata.Read(t.Context(), bytes.NewReader(w.xml()), playRules, nil)
	if err != nil {
		t.Fatal(err)
	}
	b, err := osmdata.Read(t.Context(), bytes.NewReader(w.pbf()), playRules, nil)
	if err != nil {
		t.Fatal(err)
	}
	// XML keeps every node's place, PBF only those on ways, and the bounds of a PBF
	// come from whole nanodegrees.
	if math.Abs(a.West-b.West) > 1e-9 || math.Abs(a.North-b.North) > 1e-9 {
		t.Errorf("bounds %v %v and %v %v", a.West, a.North, b.West, b.North)
	}
	delete(a.Report.Read, "nodes")
	delete(b.Report.Read, "nodes")
	for _, x := range []*osmdata.Extract{a, b} {
		round(x)
	}
	if !reflect.DeepEqual(a, b) {
		t.Errorf("XML and PBF differ:\n%+v\n%+v", a, b)
	}
	if a.Timestamp.Format("2006-01-02 15:04:05") != "2024-05-06 07:08:09" {
		t.Errorf("timestamp %v", a.Timestamp)
	}
}

// round takes floating-point dust of the frame's centre out of an extract.
func round(x *osmdata.Extract) {
	dust := func(p *plane.Point) {
		p.X, p.Y = math.Round(p.X*1e4)/1e4, math.Round(p.Y*1e4)/1e4
	}
	line := func(l []plane.Point) {
		for i := range l {
			dust(&l[i])
		}
	}
	polygon := func(g plane.Polygon) {
		line(g.Outer)
		for _, h := range g.Holes {
			line(h)
		}
	}
	for _, s := range x.Streets {
		line(s.Line)
	}
	for _, o := range x.Obstacles {
		line(o.Line)
	}
	for _, b := range x.Buildings {
		polygon(b.Area)
	}
	for _, g := range x.Grounds {
		polygon(g.Area)
	}
	for _, l := range x.Rails {
		line(l)
	}
	for i := range x.Addresses {
		dust(&x.Addresses[i].At)
	}
	for _, fs := range [][]osmdata.Feature{x.Features, x.Places} {
		for i := range fs {
			dust(&fs[i].Point)
			line(fs[i].Line)
			for _, g := range fs[i].Areas {
				polygon(g)
			}
		}
	}
	x.Frame, x.West, x.South, x.East, x.North = plane.Frame{}, 0, 0, 0, 0
}

func TestVillage(t *testing.T) {
	x := read(t, village, playRules...)
	checkSound(t, x)
	if got := []float64{x.West, x.South, x.East, x.North}; !near(got, []float64{9.999, 49.999, 10.006, 50.006}) {
		t.Errorf("bounds %v", got)
	}
	if !near([]float64{x.Frame.Lon0, x.Frame.Lat0}, []float64{10.0025, 50.0025}) {
		t.Errorf("frame at %v %v", x.Frame.Lon0, x.Frame.Lat0)
	}
	if len(x.Streets) != 3 || !x.Streets[0].Foot || !x.Streets[1].Foot || x.Streets[2].Foot || !x.Streets[2].Motor {
		t.Errorf("streets %+v", x.Streets)
	}
	if !reflect.DeepEqual(x.Barred, osmdata.Barred{2: true}) {
		t.Errorf("barred %v", x.Barred)
	}
	if len(x.Buildings) != 1 || x.Buildings[0].Levels != 2 || x.Buildings[0].HouseNumber != "1" || x.Buildings[0].OSM != "way/110" {
		t.Errorf("buildings %+v", x.Buildings)
	}
	var kinds []osmdata.ObstacleKind
	for _, o := range x.Obstacles {
		kinds = append(kinds, o.Kind)
	}
	if want := []osmdata.ObstacleKind{osmdata.BuildingWall, osmdata.Hedge, osmdata.Rail, osmdata.WaterEdge}; !slices.Equal(kinds, want) {
		t.Errorf("obstacles %v, want %v", kinds, want)
	}
	if b := x.Obstacles[0].Line; len(b) != 5 || b[0] != b[4] {
		t.Errorf("a building's outline is not closed: %v", b)
	}
	if len(x.Rails) != 1 || len(x.Places) != 1 || x.Places[0].As != "hamlet" || x.Places[0].Name != "Nether Test" {
		t.Errorf("rails %v, places %v", x.Rails, x.Places)
	}
	if len(x.Addresses) != 2 || x.Addresses[0].Number != "1" || x.Addresses[1].Number != "3" {
		t.Errorf("addresses %v", x.Addresses)
	}
	if len(x.Features) != 2 || x.Features[0].OSM != "node/9" || x.Features[1].OSM != "relation/200" {
		t.Fatalf("features %+v", x.Features)
	}
	green := x.Features[1]
	if len(green.Areas) != 1 || len(green.Areas[0].Holes) != 1 || !green.Areas[0].Contains(green.Point) || green.Name != "The Green" {
		t.Errorf("the park: %+v", green)
	}
	if len(x.Grounds) != 1 || x.Grounds[0].Kind != osmdata.Park {
		t.Errorf("grounds %+v", x.Grounds)
	}
}

func near(a, b []float64) bool {
	return slices.EqualFunc(a, b, func(x, y float64) bool { return math.Abs(x-y) < 1e-9 })
}

// Coordinates become metres: one ten-thousandth of a degree at 50 N is 7.17 m east
// and 11.12 m north (lengths of a degree at 50 N: 71.696 km and 111.229 km, WGS84,
// from common geodetic tables).
func TestPlacesAreMetres(t *testing.T) {
	x := read(t, "n 1 0 0\nn 2 10 0\nn 3 10 10\nw 1 1,2,3 highway=path")
	l := x.Streets[0].Line
	if d := l[0].DistanceM(l[1]); math.Abs(d-71.696) > 0.01 {
		t.Errorf("east %v m", d)
	}
	if d := l[1].DistanceM(l[2]); math.Abs(d-111.229) > 0.01 {
		t.Errorf("north %v m", d)
	}
	if !near([]float64{x.West, x.North}, []float64{10, 50.001}) {
		t.Errorf("bounds from nodes: %v %v", x.West, x.North)
	}
}

func TestOddData(t *testing.T) {
	const road = "n 1 0 0\nn 2 10 0\nn 3 20 0\nn 4 30 0\nw 1 1,2 highway=path\n"
	tests := []struct {
		name, world, odd string
		count            int
	}{
		{"missing node", "w 9 2,77,3,4 highway=path", "node of a way missing, known part kept", 1},
		{"way of one node", "w 9 2 highway=path", "way with fewer than two places", 1},
		{"way of one place", "w 9 2,2 highway=path", "way with fewer than two places", 1},
		{"two nodes at one place", "n 5 10 0\nw 9 2,5,3 highway=path", "two nodes at one place, merged", 1},
		{"node given twice", "n 4 31 0", "object given twice, the later counts", 1},
		{"way given twice", "w 1 1,3 highway=path", "object given twice, the later counts", 1},
		{"out of range", "n 5 1e9 0", "coordinates out of range", 1},
		{"speed", "w 9 2,3 highway=path maxspeed=brisk", "unknown value of maxspeed", 1},
		{"conditional", "w 9 2,3 highway=path foot:conditional=no~@~snow", "access depends on hour, season or condition, not evaluated", 1},
		{"no dogs", "w 9 2,3 highway=path dog=no", "dogs not allowed", 1},
		{"bounds", "b 10 10 0 0", "bounds that bound nothing", 1},
		{"flat area", "w 9 1,2,2,1 building=yes", "area without area, dropped", 1},
		{"member missing", "r 9 outer:55 type=multipolygon landuse=forest", "member of a multipolygon missing", 1},
		{"open ring", "n 5 5 5\nw 9 1,2,5\nr 9 outer:9 type=multipolygon landuse=forest", "ring of a multipolygon not closed, dropped", 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			x := read(t, road+tt.world)
			checkSound(t, x)
			if o := x.Report.Odd[tt.odd]; o == nil || o.Count != tt.count {
				t.Errorf("odd %v, want %d of %q", x.Report.Odd, tt.count, tt.odd)
			}
		})
	}
}

func TestCutWaysAreOpen(t *testing.T) {
	x := read(t, `
n 1 0 0
n 2 10 0
n 3 20 0
n 4 30 0
n 5 40 0
w 1 90,1,2,91,92,3,4,93,5 highway=residential
w 2 1,3 highway=residential`)
	parts := streets(x, 1)
	if len(parts) != 2 {
		t.Fatalf("%d parts, want 2", len(parts))
	}
	both := osmdata.FlagOpenStart | osmdata.FlagOpenEnd
	for i, want := range [][]int64{{1, 2}, {3, 4}} {
		if !slices.Equal(parts[i].Nodes, want) || parts[i].Flags&both != both {
			t.Errorf("part %d: nodes %v flags %b", i, parts[i].Nodes, parts[i].Flags)
		}
	}
	if s := streets(x, 2)[0]; s.Flags&both != 0 {
		t.Errorf("a whole street is open: %b", s.Flags)
	}
}

func TestEndsBeyondTheBoundsAreOpen(t *testing.T) {
	x := read(t, "b -5 -5 15 5\nn 1 0 0\nn 2 10 0\nn 3 20 0\nw 1 1,2,3 highway=residential")
	if f := x.Streets[0].Flags & (osmdata.FlagOpenStart | osmdata.FlagOpenEnd); f != osmdata.FlagOpenEnd {
		t.Errorf("flags %b, want an open end", f)
	}
}

// Streets that met at either of two nodes of one place still meet.
func TestNodesAtOnePlaceBecomeOne(t *testing.T) {
	x := read(t, `
n 1 0 0
n 7 10 0
n 5 10 0 barrier=gate locked=yes
n 3 20 0
n 4 10 10
w 1 1,7,5,3 highway=residential
w 2 7,4 highway=path
w 3 5,4 highway=path`)
	for id, want := range map[int64][]int64{1: {1, 5, 3}, 2: {5, 4}, 3: {5, 4}} {
		if got := streets(x, id)[0].Nodes; !slices.Equal(got, want) {
			t.Errorf("way %d: nodes %v, want %v", id, got, want)
		}
	}
	if !x.Barred[5] {
		t.Errorf("barred %v", x.Barred)
	}
}

func TestReversedOneWayRunsWithTraffic(t *testing.T) {
	x := read(t, "n 1 0 0\nn 2 10 0\nw 1 1,2 highway=residential oneway=-1")
	if got := x.Streets[0].Nodes; !slices.Equal(got, []int64{2, 1}) {
		t.Errorf("nodes %v", got)
	}
}

// A square of 100 units: ways enter at three corners' neighbours, so that walkers
// cross between them, but not through the fountain's hole.
func TestSquaresAreCrossed(t *testing.T) {
	const square = `
n 1 0 0
n 2 50 0
n 3 100 0
n 4 100 50
n 5 100 100
n 6 0 100
n 12 50 -20
n 14 120 50
n 16 -20 120
w 10 1,2,3,4,5,6,1 highway=pedestrian area=yes name=Market
w 12 2,12 highway=footway
w 14 4,14 highway=footway
w 16 6,16 highway=footway
`
	across := func(x *osmdata.Extract, id int64) (pairs [][2]int64) {
		for _, s := range streets(x, id) {
			if s.Flags&osmdata.FlagAreaEdge == 0 || !s.Foot || s.Motor {
				t.Errorf("street of an area: %+v", s)
			}
			if len(s.Nodes) == 2 {
				pairs = append(pairs, [2]int64{s.Nodes[0], s.Nodes[1]})
			}
		}
		return pairs
	}
	x := read(t, square)
	if got, want := across(x, 10), [][2]int64{{2, 4}, {2, 6}, {4, 6}}; !slices.Equal(got, want) {
		t.Errorf("across the square: %v, want %v", got, want)
	}
	if edge := streets(x, 10)[0]; !slices.Equal(edge.Nodes, []int64{1, 2, 3, 4, 5, 6, 1}) {
		t.Errorf("edge %v", edge.Nodes)
	}
	x = read(t, strings.ReplaceAll(square, "area=yes", ""))
	if got := len(streets(x, 10)); got != 1 {
		t.Errorf("a closed pedestrian street without area tag: %d streets", got)
	}
	x = read(t, strings.Replace(square, "w 10 1,2,3,4,5,6,1 highway=pedestrian area=yes name=Market", `
n 21 30 40
n 22 70 40
n 23 70 70
n 24 30 70
w 10 1,2,3,4,5,6,1
w 11 21,22,23,24,21
r 10 outer:10,inner:11 type=multipolygon highway=pedestrian name=Market`, 1))
	if got, want := across(x, -10), [][2]int64{{2, 4}}; !slices.Equal(got, want) {
		t.Errorf("round the fountain: %v, want %v", got, want)
	}
}

func TestManyEntrancesAreBounded(t *testing.T) {
	var w strings.Builder
	var ring []string
	for i := range 60 {
		a := 2 * math.Pi * float64(i) / 60
		id := 1 + i
		ring = append(ring, itoa(id))
		w.WriteString("n " + itoa(id) + " " + ftoa(50*math.Cos(a)) + " " + ftoa(50*math.Sin(a)) + "\n")
		w.WriteString("n " + itoa(100+id) + " " + ftoa(70*math.Cos(a)) + " " + ftoa(70*math.Sin(a)) + "\n")
		w.WriteString("w " + itoa(100+id) + " " + itoa(id) + "," + itoa(100+id) + " highway=footway\n")
	}
	w.WriteString("w 1 " + strings.Join(ring, ",") + ",1 highway=pedestrian area=yes\n")
	x := read(t, w.String())
	if n := len(streets(x, 1)) - 1; n == 0 || n > 120 {
		t.Errorf("%d lines across, want 1 to 120", n)
	}
	if x.Report.Odd["pedestrian area with more entrances than are joined"] == nil {
		t.Error("entrances left out are not counted")
	}
}

func TestMultipolygons(t *testing.T) {
	const base = `
n 1 0 0
n 2 40 0
n 3 40 40
n 4 0 40
n 11 10 10
n 12 20 10
n 13 20 20
n 14 10 20
n 21 60 0
n 22 70 0
n 23 70 10
n 31 61 1
w 1 1,2 highway=path
`
	wood := func(x *osmdata.Extract) (areas []float64, holes int) {
		for _, g := range x.Grounds {
			if g.Kind == osmdata.Wood {
				areas = append(areas, g.Area.AreaM2())
				holes += len(g.Area.Holes)
			}
		}
		return areas, holes
	}
	const unitM2 = 7.1696 * 11.1229 // of one square unit at 50 N
	tests := []struct {
		name, world string
		areas       []float64 // square units
		holes       int
	}{
		{"whole ways with a hole", "w 10 1,2,3,4,1\nw 11 11,14,13,12,11\nr 5 outer:10,inner:11 type=multipolygon natural=wood", []float64{1500}, 1},
		{"pieces in any direction", "w 10 1,2,3\nw 11 1,4,3\nr 5 outer:11,outer:10 type=multipolygon natural=wood", []float64{1600}, 0},
		{"roles left out", "w 10 1,2,3,4,1\nr 5 :10 type=multipolygon natural=wood", []float64{1600}, 0},
		{"two outer rings", "w 10 1,2,3,4,1\nw 11 21,22,23,21\nr 5 outer:10,outer:11 type=multipolygon natural=wood", []float64{1600, 50}, 0},
		{"island in a hole's ring", "w 10 1,2,3,4,1\nw 12 21,22,23,21\nw 11 11,12,13,14,11\nr 5 outer:10,outer:12,inner:11 type=multipolygon natural=wood", []float64{1500, 50}, 1},
		{"the outer way says the same", "w 10 1,2,3,4,1 natural=wood\nw 11 11,12,13,14,11\nr 5 outer:10,inner:11 type=multipolygon natural=wood", []float64{1500}, 1},
		{"a broken relation leaves its way", "w 10 1,2,3,4,1 natural=wood\nr 5 outer:99 type=multipolygon natural=wood", []float64{1600}, 0},
		{"a member twice", "w 10 1,2,3\nw 11 3,4,1\nr 5 outer:10,outer:11,outer:10 type=multipolygon natural=wood", []float64{1600}, 0},
		{"a boundary", "w 10 1,2,3,4,1\nr 5 outer:10 type=boundary natural=wood", []float64{1600}, 0},
		{"a route is no area", "w 10 1,2,3,4,1\nr 5 outer:10 type=route natural=wood", nil, 0},
		{"a way of an area", "w 10 1,2,3,4,1 natural=wood", []float64{1600}, 0},
		{"area=no", "w 10 1,2,3,4,1 natural=wood area=no", nil, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			x := read(t, base+tt.world)
			areas, holes := wood(x)
			if len(areas) != len(tt.areas) || holes != tt.holes {
				t.Fatalf("areas %v holes %d, want %v %d", areas, holes, tt.areas, tt.holes)
			}
			for i, a := range areas {
				if math.Abs(a/unitM2-tt.areas[i]) > 0.002*tt.areas[i] {
					t.Errorf("area %d: %v units, want %v", i, a/unitM2, tt.areas[i])
				}
			}
		})
	}
}

func TestBuildingsThatBlock(t *testing.T) {
	tests := []struct {
		tags              string
		building, blocker bool
	}{
		{"building=yes", true, true},
		{"building=house", true, true},
		{"building=roof", true, false},
		{"building=carport", true, false},
		{"building=yes layer=-1", false, false},
		{"building=yes layer=1", true, true},
		{"building=garage location=underground", false, false},
		{"building=no", false, false},
	}
	for _, tt := range tests {
		x := read(t, "n 1 0 0\nn 2 10 0\nn 3 10 10\nw 1 1,2 highway=path\nw 2 1,2,3,1 "+tt.tags)
		if len(x.Buildings) == 1 != tt.building || len(x.Obstacles) == 1 != tt.blocker {
			t.Errorf("%s: %d buildings, %d obstacles", tt.tags, len(x.Buildings), len(x.Obstacles))
		}
	}
}

func TestWaterAndRails(t *testing.T) {
	tests := []struct {
		tags                       string
		closed                     bool
		obstacles, rails, expanses int
	}{
		{"natural=water", true, 1, 0, 1},
		{"waterway=riverbank", true, 1, 0, 1},
		{"natural=water intermittent=yes", true, 0, 0, 1},
		{"landuse=basin basin=detention", true, 0, 0, 0},
		{"natural=water tunnel=yes", true, 0, 0, 0},
		{"waterway=canal", false, 1, 0, 0},
		{"natural=coastline", false, 1, 0, 0},
		{"railway=rail", false, 1, 1, 0},
		{"railway=rail bridge=yes", false, 0, 1, 0},
		{"railway=rail tunnel=yes", false, 0, 0, 0},
		{"railway=subway layer=-2", false, 0, 0, 0},
		{"railway=tram", false, 0, 1, 0},
		{"railway=abandoned", false, 0, 0, 0},
	}
	for _, tt := range tests {
		refs := "1,2,3"
		if tt.closed {
			refs = "1,2,3,1"
		}
		x := read(t, "n 1 0 0\nn 2 10 0\nn 3 10 10\nw 1 1,2 highway=path\nw 2 "+refs+" "+tt.tags)
		if len(x.Obstacles) != tt.obstacles || len(x.Rails) != tt.rails || len(x.Grounds) != tt.expanses {
			t.Errorf("%s: %d obstacles, %d rails, %d grounds", tt.tags, len(x.Obstacles), len(x.Rails), len(x.Grounds))
		}
	}
}

// A shore whose relation is cut at the border still stops steps.
func TestShoreOfCutWater(t *testing.T) {
	x := read(t, "n 1 0 0\nn 2 10 0\nn 3 10 10\nw 1 1,2 highway=path\nw 2 1,2,3\nr 1 outer:2,outer:3 type=multipolygon natural=water")
	if len(x.Grounds) != 0 || len(x.Obstacles) != 1 || x.Obstacles[0].Kind != osmdata.WaterEdge {
		t.Errorf("grounds %v, obstacles %v", x.Grounds, x.Obstacles)
	}
}

func TestFeatureGeometry(t *testing.T) {
	rules := []osmdata.Rule{{Key: "leisure", As: "play"}, {Key: "highway", Values: []string{"cycleway"}, As: "bicycles"}}
	x := read(t, `
n 1 0 0
n 2 10 0
n 3 10 10
n 4 50 0 leisure=pitch
w 1 1,2 highway=path
w 2 1,2,3 highway=cycleway
w 3 1,2,3,1 leisure=park
w 4 1,2,3 leisure=track`, rules...)
	byID := map[string]osmdata.Feature{}
	for _, f := range x.Features {
		byID[f.OSM] = f
	}
	if f := byID["node/4"]; f.As != "play" || f.Areas != nil || f.Line != nil {
		t.Errorf("a node: %+v", f)
	}
	if f := byID["way/2"]; f.As != "bicycles" || len(f.Line) != 3 || f.Areas != nil {
		t.Errorf("an open way: %+v", f)
	}
	if f := byID["way/3"]; len(f.Areas) != 1 || f.Line != nil || !f.Areas[0].Contains(f.Point) {
		t.Errorf("an area: %+v", f)
	}
	if f := byID["way/4"]; len(f.Line) != 3 || f.Tags["leisure"] != "track" {
		t.Errorf("an open leisure way: %+v", f)
	}
}

func TestNothingToWalk(t *testing.T) {
	for name, text := range map[string]string{
		"empty":     "",
		"nodes":     "n 1 0 0",
		"motorway":  "n 1 0 0\nn 2 10 0\nw 1 1,2 highway=motorway",
		"no dogs":   "n 1 0 0\nn 2 10 0\nw 1 1,2 highway=path dog=no",
		"no nodes":  "w 1 1,2 highway=path",
		"all wrong": "n 1 9e9 0\nn 2 9e9 0\nw 1 1,2 highway=path",
	} {
		w := parseWorld(t, text)
		for kind, data := range map[string][]byte{"XML": w.xml(), "PBF": w.pbf()} {
			if _, err := osmdata.Read(t.Context(), bytes.NewReader(data), nil, nil); !errors.Is(err, osmdata.ErrNothingToWalk) {
				t.Errorf("%s, %s: %v", name, kind, err)
			}
		}
	}
}

func TestNotAnExtract(t *testing.T) {
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	z.Write([]byte("some text"))
	z.Close()
	for name, data := range map[string][]byte{
		"empty":        {},
		"one byte":     {'<'},
		"text":         []byte("Dear Sir or Madam, I write to you"),
		"HTML":         []byte("<!DOCTYPE html><html><body>404</body></html>"),
		"changes":      []byte("<osmChange version=\"0.6\"><create><node id=\"1\" lat=\"1\" lon=\"1\"/></create></osmChange>"),
		"zip":          []byte("PK\x03\x04 and so on and so forth"),
		"zeros":        make([]byte, 4096),
		"gzipped text": packed.Bytes(),
		"prologue":     []byte("<?xml version='1.0'?>" + strings.Repeat("<!-- -->", 1<<14)),
	} {
		_, err := osmdata.Read(t.Context(), bytes.NewReader(data), nil, nil)
		var bad *osmdata.FormatError
		if !errors.As(err, &bad) || !errors.Is(err, osmdata.ErrNotOSM) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestErrorsNameFileAndPlace(t *testing.T) {
	path := filepath.Join(t.TempDir(), "cut.osm")
	data := parseWorld(t, village).xml()
	if err := os.WriteFile(path, data[:len(data)/2], 0o600); err != nil {
		t.Fatal(err)
	}
	_, err := osmdata.ReadFile(t.Context(), path, nil, nil)
	var bad *osmdata.FormatError
	if !errors.As(err, &bad) || bad.File != path || bad.Offset == 0 || !errors.Is(err, osmdata.ErrTruncated) {
		t.Errorf("%v", err)
	}
	if strings.Contains(err.Error(), "\n") || !strings.HasPrefix(err.Error(), path+": at byte ") {
		t.Errorf("message %q", err)
	}
	if _, err = osmdata.ReadFile(t.Context(), path+".gone", nil, nil); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a file that is not there: %v", err)
	}
}

func TestGzipAndItsCuts(t *testing.T) {
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	z.Write(parseWorld(t, village).xml())
	z.Close()
	data := packed.Bytes()
	if _, err := osmdata.Read(t.Context(), bytes.NewReader(data), nil, nil); err != nil {
		t.Fatal(err)
	}
	for n := 0; n < len(data); n += 7 {
		var bad *osmdata.FormatError
		if _, err := osmdata.Read(t.Context(), bytes.NewReader(data[:n]), nil, nil); !errors.As(err, &bad) {
			t.Fatalf("cut at %d of %d: %v", n, len(data), err)
		}
	}
}

func TestProgressOnlyGrowsAndEnds(t *testing.T) {
	w := parseWorld(t, village)
	for kind, data := range map[string][]byte{"XML": w.xml(), "PBF": w.pbf()} {
		var seen []osmdata.Progress
		_, err := osmdata.Read(t.Context(), bytes.NewReader(data), nil, func(p osmdata.Progress) { seen = append(seen, p) })
		if err != nil {
			t.Fatal(err)
		}
		last := seen[len(seen)-1]
		if last.Done != last.Total || last.Stage == "" {
			t.Errorf("%s ends at %+v", kind, last)
		}
		for i := 1; i < len(seen); i++ {
			if seen[i].Done < seen[i-1].Done || seen[i].Total != seen[0].Total {
				t.Errorf("%s: %+v after %+v", kind, seen[i], seen[i-1])
			}
		}
	}
}

func TestCancelledReading(t *testing.T) {
	w := parseWorld(t, village)
	for kind, data := range map[string][]byte{"XML": w.xml(), "PBF": w.pbf()} {
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		if _, err := osmdata.Read(ctx, bytes.NewReader(data), nil, nil); !errors.Is(err, context.Canceled) {
			t.Errorf("%s: %v", kind, err)
		}
	}
}

// A source that cannot be read to its end is an error that keeps the cause.
func TestBrokenSource(t *testing.T) {
	cause := errors.New("the cable came out")
	w := parseWorld(t, village)
	for kind, data := range map[string][]byte{"XML": w.xml(), "PBF": w.pbf()} {
		_, err := osmdata.Read(t.Context(), &failing{bytes.NewReader(data), int64(len(data) / 2), cause}, nil, nil)
		if !errors.Is(err, cause) {
			t.Errorf("%s: %v", kind, err)
		}
	}
}

type failing struct {
	*bytes.Reader
	at  int64
	err error
}

func (f *failing) Read(p []byte) (int, error) {
	here, _ := f.Reader.Seek(0, io.SeekCurrent)
	if here >= f.at {
		return 0, f.err
	}
	return f.Reader.Read(p[:min(int64(len(p)), f.at-here)])
}

// FuzzXML feeds damaged worlds: an answer or an error, never a panic.
func FuzzXML(f *testing.F) {
	f.Add(parseWorld(f, village).xml())
	f.Add([]byte("<osm><node id='1' lat='NaN' lon='1'/><way id='1'><nd ref='1'/><nd ref='1'/></way></osm>"))
	f.Add([]byte("<osm><bounds/><relation id='1'><member type='way' ref='1' role='outer'/></relation></osm>"))
	f.Fuzz(func(t *testing.T, data []byte) {
		x, err := osmdata.Read(context.Background(), bytes.NewReader(data), playRules, nil)
		if err == nil {
			checkSound(t, x)
		}
	})
}
