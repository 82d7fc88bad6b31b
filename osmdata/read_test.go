package osmdata_test

import (
	"bytes"
	"math"
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
	a, err := osmdata.Options{Rules: playRules}.Read(t.Context(), bytes.NewReader(w.xml()))
	if err != nil {
		t.Fatal(err)
	}
	b, err := osmdata.Options{Rules: playRules}.Read(t.Context(), bytes.NewReader(w.pbf()))
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
// A stile lets people pass and holds livestock; a bollard holds cars alone.
func TestStockEnds(t *testing.T) {
	if x := read(t, village, playRules...); len(x.StockEnds) != 0 {
		t.Errorf("a bollard holds livestock: %v", x.StockEnds)
	}
	x := read(t, strings.Replace(village, "barrier=bollard", "barrier=stile", 1), playRules...)
	if len(x.StockEnds) != 1 || !x.CarsEnd[5] || x.Barred[5] {
		t.Errorf("stiles at %v, cars end there %t, walkers %t", x.StockEnds, x.CarsEnd[5], x.Barred[5])
	}
}

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
		{"bounds", "b 10 10 0 0", "bounds that bound nothing or too much", 1},
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

// An extract of a town that still carries the planet's bounds is framed by its nodes.
func TestBoundsOfThePlanet(t *testing.T) {
	x := read(t, "b -1900000 -1390000 1690000 390000\nn 1 0 0\nn 2 10 0\nw 1 1,2 highway=path")
	if !near([]float64{x.West, x.East, x.Frame.Lon0}, []float64{10, 10.001, 10.0005}) {
		t.Errorf("from %v to %v, frame at %v", x.West, x.East, x.Frame.Lon0)
	}
	if x.Report.Odd["bounds that bound nothing or too much"] == nil {
		t.Errorf("odd %v", x.Report.Odd)
	}
}

// The access defaults of a country are those of its row in the table.
func TestCountryDecidesDefaults(t *testing.T) {
	data := parseWorld(t, "n 1 0 0\nn 2 10 0\nw 1 1,2 highway=cycleway\nw 2 1,2 highway=trunk\nw 3 1,2 highway=path").xml()
	for country, want := range map[string][]bool{"": {false, true, true}, "GB": {true, true, true}, "DE": {false, false, true}} {
		x, err := osmdata.Options{Country: country}.Read(t.Context(), bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		for i, s := range x.Streets {
			if s.Foot != want[i] {
				t.Errorf("%q: way %d: foot %v, want %v", country, s.ID, s.Foot, want[i])
			}
		}
	}
}

// A building whose outline and relation both say so is one building; an outer way
// that says more than its relation keeps that.
func TestRelationsSpeakForTheirOuterWays(t *testing.T) {
	const base = `
n 1 0 0
n 2 40 0
n 3 40 40
n 4 0 40
n 11 10 10
n 12 20 10
n 13 20 20
w 1 1,2 highway=path
w 2 11,12,13,11
`
	x := read(t, base+"w 3 1,2,3,4,1 building=yes shop=mall addr:housenumber=5 addr:street=A\n"+
		"r 1 outer:3,inner:2 type=multipolygon building=yes", playRules...)
	if len(x.Buildings) != 1 || len(x.Buildings[0].Area.Holes) != 1 || x.Buildings[0].OSM != "relation/1" {
		t.Errorf("buildings %+v", x.Buildings)
	}
	if len(x.Features) != 1 || x.Features[0].OSM != "way/3" || len(x.Addresses) != 1 {
		t.Errorf("features %+v, addresses %v", x.Features, x.Addresses)
	}
	// The courtyard has walls as well.
	if len(x.Obstacles) != 2 {
		t.Errorf("%d outlines, want 2", len(x.Obstacles))
	}
	x = read(t, base+"w 3 1,2,3,4,1 leisure=park\nr 1 outer:3,inner:2 type=multipolygon leisure=park", playRules...)
	if len(x.Features) != 1 || x.Features[0].OSM != "relation/1" || len(x.Grounds) != 1 {
		t.Errorf("features %+v, grounds %+v", x.Features, x.Grounds)
	}
}

// Roads cut by missing nodes keep their name, class and width in every part.
func TestPartsKeepFacts(t *testing.T) {
	x := read(t, "n 1 0 0\nn 2 10 0\nn 3 20 0\nn 4 30 0\nw 1 1,2,99,3,4 highway=tertiary name=Long~Road width=6 lit=no")
	parts := streets(x, 1)
	if len(parts) != 2 {
		t.Fatalf("%d parts", len(parts))
	}
	for i, s := range parts {
		if s.Name != "Long Road" || s.Class != osmdata.Tertiary || s.WidthM != 6 || s.Flags&osmdata.FlagLitKnown == 0 {
			t.Errorf("part %d: %+v", i, s)
		}
	}
	if parts[0].Flags&osmdata.FlagOpenStart != 0 || parts[1].Flags&osmdata.FlagOpenEnd != 0 {
		t.Errorf("outer ends are open: %b %b", parts[0].Flags, parts[1].Flags)
	}
}

// A ring that has lost some nodes at the border keeps the rest; its outline has no
// wall where the border runs.
func TestAreasAtTheBorder(t *testing.T) {
	x := read(t, "n 1 0 0\nn 2 40 0\nn 3 40 40\nn 4 0 40\nw 1 1,2 highway=path\nw 2 1,2,3,99,4,1 natural=water")
	if len(x.Grounds) != 1 || len(x.Grounds[0].Area.Outer) != 4 {
		t.Fatalf("grounds %+v", x.Grounds)
	}
	points := 0
	for _, o := range x.Obstacles {
		points += len(o.Line)
	}
	if len(x.Obstacles) != 2 || points != 5 {
		t.Errorf("shores %v", x.Obstacles)
	}
}
