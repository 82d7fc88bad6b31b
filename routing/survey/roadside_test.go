package survey

import (
	"math"
	"testing"

	"wideberth/exposure"
	"wideberth/exposure/strain"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/beside"
	"wideberth/routing/survey/homes"
	"wideberth/routing/survey/sketch"
)

// strained is the roadside table of a sketch whose roads carry what is told by
// street, in vehicles a day.
func strained(t *testing.T, k *sketch.Map, perDay map[int64]float64) (*network.Graph, strain.Table, *exposure.Field) {
	t.Helper()
	g := k.Net(t)
	mg, _, err := network.Build(k.X.Streets, nil, network.Options{Use: func(s *osmdata.Street) bool { return s.Motor }, MinIslandM: -1})
	if err != nil {
		t.Fatal(err)
	}
	motor := &traffic{g: mg, aadt: make([]float64, mg.EdgeCount())}
	for e := range motor.aadt {
		motor.aadt[e] = perDay[mg.Parts[mg.PartAt[e]].Street]
	}
	f := &exposure.Field{Place: make([]exposure.PlaceKind, g.EdgeCount()), Census: map[string]float64{}}
	table := roadside(&k.X, g, f, motor, findBundles(g), strain.UnitedStates, (*Whole)(nil).telling(&k.X))
	if err := table.Check(g.EdgeCount()); err != nil {
		t.Fatal(err)
	}
	return g, table, f
}

// A one-way main road without a tagged limit: through open country a fast carriageway,
// between thick homes a street of the town, whatever the map says of the ground.
func TestMainRoadInTown(t *testing.T) {
	for name, c := range map[string]struct {
		levels, legalMPS float32
		want             float32 // km/h
		pavement         strain.Pavement
	}{
		"open country":   {0, 0, 72, strain.Carriageway},
		"a few homes":    {1, 0, 72, strain.Carriageway},
		"a town":         {8, 0, 48, strain.Unknown},
		"a tagged limit": {8, 20, 72, strain.Carriageway},
	} {
		k := sketch.New()
		road := k.Street(osmdata.Primary, sketch.Line(10, 10, 400, 10))
		road.Flags, road.SpeedMPS = osmdata.FlagOneWay, c.legalMPS
		if c.levels > 0 { // one dwelling for 85 m2 of three quarters of the floors
			k.X.Buildings = []osmdata.Building{{Use: "apartments", Levels: c.levels, Area: sketch.Footprint(50, 30, 80)}}
		}
		g := k.Net(t)
		motor := &traffic{g: g, aadt: make([]float64, g.EdgeCount()), homes: homes.Find(&k.X, 2.5, nil)}
		f := &exposure.Field{Place: make([]exposure.PlaceKind, g.EdgeCount()), Census: map[string]float64{}}
		table := roadside(&k.X, g, f, motor, findBundles(g), strain.UnitedStates, (*Whole)(nil).telling(&k.X))
		on := table.Of(sketch.EdgeOf(t, g, road))
		if len(on) != 1 || on[0].SpeedKMH != c.want || on[0].Pavement != c.pavement {
			t.Errorf("%s: %+v, want %g km/h and %v", name, on, c.want, c.pavement)
		}
	}
}

func TestTrafficBesideAPath(t *testing.T) {
	k := sketch.New()
	road := k.Street(osmdata.Primary, sketch.Line(0, 0, 600, 0)) // 600 m
	road.SpeedMPS = 20
	path := k.Street(osmdata.Footway, sketch.Line(0, 0, 20, 12, 320, 12, 340, 60, 640, 60)) // beside it for about half its length
	far := k.Street(osmdata.Footway, sketch.Line(640, 60, 1000, 60))
	k.Street(osmdata.Path, sketch.Line(0, 0, -50, -50)) // keeps road and path apart
	k.Street(osmdata.Path, sketch.Line(640, 60, 640, 100))
	g, table, f := strained(t, k, map[int64]float64{road.ID: 9000})
	on := table.Of(sketch.EdgeOf(t, g, road))
	if len(on) != 1 || on[0].Share < .999 || math.Abs(float64(on[0].AADT)-9000) > 1 || on[0].SpeedKMH != 72 || !on[0].Main || on[0].Pavement != strain.Carriageway {
		t.Errorf("on the road: %+v", on)
	}
	e := sketch.EdgeOf(t, g, path)
	at := table.Of(e)
	if len(at) != 1 || math.Abs(float64(at[0].AADT)-9000) > 1 || at[0].Pavement != strain.Separate || !at[0].Main {
		t.Fatalf("on the path: %+v", at)
	}
	// Within 15 m of the road from its beginning to 1.5 m beyond (320, 12).
	want := (math.Hypot(20, 12) + 300 + 3*math.Hypot(20, 48)/48) / float64(g.LengthM[e])
	if math.Abs(float64(at[0].Share)-want) > beside.SpacingM/float64(g.LengthM[e]) {
		t.Errorf("beside the road on %.3f of the path, want %.3f", at[0].Share, want)
	}
	if got := table.Of(sketch.EdgeOf(t, g, far)); len(got) != 0 {
		t.Errorf("60 m off: %+v", got)
	}
	if share := f.Census[PavementsTold]; share != 0 {
		t.Errorf("%g of the main roads tell, want none", share)
	}
}

// A road that may not be walked is traffic all the same; under a bridge and over a
// tunnel there is none.
func TestRoadsThatCannotBeWalkedCount(t *testing.T) {
	for _, c := range []struct {
		flags osmdata.StreetFlags
		want  int
	}{{0, 1}, {osmdata.FlagBridge, 0}, {osmdata.FlagTunnel, 0}} {
		k := sketch.New()
		m := k.Street(osmdata.Motorway, sketch.Line(0, 10, 600, 10))
		m.Foot = false
		m.Flags |= c.flags
		path := k.Street(osmdata.Path, sketch.Line(0, 0, 600, 0))
		g, table, _ := strained(t, k, map[int64]float64{m.ID: 40000})
		if got := table.Of(sketch.EdgeOf(t, g, path)); len(got) != c.want {
			t.Errorf("flags %d: %+v, want %d", c.flags, got, c.want)
		}
	}
}

func TestDrawnPavementTakesTheWalkOffTheRoad(t *testing.T) {
	k := sketch.New()
	road := k.Street(osmdata.Tertiary, sketch.Line(0, 0, 600, 0))
	road.SpeedMPS = 11
	other := k.Street(osmdata.Tertiary, sketch.Line(600, 0, 600, 600))
	other.SpeedMPS = 11
	side := k.Street(osmdata.Footway, sketch.Line(0, 0, 5, 6, 590, 6, 600, 0))
	side.Flags |= osmdata.FlagPavement
	k.Street(osmdata.Path, sketch.Line(0, 0, -50, -50)) // keeps road and pavement apart
	g, table, _ := strained(t, k, map[int64]float64{road.ID: 5000, other.ID: 5000})
	if got := table.Of(sketch.EdgeOf(t, g, road)); len(got) != 1 || got[0].Pavement != strain.Carriageway {
		t.Errorf("the road with a drawn pavement: %+v, want the carriageway", got)
	}
	if got := table.Of(sketch.EdgeOf(t, g, other)); len(got) != 1 || got[0].Pavement != strain.Unknown {
		t.Errorf("the road without: %+v, want unknown", got)
	}
	if got := table.Of(sketch.EdgeOf(t, g, side)); len(got) != 1 || got[0].Pavement != strain.Separate {
		t.Errorf("the pavement: %+v, want separate", got)
	}
}

// Where three of ten main-road metres are tagged, silence means none.
func TestTellingMaps(t *testing.T) {
	for _, c := range []struct {
		taggedM float64
		want    strain.Pavement
	}{{290, strain.Unknown}, {310, strain.Carriageway}} {
		k := sketch.New()
		tagged := k.Street(osmdata.Secondary, sketch.Line(0, 0, c.taggedM, 0))
		tagged.SpeedMPS = 11
		tagged.Flags |= osmdata.FlagSidewalk
		silent := k.Street(osmdata.Secondary, sketch.Line(c.taggedM, 0, 1000, 0))
		silent.SpeedMPS = 11
		k.Street(osmdata.Path, sketch.Line(c.taggedM, 0, c.taggedM, 50)) // keeps the two apart
		g, table, _ := strained(t, k, map[int64]float64{tagged.ID: 5000, silent.ID: 5000})
		if got := table.Of(sketch.EdgeOf(t, g, silent)); len(got) != 1 || got[0].Pavement != c.want {
			t.Errorf("%g of 1,000 m tagged: %+v, want %d", c.taggedM, got, c.want)
		}
	}
}

// TestWideCrossings: a street across a road of four lanes is half a crossing at
// each side; signals, a crossing within 30 m or a narrower road make it none.
func TestWideCrossings(t *testing.T) {
	type change func(k *sketch.Map, road *osmdata.Street)
	lanes := func(n float32) change { return func(_ *sketch.Map, r *osmdata.Street) { r.Lanes = n } }
	help := func(x float64) change {
		return func(k *sketch.Map, r *osmdata.Street) {
			r.Lanes = 4
			k.X.Crossings = append(k.X.Crossings, osmdata.Crossing{Node: 999, At: plane.Point{X: x, Y: 2}})
		}
	}
	for name, c := range map[string]struct {
		change change
		want   float64 // crossings on the way from south to north
	}{
		"two lanes":         {lanes(2), 0},
		"four lanes":        {lanes(4), 1},
		"no lanes tagged":   {lanes(0), 0}, // the usual two of a secondary road
		"signals 20 m away": {help(20), 0},
		"signals 40 m away": {help(40), 1},
		"crossing drawn": {func(k *sketch.Map, r *osmdata.Street) {
			r.Lanes = 6
			k.Street(osmdata.Footway, sketch.Line(0, 0, 0, -10)).Flags |= osmdata.FlagCrossing
		}, 0},
		"one carriageway of two lanes": {func(_ *sketch.Map, r *osmdata.Street) { r.Lanes, r.Flags = 2, osmdata.FlagOneWay }, .5},
		"one way with four lanes":      {func(_ *sketch.Map, r *osmdata.Street) { r.Lanes, r.Flags = 4, osmdata.FlagOneWay }, 1},
		"a ramp":                       {func(_ *sketch.Map, r *osmdata.Street) { r.Lanes, r.Flags = 4, osmdata.FlagLink }, 0},
	} {
		t.Run(name, func(t *testing.T) {
			k := sketch.New()
			k.Street(osmdata.Secondary, sketch.Line(-300, 0, 0, 0, 300, 0))
			k.Street(osmdata.Residential, sketch.Line(0, -200, 0, 0))
			k.Street(osmdata.Residential, sketch.Line(0, 0, 0, 200))
			c.change(k, &k.X.Streets[0])
			g, table, _ := strained(t, k, nil)
			n := 0.0
			for _, s := range k.X.Streets[1:3] {
				e := sketch.EdgeOf(t, g, &s)
				n += table.Crossings(e, 0, g.LengthM[e], g.LengthM[e])
			}
			if n != c.want {
				t.Errorf("%g crossings, want %g", n, c.want)
			}
		})
	}
}

// A path over a road that may not be walked has no vertex there, and crosses it in
// the middle of its edge.
func TestWideCrossingInTheMiddleOfAnEdge(t *testing.T) {
	k := sketch.New()
	road := k.Street(osmdata.Trunk, sketch.Line(-300, 0, 0, 0, 300, 0))
	road.Foot, road.Lanes = false, 4
	path := k.Street(osmdata.Path, sketch.Line(0, -200, 0, 0, 0, 200))
	g, table, _ := strained(t, k, nil)
	if w := table.Wide[sketch.EdgeOf(t, g, path)]; w != (strain.Wide{Along: 1}) {
		t.Errorf("%+v, want one crossing along the path", w)
	}
}
