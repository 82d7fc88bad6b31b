package contents_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/osmdata/flatfile"
	"wideberth/routing/contents"
)

var (
	made   = time.Date(2026, 11, 30, 19, 0, 0, 0, time.UTC)
	mapped = time.Date(2026, 11, 28, 21, 21, 2, 0, time.UTC)
)

// tile writes a file with some text and describes it as the tile of a key.
func tile(t *testing.T, dir, key, text string, core contents.Box) contents.Tile {
	t.Helper()
	path := filepath.Join(dir, "making")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	name, size, err := contents.FileName(key, path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Rename(path, filepath.Join(dir, name)); err != nil {
		t.Fatal(err)
	}
	return contents.Tile{
		Key: key, File: name, Bytes: size, Core: core, Served: contents.Box{core[0] - 1, core[1] - 1, core[2] + 1, core[3] + 1},
		Name: "Tannerswick", Zone: "Etc/UTC", Licence: "ODbL",
	}
}

// quarters are four tiles of a folder, the north-western one cut once more.
func quarters(t *testing.T, dir string) contents.Table {
	t.Helper()
	return contents.Table{Made: made, MapTime: mapped, Tiles: []contents.Tile{
		tile(t, dir, "3", "d", contents.Box{0, -85, 180, 0}),
		tile(t, dir, "01", "b", contents.Box{-90, 66, 0, 85}),
		tile(t, dir, "00", "a", contents.Box{-180, 66, -90, 85}),
		tile(t, dir, "2", "c", contents.Box{-180, -85, 0, 0}),
	}}
}

func TestComesBack(t *testing.T) {
	dir := t.TempDir()
	want := quarters(t, dir)
	if err := contents.Write(dir, want); err != nil {
		t.Fatal(err)
	}
	got, err := contents.Read(dir)
	if err != nil {
		t.Fatal(err)
	}
	slices.SortFunc(want.Tiles, func(a, b contents.Tile) int { return strings.Compare(a.Key, b.Key) })
	if !reflect.DeepEqual(got, want) {
		t.Errorf("came back as\n%+v, want\n%+v", got, want)
	}
	for _, tile := range got.Tiles {
		if err := tile.Verify(dir); err != nil {
			t.Error(err)
		}
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 5 {
		t.Errorf("%d files beside each other, %v: want four tiles and the table", len(entries), err)
	}
	want.MapTime = time.Time{}
	if err := contents.Write(dir, want); err != nil {
		t.Fatal(err)
	}
	if got, err := contents.Read(dir); err != nil || !got.MapTime.IsZero() {
		t.Errorf("a map without a time came back with %v, %v", got.MapTime, err)
	}
}

// TestHash: the name of a file is told by sha256sum, here of the text "abc" as the
// Secure Hash Standard (FIPS 180-4) works it out as its first example.
func TestHash(t *testing.T) {
	path := filepath.Join(t.TempDir(), "abc")
	if err := os.WriteFile(path, []byte("abc"), 0o600); err != nil {
		t.Fatal(err)
	}
	if name, size, err := contents.FileName("0321", path); name != "0321.ba7816bf8f01.wb" || size != 3 || err != nil {
		t.Error(name, size, err)
	}
}

func TestVerify(t *testing.T) {
	dir := t.TempDir()
	a := tile(t, dir, "0", "some text", contents.Box{0, 0, 1, 1})
	path := filepath.Join(dir, a.File)
	for text, want := range map[string]error{"some text": nil, "some texT": flatfile.ErrDamaged, "some": flatfile.ErrDamaged} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := a.Verify(dir); !errors.Is(err, want) {
			t.Errorf("%q: %v, want %v", text, err, want)
		}
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	if err := a.Verify(dir); !errors.Is(err, fs.ErrNotExist) {
		t.Error(err)
	}
}

// TestUnsound: what does not hold together is neither written nor read.
func TestUnsound(t *testing.T) {
	for what, spoil := range map[string]func(*contents.Table){
		"no tiles":    func(t *contents.Table) { t.Tiles = nil },
		"a key twice": func(t *contents.Table) { t.Tiles[1] = t.Tiles[0] },
		"a tile over another": func(t *contents.Table) {
			t.Tiles[1].Key, t.Tiles[1].File = "21", strings.Replace(t.Tiles[1].File, "01", "21", 1)
		},
		"no key":               func(t *contents.Table) { t.Tiles[0].Key = "9" },
		"another tile's file":  func(t *contents.Table) { t.Tiles[0].File = t.Tiles[1].File },
		"a path":               func(t *contents.Table) { t.Tiles[0].File = "../" + t.Tiles[0].File },
		"no hash":              func(t *contents.Table) { t.Tiles[0].File = t.Tiles[0].Key + ".wb" },
		"a core without width": func(t *contents.Table) { t.Tiles[0].Core[2] = t.Tiles[0].Core[0] },
		"served short of core": func(t *contents.Table) { t.Tiles[0].Served[3] = t.Tiles[0].Core[3] - 1 },
	} {
		dir := t.TempDir()
		table := quarters(t, dir)
		spoil(&table)
		if err := contents.Write(dir, table); err == nil {
			t.Errorf("%s: written", what)
		}
		if _, err := contents.Read(dir); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("%s: something is there: %v", what, err)
		}
	}
	for text, want := range map[string]error{
		"":                           flatfile.ErrDamaged,
		`{"format": 1, "tiles": [`:   flatfile.ErrDamaged,
		`{"format": 1, "tiles": []}`: flatfile.ErrDamaged,
		`{"format": 2, "tiles": []}`: flatfile.ErrVersion,
		`{"format": 1, "tiles": [{"key": "../etc"}]}`: flatfile.ErrDamaged,
	} {
		dir := t.TempDir()
		if err := os.WriteFile(contents.Path(dir), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := contents.Read(dir); !errors.Is(err, want) {
			t.Errorf("%s: %v, want %v", text, err, want)
		}
	}
}

// TestOldStays: what cannot be written leaves the table that is there.
func TestOldStays(t *testing.T) {
	dir := t.TempDir()
	table := quarters(t, dir)
	if err := contents.Write(dir, table); err != nil {
		t.Fatal(err)
	}
	bad := table
	bad.Tiles = bad.Tiles[:0]
	if err := contents.Write(dir, bad); err == nil {
		t.Error("an empty table was written")
	}
	if got, err := contents.Read(dir); err != nil || len(got.Tiles) != 4 {
		t.Errorf("%d tiles are left, %v", len(got.Tiles), err)
	}
}

func TestLeftovers(t *testing.T) {
	dir := t.TempDir()
	table := quarters(t, dir)
	old := tile(t, dir, "3", "before", contents.Box{0, -85, 180, 0})
	for _, other := range []string{"notes.txt", "map.wb", "3.short.wb"} {
		if err := os.WriteFile(filepath.Join(dir, other), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if left, err := table.Leftovers(dir); err != nil || !slices.Equal(left, []string{old.File}) {
		t.Errorf("%v, %v; want %s", left, err, old.File)
	}
}

// TestBoxHolds: of neighbours that share a side, one holds what lies on it.
func TestBoxHolds(t *testing.T) {
	west, east := contents.Box{0, 0, 1, 1}, contents.Box{1, 0, 2, 1}
	for _, p := range []struct {
		lon, lat   float64
		west, east bool
	}{{.5, .5, true, false}, {1, .5, false, true}, {0, 0, true, false}, {1, 1, false, false}, {2, .5, false, false}, {-1, .5, false, false}} {
		if w, e := west.Holds(p.lon, p.lat), east.Holds(p.lon, p.lat); w != p.west || e != p.east {
			t.Errorf("%v: %v %v", p, w, e)
		}
	}
}
