package database_test

import (
	"bytes"
	"errors"
	"fmt"
	mrand "math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"wideberth/api/store/database"
)

// TestFlippedBitsAreFound: of a backup in which one bit is another, wherever it is,
// nothing is restored. SQLite's own check of integrity missed two of three.
func TestFlippedBitsAreFound(t *testing.T) {
	flips := 60
	if os.Getenv("WIDEBERTH_SLOW") == "1" {
		flips = 1000
	}
	flipBits(t, flips)
}

// TestFiguresFlippedBits prints how many of a thousand were found.
func TestFiguresFlippedBits(t *testing.T) {
	if os.Getenv("WIDEBERTH_FIGURES") == "" {
		t.Skip("measures and prints figures; set WIDEBERTH_FIGURES=1 (make figures)")
	}
	const flips = 1000
	found := flipBits(t, flips)
	fmt.Printf("  bits of a backup flipped: %d, one at a time; found out: %d\n", flips, found)
}

// flipBits tries to restore backups with one bit flipped, and such as were cut or grew,
// none of which may be restored. It gives how many flipped bits were found.
func flipBits(t *testing.T, flips int) (found int) {
	t.Helper()
	h := open(t, newFile(t))
	h.full()
	copied := filepath.Join(t.TempDir(), "copy.db")
	h.ok(h.Backup(t.Context(), copied))
	whole, err := os.ReadFile(copied)
	h.ok(err)
	seed := mrand.Uint64()
	t.Logf("seed %d", seed)
	rng := mrand.New(mrand.NewPCG(seed, 0))
	path := filepath.Join(t.TempDir(), "restored.db")
	try := func(what string, raw []byte) {
		t.Helper()
		bad := filepath.Join(t.TempDir(), "bad.db")
		h.ok(os.WriteFile(bad, raw, 0o600))
		if _, err := database.Restore(t.Context(), bad, path, false, things()); err == nil {
			t.Errorf("%s: restored as sound", what)
		} else if what == "one bit" {
			found++
		}
		if _, err := os.Stat(path); err == nil {
			t.Fatalf("%s: something was put there", what)
		}
	}
	for range flips {
		bit := rng.IntN(8 * len(whole))
		raw := bytes.Clone(whole)
		raw[bit/8] ^= 1 << (bit % 8)
		try("one bit", raw)
	}
	for _, cut := range []int{1, 50, 4096, len(whole) / 2} {
		try("cut short", whole[:len(whole)-cut])
	}
	try("something behind", append(bytes.Clone(whole), 'x'))
	if _, err := database.Restore(t.Context(), copied, path, false, things()); err != nil {
		t.Errorf("the whole one: %v", err)
	}
	t.Logf("%d bits flipped, none restored", flips)
	return found
}

// TestBackupOfAnOlderProgram: one without a checksum is taken only where that is
// asked for, and only if SQLite finds nothing wrong.
func TestBackupOfAnOlderProgram(t *testing.T) {
	path := newFile(t)
	h := open(t, path)
	h.ok(h.put("fern", ""))
	copied, old := filepath.Join(t.TempDir(), "copy.db"), filepath.Join(t.TempDir(), "old.db")
	h.ok(h.Backup(t.Context(), copied))
	whole, err := os.ReadFile(copied)
	h.ok(err)
	h.ok(os.WriteFile(old, whole[:bytes.LastIndex(whole, []byte("\nwideberth backup"))], 0o600))
	to := filepath.Join(t.TempDir(), "to.db")
	_, err = database.Restore(t.Context(), old, to, false, things())
	want(t, "without asking", err, database.ErrUnmarked)
	if _, err := database.Restore(t.Context(), old, to, true, things()); err != nil {
		t.Fatal(err)
	}
	want(t, "what was kept", open(t, to).find("fern"), nil)
	h.ok(os.WriteFile(old, scramble(whole[:len(whole)/2]), 0o600))
	if _, err := database.Restore(t.Context(), old, filepath.Join(t.TempDir(), "x.db"), true, things()); err == nil || errors.Is(err, database.ErrUnmarked) {
		t.Errorf("a broken one, asked for: %v", err)
	}
}

// TestBackupIsADatabase: whoever has only SQLite can open it.
func TestBackupIsADatabase(t *testing.T) {
	h := open(t, newFile(t))
	h.ok(h.put("fern", ""))
	copied := filepath.Join(t.TempDir(), "copy.db")
	h.ok(h.Backup(t.Context(), copied))
	execute(t, copied, `SELECT count(*) FROM thing`)
	again := filepath.Join(t.TempDir(), "again.db")
	s := open(t, copied)
	h.ok(s.put("birch", "")) // with its line behind the last page
	h.ok(s.Backup(t.Context(), again))
	if _, err := database.Restore(t.Context(), again, filepath.Join(t.TempDir(), "x.db"), false, things()); err != nil {
		t.Errorf("a backup of an opened backup: %v", err)
	}
}
