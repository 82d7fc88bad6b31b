package snapshot_test

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/osmdata/flatfile"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// heldKB is what a process holds that no other shares, in KiB: what it has written to, and
// the pages of files that it alone looks at.
func heldKB(t *testing.T) (written, pages int) {
	t.Helper()
	text, err := os.ReadFile("/proc/self/smaps_rollup")
	if err != nil {
		t.Skip(err)
	}
	for line := range strings.Lines(string(text)) {
		var kb int
		if n, _ := fmt.Sscanf(line, "Private_Dirty: %d kB", &kb); n == 1 {
			written = kb
		}
		if n, _ := fmt.Sscanf(line, "Private_Clean: %d kB", &kb); n == 1 {
			pages = kb
		}
	}
	return written, pages
}

// TestFiguresFile tells of the file of a state how large it is, section by section, how long
// it takes to open and what is held in memory then.
func TestFiguresFile(t *testing.T) {
	maptest.Figures(t)
	path := os.Getenv("WIDEBERTH_DELAWARE")
	if path == "" {
		path = filepath.Join(t.TempDir(), "delaware.wb")
		if err := maptest.Delaware(t).WriteFile(path); err != nil {
			t.Fatal(err)
		}
	}
	rows, magic, version := formatPage(t)
	f, err := flatfile.Open(path, magic, version)
	if err != nil {
		t.Fatal(err)
	}
	type size struct {
		name  string
		bytes int
	}
	var sizes []size
	for _, r := range rows {
		b, err := flatfile.Take[byte](f, r.section)
		if err == nil {
			sizes = append(sizes, size{r.section, len(b)})
		}
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	slices.SortFunc(sizes, func(a, b size) int { return cmp.Compare(b.bytes, a.bytes) })
	for _, s := range sizes[:min(len(sizes), 48)] {
		t.Logf("%-28s %9d", s.name, s.bytes)
	}
	file, err1 := os.Stat(path)
	extract, err2 := os.Stat(maptest.DelawarePath(t))
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	share := float64(file.Size()) / float64(extract.Size())
	t.Logf("the file has %.2f MB, %.2f times its extract", float64(file.Size())/1e6, share)
	if share > 5 {
		t.Errorf("the file is %.2f times its extract, 5 are allowed", share)
	}
	best := time.Hour
	for range 9 {
		begun := time.Now()
		s, err := snapshot.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		best = min(best, time.Since(begun))
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	debug.FreeOSMemory()
	before, clean := heldKB(t)
	s, err := snapshot.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	asOpened, cleanOpened := heldKB(t)
	debug.FreeOSMemory()
	after, cleanAfter := heldKB(t)
	t.Logf("opened in %.1f ms at best of nine; %.1f MB written to and %.1f MB of the file's pages, %.1f and %.1f once garbage is gone",
		best.Seconds()*1e3, float64(asOpened-before)/1024, float64(cleanOpened-clean)/1024, float64(after-before)/1024, float64(cleanAfter-clean)/1024)
	if held := asOpened + cleanOpened - before - clean; held > 15<<10 {
		t.Errorf("an open file holds %d KiB, 15 MiB are allowed", held)
	}
	runtime.KeepAlive(s)
}
