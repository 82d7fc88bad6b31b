package network_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// delaware reads the state extract that the OSM reading module carries as its test
// data (© OpenStreetMap contributors); once for all benchmarks.
var delaware = sync.OnceValues(func() (*osmdata.Extract, error) {
	dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		return nil, err
	}
	return osmdata.Options{}.ReadFile(context.Background(), filepath.Join(strings.TrimSpace(string(dir)), "testdata", "delaware-latest.osm.pbf"))
})

func delawareGraph(b *testing.B) (*osmdata.Extract, *network.Graph, network.Stats) {
	x, err := delaware()
	if err != nil {
		b.Skip("no Delaware extract: ", err)
	}
	g, st, err := network.Build(x.Streets, x.Barred, network.Options{})
	if err != nil {
		b.Fatal(err)
	}
	if err := g.Check(); err != nil {
		b.Fatal(err)
	}
	return x, g, st
}

// A whole state holds together: most of it is one network, and every place on it is
// found again.
func TestDelaware(t *testing.T) {
	if os.Getenv("WIDEBERTH_SLOW") == "" {
		t.Skip("SKIPPED: reading a whole state takes some seconds and half a gigabyte; set WIDEBERTH_SLOW=1")
	}
	x, err := delaware()
	if err != nil {
		t.Skip("SKIPPED: no Delaware extract: ", err)
	}
	g, st, err := network.Build(x.Streets, x.Barred, network.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := g.Check(); err != nil {
		t.Fatal(err)
	}
	// Measured when written: 98,799 edges, 16,474 km, 161 pieces, 396 islands of 34 km.
	if st.Edges < 90000 || st.Edges > 110000 || st.LengthM < 15e6 || st.LengthM > 18e6 || st.IslandM > 0.01*st.LengthM {
		t.Errorf("%+v", st)
	}
	for e := int32(0); e < int32(g.EdgeCount()); e += 97 {
		half := float64(g.LengthM[e]) / 2
		at, err := g.Snap(g.EdgeLine(e).At(half), 1)
		if err != nil || at.DistM > 1e-6 {
			t.Fatalf("the middle of edge %d: %+v, %v", e, at, err)
		}
	}
}

func BenchmarkDelawareBuild(b *testing.B) {
	x, _, st := delawareGraph(b)
	b.Logf("%+v", st)
	for b.Loop() {
		if _, _, err := network.Build(x.Streets, x.Barred, network.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkDelawareFirstSnap is the making of the index, BenchmarkDelawareSnap a
// snap with it.
func BenchmarkDelawareFirstSnap(b *testing.B) {
	_, g, _ := delawareGraph(b)
	for b.Loop() {
		fresh := &network.Graph{LineAt: g.LineAt, Line: g.Line, LengthM: g.LengthM, EdgeArc: g.EdgeArc}
		if _, err := fresh.Snap(g.Vertex[0], network.SnapLimitM); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDelawareSnap(b *testing.B) {
	_, g, _ := delawareGraph(b)
	for i := 0; b.Loop(); i++ {
		v := g.Vertex[i*7919%len(g.Vertex)]
		if _, err := g.Snap(v.Add(plane.Point{X: 30, Y: -20}), network.SnapLimitM); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkDelawareCodec(b *testing.B) {
	_, g, _ := delawareGraph(b)
	path := filepath.Join(b.TempDir(), "net")
	w, err := flatfile.Create(path, fileKind, 1)
	if err != nil {
		b.Fatal(err)
	}
	g.Encode(w, "walk/")
	if err := w.Close(); err != nil {
		b.Fatal(err)
	}
	if st, err := os.Stat(path); err == nil {
		b.Logf("%.1f MB", float64(st.Size())/1e6)
	}
	for b.Loop() {
		f, err := flatfile.Open(path, fileKind, 1)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := network.Decode(f, "walk/"); err != nil {
			b.Fatal(err)
		}
	}
}
