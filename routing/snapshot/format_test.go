package snapshot_test

import (
	"bufio"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"wideberth/osmdata/flatfile"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// row is a line of a table of the format page.
type row struct{ section, element, index string }

// formatPage reads the page: the rows of its tables, the magic and the version.
func formatPage(t *testing.T) (rows []row, magic [8]byte, version uint32) {
	t.Helper()
	f, err := os.Open("FORMAT.md")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for s := bufio.NewScanner(f); s.Scan(); {
		line := s.Text()
		if word, ok := strings.CutPrefix(line, "- Magic: `"); ok {
			copy(magic[:], word)
		}
		if word, ok := strings.CutPrefix(line, "- Version: "); ok {
			n, err := strconv.ParseUint(word, 10, 32)
			if err != nil {
				t.Fatal(err)
			}
			version = uint32(n)
		}
		if cells := strings.Split(line, "|"); strings.HasPrefix(line, "| `") && len(cells) == 6 {
			rows = append(rows, row{strings.Trim(cells[1], " `"), strings.TrimSpace(cells[2]), strings.TrimSpace(cells[3])})
		}
	}
	return rows, magic, version
}

// counted is how many there are of what the page counts entries by.
func counted(s *snapshot.Snapshot) map[string]int {
	obstacles, buildings, grounds := s.Ground.Sizes()
	n := map[string]int{"vertices": len(s.Graph.Vertex), "arcs": len(s.Graph.ArcEdge), "edges": s.Graph.EdgeCount(),
		"parts": len(s.Graph.Parts), "names": len(s.Graph.Names), "touches": s.Field.TouchCount(), "sources": len(s.Field.Sources),
		"stretches": s.Field.Roadside.StretchCount(), "census": len(s.Field.Census), "obstacles": obstacles,
		"buildings": buildings, "areas": grounds, "roads": len(s.Ground.Roads), "rails": len(s.Ground.Rails),
		"addresses": len(s.Ground.Addresses), "places": len(s.Ground.Places), "car parks": len(s.Ground.CarParks), "yards": len(s.Yards), "covers": len(s.Ground.Covers)}
	n["sixteenths of edges"] = (n["edges"] + 15) / 16
	n["corners"], n["drives"] = s.Roads.Size()
	n["named"], n["words"] = s.Names.Size()
	for i := range s.Field.Sources {
		n["presences"] += len(s.Field.Sources[i].Mix)
		for _, a := range s.Field.Sources[i].Area {
			n["ring counts"] += 2 + len(a.Holes)
			n["ring points"] += len(a.Outer)
			for _, h := range a.Holes {
				n["ring points"] += len(h)
			}
		}
	}
	return n
}

var elementSyntax = regexp.MustCompile(`^(u?int(?:8|16|32|64)|float(?:32|64)|bits32|bits64|point|cm|packed|utf8|json)(?: ×(\d+))?$`)

// entries takes a section as the page says and gives its number of entries, and
// the last number of a section of ends. Numbers that make no sense as the type
// that the page names are told: whole numbers read as floating ones are all but
// nothing, floating ones read as whole are huge.
func entries(t *testing.T, f *flatfile.File, r row) (n, last int) {
	t.Helper()
	m := elementSyntax.FindStringSubmatch(r.element)
	if m == nil {
		t.Fatalf("%s: element %q", r.section, r.element)
	}
	each := 1
	if m[2] != "" {
		each, _ = strconv.Atoi(m[2])
	}
	switch m[1] {
	case "uint8":
		n = len(take[uint8](t, f, r.section))
	case "utf8":
		b := take[uint8](t, f, r.section)
		if n = len(b); !utf8.Valid(b) {
			t.Errorf("%s is not UTF-8", r.section)
		}
	case "json":
		b := take[uint8](t, f, r.section)
		if n = len(b); !json.Valid(b) {
			t.Errorf("%s is not JSON", r.section)
		}
	case "int32":
		n, last = whole(t, r, take[int32](t, f, r.section), 1e7)
	case "uint16":
		n = len(take[uint16](t, f, r.section))
	case "uint32":
		n, last = whole(t, r, take[uint32](t, f, r.section), 1e7)
	case "bits32":
		n = len(take[uint32](t, f, r.section))
	case "int64":
		n, _ = whole(t, r, take[int64](t, f, r.section), 1e14)
	case "float32":
		n = floating(t, r, take[float32](t, f, r.section))
	case "float64":
		n = floating(t, r, take[float64](t, f, r.section))
	case "bits64":
		n = len(take[uint64](t, f, r.section))
	case "cm":
		each *= 2
		n, _ = whole(t, r, take[int32](t, f, r.section), 1e7)
	case "packed":
		b := take[uint8](t, f, r.section)
		if n = len(b); n > 0 && b[n-1] >= 0x80 {
			t.Errorf("%s ends within a number", r.section)
		}
	case "point":
		each *= 2
		n = floating(t, r, take[float64](t, f, r.section))
	}
	if n%each != 0 {
		t.Errorf("%s holds %d numbers, which are no entries of %s", r.section, n, r.element)
	}
	return n / each, last
}

func take[T any](t *testing.T, f *flatfile.File, section string) []T {
	t.Helper()
	out, err := flatfile.Take[T](f, section)
	if err != nil {
		t.Errorf("the page names %s: %v", section, err)
	}
	return out
}

func whole[T int32 | uint32 | int64](t *testing.T, r row, of []T, most float64) (n, last int) {
	t.Helper()
	for i, x := range of {
		if math.Abs(float64(x)) > most {
			t.Errorf("%s: entry %d is %d; is it %s?", r.section, i, x, r.element)
			break
		}
		last = int(x)
	}
	return len(of), last
}

func floating[T float32 | float64](t *testing.T, r row, of []T) int {
	t.Helper()
	for i, x := range of {
		if v := math.Abs(float64(x)); v != 0 && !(v > 1e-30 && v < 1e15) {
			t.Errorf("%s: number %d is %g; is it %s?", r.section, i, x, r.element)
			break
		}
	}
	return len(of)
}

// TestFormatPage holds FORMAT.md to the file of the invented town: each section is
// on the page, each on the page is in the file, and elements and counts are right.
func TestFormatPage(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	s := *maptest.Town(t)
	n := s.Graph.EdgeCount()
	s.Slopes = &snapshot.Slopes{Along: slices.Repeat([]float32{1}, n), Against: slices.Repeat([]float32{1}, n), Steepest: make([]float32, n)}
	path := filepath.Join(t.TempDir(), "town.wb")
	if err := s.WriteFile(path); err != nil {
		t.Fatal(err)
	}
	rows, magic, version := formatPage(t)
	f, err := flatfile.Open(path, magic, version)
	if err != nil {
		t.Fatalf("with the page's magic and version: %v", err)
	}
	var named []string
	have, last := map[string]int{}, map[string]int{}
	for _, r := range rows {
		named = append(named, r.section)
		have[r.section], last[r.section] = entries(t, f, r)
	}
	slices.Sort(named)
	if got := slices.Compact(slices.Clone(named)); len(got) != len(named) {
		t.Errorf("a section is on the page twice: %q", named)
	}
	for _, name := range f.Names() {
		if _, on := slices.BinarySearch(named, name); !on {
			t.Errorf("section %s is in the file and not on the page", name)
		}
	}
	count := counted(&s)
	for _, r := range rows {
		if want, ok := want(r.index, count, last); !ok {
			t.Errorf("%s: nothing is counted by %q", r.section, r.index)
		} else if want >= 0 && have[r.section] != want && !(have[r.section] == 0 && strings.HasSuffix(r.index, orNone)) {
			t.Errorf("%s has %d entries; the page says %s, which are %d", r.section, have[r.section], r.index, want)
		}
	}
}

// orNone marks a section that is empty where all its entries would be 0.
const orNone = " or none"

var indexSyntax = regexp.MustCompile(`^(?:(\d+) )?([a-z ]+?)( \+ 1)?$`)

// want is how many entries an index of the page asks for, -1 for any number.
func want(index string, count, last map[string]int) (int, bool) {
	if index == "free" {
		return -1, true
	}
	if n, err := strconv.Atoi(index); err == nil {
		return n, true
	}
	if section, ok := strings.CutPrefix(index, "last "); ok {
		n, ok := last[section]
		return n, ok
	}
	m := indexSyntax.FindStringSubmatch(strings.TrimSuffix(index, orNone))
	if m == nil {
		return 0, false
	}
	n, ok := count[m[2]]
	if m[1] != "" {
		times, _ := strconv.Atoi(m[1])
		n *= times
	}
	if m[3] != "" {
		n++
	}
	return n, ok
}
