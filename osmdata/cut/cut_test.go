package cut_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/clip"
	"github.com/paulmach/orb/planar"
	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmpbf"

	"wideberth/osmdata"
	"wideberth/osmdata/cut"
)

// rules ask for what surveys ask for, in small.
var rules = []osmdata.Rule{{Key: "leisure", Values: []string{"dog_park", "playground"}, As: "play"}, {Key: "shop", As: "shop"}, {Key: "amenity", Values: []string{"school"}, As: "school"}}

// small cuts a part of a state into about a dozen tiles.
func small() cut.Options {
	return cut.Options{Picker: osmdata.NewPicker(rules), MarginM: 300, TileBytes: 60 << 10, Sign: "test", Program: "test"}
}

// osmium runs osmium-tool, which shares no code with us.
func osmium(t *testing.T, args ...string) {
	t.Helper()
	out, err := exec.CommandContext(t.Context(), "osmium", append(args, "--overwrite")...).CombinedOutput()
	if err != nil {
		t.Fatalf("osmium %v: %v: %s", args, err, out)
	}
}

// part is a real piece of Delaware, about Dover, of which every way is whole, as PBF.
var part = sync.OnceValues(func() (string, error) {
	if _, err := exec.LookPath("osmium"); err != nil {
		return "", err
	}
	mod, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		return "", err
	}
	dir, err := os.MkdirTemp("", "cut")
	if err != nil {
		return "", err
	}
	path := filepath.Join(dir, "part.osm.pbf")
	state := filepath.Join(strings.TrimSpace(string(mod)), "testdata", "delaware-latest.osm.pbf")
	return path, exec.Command("osmium", "extract", "-b", "-75.62,39.08,-75.42,39.22", "-s", "smart", "-S", "types=any", "--set-bounds", "-o", path, state).Run()
})

func TestMain(m *testing.M) {
	if stage := os.Getenv(dieAt); stage != "" {
		dying(stage)
	}
	code := m.Run()
	if path, err := part(); err == nil {
		_ = os.RemoveAll(filepath.Dir(path))
	}
	os.Exit(code)
}

func partOf(t *testing.T) string {
	t.Helper()
	if testing.Short() {
		t.Skip("reads a real map")
	}
	path, err := part()
	if errors.Is(err, exec.ErrNotFound) {
		t.Skip("osmium-tool is not installed: make tools")
	}
	if err != nil {
		t.Fatal(err)
	}
	return path
}

func cutFile(t *testing.T, path, dir string, o cut.Options) *cut.Blocks {
	t.Helper()
	b, err := tryCut(t.Context(), path, dir, o)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func tryCut(ctx context.Context, path, dir string, o cut.Options) (*cut.Blocks, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return o.Cut(ctx, f, dir)
}

// contents is what a PBF file holds.
type contents struct {
	nodes     map[int64]*osm.Node
	ways      map[int64]*osm.Way
	relations map[int64]*osm.Relation
	bounds    *osm.Bounds
}

func contentsOf(t *testing.T, path string) contents {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	c := contents{map[int64]*osm.Node{}, map[int64]*osm.Way{}, map[int64]*osm.Relation{}, nil}
	s := osmpbf.New(t.Context(), f, 1)
	defer s.Close()
	for s.Scan() {
		switch o := s.Object().(type) {
		case *osm.Node:
			c.nodes[int64(o.ID)] = o
		case *osm.Way:
			c.ways[int64(o.ID)] = o
		case *osm.Relation:
			c.relations[int64(o.ID)] = o
		}
	}
	if err := s.Err(); err != nil {
		t.Fatal(err)
	}
	if h, err := s.Header(); err == nil {
		c.bounds = h.Bounds
	}
	return c
}

// line is where a way runs.
func (c *contents) line(w *osm.Way) (ls orb.LineString) {
	for _, n := range w.Nodes {
		if at := c.nodes[int64(n.ID)]; at != nil {
			ls = append(ls, orb.Point{at.Lon, at.Lat})
		}
	}
	return ls
}

// meets tells whether a way runs through a box or lies about it, by orb.
func (c *contents) meets(w *osm.Way, b orb.Bound) bool {
	ls := c.line(w)
	return len(ls) > 1 && len(clip.LineString(b, ls)) > 0 || ls[0] == ls[len(ls)-1] && planar.RingContains(orb.Ring(ls), b.Center())
}

// TestAgainstOsmium holds each block against what osmium extracts of the same box with
// its complete ways: of what we keep nothing is missing, all is as the map has it, and
// what osmium leaves out, as it looks at nodes alone, runs through the box, lies about
// it or belongs to a relation that is there.
func TestAgainstOsmium(t *testing.T) {
	path := partOf(t)
	o := small()
	dir := t.TempDir()
	blocks := cutFile(t, path, dir, o)
	if n := len(blocks.Blocks); n < 8 || n > 30 {
		t.Fatalf("%d tiles", n)
	}
	type extract struct {
		Output string     `json:"output"`
		Box    [4]float64 `json:"bbox"`
	}
	var config struct {
		Extracts []extract `json:"extracts"`
		Folder   string    `json:"directory"`
	}
	config.Folder = t.TempDir()
	held := blocks.Blocks[:0]
	for i, b := range blocks.Blocks {
		if i%3 == 2 { // osmium takes as long for each box as for all else here
			held = append(held, b)
		}
	}
	for _, b := range held {
		config.Extracts = append(config.Extracts, extract{b.Key + ".osm.pbf", b.Box})
	}
	text, err := json.Marshal(config)
	if err != nil {
		t.Fatal(err)
	}
	configPath := filepath.Join(config.Folder, "config.json")
	if err := os.WriteFile(configPath, text, 0o600); err != nil {
		t.Fatal(err)
	}
	osmium(t, "extract", "--config", configPath, "-s", "complete_ways", path)
	whole := contentsOf(t, path)
	through, spanning := 0, 0
	for _, b := range held {
		ours, theirs := contentsOf(t, b.Path(dir)), contentsOf(t, filepath.Join(config.Folder, b.Key+".osm.pbf"))
		if len(ours.nodes) != b.Nodes || len(ours.ways) != b.Ways || len(ours.relations) != b.Relations {
			t.Errorf("%s: counted %d %d %d, there are %d %d %d", b.Key, b.Nodes, b.Ways, b.Relations, len(ours.nodes), len(ours.ways), len(ours.relations))
		}
		bound := orb.Bound{Min: orb.Point{b.Box[0], b.Box[1]}, Max: orb.Point{b.Box[2], b.Box[3]}}
		of := map[int64]bool{} // ways of our relations
		for id, r := range ours.relations {
			from := whole.relations[id]
			if from == nil || fmt.Sprint(r.Tags, r.Version) != fmt.Sprint(from.Tags, from.Version) {
				t.Errorf("%s: relation %d is not the map's", b.Key, id)
				continue
			}
			for _, m := range r.Members {
				if m.Type == osm.TypeWay {
					of[m.Ref] = true
					if whole.ways[m.Ref] != nil && ours.ways[m.Ref] == nil {
						t.Errorf("%s: relation %d came without its way %d", b.Key, id, m.Ref)
					}
				}
			}
		}
		for id, w := range theirs.ways {
			if o.Picker.Way(w.Tags) && ours.ways[id] == nil {
				t.Errorf("%s: way %d is missing: %v", b.Key, id, w.Tags)
			}
		}
		for id, w := range ours.ways {
			from := whole.ways[id]
			if !slices.EqualFunc(w.Nodes, from.Nodes, func(a, b osm.WayNode) bool { return a.ID == b.ID }) || w.Version != from.Version || o.Picker.Way(from.Tags) && fmt.Sprint(w.Tags) != fmt.Sprint(from.Tags) {
				t.Errorf("%s: way %d is not the map's", b.Key, id)
			}
			for _, n := range w.Nodes {
				if whole.nodes[int64(n.ID)] != nil && ours.nodes[int64(n.ID)] == nil {
					t.Errorf("%s: node %d of way %d is missing", b.Key, n.ID, id)
				}
			}
			switch {
			case theirs.ways[id] != nil:
			case whole.meets(w, bound):
				through++
			case of[id]:
				spanning++
			default:
				t.Errorf("%s: way %d does not belong here: %v", b.Key, id, w.Tags)
			}
		}
		for id, n := range theirs.nodes {
			if o.Picker.Node(n.Tags) && bound.Contains(orb.Point{n.Lon, n.Lat}) && ours.nodes[id] == nil {
				t.Errorf("%s: node %d is missing: %v", b.Key, id, n.Tags)
			}
		}
		for id, n := range ours.nodes {
			from := whole.nodes[id]
			if n.Lon != from.Lon || n.Lat != from.Lat || len(n.Tags) > 0 && fmt.Sprint(n.Tags, n.Version) != fmt.Sprint(from.Tags, from.Version) {
				t.Errorf("%s: node %d is at %v,%v with %v, on the map at %v,%v with %v", b.Key, id, n.Lat, n.Lon, n.Tags, from.Lat, from.Lon, from.Tags)
			}
		}
		for id, r := range theirs.relations {
			if o.Picker.Relation(r) != 0 && ours.relations[id] == nil && slices.ContainsFunc(r.Members, func(m osm.Member) bool { return m.Type == osm.TypeWay && theirs.ways[m.Ref] != nil }) {
				t.Errorf("%s: relation %d is missing: %v", b.Key, id, r.Tags)
			}
		}
	}
	if through == 0 || spanning == 0 {
		t.Errorf("%d ways only run through, %d only belong to a relation: the map holds no trap", through, spanning)
	}
}

// hashes are the contents of all blocks by key.
func hashes(b *cut.Blocks) map[string]string {
	out := map[string]string{}
	for _, x := range b.Blocks {
		out[x.Key] = x.Hash
	}
	return out
}

func sameBlocks(t *testing.T, what string, got, want *cut.Blocks) {
	t.Helper()
	g, w := hashes(got), hashes(want)
	if len(w) == 0 {
		t.Fatal("no blocks to compare with")
	}
	for key, hash := range w {
		if g[key] != hash {
			t.Errorf("%s: tile %s holds %.12s, want %.12s", what, key, g[key], hash)
		}
	}
	if len(g) != len(w) {
		t.Errorf("%s: %d tiles, want %d", what, len(g), len(w))
	}
}

// TestAnyOrder: the same map as one sorted file, as two overlapping parts one after the
// other, with little memory, and as XML packed or not, gives the same blocks.
func TestAnyOrder(t *testing.T) {
	path := partOf(t)
	work := t.TempDir()
	at := func(name string) string { return filepath.Join(work, name) }
	osmium(t, "extract", "-b", "-75.50,39.08,-75.42,39.22", "-o", at("east.osm.pbf"), path)
	osmium(t, "extract", "-b", "-75.62,39.08,-75.49,39.22", "-o", at("west.osm.pbf"), path)
	osmium(t, "merge", at("east.osm.pbf"), at("west.osm.pbf"), "-o", at("sorted.osm.pbf"))
	osmium(t, "cat", at("east.osm.pbf"), at("west.osm.pbf"), "-o", at("unsorted.osm.pbf"))
	osmium(t, "cat", at("sorted.osm.pbf"), "-o", at("sorted.osm.gz"))
	want := cutFile(t, at("sorted.osm.pbf"), t.TempDir(), small())
	unsorted := cutFile(t, at("unsorted.osm.pbf"), t.TempDir(), small().AtOnce(3000))
	sameBlocks(t, "unsorted", unsorted, want)
	if unsorted.Odd["node given twice, the later counts"] == 0 || want.Odd["node given twice, the later counts"] != 0 {
		t.Errorf("told of the parts: %v, of the whole: %v", unsorted.Odd, want.Odd)
	}
	sameBlocks(t, "XML", cutFile(t, at("sorted.osm.gz"), t.TempDir(), small().AtOnce(50000)), want)
}

// TestReadsLikeAnExtract: a block that is the whole map is read as the map itself is.
func TestReadsLikeAnExtract(t *testing.T) {
	path := partOf(t)
	o := small()
	o.TileBytes, o.MarginM = 1<<40, 50000
	dir := t.TempDir()
	blocks := cutFile(t, path, dir, o)
	read := func(path string) *osmdata.Extract {
		x, err := osmdata.Options{Rules: rules}.ReadFile(t.Context(), path)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	want := read(path)
	for _, b := range blocks.Blocks {
		got := read(b.Path(dir))
		if got.West != want.West || got.North != want.North || !got.Timestamp.Equal(want.Timestamp) {
			t.Errorf("bounds %v %v, time %v; want %v %v, %v", got.West, got.North, got.Timestamp, want.West, want.North, want.Timestamp)
		}
		for what, n := range want.Report.Read {
			if what != "nodes" && got.Report.Read[what] != n { // nodes that nothing needs are left out
				t.Errorf("%s: %d, want %d", what, got.Report.Read[what], n)
			}
		}
	}
	if len(blocks.Blocks) != 1 {
		t.Errorf("%d blocks", len(blocks.Blocks))
	}
}
