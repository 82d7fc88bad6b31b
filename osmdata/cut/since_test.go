package cut_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmpbf"
	"pgregory.net/rapid"

	"wideberth/osmdata/cut"
	"wideberth/osmdata/flatfile"
)

// hamlets are three streets, each in a tile of its own; the third has a name.
func hamlets(third string) []byte {
	var b bytes.Buffer
	b.WriteString(`<osm timestamp="2026-11-01T00:00:00Z"><bounds minlon="-7.1" minlat="47.1" maxlon="-6.6" maxlat="47.3"/>`)
	for i, lon := range []float64{-7, -6.88, -6.76} {
		for k := range 3 {
			fmt.Fprintf(&b, `<node id="%d%d" lon="%.4f" lat="%.4f"/>`, i+1, k, lon+float64(k)*.002, 47.2+float64(k%2)*.002)
		}
	}
	for i := range 3 {
		name := "x"
		if i == 2 {
			name = third
		}
		fmt.Fprintf(&b, `<way id="%d"><nd ref="%[1]d0"/><nd ref="%[1]d1"/><nd ref="%[1]d2"/><tag k="highway" v="residential"/><tag k="name" v="%s"/></way>`, i+1, name)
	}
	b.WriteString("</osm>")
	return b.Bytes()
}

// tiny cuts them apart.
func tiny() cut.Options {
	o := small()
	o.TileBytes = 1
	return o
}

func cutBytes(t *testing.T, data []byte, dir string, o cut.Options) *cut.Blocks {
	t.Helper()
	b, err := o.Cut(t.Context(), bytes.NewReader(data), dir)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// written are the times at which the blocks of a folder were written, by name.
func written(t *testing.T, dir string, b *cut.Blocks) map[string]os.FileInfo {
	t.Helper()
	out := map[string]os.FileInfo{}
	for _, x := range b.Blocks {
		info, err := os.Stat(x.Path(dir))
		if err != nil {
			t.Fatal(err)
		}
		out[x.Key] = info
	}
	return out
}

// TestSince: blocks that nothing changed in stay the files that they are; where the folder
// is of another extract, or was cut otherwise, all are made anew, and in every case they
// are those of a whole cut.
func TestSince(t *testing.T) {
	old, now := hamlets("Low Lane"), hamlets("High Lane")
	want := cutBytes(t, now, t.TempDir(), tiny())
	third := [][4]float64{{-6.7601, 47.1999, -6.7559, 47.2021}}
	wide := tiny()
	wide.MarginM = 400
	for name, c := range map[string]struct {
		before cut.Options
		since  *cut.Since
		kept   int
	}{
		"the third street changed": {tiny(), &cut.Since{Extract: bytes.NewReader(old), Boxes: third}, len(want.Blocks) - 1},
		"everything changed":       {tiny(), &cut.Since{Extract: bytes.NewReader(old), Boxes: [][4]float64{{-180, -90, 180, 90}}}, 0},
		"since another map":        {tiny(), &cut.Since{Extract: bytes.NewReader(now[:len(now)-1])}, 0},
		"cut with another margin":  {wide, &cut.Since{Extract: bytes.NewReader(old), Boxes: third}, 0},
		"not said since what":      {tiny(), nil, 0},
	} {
		dir := t.TempDir()
		was := written(t, dir, cutBytes(t, old, dir, c.before))
		o := tiny()
		o.Since = c.since
		got := cutBytes(t, now, dir, o)
		sameBlocks(t, name, got, want)
		kept := 0
		for key, info := range written(t, dir, got) {
			if before := was[key]; before != nil && os.SameFile(before, info) && before.ModTime().Equal(info.ModTime()) {
				kept++
			}
		}
		if kept != c.kept {
			t.Errorf("%s: %d of %d blocks kept, want %d", name, kept, len(got.Blocks), c.kept)
		}
	}
}

// TestSinceGoesOn: given up when the parts are being written, and begun again without a
// word of what changed, the blocks that were to be kept are, and all are those of a whole
// cut. Given up before, the blocks of the cut before are there.
func TestSinceGoesOn(t *testing.T) {
	old, now := hamlets("Low Lane"), hamlets("High Lane")
	want := cutBytes(t, now, t.TempDir(), tiny())
	for _, stage := range []string{"reading nodes", "reading ways", "writing the tiles' parts"} {
		dir := t.TempDir()
		before := cutBytes(t, old, dir, tiny())
		ctx, cancel := context.WithCancel(t.Context())
		o := tiny()
		o.Since = &cut.Since{Extract: bytes.NewReader(old), Boxes: [][4]float64{{-6.7601, 47.1999, -6.7559, 47.2021}}}
		o.Progress = func(s string, _ float64) {
			if s == stage {
				cancel()
			}
		}
		if _, err := o.Cut(ctx, bytes.NewReader(now), dir); err != nil && !errors.Is(err, context.Canceled) {
			t.Fatal(err)
		}
		cancel()
		for _, b := range before.Blocks {
			if _, err := os.Stat(b.Path(dir)); err != nil && stage != "writing the tiles' parts" {
				t.Errorf("%s: %v", stage, err)
			}
		}
		sameBlocks(t, stage, cutBytes(t, now, dir, tiny()), want)
		entries, err := os.ReadDir(filepath.Join(dir, cut.Folder))
		if err != nil || len(entries) != len(want.Blocks)+1 {
			t.Errorf("%s: %d files for %d blocks, %v", stage, len(entries), len(want.Blocks), err)
		}
	}
}

// TestNamedByWhatItHolds: blocks of one extract have the same names whoever cut them and
// when the map is of; another margin, or another street, is another block.
func TestNamedByWhatItHolds(t *testing.T) {
	base := cutBytes(t, hamlets("Low Lane"), t.TempDir(), tiny())
	later := bytes.ReplaceAll(hamlets("Low Lane"), []byte("2026-11-01"), []byte("2027-01-01"))
	other := tiny()
	other.Program, other.Sign = "other", "other"
	for name, b := range map[string]*cut.Blocks{"later": cutBytes(t, later, t.TempDir(), tiny()), "by another program": cutBytes(t, hamlets("Low Lane"), t.TempDir(), other)} {
		sameBlocks(t, name, b, base)
		if b.Of == base.Of {
			t.Errorf("%s: passes for the same cut", name)
		}
		for i := range b.Blocks {
			if b.Blocks[i].File != base.Blocks[i].File {
				t.Errorf("%s: %s, was %s", name, b.Blocks[i].File, base.Blocks[i].File)
			}
		}
	}
	wide := tiny()
	wide.MarginM = 9000 // to the next hamlet
	a, b := hashes(base), hashes(cutBytes(t, hamlets("Low Lane"), t.TempDir(), wide))
	for key := range a {
		if a[key] == b[key] {
			t.Errorf("%s holds the same with a margin of 9 km", key)
		}
	}
}

// TestDamagedList: a list of blocks that cannot be read is told to who reads it, and a cut
// begins anew.
func TestDamagedList(t *testing.T) {
	dir := t.TempDir()
	want := cutBytes(t, hamlets("Low Lane"), dir, tiny())
	path := filepath.Join(dir, cut.Folder, "blocks.json")
	for _, text := range []string{"", "{", `{"blocks": 3}`} {
		if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := cut.Read(dir); !errors.Is(err, flatfile.ErrDamaged) || !strings.Contains(err.Error(), path) {
			t.Errorf("%q: %v", text, err)
		}
		sameBlocks(t, text, cutBytes(t, hamlets("Low Lane"), dir, tiny()), want)
	}
}

// TestSpoiltWork: what a part of the work lost, or has otherwise, since it was given up is
// told, or made again; no other blocks come of it.
func TestSpoiltWork(t *testing.T) {
	want := cutBytes(t, hamlets("Low Lane"), t.TempDir(), tiny())
	for _, c := range []struct{ stage, file string }{
		{"reading ways", "nodes"}, {"reading ways", "members"}, {"reading nodes", "state.json"}, {"writing the tiles' parts", "state.json"}, {"writing the tiles' parts", "spill"},
	} {
		dir := t.TempDir()
		o := tiny()
		ctx, cancel := context.WithCancel(t.Context())
		o.Progress = func(s string, _ float64) {
			if s == c.stage {
				cancel()
			}
		}
		_, err := o.Cut(ctx, bytes.NewReader(hamlets("Low Lane")), dir)
		cancel()
		if err == nil && c.stage == "writing the tiles' parts" {
			continue // so many workers that all parts were written at once
		}
		if !errors.Is(err, context.Canceled) {
			t.Fatalf("%+v: %v", c, err)
		}
		path := filepath.Join(dir, cut.Unfinished, c.file)
		if c.file == "spill" {
			files, err := filepath.Glob(filepath.Join(path, "*"))
			if err != nil || len(files) == 0 {
				t.Fatal(files, err)
			}
			path = files[len(files)-1]
		}
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		b[len(b)/3] ^= 0x10
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		got, err := tiny().Cut(t.Context(), bytes.NewReader(hamlets("Low Lane")), dir)
		switch {
		case err == nil:
			sameBlocks(t, c.file, got, want)
		case !strings.Contains(err.Error(), "remove the folder"):
			t.Errorf("%+v: %v", c, err)
		}
		if err := os.RemoveAll(filepath.Join(dir, cut.Unfinished)); err != nil {
			t.Fatal(err)
		}
		sameBlocks(t, c.file, cutBytes(t, hamlets("Low Lane"), dir, tiny()), want)
	}
}

// TestReaderThatFails: errors of the file are given back, and no list comes of it.
func TestReaderThatFails(t *testing.T) {
	broken := errors.New("the disk is gone")
	for _, after := range []int{0, 1, 2, 3} {
		dir := t.TempDir()
		if _, err := tiny().Cut(t.Context(), &failing{bytes.NewReader(hamlets("Low Lane")), after, broken}, dir); !errors.Is(err, broken) {
			t.Errorf("after %d: %v", after, err)
		}
		if _, err := cut.Read(dir); err == nil {
			t.Errorf("after %d there is a list", after)
		}
	}
}

// failing is a file that can be gone to the start of so often.
type failing struct {
	*bytes.Reader
	left int
	err  error
}

func (f *failing) Seek(offset int64, whence int) (int64, error) {
	if f.left--; f.left < 0 {
		return 0, f.err
	}
	return f.Reader.Seek(offset, whence)
}

// TestPartsOfAFile: no part of a file that is written holds more than 8,000 elements, nor
// elements of two kinds, nor comes near the 32 MB that a part may have ("PBF Format"); the
// hash tells what a file holds, and neither when it was made nor by whom.
func TestPartsOfAFile(t *testing.T) {
	write := func(h cut.Head, objects ...osm.Object) (string, []byte) {
		var b bytes.Buffer
		w := cut.NewWriter(&b, h)
		for _, o := range objects {
			w.Add(o)
		}
		hash, err := w.Close()
		if err != nil {
			t.Fatal(err)
		}
		return hash, b.Bytes()
	}
	var many []osm.Object
	for id := range 8001 {
		many = append(many, &osm.Node{ID: osm.NodeID(id + 1), Lon: 1, Lat: 2, Visible: true})
	}
	long := strings.Repeat("name ", 300_000)
	for id := range 5 {
		many = append(many, &osm.Way{ID: osm.WayID(id + 1), Nodes: osm.WayNodes{{ID: 1}}, Tags: osm.Tags{{Key: "name", Value: long + fmt.Sprint(id)}}})
	}
	many = append(many, &osm.Changeset{ID: 1}, &osm.Relation{ID: 1})
	_, data := write(cut.Head{}, many...)
	var parts []int
	for rest := data; len(rest) > 0; {
		head, blob := int(binary.BigEndian.Uint32(rest)), 0
		// The size of the blob is the last number of its head (field 3), a varint.
		header := rest[4 : 4+head]
		i := bytes.LastIndexByte(header, 0x18) + 1
		for shift := 0; i < len(header); i, shift = i+1, shift+7 {
			blob |= int(header[i]&0x7f) << shift
		}
		if parts = append(parts, blob); blob > 32<<20 {
			t.Errorf("a part of %d bytes", blob)
		}
		rest = rest[4+head+blob:]
	}
	if len(parts) < 6 { // the head, two of nodes, two or more of ways, one of relations
		t.Errorf("parts of %v bytes", parts)
	}
	n := 0
	s := osmpbf.New(t.Context(), bytes.NewReader(data), 2)
	defer s.Close()
	for s.Scan() {
		n++
	}
	if n != 8007 || s.Err() != nil {
		t.Errorf("%d elements, %v", n, s.Err())
	}

	rapid.Check(t, func(t *rapid.T) {
		node := &osm.Node{ID: 7, Version: rapid.IntRange(0, 3).Draw(t, "version"), Lon: float64(rapid.IntRange(0, 3).Draw(t, "lon"))}
		other := &osm.Node{ID: 7, Version: rapid.IntRange(0, 3).Draw(t, "other version"), Lon: float64(rapid.IntRange(0, 3).Draw(t, "other lon"))}
		a, _ := write(cut.Head{Program: "a"}, node)
		b, _ := write(cut.Head{Program: "b", Timestamp: time.Unix(rapid.Int64Range(1, 1e9).Draw(t, "time"), 0)}, other)
		if (a == b) != (node.Version == other.Version && node.Lon == other.Lon) {
			t.Fatalf("%+v and %+v: %s and %s", node, other, a, b)
		}
		if c, _ := write(cut.Head{Bounds: &osm.Bounds{MaxLon: 1, MaxLat: 1}}, node); c == a {
			t.Fatal("bounds are not in the hash")
		}
	})
}

// TestNoRoomForAPart: an error of what is written to is given back, from whatever part.
func TestNoRoomForAPart(t *testing.T) {
	full := errors.New("no room")
	for room := range 3 {
		w := cut.NewWriter(&limited{room, full}, cut.Head{})
		w.Add(&osm.Node{ID: 1})
		w.Add(&osm.Way{ID: 1})
		w.Copy(strings.NewReader("part"))
		if _, err := w.Close(); !errors.Is(err, full) {
			t.Errorf("room for %d: %v", room, err)
		}
	}
	var b bytes.Buffer
	w := cut.NewWriter(&b, cut.Head{})
	w.Copy(strings.NewReader("part"))
	if _, err := w.Close(); err != nil || !bytes.HasSuffix(b.Bytes(), []byte("part")) {
		t.Errorf("%q, %v", b.String(), err)
	}
}

// limited takes so many writes.
type limited struct {
	room int
	err  error
}

func (l *limited) Write(b []byte) (int, error) {
	if l.room--; l.room < 0 {
		return 0, l.err
	}
	return len(b), nil
}

// TestTilesOfOddPlaces: poles, the far meridian and one place alone are cut, each in the
// tile that its core holds.
func TestTilesOfOddPlaces(t *testing.T) {
	for name, at := range map[string][2]float64{"north pole": {10, 89.9}, "south pole": {10, -89.9}, "far east": {179.9999, 10}, "far west": {-180, 10}, "null island": {0, 0}} {
		data := fmt.Sprintf(`<osm><node id="1" lon="%g" lat="%g"/><node id="2" lon="%[1]g" lat="%g"/><way id="1"><nd ref="1"/><nd ref="2"/><tag k="highway" v="path"/></way></osm>`, at[0], at[1], at[1]+.0001)
		b := cutBytes(t, []byte(data), t.TempDir(), tiny())
		held := slices.ContainsFunc(b.Blocks, func(x cut.Block) bool {
			return x.Core[0] <= at[0] && at[0] <= x.Core[2] && x.Core[1] <= at[1] && at[1] <= x.Core[3] && x.Ways == 1 && x.Nodes == 2
		})
		if !held {
			t.Errorf("%s: %+v", name, b.Blocks)
		}
	}
}
