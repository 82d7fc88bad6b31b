package cut_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/cut"
)

// dieAt is the variable that makes this test binary cut a file and die by SIGKILL when a
// stage begins.
const dieAt = "WIDEBERTH_CUT_DIE_AT"

func dying(stage string) {
	o := small()
	o.Progress = func(s string, _ float64) {
		if s == stage {
			_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
		}
	}
	_, err := tryCut(context.Background(), os.Args[1], os.Args[2], o)
	fmt.Println("lived on:", err)
	os.Exit(1)
}

// TestKilled: killed in each stage in turn and begun again, the work goes on where it
// was and ends in the same blocks.
func TestKilled(t *testing.T) {
	path := partOf(t)
	want := cutFile(t, path, t.TempDir(), small())
	dir := t.TempDir()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	for _, stage := range []string{"reading relations", "reading nodes", "reading ways", "writing the tiles' parts"} {
		cmd := exec.CommandContext(t.Context(), self, path, dir)
		cmd.Env = append(os.Environ(), dieAt+"="+stage)
		out, err := cmd.CombinedOutput()
		if exit := (*exec.ExitError)(nil); !errors.As(err, &exit) || exit.Sys().(syscall.WaitStatus).Signal() != syscall.SIGKILL {
			t.Fatalf("%s: %v: %s", stage, err, out)
		}
		if _, err := cut.Read(dir); err == nil {
			t.Errorf("%s: there is a list of blocks", stage)
		}
	}
	o := small()
	var stages []string
	o.Progress = func(s string, _ float64) { stages = append(stages, s) }
	sameBlocks(t, "gone on", cutFile(t, path, dir, o), want)
	if s := strings.Join(stages, " "); strings.Contains(s, "reading") {
		t.Errorf("what was done was done again: %v", stages)
	}
	if _, err := os.Stat(filepath.Join(dir, cut.Unfinished)); !os.IsNotExist(err) {
		t.Errorf("work is left over: %v", err)
	}
	// Once more, with nothing to do; and with another margin, which is another cut.
	stages = nil
	sameBlocks(t, "again", cutFile(t, path, dir, o), want)
	if len(stages) > 2 {
		t.Errorf("what was ended was begun again: %v", stages)
	}
	o.MarginM = 0
	other := cutFile(t, path, dir, o)
	for _, b := range want.Blocks {
		if _, err := os.Stat(b.Path(dir)); err == nil && hashes(other)[b.Key] != b.Hash {
			t.Errorf("%s is left over", b.File)
		}
	}
}

// TestGivenUp: given up, it says so, and goes on.
func TestGivenUp(t *testing.T) {
	path := partOf(t)
	dir := t.TempDir()
	ctx, cancel := context.WithCancel(t.Context())
	o := small()
	o.Progress = func(s string, _ float64) {
		if s == "reading ways" {
			cancel()
		}
	}
	if _, err := tryCut(ctx, path, dir, o); !errors.Is(err, context.Canceled) {
		t.Fatal(err)
	}
	o.Progress = func(s string, _ float64) {
		if s == "reading nodes" {
			t.Error("nodes are read again")
		}
	}
	cutFile(t, path, dir, o)
}

// TestFullDisk: where a file cannot be written to the end, it is told with its path, in
// whatever pass, and there is no list of blocks; with room again it goes on.
func TestFullDisk(t *testing.T) {
	path := partOf(t)
	want := cutFile(t, path, t.TempDir(), small())
	for _, in := range []string{"nodes.runs", "member_ways", "spill", "done"} {
		dir := t.TempDir()
		work := filepath.Join(dir, cut.Unfinished)
		o := small()
		block := func() {}
		o.Progress = func(string, float64) { block() }
		// /dev/full is a file on a disk that has no room, by the kernel (full(4)).
		blocked := filepath.Join(work, in)
		block = func() {
			if _, err := os.Stat(work); err != nil {
				return
			}
			block = func() {}
			if in == "spill" || in == "done" {
				in := filepath.Join(work, in)
				if err := os.WriteFile(in, nil, 0o400); err != nil {
					t.Error(err)
				}
				return
			}
			if err := os.Symlink("/dev/full", blocked); err != nil {
				t.Error(err)
			}
		}
		_, err := tryCut(t.Context(), path, dir, o)
		if p := (*os.PathError)(nil); in != "spill" && !errors.As(err, &p) {
			t.Errorf("%s: %v", in, err)
		}
		_ = os.Remove(blocked)
		sameBlocks(t, in, cutFile(t, path, dir, small()), want)
	}
}

// TestOtherFiles: what is no map is refused as osmdata refuses it.
func TestOtherFiles(t *testing.T) {
	for text, want := range map[string]error{"": osmdata.ErrNotOSM, "PK\x03\x04": osmdata.ErrNotOSM, "<gpx/>": osmdata.ErrNotOSM, "<osm>": osmdata.ErrTruncated, "<osm/>": osmdata.ErrNothingToWalk} {
		dir := t.TempDir()
		if _, err := small().Cut(t.Context(), strings.NewReader(text), dir); !errors.Is(err, want) {
			t.Errorf("%q: %v, want %v", text, err, want)
		}
		if _, err := cut.Read(dir); err == nil {
			t.Errorf("%q: there is a list of blocks", text)
		}
	}
}

// TestBoundsThatLie: bounds that the data does not bear out are told, and the blocks
// hold the data.
func TestBoundsThatLie(t *testing.T) {
	const streets = `<node id="1" lon="-7.00" lat="47.20"/><node id="2" lon="-7.01" lat="47.21"/><node id="3" lon="-7.02" lat="47.20"/>
<way id="1"><nd ref="1"/><nd ref="2"/><nd ref="3"/><tag k="highway" v="residential"/></way>`
	for bounds, want := range map[string]string{
		`minlon="-7.02" minlat="47.2" maxlon="-7" maxlat="47.21"`:     "",
		`minlon="-7.03" minlat="47.19" maxlon="-6.99" maxlat="47.22"`: "",
		`minlon="10" minlat="50" maxlon="11" maxlat="51"`:             "places beyond the bounds that the map states, which are not believed",
		`minlon="-180" minlat="-90" maxlon="180" maxlat="90"`:         "times as wide or high as its data the map states its bounds, which are not believed",
		`minlon="-7" minlat="47.3" maxlon="-8" maxlat="47"`:           "bounds that bound nothing or too much, not believed",
		`minlon="-700" minlat="47" maxlon="-6" maxlat="48"`:           "bounds that bound nothing or too much, not believed",
	} {
		dir := t.TempDir()
		b, err := small().Cut(t.Context(), strings.NewReader("<osm><bounds "+bounds+"/>"+streets+"</osm>"), dir)
		if err != nil || len(b.Blocks) == 0 {
			t.Errorf("%s: %v", bounds, err)
			continue
		}
		if len(b.Odd) != min(1, len(want)) || want != "" && b.Odd[want] == 0 {
			t.Errorf("%s: told %v, want %q", bounds, b.Odd, want)
		}
		if x, err := (osmdata.Options{}).ReadFile(t.Context(), b.Blocks[0].Path(dir)); err != nil || x.West > -7.02 || x.East < -7 || x.West < -7.1 || x.East > -6.9 {
			t.Errorf("%s: the block lies from %v to %v, %v", bounds, x.West, x.East, err)
		}
	}
}
