package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"

	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmpbf"

	"wideberth/osmdata"
	"wideberth/osmdata/cut"
	"wideberth/routing/contents"
	"wideberth/routing/snapshot"
	"wideberth/routing/tiling"
)

// asCutter is the variable that makes this test binary cut a map as an import does and do
// nothing else, so that its memory and time are those of cutting.
const asCutter = "WIDEBERTH_AS_CUTTER"

func cutAlone(path, dir string) (code int) {
	f, err := os.Open(path)
	if err == nil {
		_, err = cut.Options{Picker: osmdata.NewPicker(snapshot.Rules()), MarginM: tiling.MarginM}.Cut(context.Background(), f, dir)
	}
	if err != nil {
		fmt.Println(err)
		return 1
	}
	return 0
}

// spent is what a command took: seconds of CPU and the most memory.
func spent(t *testing.T, cmd *exec.Cmd) (seconds, peakMB float64) {
	t.Helper()
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	p := cmd.ProcessState
	return (p.UserTime() + p.SystemTime()).Seconds(), float64(p.SysUsage().(*syscall.Rusage).Maxrss) / 1024
}

// TestFiguresTiles measures a state and several copies of it, cut alone and imported as
// tiles: time goes with the size of the map, memory does not. Ten copies are cut; how
// many are imported, which takes a minute of CPU or two each, says WIDEBERTH_COPIES.
func TestFiguresTiles(t *testing.T) {
	if os.Getenv("WIDEBERTH_FIGURES") == "" {
		t.Skip("measured by make figures")
	}
	mod, err := exec.CommandContext(t.Context(), "go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		t.Fatal(err)
	}
	state := filepath.Join(strings.TrimSpace(string(mod)), "testdata", "delaware-latest.osm.pbf")
	many := 10
	if n, err := strconv.Atoi(os.Getenv("WIDEBERTH_COPIES")); err == nil {
		many = n
	}
	for _, c := range []struct {
		what string
		most int
		cmd  func(path, dir string) *exec.Cmd
	}{
		{"cut", 10, func(path, dir string) *exec.Cmd {
			cmd := program(t, path, dir)
			cmd.Env = append(cmd.Env, asCutter+"=1")
			cmd.Path, _ = os.Executable()
			return cmd
		}},
		{"imported", many, func(path, dir string) *exec.Cmd {
			return program(t, "import", path, "--tiles", "--country", "US", "--out", dir)
		}},
	} {
		var seconds, peakMB [2]float64
		for i, n := range []int{1, c.most} {
			path, dir := filepath.Join(t.TempDir(), "map.osm.pbf"), filepath.Join(t.TempDir(), "map")
			if err := copies(t.Context(), state, path, n); err != nil {
				t.Fatal(err)
			}
			if err := os.Mkdir(dir, 0o700); err != nil {
				t.Fatal(err)
			}
			seconds[i], peakMB[i] = spent(t, c.cmd(path, dir))
			blocks, err := cut.Read(dir)
			if err != nil {
				t.Fatal(err)
			}
			parts, largest, tiles := int64(0), int64(0), int64(0)
			for _, b := range blocks.Blocks {
				parts, largest = parts+b.Bytes, max(largest, b.Bytes)
			}
			if table, err := contents.Read(dir); err == nil {
				for _, tile := range table.Tiles {
					tiles += tile.Bytes
				}
			}
			info, err := os.Stat(path)
			if err != nil {
				t.Fatal(err)
			}
			t.Logf("%2d copies %s: %6.1f MB, %6.1f s of CPU, at most %4.0f MB of memory; %d parts of %.1f MB, the largest %.1f MB; tiles of %.0f MB",
				n, c.what, float64(info.Size())/1e6, seconds[i], peakMB[i], len(blocks.Blocks), float64(parts)/1e6, float64(largest)/1e6, float64(tiles)/1e6)
		}
		if more := seconds[1] / seconds[0]; more > 1.05*float64(c.most) {
			t.Errorf("%s: %d copies take %.1f times as long as one", c.what, c.most, more)
		}
		if peakMB[1] > 1500 {
			t.Errorf("%s: %.0f MB of memory", c.what, peakMB[1])
		}
	}
}

// What a copy is moved by: one column of the coarsest tiles to the east, so that each is
// cut like the first, and ids that the real map does not reach.
const (
	columnDeg = 360.0 / 128
	idStep    = 100_000_000_000
)

// copies writes a PBF file with so many copies of another side by side, sorted: the same
// elements with ids and degrees moved, the first as it is.
func copies(ctx context.Context, from, to string, n int) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.Create(to)
	if err != nil {
		return err
	}
	defer out.Close()
	head, err := header(ctx, in)
	if err != nil {
		return err
	}
	bounds := *head.Bounds
	bounds.MaxLon += columnDeg * float64(n-1)
	buf := bufio.NewWriterSize(out, 1<<20)
	w := cut.NewWriter(buf, cut.Head{Bounds: &bounds, Timestamp: head.ReplicationTimestamp, Program: "wideberth tests"})
	for _, kind := range []osm.Type{osm.TypeNode, osm.TypeWay, osm.TypeRelation} {
		for k := range n {
			if err := copied(ctx, in, w, kind, int64(k)); err != nil {
				return err
			}
		}
	}
	if _, err := w.Close(); err != nil {
		return fmt.Errorf("write %s: %w", to, err)
	}
	if err := buf.Flush(); err != nil {
		return err
	}
	return out.Close()
}

func header(ctx context.Context, in io.ReadSeeker) (*osmpbf.Header, error) {
	s := osmpbf.New(ctx, in, 1)
	defer s.Close()
	return s.Header()
}

// copied writes the elements of a kind of one copy.
func copied(ctx context.Context, in io.ReadSeeker, w *cut.Writer, kind osm.Type, k int64) error {
	if _, err := in.Seek(0, io.SeekStart); err != nil {
		return err
	}
	s := osmpbf.New(ctx, in, 2)
	defer s.Close()
	s.SkipNodes, s.SkipWays, s.SkipRelations = kind != osm.TypeNode, kind != osm.TypeWay, kind != osm.TypeRelation
	more := k * idStep
	for s.Scan() {
		o := s.Object()
		switch o := o.(type) {
		case *osm.Node:
			o.ID += osm.NodeID(more)
			o.Lon += columnDeg * float64(k)
		case *osm.Way:
			o.ID += osm.WayID(more)
			for i := range o.Nodes {
				o.Nodes[i].ID += osm.NodeID(more)
			}
		case *osm.Relation:
			o.ID += osm.RelationID(more)
			for i := range o.Members {
				o.Members[i].Ref += more
			}
		}
		w.Add(o)
	}
	return s.Err()
}
