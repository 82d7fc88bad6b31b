package cut_test

import (
	"bytes"
	"reflect"
	"strconv"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/cut"

	"github.com/paulmach/osm"
)

// everything reads all elements of a file.
func everything(t *testing.T, data []byte) (out []osm.Object) {
	t.Helper()
	e, err := osmdata.OpenElements(t.Context(), bytes.NewReader(data), 3, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range e.Parts() {
		for o, err := range p.Objects(t.Context()) {
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, o)
		}
	}
	return out
}

// TestCopiedParts: parts of another file between elements of one's own, each packed by
// itself, are one file that is read as it was written.
func TestCopiedParts(t *testing.T) {
	var all []osm.Object
	for id := range 20 {
		all = append(all, &osm.Node{ID: osm.NodeID(id + 1), Version: id, Visible: true, Lon: float64(id) / 8, Lat: 50, Tags: osm.Tags{{Key: "ref", Value: strconv.Itoa(id)}}})
	}
	for id := range 5 {
		all = append(all, &osm.Way{ID: osm.WayID(id + 1), Version: 2, Visible: true, Nodes: osm.WayNodes{{ID: 1}, {ID: osm.NodeID(id + 2)}}})
	}
	file := func(objects ...osm.Object) []byte {
		var b bytes.Buffer
		w := cut.NewWriter(&b, cut.Head{Program: "test"})
		for _, o := range objects {
			w.Add(o)
		}
		if _, err := w.Close(); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	other, err := osmdata.OpenElements(t.Context(), bytes.NewReader(file(all[5:22]...)), 1, nil) // nodes, and two ways
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	w := cut.NewWriter(&b, cut.Head{Program: "test"})
	for _, o := range all[:5] {
		w.Add(o)
	}
	if len(other.Parts()) != 2 {
		t.Fatalf("%d parts", len(other.Parts()))
	}
	for _, p := range other.Parts() {
		w.Copy(p)
	}
	for _, o := range all[22:] {
		w.Add(o)
	}
	if _, err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if got, want := everything(t, b.Bytes()), everything(t, file(all...)); !reflect.DeepEqual(got, want) || len(got) != 25 {
		t.Errorf("%v, want %v", got, want)
	}
}
