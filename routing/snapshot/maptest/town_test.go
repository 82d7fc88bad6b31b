package maptest_test

import (
	"bytes"
	"context"
	"math"
	"os"
	"reflect"
	"testing"

	"github.com/paulmach/osm"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/cut"
	"wideberth/routing/snapshot/maptest"
	"wideberth/testdata"
)

// TestTownIsTheTown: the packed town that maps for tests are made from says what the
// invented town says. WIDEBERTH_PACK=1 packs it anew.
func TestTownIsTheTown(t *testing.T) {
	if os.Getenv("WIDEBERTH_PACK") != "" {
		pack(t)
	}
	var x [2]*osmdata.Extract
	for i, b := range [][]byte{testdata.Town(), maptest.PackedTown()} {
		var err error
		if x[i], err = (osmdata.Options{Rules: exposure.Rules()}).Read(t.Context(), bytes.NewReader(b)); err != nil {
			t.Fatal(err)
		}
		delete(x[i].Report.Read, "nodes") // of XML all are kept
		delete(x[i].Report.Read, "ways")
	}
	for i := range x { // to what either form keeps of a degree
		for _, side := range []*float64{&x[i].West, &x[i].South, &x[i].East, &x[i].North} {
			*side = math.Round(*side * 1e7)
		}
	}
	is, was := reflect.ValueOf(*x[1]), reflect.ValueOf(*x[0])
	for i := range is.NumField() {
		if f := is.Type().Field(i); f.IsExported() && !reflect.DeepEqual(is.Field(i).Interface(), was.Field(i).Interface()) {
			t.Errorf("%s differ: pack the town anew with WIDEBERTH_PACK=1", f.Name)
		}
	}
}

// pack writes the invented town as PBF.
func pack(t *testing.T) {
	e, err := osmdata.OpenElements(t.Context(), bytes.NewReader(testdata.Town()), 3, nil)
	if err != nil {
		t.Fatal(err)
	}
	var all []osm.Object
	add := func(o osm.Object) { all = append(all, o) }
	ctx := context.Background()
	for _, err := range []error{
		e.Nodes(ctx, func(*osm.Node) bool { return true }, func(n *osm.Node) error { add(n); return nil }),
		e.Ways(ctx, func(*osm.Way) bool { return true }, func(w *osm.Way) error { add(w); return nil }),
		e.Relations(ctx, func(*osm.Relation) bool { return true }, func(r *osm.Relation) error { add(r); return nil }),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	var out bytes.Buffer
	w := cut.NewWriter(&out, cut.Head{Bounds: e.Bounds, Timestamp: e.Timestamp})
	for _, o := range all {
		w.Add(o)
	}
	if _, err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile("town.osm.pbf", out.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}
