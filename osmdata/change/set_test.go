package change_test

import (
	"fmt"
	"iter"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/change"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geo"
	"github.com/paulmach/osm"
	"pgregory.net/rapid"
)

// sequence gives objects one after another.
func sequence(all []osm.Object) iter.Seq2[osm.Object, error] {
	return func(yield func(osm.Object, error) bool) {
		for _, o := range all {
			if !yield(o, nil) {
				return
			}
		}
	}
}

func linesOf(t interface{ Fatal(...any) }, seq iter.Seq2[osm.Object, error]) (out []string) {
	for o, err := range seq {
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, opl(o))
	}
	return out
}

// smallMap draws a map of few objects, sorted, each once; with numbers of versions that
// count or do not.
func smallMap(t *rapid.T, name string) (all []osm.Object) {
	has := rapid.SliceOfNDistinct(rapid.IntRange(1, 8), 0, 8, rapid.ID[int])
	nodes, ways, relations := has.Draw(t, name+" nodes"), has.Draw(t, name+" ways"), has.Draw(t, name+" relations")
	slices.Sort(nodes)
	slices.Sort(ways)
	slices.Sort(relations)
	some := rapid.IntRange(1, 3)
	for _, id := range nodes {
		all = append(all, &osm.Node{ID: osm.NodeID(id), Version: some.Draw(t, "version"), Visible: true, Lon: float64(some.Draw(t, "lon")), Tags: osm.Tags{{Key: "k", Value: fmt.Sprint(some.Draw(t, "v"))}}})
	}
	for _, id := range ways {
		all = append(all, &osm.Way{ID: osm.WayID(id), Version: some.Draw(t, "version"), Visible: true, Nodes: osm.WayNodes{{ID: osm.NodeID(some.Draw(t, "ref"))}}})
	}
	for _, id := range relations {
		all = append(all, &osm.Relation{ID: osm.RelationID(id), Version: some.Draw(t, "version"), Visible: true, Members: osm.Members{{Type: osm.TypeWay, Ref: int64(some.Draw(t, "ref")), Role: "outer"}}})
	}
	return all
}

// TestDifferenceMakesTheOther: what two maps differ in, laid over the first, makes the
// second, whatever their versions; laid over the second it changes nothing; and a map
// differs from itself in nothing.
func TestDifferenceMakesTheOther(t *testing.T) {
	versionless := func(lines []string) []string {
		out := slices.Clone(lines)
		for i, l := range out {
			head, rest, _ := strings.Cut(l, " v")
			_, rest, _ = strings.Cut(rest, " ")
			out[i] = head + " " + rest
		}
		return out
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := smallMap(t, "old"), smallMap(t, "new")
		want := versionless(linesOf(t, sequence(b))) // before it is changed
		set := change.NewSet(change.UsualMemory, "")
		if err := set.AddDifference(sequence(a), sequence(b)); err != nil {
			t.Fatal(err)
		}
		for what, over := range map[string][]osm.Object{"old": a, "new": b} {
			if got := versionless(linesOf(t, set.Over(sequence(over)))); !slices.Equal(got, want) {
				t.Fatalf("over the %s: %q, want %q", what, got, want)
			}
		}
		none := change.NewSet(change.UsualMemory, "")
		if err := none.AddDifference(sequence(a), sequence(a)); err != nil {
			t.Fatal(err)
		}
		if left := linesOf(t, none.All()); len(left) > 0 {
			t.Fatalf("a map differs from itself in %q", left)
		}
	})
}

// TestSetIsTheNewest: of all versions that were added a set has each object once, sorted,
// in its newest version, however little memory it has, and again after more was added.
func TestSetIsTheNewest(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		set := change.NewSet(rapid.SampledFrom([]int{0, 200, change.UsualMemory}).Draw(t, "memory"), dir)
		defer set.Close()
		newest := map[osm.NodeID]*osm.Node{}
		for range rapid.IntRange(1, 2).Draw(t, "rounds") {
			for range rapid.IntRange(0, 12).Draw(t, "objects") {
				n := &osm.Node{ID: osm.NodeID(rapid.IntRange(1, 5).Draw(t, "id")), Version: rapid.IntRange(1, 4).Draw(t, "version"), Visible: rapid.Bool().Draw(t, "visible")}
				if n.Visible {
					n.Lon = float64(rapid.IntRange(0, 9).Draw(t, "lon"))
				}
				if was := newest[n.ID]; was == nil || n.Version >= was.Version {
					newest[n.ID] = n
				}
				if err := set.Add(n); err != nil {
					t.Fatal(err)
				}
			}
			last, count := osm.NodeID(0), 0
			for o, err := range set.All() {
				if err != nil {
					t.Fatal(err)
				}
				n, want := o.(*osm.Node), newest[o.(*osm.Node).ID]
				if n.ID <= last || want == nil || n.Version != want.Version || n.Visible != want.Visible || n.Lon != want.Lon {
					t.Fatalf("%+v after %d, want %+v", n, last, want)
				}
				last, count = n.ID, count+1
			}
			if count != len(newest) {
				t.Fatalf("%d objects, want %d", count, len(newest))
			}
		}
	})
	if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
		t.Errorf("left over: %v, %v", left, err)
	}
}

// TestLifeOfAWay: made, changed, deleted and made again, as the format's documentation
// tells an object's life (OpenStreetMap wiki, "OsmChange" and "Elements", Version: it rises
// by one with each, a deletion too, and an id is never given to another object). Whatever
// the files are given in, the last version counts.
func TestLifeOfAWay(t *testing.T) {
	life := []string{
		`<create><way id="7" version="1"><nd ref="1"/><nd ref="2"/></way></create>`,
		`<modify><way id="7" version="2"><nd ref="1"/><nd ref="3"/></way></modify>`,
		`<delete><way id="7" version="3"/></delete>`,
		`<modify><way id="7" version="4"><nd ref="1"/><nd ref="4"/></way></modify>`,
	}
	after := []string{"w7 v1 dV t T Nn1,n2", "w7 v2 dV t T Nn1,n3", "", "w7 v4 dV t T Nn1,n4"}
	for until := range life {
		for first := range until + 1 {
			order := slices.Concat(life[first:until+1], life[:first])
			for _, text := range []string{strings.Join(order, ""), strings.Join(reversed(order), "")} {
				got := strings.Join(linesOf(t, laidOver(t, text).Over(sequence(nil))), ";")
				if got != after[until] {
					t.Errorf("%s: %q, want %q", text, got, after[until])
				}
			}
		}
	}
}

// TestWithinABox: changes far off are none; what came from there is gone.
func TestWithinABox(t *testing.T) {
	set := change.NewSet(change.UsualMemory, "")
	set.Keep(change.Box{West: 8, South: 50, East: 9, North: 51})
	for id, at := range [][2]float64{{8.5, 50.5}, {8, 50}, {9, 51}, {9.0001, 50.5}, {8.5, 49.9999}, {-170, -40}} {
		if err := set.Add(&osm.Node{ID: osm.NodeID(id + 1), Version: 2, Visible: true, Lon: at[0], Lat: at[1]}); err != nil {
			t.Fatal(err)
		}
	}
	was := &osm.Node{ID: 4, Version: 1, Visible: true, Lon: 8.9, Lat: 50.5}
	var ids []osm.NodeID
	for o, err := range set.Over(sequence([]osm.Object{was})) {
		if err != nil {
			t.Fatal(err)
		}
		ids = append(ids, o.(*osm.Node).ID)
	}
	if !slices.Equal(ids, []osm.NodeID{1, 2, 3}) || set.Beyond() != 3 || set.Aside() {
		t.Errorf("nodes %v, %d beyond", ids, set.Beyond())
	}
}

// TestGrow: a box grown by a margin holds what lies so far from it and little more, by the
// distances on a sphere of another library (orb/geo); at poles and the far meridian it ends.
func TestGrow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := change.Box{West: rapid.Float64Range(-170, 170).Draw(t, "lon"), South: rapid.Float64Range(-70, 70).Draw(t, "lat")}
		at.East, at.North = at.West, at.South
		m := rapid.Float64Range(1, 20_000).Draw(t, "margin")
		p := orb.Point{at.West, at.South}
		b := at.Grow(m)
		for bearing := 0.0; bearing < 360; bearing += 30 {
			q := geo.PointAtBearingAndDistance(p, bearing, .998*m) // orb's earth has another radius
			if !b.Meets(change.Box{West: q[0], South: q[1], East: q[0], North: q[1]}) {
				t.Fatalf("%v is %g m off at %g degrees, and outside %+v", q, m, bearing, b)
			}
		}
		if wide := geo.Distance(orb.Point{b.West, at.South}, p); wide > 1.02*m {
			t.Fatalf("%g m wide, want %g", wide, m)
		}
	})
	if b := (change.Box{West: -180, South: -90, East: 180, North: 90}).Grow(1e6); b != (change.Box{West: -180, South: -90, East: 180, North: 90}) {
		t.Errorf("more than the earth: %+v", b)
	}
}

// TestMergeHoldsAll: merged boxes hold the grown ones, have no place in common, and are as
// many as hang together, found pair by pair.
func TestMergeHoldsAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var boxes []change.Box
		for range rapid.IntRange(0, 8).Draw(t, "boxes") {
			w, s := float64(rapid.IntRange(0, 20).Draw(t, "w")), float64(rapid.IntRange(0, 20).Draw(t, "s"))
			boxes = append(boxes, change.Box{West: w, South: s, East: w + float64(rapid.IntRange(0, 3).Draw(t, "wide")), North: s + float64(rapid.IntRange(0, 3).Draw(t, "high"))})
		}
		got := change.Merge(boxes, 1000)
		for i, b := range boxes {
			held := 0
			for _, m := range got {
				if g := b.Grow(1000); g.Union(m) == m {
					held++
				}
			}
			if held != 1 {
				t.Fatalf("box %d lies in %d of %+v", i, held, got)
			}
		}
		for i := range got {
			for j := range i {
				if got[i].Meets(got[j]) {
					t.Fatalf("%+v meets %+v", got[i], got[j])
				}
			}
			if i > 0 && got[i].West < got[i-1].West {
				t.Fatalf("not from west to east: %+v", got)
			}
		}
		// Slowly: the union of any two that meet, until none do.
		slow := []change.Box{}
		for _, b := range boxes {
			slow = append(slow, b.Grow(1000))
		}
		for again := true; again; {
			again = false
			for i := 0; i < len(slow) && !again; i++ {
				for j := i + 1; j < len(slow) && !again; j++ {
					if slow[i].Meets(slow[j]) {
						slow[i], again = slow[i].Union(slow[j]), true
						slow = slices.Delete(slow, j, j+1)
					}
				}
			}
		}
		if len(slow) != len(got) {
			t.Fatalf("%d boxes, want %d", len(got), len(slow))
		}
	})
	if far := (change.Box{West: 1, South: 1, East: 2, North: 2}); far.Meets(change.Box{West: math.Nextafter(2, 3), South: 1, East: 3, North: 2}) || !far.Meets(change.Box{West: 2, South: 2, East: 3, North: 3}) {
		t.Error("sides belong to boxes")
	}
}

// TestDiffersIsMore: where a map differs, by any version of what is kept, it differs at
// least where a reading finds it touched, and by bans and new versions besides.
func TestDiffersIsMore(t *testing.T) {
	picker := osmdata.NewPicker(rules)
	for name, c := range map[string]struct {
		changes         string
		touched, differ int
	}{
		"a node of a street moves":      {`<modify><node id="2" version="2" lat="50.0005" lon="8.001"/></modify>`, 2, 2},
		"another version of a school":   {`<modify><node id="20" version="4" lat="50.030" lon="8.030"><tag k="amenity" v="school"/></node></modify>`, 0, 1},
		"the version that there is":     {`<modify><node id="20" version="3" lat="50.030" lon="8.030"><tag k="amenity" v="school"/></node></modify>`, 0, 0},
		"an older version of a school":  {`<delete><node id="20" version="2"/></delete>`, 0, 0},
		"a node that nobody wants":      {`<modify><node id="21" version="2" lat="50.041" lon="8.040"/></modify>`, 0, 0},
		"a turn is banned":              {`<create><relation id="9" version="1"><member type="way" ref="1" role="from"/><member type="node" ref="2" role="via"/><member type="way" ref="2" role="to"/><tag k="type" v="restriction"/><tag k="restriction" v="no_left_turn"/></relation></create>`, 0, 2},
		"a route, which nobody keeps":   {`<modify><relation id="2" version="2"><member type="way" ref="1" role=""/><tag k="type" v="route"/></relation></modify>`, 0, 0},
		"another version of the park":   {`<modify><relation id="1" version="2"><member type="way" ref="5" role="outer"/><member type="way" ref="6" role="outer"/><tag k="type" v="multipolygon"/><tag k="leisure" v="park"/></relation></modify>`, 0, 1},
		"a line of the park is another": {`<modify><way id="6" version="2"><nd ref="13"/><nd ref="11"/></way></modify>`, 1, 1},
	} {
		src := change.Of(opened(t, writeTown(t)), nil)
		touched, err := laidOver(t, c.changes).Touched(t.Context(), src, picker)
		if err != nil {
			t.Fatal(err)
		}
		boxes, err := laidOver(t, c.changes).Differs(t.Context(), src, picker)
		if err != nil {
			t.Fatal(err)
		}
		if len(touched.Boxes) != c.touched || len(boxes) != c.differ {
			t.Errorf("%s: touches %d and differs in %d, want %d and %d", name, len(touched.Boxes), len(boxes), c.touched, c.differ)
		}
		for _, b := range touched.Boxes {
			if !slices.Contains(boxes, b) {
				t.Errorf("%s: touched at %+v, where it does not differ", name, b)
			}
		}
	}
}

// TestHead: the first bytes of a file, unpacked, tell what it is.
func TestHead(t *testing.T) {
	long := "<osmChange>" + strings.Repeat(" ", 5000)
	for text, want := range map[string]string{whole: whole, gzipped(whole): whole, "x": "x", long: long[:4096], gzipped(long): long[:4096]} {
		if got, err := change.Head(strings.NewReader(text)); err != nil || string(got) != want {
			t.Errorf("%.20q: %.20q, %v", text, got, err)
		}
	}
	for _, bad := range []string{"", gzipped(whole)[:5], "\x1f\x8b\x08broken"} {
		if got, err := change.Head(strings.NewReader(bad)); err == nil {
			t.Errorf("%q: %q", bad, got)
		}
	}
	path := filepath.Join(t.TempDir(), "a.osc")
	if err := os.WriteFile(path, []byte(long), 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := change.Head(f); err != nil {
		t.Error(err)
	}
}

func reversed(list []string) []string {
	out := slices.Clone(list)
	slices.Reverse(out)
	return out
}

// TestAside: a set tells whether it had to put something aside, and gives back its files.
func TestAside(t *testing.T) {
	for memory, want := range map[int]bool{0: true, change.UsualMemory: false} {
		dir := t.TempDir()
		set := change.NewSet(memory, dir)
		for id := range 3 {
			if err := set.Add(&osm.Node{ID: osm.NodeID(id + 1), Version: 1, Visible: true}); err != nil {
				t.Fatal(err)
			}
		}
		left, err := os.ReadDir(dir)
		if err != nil || set.Aside() != want || (len(left) > 0) != want {
			t.Errorf("with %d bytes: %t, %d files, %v", memory, set.Aside(), len(left), err)
		}
		if err := set.Close(); err != nil {
			t.Error(err)
		}
		if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
			t.Errorf("left over: %v, %v", left, err)
		}
	}
}
