//go:build unix

package update_test

import (
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/update"
)

// cpu is the time that this process has worked.
func cpu(t *testing.T) time.Duration {
	t.Helper()
	var r syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &r); err != nil {
		t.Fatal(err)
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}

// TestFiguresStreetOfAState takes a street out of a state, holds the update against an
// import of the state without it, row by row, and says what each cost.
func TestFiguresStreetOfAState(t *testing.T) {
	if os.Getenv("WIDEBERTH_SLOW") == "" && os.Getenv("WIDEBERTH_FIGURES") == "" {
		t.Skip("two imports of a state: WIDEBERTH_SLOW or WIDEBERTH_FIGURES")
	}
	// osmium-tool writes no bounds with what it changed, so the old map has none either.
	old := applied(t, maptest.DelawarePath(t), osc(t, ""))
	const street = 17245713 // Holly Tree Road, 4.7 km of residential road in the country
	file := osc(t, fmt.Sprintf(`<delete><way id="%d" version="99" timestamp="2026-11-02T00:00:00Z"/></delete>`, street))
	began := cpu(t)
	made, err := snapshot.Import(t.Context(), old, snapshot.ImportOptions{Country: "US"})
	if err != nil {
		t.Fatal(err)
	}
	imported := cpu(t) - began
	path := filepath.Join(t.TempDir(), "state.wb")
	if err := made.WriteFile(path); err != nil {
		t.Fatal(err)
	}
	began = cpu(t)
	out, err := update.File(t.Context(), path, update.Options{Extract: old, Changes: []string{file}})
	if err != nil {
		t.Fatal(err)
	}
	took := cpu(t) - began
	t.Logf("%d of %d edges surveyed, %.1f %% of the CPU of an import", out.Surveyed, out.Edges, 100*took.Seconds()/imported.Seconds())
	if out.Whole != "" || took > imported/4 {
		t.Errorf("an update of %v, an import of %v %s", took, imported, out.Whole)
	}
	fresh, err := snapshot.Import(t.Context(), applied(t, old, file), snapshot.ImportOptions{Country: "US"})
	if err != nil {
		t.Fatal(err)
	}
	equal(t, reopened(t, out.Snapshot), reopened(t, fresh))
}
