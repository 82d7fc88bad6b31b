package atlas

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"wideberth/routing/contents"
	"wideberth/routing/depot"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// lane is a map of one street.
func lane(t testing.TB, name string) *snapshot.Snapshot {
	t.Helper()
	var d maptest.Drawing
	d.Way("highway=residential;name="+name, 0, 0, 400, 0, 800, 0)
	return d.Map(t)
}

// service is a bucket with a folder that is published to it, and atlases of it.
type service struct {
	t        *testing.T
	dir, far string
	bucket   string
	up       *depot.Depot
	now      func() time.Time
	cache    string
}

func newService(t *testing.T) *service {
	t.Helper()
	s := &service{t: t, dir: t.TempDir(), far: t.TempDir(), cache: t.TempDir(), now: func() time.Time { return time.Unix(2e9, 0) }}
	s.bucket = "file://" + filepath.ToSlash(s.far) + "?no_tmp_dir=true"
	var err error
	if s.up, err = depot.Open(t.Context(), s.bucket, depot.Options{Dir: t.TempDir(), Now: s.now}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.up.Close() })
	return s
}

// tile makes one of a map, whose core is a strip of two degrees.
func (s *service) tile(key, name string, m *snapshot.Snapshot, eastDeg float64) contents.Tile {
	s.t.Helper()
	made := moved(s.t, s.dir, m, name, eastDeg)
	file, bytes, err := contents.FileName(key, made)
	if err == nil {
		err = os.Rename(made, filepath.Join(s.dir, file))
	}
	if err != nil {
		s.t.Fatal(err)
	}
	lon := m.Frame.Lon0 + eastDeg
	core := contents.Box{lon - 1, -80, lon + 1, 80}
	return contents.Tile{Key: key, File: file, Bytes: bytes, Core: core, Served: core, Name: name, Zone: "Etc/GMT", Licence: snapshot.Licence}
}

func (s *service) publish(tiles ...contents.Tile) {
	s.t.Helper()
	err := contents.Write(s.dir, contents.Table{Made: time.Unix(0, 0), Tiles: tiles})
	if err == nil {
		_, err = s.up.Publish(s.t.Context(), s.dir)
	}
	if err != nil {
		s.t.Fatal(err)
	}
}

func (s *service) atlas() *Atlas {
	s.t.Helper()
	return opened(s.t, Options{Cache: s.cache, Now: s.now}, s.bucket)
}

// here are the names of the tiles whose files are on this machine.
func here(a *Atlas) (names []string) {
	for _, t := range a.Tiles() {
		if t.here() {
			names = append(names, t.Name)
		}
	}
	return names
}

// TestNamesOfABucket: a name is found on whichever tile of a bucket has it, which alone is
// brought; of the others the words are read, once, and they are known without the bucket
// after a new start.
func TestNamesOfABucket(t *testing.T) {
	s := newService(t)
	names := []string{"Alder Street", "Birch Lane", "Cedar Road", "Dogwood Close"}
	var tiles []contents.Tile
	for i, n := range names {
		tiles = append(tiles, s.tile(fmt.Sprint(i), n, lane(t, n), 2*float64(i)))
	}
	s.publish(tiles...)
	find := func(a *Atlas, text string) (found []Found, missing []error) {
		t.Helper()
		v := a.View()
		defer v.Close()
		found, err := v.Find(t.Context(), text, nil, 5, func(err error) { missing = append(missing, err) })
		if err != nil {
			t.Fatal(err)
		}
		return found, missing
	}
	a := s.atlas()
	if found, missing := find(a, "zzyzx"); len(found)+len(missing) != 0 || len(here(a)) != 0 {
		t.Errorf("nothing is called %v; missing %v; here %v", found, missing, here(a))
	}
	found, missing := find(a, "cedar road")
	if len(found) != 1 || found[0].Tile.Name != "Cedar Road" || len(missing) != 0 {
		t.Errorf("found %+v, missing %v", found, missing)
	}
	if got := here(a); len(got) != 1 || got[0] != "Cedar Road" {
		t.Errorf("for one name %v came", got)
	}
	if excerpts, err := filepath.Glob(filepath.Join(s.cache, "*", "*.excerpt")); err != nil || len(excerpts) != len(names) {
		t.Errorf("the words of %d tiles were kept, %v", len(excerpts), err)
	}

	objects, err := filepath.Glob(filepath.Join(s.far, "*"))
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range objects {
		if err := os.Remove(o); err != nil {
			t.Fatal(err)
		}
	}
	again := s.atlas() // after a new start, without the bucket
	if found, missing := find(again, "cedar road"); len(found) != 1 || len(missing) != 0 {
		t.Errorf("without the bucket: %+v, missing %v", found, missing)
	}
	found, missing = find(again, "birch lane")
	if told := (*TileError)(nil); len(found) != 0 || len(missing) != 1 || !errors.As(missing[0], &told) || told.Name != "Birch Lane" {
		t.Errorf("a name on a tile that cannot come: %+v, missing %v", found, missing)
	}
}

// TestWordsOfABucketThatFails: a tile whose words cannot be read is told, the others are
// found, and it is found again when it is mended.
func TestWordsOfABucketThatFails(t *testing.T) {
	s := newService(t)
	tiles := []contents.Tile{s.tile("0", "Alder Street", lane(t, "Alder Street"), 0), s.tile("1", "Birch Lane", lane(t, "Birch Lane"), 2)}
	s.publish(tiles...)
	a := s.atlas()
	object := filepath.Join(s.far, tiles[1].File)
	whole, err := os.ReadFile(object)
	if err != nil {
		t.Fatal(err)
	}
	find := func(text string) (n int, missing []error) {
		t.Helper()
		v := a.View()
		defer v.Close()
		found, err := v.Find(t.Context(), text, nil, 5, func(err error) { missing = append(missing, err) })
		if err != nil {
			t.Fatal(err)
		}
		return len(found), missing
	}
	for what, harm := range map[string]func() error{
		"gone":      func() error { return os.Remove(object) },
		"cut short": func() error { return os.WriteFile(object, whole[:len(whole)/2], 0o600) },
		"zeros":     func() error { return os.WriteFile(object, make([]byte, len(whole)), 0o600) },
	} {
		if err := harm(); err != nil {
			t.Fatal(err)
		}
		if n, missing := find("alder street"); n != 1 || len(missing) != 1 || !strings.Contains(missing[0].Error(), "Birch Lane") {
			t.Errorf("%s: %d found beside it, missing %v", what, n, missing)
		}
		if n, _ := find("birch lane"); n != 0 {
			t.Errorf("%s: it is found %d times", what, n)
		}
	}
	if err := os.WriteFile(object, whole, 0o600); err != nil {
		t.Fatal(err)
	}
	if n, missing := find("birch lane"); n != 1 || len(missing) != 0 {
		t.Errorf("mended it is found %d times, missing %v", n, missing)
	}
}
