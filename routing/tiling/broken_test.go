package tiling_test

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/cut"
	"wideberth/osmdata/flatfile"
	"wideberth/routing/contents"
	"wideberth/routing/snapshot"
	"wideberth/routing/tiling"
)

// Broken off wherever it tells how far it is, an import leaves what it had for those who
// read, goes on, and ends with what one in one go makes.
func TestBrokenOffAnywhere(t *testing.T) {
	want := imported(t, t.TempDir(), options()).Table
	told := 0
	o := options()
	o.Progress = func(tiling.Progress) { told++ }
	imported(t, t.TempDir(), o)
	const tries = 5
	stopped := 0
	dir := t.TempDir() // each goes on from where the one before was broken off
	for k := range tries {
		ctx, cancel := context.WithCancel(t.Context())
		n, last := 0, 0.0
		o.Progress = func(p tiling.Progress) {
			if n++; n > told*k/tries {
				cancel()
			}
			if p.Stage == "" {
				if p.Share < last || p.Share > 1 || p.Done > p.Tiles {
					t.Errorf("after %g it is at %+v", last, p)
				}
				last = p.Share
			}
		}
		_, err := o.Import(ctx, hamlets(""), dir)
		cancel()
		if err == nil {
			break
		}
		if stopped++; !errors.Is(err, context.Canceled) {
			t.Fatalf("broken off at %d of %d: %v", told*k/tries, told, err)
		}
		if _, err := contents.Read(dir); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("broken off there is a table: %v", err)
		}
	}
	if stopped < 3 {
		t.Errorf("broken off %d times", stopped)
	}
	if got := imported(t, dir, options()).Table; !reflect.DeepEqual(got, want) {
		t.Errorf("broken off and gone on it is\n%+v, at once\n%+v", got, want)
	}
	if c := must(tiling.Check(t.Context(), dir)); len(c.Breaches)+len(c.Leftovers) > 0 || c.Broken {
		t.Errorf("%+v", c)
	}
}

// files lists what lies in a folder and those within.
func files(t *testing.T, dir string) (out []string) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			out = append(out, path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// Whatever files of a map are lost, tiles, outputs, blocks, the table itself, importing
// again makes the same map.
func TestFilesLost(t *testing.T) {
	whole := t.TempDir()
	want := imported(t, whole, options()).Table
	rng := rand.New(rand.NewPCG(8, 1))
	for range 3 {
		dir := t.TempDir()
		if err := os.CopyFS(dir, os.DirFS(whole)); err != nil {
			t.Fatal(err)
		}
		var lost []string
		for _, path := range files(t, dir) {
			if rng.IntN(3) == 0 {
				lost = append(lost, filepath.Base(path))
				if err := os.Remove(path); err != nil {
					t.Fatal(err)
				}
			}
		}
		if got := imported(t, dir, options()).Table; !reflect.DeepEqual(got, want) {
			t.Errorf("without %v it is\n%+v, before\n%+v", lost, got, want)
		}
		for _, tile := range want.Tiles {
			if err := tile.Verify(dir); err != nil {
				t.Errorf("without %v: %v", lost, err)
			}
		}
	}
}

// A map that states bounds far from what it holds, or that cut off all but a corner, is
// the map without them.
func TestLyingBounds(t *testing.T) {
	table := func(bounds string) contents.Table {
		text := must(readAll(hamlets("")))
		text = strings.Replace(text, `<osm timestamp="2026-11-01T00:00:00Z">`, `<osm timestamp="2026-11-01T00:00:00Z">`+bounds, 1)
		res, err := options().Import(t.Context(), strings.NewReader(text), t.TempDir())
		if err != nil {
			t.Fatalf("%s: %v", bounds, err)
		}
		return res.Table
	}
	want := table("")
	for _, bounds := range []string{
		`<bounds minlon="20" minlat="10" maxlon="21" maxlat="11"/>`, `<bounds minlon="-180" minlat="-90" maxlon="180" maxlat="90"/>`,
		`<bounds minlon="-6.7" minlat="47.2" maxlon="-6.69" maxlat="47.201"/>`,
	} {
		got := table(bounds)
		if len(got.Tiles) != len(want.Tiles) {
			t.Errorf("%s: %d tiles of %d", bounds, len(got.Tiles), len(want.Tiles))
			continue
		}
		for i := range got.Tiles {
			if got.Tiles[i].Key != want.Tiles[i].Key || got.Tiles[i].Name != want.Tiles[i].Name {
				t.Errorf("%s: tile %s %s, want %s %s", bounds, got.Tiles[i].Key, got.Tiles[i].Name, want.Tiles[i].Key, want.Tiles[i].Name)
			}
		}
	}
}

func readAll(r *strings.Reader) (string, error) {
	b := make([]byte, r.Len())
	_, err := r.Read(b)
	return string(b), err
}

// cutHamlets are their blocks in a folder, looked at, with what each is told.
func cutHamlets(t *testing.T, dir string) (surveys []tiling.Step) {
	t.Helper()
	blocks, err := cut.Options{Picker: osmdata.NewPicker(snapshot.Rules()), MarginM: 100, TileBytes: 1}.Cut(t.Context(), hamlets(""), dir)
	if err != nil {
		t.Fatal(err)
	}
	glances := must(tiling.StepsOf(tiling.Glance, blocks, options().Settings, nil))
	for i := range glances {
		if err := glances[i].Do(t.Context(), dir, nil); err != nil {
			t.Fatal(err)
		}
	}
	return must(tiling.StepsOf(tiling.Survey, blocks, options().Settings, must(tiling.Gather(dir, glances))))
}

// A step whose inputs are missing or spoilt says which, and leaves no output that another
// would take for done.
func TestStepsOfSpoiltInputs(t *testing.T) {
	whole := t.TempDir()
	surveys := cutHamlets(t, whole)
	for what, c := range map[string]struct {
		spoil func(s *tiling.Step, dir string) error
		want  error
	}{
		"no block":            {func(s *tiling.Step, dir string) error { return os.Remove(filepath.Join(dir, s.Inputs[0])) }, fs.ErrNotExist},
		"a block cut off":     {func(s *tiling.Step, dir string) error { return os.Truncate(filepath.Join(dir, s.Inputs[0]), 100) }, nil},
		"told nothing":        {func(s *tiling.Step, dir string) error { return os.Remove(filepath.Join(dir, s.Inputs[1])) }, fs.ErrNotExist},
		"told half a story":   {func(s *tiling.Step, dir string) error { return os.Truncate(filepath.Join(dir, s.Inputs[1]), 20) }, flatfile.ErrDamaged},
		"broken off at once":  {nil, context.Canceled},
		"no room for outputs": {func(_ *tiling.Step, dir string) error { return spoilFolder(filepath.Join(dir, "steps")) }, nil},
	} {
		dir := t.TempDir()
		if err := os.CopyFS(dir, os.DirFS(whole)); err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(t.Context())
		s := surveys[0]
		if c.spoil == nil {
			cancel()
		} else if err := c.spoil(&s, dir); err != nil {
			t.Fatal(err)
		}
		err := s.Do(ctx, dir, nil)
		cancel()
		if err == nil || c.want != nil && !errors.Is(err, c.want) {
			t.Errorf("%s: %v", what, err)
		}
		if s.Done(dir) {
			t.Errorf("%s: done", what)
		}
	}
}

// spoilFolder puts a file where a folder was.
func spoilFolder(path string) error {
	return errors.Join(os.RemoveAll(path), os.WriteFile(path, nil, 0o600))
}

// Steps are handed out where somebody else does them, in whatever order, and the map is
// the same; what fails there fails here, and what was done is kept.
func TestShared(t *testing.T) {
	want := imported(t, t.TempDir(), options()).Table
	dir, rng, fail := t.TempDir(), rand.New(rand.NewPCG(9, 1)), errors.New("the other machine burns")
	o := options()
	calls := 0
	var shown []tiling.Progress
	var mu sync.Mutex
	o.Progress = func(p tiling.Progress) {
		mu.Lock()
		defer mu.Unlock()
		if p.Stage == "" {
			shown = append(shown, p)
		}
	}
	o.Share = func(ctx context.Context, due []*tiling.Step, done func(i int)) error {
		if calls++; calls == 3 { // the joins
			return fail
		}
		for _, i := range rng.Perm(len(due)) {
			if err := due[i].Do(ctx, dir, nil); err != nil {
				return fmt.Errorf("step %d: %w", i, err)
			}
			done(i)
		}
		return nil
	}
	if _, err := o.Import(t.Context(), hamlets(""), dir); !errors.Is(err, fail) {
		t.Fatal(err)
	}
	res, err := o.Import(t.Context(), hamlets(""), dir)
	if err != nil || !reflect.DeepEqual(res.Table, want) {
		t.Fatalf("%+v, %v; want %+v", res, err, want)
	}
	if res.Kept == 0 || len(shown) == 0 || shown[len(shown)-1].Done != shown[len(shown)-1].Tiles {
		t.Errorf("kept %d, shown %+v", res.Kept, shown)
	}
}

// town is a settlement about a hamlet that says how many people live in it.
func town(n int, lon, lat float64, people string) string {
	return fmt.Sprintf(`<node id="%d77" lon="%.7f" lat="%.7f"><tag k="place" v="town"/><tag k="name" v="Town %d"/><tag k="population" v="%s"/></node>`, n, lon, lat, n, people)
}

// What a settlement says of its people makes its own tile anew, and leaves alone what was
// surveyed elsewhere.
func TestSettlementElsewhere(t *testing.T) {
	dir := t.TempDir()
	names := func(people string) map[string]string {
		text := must(readAll(hamlets("")))
		at := strings.Index(text, `<way id=`)
		text = text[:at] + town(5, -6.88+.002, 47.2015, people) + text[at:]
		if err := os.RemoveAll(filepath.Join(dir, cut.Folder)); err != nil {
			t.Fatal(err)
		}
		blocks, err := cut.Options{Picker: osmdata.NewPicker(snapshot.Rules()), MarginM: 100, TileBytes: 1}.Cut(t.Context(), strings.NewReader(text), dir)
		if err != nil {
			t.Fatal(err)
		}
		glances := must(tiling.StepsOf(tiling.Glance, blocks, options().Settings, nil))
		for i := range glances {
			if err := glances[i].Do(t.Context(), dir, nil); err != nil {
				t.Fatal(err)
			}
		}
		out := map[string]string{}
		for key, name := range must(tiling.Gather(dir, glances)) {
			out[key] = name
		}
		return out
	}
	few, many := names("150"), names("900")
	var moved []string
	for key := range few {
		if few[key] != many[key] {
			moved = append(moved, key)
		}
	}
	if len(few) < 3 || len(moved) > 1 {
		t.Errorf("of %d parts %v are told otherwise", len(few), moved)
	}
}
