package snapshot_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/elevation"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/flatfile"
	"wideberth/osmdata/plane"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
	"wideberth/testdata"
)

// write puts a snapshot into a file of its own and gives its bytes.
func write(t *testing.T, s *snapshot.Snapshot) (path string, data []byte) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "map.wb")
	if err := s.WriteFile(path); err != nil {
		t.Fatal(err)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return path, data
}

// TestWrittenAgain: what is opened is written as the same bytes, so nothing is lost or
// added on the way, and it is sound.
func TestWrittenAgain(t *testing.T) {
	for _, s := range []*snapshot.Snapshot{maptest.Town(t), maptest.World(t, "school-with-a-gate"), maptest.World(t, "tunnel")} {
		path, first := write(t, s)
		opened, err := snapshot.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		if breaches := opened.Check(); len(breaches) > 0 {
			t.Errorf("%s: %v", s.Name, breaches)
		}
		if _, second := write(t, opened); !bytes.Equal(first, second) {
			t.Errorf("%s: %d bytes are written again as %d others", s.Name, len(first), len(second))
		}
	}
}

// TestOtherFilesAreNamed: another kind of file, a version to come, and none at all.
func TestOtherFilesAreNamed(t *testing.T) {
	path, data := write(t, maptest.World(t, "crossing"))
	later := bytes.Clone(data)
	binary.LittleEndian.PutUint32(later[8:], binary.LittleEndian.Uint32(later[8:])+1)
	for want, data := range map[error][]byte{flatfile.ErrNotThis: []byte("no snapshot at all, but long enough for one"), flatfile.ErrVersion: later} {
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := snapshot.Open(path); !errors.Is(err, want) {
			t.Errorf("%v, want %v", err, want)
		}
	}
	if _, err := snapshot.Open(path + ".gone"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("no file: %v", err)
	}
}

// TestVisibleAgainstAllObstacles: the index of obstacles says what a look at every one
// of them says: whether the line of sight properly crosses one that blocks the view, by
// the sign of areas. Lines that nearly touch an end are left out.
func TestVisibleAgainstAllObstacles(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	const seed = 8
	rng := rand.New(rand.NewPCG(seed, 1))
	s := maptest.Town(t)
	area := func(a, b, c plane.Point) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }
	open, hidden, obstacles := 0, 0, s.Ground.AllObstacles()
	for range 3000 {
		a := s.Graph.Vertex[rng.IntN(len(s.Graph.Vertex))].Add(plane.Point{X: 40 * rng.NormFloat64(), Y: 40 * rng.NormFloat64()})
		b := a.Add(plane.Point{X: 60 * rng.NormFloat64(), Y: 60 * rng.NormFloat64()})
		blocked, doubtful := false, false
		for i := range obstacles {
			o := &obstacles[i]
			for j := 1; j < len(o.Line) && o.Blocks&osmdata.BlocksView != 0; j++ {
				p, q := o.Line[j-1], o.Line[j]
				u, v, w, x := area(a, b, p), area(a, b, q), area(p, q, a), area(p, q, b)
				near := math.Min(math.Min(math.Abs(u), math.Abs(v)), math.Min(math.Abs(w), math.Abs(x))) < 1e-3
				doubtful = doubtful || near && u*v <= 1e-3 && w*x <= 1e-3
				blocked = blocked || u*v < 0 && w*x < 0
			}
		}
		if doubtful {
			continue
		}
		if got := s.Ground.Visible(a, b); got == blocked {
			t.Errorf("seed %d: from %v to %v visible %v, blocked %v", seed, a, b, got, blocked)
		}
		if blocked {
			hidden++
		} else {
			open++
		}
	}
	if open < 300 || hidden < 300 {
		t.Errorf("%d clear and %d hidden: the places are too much alike", open, hidden)
	}
}

// tilted writes height tiles round the town that rise to the east by a whole number of
// metres a column of three arc seconds, in the format of SRTM (1201 rows of 1201 big
// endian 16 bit numbers, north first; tiles share their borders).
func tilted(t *testing.T, rise int) (dir string) {
	t.Helper()
	dir = t.TempDir()
	for i, name := range []string{"N47W008.hgt", "N47W007.hgt"} {
		row := make([]byte, 0, 2*1201)
		for col := range 1201 {
			row = binary.BigEndian.AppendUint16(row, uint16(int16((col+1200*i-1200)*rise)))
		}
		if err := os.WriteFile(filepath.Join(dir, name), bytes.Repeat(row, 1201), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

// TestSlopesOfAnInclinedPlane: on ground that rises evenly to the east every straight
// edge has the slope of its direction: rise over the run of a column of three arc
// seconds, times the eastward part. Its times follow from Tobler's function, uphill one
// way and downhill the other, and it survives the file.
func TestSlopesOfAnInclinedPlane(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	const rise = 9
	extract := filepath.Join(t.TempDir(), testdata.TownFile)
	if err := os.WriteFile(extract, testdata.Town(), 0o600); err != nil {
		t.Fatal(err)
	}
	made, err := snapshot.Import(context.Background(), extract, snapshot.ImportOptions{Heights: tilted(t, rise)})
	if err != nil {
		t.Fatal(err)
	}
	path, _ := write(t, made)
	s, err := snapshot.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	checked := 0
	for e := range int32(s.Graph.EdgeCount()) {
		line := s.Graph.EdgeLine(e)
		a, b := line[0], line[len(line)-1]
		if long := line.LengthM(); len(line) != 2 || long < 20 {
			continue
		}
		lonA, _ := s.Frame.Inverse(a)
		lonB, _ := s.Frame.Inverse(b)
		slope := (lonB - lonA) * 1200 * rise / a.DistanceM(b)
		along, against := s.Slopes.Factor(e, false), s.Slopes.Factor(e, true)
		if want := elevation.Slowness(slope); math.Abs(float64(along)-want) > 1e-3*want {
			t.Errorf("edge %d at slope %.3f takes %.4f, want %.4f", e, slope, along, want)
		}
		if want := elevation.Slowness(-slope); math.Abs(float64(against)-want) > 1e-3*want {
			t.Errorf("edge %d against slope %.3f takes %.4f, want %.4f", e, slope, against, want)
		}
		if math.Abs(float64(s.Slopes.Steepest[e])-math.Abs(slope)) > 1e-3 {
			t.Errorf("edge %d is %.4f steep, want %.4f", e, s.Slopes.Steepest[e], slope)
		}
		checked++
	}
	if checked < 50 {
		t.Errorf("only %d edges are straight", checked)
	}
	if level := (*snapshot.Slopes)(nil); level.Factor(3, true) != 1 || level.Swiftest() != 1 || s.Slopes.Swiftest() <= 1 {
		t.Error("without heights all ground is level; with them some is swifter")
	}
}

// TestImportFaults: a time zone that is none is named with its option, and what is not
// there is said to be missing.
func TestImportFaults(t *testing.T) {
	extract := filepath.Join(t.TempDir(), testdata.TownFile)
	if err := os.WriteFile(extract, testdata.Town(), 0o600); err != nil {
		t.Fatal(err)
	}
	var wrong fault.Problems
	if _, err := snapshot.Import(t.Context(), extract, snapshot.ImportOptions{TimeZone: "Atlantis/Town"}); !errors.As(err, &wrong) || wrong[0].Pointer != "--time-zone" {
		t.Errorf("a zone that is none: %v", err)
	}
	if _, err := snapshot.Import(t.Context(), extract, snapshot.ImportOptions{Heights: t.TempDir()}); !errors.Is(err, elevation.ErrNoTiles) {
		t.Errorf("a folder without tiles: %v", err)
	}
	if _, err := snapshot.Import(t.Context(), extract+".gone", snapshot.ImportOptions{}); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("no extract: %v", err)
	}
	ended, end := context.WithCancel(t.Context())
	end()
	if _, err := snapshot.Import(ended, extract, snapshot.ImportOptions{}); !errors.Is(err, context.Canceled) {
		t.Errorf("given up: %v", err)
	}
}
