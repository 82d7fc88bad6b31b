package change_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"wideberth/osmdata"
	"wideberth/osmdata/change"
	"wideberth/testdata"
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
		got, err := o.ReadObjects(t.Context(), change.Of(e, nil).Objects(t.Context()), want.Timestamp, e.Bounds)
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
	x, err := osmdata.Options{Rules: rules}.ReadObjects(t.Context(), change.Of(opened(t, writeTown(t)), nil).Objects(t.Context()), time.Time{}, nil)
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
