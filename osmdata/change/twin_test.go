package change_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/change"

	"github.com/paulmach/osm"
)

// atlas is a whole map in memory: the slow twin's.
type atlas struct {
	nodes     map[osm.NodeID]*osm.Node
	ways      map[osm.WayID]*osm.Way
	relations map[osm.RelationID]*osm.Relation
}

func atlasOf(t *testing.T, m *change.Map) *atlas {
	t.Helper()
	a := &atlas{map[osm.NodeID]*osm.Node{}, map[osm.WayID]*osm.Way{}, map[osm.RelationID]*osm.Relation{}}
	for o, err := range m.Objects(t.Context()) {
		if err != nil {
			t.Fatal(err)
		}
		switch o := o.(type) {
		case *osm.Node:
			a.nodes[o.ID] = o
		case *osm.Way:
			a.ways[o.ID] = o
		case *osm.Relation:
			a.relations[o.ID] = o
		}
	}
	return a
}

// told is what an object says, with the places of what it refers to, so that two maps can
// be held against each other as texts; and those places.
func (a *atlas) node(id osm.NodeID) (told string, at [][2]float64) {
	n := a.nodes[id]
	if n == nil {
		return "", nil
	}
	return fmt.Sprint(n.Lon, n.Lat, n.Tags), [][2]float64{{n.Lon, n.Lat}}
}

func (a *atlas) way(id osm.WayID) (told string, at [][2]float64) {
	w := a.ways[id]
	if w == nil {
		return "", nil
	}
	told = fmt.Sprint(w.Tags)
	for _, n := range w.Nodes {
		place := "nowhere"
		if n := a.nodes[n.ID]; n != nil {
			place = fmt.Sprint(n.Lon, n.Lat)
			at = append(at, [2]float64{n.Lon, n.Lat})
		}
		told += fmt.Sprint(n.ID, place)
	}
	return told, at
}

func (a *atlas) relation(id osm.RelationID) (told string, at [][2]float64) {
	r := a.relations[id]
	if r == nil {
		return "", nil
	}
	told = fmt.Sprint(r.Tags)
	for _, m := range r.Members {
		told += fmt.Sprint(m.Type, m.Ref, m.Role)
		if m.Type == osm.TypeWay {
			w, places := a.way(osm.WayID(m.Ref))
			told += w
			at = append(at, places...)
		}
	}
	return told, at
}

// touchedSlowly finds what changed by holding all of two maps against each other.
func touchedSlowly(a, b *atlas, p *osmdata.Picker) (boxes []string) {
	hold := func(wanted bool, was, is string, before, after [][2]float64) {
		if wanted && was != is && len(before)+len(after) > 0 {
			box := change.Box{West: math.Inf(1), South: math.Inf(1), East: math.Inf(-1), North: math.Inf(-1)}
			for _, at := range slices.Concat(before, after) {
				box = box.Union(change.Box{West: at[0], South: at[1], East: at[0], North: at[1]})
			}
			boxes = append(boxes, fmt.Sprint(box))
		}
	}
	for id := range int64(80) {
		id -= 10
		n, m := a.nodes[osm.NodeID(id)], b.nodes[osm.NodeID(id)]
		was, before := a.node(osm.NodeID(id))
		is, after := b.node(osm.NodeID(id))
		hold(n != nil && p.Node(n.Tags) || m != nil && p.Node(m.Tags), was, is, before, after)
		w, v := a.ways[osm.WayID(id)], b.ways[osm.WayID(id)]
		was, before = a.way(osm.WayID(id))
		is, after = b.way(osm.WayID(id))
		hold(w != nil && p.Way(w.Tags) || v != nil && p.Way(v.Tags), was, is, before, after)
		r, q := a.relations[osm.RelationID(id)], b.relations[osm.RelationID(id)]
		was, before = a.relation(osm.RelationID(id))
		is, after = b.relation(osm.RelationID(id))
		hold(r != nil && p.Relation(r)&osmdata.UseArea != 0 || q != nil && p.Relation(q)&osmdata.UseArea != 0, was, is, before, after)
	}
	slices.Sort(boxes)
	return boxes
}

func opened(t *testing.T, path string) *osmdata.Elements {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	e, err := osmdata.OpenElements(t.Context(), f, 1, nil)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// both is a set of what two hold, the second added last.
func both(t *testing.T, a, b *change.Set) *change.Set {
	t.Helper()
	out := change.NewSet(change.UsualMemory, "")
	for _, s := range []*change.Set{a, b} {
		for o, err := range s.All() {
			if err == nil {
				err = out.Add(o)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	return out
}

// TestTouchedAsTheTwinDoes holds what changes touch against a twin that holds two whole
// maps against each other, on maps and changes drawn at random; so, too, with changes that
// are laid over the map already, and with those that another extract comes to.
func TestTouchedAsTheTwinDoes(t *testing.T) {
	const seed = 20261130
	t.Logf("seed %d", seed)
	d := draw{rand.New(rand.NewPCG(seed, 2))}
	p := osmdata.NewPicker([]osmdata.Rule{{Key: "name", Values: []string{"v1", "v2", "v3", "v4", "v5", "v6", "v7"}, As: "place"}})
	write := func(name, text string) string {
		path := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	some := 0
	for i := range 16 {
		old := opened(t, write("old.osm", d.extract()))
		laid, fresh := change.NewSet(change.UsualMemory, ""), change.NewSet(change.UsualMemory, "")
		add := func(s *change.Set, text string) {
			if _, err := s.AddFile(t.Context(), write("a.osc", text)); err != nil {
				t.Fatal(err)
			}
		}
		add(laid, d.changes(i%4))
		before := atlasOf(t, change.Of(old, laid))
		var after *atlas
		if i%2 == 0 {
			add(fresh, d.changes(1+i%5))
			after = atlasOf(t, change.Of(old, both(t, laid, fresh)))
		} else {
			now := opened(t, write("new.osm", d.extract()))
			if err := fresh.AddDifference(change.Of(old, laid).Objects(t.Context()), change.Of(now, nil).Objects(t.Context())); err != nil {
				t.Fatal(err)
			}
			after = atlasOf(t, change.Of(now, nil))
			made := atlasOf(t, change.Of(old, both(t, laid, fresh)))
			if left := touchedSlowly(made, after, p); len(left) > 0 || len(made.nodes) != len(after.nodes) {
				t.Fatalf("map %d: the difference laid over the old map is not the new one: %v", i, left)
			}
		}
		want := touchedSlowly(before, after, p)
		got, err := fresh.Touched(t.Context(), change.Of(old, laid), p)
		if err != nil {
			t.Fatal(err)
		}
		var boxes []string
		for _, b := range got.Boxes {
			boxes = append(boxes, fmt.Sprint(b))
		}
		slices.Sort(boxes)
		if !slices.Equal(boxes, want) {
			t.Fatalf("map %d:\n got %v\nwant %v", i, boxes, want)
		}
		some += len(want)
	}
	if some < 50 {
		t.Errorf("only %d boxes in all", some)
	}
}
