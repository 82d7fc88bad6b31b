//go:build unix

package update_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"

	"wideberth/routing/contents"
	"wideberth/routing/snapshot"
	"wideberth/routing/tiling"
	"wideberth/routing/update"
)

// dieAt is the variable that makes this test binary update a map and die by SIGKILL when a
// stage begins; with a stage that there is not it lives on.
const dieAt = "WIDEBERTH_UPDATE_DIE_AT"

func TestMain(m *testing.M) {
	if stage, there := os.LookupEnv(dieAt); there {
		dying(stage, os.Args[1], os.Args[2], os.Args[3:])
	}
	os.Exit(m.Run())
}

func dying(stage, path, extract string, changes []string) {
	told := func(s string) {
		if s == stage {
			_ = syscall.Kill(os.Getpid(), syscall.SIGKILL)
		}
	}
	info, err := os.Stat(path)
	switch {
	case err == nil && info.IsDir():
		_, err = update.Folder(context.Background(), path, update.FolderOptions{Extract: extract, Changes: changes, Tool: "test", Now: now, Progress: func(p tiling.Progress) { told(p.Stage) }})
	case err == nil:
		_, err = update.File(context.Background(), path, update.Options{Extract: extract, Changes: changes, Progress: func(s string, _ float64) { told(s) }})
	}
	fmt.Println("lived on:", err)
	os.Exit(1)
}

// killed updates a map in a program of its own, which is killed in a stage.
func killed(t *testing.T, stage, path, extract string, changes ...string) {
	t.Helper()
	out, err := child(t, stage, path, extract, changes...).CombinedOutput()
	if exit := (*exec.ExitError)(nil); !errors.As(err, &exit) || exit.Sys().(syscall.WaitStatus).Signal() != syscall.SIGKILL {
		t.Fatalf("%s: %v: %s", stage, err, out)
	}
}

func child(t *testing.T, stage, path, extract string, changes ...string) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.CommandContext(t.Context(), self, append([]string{path, extract}, changes...)...)
	cmd.Env = append(os.Environ(), dieAt+"="+stage)
	return cmd
}

// TestKilledFile: killed in any stage, and where the disk has no room, the file holds the
// map that it held, and the update can be made afterwards.
func TestKilledFile(t *testing.T) {
	if testing.Short() {
		t.Skip("a program for each stage")
	}
	extract, drawn := small(t, imported)
	path, _ := imports(t, extract)
	before, changes := read(t, path), renamed(t, drawn, 2, 2, "Dyer Path")
	for _, stage := range []string{"reading changes", "finding what the changes touch", "building the network", "finding sources"} {
		killed(t, stage, path, extract, changes)
		if !bytes.Equal(read(t, path), before) {
			t.Fatalf("%s: another map", stage)
		}
	}
	whole := child(t, "none", path, extract, changes)
	limited := exec.Command("sh", append([]string{"-c", `ulimit -f 8; exec "$0" "$@"`, whole.Path}, whole.Args[1:]...)...) // 4 kB
	limited.Env = whole.Env
	if out, err := limited.CombinedOutput(); err == nil || !strings.Contains(string(out), "file too large") || !strings.Contains(string(out), filepath.Dir(path)) {
		t.Errorf("no room: %v: %s", err, out)
	}
	if !bytes.Equal(read(t, path), before) {
		t.Fatal("no room: another map")
	}
	if _, err := update.File(t.Context(), path, update.Options{Extract: extract, Changes: []string{changes}}); err != nil {
		t.Fatal(err)
	}
	if s, err := snapshot.Open(path); err != nil || !has(s, "Dyer Path") {
		t.Errorf("in the end: %v", err)
	}
}

// TestKilledFolder: killed in any stage the folder serves the old map; the same update then
// goes on and ends in what it makes undisturbed, and the next finds the extract that it
// left, even where it was killed between the table and that.
func TestKilledFolder(t *testing.T) {
	if testing.Short() {
		t.Skip("a program for each stage")
	}
	extract, drawn := small(t, imported)
	changes := renamed(t, drawn, 2, 2, "Dyer Path")
	dir := tiled(t, extract)
	before, err := contents.Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, stage := range []string{"reading changes", "laying the changes over the map", "reading nodes", "writing the tiles' parts", ""} {
		killed(t, stage, dir, extract, changes)
		table, err := contents.Read(dir)
		if err != nil || !table.MapTime.Equal(before.MapTime) {
			t.Fatalf("%q: %v, map of %s", stage, err, table.MapTime)
		}
		for _, tile := range table.Tiles {
			if err := tile.Verify(dir); err != nil {
				t.Errorf("%q: %v", stage, err)
			}
		}
	}
	if _, err := folder(t, dir, extract, changes); err != nil {
		t.Fatal(err)
	}
	undisturbed := tiled(t, extract)
	if _, err := folder(t, undisturbed, extract, changes); err != nil {
		t.Fatal(err)
	}
	names := func(dir string) (out []string) {
		table, err := contents.Read(dir)
		if err != nil {
			t.Fatal(err)
		}
		for _, tile := range table.Tiles {
			out = append(out, tile.File) // which names what is in it
		}
		return out
	}
	if got, want := names(dir), names(undisturbed); !slices.Equal(got, want) || len(got) == 0 {
		t.Errorf("tiles %v, undisturbed %v", got, want)
	}
	hasOnly(t, dir)

	// As if it had been killed when the table was there and the extract not.
	if err := os.Rename(filepath.Join(dir, tiling.ExtractName), filepath.Join(dir, ".next.osm.pbf")); err != nil {
		t.Fatal(err)
	}
	if _, err := folder(t, dir, "", renamed(t, drawn, 3, 3, "Fuller Path")); err != nil {
		t.Fatal(err)
	}
	for _, s := range tiles(t, dir) {
		if !has(s, "Fuller Path") {
			t.Error("a tile of the map before")
		}
	}
	hasOnly(t, dir)
}

// TestSpoiltTiles: tiles that are missing, damaged or of another version are made again by
// an update that does not touch them, and whoever kept the others keeps them.
func TestSpoiltTiles(t *testing.T) {
	d := villages()
	extract := write(t, "map.osm", d)
	dir := filepath.Join(t.TempDir(), "map")
	f, err := os.Open(extract)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	o := tiling.Options{Settings: tiling.Settings{Map: "map.osm", Country: "GB", Tool: "test"}, TileBytes: 600, MarginM: 500, Now: now}
	if _, err := o.Import(t.Context(), f, dir); err != nil {
		t.Fatal(err)
	}
	table, err := contents.Read(dir)
	if err != nil || len(table.Tiles) < 4 {
		t.Fatalf("%d tiles, %v", len(table.Tiles), err)
	}
	for i, tile := range table.Tiles {
		path := filepath.Join(dir, tile.File)
		b := read(t, path)
		switch i {
		case 0:
			err = os.Remove(path)
		case 1:
			b = slices.Clone(b)
			b[8]++ // the version stands behind the mark of eight bytes
			err = os.WriteFile(path, b, 0o600)
		case 2:
			err = os.WriteFile(path, b[:len(b)/2], 0o600)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	out, err := folder(t, dir, extract, osc(t, `<create><node id="99001" version="1" timestamp="2026-11-02T00:00:00Z" lat="47.3005" lon="-6.9"><tag k="note" v="which nobody keeps"/></node></create>`))
	if err != nil {
		t.Fatal(err)
	}
	if out.Kept < len(table.Tiles)-3 || len(out.Table.Tiles) != len(table.Tiles) {
		t.Errorf("%d of %d tiles kept", out.Kept, len(table.Tiles))
	}
	for _, tile := range out.Table.Tiles {
		if err := tile.Verify(dir); err != nil {
			t.Error(err)
		}
		s, err := snapshot.Open(filepath.Join(dir, tile.File))
		if err != nil {
			t.Fatal(err)
		}
		if wrong := append(s.Check(), s.Verify()...); len(wrong) > 0 {
			t.Errorf("tile %s: %v", tile.Key, wrong)
		}
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}
}

// TestMadeAgain: a street that was deleted and made again, with the number that it had, is
// the street that it was: in two files at once, whatever their order, and one after the
// other.
func TestMadeAgain(t *testing.T) {
	extract, drawn := small(t, imported)
	id, refs := way(t, drawn, `v="Mill Path"`)
	gone := osc(t, fmt.Sprintf(`<delete><way id="%d" version="2" timestamp="2026-11-02T00:00:00Z"/></delete>`, id))
	again := osc(t, fmt.Sprintf(`<create><way id="%d" version="3" timestamp="2026-11-03T00:00:00Z"><nd ref="%s"/><nd ref="%s"/><tag k="highway" v="path"/><tag k="name" v="Mill Path"/></way></create>`, id, refs[0], refs[1]))
	for what, steps := range map[string][][]string{
		"at once":             {{gone, again}},
		"at once, reversed":   {{again, gone}},
		"one after the other": {{gone}, {gone, again}},
	} {
		path, before := imports(t, extract)
		var out *update.Outcome
		for _, files := range steps {
			var err error
			if out, err = update.File(t.Context(), path, update.Options{Extract: extract, Changes: files}); err != nil {
				t.Fatalf("%s: %v", what, err)
			}
		}
		if out.Snapshot.Network != before.Network || !has(out.Snapshot, "Mill Path") {
			t.Errorf("%s: network %s, was %s", what, out.Snapshot.Network, before.Network)
		}
		if len(steps) == 1 && (out.Surveyed != 0 || out.Touched.Known != 1) {
			t.Errorf("%s: %d edges surveyed, %+v", what, out.Surveyed, out.Touched)
		}
	}
}
