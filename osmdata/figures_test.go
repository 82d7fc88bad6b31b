package osmdata_test

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmpbf"
)

// copyShiftDeg is more than the state is wide, so that copies stand side by side.
const copyShiftDeg = 0.8

// copyShiftID is more than the largest id of the state's extract.
const copyShiftID = 10_000_000_000

// TestFiguresTenTimes makes an extract of ten times the state by shifting and
// renumbering copies and imports one and ten copies with the real program, so
// that growth in time and memory is seen side by side. Point WIDEBERTH_BIN at
// the program (make figures does).
func TestFiguresTenTimes(t *testing.T) {
	bin := os.Getenv("WIDEBERTH_BIN")
	if os.Getenv("WIDEBERTH_FIGURES") == "" || bin == "" {
		t.Skip("measures and prints figures; set WIDEBERTH_FIGURES=1 and WIDEBERTH_BIN (make figures)")
	}
	dir := t.TempDir()
	var seconds, peakMB [2]float64
	for i, n := range []int{1, 10} {
		path := filepath.Join(dir, fmt.Sprintf("%d.osm.pbf", n))
		writeCopies(t, path, n)
		begin := time.Now()
		cmd := exec.Command(bin, "import", path, "--out", filepath.Join(dir, "copies.wb"))
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		seconds[i] = time.Since(begin).Seconds()
		peakMB[i] = float64(maxRSSKB(cmd.ProcessState)) / 1000
		info, err := os.Stat(path)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Printf("  import of %2d states (%.0f MB): %.1f s, peak %.0f MB\n", n, float64(info.Size())/1e6, seconds[i], peakMB[i])
	}
	fmt.Printf("  ten states against one: %.1f times the time, %.1f times the memory\n", seconds[1]/seconds[0], peakMB[1]/peakMB[0])
}

// TestFiguresImportBefore imports the state with the program and with an earlier one by
// turns, and prints the ratios of processor time and of memory.
func TestFiguresImportBefore(t *testing.T) {
	now, before := os.Getenv("WIDEBERTH_BIN"), os.Getenv("WIDEBERTH_BEFORE")
	if os.Getenv("WIDEBERTH_FIGURES") == "" || now == "" || before == "" {
		t.Skip("measures and prints figures; set WIDEBERTH_FIGURES=1, WIDEBERTH_BIN and WIDEBERTH_BEFORE (make figures)")
	}
	state, out := filepath.Join(moduleDir(t), "testdata", "delaware-latest.osm.pbf"), filepath.Join(t.TempDir(), "state.wb")
	const rounds = 3
	var cpu, memory [rounds]float64
	for i := range rounds {
		var seconds, kB [2]float64
		for j, bin := range []string{before, now} {
			cmd := exec.Command(bin, "import", state, "--out", out)
			if told, err := cmd.CombinedOutput(); err != nil {
				t.Fatalf("%v: %s", err, told)
			}
			seconds[j], kB[j] = (cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds(), float64(maxRSSKB(cmd.ProcessState))
		}
		cpu[i], memory[i] = seconds[1]/seconds[0], kB[1]/kB[0]
	}
	slices.Sort(cpu[:])
	slices.Sort(memory[:])
	fmt.Printf("  import of the state / before the levels went by destinations: processor time %.2f (%.2f to %.2f), memory %.2f\n", cpu[1], cpu[0], cpu[2], memory[1])
}

// writeCopies writes n copies of the state as one PBF file: all nodes, then all
// ways, then all relations, ids rising, as the format's sorted files are.
func writeCopies(t *testing.T, path string, n int) {
	t.Helper()
	state := filepath.Join(moduleDir(t), "testdata", "delaware-latest.osm.pbf")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	w := bufio.NewWriterSize(f, 1<<20)
	header := message(message(nil, 4, []byte("OsmSchema-V0.6")), 4, []byte("DenseNodes"))
	w.Write(blob("OSMHeader", zlibBlob(header)))
	for _, kind := range []osm.Type{osm.TypeNode, osm.TypeWay, osm.TypeRelation} {
		for c := range n {
			c := copier{w: w, kind: kind, id: int64(c) * copyShiftID, lon: float64(c) * copyShiftDeg}
			c.run(t, state)
		}
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
}

func moduleDir(t *testing.T) string {
	t.Helper()
	out, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/paulmach/osm").Output()
	if err != nil {
		t.Fatal(err)
	}
	return strings.TrimSpace(string(out))
}

// copier writes one shifted copy of one kind of element in blocks.
type copier struct {
	w     *bufio.Writer
	kind  osm.Type
	id    int64
	lon   float64
	nodes []worldNode
	st    stringTable
	group []byte
	count int
}

const blockElements = 8000

func (c *copier) run(t *testing.T, state string) {
	t.Helper()
	f, err := os.Open(state)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	s := osmpbf.New(context.Background(), f, 2)
	defer s.Close()
	s.SkipNodes, s.SkipWays, s.SkipRelations = c.kind != osm.TypeNode, c.kind != osm.TypeWay, c.kind != osm.TypeRelation
	for s.Scan() {
		c.add(s.Object())
		if c.count++; c.count%blockElements == 0 {
			c.flush()
		}
	}
	if s.Err() != nil {
		t.Fatal(s.Err())
	}
	c.flush()
}

func (c *copier) add(o osm.Object) {
	switch o := o.(type) {
	case *osm.Node:
		c.nodes = append(c.nodes, worldNode{int64(o.ID) + c.id, o.Lon + c.lon, o.Lat, pairs(o.Tags)})
	case *osm.Way:
		y := worldWay{id: int64(o.ID) + c.id, tags: pairs(o.Tags)}
		for _, n := range o.Nodes {
			y.refs = append(y.refs, int64(n.ID)+c.id)
		}
		c.group = message(c.group, 3, y.encode(&c.st))
	case *osm.Relation:
		r := worldRelation{id: int64(o.ID) + c.id, tags: pairs(o.Tags)}
		for _, m := range o.Members {
			if m.Type == osm.TypeWay {
				r.ways, r.roles = append(r.ways, m.Ref+c.id), append(r.roles, m.Role)
			}
		}
		c.group = message(c.group, 4, r.encode(&c.st))
	}
}

func pairs(tags osm.Tags) (out [][2]string) {
	for _, t := range tags {
		out = append(out, [2]string{t.Key, t.Value})
	}
	return out
}

func (c *copier) flush() {
	if len(c.nodes) > 0 {
		w := world{nodes: c.nodes}
		c.group = message(nil, 2, w.dense(&c.st))
	}
	if len(c.group) > 0 {
		c.w.Write(blob("OSMData", zlibBlob(primitiveBlock(&c.st, c.group))))
	}
	c.nodes, c.group, c.st = nil, nil, stringTable{}
}
