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
	"wideberth/osmdata/plane"
	"wideberth/osmdata/section"
	"wideberth/routing/network"
)

// delaware reads the state extract that the OSM reading module carries as its test
// data (© OpenStreetMap contributors); once for all benchmarks.
var delaware = sync.OnceValues(func() (*osmdata.Extract, error) {
	dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		return nil, err
	}
	return osmdata.ReadFile(context.Background(), filepath.Join(strings.TrimSpace(string(dir)), "testdata", "delaware-latest.osm.pbf"), nil, nil)
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
	w, err := section.Create(path, fileKind, 1)
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
		f, err := section.Open(path, fileKind, 1)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := network.Decode(f, "walk/"); err != nil {
			b.Fatal(err)
		}
	}
}
