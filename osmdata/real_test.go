package osmdata_test

import (
	"fmt"
	"os/exec"
	"path/filepath"
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

func TestProbe(t *testing.T) {
	for _, n := range []string{"delaware-latest.osm.pbf", "andorra-latest.osm.bz2"} {
		x, err := osmdata.ReadFile(t.Context(), realExtract(t, n), []osmdata.Rule{{Key: "leisure", Values: []string{"park", "playground"}, As: "play"}}, func(p osmdata.Progress) {
			if p.Done%7 == 0 {
				t.Log(p)
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		t.Log(x.Frame, x.West, x.South, x.East, x.North, x.Timestamp)
		for k, v := range x.Report.Odd {
			t.Log(k, v.Count, v.Samples)
		}
		t.Log(x.Report.Read)
	}
}
