package osmdata_test

import (
	"bytes"
	"testing"

	"wideberth/osmdata"
)

// Nodes that help across a road are taken in from tags of the community's
// documentation; places where people merely cross are not.
func TestCrossings(t *testing.T) {
	w := parseWorld(t, `
n 1 0 0
n 2 10 0 highway=crossing crossing=zebra
n 3 20 0 highway=traffic_signals
n 4 30 0 highway=crossing crossing=unmarked
n 5 40 0 highway=crossing crossing:markings=no
n 6 50 0 highway=crossing
n 7 60 0 highway=crossing crossing=no
n 8 70 0 highway=crossing crossing:markings=no crossing:signals=yes
n 9 80 0 highway=stop
w 1 1,2,3,4,5,6,7,8,9 highway=primary
`)
	for name, data := range map[string][]byte{"XML": w.xml(), "PBF": w.pbf()} {
		x, err := osmdata.Options{}.Read(t.Context(), bytes.NewReader(data))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		checkCrossings(t, x)
	}
}

func checkCrossings(t *testing.T, x *osmdata.Extract) {
	t.Helper()
	var got []int64
	for _, c := range x.Crossings {
		got = append(got, c.Node)
	}
	want := []int64{2, 3, 6, 8}
	if len(got) != len(want) {
		t.Fatalf("crossings at %v, want %v", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("crossings at %v, want %v", got, want)
		}
		if at := x.Crossings[i].At; at.DistanceM(x.Streets[0].Line[want[i]-1]) > 0.01 {
			t.Errorf("crossing %d lies at %v", want[i], at)
		}
	}
	if x.Report.Read["crossings"] != 4 {
		t.Errorf("%d crossings reported", x.Report.Read["crossings"])
	}
}
