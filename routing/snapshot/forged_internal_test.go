package snapshot

import (
	"encoding/binary"
	"errors"
	"hash/crc32"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
)

// written is the bytes of a snapshot's file.
func written(t testing.TB, s *Snapshot) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), "map.wb")
	if err := s.WriteFile(path); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// sealed sets all checksums of a file right, by the layout that the comment of package
// flatfile tells.
func sealed(data []byte) {
	le, table := binary.LittleEndian, crc32.MakeTable(crc32.Castagnoli)
	end := len(data) - 24
	at := int(le.Uint64(data[end:]))
	for p := at; p < end; {
		p += 2 + int(le.Uint16(data[p:]))
		from, length := int(le.Uint64(data[p:])), int(le.Uint64(data[p+8:]))
		p += 16
		for group := range slices.Chunk(data[from:from+length], 1<<16) {
			le.PutUint32(data[p:], crc32.Checksum(group, table))
			p += 4
		}
	}
	le.PutUint32(data[end+12:], crc32.Checksum(data[at:end], table))
}

// lookAt asks for all that a snapshot holds, as those who plan and draw do.
func lookAt(t testing.TB, s *Snapshot) {
	t.Helper()
	held := func(what string, line []plane.Point, least int) {
		if len(line) < least {
			t.Fatalf("%s has %d points", what, len(line))
		}
		for _, p := range line {
			if !(math.Abs(p.X) < 3e7 && math.Abs(p.Y) < 3e7) {
				t.Fatalf("%s has a point at %v", what, p)
			}
		}
	}
	here := plane.Box{}.Grown(5e3)
	for e := range int32(s.Graph.EdgeCount()) {
		held("an edge", s.Graph.EdgeLine(e), 2)
		for p := range exposure.PatternCount {
			for b, bin := range s.Field.NearBins(p, e) {
				if d := bin.DistM(b); !(d > 0) || !(bin.RatePerS() >= 0) {
					t.Fatalf("a bin of edge %d is %v at %g m", e, bin, d)
				}
			}
		}
		if b := s.Field.Sides(e, e%2 == 0); !(b.Left.LowM >= 0) || !(b.Right.LeastM >= 0) || !(s.Field.RoomM(e) >= 0) || !(b.SightM >= 0) {
			t.Fatalf("beside edge %d is %+v", e, b)
		}
		for touch := range s.Field.TouchesOf(e) {
			_ = s.Field.Source(touch.Source).Name
		}
		_, _ = s.Field.Roadside.Of(e), s.Field.Roadside.WideOf(e)
	}
	s.Graph.InBox(here)
	s.Graph.Near(plane.Point{X: 10}, math.Inf(1))
	for _, o := range s.Ground.AllObstacles() {
		held("an obstacle", o.Line, 0)
	}
	for _, b := range s.Ground.AllBuildings() {
		held("a building", b.Area.Outer, 3)
	}
	for _, g := range s.Ground.AllGrounds() {
		held("an area", g.Area.Outer, 3)
	}
	s.Ground.Visible(plane.Point{X: -300, Y: -200}, plane.Point{X: 300, Y: 250})
	s.Ground.Index().InBox(here, uint8(osmdata.BlocksWay), nil)
	s.Ground.Index().Nearest(plane.Point{Y: 5}, math.Inf(1), uint8(osmdata.BlocksView))
	s.Ground.CoverNear(plane.Point{}, 400)
	s.Names.Find("school lane", nil, 5)
	s.Check()
}

// TestForgedFiles: files in which bytes are other than they were written and all checksums
// are right are refused as damaged, or hold other numbers: nothing in them ends the program,
// whatever is asked of them.
func TestForgedFiles(t *testing.T) {
	const seed = 9
	rounds := 150
	if os.Getenv("WIDEBERTH_SLOW") != "" {
		rounds = 20_000
	}
	rng := rand.New(rand.NewPCG(seed, 1))
	whole := written(t, small(t))
	path := filepath.Join(t.TempDir(), "map.wb")
	dir := int(binary.LittleEndian.Uint64(whole[len(whole)-24:]))
	refused, opened := 0, 0
	for range rounds {
		data := slices.Clone(whole)
		for range 1 + rng.IntN(3) {
			at := 16 + rng.IntN(dir-16)
			switch rng.IntN(3) {
			case 0:
				data[at] ^= 1 << rng.IntN(8)
			case 1:
				data[at] = 0xff
			case 2:
				data[at] = 0
			}
		}
		sealed(data)
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := Open(path)
		if err != nil {
			refused++
			if !errors.Is(err, flatfile.ErrDamaged) && !errors.Is(err, flatfile.ErrMissing) {
				t.Fatalf("seed %d: not said to be damaged: %v", seed, err)
			}
			continue
		}
		opened++
		lookAt(t, s)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if refused < rounds/20 || opened < rounds/20 {
		t.Errorf("%d refused, %d opened", refused, opened)
	}
}

// TestBrokenFiles: of a file with a bit turned anywhere, opening or Verify tells, unless the
// bit lies between sections; until then all of it can be asked for.
func TestBrokenFiles(t *testing.T) {
	const seed = 5
	rng := rand.New(rand.NewPCG(seed, 1))
	whole := written(t, small(t))
	path := filepath.Join(t.TempDir(), "map.wb")
	refused, found := 0, 0
	for range 150 {
		data := slices.Clone(whole)
		i, bit := rng.IntN(len(data)), byte(1)<<rng.IntN(8)
		data[i] ^= bit
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := Open(path)
		if err != nil {
			refused++
			continue
		}
		lookAt(t, s)
		if len(s.Verify()) > 0 {
			found++
		} else if !slices.Equal(written(t, s), whole) {
			t.Fatalf("seed %d: bit %#x of byte %d turned makes another map", seed, bit, i)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
	if refused < 100 || found < 3 {
		t.Errorf("%d of 150 were refused, %d found by Verify", refused, found)
	}
	for n := 0; n < len(whole); n += 1 + len(whole)/37 {
		if err := os.WriteFile(path, whole[:n], 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(path); err == nil {
			t.Errorf("the first %d of %d bytes were taken for the whole", n, len(whole))
		}
	}
}

// TestStoredIndexes: the indexes that a file holds are those made anew of what else it
// holds, and the grid finds what one of plain pieces finds.
func TestStoredIndexes(t *testing.T) {
	made := small(t)
	path := filepath.Join(t.TempDir(), "map.wb")
	if err := made.WriteFile(path); err != nil {
		t.Fatal(err)
	}
	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	fresh := obstacleIndex(s.Ground.AllObstacles())
	grid, stored := fresh.Grid(), s.Ground.stored.grid
	if !slices.Equal(grid.Block, stored.Block) || !slices.Equal(grid.Occupied, stored.Occupied) || !slices.Equal(grid.From, stored.From) || !slices.Equal(grid.Piece, stored.Piece) {
		t.Errorf("the grid of obstacles is %+v, made anew %+v", stored, grid)
	}
	if len(grid.Piece) == 0 || !slices.Equal(orderOfCovers(s.Ground.Covers), s.Ground.coverOrder) || len(s.Ground.coverOrder) == 0 {
		t.Errorf("covers by place are %v, made anew %v", s.Ground.coverOrder, orderOfCovers(s.Ground.Covers))
	}
	rng := rand.New(rand.NewPCG(3, 1))
	somewhere := func() plane.Point { return plane.Point{X: 400*rng.Float64() - 200, Y: 400*rng.Float64() - 200} }
	hits := 0
	for range 400 {
		a, b := somewhere(), somewhere()
		h1, ok1 := fresh.FirstHit(a, b, 3)
		h2, ok2 := s.Ground.Index().FirstHit(a, b, 3)
		n1, near1 := fresh.Nearest(a, 80, 1)
		n2, near2 := s.Ground.Index().Nearest(a, 80, 1)
		if ok1 != ok2 || h1.ID != h2.ID || h1.At != h2.At || near1 != near2 || n1.ID != n2.ID || n1.At != n2.At {
			t.Fatalf("from %v to %v: %+v and %+v, made anew %+v and %+v", a, b, h2, n2, h1, n1)
		}
		if ok1 {
			hits++
		}
	}
	if hits < 40 {
		t.Errorf("only %d rays hit anything", hits)
	}
}
