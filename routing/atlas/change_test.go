package atlas

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"wideberth/osmdata/flatfile"
	"wideberth/routing"
	"wideberth/routing/contents"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// byLanes are maps that differ in how many lanes cross a street: the number of edges tells
// which one answers.
func byLanes(t testing.TB, lanes int) *snapshot.Snapshot {
	t.Helper()
	var d maptest.Drawing
	d.Way("highway=residential;name=Alder Street", 0, 0, 100, 0, 200, 0, 300, 0, 400, 0, 800, 0)
	for i := range lanes {
		x := float64(100 * (i + 1))
		d.Way("highway=residential;name=Birch Lane", x, -300, x, 0, x, 500)
	}
	return d.Map(t)
}

// TestReloadUnderLoad: while maps are changed again and again, each who looks has one map
// from beginning to end, which nobody closes under them, and no old map stays open.
func TestReloadUnderLoad(t *testing.T) {
	dir := t.TempDir()
	maps := []*snapshot.Snapshot{byLanes(t, 1), byLanes(t, 3)}
	path := moved(t, dir, maps[0], "a", 0)
	moved(t, dir, maps[1], "b", 2)
	a := opened(t, Options{MemoryBytes: 1}, path, filepath.Join(dir, "b.wb")) // nothing stays that nobody uses
	var mu sync.Mutex
	closed, open := map[*routing.Planner]int{}, map[*routing.Planner]int{}
	a.OnClosing(func(p *routing.Planner) {
		mu.Lock()
		defer mu.Unlock()
		if closed[p]++; closed[p] > 1 || open[p] > 0 {
			t.Errorf("closed %d times, with %d who look", closed[p], open[p])
		}
	})
	lon, lat := maps[0].Frame.Inverse(maptest.On(maps[0], 150, 0))
	done := make(chan struct{})
	var all sync.WaitGroup
	for i := range 6 {
		all.Go(func() {
			for n := 0; ; n++ {
				select {
				case <-done:
					return
				default:
				}
				v := a.View()
				s, err := v.At(t.Context(), lon+2*float64((i+n)%2), lat)
				if err != nil {
					t.Error(err)
					v.Close()
					return
				}
				mu.Lock()
				open[s.Planner]++
				mu.Unlock()
				g := s.Planner.Snapshot().Graph
				length := func() (m float64) {
					for e := range int32(g.EdgeCount()) {
						m += g.EdgeLine(e).LengthM() // its file is read
					}
					return m
				}
				before := length()
				if beside := Beside(v, s, func() (*routing.Planner, int64) { return s.Planner, 10 }); beside != s.Planner {
					t.Error("what is kept beside a map is another's")
				}
				if again, err := v.At(t.Context(), lon+2*float64((i+n)%2), lat); err != nil || again != s || length() != before {
					t.Errorf("one who looks sees another map: %v", err)
				}
				mu.Lock()
				open[s.Planner]--
				mu.Unlock()
				v.Close()
			}
		})
	}
	for n := range 12 {
		moved(t, dir, maps[(n+1)%2], "a", 0)
		written := time.Unix(1e9+int64(n), 0)
		if err := os.Chtimes(path, written, written); err != nil {
			t.Fatal(err)
		}
		if c, err := a.Reload(t.Context()); err != nil || c != (Change{Tiles: 2, New: 1, Gone: 1}) {
			t.Fatalf("change %d: %+v, %v", n, c, err)
		}
		v := a.View()
		if s := at(t, v, Place{lon, lat}); s.Planner.Snapshot().Graph.EdgeCount() != maps[(n+1)%2].Graph.EdgeCount() {
			t.Errorf("after change %d the old map answers", n)
		}
		v.Close()
	}
	close(done)
	all.Wait()
	if l := a.Level(); l.Open != 0 || l.Bytes != 0 || int64(len(closed)) != l.Opened || l.Failed != 0 {
		t.Errorf("in the end %+v, %d were closed", l, len(closed))
	}
}

// TestTwoVersions: of a folder whose tiles two programs made, those of this program's
// version are served; the other is told with both versions, and a reload that would bring
// it to where somebody looks changes nothing.
func TestTwoVersions(t *testing.T) {
	dir := t.TempDir()
	tables, p := halves(t, dir), middle(0)
	a := opened(t, Options{}, dir)
	old := func(file string) string { // as a program one version before would have written it
		t.Helper()
		b, err := os.ReadFile(filepath.Join(dir, file))
		if err != nil {
			t.Fatal(err)
		}
		binary.LittleEndian.PutUint32(b[8:], snapshot.Version-1)
		making := filepath.Join(dir, "making")
		if err := os.WriteFile(making, b, 0o600); err != nil {
			t.Fatal(err)
		}
		name, _, err := contents.FileName("0", making)
		if err == nil {
			err = os.Rename(making, filepath.Join(dir, name))
		}
		if err != nil {
			t.Fatal(err)
		}
		return name
	}
	mixed := tables[0]
	mixed.Tiles[0].File = old(mixed.Tiles[0].File)
	if err := contents.Write(dir, mixed); err != nil {
		t.Fatal(err)
	}
	west, east := Place{p.Lon - 1e-4, p.Lat}, Place{p.Lon + 1e-4, p.Lat}
	v := a.View()
	was := at(t, v, west)
	v.Close()
	_, err := a.Reload(t.Context())
	if told := (*TileError)(nil); !errors.Is(err, flatfile.ErrVersion) || !errors.As(err, &told) || told.Name != "West" || !strings.Contains(err.Error(), "stay as they were") {
		t.Errorf("read anew: %v", err)
	}
	v = a.View()
	if is := at(t, v, west); is != was {
		t.Error("the map in use was closed for one that cannot be read")
	}
	v.Close()
	b := opened(t, Options{}, dir) // a new start knows the table, not yet the files
	w := b.View()
	defer w.Close()
	if s := at(t, w, east); s.Name != "East" {
		t.Errorf("the east is answered by %s", s.Name)
	}
	_, err = w.At(t.Context(), west.Lon, west.Lat)
	if !errors.Is(err, flatfile.ErrVersion) || !strings.Contains(err.Error(), fmt.Sprint(snapshot.Version-1)) || !strings.Contains(err.Error(), fmt.Sprint(snapshot.Version)) || !strings.Contains(err.Error(), "import it anew") {
		t.Errorf("the west: %v", err)
	}
	if l := b.Level(); l.Failed != 1 || l.Open != 1 {
		t.Errorf("%+v", l)
	}
}

// TestBucketThatFailsInAReload: a new table whose tile cannot be had, or is not what it
// says, leaves the old map where somebody looks; mended, it takes its place.
func TestBucketThatFailsInAReload(t *testing.T) {
	s := newService(t)
	first, second := byLanes(t, 1), byLanes(t, 3)
	other := s.tile("1", "Other", lane(t, "Cedar Road"), 2)
	s.publish(s.tile("0", "Old", first, 0), other)
	a := s.atlas()
	lon, lat := first.Frame.Inverse(maptest.On(first, 150, 0))
	early := a.View()
	was := at(t, early, Place{lon, lat})
	fresh := s.tile("0", "New", second, 0)
	s.publish(fresh, other)
	object := filepath.Join(s.far, fresh.File)
	whole, err := os.ReadFile(object)
	if err != nil {
		t.Fatal(err)
	}
	harmed := append([]byte(nil), whole...)
	harmed[len(harmed)/2] ^= 1
	for _, c := range []struct {
		what string
		harm func() error
		want error
	}{
		{"it is gone", func() error { return os.Remove(object) }, fs.ErrNotExist},
		{"it breaks off", func() error { return os.WriteFile(object, whole[:len(whole)/3], 0o600) }, flatfile.ErrDamaged},
		{"a bit of it is another", func() error { return os.WriteFile(object, harmed, 0o600) }, flatfile.ErrDamaged},
	} {
		if err := c.harm(); err != nil {
			t.Fatal(err)
		}
		if _, err := a.Reload(t.Context()); !errors.Is(err, c.want) || !strings.Contains(err.Error(), "stay as they were") {
			t.Errorf("%s: %v", c.what, err)
		}
		v := a.View()
		if is := at(t, v, Place{lon, lat}); is != was || is.Planner.Snapshot().Graph.EdgeCount() != first.Graph.EdgeCount() {
			t.Errorf("%s: the old map does not serve on", c.what)
		}
		if is := at(t, v, Place{lon + 2, lat}); is.Name != "Other" {
			t.Errorf("%s: beside it %s", c.what, is.Name)
		}
		v.Close()
		left, err := filepath.Glob(filepath.Join(s.cache, "*", ".part-*"))
		if err != nil || len(left) > 0 {
			t.Errorf("%s: left behind are %v, %v", c.what, left, err)
		}
	}
	if err := os.WriteFile(object, whole, 0o600); err != nil {
		t.Fatal(err)
	}
	if c, err := a.Reload(t.Context()); err != nil || c != (Change{Tiles: 2, New: 1, Gone: 1}) {
		t.Errorf("mended: %+v, %v", c, err)
	}
	v := a.View()
	defer v.Close()
	if is := at(t, v, Place{lon, lat}); is.Name != "New" || is.Planner.Snapshot().Graph.EdgeCount() != second.Graph.EdgeCount() {
		t.Errorf("then %s answers", is.Name)
	}
	if was.Planner.Snapshot().Graph.EdgeCount() != first.Graph.EdgeCount() {
		t.Error("who looked before lost the old map")
	}
	early.Close()
}

// TestBesideCounts: what is kept beside a map counts, twice as garbage does, makes room
// like it, and goes with it.
func TestBesideCounts(t *testing.T) {
	dir := t.TempDir()
	paths := []string{moved(t, dir, hamlet(), "a", 0), moved(t, dir, hamlet(), "b", 2)}
	each := opened(t, Options{}, paths[0]).Level().Bytes
	a := opened(t, Options{MemoryBytes: 2*each + 1000}, paths...)
	keep := func(v *View, s *Sheet, bytes int64) { Beside(v, s, func() (string, int64) { return s.Name, bytes }) }
	v := a.View()
	keep(v, at(t, v, middle(0)), 400)
	if l := a.Level(); l.Open != 1 || l.Bytes != each+800 {
		t.Errorf("one open, %+v, want %d bytes", l, each+800)
	}
	v.Close()
	w := a.View()
	if at(t, w, middle(2)); a.Level().Open != 2 {
		t.Errorf("both have room: %+v", a.Level())
	}
	keep(w, at(t, w, middle(2)), 200)
	if l := a.Level(); l.Open != 1 || l.Bytes != each+400 {
		t.Errorf("then one has: %+v, want %d bytes", l, each+400)
	}
	keep(w, at(t, w, middle(2)), 10_000) // known already: it is not made again
	if l := a.Level(); l.Bytes != each+400 {
		t.Errorf("asked again: %+v", l)
	}
	w.Close()
}

// TestBoxes: boxes that meet share no place, and a place beside one is as far off as on a
// sphere of the earth's mean radius.
func TestBoxes(t *testing.T) {
	b, beside := Box{10, 50, 11, 51}, Box{11, 50, 12, 51}
	for _, c := range []struct {
		lon, lat float64
		in       string
	}{{10, 50, "b"}, {11, 50.5, "beside"}, {10.5, 51, ""}, {12, 50.5, ""}, {10.999, 50.999, "b"}, {9.999, 50, ""}} {
		got := ""
		if b.Holds(c.lon, c.lat) {
			got += "b"
		}
		if beside.Holds(c.lon, c.lat) {
			got += "beside"
		}
		if got != c.in {
			t.Errorf("%v is in %q, want %q", c, got, c.in)
		}
	}
	if !b.Meets(beside) || b.Meets(Box{11.1, 50, 12, 51}) || b.Meets(Box{10, 51.1, 11, 52}) {
		t.Error("boxes that touch meet, those apart do not")
	}
	if w := b.with(Box{12, 49, 13, 50}); w != (Box{10, 49, 13, 51}) {
		t.Errorf("the least box of both is %v", w)
	}
	const degree = 111_195                                                                                                                                                     // m, of a meridian on a sphere of 6,371 km: 40,030.2 km / 360
	for _, c := range []struct{ lon, lat, want float64 }{{10.5, 50.5, 0}, {10.5, 52, degree}, {10.5, 49.5, degree / 2}, {9, 50, degree * 0.6428}, {12, 50, degree * 0.6428}} { // cos 50 degrees
		if got := b.AwayM(c.lon, c.lat); got < c.want*0.999 || got > c.want*1.001 {
			t.Errorf("%v is %.0f m off, want %.0f", c, got, c.want)
		}
	}
}
