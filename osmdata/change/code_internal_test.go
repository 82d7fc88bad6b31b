package change

import (
	"bytes"
	"cmp"
	"reflect"
	"slices"
	"testing"
	"time"

	"github.com/paulmach/osm"
	"pgregory.net/rapid"
)

// anyObject draws an object as a change has it, deleted or not.
func anyObject(t *rapid.T) osm.Object {
	text := rapid.SampledFrom([]string{"", "highway", "ä\x00\"", "a name of more than one hundred and twenty-seven bytes, which takes two bytes for its length: a street, a square, a lane, a park, a row"})
	var tags osm.Tags
	for range rapid.IntRange(0, 3).Draw(t, "tags") {
		tags = append(tags, osm.Tag{Key: text.Draw(t, "key"), Value: text.Draw(t, "value")})
	}
	id, version := rapid.Int64().Draw(t, "id"), rapid.IntRange(0, 1<<30).Draw(t, "version")
	var at time.Time
	if s := rapid.Int64Range(0, 4e9).Draw(t, "at"); s != 0 {
		at = time.Unix(s, 0).UTC()
	}
	visible := rapid.Bool().Draw(t, "visible")
	switch rapid.IntRange(0, 2).Draw(t, "kind") {
	case 0:
		n := &osm.Node{ID: osm.NodeID(id), Version: version, Timestamp: at, Visible: visible}
		if visible {
			n.Lon = float64(rapid.IntRange(-1800000000, 1800000000).Draw(t, "lon")) / 1e7
			n.Lat = float64(rapid.IntRange(-900000000, 900000000).Draw(t, "lat")) / 1e7
			n.Tags = tags
		}
		return n
	case 1:
		w := &osm.Way{ID: osm.WayID(id), Version: version, Timestamp: at, Visible: visible}
		if visible {
			w.Nodes, w.Tags = osm.WayNodes{}, tags
			for _, ref := range rapid.SliceOfN(rapid.Int64(), 0, 5).Draw(t, "refs") {
				w.Nodes = append(w.Nodes, osm.WayNode{ID: osm.NodeID(ref)})
			}
		}
		return w
	}
	r := &osm.Relation{ID: osm.RelationID(id), Version: version, Timestamp: at, Visible: visible}
	if visible {
		r.Members, r.Tags = osm.Members{}, tags
		for _, ref := range rapid.SliceOfN(rapid.Int64(), 0, 5).Draw(t, "members") {
			r.Members = append(r.Members, osm.Member{Type: rapid.SampledFrom(memberKinds[:]).Draw(t, "type"), Ref: ref, Role: text.Draw(t, "role")})
		}
	}
	return r
}

// TestObjectsComeBack: what is put aside is read again as it was; bytes that end early are
// refused, and others end in an object or an error.
func TestObjectsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := anyObject(t)
		b := appendObject(nil, o)
		got, err := decodeObject(b)
		if err != nil || !reflect.DeepEqual(got, o) {
			t.Fatalf("%+v, %v; want %+v", got, err, o)
		}
		if twice := appendObject(b, o); !bytes.Equal(twice[len(b):], b) {
			t.Fatalf("%+v is written in two ways", o)
		}
		if n := rapid.IntRange(0, len(b)-1).Draw(t, "length"); n < len(b) {
			if _, err := decodeObject(b[:n]); err == nil {
				t.Fatalf("%d of %d bytes were read", n, len(b))
			}
		}
		if _, err := decodeObject(append(slices.Clone(b), 0)); err == nil {
			t.Fatal("more bytes than one object has")
		}
		spoilt := slices.Clone(b)
		spoilt[rapid.IntRange(0, len(b)-1).Draw(t, "place")] ^= byte(rapid.IntRange(1, 255).Draw(t, "flip"))
		if o, err := decodeObject(spoilt); (o == nil) == (err == nil) {
			t.Fatalf("spoilt: %v, %v", o, err)
		}
	})
}

// FuzzObjects: whatever lies where changes were put aside, reading it ends.
func FuzzObjects(f *testing.F) {
	f.Add(appendObject(nil, &osm.Node{ID: 1, Visible: true, Tags: osm.Tags{{Key: "a", Value: "b"}}}))
	f.Add(appendObject(nil, &osm.Relation{ID: 1, Visible: true, Members: osm.Members{{Type: osm.TypeWay, Ref: 3, Role: "outer"}}}))
	f.Fuzz(func(t *testing.T, b []byte) {
		o, err := decodeObject(b)
		if err != nil {
			return
		}
		// Whatever was read can be put aside again, and says the same.
		again, err := decodeObject(appendObject(nil, o))
		if err != nil || !reflect.DeepEqual(again, o) {
			t.Errorf("%+v became %+v, %v", o, again, err)
		}
	})
}

// TestOrderOfKeys: keys are put in the order that osmium-tool's manual gives (osmium-sort:
// "nodes, ways, then relations, each by ID; negative IDs come first, ordered by their
// absolute value"): here said in another way, by what each key is worth.
func TestOrderOfKeys(t *testing.T) {
	rank := func(k key) [3]uint64 {
		if k.id > 0 {
			return [3]uint64{uint64(k.kind), 1, uint64(k.id)}
		}
		return [3]uint64{uint64(k.kind), 0, -uint64(k.id)}
	}
	keys := rapid.Custom(func(t *rapid.T) key {
		return key{byte(rapid.IntRange(0, 2).Draw(t, "kind")), rapid.OneOf(rapid.Int64Range(-3, 3), rapid.Int64()).Draw(t, "id")}
	})
	rapid.Check(t, func(t *rapid.T) {
		a, b := keys.Draw(t, "a"), keys.Draw(t, "b")
		ra, rb := rank(a), rank(b)
		want := slices.Compare(ra[:], rb[:])
		if got := cmp.Compare(a.compare(b), 0); got != want {
			t.Fatalf("%v against %v: %d, want %d", a, b, got, want)
		}
	})
}

// TestWhichVersionCounts: the greater version; of equal ones the later time, and the one
// that came last where a time is not known (osmium-apply-changes).
func TestWhichVersionCounts(t *testing.T) {
	for _, c := range []struct {
		was, now stamp
		after    bool
	}{
		{stamp{1, 0}, stamp{2, 0}, true}, {stamp{2, 0}, stamp{1, 0}, false}, {stamp{2, 500}, stamp{1, 900}, false},
		{stamp{2, 500}, stamp{2, 900}, true}, {stamp{2, 900}, stamp{2, 500}, false}, {stamp{2, 500}, stamp{2, 500}, true},
		{stamp{2, 0}, stamp{2, 500}, true}, {stamp{2, 500}, stamp{2, 0}, true},
	} {
		if got := c.now.after(c.was); got != c.after {
			t.Errorf("%+v after %+v: %t", c.now, c.was, got)
		}
	}
	for _, o := range []osm.Object{&osm.Bounds{}, &osm.Changeset{}, &osm.User{}} {
		if _, _, _, ok := describe(o); ok {
			t.Errorf("%T is no object of a map", o)
		}
		if _, ok := keyOf(o); ok {
			t.Errorf("%T has no key", o)
		}
	}
}

// TestSpoiltRuns: what was put aside and then spoilt is told, wherever it is cut.
func TestSpoiltRuns(t *testing.T) {
	s := NewSet(UsualMemory, "")
	for id := range 5 {
		if err := s.Add(&osm.Node{ID: osm.NodeID(id + 1), Version: 1, Visible: true}); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if _, err := s.sortInto(&b); err != nil {
		t.Fatal(err)
	}
	objects := func(data []byte) (n int, err error) {
		spoilt := Set{runs: []run{{bytes.NewReader(data), int64(len(data))}}}
		for o, e := range spoilt.All() {
			if err = e; o != nil {
				n++
			}
		}
		return n, err
	}
	if n, err := objects(b.Bytes()); n != 5 || err != nil {
		t.Fatalf("%d objects, %v", n, err)
	}
	one := b.Len() / 5
	for n := range b.Len() {
		if _, err := objects(b.Bytes()[:n]); err == nil && n%one != 0 {
			t.Errorf("cut after %d of %d bytes", n, b.Len())
		}
	}
	if _, err := objects([]byte{0xff, 0xff, 0xff, 0xff, 0x7f}); err == nil {
		t.Error("an object of 32 GB")
	}
}
