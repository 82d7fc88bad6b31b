// Package maptest makes maps for tests: the invented town, the small worlds and
// the state that a library carries, each imported once, and places and a dog on
// them. It hides where they lie and how they are read. Only tests import it.
package maptest

import (
	"bytes"
	"context"
	_ "embed"
	"encoding/json"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/snapshot"
	"wideberth/testdata"
)

// packed is the invented town as PBF, which is read in a fraction of the time of XML.
//
//go:embed town.osm.pbf
var packed string

// PackedTown is the invented town as PBF. The bytes are the caller's.
func PackedTown() []byte { return []byte(packed) }

var town = sync.OnceValues(func() (*snapshot.Snapshot, error) { return written("town.osm.pbf", PackedTown()) })

// Town is the invented town, made once for all tests of a package.
func Town(t testing.TB) *snapshot.Snapshot {
	t.Helper()
	s, err := town()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Invented is the town for an example, which has no test to fail: it ends the program
// if the town cannot be read.
func Invented() *snapshot.Snapshot {
	s, err := town()
	if err != nil {
		panic(err)
	}
	return s
}

// World is one of the small worlds, by its name.
func World(t testing.TB, name string) *snapshot.Snapshot {
	t.Helper()
	b, err := fs.ReadFile(testdata.Worlds(), name+".osm")
	if err != nil {
		t.Fatal(err)
	}
	s, err := written(name+".osm", b)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// written imports an extract that is there as bytes.
func written(name string, b []byte) (*snapshot.Snapshot, error) {
	return snapshot.ImportFrom(context.Background(), bytes.NewReader(b), name, snapshot.ImportOptions{})
}

// Import imports an extract.
func Import(t testing.TB, path string) *snapshot.Snapshot {
	t.Helper()
	s, err := snapshot.Import(context.Background(), path, snapshot.ImportOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// DelawarePath is the extract of a state that the OSM module carries.
func DelawarePath(t testing.TB) string {
	t.Helper()
	out, err := exec.CommandContext(t.Context(), "go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		t.Fatal(err)
	}
	return filepath.Join(strings.TrimSpace(string(out)), "testdata", "delaware-latest.osm.pbf")
}

// doorsJSON are places, latitude and longitude, drawn at random within 1.3 km of the
// centres of fifteen towns of Delaware, three each.
//
//go:embed doors.json
var doorsJSON []byte

// TownDoors are those places in a map's frame.
func TownDoors(t testing.TB, f plane.Frame) (out []plane.Point) {
	t.Helper()
	var list [][2]float64
	if err := json.Unmarshal(doorsJSON, &list); err != nil {
		t.Fatal(err)
	}
	for _, d := range list {
		out = append(out, f.Forward(d[1], d[0]))
	}
	return out
}

var delaware struct {
	once sync.Once
	snap *snapshot.Snapshot
	err  error
}

// Delaware is the state, imported once for all tests of a package, written and
// opened as a server would; or the snapshot that WIDEBERTH_DELAWARE names.
func Delaware(t testing.TB) *snapshot.Snapshot {
	t.Helper()
	path := DelawarePath(t)
	delaware.once.Do(func() {
		if ready := os.Getenv("WIDEBERTH_DELAWARE"); ready != "" {
			delaware.snap, delaware.err = snapshot.Open(ready)
			return
		}
		s, err := snapshot.Import(context.Background(), path, snapshot.ImportOptions{})
		if err != nil {
			delaware.err = err
			return
		}
		dir, err := os.MkdirTemp("", "wideberth-maptest")
		if err != nil {
			delaware.err = err
			return
		}
		defer os.RemoveAll(dir)
		file := filepath.Join(dir, "state.wb")
		if delaware.err = s.WriteFile(file); delaware.err == nil {
			delaware.snap, delaware.err = snapshot.Open(file)
		}
	})
	if delaware.err != nil {
		t.Fatal(delaware.err)
	}
	return delaware.snap
}

// Figures skips a test that measures and says nothing about right or wrong,
// unless figures are asked for.
func Figures(t testing.TB) {
	t.Helper()
	if os.Getenv("WIDEBERTH_FIGURES") == "" {
		t.Skip("measures and prints figures; set WIDEBERTH_FIGURES=1 (make figures)")
	}
}

// Door is the invented door of the town.
func Door(f plane.Frame) plane.Point { return f.Forward(testdata.DoorLon, testdata.DoorLat) }

// Morning is a school day at ten past seven.
var Morning = time.Date(2026, 11, 25, 7, 10, 0, 0, time.UTC)

// Kessa is a dog that works from 38 m of other dogs and from 25 m of children.
func Kessa() exposure.Dog {
	d := exposure.Dog{Name: "Kessa", SpeedMPS: 1.2, ByCategory: map[exposure.Category]exposure.Need{}, ByKind: map[exposure.Kind]exposure.Need{}}
	d.ByCategory[exposure.Dogs] = exposure.Need{WorkingM: 38, ReactionM: 15}
	d.ByKind[exposure.Child] = exposure.Need{WorkingM: 25, ReactionM: 10}
	d.ByCategory[exposure.Wheels] = exposure.Need{WorkingM: 20, ReactionM: 8}
	return d
}

// RandomDoors draws places on the network, evenly by edge.
func RandomDoors(s *snapshot.Snapshot, n int, rng *rand.Rand) []plane.Point {
	out := make([]plane.Point, n)
	for i := range out {
		line := s.Graph.EdgeLine(int32(rng.IntN(s.Graph.EdgeCount())))
		out[i] = line.At(rng.Float64() * line.LengthM())
	}
	return out
}

// Wilmington, in degrees.
const (
	wilmingtonSouth, wilmingtonNorth = 39.70, 39.80
	wilmingtonWest, wilmingtonEast   = -75.60, -75.48
)

// Doors draws places in the state's largest city, evenly by edge.
func Doors(s *snapshot.Snapshot, n int, seed uint64) []plane.Point {
	box := plane.EmptyBox().With(s.Frame.Forward(wilmingtonWest, wilmingtonSouth)).With(s.Frame.Forward(wilmingtonEast, wilmingtonNorth))
	edges := s.Graph.InBox(box)
	rng := rand.New(rand.NewPCG(seed, 7))
	out := make([]plane.Point, n)
	for i := range out {
		line := s.Graph.EdgeLine(edges[rng.IntN(len(edges))])
		out[i] = line.At(rng.Float64() * line.LengthM())
	}
	return out
}

// Quantile is the q-quantile of values, 0 of none.
func Quantile(values []float64, q float64) float64 {
	if len(values) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(values))
	return sorted[min(len(sorted)-1, int(q*float64(len(sorted))))]
}
