package cut

import (
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"
)

// made writes a table and opens it; twice counts the ids that were given again.
func made(t interface {
	Helper()
	Fatal(...any)
}, dir string, most int, records []record) (tab *table, twice int) {
	t.Helper()
	path := filepath.Join(dir, "table")
	w, err := newTableWriter(path, most, func(int64) { twice++ })
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range records {
		if err := w.add(r.id, r.value); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.close(); err != nil {
		t.Fatal(err)
	}
	tab, err = openTable(path)
	if err != nil {
		t.Fatal(err)
	}
	return tab, twice
}

// TestTableIsAMap: a table says what a map says that was filled in the same order,
// whatever the order, the ids and how few records fit into memory at once.
func TestTableIsAMap(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(rt *rapid.T) {
		ids := rapid.OneOf(rapid.Int64Range(-20, 20), rapid.Int64Range(0, 5000), rapid.Int64())
		n := rapid.IntRange(0, 3000).Draw(rt, "n")
		rng := rand.New(rand.NewPCG(uint64(n), rapid.Uint64().Draw(rt, "seed")))
		few := []int64{ids.Draw(rt, "id"), ids.Draw(rt, "id"), ids.Draw(rt, "id")}
		wide := rapid.Int64Range(1, 1<<34).Draw(rt, "wide")
		records := make([]record, n)
		at := few[0]
		for i := range records {
			switch rng.IntN(50) {
			case 0:
				at = few[rng.IntN(len(few))] // back, or again
			default:
				at += rng.Int64N(wide) // overflows at times, which is an id like another
			}
			records[i] = record{at, rng.Uint64()}
		}
		want := map[int64]uint64{}
		again := 0
		for _, r := range records {
			if _, there := want[r.id]; there {
				again++
			}
			want[r.id] = r.value
		}
		tab, twice := made(rt, dir, rapid.IntRange(1, 4000).Draw(rt, "most")|7, records)
		defer tab.close()
		if tab.count != int64(len(want)) || twice != again {
			rt.Fatalf("%d records, %d again; want %d, %d", tab.count, twice, len(want), again)
		}
		for id, value := range want {
			if got, found, err := tab.get(id); got != value || !found || err != nil {
				rt.Fatalf("%d: %d %t %v, want %d", id, got, found, err, value)
			}
			_, there := want[id+1]
			if _, found, err := tab.get(id + 1); found != there || err != nil {
				rt.Fatalf("%d: %t %v, want %t", id+1, found, err, there)
			}
		}
	})
}

// TestTableDamage: a flipped bit anywhere, and a cut, are told.
func TestTableDamage(t *testing.T) {
	dir := t.TempDir()
	records := make([]record, 2500)
	for i := range records {
		records[i] = record{int64(3 * i), uint64(i)}
	}
	tab, _ := made(t, dir, 100000, records)
	if err := tab.close(); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "table")
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	look := func() error {
		tab, err := openTable(path)
		if err != nil {
			return err
		}
		defer tab.close()
		for _, r := range records {
			if v, found, err := tab.get(r.id); err != nil {
				return err
			} else if !found || v != r.value {
				t.Errorf("%d is %d, %t: another value without an error", r.id, v, found)
			}
		}
		return nil
	}
	if err := look(); err != nil {
		t.Fatal(err)
	}
	for _, at := range []int{0, 3, 7, 8, 9, 11, 12, pageHead + 5, pageSize, pageSize + 8, pageHead + 4*pageRecords + 9, pageSize + pageHead, 3*pageSize + 3, len(whole) - 2, len(whole) - tableEnd, len(whole) - 10} {
		bad := append([]byte(nil), whole...)
		bad[at] ^= 4
		if err := os.WriteFile(path, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := look(); !errors.Is(err, errTable) {
			t.Errorf("a bit flipped at %d of %d: %v", at, len(whole), err)
		}
	}
	for _, n := range []int{0, 5, pageSize, len(whole) - 1} {
		if err := os.WriteFile(path, whole[:n], 0o600); err != nil {
			t.Fatal(err)
		}
		if err := look(); !errors.Is(err, errTable) {
			t.Errorf("cut to %d: %v", n, err)
		}
	}
}
