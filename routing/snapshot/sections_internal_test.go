package snapshot

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wideberth/osmdata/flatfile"
	"wideberth/testdata"
)

// small is a map with everything in it that a file can hold: the invented town's middle
// would be too large to be written a thousand times, so it is one of the small worlds with
// what it lacks put in by hand.
func small(t testing.TB) *Snapshot {
	t.Helper()
	b, err := testdata.Worlds().Open("school-with-a-gate.osm")
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	var text bytes.Buffer
	if _, err := text.ReadFrom(b); err != nil {
		t.Fatal(err)
	}
	s, err := ImportFrom(context.Background(), bytes.NewReader(text.Bytes()), "school.osm", ImportOptions{})
	if err != nil {
		t.Fatal(err)
	}
	n := s.Graph.EdgeCount()
	s.Slopes = &Slopes{slices.Repeat([]float32{1}, n), slices.Repeat([]float32{1.5}, n), slices.Repeat([]float32{0.25}, n)}
	s.Ground.Covers = append(s.Ground.Covers, Cover{Shelter, "Stop", s.Graph.Vertex[0]})
	s.Ground.CarParks = append(s.Ground.CarParks, CarPark{"Lot", s.Graph.Vertex[0], true})
	s.Ground.Places = append(s.Ground.Places, Settlement{"Nook", s.Graph.Vertex[0], Hamlet})
	s.Ground.Roads = append(s.Ground.Roads, Road{s.Graph.EdgeLine(0), 3, "Chase"})
	s.Ground.Rails = append(s.Ground.Rails, s.Graph.EdgeLine(0))
	return s
}

// section is the bytes of one.
type section struct {
	name string
	data []byte
}

// sections takes a written file apart.
func sections(t testing.TB, s *Snapshot) (out []section) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "map.wb")
	if err := s.WriteFile(path); err != nil {
		t.Fatal(err)
	}
	f, err := flatfile.Open(path, snapshotMagic, snapshotVersion)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range f.Names() {
		b, err := flatfile.Take[byte](f, name)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, section{name, b})
	}
	return out
}

// opened writes sections under right checksums and opens the file.
func opened(t testing.TB, path string, list []section) (*Snapshot, error) {
	t.Helper()
	w, err := flatfile.Create(path, snapshotMagic, snapshotVersion)
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range list {
		flatfile.Put(w, x.name, x.data)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	defer os.Remove(path)
	return Open(path)
}

// TestEachSectionIsNeeded: a file with right checksums in which a section is missing, is
// empty, is cut or holds more than it should is refused as damaged, or what is opened can be
// checked; nothing of it ends the program.
func TestEachSectionIsNeeded(t *testing.T) {
	all := sections(t, small(t))
	path := filepath.Join(t.TempDir(), "map.wb")
	if s, err := opened(t, path, all); err != nil || len(s.Check()) > 0 {
		t.Fatalf("as it was written: %v", err)
	}
	refused, checked := 0, 0
	with := func(i int, data []byte) []section {
		out := slices.Clone(all)
		out[i].data = data
		return out
	}
	slow := os.Getenv("WIDEBERTH_SLOW") != ""
	for i, x := range all {
		if !slow && i%16 != 3 && x.name != "slope.along" && x.name != "slope.against" {
			continue // each file is put on the disk: a few of them here, all by night
		}
		without := slices.Delete(slices.Clone(all), i, i+1)
		s, err := opened(t, path, without)
		switch {
		case x.name == "slope.along": // no heights, whatever is left of them
			if err != nil || s.Slopes != nil {
				t.Errorf("without %s: %v", x.name, err)
			}
		case !errors.Is(err, flatfile.ErrMissing) || !strings.Contains(err.Error(), x.name):
			t.Errorf("without %s: %v", x.name, err)
		}
		var wrong [][]byte
		if len(x.data) > 0 {
			wrong = append(wrong, nil)
		}
		for _, n := range []int{1, 4, 8, 16} {
			if n < len(x.data) {
				wrong = append(wrong, x.data[:len(x.data)-n])
			}
			wrong = append(wrong, append(slices.Clone(x.data), make([]byte, n)...))
		}
		for _, data := range wrong {
			s, err := opened(t, path, with(i, data))
			if err == nil {
				s.Check()
				checked++
				continue
			}
			refused++
			if !errors.Is(err, flatfile.ErrDamaged) && !errors.Is(err, flatfile.ErrTruncated) {
				t.Errorf("%s of %d bytes, %d are right: it is not said to be damaged: %v", x.name, len(data), len(x.data), err)
			}
		}
	}
	if len(all) < 60 || refused < 2*checked || refused < 40 {
		t.Errorf("%d sections, %d files refused, %d opened", len(all), refused, checked)
	}
	t.Logf("%d sections, %d files refused, %d opened", len(all), refused, checked)
}

// TestGroundThatHangsTogether: sections of the ground plan that contradict each other, each
// with a right checksum, are damage: lines and rings that end before they begin or beyond
// all points, a sort of cover that is none, lists of different lengths.
func TestGroundThatHangsTogether(t *testing.T) {
	all := sections(t, small(t))
	path := filepath.Join(t.TempDir(), "map.wb")
	at := func(name string) int {
		i := slices.IndexFunc(all, func(x section) bool { return x.name == name })
		if i < 0 {
			t.Fatalf("no section %s", name)
		}
		return i
	}
	for _, c := range []struct {
		name string
		turn func(b []byte)
		says string
	}{
		{"ground.obstacle.end", func(b []byte) { b[0], b[3] = 0, 0x80 }, "ground.obstacle.end"},         // below 0
		{"ground.building.ring.end", func(b []byte) { b[len(b)-2] = 0x7f }, "ground.building.ring.end"}, // beyond all points
		{"ground.building.rings", func(b []byte) { clear(b[:4]) }, "ground.building.rings"},             // no outer ring
		{"ground.building.rings", func(b []byte) { b[len(b)-2] = 0x7f }, "ground.building.rings"},
		{"ground.cover.kind", func(b []byte) { b[0] = byte(CoverKindCount) }, "no sort of cover"},
		{"ground.road.end", func(b []byte) { clear(b); b[3] = 0x10 }, "ground.road.end"},
	} {
		list := slices.Clone(all)
		i := at(c.name)
		list[i].data = slices.Clone(list[i].data)
		c.turn(list[i].data)
		if _, err := opened(t, path, list); !errors.Is(err, flatfile.ErrDamaged) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	// One entry more in one of the lists that belong together.
	for name, says := range map[string]string{"ground.obstacle.kind": "obstacles", "ground.area.kind": "areas", "ground.road.class": "roads", "ground.place.kind": "settlements", "ground.carpark.public": "car parks", "ground.cover.kind": "covers"} {
		list := slices.Clone(all)
		i := at(name)
		list[i].data = append(slices.Clone(list[i].data), 0, 0)
		if _, err := opened(t, path, list); !errors.Is(err, flatfile.ErrDamaged) || !strings.Contains(err.Error(), "sections of "+says) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for name, data := range map[string][]byte{"about": []byte("{"), "counts": []byte(`{"lat":1}`), "frame": make([]byte, 24)} {
		list := slices.Clone(all)
		list[at(name)].data = data
		if _, err := opened(t, path, list); !errors.Is(err, flatfile.ErrDamaged) || !strings.Contains(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestBreachesAreTold: each invariant that is broken is among the breaches, and a sound
// snapshot has none.
func TestBreachesAreTold(t *testing.T) {
	s := small(t)
	if got := s.Check(); len(got) > 0 {
		t.Fatalf("sound: %v", got)
	}
	for says, breaks := range map[string]func(s *Snapshot){
		"time zone":        func(s *Snapshot) { s.Zone = "Nowhere/At_All" },
		"takes 0.4":        func(s *Snapshot) { s.Slopes.Along[0] = 0.4 },
		"and 0.5 times":    func(s *Snapshot) { s.Slopes.Against[0] = 0.5 },
		"edge 0 takes 1":   func(s *Snapshot) { s.Slopes.Steepest[0] = -0.1 },
		"edges, the field": func(s *Snapshot) { s.Field = small(t).Field; s.Field.Place = s.Field.Place[1:] },
	} {
		n := len(s.Slopes.Along)
		bad := *s
		bad.Slopes = &Slopes{slices.Clone(s.Slopes.Along), slices.Clone(s.Slopes.Against), slices.Clone(s.Slopes.Steepest)}
		breaks(&bad)
		got := bad.Check()
		if !slices.ContainsFunc(got, func(err error) bool { return strings.Contains(err.Error(), says) }) {
			t.Errorf("%q of %d edges: %v", says, n, got)
		}
	}
	if err := s.WriteFile(filepath.Join(t.TempDir(), "no", "such", "folder", "map.wb")); err == nil || !strings.Contains(err.Error(), "write snapshot") {
		t.Errorf("into no folder: %v", err)
	}
	if err := (*Slopes)(nil).check(); err != nil {
		t.Errorf("level ground: %v", err)
	}
}
