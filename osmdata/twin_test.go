package osmdata_test

import (
	"bytes"
	"context"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmpbf"
	"pgregory.net/rapid"

	"wideberth/osmdata"
)

// drawWorld makes a small random map: nodes on a coarse grid so that places
// coincide, ways that repeat nodes and miss some, relations of any ways.
func drawWorld(t *rapid.T) *world {
	w := &world{}
	pick := func(name string, from ...string) string { return rapid.SampledFrom(from).Draw(t, name) }
	n := rapid.IntRange(2, 14).Draw(t, "nodes")
	for id := int64(1); id <= int64(n); id++ {
		x, y := rapid.IntRange(0, 5).Draw(t, "x"), rapid.IntRange(0, 5).Draw(t, "y")
		tags := worldTags(strings.Fields(pick("node tags", "", "", "", "barrier=gate locked=yes", "barrier=bollard",
			"leisure=playground", "addr:housenumber=1 addr:street=A", "place=village name=V")))
		w.nodes = append(w.nodes, worldNode{id, 10 + float64(x)*1e-4, 50 + float64(y)*1e-4, tags})
	}
	node := rapid.Int64Range(1, int64(n)+2)
	for id := range int64(rapid.IntRange(1, 8).Draw(t, "ways")) {
		refs := rapid.SliceOfN(node, 1, 7).Draw(t, "refs")
		if rapid.Bool().Draw(t, "closed") {
			refs = append(refs, refs[0])
		}
		tags := worldTags(strings.Fields(pick("way tags", "highway=path", "highway=residential oneway=-1", "highway=cycleway", "",
			"highway=pedestrian area=yes", "highway=primary sidewalk=separate", "building=yes", "natural=water", "landuse=forest",
			"barrier=fence", "railway=rail", "leisure=park", "highway=path dog=no", "waterway=river", "leisure=pitch lit=yes")))
		w.ways = append(w.ways, worldWay{id + 1, refs, tags})
	}
	way := rapid.Int64Range(1, int64(len(w.ways))+1)
	for id := range int64(rapid.IntRange(0, 3).Draw(t, "relations")) {
		r := worldRelation{id: id + 1, ways: rapid.SliceOfN(way, 1, 4).Draw(t, "members")}
		for range r.ways {
			r.roles = append(r.roles, pick("role", "outer", "outer", "inner", ""))
		}
		r.tags = worldTags(strings.Fields(pick("relation tags", "type=multipolygon natural=water",
			"type=multipolygon building=yes", "type=multipolygon highway=pedestrian", "type=boundary leisure=park", "type=route")))
		w.relations = append(w.relations, r)
	}
	// With bounds the frame does not depend on which nodes a format keeps.
	w.bounds = []float64{9.999, 49.999, 10.001, 50.001}
	return w
}

// result reads bytes into something that can be compared: extract or message.
func result(data []byte) (*osmdata.Extract, string) {
	x, err := osmdata.Options{Rules: playRules}.Read(context.Background(), bytes.NewReader(data))
	if err != nil {
		return nil, err.Error()
	}
	delete(x.Report.Read, "nodes") // XML keeps all, PBF those on ways
	return x, ""
}

// Random maps say the same as XML, as PBF, and with their elements in any order.
func TestFormatAndOrderDoNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		want, wantErr := result(w.xml())
		shuffled := &world{
			bounds: w.bounds, nodes: rapid.Permutation(w.nodes).Draw(t, "nodes' order"),
			ways: rapid.Permutation(w.ways).Draw(t, "ways' order"), relations: rapid.Permutation(w.relations).Draw(t, "relations' order"),
		}
		for name, data := range map[string][]byte{"XML": shuffled.xml(), "PBF": shuffled.pbf()} {
			if got, err := result(data); err != wantErr || !sameExtract(got, want) {
				t.Fatalf("shuffled %s differs (%q, %q):\n%s", name, err, wantErr, shuffled.xml())
			}
		}
	})
}

func sameExtract(a, b *osmdata.Extract) bool {
	if a == nil || b == nil {
		return a == b
	}
	round(a)
	round(b)
	return reflect.DeepEqual(a, b)
}

// streetsOf is the slow twin for the nodes of plain streets: it walks each way with
// a map of places and nothing shared.
func streetsOf(w *world) map[int64][][]int64 {
	type place struct{ lon, lat float64 }
	at := map[int64]place{}
	for _, n := range w.nodes {
		at[n.id] = place{n.lon, n.lat}
	}
	// Neighbours at one place on any street go by the least name, again and again
	// until nothing changes.
	name := map[int64]int64{}
	for id := range at {
		name[id] = id
	}
	for changed := true; changed; {
		changed = false
		for _, y := range w.ways {
			if !hasKey(y.tags, "highway") {
				continue
			}
			for i := 1; i < len(y.refs); i++ {
				a, okA := at[y.refs[i-1]]
				b, okB := at[y.refs[i]]
				u, v := name[y.refs[i-1]], name[y.refs[i]]
				if okA && okB && a == b && u != v {
					name[y.refs[i-1]], name[y.refs[i]] = min(u, v), min(u, v)
					changed = true
				}
			}
		}
	}
	out := map[int64][][]int64{}
	for _, y := range w.ways {
		closed := len(y.refs) >= 4 && y.refs[0] == y.refs[len(y.refs)-1]
		if !hasKey(y.tags, "highway") || hasKey(y.tags, "area") && closed {
			continue
		}
		refs := slices.Clone(y.refs)
		if hasKey(y.tags, "oneway") {
			slices.Reverse(refs)
		}
		var run []int64
		var last place
		for _, id := range append(refs, -1) { // -1 is nowhere and ends the last run
			p, ok := at[id]
			switch {
			case !ok && len(run) >= 2:
				out[y.id] = append(out[y.id], run)
				run = nil
			case !ok:
				run = nil
			case len(run) == 0 || p != last:
				run, last = append(run, name[id]), p
			}
		}
	}
	return out
}

func hasKey(tags [][2]string, key string) bool {
	return slices.ContainsFunc(tags, func(t [2]string) bool { return t[0] == key })
}

func TestStreetsMatchTheSlowTwin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		w.relations = nil
		x, _ := result(w.xml())
		if x == nil {
			return
		}
		got := map[int64][][]int64{}
		for _, s := range x.Streets {
			if s.Flags&osmdata.FlagAreaEdge == 0 {
				got[s.ID] = append(got[s.ID], s.Nodes)
			}
		}
		want := streetsOf(w)
		for _, y := range w.ways { // the reader leaves out what neither feet nor wheels use
			if hasKey(y.tags, "dog") {
				delete(want, y.id)
				delete(got, y.id)
			}
		}
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("streets %v, want %v:\n%s", got, want, w.xml())
		}
	})
}

// The reader finds the ways of a real extract that a bare scan finds.
func TestDelawareMatchesABareScan(t *testing.T) {
	x := readReal(t, "delaware-latest.osm.pbf")
	f, err := os.Open(realExtract(t, "delaware-latest.osm.pbf"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	s := osmpbf.New(t.Context(), f, 1)
	defer s.Close()
	s.SkipNodes = true
	want := map[string]int{}
	for s.Scan() {
		switch o := s.Object().(type) {
		case *osm.Way:
			countWay(want, o)
		case *osm.Relation:
			if o.Tags.Find("type") == "multipolygon" && o.Tags.HasTag("building") {
				want["building relations"]++
			}
		}
	}
	if err := s.Err(); err != nil {
		t.Fatal(err)
	}
	got := map[string]int{}
	seen := map[int64]bool{}
	for _, y := range x.Streets {
		if y.ID > 0 && !seen[y.ID] && y.Class == osmdata.Residential && y.Flags&osmdata.FlagAreaEdge == 0 {
			seen[y.ID] = true
			got["residential"]++
		}
		if y.Class == osmdata.Motorway && y.Foot {
			got["motorways to walk on"]++
		}
	}
	for _, b := range x.Buildings {
		if strings.HasPrefix(b.OSM, "way/") {
			got["building ways"]++
		}
	}
	if got["motorways to walk on"] != want["motorways to walk on"] {
		t.Errorf("%d motorways to walk on, %d have a foot tag that says so", got["motorways to walk on"], want["motorways to walk on"])
	}
	// Some ways have all but one of their nodes outside, and some outlines belong to
	// relations; both are few.
	for _, name := range []string{"residential", "building ways"} {
		if got[name] > want[name] || got[name] < want[name]*99/100-want["building relations"] {
			t.Errorf("%s: %d, a bare scan has %d", name, got[name], want[name])
		}
	}
	t.Logf("found %v, a bare scan %v", got, want)
}

func countWay(n map[string]int, w *osm.Way) {
	if w.Tags.Find("highway") == "residential" && w.Tags.Find("area") != "yes" {
		n["residential"]++
	}
	if h := w.Tags.Find("highway"); (h == "motorway" || h == "motorway_link") && w.Tags.Find("foot") == "yes" {
		n["motorways to walk on"]++
	}
	closed := len(w.Nodes) > 3 && w.Nodes[0].ID == w.Nodes[len(w.Nodes)-1].ID
	if b := w.Tags.Find("building"); b != "" && b != "no" && closed {
		n["building ways"]++
	}
}
