package store_test

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wideberth/api/store"
	"wideberth/api/wire/kept"
)

// inFiles gives the name of the database file or side file that holds a text.
func inFiles(t *testing.T, path, text string) string {
	t.Helper()
	for _, side := range []string{"", "-wal", "-shm"} {
		raw, err := os.ReadFile(path + side)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			t.Fatal(err)
		}
		if bytes.Contains(raw, []byte(text)) {
			return filepath.Base(path + side)
		}
	}
	return ""
}

func TestSQLiteRefusesWhatIsNotOurs(t *testing.T) {
	cases := map[string]struct {
		make func(t *testing.T, path string)
		want error
	}{
		"no database": {func(t *testing.T, path string) {
			if err := os.WriteFile(path, []byte(strings.Repeat("not a database ", 100)), 0o600); err != nil {
				t.Fatal(err)
			}
		}, store.ErrForeign},
		"another program's": {func(t *testing.T, path string) { execute(t, path, `CREATE TABLE other (x)`) }, store.ErrForeign},
		"a newer program's": {func(t *testing.T, path string) {
			open(t, path, newClock())
			execute(t, path, `INSERT INTO schema_step VALUES (99, 0)`)
		}, store.ErrNewer},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			path := newFile(t)
			c.make(t, path)
			_, err := store.Open(t.Context(), path, newClock().options())
			want(t, "open", err, c.want)
		})
	}
}

func execute(t *testing.T, path, statement string) {
	t.Helper()
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(statement); err != nil {
		t.Fatal(err)
	}
}

func TestPostgresRefusesANewerSchema(t *testing.T) {
	url := postgres(t)
	open(t, url, newClock())
	db, err := sql.Open("pgx", url)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(`INSERT INTO schema_step VALUES (99, 0)`); err != nil {
		t.Fatal(err)
	}
	_, err = store.Open(t.Context(), url, newClock().options())
	want(t, "open", err, store.ErrNewer)
}

func TestOpeningTwiceMigratesOnce(t *testing.T) {
	path := newFile(t)
	h := newHouse(t, path)
	fern := h.dog("Fern")
	second := open(t, path, h.clock)
	d, err := second.Dog(t.Context(), h.keeper, fern.ID)
	h.ok(err)
	if d.Profile.Name != "Fern" {
		t.Errorf("after opening again: %+v", d)
	}
}

func TestFileIsItsOwnersOnly(t *testing.T) {
	path := newFile(t)
	newHouse(t, path)
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if info.Mode().Perm() != 0o600 {
		t.Errorf("mode %o, want 600", info.Mode().Perm())
	}
}

func TestPathWithOddLetters(t *testing.T) {
	path := filepath.Join(t.TempDir(), "our dogs? 100 %#.db")
	h := newHouse(t, path)
	h.dog("Fern")
	if _, err := os.Stat(path); err != nil {
		t.Error(err)
	}
	if left, _ := filepath.Glob(filepath.Dir(path) + "/*"); len(left) > 3 {
		t.Errorf("other files were made: %q", left)
	}
}

func TestBackupAndRestore(t *testing.T) {
	ctx := context.Background()
	path, copied := newFile(t), filepath.Join(t.TempDir(), "copy.db")
	c := newClock()
	s, err := store.Open(ctx, path, c.options())
	if err != nil {
		t.Fatal(err)
	}
	h := &house{Store: s, clock: c, t: t}
	h.keeper = h.account("Alder House")
	h.trainer = h.person(kept.Trainer)
	fern := h.dog("Fern")
	h.ok(h.Backup(ctx, copied))
	want(t, "a backup over another", h.Backup(ctx, copied), fs.ErrExist)
	late := h.dog("Latecomer")

	_, err = store.Restore(ctx, copied, path, false, c.options())
	want(t, "a restore under a running program", err, store.ErrInUse)
	h.ok(s.Close())

	kept, err := store.Restore(ctx, copied, path, false, c.options())
	h.ok(err)
	back := open(t, path, c)
	if d, err := back.Dog(ctx, h.keeper, fern.ID); err != nil || d.Profile.Name != "Fern" {
		t.Errorf("after the restore: %+v, %v", d, err)
	}
	want(t, "what came after the backup", onlyErr(back.Dog(ctx, h.keeper, late.ID)), store.ErrNotFound)
	before := open(t, kept, c)
	if _, err := before.Dog(ctx, h.keeper, late.ID); err != nil {
		t.Errorf("what was there before the restore is not kept: %v", err)
	}
}

// TestRestoringTwiceKeepsBoth: what an earlier restore set aside is not written over
// by the next, and a restore that fails half way leaves what was there.
func TestRestoringTwiceKeepsBoth(t *testing.T) {
	ctx := t.Context()
	dir := t.TempDir()
	path, copied := filepath.Join(dir, "memory.db"), filepath.Join(t.TempDir(), "copy.db")
	h := newHouse(t, newFile(t))
	h.ok(h.Backup(ctx, copied))
	c := newClock()
	seen := map[string]string{}
	for _, name := range []string{"Alder House", "Birch House"} {
		s, err := store.Open(ctx, path, c.options())
		h.ok(err)
		_, err = s.CreateAccount(ctx, name+" II", "Kit")
		h.ok(err)
		h.ok(s.Close())
		kept, err := store.Restore(ctx, copied, path, false, c.options())
		h.ok(err)
		seen[name] = kept
	}
	for name, kept := range seen {
		before := open(t, kept, c)
		if _, err := before.KeeperOf(ctx, name+" II"); err != nil {
			t.Errorf("what was there when %s was set aside as %s: %v", name, filepath.Base(kept), err)
		}
	}

	h.ok(os.Mkdir(path+".partial", 0o700)) // nothing can be copied
	h.ok(os.WriteFile(filepath.Join(path+".partial", "x"), nil, 0o600))
	if _, err := store.Restore(ctx, copied, path, false, c.options()); err == nil {
		t.Error("restored where nothing can be written")
	}
	if _, err := os.Stat(path); err != nil {
		t.Errorf("a restore that failed took the database away: %v", err)
	}
}

func TestRestoreRefusesABrokenBackup(t *testing.T) {
	path, copied := newFile(t), filepath.Join(t.TempDir(), "copy.db")
	h := newHouse(t, path)
	fern := h.dog("Fern")
	h.ok(h.Backup(t.Context(), copied))
	whole, err := os.ReadFile(copied)
	h.ok(err)
	cases := map[string][]byte{"empty": {}, "text": []byte("hello"), "cut": whole[:len(whole)/2], "scrambled": scramble(whole)}
	for name, raw := range cases {
		t.Run(name, func(t *testing.T) {
			bad := filepath.Join(t.TempDir(), "bad.db")
			h.ok(os.WriteFile(bad, raw, 0o600))
			if _, err := store.Restore(t.Context(), bad, path, false, h.options()); err == nil {
				t.Error("restored")
			}
			if _, err := h.Dog(t.Context(), h.keeper, fern.ID); err != nil {
				t.Errorf("the database was touched: %v", err)
			}
		})
	}
	_, err = store.Restore(t.Context(), filepath.Join(t.TempDir(), "none"), path, false, h.options())
	want(t, "no backup", err, fs.ErrNotExist)
}

// scramble overwrites every page but the first with nonsense.
func scramble(raw []byte) []byte {
	out := bytes.Clone(raw)
	for i := 4096; i < len(out); i++ {
		out[i] = byte(i * 7)
	}
	return out
}

func TestRestoreOverABrokenDatabase(t *testing.T) {
	path, copied := newFile(t), filepath.Join(t.TempDir(), "copy.db")
	h := newHouse(t, newFile(t))
	fern := h.dog("Fern")
	h.ok(h.Backup(t.Context(), copied))
	h.ok(os.WriteFile(path, []byte(strings.Repeat("ruined", 1000)), 0o600))
	if _, err := store.Restore(t.Context(), copied, path, false, h.options()); err != nil {
		t.Fatal(err)
	}
	back := open(t, path, h.clock)
	if _, err := back.Dog(t.Context(), h.keeper, fern.ID); err != nil {
		t.Error(err)
	}
}

func TestPostgresLeavesBackupToItsTools(t *testing.T) {
	url := postgres(t)
	h := newHouse(t, url)
	want(t, "backup", h.Backup(t.Context(), filepath.Join(t.TempDir(), "x")), store.ErrOtherTools)
	_, err := store.Restore(t.Context(), "x", url, false, h.options())
	want(t, "restore", err, store.ErrOtherTools)
}

func TestReadOnlyDatabase(t *testing.T) {
	t.Run("sqlite", func(t *testing.T) {
		path := newFile(t)
		h := newHouse(t, path)
		fern := h.dog("Fern")
		h.ok(h.ReadOnlyForTest(t.Context()))
		_, _, err := h.AddEncounter(t.Context(), h.trainer, fern.ID, kept.EncounterInput{At: h.now()}, "")
		want(t, "a log", err, store.ErrReadOnly)
		if d, err := h.Dog(t.Context(), h.trainer, fern.ID); err != nil || d.Version != 1 {
			t.Errorf("the old state: %+v, %v", d, err)
		}
	})
	t.Run("postgres", func(t *testing.T) {
		h := newHouse(t, postgres(t))
		fern := h.dog("Fern")
		h.ok(h.ReadOnlyForTest(t.Context()))
		_, _, err := h.AddEncounter(t.Context(), h.trainer, fern.ID, kept.EncounterInput{At: h.now()}, "")
		want(t, "a log", err, store.ErrReadOnly)
		if _, err := h.Dog(t.Context(), h.trainer, fern.ID); err != nil {
			t.Errorf("the old state: %v", err)
		}
	})
}

func TestFullDisk(t *testing.T) {
	path := newFile(t)
	h := newHouse(t, path)
	fern := h.dog("Fern")
	h.ok(h.LimitPagesForTest(t.Context()))
	logged, i := []string{}, 0
	for ; i < 2000; i++ {
		e, _, err := h.AddEncounter(t.Context(), h.trainer, fern.ID, kept.EncounterInput{At: h.now(), Note: strings.Repeat("n", 900)}, "")
		if err != nil {
			want(t, "a log on a full disk", err, store.ErrFull)
			break
		}
		logged = append(logged, e.ID)
	}
	if i == 2000 || len(logged) == 0 {
		t.Fatalf("%d logs were taken before the disk was full", i)
	}
	for _, id := range logged {
		if _, err := h.Encounter(t.Context(), h.trainer, id); err != nil {
			t.Fatalf("an acknowledged log is gone: %v", err)
		}
	}
	if list, err := h.Encounters(t.Context(), h.trainer, fern.ID, "", store.NoTime); err != nil || len(list) != len(logged) {
		t.Errorf("%d logs, %v; want %d", len(list), err, len(logged))
	}
}

// TestPragmasTook asks the database itself: the driver says nothing of options
// that it does not know. Numbers as in https://sqlite.org/pragma.html.
func TestPragmasTook(t *testing.T) {
	h := newHouse(t, newFile(t))
	wanted := map[string]string{"journal_mode": "wal", "foreign_keys": "1", "busy_timeout": "5000", "synchronous": "2", "secure_delete": "1", "query_only": "0"}
	var names []string
	for name := range wanted {
		names = append(names, name)
	}
	write, read, err := h.Pragmas(t.Context(), names...)
	h.ok(err)
	for name, v := range wanted {
		if write[name] != v {
			t.Errorf("writing connection: %s is %s, want %s", name, write[name], v)
		}
		if name == "query_only" {
			v = "1"
		}
		if read[name] != v {
			t.Errorf("reading connection: %s is %s, want %s", name, read[name], v)
		}
	}
}
