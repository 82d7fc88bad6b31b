package cut

import (
	"bytes"
	"context"
	"hash/crc32"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmpbf"
	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
)

// TestLinesOfAWay: the runs of known places, put together again with the unknown ones
// between them, are the way; and a way is closed if it ends where it began, all is known
// and there is room between.
func TestLinesOfAWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := element{kind: wayKind, refs: rapid.SliceOfN(rapid.Int64Range(1, 4), 0, 8).Draw(t, "refs")}
		for range e.refs {
			e.places = append(e.places, rapid.SampledFrom([]point{{1, 1}, {2, 1}, {2, 2}, noPlace}).Draw(t, "place"))
		}
		known, runs := 0, 0
		for i, p := range e.places {
			if p == noPlace {
				continue
			}
			known++
			if i == 0 || e.places[i-1] == noPlace {
				runs++
			}
		}
		var flat []point
		for _, run := range e.lines() {
			if len(run) == 0 || slices.Contains(run, noPlace) {
				t.Fatalf("a run of %v", run)
			}
			flat = append(flat, run...)
		}
		want := slices.DeleteFunc(slices.Clone(e.places), func(p point) bool { return p == noPlace })
		if len(e.lines()) != runs || !slices.Equal(flat, want) {
			t.Fatalf("%v of %v", e.lines(), e.places)
		}
		n := len(e.refs)
		if got, want := e.closed(), n >= 4 && known == n && e.refs[0] == e.refs[n-1]; got != want {
			t.Fatalf("%v, %v closed: %t", e.refs, e.places, got)
		}
	})
}

// TestOrdered: of what was gathered for a tile, in whatever order and some of it several
// times, the last of each stands in the block, nodes before ways before relations, each by
// id, with the places of all nodes of its ways; counted against plain maps.
func TestOrdered(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		places := map[int64]point{}
		for id := int64(1); id <= 6; id++ {
			places[id] = point{int32(10 * id), int32(id)}
		}
		tagged, ways, relations := map[int64]int{}, map[int64]element{}, map[int64]int{}
		var raw []byte
		for range rapid.IntRange(0, 12).Draw(t, "elements") {
			id, version := rapid.Int64Range(1, 6).Draw(t, "id"), rapid.IntRange(1, 9).Draw(t, "version")
			switch rapid.IntRange(0, 2).Draw(t, "kind") {
			case 0:
				tagged[id] = version
				raw = (&element{kind: nodeKind, id: id, version: version, at: places[id], tags: osm.Tags{{Key: "shop", Value: "yes"}}}).append(raw)
			case 1:
				e := element{kind: wayKind, id: id, version: version, refs: rapid.SliceOfN(rapid.Int64Range(1, 8), 0, 4).Draw(t, "refs")}
				for _, r := range e.refs {
					p, known := places[r]
					if !known {
						p = noPlace
					}
					e.places = append(e.places, p)
				}
				ways[id] = e
				raw = e.append(raw)
			case 2:
				relations[id] = version
				raw = (&element{kind: relationKind, id: id, version: version}).append(raw)
			}
		}
		nodes := map[int64]bool{}
		for id := range tagged {
			nodes[id] = true
		}
		for _, w := range ways {
			for _, r := range w.refs {
				if _, known := places[r]; known {
					nodes[r] = true
				}
			}
		}
		all, err := ordered(raw)
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		w := NewWriter(&b, Head{})
		counts, err := all.write(w)
		if _, closed := w.Close(); err != nil || closed != nil {
			t.Fatal(err, closed)
		}
		if counts != [3]int{len(nodes), len(ways), len(relations)} {
			t.Fatalf("counted %v, want %d, %d, %d", counts, len(nodes), len(ways), len(relations))
		}
		last := [2]int64{}
		for _, o := range scanned(t, b.Bytes()) {
			var at [2]int64
			switch o := o.(type) {
			case *osm.Node:
				at = [2]int64{0, int64(o.ID)}
				if !nodes[at[1]] || nearest(o.Lon) != places[at[1]].lon || o.Version != tagged[at[1]] || (len(o.Tags) > 0) != (tagged[at[1]] > 0) {
					t.Fatalf("node %+v", o)
				}
			case *osm.Way:
				at = [2]int64{1, int64(o.ID)}
				if want := ways[at[1]]; o.Version != want.version || len(o.Nodes) != len(want.refs) {
					t.Fatalf("way %+v, want %+v", o, want)
				}
			case *osm.Relation:
				at = [2]int64{2, int64(o.ID)}
				if o.Version != relations[at[1]] {
					t.Fatalf("relation %+v", o)
				}
			}
			if slices.Compare(at[:], last[:]) <= 0 {
				t.Fatalf("%v after %v", at, last)
			}
			last = at
		}
		if len(raw) > 1 {
			cut := rapid.IntRange(1, len(raw)-1).Draw(t, "cut")
			if short, err := ordered(raw[:cut]); err == nil && len(short.tagged)+len(short.ways)+len(short.relations) > len(all.tagged)+len(all.ways)+len(all.relations) {
				t.Fatal("more in fewer bytes")
			}
		}
	})
}

// TestAssemblyCloses: ways bound something if at each node an even number of them end,
// counted slowly, and none is lacking.
func TestAssemblyCloses(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ways")
	rapid.Check(t, func(t *rapid.T) {
		var a assembly
		a.clear()
		ends := map[int64]int{}
		var raw []byte
		var at []int64
		for range rapid.IntRange(1, 6).Draw(t, "ways") {
			e := element{kind: wayKind, refs: rapid.SliceOfN(rapid.Int64Range(1, 4), 1, 3).Draw(t, "refs")}
			for range e.refs {
				e.places = append(e.places, point{1, 2})
			}
			ends[e.refs[0]]++
			ends[e.refs[len(e.refs)-1]]++
			at = append(at, int64(len(raw)))
			raw = e.append(raw)
		}
		if err := os.WriteFile(path, raw, 0o600); err != nil {
			t.Fatal(err)
		}
		for _, from := range at {
			if err := a.read(bytes.NewReader(raw), from); err != nil {
				t.Fatal(err)
			}
		}
		want := true
		for _, n := range ends {
			want = want && n%2 == 0
		}
		if got := a.closes(); got != want || len(a.ways) != len(at) {
			t.Fatalf("%v closes: %t", ends, got)
		}
		if a.lacks = true; a.closes() {
			t.Fatal("it closes though a way is lacking")
		}
		if a.clear(); len(a.ways) > 0 || !a.closes() {
			t.Fatal("something is left over")
		}
		if err := a.read(bytes.NewReader(raw), int64(len(raw))); err == nil {
			t.Fatal("a way beyond the end")
		}
	})
}

// TestSpill: each tile's file holds what was put for it in order, however little is held in
// memory, with its length and checksum; tiles without anything have none.
func TestSpill(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "spill")
	rapid.Check(t, func(t *rapid.T) {
		keys := []string{"0", "1", "2", "3"}
		s, err := newSpill(dir, keys, rapid.IntRange(1, 64).Draw(t, "limit"))
		if err != nil {
			t.Fatal(err)
		}
		want := map[string][]byte{}
		for range rapid.IntRange(0, 30).Draw(t, "puts") {
			tile, b := rapid.IntRange(0, 3).Draw(t, "tile"), rapid.SliceOfN(rapid.Byte(), 1, 20).Draw(t, "bytes")
			want[keys[tile]] = append(want[keys[tile]], b...)
			if err := s.put(tile, b); err != nil {
				t.Fatal(err)
			}
		}
		sums, err := s.end()
		if err != nil || len(sums) != len(want) {
			t.Fatalf("%v, %v; want %d", sums, err, len(want))
		}
		for key, b := range want {
			got, err := os.ReadFile(filepath.Join(dir, key))
			if err != nil || !bytes.Equal(got, b) || sums[key] != (spillSum{int64(len(b)), crc32.Checksum(b, castagnoli)}) {
				t.Fatalf("%s holds %x, %v; want %x", key, got, err, b)
			}
		}
	})
}

// TestBelieved: bounds are believed where at most half of the nodes lie outside and they
// reach at most four times as far as what of the data lies in them; else the data counts.
func TestBelieved(t *testing.T) {
	deg := func(w, s, e, n float64) *[4]float64 { return &[4]float64{w, s, e, n} }
	data := []point{{0, 0}, {10 * unit, 0}, {10 * unit, 10 * unit}, {0, 10 * unit}, {5 * unit, 5 * unit}}
	whole := box{0, 0, 10 * unit, 10 * unit}
	for name, c := range map[string]struct {
		stated *[4]float64
		points []point
		want   box
		told   string
	}{
		"nothing stated":        {nil, data, whole, ""},
		"true":                  {deg(0, 0, 10, 10), data, whole, ""},
		"with the sea":          {deg(-5, -5, 15, 15), data, box{-5 * unit, -5 * unit, 15 * unit, 15 * unit}, ""},
		"four times as wide":    {deg(-15, 0, 25, 10), data, box{-15 * unit, 0, 25 * unit, 10 * unit}, ""},
		"five times as wide":    {deg(-20, 0, 30, 10), data, whole, oddWide},
		"five times as high":    {deg(0, -20, 10, 30), data, whole, oddWide},
		"ends of ways outside":  {deg(4, 4, 11, 11), data[2:], box{4 * unit, 4 * unit, 11 * unit, 11 * unit}, ""},
		"most of it is outside": {deg(4, 4, 6, 6), data, whole, oddBeyond},
		"elsewhere":             {deg(40, 40, 60, 60), data, whole, oddBeyond},
		"upside down":           {deg(0, 10, 10, 0), data, whole, oddBounds},
		"off the earth":         {deg(-200, 0, 10, 10), data, whole, oddBounds},
		"no nodes":              {deg(0, 0, 10, 10), nil, noBox(), ""},
	} {
		b := newBoundsCheck(c.stated)
		for _, p := range c.points {
			b.take(p)
		}
		told := ""
		got := b.believed(func(kind string, n int) {
			if told = kind; n < 1 {
				t.Errorf("%s: told %d times", name, n)
			}
		})
		if got != c.want || told != c.told {
			t.Errorf("%s: %v, told %q; want %v, %q", name, got, told, c.want, c.told)
		}
	}
}

// TestKeep: a block is kept if it is there, whole, nothing changed that meets its box and
// the map ends there where it did.
func TestKeep(t *testing.T) {
	dir := t.TempDir()
	quads := []plane.Quad{plane.QuadAt(8, 50, 12), plane.QuadAt(9, 50, 12)}
	const marginM = 500
	tr := newTree(quads, marginM)
	far := [4]int32{-maxLon, -maxLat, maxLon, maxLat}
	before := &Blocks{Clip: far}
	c := &cutter{o: Options{MarginM: marginM}, dir: dir, before: before}
	for i, q := range quads {
		b := Block{Key: q.Key(), File: q.Key() + ".osm.pbf", Bytes: 3, Box: tr.tiles[i].box.degrees()}
		before.Blocks, c.state.Tiles = append(before.Blocks, b), append(c.state.Tiles, q.Key())
		if err := os.MkdirAll(filepath.Dir(b.Path(dir)), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(b.Path(dir), []byte("abc"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	east := before.Blocks[0].Box[2]
	for name, x := range map[string]struct {
		boxes [][4]float64
		clip  [4]int32
		bytes int64
		tiles []string
		want  []bool
	}{
		"nothing changed":       {nil, far, 3, nil, []bool{true, true}},
		"one meets the first":   {[][4]float64{{7, 50, east, 50.01}}, far, 3, nil, []bool{false, true}},
		"just beside the first": {[][4]float64{{east + 2e-7, 50, east + 3e-7, 50.01}}, far, 3, nil, []bool{true, true}},
		"all of it":             {[][4]float64{{-180, -90, 180, 90}}, far, 3, nil, []bool{false, false}},
		"the border moved":      {nil, [4]int32{8 * unit, -maxLat, maxLon, maxLat}, 3, nil, []bool{false, true}},
		"of another length":     {nil, far, 4, nil, []bool{false, true}},
		"cut otherwise":         {nil, far, 3, []string{quads[0].Key() + "0", quads[1].Key()}, []bool{false, true}},
	} {
		c.o.Since, c.state.Clip = &Since{Boxes: x.boxes}, x.clip
		before.Blocks[0].Bytes = x.bytes
		c.state.Tiles = []string{quads[0].Key(), quads[1].Key()}
		if x.tiles != nil {
			c.state.Tiles = x.tiles
		}
		s := spreader{c: c, tree: tr}
		s.keep()
		kept := 0
		for _, k := range s.kept {
			if k {
				kept++
			}
		}
		if !slices.Equal(s.kept, x.want) || len(c.state.Kept) != kept {
			t.Errorf("%s: %v, want %v", name, s.kept, x.want)
		}
	}
	c.before = nil
	s := spreader{c: c, tree: tr}
	if s.keep(); slices.Contains(s.kept, true) || len(c.state.Kept) > 0 {
		t.Error("kept of no cut before")
	}
}

// scanned reads a file by the library, which shares no code with the writer.
func scanned(t interface{ Fatal(...any) }, data []byte) (out []osm.Object) {
	s := osmpbf.New(context.Background(), bytes.NewReader(data), 1)
	defer s.Close()
	for s.Scan() {
		out = append(out, s.Object())
	}
	if err := s.Err(); err != nil {
		t.Fatal(err)
	}
	return out
}
