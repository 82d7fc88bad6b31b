package change_test

import (
	"fmt"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"
	"time"

	"wideberth/osmdata"
	"wideberth/osmdata/change"
	"wideberth/testdata"

	"github.com/paulmach/osm"
)

// TestReadObjects: an extract made of raw objects is the one that is read from the file
// that they stand in, written in the binary form by osmium-tool.
func TestReadObjects(t *testing.T) {
	for _, world := range []string{"market-and-terrace.osm", "broken-multipolygon.osm", "school-with-a-gate.osm"} {
		b, err := fs.ReadFile(testdata.Worlds(), world)
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), world)
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		packed := path + ".pbf"
		osmium(t, "sort", path, "-o", packed)
		o := osmdata.Options{Rules: rules}
		want, err := o.ReadFile(t.Context(), packed)
		if err != nil {
			t.Fatal(err)
		}
		e := opened(t, packed)
		got, err := o.ReadObjects(t.Context(), change.Of(e, nil).Wanted(t.Context()), want.Timestamp, e.Bounds)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s: another extract", world)
		}
	}
}

// TestWithin: the part of an extract in a box holds what lies in it, and whole streets.
func TestWithin(t *testing.T) {
	x, err := osmdata.Options{Rules: rules}.ReadObjects(t.Context(), change.Of(opened(t, writeTown(t)), nil).Wanted(t.Context()), time.Time{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	at := x.Frame.Forward(8.001, 50.001)
	box := x.Streets[0].Line.Box()
	box.Min, box.Max = at, at
	y := x.Within(box.Grown(20))
	if len(x.Streets) != 2 || len(y.Streets) != 1 || y.Streets[0].ID != 2 || len(y.Streets[0].Line) != 2 || len(y.Grounds) != 0 || len(x.Grounds) != 1 || y.Frame != x.Frame {
		t.Errorf("%d of %d streets, %d of %d grounds", len(y.Streets), len(x.Streets), len(y.Grounds), len(x.Grounds))
	}
	if all := x.Within(x.Grounds[0].Area.Outer.Box().Union(x.Streets[0].Line.Box())); len(all.Streets) != 2 || len(all.Grounds) != 1 {
		t.Errorf("%d streets and %d grounds in a box of both", len(all.Streets), len(all.Grounds))
	}
}

// TestFewOfMany: objects asked for by their ids are those that a pass over all of a kind
// finds with them, in the file's binary form, where most blocks are left closed, and as
// XML, with changes laid over it or without.
func TestFewOfMany(t *testing.T) {
	xml := filepath.Join(t.TempDir(), "many.osm")
	if err := os.WriteFile(xml, many(), 0o600); err != nil {
		t.Fatal(err)
	}
	packed := xml + ".pbf"
	osmium(t, "sort", xml, "-o", packed)
	over := laidOver(t, `<modify><node id="17000" version="2" lat="51" lon="9"/><way id="3000" version="2"><nd ref="1"/><nd ref="9"/></way></modify>
		<delete><node id="2" version="2"/></delete><create><node id="19999" version="1" lat="50" lon="8"/><way id="9999" version="1"><nd ref="1"/></way></create>`)
	for _, c := range []struct {
		path string
		over *change.Set
	}{{xml, nil}, {packed, nil}, {packed, over}} {
		m := change.Of(opened(t, c.path), c.over)
		all := collect(t, m.Objects(t.Context()))
		for _, ids := range [][]int64{{2, 17000, 19999}, {-5, 3000, 9999, 1 << 40}, {8000, 8001, 16000}, {}} {
			var got []osm.Object
			for _, seq := range change.FewOf(t.Context(), m, ids) {
				got = append(got, collect(t, seq)...)
			}
			want := slices.DeleteFunc(slices.Clone(all), func(o osm.Object) bool { return !slices.Contains(ids, o.ObjectID().Ref()) })
			if !slices.EqualFunc(got, want, func(a, b osm.Object) bool { return reflect.DeepEqual(a, b) }) {
				t.Errorf("%s, %v: %d objects, want %d", filepath.Base(c.path), ids, len(got), len(want))
			}
		}
	}
}

// many is more than fits in one block of the binary form: 18,000 nodes and 9,000 ways.
func many() []byte {
	b := []byte(`<osm version="0.6">`)
	for i := range 18000 {
		b = fmt.Appendf(b, `<node id="%d" version="1" timestamp="2026-01-01T00:00:00Z" lat="50.%05d" lon="8.%05d"/>`, i+1, i, i)
	}
	for i := range 9000 {
		b = fmt.Appendf(b, `<way id="%d" version="1" timestamp="2026-01-01T00:00:00Z"><nd ref="%d"/><nd ref="%d"/></way>`, i+1, i+1, i+2)
	}
	return append(b, `</osm>`...)
}

func laidOver(t *testing.T, changes string) *change.Set {
	t.Helper()
	path := filepath.Join(t.TempDir(), "a.osc")
	if err := os.WriteFile(path, []byte("<osmChange>"+changes+"</osmChange>"), 0o600); err != nil {
		t.Fatal(err)
	}
	set := change.NewSet(change.UsualMemory, "")
	if _, err := set.AddFile(t.Context(), path); err != nil {
		t.Fatal(err)
	}
	return set
}

func collect(t *testing.T, seq iter.Seq2[osm.Object, error]) (out []osm.Object) {
	t.Helper()
	for o, err := range seq {
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, o)
	}
	return out
}
