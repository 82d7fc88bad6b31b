package tiling

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wideberth/exposure"
	"wideberth/osmdata/cut"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/flatfile"
	"wideberth/routing/contents"
	"wideberth/routing/snapshot"
)

// Those who are in never take more than there is, but for one who is alone; all get in.
func TestRoom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		most := rapid.Int64Range(1, 100).Draw(t, "most")
		wants := rapid.SliceOfN(rapid.Int64Range(0, 150), 1, 12).Draw(t, "wants")
		r := newRoom(most)
		var mu sync.Mutex
		var in, sum int64
		var wrong []int64
		var all sync.WaitGroup
		for _, n := range wants {
			all.Go(func() {
				r.take(n)
				mu.Lock()
				in, sum = in+1, sum+n
				if sum > most && sum-n > 0 && n > 0 {
					wrong = append(wrong, sum)
				}
				mu.Unlock()
				mu.Lock()
				in, sum = in-1, sum-n
				mu.Unlock()
				r.give(n)
			})
		}
		all.Wait()
		if len(wrong) > 0 || in != 0 || r.left != most {
			t.Fatalf("of %d %v were taken at once; %d are left", most, wrong, r.left)
		}
	})
}

// Whatever order steps come on in, the share told of a phase never falls, ends where the
// phase does, and counts each tile once.
func TestClock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var told []Progress
		at := time.Date(2026, 11, 30, 12, 0, 0, 0, time.UTC)
		o := &Options{Progress: func(p Progress) { told = append(told, p) }, Now: func() time.Time { at = at.Add(time.Second); return at }}
		bytes := rapid.SliceOfN(rapid.Int64Range(0, 1000), 1, 6).Draw(t, "bytes")
		c := &clock{o: o, phase: phase{begun: at, from: .2, to: .8, each: 1, tiles: len(bytes)}}
		for _, n := range bytes {
			c.due = append(c.due, &Step{Bytes: n})
		}
		c.shares = make([]float64, len(bytes))
		for range rapid.IntRange(0, 20).Draw(t, "shows") {
			c.show(rapid.IntRange(0, len(bytes)-1).Draw(t, "step"), rapid.Float64Range(0, 1).Draw(t, "share"), 0)
		}
		for i := range bytes {
			c.show(i, 1, 1)
		}
		if !slices.IsSortedFunc(told, func(a, b Progress) int { return int(1e9 * (a.Share - b.Share)) }) {
			t.Fatalf("%+v", told)
		}
		last := told[len(told)-1]
		if want := .8; last.Done != len(bytes) || last.Tiles != len(bytes) || slices.Max(bytes) > 0 && (last.Share < want-1e-9 || last.Share > want+1e-9) {
			t.Fatalf("ends at %+v", last)
		}
		for _, p := range told {
			if p.Share < .2 || p.Share > .8+1e-9 || p.Left <= 0 {
				t.Fatalf("%+v", p)
			}
		}
	})
}

func countAt(lon float64) Count {
	return Count{Count: exposure.Count{Lon: lon, Lat: 47.5}, Pointer: "/counts/0"}
}

// Counts off all tiles are told, each once; on any tile they are nobody's fault.
func TestCountsOffTheMap(t *testing.T) {
	blocks := &cut.Blocks{Blocks: []cut.Block{{Core: [4]float64{7, 47, 8, 48}}, {Core: [4]float64{8, 47, 9, 48}}}}
	if err := checkCounts(blocks, []Count{countAt(7.5), countAt(8), countAt(8.99)}); err != nil {
		t.Error(err)
	}
	var wrong fault.Problems
	if err := checkCounts(blocks, []Count{countAt(9.5), countAt(7.5), countAt(6)}); !errors.As(err, &wrong) || len(wrong) != 2 || wrong[0].Pointer != "/counts/0/lat" {
		t.Errorf("%v", err)
	}
	if got := countsIn([]Count{countAt(7.5), countAt(8.5)}, contents.Box{8, 47, 9, 48}); len(got) != 1 || got[0].Lon != 8.5 {
		t.Errorf("%v", got)
	}
}

// What a step's output is called follows all that it is made of, and nothing else: not the
// counts elsewhere, nor what other parts are told.
func TestNamesOfSteps(t *testing.T) {
	block := cut.Block{Key: "012", File: "012.aaa.osm.pbf", Hash: "aaa", Core: [4]float64{7, 47, 8, 48}, Box: [4]float64{6.9, 46.9, 8.1, 48.1}, Bytes: 10}
	settings := Settings{Map: "m", Tool: "t", Format: snapshot.Version}
	told := wholes{"012": "steps/whole.012.x.json", "013": "steps/whole.013.y.json"}
	name := func(k Kind, change func(*cut.Block, *Settings, wholes)) string {
		b, s, w := block, settings, wholes{"012": told["012"], "013": told["013"]}
		if change != nil {
			change(&b, &s, w)
		}
		x := step(k, &b, s, w)
		if err := x.name(); err != nil {
			t.Fatal(err)
		}
		return x.Output
	}
	changes := []struct {
		what  string
		do    func(*cut.Block, *Settings, wholes)
		moves map[Kind]bool
	}{
		{"the block", func(b *cut.Block, _ *Settings, _ wholes) { b.File = "012.bbb.osm.pbf" }, map[Kind]bool{Survey: true, Join: true}},
		{"the core", func(b *cut.Block, _ *Settings, _ wholes) { b.Core[0] = 7.5 }, map[Kind]bool{Survey: true, Join: true}},
		{"the country", func(_ *cut.Block, s *Settings, _ wholes) { s.Country = "FR" }, map[Kind]bool{Survey: true, Join: true}},
		{"what it is told", func(_ *cut.Block, _ *Settings, w wholes) { w["012"] = "steps/whole.012.z.json" }, map[Kind]bool{Survey: true, Join: true}},
		{"what another is told", func(_ *cut.Block, _ *Settings, w wholes) { w["013"] = "steps/whole.013.z.json" }, nil},
		{"a count in its box", func(_ *cut.Block, s *Settings, _ wholes) { s.Counts = []Count{countAt(7.5)} }, map[Kind]bool{Join: true}},
		{"a count elsewhere", func(_ *cut.Block, s *Settings, _ wholes) { s.Counts = []Count{countAt(9.5)} }, nil},
	}
	seen := map[string]string{}
	for _, k := range []Kind{Survey, Join} {
		plain := name(k, nil)
		if !strings.HasPrefix(plain, "steps/"+string(k)+".012.") || !strings.HasSuffix(plain, ".wb") || plain != name(k, nil) {
			t.Errorf("%s is called %s", k, plain)
		}
		for _, c := range changes {
			got := name(k, c.do)
			if (got != plain) != c.moves[k] {
				t.Errorf("%s of a %s: %s after %s", c.what, k, got, plain)
			}
			if other, taken := seen[got]; taken && got != plain {
				t.Errorf("%s and %s are both called %s", c.what, other, got)
			}
			seen[got] = c.what
		}
	}
}

// A join takes the surveys that its ground meets, its own first.
func TestJoinTakesItsNeighbours(t *testing.T) {
	j := Step{Kind: Join, Key: "1", Inputs: []string{"block"}, Served: contents.Box{0, 0, 2, 2}}
	surveys := []Step{
		{Key: "0", Output: "west", Core: contents.Box{-2, 0, .5, 2}}, {Key: "9", Output: "far", Core: contents.Box{5, 5, 6, 6}},
		{Key: "1", Output: "own", Core: contents.Box{.5, .5, 1.5, 1.5}}, {Key: "2", Output: "north", Core: contents.Box{0, 1.5, 2, 3}},
	}
	j.take(surveys)
	if !slices.Equal(j.Inputs, []string{"block", "own", "west", "north"}) || len(j.Surveyed) != 3 || j.Surveyed[0] != surveys[2].Core {
		t.Errorf("%v with %v", j.Inputs, j.Surveyed)
	}
}

func put(t *testing.T, dir, name, text string) {
	t.Helper()
	path := filepath.Join(dir, filepath.FromSlash(name))
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
}

// A share that is missing, or no JSON, is told by its file; none of them is a map with
// nothing in it.
func TestGatherOfSpoiltShares(t *testing.T) {
	dir := t.TempDir()
	glances := []Step{{Kind: Glance, Key: "0", Output: "steps/a.json"}, {Kind: Glance, Key: "1", Output: "steps/b.json"}}
	if _, err := gather(dir, glances); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("missing: %v", err)
	}
	put(t, dir, "steps/a.json", "null")
	put(t, dir, "steps/b.json", `{"Homes":`)
	if _, err := gather(dir, glances); !errors.Is(err, flatfile.ErrDamaged) || !strings.Contains(err.Error(), "b.json") {
		t.Errorf("cut off: %v", err)
	}
	put(t, dir, "steps/b.json", `{"Homes":{"Border":"!"}}`)
	if _, err := gather(dir, glances); !errors.Is(err, flatfile.ErrDamaged) {
		t.Errorf("an outline that is none: %v", err)
	}
	put(t, dir, "steps/b.json", "null")
	told, err := gather(dir, glances)
	if err != nil || len(told) != 2 {
		t.Fatalf("%v, %v", told, err)
	}
	if again, err := gather(dir, glances); err != nil || again["0"] != told["0"] || again["1"] != told["1"] {
		t.Errorf("again %v, %v; before %v", again, err, told)
	}
}

// What is there is swept away unless a table or a step has it.
func TestSweep(t *testing.T) {
	dir := t.TempDir()
	mine := Step{Kind: Survey, Key: "0", Output: "steps/survey.0.aaa.wb"}
	for _, name := range []string{"steps/survey.0.aaa.wb", "steps/survey.0.old.wb", "steps/whole.0.x.json", "steps/whole.0.old.json", "0.aaaaaaaaaaaa.wb", "0.bbbbbbbbbbbb.wb", "current.json"} {
		put(t, dir, name, "")
	}
	table := contents.Table{Tiles: []contents.Tile{{Key: "0", File: "0.aaaaaaaaaaaa.wb"}}}
	if err := sweep(dir, table, []Step{mine}, wholes{"0": "steps/whole.0.x.json"}); err != nil {
		t.Fatal(err)
	}
	var left []string
	for _, sub := range []string{".", stepsFolder} {
		entries, err := os.ReadDir(filepath.Join(dir, sub))
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			if !e.IsDir() {
				left = append(left, e.Name())
			}
		}
	}
	if want := []string{"0.aaaaaaaaaaaa.wb", "current.json", "survey.0.aaa.wb", "whole.0.x.json"}; !slices.Equal(left, want) {
		t.Errorf("left are %v, want %v", left, want)
	}
	if err := sweepSteps(t.TempDir(), nil); err != nil {
		t.Errorf("a folder without steps: %v", err)
	}
}

// A note is believed where the file that it names is there as it says.
func TestNotes(t *testing.T) {
	dir := t.TempDir()
	s := Step{Kind: Join, Key: "0", Output: "steps/join.0.aaa.wb"}
	for _, c := range []struct {
		note, file string
		put        bool
	}{
		{"", "", false}, {"{", "1234", false}, {`{"file":"0.x.wb","bytes":4}`, "", false},
		{`{"file":"0.x.wb","bytes":4}`, "12345", false}, {`{"file":"0.x.wb","bytes":4}`, "1234", true},
	} {
		for name, text := range map[string]string{"steps/join.0.aaa.json": c.note, "0.x.wb": c.file} {
			if err := os.Remove(filepath.Join(dir, filepath.FromSlash(name))); err != nil && !errors.Is(err, fs.ErrNotExist) {
				t.Fatal(err)
			}
			if text != "" {
				put(t, dir, name, text)
			}
		}
		if _, got := s.note(dir); got != c.put || s.Done(dir) != c.put {
			t.Errorf("noted %q of a file with %q: %t", c.note, c.file, got)
		}
	}
}

// A file that cannot be linked is copied; one that is missing is told.
func TestLink(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, "a", "text")
	put(t, dir, "c", "longer than that") // a name that is taken cannot be linked
	for _, to := range []string{"b", "c"} {
		if err := link(filepath.Join(dir, "a"), filepath.Join(dir, to)); err != nil {
			t.Fatal(err)
		}
		if b, err := os.ReadFile(filepath.Join(dir, to)); err != nil || string(b) != "text" {
			t.Errorf("%s holds %q, %v", to, b, err)
		}
	}
	if err := link(filepath.Join(dir, "missing"), filepath.Join(dir, "d")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%v", err)
	}
}

// Imports are alike whatever was counted, and not where anything else differs.
func TestAlike(t *testing.T) {
	k := kept{Settings: Settings{Map: "m", Country: "DE"}, MarginM: 7000, Bytes: 8}
	l := k
	l.Settings.Counts = []Count{countAt(7)}
	if !k.alike(l) || !l.alike(k) {
		t.Error("counts make another map")
	}
	for what, change := range map[string]func(*kept){
		"country": func(k *kept) { k.Settings.Country = "FR" }, "margin": func(k *kept) { k.MarginM++ }, "bytes": func(k *kept) { k.Bytes++ },
		"format": func(k *kept) { k.Settings.Format++ }, "heights": func(k *kept) { k.Settings.Heights = "there" },
	} {
		other := k
		change(&other)
		if k.alike(other) {
			t.Errorf("another %s is alike", what)
		}
	}
	if got := noted(contents.Table{Settings: []byte("{")}); got.MarginM != 0 {
		t.Errorf("of a note that is none %+v", got)
	}
	if none := (*before)(nil); none != nil {
		t.Error("something")
	} else if _, _, ok := none.of(&Step{}); ok {
		t.Error("of nothing before a tile is made")
	}
	if _, _, err := Kept(t.TempDir()); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("of an empty folder: %v", err)
	}
}
