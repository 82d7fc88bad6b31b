package tiling_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/cut"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/flatfile"
	"wideberth/routing/contents"
	"wideberth/routing/snapshot"
	"wideberth/routing/tiling"
)

var now = time.Date(2026, 11, 30, 12, 0, 0, 0, time.UTC)

// hamlet is a green with two streets and a house, so many metres to a side, whose names
// and ids begin with n.
func hamlet(n int, lon, lat float64, more string) string {
	var b strings.Builder
	node := func(i int, dx, dy float64) {
		fmt.Fprintf(&b, `<node id="%d%02d" lon="%.7f" lat="%.7f"/>`, n, i, lon+dx, lat+dy)
	}
	for i, at := range [][2]float64{{0, 0}, {.004, 0}, {.004, .003}, {0, .003}, {.002, .003}, {.001, .001}, {.0012, .001}, {.0012, .0011}, {.001, .0011}} {
		node(i+1, at[0], at[1])
	}
	way := func(i int, refs []int, tags string) {
		fmt.Fprintf(&b, `<way id="%d%02d">`, n, i)
		for _, r := range refs {
			fmt.Fprintf(&b, `<nd ref="%d%02d"/>`, n, r)
		}
		b.WriteString(tags + `</way>`)
	}
	way(1, []int{1, 2, 3, 5, 4, 1}, fmt.Sprintf(`<tag k="highway" v="residential"/><tag k="name" v="Weaver Row %d"/>`, n))
	way(2, []int{1, 5}, `<tag k="highway" v="footway"/>`)
	way(3, []int{6, 7, 8, 9, 6}, `<tag k="building" v="house"/>`+more)
	fmt.Fprintf(&b, `<node id="%d99" lon="%.7f" lat="%.7f"><tag k="place" v="hamlet"/><tag k="name" v="Hamlet %d"/></node>`, n, lon+.002, lat+.002, n)
	return b.String()
}

// hamlets are three of them, some ten kilometres apart, in tiles of their own, and a
// lonely house in a fourth.
func hamlets(more string) *strings.Reader {
	house := `<node id="901" lon="-6.5" lat="47.2"/><node id="902" lon="-6.501" lat="47.2"/><node id="903" lon="-6.501" lat="47.201"/>
<way id="901"><nd ref="901"/><nd ref="902"/><nd ref="903"/><nd ref="901"/><tag k="building" v="house"/></way>`
	return strings.NewReader(`<osm timestamp="2026-11-01T00:00:00Z">` + hamlet(1, -7, 47.2, "") + hamlet(2, -6.88, 47.2, more) + hamlet(3, -6.76, 47.2, "") + house + `</osm>`)
}

func options() tiling.Options {
	return tiling.Options{
		Settings: tiling.Settings{Map: "hamlets.osm", Country: "GB", Tool: "test"}, TileBytes: 1, MarginM: 100,
		Now: func() time.Time { return now },
	}
}

func imported(t *testing.T, dir string, o tiling.Options) *tiling.Result {
	t.Helper()
	res, err := o.Import(t.Context(), hamlets(""), dir)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

// TestImport: each hamlet becomes a tile that is an ordinary snapshot, of its place, and
// the table says where; what has no way to walk becomes none.
func TestImport(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "map")
	res := imported(t, dir, options())
	table, err := contents.Read(dir)
	if err != nil || !reflect.DeepEqual(table, res.Table) {
		t.Fatalf("%+v, %v; want %+v", table, err, res.Table)
	}
	if len(table.Tiles) != 3 || res.Empty != 1 || res.Kept != 0 || !table.Made.Equal(now) || table.MapTime.Format(time.DateOnly) != "2026-11-01" {
		t.Fatalf("%+v", res)
	}
	for i, lon := range []float64{-7, -6.88, -6.76} {
		holding := slices.DeleteFunc(slices.Clone(table.Tiles), func(tile contents.Tile) bool { return !tile.Core.Holds(lon+.001, 47.201) })
		if len(holding) != 1 {
			t.Fatalf("hamlet %d lies in %d cores", i+1, len(holding))
		}
		s, err := snapshot.Open(filepath.Join(dir, holding[0].File))
		if err != nil {
			t.Fatal(err)
		}
		if want := fmt.Sprintf("hamlets (Hamlet %d)", i+1); s.Name != want || holding[0].Name != want || holding[0].Country != "GB" || s.Zone != holding[0].Zone {
			t.Errorf("tile %+v holds %s, want %s", holding[0], s.Name, want)
		}
		if s.Graph.EdgeCount() == 0 || len(s.Check()) > 0 {
			t.Errorf("hamlet %d has %d edges: %v", i+1, s.Graph.EdgeCount(), s.Check())
		}
	}
	// Nothing beside the tiles can be taken for one, and nothing is half-written.
	for _, e := range must(os.ReadDir(dir)) {
		if strings.HasPrefix(e.Name(), ".") || e.Name() == cut.Unfinished {
			t.Errorf("%s is left over", e.Name())
		}
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// TestKeeps: importing again keeps the tiles that did not change, and the files of the
// table before stay until the import after.
func TestKeeps(t *testing.T) {
	dir := t.TempDir()
	first := imported(t, dir, options())
	if res := imported(t, dir, options()); res.Kept != 4 || !reflect.DeepEqual(res.Table, first.Table) {
		t.Errorf("the same again: %+v", res)
	}
	res, err := options().Import(t.Context(), hamlets(`<tag k="addr:housenumber" v="7"/>`), dir)
	if err != nil || res.Kept != 3 {
		t.Fatalf("%+v, %v: three of four parts are as they were", res, err)
	}
	gone := slices.DeleteFunc(slices.Clone(first.Table.Tiles), func(tile contents.Tile) bool { return slices.Contains(res.Table.Tiles, tile) })
	if len(gone) != 1 {
		t.Fatalf("%d tiles changed", len(gone))
	}
	if err := gone[0].Verify(dir); err != nil {
		t.Errorf("who still reads the table before finds %v", err)
	}
	left := must(tiling.Check(t.Context(), dir)).Leftovers
	if !slices.Equal(left, []string{gone[0].File}) {
		t.Errorf("left over: %v, want %s", left, gone[0].File)
	}
	other := options()
	other.Tool = "later"
	if res := imported(t, dir, other); res.Kept != 0 {
		t.Errorf("another program kept %d", res.Kept)
	}
	if err := gone[0].Verify(dir); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("left over for ever: %v", err)
	}
}

// TestGoesOn: broken off after a tile, an import leaves no table, and goes on with what
// is done; where there was a table it stays until the end.
func TestGoesOn(t *testing.T) {
	dir := t.TempDir()
	ctx, cancel := context.WithCancel(t.Context())
	o := options()
	o.MemoryBytes = 1 // one after the other
	var shares []float64
	o.Progress = func(p tiling.Progress) {
		if p.Stage == "" {
			shares = append(shares, p.Share)
		}
		if p.Done == 2 {
			cancel()
		}
	}
	if _, err := o.Import(ctx, hamlets(""), dir); !errors.Is(err, context.Canceled) {
		t.Fatal(err)
	}
	if !slices.IsSorted(shares) || len(shares) == 0 {
		t.Errorf("told %v", shares)
	}
	if _, err := contents.Read(dir); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a table: %v", err)
	}
	res := imported(t, dir, options())
	if res.Kept < 2 || res.Kept > 7 { // tiles, and the surveys of all four parts
		t.Errorf("kept %d", res.Kept)
	}
	if whole := imported(t, t.TempDir(), options()); !reflect.DeepEqual(whole.Table, res.Table) {
		t.Errorf("gone on it is\n%+v, at once\n%+v", res.Table, whole.Table)
	}
	broken, stop := context.WithCancel(t.Context())
	o.Progress = func(tiling.Progress) { stop() }
	o.Tool = "later"
	if _, err := o.Import(broken, hamlets(""), dir); err == nil {
		t.Fatal("not broken off")
	}
	if table, err := contents.Read(dir); err != nil || !reflect.DeepEqual(table, res.Table) {
		t.Errorf("the table before is %+v, %v", table, err)
	}
	for _, tile := range res.Table.Tiles {
		if err := tile.Verify(dir); err != nil {
			t.Error(err)
		}
	}
}

// TestLeft: the time left is told from the rate until now, by a clock that is handed in.
func TestLeft(t *testing.T) {
	o := options()
	o.MemoryBytes = 1
	at := now
	o.Now = func() time.Time { at = at.Add(time.Second); return at }
	var last tiling.Progress
	told := 0
	o.Progress = func(p tiling.Progress) {
		if p.Stage == "" && p.Left > 0 {
			told++
			elapsed := at.Sub(now)
			if rest := float64(elapsed) * (1 - p.Share) / p.Share; float64(p.Left) > rest || float64(p.Left) < rest/4 {
				t.Errorf("after %v and %.2f of the whole %v are left", elapsed, p.Share, p.Left)
			}
		}
		last = p
	}
	imported(t, t.TempDir(), o)
	if told == 0 || last.Share != 1 || last.Done != 4 || last.Tiles != 4 || last.Left != 0 {
		t.Errorf("told %d times, last %+v", told, last)
	}
}

// TestRefused: one import at a time, into a folder of its own.
func TestRefused(t *testing.T) {
	dir := t.TempDir()
	o := options()
	ran := false
	o.Progress = func(tiling.Progress) {
		if !ran {
			ran = true
			if _, err := options().Import(t.Context(), hamlets(""), dir); !errors.Is(err, flatfile.ErrInUse) {
				t.Errorf("two at once: %v", err)
			}
		}
	}
	imported(t, dir, o)
	other := t.TempDir()
	if err := os.WriteFile(filepath.Join(other, "letters.txt"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	var wrong fault.Problems
	if _, err := options().Import(t.Context(), hamlets(""), other); !errors.As(err, &wrong) || !strings.Contains(err.Error(), "letters.txt") {
		t.Errorf("a folder with other things: %v", err)
	}
	if _, err := options().Import(t.Context(), strings.NewReader(`<osm><node id="1" lon="1" lat="1"/></osm>`), t.TempDir()); !errors.Is(err, osmdata.ErrNothingToWalk) {
		t.Errorf("nothing to walk: %v", err)
	}
}

// TestStepElsewhere: a step that went as text to another machine does there from its
// inputs what it does here, and once only.
func TestStepElsewhere(t *testing.T) {
	here, there := t.TempDir(), t.TempDir()
	o := options()
	blocks, err := cut.Options{Picker: osmdata.NewPicker(snapshot.Rules()), MarginM: 100, TileBytes: 1}.Cut(t.Context(), hamlets(""), here)
	if err != nil {
		t.Fatal(err)
	}
	glances := must(tiling.StepsOf(tiling.Glance, blocks, o.Settings, nil))
	for i := range glances {
		if err := glances[i].Do(t.Context(), here, nil); err != nil {
			t.Fatal(err)
		}
	}
	steps := must(tiling.StepsOf(tiling.Survey, blocks, o.Settings, must(tiling.Gather(here, glances))))
	var s tiling.Step
	if err := json.Unmarshal(must(json.Marshal(steps[0])), &s); err != nil {
		t.Fatal(err)
	}
	for _, in := range s.Inputs {
		if err := os.MkdirAll(filepath.Dir(filepath.Join(there, in)), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(there, in), must(os.ReadFile(filepath.Join(here, in))), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for dir, step := range map[string]*tiling.Step{here: &steps[0], there: &s} {
		if step.Done(dir) {
			t.Error("done before it was begun")
		}
		if err := step.Do(t.Context(), dir, nil); err != nil || !step.Done(dir) {
			t.Fatalf("%v", err)
		}
	}
	if a, b := must(os.ReadFile(filepath.Join(here, steps[0].Output))), must(os.ReadFile(filepath.Join(there, s.Output))); string(a) != string(b) || len(a) == 0 {
		t.Errorf("%d bytes here and %d other ones there", len(a), len(b))
	}
	if err := os.Remove(filepath.Join(there, s.Inputs[0])); err != nil {
		t.Fatal(err)
	}
	if err := s.Do(t.Context(), there, nil); err != nil {
		t.Errorf("done again: %v", err)
	}
	for _, spoil := range []func(*tiling.Step){func(s *tiling.Step) { s.Kind = "other" }, func(s *tiling.Step) { s.Settings.Format++ }} {
		other := s
		other.Output = "other"
		spoil(&other)
		if err := other.Do(t.Context(), there, nil); err == nil || !strings.Contains(err.Error(), "not one of this program") {
			t.Errorf("a step of another program: %v", err)
		}
	}
}

// TestCounts: a count goes to the tiles that reach it, changes no other, and one off the
// map or off any way is told by its row.
func TestCounts(t *testing.T) {
	ten := 10.0
	count := func(lon float64) tiling.Count {
		return tiling.Count{Count: exposure.Count{Lat: 47.2, Lon: lon, Start: now, Minutes: 10, People: &ten}, Pointer: "/row 2", Told: "row 2"}
	}
	dir := t.TempDir()
	imported(t, dir, options())
	o := options()
	o.Counts = []tiling.Count{count(-6.878)}
	res := imported(t, dir, o)
	if res.Kept != 3 {
		t.Errorf("kept %d", res.Kept)
	}
	counted := 0
	for _, tile := range res.Table.Tiles {
		counted += len(must(snapshot.Open(filepath.Join(dir, tile.File))).Counts)
	}
	if counted != 1 {
		t.Errorf("%d counts in all tiles", counted)
	}
	for _, lon := range []float64{12, -6.87} {
		o.Counts = []tiling.Count{count(lon)}
		var wrong fault.Problems
		if _, err := o.Import(t.Context(), hamlets(""), t.TempDir()); !errors.As(err, &wrong) || len(wrong) != 1 || wrong[0].Pointer != "/row 2/lat" {
			t.Errorf("a count at %v: %v", lon, err)
		}
	}
}

// TestCheck finds what is missing, spoilt, of another version or left over.
func TestCheck(t *testing.T) {
	whole := t.TempDir()
	res := imported(t, whole, options())
	if c := must(tiling.Check(t.Context(), whole)); len(c.Breaches)+len(c.Leftovers) > 0 || c.Broken || len(c.Table.Tiles) != 3 {
		t.Fatalf("%+v", c)
	}
	file := res.Table.Tiles[1].File
	later := t.TempDir()
	o := options()
	o.Tool = "later"
	laterTile := imported(t, later, o).Table.Tiles[1]
	for what, spoil := range map[string]struct {
		do   func(dir string) error
		want error
		told string
	}{
		"missing": {func(dir string) error { return os.Remove(filepath.Join(dir, file)) }, flatfile.ErrMissing, file},
		"spoilt": {func(dir string) error {
			b := must(os.ReadFile(filepath.Join(dir, file)))
			b[len(b)/2] ^= 1
			return os.WriteFile(filepath.Join(dir, file), b, 0o600)
		}, flatfile.ErrDamaged, file},
		"version": {func(dir string) error {
			table := must(contents.Read(dir))
			table.Tiles[1] = laterTile
			b := must(os.ReadFile(filepath.Join(later, laterTile.File)))
			return errors.Join(os.WriteFile(filepath.Join(dir, laterTile.File), b, 0o600), os.Remove(filepath.Join(dir, file)), contents.Write(dir, table))
		}, nil, "version later"},
	} {
		dir := t.TempDir()
		if err := os.CopyFS(dir, os.DirFS(whole)); err != nil {
			t.Fatal(err)
		}
		if err := spoil.do(dir); err != nil {
			t.Fatal(err)
		}
		c := must(tiling.Check(t.Context(), dir))
		if len(c.Breaches) != 1 || !strings.Contains(c.Breaches[0].Error(), spoil.told) || spoil.want != nil && !errors.Is(c.Breaches[0], spoil.want) {
			t.Errorf("%s: %v", what, c.Breaches)
		}
	}
	if err := os.Mkdir(filepath.Join(whole, cut.Unfinished), 0o700); err != nil {
		t.Fatal(err)
	}
	if c := must(tiling.Check(t.Context(), whole)); !c.Broken {
		t.Error("an import that did not end is not told")
	}
	if _, err := tiling.Check(t.Context(), t.TempDir()); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("an empty folder: %v", err)
	}
}

// TestRenewed: a tile whose part of the map changed is made of the one before, and not
// where settings differ or what is kept of it is spoilt.
func TestRenewed(t *testing.T) {
	dir := t.TempDir()
	imported(t, dir, options())
	change := func(dir, number string, o tiling.Options) *tiling.Result {
		res, err := o.Import(t.Context(), hamlets(`<tag k="addr:housenumber" v="`+number+`"/>`), dir)
		if err != nil {
			t.Fatal(err)
		}
		return res
	}
	res := change(dir, "7", options())
	if res.Renewed != 1 || res.Edges == 0 || res.Kept != 3 {
		t.Errorf("%+v", res)
	}
	how, table, err := tiling.Kept(dir)
	if err != nil || how.Map != "hamlets.osm" || how.MarginM != 100 || how.TileBytes != 1 || !reflect.DeepEqual(table, res.Table) {
		t.Errorf("kept %+v, %v", how, err)
	}
	other := options()
	other.Country = "IE"
	if res := change(dir, "8", other); res.Renewed != 0 || res.Kept != 0 {
		t.Errorf("of another country: %+v", res)
	}
	gone := slices.DeleteFunc(slices.Clone(must(contents.Read(dir)).Tiles), func(tile contents.Tile) bool { return !tile.Core.Holds(-6.879, 47.201) })
	if err := os.WriteFile(filepath.Join(dir, gone[0].File), []byte("spoilt"), 0o600); err != nil {
		t.Fatal(err)
	}
	if res := change(dir, "9", other); res.Renewed != 0 || len(res.Table.Tiles) != 3 {
		t.Errorf("of a spoilt tile: %+v", res)
	}
	if _, _, err := tiling.Kept(t.TempDir()); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("of nothing: %v", err)
	}
	bare := must(contents.Read(dir))
	bare.Settings = nil
	if err := contents.Write(dir, bare); err != nil {
		t.Fatal(err)
	}
	if _, _, err := tiling.Kept(dir); err == nil || !strings.Contains(err.Error(), "import it again") {
		t.Errorf("of an import that noted nothing: %v", err)
	}
}
