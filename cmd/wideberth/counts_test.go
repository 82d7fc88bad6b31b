package main

import (
	"bytes"
	"crypto/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wideberth/api/knowledge"
	"wideberth/api/store"
	"wideberth/api/wire/kept"
	"wideberth/routing/counts"
	"wideberth/routing/snapshot/maptest"
)

// TestCountsOfAnAccount: what an account counted by hand is told, written as a file that
// import reads, and deleted; what cannot be is refused by its flag.
func TestCountsOfAnAccount(t *testing.T) {
	dir := t.TempDir()
	town, memory, table := filepath.Join(dir, "town.wb"), filepath.Join(dir, "town.db"), filepath.Join(dir, "mine.csv")
	s := maptest.Town(t)
	if err := s.WriteFile(town); err != nil {
		t.Fatal(err)
	}
	m, err := store.Open(t.Context(), memory, store.Options{Now: standing, Rand: rand.Reader, Count: knowledge.Count})
	if err != nil {
		t.Fatal(err)
	}
	me, err := m.Local(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	lon, lat := s.Frame.Inverse(maptest.Door(s.Frame))
	dogs := 30.0
	c, err := m.AddCount(t.Context(), me, kept.CountInput{Counted: kept.Counted{Lat: lat, Lon: lon, Start: standing().AddDate(0, 0, -1), Minutes: 10, Dogs: &dogs}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := m.Close(); err != nil {
		t.Fatal(err)
	}
	told := func(want int, args ...string) (out, said string) {
		t.Helper()
		var o, e bytes.Buffer
		if code := run(t.Context(), &world{out: &o, err: &e, now: standing}, append([]string{"counts", "--snapshot", town}, args...)); code != want {
			t.Fatalf("%v ends with %d, want %d: %s%s", args, code, want, o.String(), e.String())
		}
		return o.String(), e.String()
	}
	if out, _ := told(0); !strings.Contains(out, "holds no counts") {
		t.Errorf("the map alone: %s", out)
	}
	out, _ := told(0, "--store", memory, "--csv", table)
	if !strings.Contains(out, "1 counts written") || !strings.Contains(out, c.ID) || !strings.Contains(out, "dogs: predicted over counted") {
		t.Errorf("with the account's: %s", out)
	}
	f, err := os.Open(table)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if list, _, err := counts.Read(f, standing()); err != nil || len(list) != 1 || list[0].Minutes != 10 {
		t.Errorf("read again: %v, %v", list, err)
	}
	for flag, args := range map[string][]string{
		"--csv": {"--csv", table}, "--delete": {"--delete", c.ID}, "--account": {"--store", memory, "--account", "nobody"}, "none.db": {"--store", filepath.Join(dir, "none.db")},
	} {
		want := exitUsage
		if flag == "none.db" {
			want = exitFile
		}
		if _, said := told(want, args...); !strings.Contains(said, flag) {
			t.Errorf("%v: %s", args, said)
		}
	}
	if out, _ := told(0, "--store", memory, "--delete", c.ID); !strings.Contains(out, "deleted "+c.ID) || !strings.Contains(out, "holds no counts") {
		t.Errorf("deleted: %s", out)
	}
	if _, said := told(exitUsage, "--store", memory, "--delete", c.ID); !strings.Contains(said, "no count with this id") {
		t.Errorf("deleted twice: %s", said)
	}
}
