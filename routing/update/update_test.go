package update_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/flatfile"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/update"
)

const imported = "2026-11-01T00:00:00Z"

// villages draws two villages 16 km apart, joined by a road: so far that nothing that
// happens in one moves a value in the other.
func villages() []byte {
	d := &maptest.Drawing{}
	for _, x := range []float64{0, 16000} {
		for i := range 6 {
			at := float64(i) * 120
			d.Way(fmt.Sprintf("highway=residential;name=Row %d", i), x, at, x+120, at, x+240, at, x+360, at, x+480, at, x+600, at)
			d.Way(fmt.Sprintf("highway=residential;name=Lane %d", i), x+at, 0, x+at, 120, x+at, 240, x+at, 360, x+at, 480, x+at, 600)
			for j := range 5 {
				hx, hy := x+30+120*float64(j), at+20
				d.Way("building=house", hx, hy, hx+12, hy, hx+12, hy+10, hx, hy+10, hx, hy)
			}
		}
		d.Way("leisure=park", x+250, 250, x+350, 250, x+350, 350, x+250, 350, x+250, 250)
		d.Way("highway=footway", x+240, 240, x+360, 360)
		d.Way("landuse=grass", x+380, 380, x+460, 380, x+460, 460, x+380, 460, x+380, 380)
		d.Way("amenity=parking", x+370, 390, x+376, 390, x+376, 396, x+370, 396, x+370, 390)
		d.Way("amenity=school;building=school", x+140, 260, x+220, 260, x+220, 340, x+140, 340, x+140, 260)
	}
	d.Way("highway=tertiary", 600, 0, 4000, 200, 8000, 0, 12000, 300, 16000, 0)
	return d.Extract(imported)
}

// ids finds ways of a drawing by their tags.
func way(t *testing.T, extract []byte, tags string) (id int, refs []string) {
	t.Helper()
	for block := range strings.SplitSeq(string(extract), "</way>") {
		if i := strings.Index(block, "<way "); i >= 0 && strings.Contains(block, tags) {
			if _, err := fmt.Sscanf(block[i:], `<way id="%d"`, &id); err != nil {
				t.Fatal(err)
			}
			for _, part := range strings.Split(block[i:], `ref="`)[1:] {
				refs = append(refs, part[:strings.IndexByte(part, '"')])
			}
			return id, refs
		}
	}
	t.Fatalf("no way with %s", tags)
	return 0, nil
}

// write puts a file into a folder of its own.
func write(t *testing.T, name string, b []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// imports makes the snapshot of an extract.
func imports(t *testing.T, extract string) (path string, s *snapshot.Snapshot) {
	t.Helper()
	s, err := snapshot.Import(t.Context(), extract, snapshot.ImportOptions{Country: "GB"})
	if err != nil {
		t.Fatal(err)
	}
	path = filepath.Join(t.TempDir(), "map.wb")
	if err := s.WriteFile(path); err != nil {
		t.Fatal(err)
	}
	return path, s
}

// applied is an extract with changes laid over it by osmium-tool, which shares no code
// with us.
func applied(t *testing.T, extract string, changes ...string) string {
	t.Helper()
	out := filepath.Join(t.TempDir(), "new"+ending(extract))
	cmd := exec.CommandContext(t.Context(), "osmium", slices.Concat([]string{"apply-changes", extract}, changes, []string{"-o", out})...)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	if err := cmd.Run(); err != nil {
		t.Fatalf("osmium: %v %s (make tools installs it)", err, stderr.String())
	}
	return out
}

func osc(t *testing.T, text string) string {
	t.Helper()
	return write(t, "a.osc", []byte("<osmChange version=\"0.6\">"+text+"</osmChange>"))
}

// TestUpdateIsAnImport: what an update gives is what an import of the updated extract
// gives, row by row, though it surveys one village of two.
func TestUpdateIsAnImport(t *testing.T) {
	extract := villages()
	old := write(t, "map.osm", extract)
	path, before := imports(t, old)
	row, rowRefs := way(t, extract, `v="Row 2"`)
	lane, laneRefs := way(t, extract, `v="Lane 4"`)
	const at = `timestamp="2026-11-02T00:00:00Z"`
	for name, changes := range map[string]string{
		"a street goes":       fmt.Sprintf(`<delete><way id="%d" version="2" %s/></delete>`, row, at),
		"a street is bent":    fmt.Sprintf(`<modify><node id="%s" version="2" %s lat="47.3021" lon="-6.9930"/></modify>`, laneRefs[2], at),
		"a street is a path":  fmt.Sprintf(`<modify><way id="%d" version="2" %s><nd ref="%s"/><nd ref="%s"/><tag k="highway" v="path"/></way></modify>`, lane, at, laneRefs[0], laneRefs[1]),
		"a dog park is made":  fmt.Sprintf(`<create><node id="90001" version="1" %s lat="47.301" lon="-6.997"><tag k="leisure" v="dog_park"/></node></create>`, at),
		"a gate is put there": fmt.Sprintf(`<modify><node id="%s" version="2" %s lat="47.30216" lon="-6.99841"><tag k="barrier" v="gate"/><tag k="access" v="private"/></node></modify>`, rowRefs[1], at),
	} {
		t.Run(name, func(t *testing.T) {
			file := osc(t, changes)
			fresh, err := snapshot.Import(t.Context(), applied(t, old, file), snapshot.ImportOptions{Country: "GB"})
			if err != nil {
				t.Fatal(err)
			}
			mine := write(t, "mine.wb", read(t, path))
			out, err := update.File(t.Context(), mine, update.Options{Extract: old, Changes: []string{file}})
			if err != nil {
				t.Fatal(err)
			}
			if out.Whole != "" || out.Surveyed == 0 || out.Surveyed > out.Edges*6/10 {
				t.Errorf("surveyed %d of %d edges %s", out.Surveyed, out.Edges, out.Whole)
			}
			got, err := snapshot.Open(mine)
			if err != nil {
				t.Fatal(err)
			}
			if breaches := got.Check(); len(breaches) > 0 {
				t.Fatal(breaches)
			}
			equal(t, got, reopened(t, fresh))
			if got.MapTime.Format("2006-01-02") != "2026-11-02" || got.Name != before.Name {
				t.Errorf("map %q of %s", got.Name, got.MapTime)
			}
		})
	}
}

// reopened is a snapshot as its file has it, which keeps some things in steps.
func reopened(t *testing.T, s *snapshot.Snapshot) *snapshot.Snapshot {
	t.Helper()
	path := filepath.Join(t.TempDir(), "again.wb")
	if err := s.WriteFile(path); err != nil {
		t.Fatal(err)
	}
	s, err := snapshot.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// flowsApart is how far flows of an update may lie from those of an import: what the
// survey of a part of a map is held to.
const flowsApart = 0.007

// nearApart is how many steps, of a twelfth of an octave, a bin of a stream nearby may lie
// from that of an import: its passes can fall to either side of the border of a bin.
const nearApart = 6

// equal holds two maps of one extract against each other, row by row.
func equal(t *testing.T, got, want *snapshot.Snapshot) {
	t.Helper()
	if got.Network != want.Network || got.Frame != want.Frame {
		t.Fatalf("network %s, want %s", got.Network, want.Network)
	}
	f, g := got.Field, want.Field
	odd, apart := 0, 0
	var far []string
	for e := range f.EdgeCount() {
		e := int32(e)
		switch a, b := f.Sides(e, false), g.Sides(e, false); {
		case a != b || f.SightBackM[e] != g.SightBackM[e]:
			t.Errorf("edge %d: room and sight %v %g, want %v %g", e, a, f.SightBackM[e], b, g.SightBackM[e])
		case math.Abs(float64(f.LevelDB[e]-g.LevelDB[e])) > 0.1:
			t.Errorf("edge %d: level %g, want %g", e, f.LevelDB[e], g.LevelDB[e])
		case f.Place[e] != g.Place[e] || f.Marks[e] != g.Marks[e] || f.SoftShare[e] != g.SoftShare[e]:
			t.Errorf("edge %d: place %v %b %g, want %v %b %g", e, f.Place[e], f.Marks[e], f.SoftShare[e], g.Place[e], g.Marks[e], g.SoftShare[e])
		case f.Roadside.WideOf(e) != g.Roadside.WideOf(e) || len(f.Roadside.Of(e)) != len(g.Roadside.Of(e)):
			t.Errorf("edge %d: roadside %v, want %v", e, f.Roadside.Of(e), g.Roadside.Of(e))
		}
		if a, b := slices.Collect(f.TouchesOf(e)), slices.Collect(g.TouchesOf(e)); !slices.Equal(a, b) {
			t.Errorf("edge %d: touches %v, want %v", e, a, b)
		}
		for p := range exposure.PatternCount {
			if a, b := float64(f.OwnPerDay[p][e]), float64(g.OwnPerDay[p][e]); math.Abs(a-b) > flowsApart*max(a, b)+0.01 {
				apart++
				far = append(far, fmt.Sprintf("edge %d: %s %g, want %g", e, p, a, b))
			}
			want := g.NearBins(p, e)
			for i, bin := range f.NearBins(p, e) {
				if d := int(bin.Rate) - int(want[i].Rate); d > nearApart || d < -nearApart {
					t.Errorf("edge %d: near %s bin %d: %v, want %v", e, p, i, bin, want[i])
				} else if d > 2 || d < -2 {
					odd++
				}
			}
		}
	}
	// On a state one flow in some hundreds is farther apart, where tiles are held against
	// the whole, too; on a small map none is.
	if most := f.EdgeCount() / 500; apart > most {
		t.Errorf("%d flows are apart, want at most %d: %s", apart, most, strings.Join(far[:min(20, len(far))], "; "))
	}
	if most := 1 + f.EdgeCount()/100; odd > most {
		t.Errorf("%d bins of streams nearby are more than two steps apart, want at most %d", odd, most)
	}
	if !reflect.DeepEqual(got.Yards, want.Yards) || len(got.Yards) < 2 {
		t.Errorf("%d yards, want %d", len(got.Yards), len(want.Yards))
	}
	if !slices.EqualFunc(f.Sources, g.Sources, func(a, b exposure.Source) bool { return a.OSM == b.OSM && a.As == b.As }) {
		t.Errorf("%d sources, want %d", len(f.Sources), len(g.Sources))
	}
}

// small is one street with a house, for what needs no values.
func small(t *testing.T, at string) (extract string, drawn []byte) {
	t.Helper()
	d := &maptest.Drawing{}
	d.Way("highway=residential;name=Low Lane", 0, 0, 300, 0, 600, 0)
	d.Way("highway=path;name=Mill Path", 300, 0, 300, 400)
	d.Way("building=house", 20, 20, 32, 20, 32, 30, 20, 30, 20, 20)
	drawn = d.Extract(at)
	return write(t, "small.osm", drawn), drawn
}

// renamed are changes that give the path another name, in a version and of a day.
func renamed(t *testing.T, drawn []byte, version, day int, name string) string {
	t.Helper()
	id, refs := way(t, drawn, `v="Mill Path"`)
	return osc(t, fmt.Sprintf(`<modify><way id="%d" version="%d" timestamp="2026-11-%02dT00:00:00Z"><nd ref="%s"/><nd ref="%s"/><tag k="highway" v="path"/><tag k="name" v="%s"/></way></modify>`, id, version, day, refs[0], refs[1], name))
}

func has(s *snapshot.Snapshot, street string) bool { return slices.Contains(s.Graph.Names, street) }

// TestAgainAndAgain: files of changes add up. Those that are in the map must be named
// again; what follows must be there.
func TestAgainAndAgain(t *testing.T) {
	extract, drawn := small(t, imported)
	path, _ := imports(t, extract)
	first, second := renamed(t, drawn, 2, 2, "Dyer Path"), renamed(t, drawn, 3, 3, "Fuller Path")
	up := func(files ...string) (*update.Outcome, error) {
		return update.File(t.Context(), path, update.Options{Extract: extract, Changes: files})
	}
	out, err := up(first)
	if err != nil || !has(out.Snapshot, "Dyer Path") || has(out.Snapshot, "Mill Path") || out.Touched.Changed != 1 {
		t.Fatalf("%+v, %v", out, err)
	}
	for what, c := range map[string]struct {
		says  string
		files []string
	}{
		"nothing new":     {"is of 2026-11-02T00:00:00Z already", []string{first}},
		"one is missing":  {"name all files of changes since the extract", []string{second}},
		"none":            {"name the files of changes", nil},
		"an extract, too": {"name it alone", []string{first, extract}},
	} {
		var ps fault.Problems
		if _, err := up(c.files...); !errors.As(err, &ps) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", what, err)
		}
	}
	out, err = up(second, first)
	if err != nil || !has(out.Snapshot, "Fuller Path") || out.Touched.Changed != 1 || len(out.Touched.Boxes) != 1 {
		t.Fatalf("%+v, %v", out, err)
	}
	opened, err := snapshot.Open(path)
	if err != nil || !has(opened, "Fuller Path") {
		t.Errorf("the file: %v", err)
	}
}

// TestNewerExtract: a map is brought up to a newer extract, and not back to an older one.
func TestNewerExtract(t *testing.T) {
	extract, drawn := small(t, imported)
	path, _ := imports(t, extract)
	newer := write(t, "newer.osm", bytes.ReplaceAll(bytes.ReplaceAll(drawn, []byte("Mill Path"), []byte("Dyer Path")), []byte("2026-11-01"), []byte("2026-11-05")))
	older := write(t, "older.osm", bytes.ReplaceAll(drawn, []byte("2026-11-01"), []byte("2026-10-05")))
	if _, err := update.File(t.Context(), path, update.Options{Extract: extract, Changes: []string{older}}); err == nil || !strings.Contains(err.Error(), "name a newer extract") {
		t.Errorf("older: %v", err)
	}
	if _, err := update.File(t.Context(), path, update.Options{Extract: older, Changes: []string{newer}}); err == nil || !strings.Contains(err.Error(), "2026-10-05") {
		t.Errorf("another extract: %v", err)
	}
	if _, err := update.File(t.Context(), path, update.Options{Extract: newer, Changes: []string{newer}}); err == nil || !strings.Contains(err.Error(), "name the extract that the map was imported from") {
		t.Errorf("a later extract: %v", err)
	}
	out, err := update.File(t.Context(), path, update.Options{Extract: extract, Changes: []string{newer}})
	if err != nil || !has(out.Snapshot, "Dyer Path") || out.Touched.Changed != 1 || out.Snapshot.MapTime.Format("01-02") != "11-05" {
		t.Fatalf("%+v, %v", out, err)
	}
}

// TestOldMapStands: whatever goes wrong, and wherever an update is broken off, the file
// holds the old map, nothing is left beside it, and the update can be made afterwards.
func TestOldMapStands(t *testing.T) {
	extract, drawn := small(t, imported)
	path, _ := imports(t, extract)
	before := read(t, path)
	good := renamed(t, drawn, 2, 2, "Dyer Path")
	stands := func(what string, err error) {
		t.Helper()
		if err == nil {
			t.Errorf("%s: no error", what)
		}
		if !bytes.Equal(read(t, path), before) {
			t.Fatalf("%s: another map", what)
		}
		if left, _ := os.ReadDir(filepath.Dir(path)); len(left) != 1 {
			t.Errorf("%s: left %v", what, left)
		}
	}
	for what, c := range map[string]struct {
		o  update.Options
		is error
	}{
		"damaged changes": {update.Options{Extract: extract, Changes: []string{write(t, "a.osc", read(t, good)[:150])}}, osmdata.ErrTruncated},
		"no changes":      {update.Options{Extract: extract, Changes: []string{"gone.osc"}}, fs.ErrNotExist},
		"no extract":      {update.Options{Extract: "gone.osm", Changes: []string{good}}, fs.ErrNotExist},
		"damaged extract": {update.Options{Extract: write(t, "a.osm", drawn[:len(drawn)/2]), Changes: []string{good}}, osmdata.ErrTruncated},
		"no map of ours":  {update.Options{Extract: good, Changes: []string{good}}, osmdata.ErrNotOSM},
	} {
		_, err := update.File(t.Context(), path, c.o)
		stands(what, err)
		if !errors.Is(err, c.is) {
			t.Errorf("%s: %v", what, err)
		}
	}
	// Everything is gone from the map: nothing is left to walk on.
	nothing := osc(t, deletions(drawn))
	_, err := update.File(t.Context(), path, update.Options{Extract: extract, Changes: []string{nothing}})
	stands("nothing left", err)
	if !errors.Is(err, osmdata.ErrNothingToWalk) {
		t.Error(err)
	}
	stages := map[string]bool{}
	for again := true; again; {
		again = false
		ctx, cancel := context.WithCancel(t.Context())
		_, err := update.File(ctx, path, update.Options{Extract: extract, Changes: []string{good}, Progress: func(stage string, _ float64) {
			if !stages[stage] {
				stages[stage], again = true, true
				cancel()
			}
		}})
		cancel()
		if again {
			stands("broken off", err)
			if !errors.Is(err, context.Canceled) {
				t.Errorf("broken off: %v", err)
			}
		} else if err != nil {
			t.Fatal(err)
		}
	}
	if len(stages) < 5 {
		t.Errorf("broken off at %v alone", stages)
	}
	if s, err := snapshot.Open(path); err != nil || !has(s, "Dyer Path") {
		t.Errorf("in the end: %v", err)
	}
}

// deletions delete all ways of a drawing.
func deletions(drawn []byte) (s string) {
	for _, part := range strings.Split(string(drawn), `<way id="`)[1:] {
		s += `<way id="` + part[:strings.IndexByte(part, '"')] + `" version="2" timestamp="2026-11-02T00:00:00Z"/>`
	}
	return "<delete>" + s + "</delete>"
}

// TestOtherVersion: the map of another version of the program is refused as everywhere.
func TestOtherVersion(t *testing.T) {
	extract, drawn := small(t, imported)
	path, _ := imports(t, extract)
	b := read(t, path)
	b[8]++ // the version stands behind the mark of eight bytes
	if _, err := update.File(t.Context(), write(t, "other.wb", b), update.Options{Extract: extract, Changes: []string{renamed(t, drawn, 2, 2, "Dyer Path")}}); !errors.Is(err, flatfile.ErrVersion) {
		t.Error(err)
	}
}

// TestWhatTheMapDoesNotHave: changes to objects that the map does not have, and changes
// on the other side of the earth, are passed over and told.
func TestWhatTheMapDoesNotHave(t *testing.T) {
	extract, _ := small(t, imported)
	path, before := imports(t, extract)
	const at = `timestamp="2026-11-02T00:00:00Z"`
	file := osc(t, `<delete><node id="777001" version="2" `+at+`/><way id="777002" version="2" `+at+`/></delete>
		<create><node id="777003" version="1" `+at+` lat="-40" lon="170"/><node id="777004" version="1" `+at+` lat="-40.001" lon="170"/>
		<way id="777005" version="1" `+at+`><nd ref="777003"/><nd ref="777004"/><tag k="highway" v="path"/></way></create>`)
	out, err := update.File(t.Context(), path, update.Options{Extract: extract, Changes: []string{file}})
	if err != nil {
		t.Fatal(err)
	}
	if out.Touched.Missing != 4 || out.Beyond != 2 || out.Surveyed != 0 || out.Snapshot.Frame != before.Frame || out.Snapshot.Network != before.Network {
		t.Errorf("%+v", out)
	}
}

// ending is that of a file with changes laid over another: of the same form.
func ending(extract string) string {
	if strings.HasSuffix(extract, ".pbf") {
		return ".osm.pbf"
	}
	return ".osm"
}
