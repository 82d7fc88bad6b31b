package cut_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/cut"
)

// pond is a map in which every file of the work has something in it.
const pond = `<osm timestamp="2026-11-01T00:00:00Z"><bounds minlon="-7.08" minlat="47.19" maxlon="-6.98" maxlat="47.28"/>
<node id="1" lon="-7.00" lat="47.20"><tag k="shop" v="bakery"/></node><node id="2" lon="-7.06" lat="47.20"/><node id="3" lon="-7.06" lat="47.26"/>
<way id="1"><nd ref="1"/><nd ref="2"/><tag k="highway" v="residential"/></way>
<way id="2"><nd ref="1"/><nd ref="2"/><nd ref="3"/></way><way id="3"><nd ref="3"/><nd ref="1"/></way>
<relation id="1"><member type="way" ref="2" role="outer"/><member type="way" ref="3" role="outer"/><tag k="type" v="multipolygon"/><tag k="natural" v="water"/></relation></osm>`

// stopped cuts it until a stage begins.
func stopped(t *testing.T, dir, stage string) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	o := tiny()
	o.Progress = func(s string, _ float64) {
		if s == stage {
			cancel()
		}
	}
	if _, err := o.Cut(ctx, strings.NewReader(pond), dir); !errors.Is(err, context.Canceled) {
		t.Fatalf("stopped when %s: %v", stage, err)
	}
}

// TestNowhereToWrite: whichever file of the work cannot be made, its path is told, there is
// no list of blocks, and once it can be the work goes on to the blocks that it would have
// made.
func TestNowhereToWrite(t *testing.T) {
	want := cutBytes(t, []byte(pond), t.TempDir(), tiny())
	for _, name := range []string{"relations", "members.runs", "nodes.runs", "points", "member_ways", "where.runs", "members", "nodes", "where", "done"} {
		dir := t.TempDir()
		stage := "reading relations"
		if name == "done" {
			stage = "reading ways"
		}
		stopped(t, dir, stage)
		path := filepath.Join(dir, cut.Unfinished, name)
		if err := os.RemoveAll(path); err != nil {
			t.Fatal(err)
		}
		// A folder stands where a file is to be, and a file where a folder is.
		err := os.MkdirAll(filepath.Join(path, "in the way"), 0o755)
		if name == "done" {
			err = errors.Join(os.RemoveAll(path), os.WriteFile(path, nil, 0o600))
		}
		if err != nil {
			t.Fatal(err)
		}
		_, err = tiny().Cut(t.Context(), strings.NewReader(pond), dir)
		if err == nil || !strings.Contains(err.Error(), filepath.Join(dir, cut.Unfinished)) {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := cut.Read(dir); err == nil {
			t.Errorf("%s: there is a list of blocks", name)
		}
		if err := os.RemoveAll(path); err != nil {
			t.Fatal(err)
		}
		sameBlocks(t, name, cutBytes(t, []byte(pond), dir, tiny()), want)
	}
}

// TestLostWork: a file of a pass that is done and whose file is gone is told by its path;
// begun anew, the blocks are those that they should be.
func TestLostWork(t *testing.T) {
	want := cutBytes(t, []byte(pond), t.TempDir(), tiny())
	for name, stage := range map[string]string{"relations": "reading ways", "members": "reading ways", "nodes": "reading ways", "points": "reading ways"} {
		dir := t.TempDir()
		stopped(t, dir, stage)
		path := filepath.Join(dir, cut.Unfinished, name)
		if err := os.RemoveAll(path); err != nil {
			t.Fatal(err)
		}
		if _, err := tiny().Cut(t.Context(), strings.NewReader(pond), dir); !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v", name, err)
		}
		if err := os.RemoveAll(filepath.Join(dir, cut.Unfinished)); err != nil {
			t.Fatal(err)
		}
		sameBlocks(t, name, cutBytes(t, []byte(pond), dir, tiny()), want)
	}
}

// TestStateThatLies: a state of the work that names tiles that are none is told by its
// path; one of another extract, or none at all, begins anew.
func TestStateThatLies(t *testing.T) {
	want := cutBytes(t, []byte(pond), t.TempDir(), tiny())
	for name, change := range map[string]func(state map[string]any){
		"tiles that are none": func(state map[string]any) { state["tiles"] = []string{"9"} },
		"another extract":     func(state map[string]any) { state["of"] = "another" },
	} {
		dir := t.TempDir()
		stopped(t, dir, "reading ways")
		path := filepath.Join(dir, cut.Unfinished, "state.json")
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var state map[string]any
		if err := json.Unmarshal(text, &state); err != nil {
			t.Fatal(err)
		}
		change(state)
		if text, err = json.Marshal(state); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		got, err := tiny().Cut(t.Context(), strings.NewReader(pond), dir)
		switch {
		case name == "another extract" && err == nil:
			sameBlocks(t, name, got, want)
		case name == "another extract" || err == nil || !strings.Contains(err.Error(), path):
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestWhatIsOdd: what is odd about an extract is counted, once for each, also where the work
// was broken off and a pass begun again, and the blocks hold the rest.
func TestWhatIsOdd(t *testing.T) {
	odd := strings.Replace(pond, "</osm>", `<node id="8" lon="200" lat="47.2"/><node id="9" lon="-7" lat="95"/>
		<node id="2" version="3" lon="-7.07" lat="47.20"/><way id="7"><nd ref="70"/><nd ref="71"/><tag k="highway" v="path"/></way>
		<way id="8"><nd ref="1"/><nd ref="70"/><tag k="highway" v="path"/></way></osm>`, 1)
	want := map[string]int{"coordinates out of range": 2, "node given twice, the later counts": 1, "way of which no node has a place, left out": 1}
	for _, stage := range []string{"", "reading nodes", "reading ways"} {
		dir := t.TempDir()
		if stage != "" {
			ctx, cancel := context.WithCancel(t.Context())
			o := tiny()
			o.Progress = func(s string, _ float64) {
				if s == stage {
					cancel()
				}
			}
			if _, err := o.Cut(ctx, strings.NewReader(odd), dir); !errors.Is(err, context.Canceled) {
				t.Fatal(err)
			}
			cancel()
		}
		b := cutBytes(t, []byte(odd), dir, tiny())
		for kind, n := range want {
			if b.Odd[kind] != n {
				t.Errorf("broken off when %q: %s %d times, want %d", stage, kind, b.Odd[kind], n)
			}
		}
		if len(b.Odd) != len(want) {
			t.Errorf("%v", b.Odd)
		}
		seen := map[int64]bool{}
		for i := range b.Blocks {
			c := contentsOf(t, b.Blocks[i].Path(dir))
			for id, w := range c.ways {
				if seen[id] = true; id == 7 {
					t.Errorf("way 7 lies nowhere, and in %s: %v", b.Blocks[i].Key, w)
				}
			}
			if n := c.nodes[2]; n != nil && math.Abs(n.Lon+7.07) > 1e-9 {
				t.Errorf("node 2 lies at %g, where the earlier of two says", n.Lon)
			}
		}
		for _, id := range []int64{1, 2, 3, 8} {
			if !seen[id] {
				t.Errorf("way %d is in no block", id)
			}
		}
	}
}

// TestBlocksAreOfUs: whatever else stands in the folder of blocks stays there.
func TestBlocksAreOfUs(t *testing.T) {
	dir := t.TempDir()
	cutBytes(t, []byte(pond), dir, tiny())
	note := filepath.Join(dir, cut.Folder, "README.txt")
	stale := filepath.Join(dir, cut.Folder, "0.123456789012.osm.pbf")
	for _, path := range []string{note, stale} {
		if err := os.WriteFile(path, []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	changed := bytes.ReplaceAll([]byte(pond), []byte("residential"), []byte("tertiary"))
	b := cutBytes(t, changed, dir, tiny())
	if _, err := os.Stat(note); err != nil {
		t.Error(err)
	}
	if _, err := os.Stat(stale); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a block that the list does not name: %v", err)
	}
	streets := 0
	for i := range b.Blocks {
		x, err := osmdata.Options{}.ReadFile(t.Context(), b.Blocks[i].Path(dir))
		if errors.Is(err, osmdata.ErrNothingToWalk) {
			continue
		}
		if streets++; err != nil || x.Streets[0].Class != osmdata.Tertiary {
			t.Errorf("%s: %v", b.Blocks[i].Key, err)
		}
	}
	if streets == 0 {
		t.Error("the street is in no block")
	}
}
