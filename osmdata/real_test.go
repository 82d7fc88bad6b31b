package osmdata_test

import (
	"errors"
	"fmt"
	"os/exec"
	"path/filepath"
	"reflect"
	"runtime"
	"strings"
	"sync"
	"testing"

	"wideberth/osmdata"
)

// extractDir is where the module that carries real extracts keeps them
// (© OpenStreetMap contributors, ODbL).
var extractDir = sync.OnceValues(func() (string, error) {
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		return "", fmt.Errorf("find the module with the extracts: %w", err)
	}
	return filepath.Join(strings.TrimSpace(string(out)), "testdata"), nil
})

func realExtract(tb testing.TB, name string) string {
	tb.Helper()
	dir, err := extractDir()
	if err != nil {
		tb.Skip(err)
	}
	return filepath.Join(dir, name)
}

func readReal(t *testing.T, name string) *osmdata.Extract {
	t.Helper()
	if testing.Short() {
		t.Skip("a real extract takes a second or two")
	}
	x, err := osmdata.Options{Rules: playRules}.ReadFile(t.Context(), realExtract(t, name))
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// Delaware is 154 km by 63 km; the road network has some 20,000 km with service
// roads (the state's public roads alone are about 10,000 km, from memory).
func TestDelaware(t *testing.T) {
	x := readReal(t, "delaware-latest.osm.pbf")
	footM, motorM := lengths(x)
	if footM < 15e6 || footM > 21e6 || motorM < 14e6 || motorM > 21e6 {
		t.Errorf("walkable %.0f km, motor %.0f km", footM/1e3, motorM/1e3)
	}
	for name, atLeast := range map[string]int{
		"walkable streets": 45000, "buildings": 8000, "obstacles": 10000, "features": 500, "places": 1500, "rails": 1000,
		"addresses": 1000, "grounds": 3000, "barred nodes": 1,
	} {
		if x.Report.Read[name] < atLeast {
			t.Errorf("%s: %d, want at least %d", name, x.Report.Read[name], atLeast)
		}
	}
	if x.Timestamp.Year() != 2016 || x.South < 38.4 || x.North > 40.1 {
		t.Errorf("time %v, bounds %v to %v", x.Timestamp, x.South, x.North)
	}
	checkSound(t, x)
}

// Andorra is 468 square kilometres in the mountains, with about 270 km of roads
// (from memory) and many more tracks and paths.
func TestAndorra(t *testing.T) {
	x := readReal(t, "andorra-latest.osm.bz2")
	footM, motorM := lengths(x)
	if footM < 1e6 || footM > 3e6 || motorM < 3e5 || motorM > 1e6 {
		t.Errorf("walkable %.0f km, motor %.0f km", footM/1e3, motorM/1e3)
	}
	if x.Timestamp.Format("2006-01-02") != "2018-03-01" || x.Report.Read["buildings"] < 2500 {
		t.Errorf("time %v, read %v", x.Timestamp, x.Report.Read)
	}
	checkSound(t, x)
}

func lengths(x *osmdata.Extract) (footM, motorM float64) {
	for _, s := range x.Streets {
		if s.Foot {
			footM += s.Line.LengthM()
		}
		if s.Motor {
			motorM += s.Line.LengthM()
		}
	}
	return footM, motorM
}

// checkSound holds what every extract promises.
func checkSound(t *testing.T, x *osmdata.Extract) {
	t.Helper()
	for i, s := range x.Streets {
		if len(s.Nodes) != len(s.Line) || len(s.Line) < 2 {
			t.Fatalf("street %d: %d nodes, %d points", s.ID, len(s.Nodes), len(s.Line))
		}
		if i > 0 && x.Streets[i-1].ID > s.ID {
			t.Fatalf("street %d after %d", s.ID, x.Streets[i-1].ID)
		}
		for k := 1; k < len(s.Line); k++ {
			if s.Line[k] == s.Line[k-1] {
				t.Fatalf("street %d: a piece without length", s.ID)
			}
		}
	}
	for _, b := range x.Buildings {
		if b.Area.Outer.AreaM2() <= 0 {
			t.Fatalf("%s: outer ring not anticlockwise", b.OSM)
		}
		for _, h := range b.Area.Holes {
			if h.AreaM2() >= 0 {
				t.Fatalf("%s: hole not clockwise", b.OSM)
			}
		}
	}
	for _, o := range x.Obstacles {
		if len(o.Line) < 2 || o.Blocks == 0 {
			t.Fatalf("obstacle %+v", o)
		}
	}
	for _, f := range x.Features {
		if f.As == "" || len(f.Tags) == 0 {
			t.Fatalf("feature %+v", f)
		}
	}
	for kind, o := range x.Report.Odd {
		if o.Count < len(o.Samples) || len(o.Samples) == 0 || len(o.Samples) > 3 {
			t.Errorf("%s: %d with samples %v", kind, o.Count, o.Samples)
		}
	}
}

// Two readings are equal, on however many processors.
func TestReadingIsDeterministic(t *testing.T) {
	a := readReal(t, "delaware-latest.osm.pbf")
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	b := readReal(t, "delaware-latest.osm.pbf")
	if !reflect.DeepEqual(a, b) {
		t.Error("two readings of one file differ")
	}
}

// The tiny worlds of the whole house read without complaint.
func TestWorlds(t *testing.T) {
	paths, err := filepath.Glob("../testdata/worlds/*.osm")
	if err != nil || len(paths) == 0 {
		t.Fatalf("no worlds: %v", err)
	}
	for _, path := range paths {
		x, err := osmdata.Options{Rules: playRules}.ReadFile(t.Context(), path)
		if errors.Is(err, osmdata.ErrNothingToWalk) {
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", path, err)
			continue
		}
		checkSound(t, x)
	}
}
