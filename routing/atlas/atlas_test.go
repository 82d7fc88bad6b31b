package atlas

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/contents"
	"wideberth/routing/depot"
	"wideberth/routing/gazetteer"
	"wideberth/routing/network"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// hamlet is a small map of a street and a lane that cross.
var hamlet = sync.OnceValue(func() *snapshot.Snapshot {
	var d maptest.Drawing
	d.Way("highway=residential;name=Alder Street", 0, 0, 400, 0, 800, 0)
	d.Way("highway=residential;name=Birch Lane", 400, -300, 400, 0, 400, 500)
	return d.Map(&testing.T{})
})

// moved writes a map some degrees east of where it is, under a name, and gives its path.
func moved(t testing.TB, dir string, s *snapshot.Snapshot, name string, eastDeg float64) string {
	t.Helper()
	out := *s
	out.Frame = plane.NewFrame(s.Frame.Lon0+eastDeg, s.Frame.Lat0)
	out.Name = name
	path := filepath.Join(dir, name+".wb")
	if err := out.WriteFile(path); err != nil {
		t.Fatal(err)
	}
	return path
}

// middle is a place on the crossing of the hamlet, so far east.
func middle(eastDeg float64) Place {
	s := hamlet()
	lon, lat := s.Frame.Inverse(maptest.On(s, 400, 0))
	return Place{lon + eastDeg, lat}
}

func opened(t testing.TB, o Options, paths ...string) *Atlas {
	t.Helper()
	a, err := Open(t.Context(), paths, o)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func at(t testing.TB, v *View, p Place) *Sheet {
	t.Helper()
	s, err := v.At(t.Context(), p.Lon, p.Lat)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestPlacesHaveTheirMaps: each place is answered by the map that it lies on, or lies no
// farther beside than a walk may begin from a street; others are told what there is.
func TestPlacesHaveTheirMaps(t *testing.T) {
	dir := t.TempDir()
	a := opened(t, Options{}, moved(t, dir, hamlet(), "West", 0), moved(t, dir, hamlet(), "East", 2))
	if n := a.Level().Open; n != 0 {
		t.Errorf("%d maps are open before anybody asked", n)
	}
	v := a.View()
	defer v.Close()
	if s := at(t, v, middle(0)); s.Name != "West" {
		t.Errorf("the west is answered by %s", s.Name)
	}
	if l := a.Level(); l.Open != 1 || l.Opened != 1 {
		t.Errorf("for one place %+v", l)
	}
	east := at(t, v, middle(2))
	if east.Name != "East" || east.Planner.Frame().Lon0-hamlet().Frame.Lon0 != 2 {
		t.Errorf("the east is answered by %s", east.Name)
	}
	edge := Place{east.Core[2], middle(2).Lat}
	degree := degreeM * 0.999 // of latitude, a little less
	if s := at(t, v, Place{edge.Lon, east.Core[3] + 0.9*network.SnapLimitM/degree}); s != east {
		t.Errorf("a place beside is answered by %s", s.Name)
	}
	var nowhere *NowhereError
	_, err := v.At(t.Context(), edge.Lon, east.Core[3]+1.1*network.SnapLimitM/degree)
	if !errors.As(err, &nowhere) || nowhere.All != 2 || nowhere.Maps[0].Name != "East" || !strings.Contains(err.Error(), "East (latitude ") || !strings.Contains(err.Error(), "West (") {
		t.Errorf("farther off: %v", err)
	}
	_, err = v.At(t.Context(), middle(2).Lat, middle(2).Lon)
	if !errors.As(err, &nowhere) || nowhere.Swapped != "East" || !strings.Contains(err.Error(), "exchanged") {
		t.Errorf("exchanged: %v", err)
	}
	if one := opened(t, Options{}, filepath.Join(dir, "East.wb")); one.Level().Open != 1 {
		t.Error("a map alone waits for the first question")
	} else {
		w := one.View()
		defer w.Close()
		if s := at(t, w, Place{0, 0}); s.Name != "East" {
			t.Error("a map alone does not say itself what lies off it")
		}
	}
	if same := opened(t, Options{}, filepath.Join(dir, "East.wb"), filepath.Join(dir, "East.wb")); len(same.Tiles()) != 1 {
		t.Error("a map that is named twice is there twice")
	}
}

// TestOverlapIsAnsweredFromTheGround: of two maps over one place the one that has more
// ways about it answers, wherever its box ends; and what both show is shown once.
func TestOverlapIsAnsweredFromTheGround(t *testing.T) {
	dir := t.TempDir()
	var d maptest.Drawing
	d.Way("highway=residential;name=Alder Street", 0, 0, 400, 0, 800, 0) // the west of it was cut away
	d.Way("highway=residential;name=Cedar Road", 800, 0, 1200, 0, 9000, 0)
	d.Way("highway=residential;name=Dogwood Close", 800, 0, 800, 100)
	half := d.Map(t)
	a := opened(t, Options{}, moved(t, dir, half, "Half", 0), moved(t, dir, hamlet(), "Whole", 0))
	v := a.View()
	defer v.Close()
	if s := at(t, v, middle(0)); s.Name != "Half" { // nine kilometres of road against one
		t.Errorf("%s answers", s.Name)
	}
	shown := map[string]float64{}
	if err := v.Each(t.Context(), v.Tiles(), func(s *Sheet) error {
		mine, g := v.Mine(t.Context(), s), s.Planner.Snapshot().Graph
		for e := range int32(g.EdgeCount()) {
			if mine(g.EdgeLine(e)[0]) {
				shown[g.Names[g.Parts[g.PartAt[e]].Name]] += float64(g.LengthM[e])
			}
		}
		return nil
	}, func(err error) { t.Error(err) }); err != nil {
		t.Fatal(err)
	}
	if m := shown["Alder Street"]; m < 790 || m > 810 {
		t.Errorf("%.0f m of a street of 800 m are shown: %v", m, shown)
	}
}

// TestLeastUsedAreClosed: what is open stays within the bytes, but for what somebody looks
// at; those asked for last stay; counted against a plain list that does the same.
func TestLeastUsedAreClosed(t *testing.T) {
	dir := t.TempDir()
	var paths []string
	for i := range 6 {
		paths = append(paths, moved(t, dir, hamlet(), fmt.Sprint("m", i), float64(i)))
	}
	probe := opened(t, Options{}, paths[0])
	each := probe.Level().Bytes
	if info, err := os.Stat(paths[0]); err != nil || each <= info.Size() {
		t.Fatalf("a map takes %d bytes, its file %v", each, info)
	}
	a := opened(t, Options{MemoryBytes: 3*each + each/2}, paths...)
	var closed []*routing.Planner
	a.OnClosing(func(p *routing.Planner) { closed = append(closed, p) })
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	var views []*View
	held := map[*View]*Sheet{}
	var order []string // open ones, the last asked for in front: the slow twin
	for range 200 {
		if len(views) > 0 && rng.IntN(5) < 3 {
			i := rng.IntN(len(views))
			views[i].Close()
			delete(held, views[i])
			views = slices.Delete(views, i, i+1)
		} else {
			v := a.View()
			s := at(t, v, middle(float64(rng.IntN(6))))
			views, held[v] = append(views, v), s
			order = slices.Insert(slices.DeleteFunc(order, func(n string) bool { return n == s.Name }), 0, s.Name)
		}
		used := map[string]bool{}
		for _, s := range held {
			used[s.Name] = true
			if slices.Contains(closed, s.Planner) {
				t.Fatalf("%s was closed while somebody looks at it", s.Name)
			}
		}
		for i := len(order) - 1; i >= 0 && len(order) > 3; i-- {
			if !used[order[i]] {
				order = slices.Delete(order, i, i+1)
			}
		}
		var open []string
		for e := a.order.Front(); e != nil; e = e.Next() {
			open = append(open, e.Value.(*Sheet).Name)
		}
		if !slices.Equal(open, order) || a.Level().Bytes != each*int64(len(order)) {
			t.Fatalf("open are %v with %d bytes, the twin has %v", open, a.Level().Bytes, order)
		}
	}
	if len(closed) == 0 {
		t.Error("nothing was ever closed")
	}
	for _, v := range views {
		v.Close()
	}
	if l := a.Level(); l.Bytes > 4*each || l.Open > 3 {
		t.Errorf("with nobody looking %+v", l)
	}
}

// TestOpenedOnce: many who ask for one closed map at once wait for one opening.
func TestOpenedOnce(t *testing.T) {
	dir := t.TempDir()
	a := opened(t, Options{}, moved(t, dir, hamlet(), "a", 0), moved(t, dir, hamlet(), "b", 2))
	var all sync.WaitGroup
	sheets := make([]*Sheet, 40)
	for i := range sheets {
		all.Go(func() {
			v := a.View()
			defer v.Close()
			sheets[i], _ = v.At(t.Context(), middle(0).Lon, middle(0).Lat)
		})
	}
	all.Wait()
	for _, s := range sheets {
		if s == nil || s != sheets[0] {
			t.Fatal("not all have the same map")
		}
	}
	if l := a.Level(); l.Opened != 1 {
		t.Errorf("it was opened %d times", l.Opened)
	}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	s := &Sheet{Tile: a.Tiles()[1], ready: make(chan struct{})} // somebody else is still at it
	s.at = a.order.PushFront(s)
	a.sheets[s.id] = s
	if _, err := a.open(gone, s.Tile); !errors.Is(err, context.Canceled) || s.users != 0 {
		t.Errorf("who has gone waits on: %v, %d users", err, s.users)
	}
}

// TestOneCannotBeOpened: it is named with what to do, the others go on; mended, it is
// there again.
func TestOneCannotBeOpened(t *testing.T) {
	dir := t.TempDir()
	good, bad := moved(t, dir, hamlet(), "good", 0), moved(t, dir, hamlet(), "bad", 2)
	a := opened(t, Options{}, good, bad)
	whole, err := os.ReadFile(bad)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what string
		harm func() error
		says string
	}{
		{"cut short", func() error { return os.WriteFile(bad, whole[:len(whole)/2], 0o600) }, "import it anew"},
		{"gone", func() error { return os.Remove(bad) }, "put the file back"},
	} {
		if err := c.harm(); err != nil {
			t.Fatal(err)
		}
		v := a.View()
		_, err := v.At(t.Context(), middle(2).Lon, middle(2).Lat)
		var told *TileError
		if !errors.As(err, &told) || told.Name != "bad" || !strings.Contains(err.Error(), bad) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", c.what, err)
		}
		if s := at(t, v, middle(0)); s.Name != "good" {
			t.Errorf("%s: the other map is %s", c.what, s.Name)
		}
		missing := 0
		found, err := v.Find(t.Context(), "Alder Street", nil, 5, func(error) { missing++ })
		if err != nil || len(found) != 1 || missing == 0 {
			t.Errorf("%s: found %v, %d missing, %v", c.what, found, missing, err)
		}
		v.Close()
	}
	if err := os.WriteFile(bad, whole, 0o600); err != nil {
		t.Fatal(err)
	}
	v := a.View()
	defer v.Close()
	if s := at(t, v, middle(2)); s.Name != "bad" {
		t.Errorf("mended, %s answers", s.Name)
	}
	for _, paths := range [][]string{nil, {filepath.Join(dir, "none.wb")}, {dir}} {
		if _, err := Open(t.Context(), paths, Options{}); err == nil {
			t.Errorf("%v is an atlas", paths)
		}
	}
}

// TestReload: who looks keeps the old map, who comes has the new one; the old one is closed
// when the last has gone; a new one that cannot be read changes nothing.
func TestReload(t *testing.T) {
	dir := t.TempDir()
	path, other := moved(t, dir, hamlet(), "a", 0), moved(t, dir, hamlet(), "b", 2)
	a := opened(t, Options{}, path, other)
	var closed []*routing.Planner
	a.OnClosing(func(p *routing.Planner) { closed = append(closed, p) })
	old := a.View()
	was, beside := at(t, old, middle(0)), at(t, old, middle(2))
	made := 0
	thing := func(v *View, s *Sheet) int { return Beside(v, s, func() (int, int64) { made++; return made, 100 }) }
	if first, again := thing(old, beside), thing(old, beside); first != 1 || again != 1 {
		t.Error("what is kept beside a map is made again")
	}
	if c, err := a.Reload(t.Context()); err != nil || c != (Change{Tiles: 2}) {
		t.Errorf("unchanged: %+v, %v", c, err)
	}

	then := time.Unix(1e9, 0) // another time than the old file's
	if err := os.WriteFile(path, []byte("no map"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(path, then, then); err != nil {
		t.Fatal(err)
	}
	_, err := a.Reload(t.Context())
	if told := (*TileError)(nil); !errors.As(err, &told) || told.Path != path || !strings.Contains(err.Error(), "stay as they were") {
		t.Errorf("a file that is no map: %v", err)
	}
	mid := a.View()
	if s := at(t, mid, middle(0)); s != was {
		t.Error("a map that cannot be read took the place of the old one")
	}
	mid.Close()

	var d maptest.Drawing
	d.Way("highway=residential;name=Alder Street", 0, 0, 400, 0, 800, 0) // without the lane
	moved(t, dir, d.Map(t), "a", 0)
	if c, err := a.Reload(t.Context()); err != nil || c != (Change{Tiles: 2, New: 1, Gone: 1}) {
		t.Errorf("changed: %+v, %v", c, err)
	}
	fresh := a.View()
	if is := at(t, fresh, middle(0)); is == was || is.Planner.Snapshot().Graph.EdgeCount() == was.Planner.Snapshot().Graph.EdgeCount() {
		t.Error("after it the old map answers who comes")
	}
	if s := at(t, fresh, middle(2)); s != beside || thing(fresh, s) != 2 || thing(old, s) != 3 {
		t.Error("the map that did not change was opened anew, or keeps what depended on the others")
	}
	if len(closed) != 0 || at(t, old, middle(0)).Planner != was.Planner {
		t.Error("who was looking lost the old map")
	}
	old.Close()
	if len(closed) != 1 || closed[0] != was.Planner {
		t.Errorf("%d maps were closed with the last who looked", len(closed))
	}
	fresh.Close()
	if l := a.Level(); l.Open != 2 || l.Tiles != 2 {
		t.Errorf("in the end %+v", l)
	}
	sum := int64(0)
	for _, s := range a.sheets {
		sum += s.bytes
	}
	if sum != a.Level().Bytes {
		t.Errorf("%d bytes are counted, %d are open", a.Level().Bytes, sum)
	}
	if c, err := Of(was.Planner).Reload(t.Context()); err != nil || c.New+c.Gone > 0 {
		t.Errorf("maps in memory: %+v, %v", c, err)
	}
	a.reloading.Lock()
	if _, err := a.Reload(t.Context()); !errors.Is(err, ErrReloading) {
		t.Errorf("twice at once: %v", err)
	}
	a.reloading.Unlock()
}

// world is Web Mercator's square (OGC 17-083r4, annex D).
var world = Box{-180, -85.051128779806589, 180, 85.051128779806589}

// halves makes a folder of two tiles, which end at the middle of the hamlet, with its
// table and one after it of which the western tile is another.
func halves(t *testing.T, dir string) [2]contents.Table {
	t.Helper()
	add := func(key string, core Box, name string) contents.Tile {
		t.Helper()
		file, bytes, err := contents.FileName(key, moved(t, dir, hamlet(), name, 0))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.Rename(filepath.Join(dir, name+".wb"), filepath.Join(dir, file)); err != nil {
			t.Fatal(err)
		}
		return contents.Tile{Key: key, File: file, Bytes: bytes, Core: contents.Box(core), Served: contents.Box(core), Name: name, Zone: "Etc/GMT", Licence: snapshot.Licence}
	}
	east, west := world, world
	east[0], west[2] = middle(0).Lon, middle(0).Lon
	tables := [2]contents.Table{
		{Made: time.Unix(0, 0), MapTime: time.Unix(1e9, 0), Tiles: []contents.Tile{add("0", west, "West"), add("1", east, "East")}},
		{Made: time.Unix(1, 0), Tiles: []contents.Tile{add("0", west, "West2"), add("1", east, "East")}},
	}
	if err := contents.Write(dir, tables[0]); err != nil {
		t.Fatal(err)
	}
	return tables
}

// TestBucket: tiles of a bucket come when somebody asks for a place on them; what came
// serves on when the bucket is gone, also after a new start, and a reload changes nothing.
func TestBucket(t *testing.T) {
	dir, far, cache := t.TempDir(), t.TempDir(), t.TempDir()
	tables, p := halves(t, dir), middle(0)
	bucket := "file://" + filepath.ToSlash(far) + "?no_tmp_dir=true"
	o := Options{Cache: cache, Now: func() time.Time { return time.Unix(2e9, 0) }}
	up, err := depot.Open(t.Context(), bucket, depot.Options{Dir: t.TempDir(), Now: o.Now})
	if err != nil {
		t.Fatal(err)
	}
	publish := func(table contents.Table) {
		t.Helper()
		err := contents.Write(dir, table)
		if err == nil {
			_, err = up.Publish(t.Context(), dir)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	publish(tables[0])
	a := opened(t, o, bucket)
	if n := len(here(a)); n != 0 {
		t.Errorf("%d tiles came before anybody asked", n)
	}
	west := Place{p.Lon - 1e-4, p.Lat}
	v := a.View()
	if s := at(t, v, west); s.Name != "West" || len(here(a)) != 1 {
		t.Errorf("the west is answered by %s, here are %v", s.Name, here(a))
	}
	publish(tables[1])
	if c, err := a.Reload(t.Context()); err != nil || c != (Change{Tiles: 2, New: 1, Gone: 1}) {
		t.Errorf("%+v, %v", c, err)
	}
	w := a.View()
	if s := at(t, w, west); s.Name != "West2" {
		t.Errorf("after the new table %s", s.Name)
	}
	if err := os.RemoveAll(far); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Reload(t.Context()); err == nil {
		t.Error("read anew from a bucket that is gone")
	}
	for _, a := range []*Atlas{a, opened(t, o, bucket+"&create_dir=true")} { // the folder is that of the bucket, however it is opened
		v := a.View()
		if s := at(t, v, west); s.Name != "West2" {
			t.Errorf("without the bucket %s", s.Name)
		}
		var told *TileError
		if _, err := v.At(t.Context(), p.Lon+1e-4, p.Lat); !errors.As(err, &told) || told.Name != "East" {
			t.Errorf("what never came: %v", err)
		}
		v.Close()
	}
	v.Close()
	w.Close()
	if _, err := Open(t.Context(), []string{bucket + "&create_dir=true"}, Options{Now: o.Now}); err == nil || !strings.Contains(err.Error(), "--cache") {
		t.Errorf("without a folder on this machine: %v", err)
	}
}

// TestFolder: a folder of tiles is as many maps, found by their cores; a new table takes
// the place of the old one.
func TestFolder(t *testing.T) {
	dir := t.TempDir()
	tables, p := halves(t, dir), middle(0)
	a := opened(t, Options{}, dir)
	v := a.View()
	if s := at(t, v, Place{p.Lon - 1e-4, p.Lat}); s.Name != "West" || s.MapTime.Unix() != 1e9 || s.Licence == "" {
		t.Errorf("in the west %+v", s.Tile)
	}
	if s := at(t, v, p); s.Name != "East" {
		t.Errorf("on the line between, which is the eastern tile's, %s", s.Name)
	}
	if err := contents.Write(dir, tables[1]); err != nil {
		t.Fatal(err)
	}
	if c, err := a.Reload(t.Context()); err != nil || c != (Change{Tiles: 2, New: 1, Gone: 1}) {
		t.Errorf("%+v, %v", c, err)
	}
	w := a.View()
	if s := at(t, w, Place{p.Lon - 1e-4, p.Lat}); s.Name != "West2" {
		t.Errorf("after the new table %s", s.Name)
	}
	if b := w.Bounds(); b != world {
		t.Errorf("all of it is %v", b)
	}
	v.Close()
	w.Close()
	lost := tables[0]
	lost.Tiles[0].File = "0.0123456789ab.wb"
	if err := contents.Write(dir, lost); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Reload(t.Context()); err == nil || !strings.Contains(err.Error(), "0123456789ab") {
		t.Errorf("a table that names a file that is not there: %v", err)
	}
	if names := Names(a.Tiles()); names != "West2, East" {
		t.Errorf("then there are %s", names)
	}
}

// TestNamesOfAllMaps: the answers of several maps are in the order that one would give
// them, each place once; maps whose words hold nothing of the text stay closed.
func TestNamesOfAllMaps(t *testing.T) {
	dir := t.TempDir()
	a := opened(t, Options{}, moved(t, dir, hamlet(), "near", 0), moved(t, dir, hamlet(), "far", 3), moved(t, dir, maptest.Invented(), "town", 0))
	v := a.View()
	defer v.Close()
	find := func(text string, near *Place) []Found {
		t.Helper()
		found, err := v.Find(t.Context(), text, near, 8, func(err error) { t.Error(err) })
		if err != nil {
			t.Fatal(err)
		}
		return found
	}
	here := middle(3)
	found := find("birch lane", &here)
	if len(found) != 2 || found[0].Tile.Name != "far" || found[1].Tile.Name != "near" || found[0].AwayM > 600 || found[1].AwayM < 100_000 {
		t.Errorf("near the far one: %+v", found)
	}
	if l := a.Level(); l.Opened != 2 {
		t.Errorf("%d maps were opened for a name that two have", l.Opened)
	}
	own := maptest.Invented().Names.Find("12 Weaver Row", nil, 8)
	door := find("12 Weaver Row", nil)
	if len(door) != len(own) || door[0].Kind != gazetteer.Door || door[0].Name != own[0].Name {
		t.Errorf("a door: %+v, its map alone finds %+v", door, own)
	}
	if got := find("Weavr Row", nil); len(got) == 0 || !got[0].Forgiven {
		t.Errorf("with a letter missing: %+v", got)
	}
	if got := find("zzyzx", nil); len(got) != 0 {
		t.Errorf("nothing is called %+v", got)
	}
}
