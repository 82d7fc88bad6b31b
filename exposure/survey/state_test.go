package survey

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/routing/network"
)

// readState reads an extract that the OSM reading module carries as its test data
// (© OpenStreetMap contributors) with the features that the model asks for.
func readState(t testing.TB, name string) (*osmdata.Extract, *network.Graph) {
	if os.Getenv("WIDEBERTH_SLOW") == "" {
		t.Skip("SKIPPED: a whole state takes a minute and half a gigabyte; set WIDEBERTH_SLOW=1")
	}
	dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		t.Fatal(err)
	}
	x, err := osmdata.ReadFile(context.Background(), filepath.Join(strings.TrimSpace(string(dir)), "testdata", name), exposure.Rules(), nil)
	if err != nil {
		t.Fatal(err)
	}
	g, _, err := network.Build(x.Streets, x.Barred, network.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return x, g
}

// deciles are the 10, 50 and 90 % points of a flow over the edges of a class, by
// length.
func deciles(g *network.Graph, flow func(e int32) float64, pick func(e int32) bool) [3]float64 {
	type edge struct{ q, m float64 }
	var all []edge
	total := 0.0
	for e := range int32(g.EdgeCount()) {
		if pick(e) {
			all = append(all, edge{flow(e), float64(g.LengthM[e])})
			total += float64(g.LengthM[e])
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i].q < all[j].q })
	var out [3]float64
	at, k := 0.0, 0
	for _, x := range all {
		for at += x.m; k < 3 && at >= [3]float64{.1, .5, .9}[k]*total; k++ {
			out[k] = x.q
		}
	}
	return out
}

func TestStateFlows(t *testing.T) {
	for _, name := range []string{"delaware-latest.osm.pbf", "andorra-latest.osm.bz2"} {
		x, g := readState(t, name)
		begun := time.Now()
		a, motor, err := assignAll(context.Background(), x, g, 1, &progress{})
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: flows in %.1f s", name, time.Since(begun).Seconds())
		for _, k := range sortedNames(a.totals) {
			t.Logf("  %-24s %.0f", k, a.totals[k])
		}
		f := a.field(x, g)
		classes := []osmdata.Class{osmdata.Residential, osmdata.Unclassified, osmdata.Tertiary, osmdata.Secondary, osmdata.Service, osmdata.Footway, osmdata.Path, osmdata.Track}
		for _, c := range classes {
			of := func(p exposure.Pattern, share float64) [3]float64 {
				return deciles(g, func(e int32) float64 { return float64(f.OwnPerDay[p][e]) * share }, func(e int32) bool { return g.Class[e] == c })
			}
			t.Logf("  class %2d dogs/h at 8 %.2f people/h at 8 %.2f wheels/day %.1f AADT %.0f", c, of(exposure.DogWalks, .085), of(exposure.WalkingTrips, .075), of(exposure.WheelTrips, 1), of(exposure.CarTraffic, 1))
		}
		_ = motor
		inPark := func(e int32) bool { return f.Place[e] == exposure.PlacePark }
		t.Logf("  in parks: dogs/h at 17 %.2f", deciles(g, func(e int32) float64 { return float64(f.OwnPerDay[exposure.DogWalks][e]) * .085 }, inPark))
	}
}

func sortedNames(m map[string]float64) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
