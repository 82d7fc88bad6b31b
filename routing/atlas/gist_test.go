package atlas

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// TestGists: what is made of a tile is made once, however many ask, outlives its being
// open, counts, and goes when others need its room or the maps are changed.
func TestGists(t *testing.T) {
	dir := t.TempDir()
	var paths []string
	for i, name := range []string{"a", "b", "c", "d"} {
		paths = append(paths, moved(t, dir, hamlet(), name, 2*float64(i)))
	}
	each := opened(t, Options{}, paths[0]).Level().Bytes
	room := 3 * each // an eighth of it, less than half of a map, is for two and a half gists
	size := room / gistShare / withGarbage * 2 / 5
	a := opened(t, Options{MemoryBytes: room}, paths...)
	var made atomic.Int64
	name := func(v *View, i int) string {
		t.Helper()
		got, err := Gist(t.Context(), v, v.Tiles()[i], func(s *Sheet) (string, int64) {
			made.Add(1)
			return s.Name, size
		})
		if err != nil {
			t.Error(err)
		}
		return got
	}
	v := a.View()
	defer v.Close()
	var all sync.WaitGroup
	for range 20 {
		all.Go(func() {
			if got := name(v, 0); got != "a" {
				t.Errorf("of the first it is %q", got)
			}
		})
	}
	all.Wait()
	if l := a.Level(); made.Load() != 1 || l.Opened != 1 || l.Bytes != each+withGarbage*size {
		t.Errorf("made %d times, %+v", made.Load(), l)
	}
	for i := 1; i < 4; i++ { // the third drops the first, the fourth the second
		name(v, i)
	}
	if l := a.Level(); l.Bytes > room || a.gistsB != 2*withGarbage*size || len(a.gists) != 2 {
		t.Errorf("%d gists of %d bytes are kept, %+v", len(a.gists), a.gistsB, l)
	}
	opened, before := a.Level().Opened, made.Load()
	if name(v, 3) != "d" || name(v, 2) != "c" || made.Load() != before || a.Level().Opened != opened {
		t.Error("those asked for last were made again")
	}
	if name(v, 0) != "a" || made.Load() != before+1 {
		t.Error("the one asked for first was not dropped")
	}
	moved(t, dir, hamlet(), "d", 6)
	at := time.Unix(1e9, 0)
	if err := os.Chtimes(paths[3], at, at); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Reload(t.Context()); err != nil {
		t.Fatal(err)
	}
	if len(a.gists) != 0 || a.gistsB != 0 || a.recent.Len() != 0 {
		t.Errorf("%d gists of maps as they were are kept", len(a.gists))
	}
	if name(v, 1) != "b" || len(a.gists) != 0 { // for who looked before
		t.Errorf("%d gists of an earlier edition are kept", len(a.gists))
	}
	sum := int64(0)
	for _, s := range a.sheets {
		sum += s.bytes
	}
	if a.Level().Bytes != sum {
		t.Errorf("%d bytes are counted, %d are open", a.Level().Bytes, sum)
	}
}

// TestGistOfWhatCannotBeMade: a tile that cannot be opened, or a panic in the making, is
// told, and the next who asks tries again.
func TestGistOfWhatCannotBeMade(t *testing.T) {
	dir := t.TempDir()
	a := opened(t, Options{}, moved(t, dir, hamlet(), "a", 0), moved(t, dir, hamlet(), "b", 2))
	aside, path := filepath.Join(dir, "aside"), filepath.Join(dir, "a.wb")
	if err := os.Rename(path, aside); err != nil {
		t.Fatal(err)
	}
	v := a.View()
	defer v.Close()
	harm := true
	gist := func() (n int, err error) {
		return Gist(t.Context(), v, v.Tiles()[0], func(*Sheet) (int, int64) {
			if harm {
				panic("damage")
			}
			return 7, 1
		})
	}
	var told *TileError
	if _, err := gist(); !errors.As(err, &told) || told.Name != "a" {
		t.Errorf("of a tile whose file is gone: %v", err)
	}
	var seen []string
	missing := 0
	first := func(s *Sheet) (string, int64) { return s.Name, 1 }
	visit := func(tile *Tile, name string) { seen = append(seen, tile.Name+name) }
	if err := Gists(t.Context(), v, v.Tiles(), first, visit, func(error) { missing++ }); err != nil || len(seen) != 1 || seen[0] != "bb" || missing != 1 {
		t.Errorf("of both: %v, %d missing, %v", seen, missing, err)
	}
	gone, leave := context.WithCancel(t.Context())
	leave()
	if err := Gists(gone, v, v.Tiles(), first, visit, func(error) { missing++ }); !errors.Is(err, context.Canceled) || len(seen) != 1 || missing != 1 {
		t.Errorf("of one who has gone: %v, %v", seen, err)
	}
	if err := os.Rename(aside, path); err != nil {
		t.Fatal(err)
	}
	func() {
		defer func() {
			if got := recover(); got == nil {
				t.Error("a panic was lost")
			}
		}()
		_, _ = gist()
	}()
	if harm = false; len(a.gists) != 1 { // that of the other
		t.Errorf("%d gists are kept that there are not", len(a.gists))
	}
	if n, err := gist(); n != 7 || err != nil {
		t.Errorf("mended: %d, %v", n, err)
	}
	if l := a.Level(); l.Failed != 2 || l.Open != 2 {
		t.Errorf("in the end %+v", l)
	}
}
