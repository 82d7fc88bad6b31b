package change_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/change"
)

var rules = []osmdata.Rule{{Key: "amenity", As: "place"}}

// town is a small map: two streets that cross, a house with nodes of its own, a park made
// of two lines, a school as a node, a node that nobody wants and a boundary.
const town = `<osm version="0.6">
<node id="1" version="2" lat="50.000" lon="8.000"/><node id="2" version="1" lat="50.000" lon="8.001"/><node id="3" version="1" lat="50.000" lon="8.002"/>
<node id="4" version="1" lat="50.001" lon="8.001"/>
<node id="11" version="1" lat="50.010" lon="8.010"/><node id="12" version="1" lat="50.010" lon="8.020"/><node id="13" version="1" lat="50.020" lon="8.020"/><node id="14" version="1" lat="50.020" lon="8.010"/>
<node id="20" version="3" lat="50.030" lon="8.030"><tag k="amenity" v="school"/></node>
<node id="21" version="1" lat="50.040" lon="8.040"><tag k="note" v="nothing"/></node>
<way id="1" version="1"><nd ref="1"/><nd ref="2"/><nd ref="3"/><tag k="highway" v="residential"/></way>
<way id="2" version="4"><nd ref="2"/><nd ref="4"/><tag k="highway" v="path"/></way>
<way id="5" version="1"><nd ref="11"/><nd ref="12"/><nd ref="13"/></way>
<way id="6" version="1"><nd ref="13"/><nd ref="14"/><nd ref="11"/></way>
<way id="7" version="1"><nd ref="1"/><nd ref="13"/><tag k="power" v="line"/></way>
<relation id="1" version="1"><member type="way" ref="5" role="outer"/><member type="way" ref="6" role="outer"/><tag k="type" v="multipolygon"/><tag k="leisure" v="park"/></relation>
<relation id="2" version="1"><member type="way" ref="7" role=""/><tag k="type" v="route"/></relation>
</osm>`

func writeTown(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "town.osm")
	if err := os.WriteFile(path, []byte(town), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func touch(t *testing.T, changes string) *change.Touched {
	t.Helper()
	src := opened(t, writeTown(t))
	set := change.NewSet(change.UsualMemory, "")
	osc := filepath.Join(t.TempDir(), "a.osc")
	if err := os.WriteFile(osc, []byte("<osmChange>"+changes+"</osmChange>"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := set.AddFile(t.Context(), osc); err != nil {
		t.Fatal(err)
	}
	got, err := set.Touched(t.Context(), change.Of(src, nil), osmdata.NewPicker(rules))
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// TestTouched: what changes is told by where it was and where it is, and what does not
// matter, or is known already, touches nothing.
func TestTouched(t *testing.T) {
	for name, c := range map[string]struct {
		changes string
		want    change.Touched
	}{
		"a node moves: both its streets": {
			`<modify><node id="2" version="2" lat="50.005" lon="8.001"/></modify>`,
			change.Touched{Changed: 1, Boxes: []change.Box{{8, 50, 8.002, 50.005}, {8.001, 50, 8.001, 50.005}}},
		},
		"a street is renamed": {
			`<modify><way id="2" version="5"><nd ref="2"/><nd ref="4"/><tag k="highway" v="path"/><tag k="name" v="A"/></way></modify>`,
			change.Touched{Changed: 1, Boxes: []change.Box{{8.001, 50, 8.001, 50.001}}},
		},
		"a street goes": {
			`<delete><way id="1" version="2"/></delete>`,
			change.Touched{Gone: 1, Boxes: []change.Box{{8, 50, 8.002, 50}}},
		},
		"a street is bent to old and new nodes": {
			`<create><node id="30" version="1" lat="50.1" lon="8.1"/></create><modify><way id="2" version="5"><nd ref="3"/><nd ref="30"/><tag k="highway" v="path"/></way></modify>`,
			change.Touched{Made: 1, Changed: 1, Boxes: []change.Box{{8.001, 50, 8.1, 50.1}}},
		},
		"a new street over old nodes": {
			`<create><way id="9" version="1"><nd ref="4"/><nd ref="13"/><tag k="highway" v="path"/></way></create>`,
			change.Touched{Made: 1, Boxes: []change.Box{{8.001, 50.001, 8.02, 50.02}}},
		},
		"a line of a park moves: the park": {
			`<modify><node id="12" version="2" lat="50.009" lon="8.020"/></modify>`,
			change.Touched{Changed: 1, Boxes: []change.Box{{8.01, 50.009, 8.02, 50.02}}},
		},
		"the park is no more a park": {
			`<delete><relation id="1" version="2"/></delete>`,
			change.Touched{Gone: 1, Boxes: []change.Box{{8.01, 50.01, 8.02, 50.02}}},
		},
		"a park loses a line": {
			`<modify><relation id="1" version="2"><member type="way" ref="5" role="outer"/><tag k="type" v="multipolygon"/><tag k="leisure" v="park"/></relation></modify>`,
			change.Touched{Changed: 1, Boxes: []change.Box{{8.01, 50.01, 8.02, 50.02}}},
		},
		"the school moves": {
			`<modify><node id="20" version="4" lat="50.031" lon="8.030"><tag k="amenity" v="school"/></node></modify>`,
			change.Touched{Changed: 1, Boxes: []change.Box{{8.03, 50.03, 8.03, 50.031}}},
		},
		"an old version of the school": {
			`<modify><node id="20" version="2" lat="50.031" lon="8.030"/></modify>`,
			change.Touched{Known: 1},
		},
		"the school was never anything else": {
			`<modify><node id="20" version="4" lat="50.030" lon="8.030"><tag k="amenity" v="school"/></node></modify>`,
			change.Touched{Known: 1},
		},
		"made, deleted and made again": {
			`<create><node id="40" version="1" lat="50.1" lon="8.1"/></create><delete><node id="40" version="2"/></delete><modify><node id="40" version="3" lat="50.2" lon="8.2"><tag k="amenity" v="bar"/></node></modify>`,
			change.Touched{Made: 1, Boxes: []change.Box{{8.2, 50.2, 8.2, 50.2}}},
		},
		"what nobody asks for": {
			`<modify><node id="21" version="2" lat="50.041" lon="8.030"/><way id="7" version="2"><nd ref="3"/><nd ref="13"/></way><relation id="2" version="2"><tag k="type" v="route"/></relation></modify>`,
			change.Touched{Changed: 3},
		},
		"what is not there": {
			`<delete><node id="99" version="2"/><way id="99" version="3"/><relation id="99" version="3"/></delete>`,
			change.Touched{Missing: 3},
		},
	} {
		got := touch(t, c.changes)
		slices.SortFunc(got.Boxes, func(a, b change.Box) int { return int(math.Copysign(1, a.West-b.West)) })
		if fmt.Sprint(*got) != fmt.Sprint(c.want) {
			t.Errorf("%s:\n got %v\nwant %v", name, *got, c.want)
		}
	}
}

// TestMerge: boxes grow by metres, and those that then meet become one.
func TestMerge(t *testing.T) {
	at := func(lat, lon float64) change.Box { return change.Box{lon, lat, lon, lat} }
	// A degree of latitude is 111.2 km, one of longitude half of that at 60 degrees.
	g := at(60, 10).Grow(1112)
	if math.Abs(g.North-60.01) > 1e-4 || math.Abs(g.East-10.02) > 1e-4 || math.Abs(g.West-9.98) > 1e-4 {
		t.Errorf("grown to %v", g)
	}
	if pole := at(90, 10).Grow(1112); pole.North != 90 || pole.East-pole.West < 5 {
		t.Errorf("at the pole %v", pole)
	}
	got := change.Merge([]change.Box{at(50, 8), at(50, 8.11), at(50, 8.03), at(50, 8.06)}, 1500)
	if len(got) != 2 || math.Abs(got[0].West-8+.021) > 1e-3 || math.Abs(got[0].East-8.06-.021) > 1e-3 {
		t.Errorf("merged %v", got)
	}
	if got := change.Merge(nil, 1500); len(got) != 0 {
		t.Errorf("of nothing %v", got)
	}
}
