package update_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"wideberth/osmdata/cut"
	"wideberth/osmdata/fault"
	"wideberth/routing/contents"
	"wideberth/routing/snapshot"
	"wideberth/routing/tiling"
	"wideberth/routing/update"
)

var today = time.Date(2026, 11, 30, 12, 0, 0, 0, time.UTC)

func now() time.Time { return today }

// tiled imports an extract into a folder of small tiles, which reach so far that both
// villages are in each.
func tiled(t *testing.T, extract string) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "map")
	f, err := os.Open(extract)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	o := tiling.Options{Settings: tiling.Settings{Map: "map.osm", Country: "GB", Tool: "test"}, TileBytes: 2000, MarginM: 20_000, Now: now}
	if _, err := o.Import(t.Context(), f, dir); err != nil {
		t.Fatal(err)
	}
	return dir
}

func folder(t *testing.T, dir, extract string, changes ...string) (*update.FolderOutcome, error) {
	t.Helper()
	return update.Folder(t.Context(), dir, update.FolderOptions{Extract: extract, Changes: changes, Tool: "test", Now: now})
}

// tiles opens all tiles of a folder.
func tiles(t *testing.T, dir string) (out []*snapshot.Snapshot) {
	t.Helper()
	table, err := contents.Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, tile := range table.Tiles {
		s, err := snapshot.Open(filepath.Join(dir, tile.File))
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, s)
	}
	return out
}

// alike holds a folder against another into which the whole map was imported: the parts of
// the map to the byte, the tiles row by row.
func alike(t *testing.T, got, want string) {
	t.Helper()
	a, err := cut.Read(got)
	if err != nil {
		t.Fatal(err)
	}
	b, err := cut.Read(want)
	if err != nil {
		t.Fatal(err)
	}
	if len(a.Blocks) != len(b.Blocks) || len(a.Blocks) < 2 {
		t.Fatalf("%d parts of the map, want %d", len(a.Blocks), len(b.Blocks))
	}
	for i := range a.Blocks {
		if a.Blocks[i].Key != b.Blocks[i].Key || a.Blocks[i].Hash != b.Blocks[i].Hash {
			t.Errorf("part %s %s, want %s %s", a.Blocks[i].Key, a.Blocks[i].Hash, b.Blocks[i].Key, b.Blocks[i].Hash)
		}
	}
	updated, fresh := tiles(t, got), tiles(t, want)
	if len(updated) != len(fresh) {
		t.Fatalf("%d tiles, want %d", len(updated), len(fresh))
	}
	for i := range updated {
		equal(t, updated[i], fresh[i])
	}
}

// TestFolder: what an update of a map in tiles gives is what an import of the updated
// extract gives, part by part and row by row; the next update needs no extract.
func TestFolder(t *testing.T) {
	drawn := villages()
	extract := write(t, "map.osm", drawn)
	dir := tiled(t, extract)
	row, _ := way(t, drawn, `v="Row 2"`)
	gone := osc(t, fmt.Sprintf(`<delete><way id="%d" version="2" timestamp="2026-11-02T00:00:00Z"/></delete>`, row))
	out, err := folder(t, dir, extract, gone)
	if err != nil {
		t.Fatal(err)
	}
	if out.Renewed < 2 || out.Surveyed == 0 || out.Surveyed > out.Edges*6/10 || out.Table.MapTime.Format(time.DateOnly) != "2026-11-02" {
		t.Errorf("%d tiles renewed, %d of %d edges, of %s", out.Renewed, out.Surveyed, out.Edges, out.Table.MapTime)
	}
	fresh := applied(t, extract, gone)
	alike(t, dir, tiled(t, fresh))
	if got, err := contents.Read(dir); err != nil || !got.MapTime.Equal(out.Table.MapTime) {
		t.Errorf("the table: %+v, %v", got, err)
	}
	hasOnly(t, dir)

	second := osc(t, `<create><node id="90001" version="1" timestamp="2026-11-03T00:00:00Z" lat="47.301" lon="-6.997"><tag k="leisure" v="dog_park"/></node></create>`)
	for what, c := range map[string]struct {
		says, extract string
		files         []string
	}{
		"known":           {"the map is of 2026-11-02T00:00:00Z: leave it out", "", []string{gone}},
		"an old extract":  {"or leave this out if it was updated since", extract, []string{second}},
		"nothing":         {"name the files of changes", "", nil},
		"an older import": {"name a newer extract", "", []string{extract}},
	} {
		var ps fault.Problems
		if _, err := folder(t, dir, c.extract, c.files...); !errors.As(err, &ps) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", what, err)
		}
	}
	if out, err = folder(t, dir, "", second); err != nil || out.Renewed < 2 {
		t.Fatalf("%+v, %v", out, err)
	}
	found := 0
	for _, s := range tiles(t, dir) {
		for i := range s.Field.Sources {
			if s.Field.Sources[i].As == "dog_park" {
				found++
			}
		}
	}
	if found != len(out.Table.Tiles) {
		t.Errorf("%d dog parks in %d tiles", found, len(out.Table.Tiles))
	}
}

// hasOnly sees that nothing half-made is left in a folder.
func hasOnly(t *testing.T, dir string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), ".") || e.Name() == cut.Unfinished {
			t.Errorf("%s is left over", e.Name())
		}
	}
}

// TestFolderBrokenOff: broken off at any stage, the folder serves the old map, and the
// same update goes on and ends as if nothing had happened.
func TestFolderBrokenOff(t *testing.T) {
	extract, drawn := small(t, imported)
	changes := renamed(t, drawn, 2, 2, "Dyer Path")
	dir := tiled(t, extract)
	before, err := contents.Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	stages := map[string]bool{}
	for again := true; again; {
		again = false
		ctx, cancel := context.WithCancel(t.Context())
		_, err := update.Folder(ctx, dir, update.FolderOptions{Extract: extract, Changes: []string{changes}, Tool: "test", Now: now, Progress: func(p tiling.Progress) {
			if !stages[p.Stage] {
				stages[p.Stage], again = true, true
				cancel()
			}
		}})
		cancel()
		table, terr := contents.Read(dir)
		if terr != nil {
			t.Fatal(terr)
		}
		if !again {
			if err != nil || table.MapTime.Equal(before.MapTime) {
				t.Fatalf("in the end: %v", err)
			}
			break
		}
		if !errors.Is(err, context.Canceled) || !table.MapTime.Equal(before.MapTime) {
			t.Errorf("broken off: %v, map of %s", err, table.MapTime)
		}
		for _, tile := range table.Tiles {
			if err := tile.Verify(dir); err != nil {
				t.Error(err)
			}
		}
	}
	if len(stages) < 4 {
		t.Errorf("broken off at %v alone", stages)
	}
	for _, s := range tiles(t, dir) {
		if !has(s, "Dyer Path") || has(s, "Mill Path") {
			t.Error("a tile of the old map")
		}
	}
	hasOnly(t, dir)
}

// TestFolderOfAnotherVersion: what another version of the program made is not mixed with
// what this one makes.
func TestFolderOfAnotherVersion(t *testing.T) {
	extract, drawn := small(t, imported)
	dir := tiled(t, extract)
	var ps fault.Problems
	_, err := update.Folder(t.Context(), dir, update.FolderOptions{Extract: extract, Changes: []string{renamed(t, drawn, 2, 2, "Dyer Path")}, Tool: "later", Now: now})
	if !errors.As(err, &ps) || !strings.Contains(err.Error(), "import it again") {
		t.Error(err)
	}
}
