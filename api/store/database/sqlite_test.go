package database_test

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wideberth/api/store/database"
)

func TestSQLiteRefusesWhatIsNotOurs(t *testing.T) {
	cases := map[string]struct {
		make func(t *testing.T, path string)
		want error
	}{
		"no database": {func(t *testing.T, path string) {
			if err := os.WriteFile(path, []byte(strings.Repeat("not a database ", 100)), 0o600); err != nil {
				t.Fatal(err)
			}
		}, database.ErrForeign},
		"another program's": {func(t *testing.T, path string) { execute(t, path, `CREATE TABLE other (x)`) }, database.ErrForeign},
		"a newer program's": {func(t *testing.T, path string) {
			open(t, path)
			execute(t, path, `INSERT INTO schema_step VALUES (99, 0)`)
		}, database.ErrNewer},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			path := newFile(t)
			c.make(t, path)
			_, err := database.Open(t.Context(), path, things())
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
	open(t, url)
	db, err := sql.Open("pgx", url)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if _, err := db.Exec(`INSERT INTO schema_step VALUES (99, 0)`); err != nil {
		t.Fatal(err)
	}
	_, err = database.Open(t.Context(), url, things())
	want(t, "open", err, database.ErrNewer)
}

func TestOpeningTwiceMigratesOnce(t *testing.T) {
	path := newFile(t)
	s := open(t, path)
	s.ok(s.put("fern", ""))
	want(t, "after opening again", open(t, path).find("fern"), nil)
}

func TestFileIsItsOwnersOnly(t *testing.T) {
	path := newFile(t)
	open(t, path)
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
	h := open(t, path)
	h.ok(h.put("fern", ""))
	if _, err := os.Stat(path); err != nil {
		t.Error(err)
	}
	if left, _ := filepath.Glob(filepath.Dir(path) + "/*"); len(left) > 3 {
		t.Errorf("other files were made: %q", left)
	}
}

func TestBackupAndRestore(t *testing.T) {
	path, copied := newFile(t), filepath.Join(t.TempDir(), "copy.db")
	h := open(t, path)
	h.ok(h.put("fern", ""))
	h.ok(h.Backup(t.Context(), copied))
	want(t, "a backup over another", h.Backup(t.Context(), copied), fs.ErrExist)
	h.ok(h.put("latecomer", ""))

	_, err := database.Restore(t.Context(), copied, path, false, things())
	want(t, "a restore under a running program", err, database.ErrInUse)
	h.ok(h.Close())

	kept, err := database.Restore(t.Context(), copied, path, false, things())
	h.ok(err)
	back := open(t, path)
	want(t, "after the restore", back.find("fern"), nil)
	want(t, "what came after the backup", back.find("latecomer"), database.ErrNotFound)
	want(t, "what was there before the restore", open(t, kept).find("latecomer"), nil)
}

// TestRestoringTwiceKeepsBoth: what an earlier restore set aside is not written over
// by the next, and a restore that fails half way leaves what was there.
func TestRestoringTwiceKeepsBoth(t *testing.T) {
	ctx := t.Context()
	dir := t.TempDir()
	path, copied := filepath.Join(dir, "memory.db"), filepath.Join(t.TempDir(), "copy.db")
	h := open(t, newFile(t))
	h.ok(h.Backup(ctx, copied))
	seen := map[string]string{}
	for _, name := range []string{"alder", "birch"} {
		s := open(t, path)
		h.ok(s.put(name, ""))
		h.ok(s.Close())
		kept, err := database.Restore(ctx, copied, path, false, things())
		h.ok(err)
		seen[name] = kept
	}
	for name, kept := range seen {
		if err := open(t, kept).find(name); err != nil {
			t.Errorf("what was there when %s was set aside as %s: %v", name, filepath.Base(kept), err)
		}
	}

	h.ok(os.Mkdir(path+".partial", 0o700)) // nothing can be copied
	h.ok(os.WriteFile(filepath.Join(path+".partial", "x"), nil, 0o600))
	if _, err := database.Restore(ctx, copied, path, false, things()); err == nil {
		t.Error("restored where nothing can be written")
	}
	if _, err := os.Stat(path); err != nil {
		t.Errorf("a restore that failed took the database away: %v", err)
	}
}

func TestRestoreRefusesABrokenBackup(t *testing.T) {
	path, copied := newFile(t), filepath.Join(t.TempDir(), "copy.db")
	h := open(t, path)
	h.ok(h.put("fern", ""))
	h.ok(h.Backup(t.Context(), copied))
	whole, err := os.ReadFile(copied)
	h.ok(err)
	cases := map[string][]byte{"empty": {}, "text": []byte("hello"), "cut": whole[:len(whole)/2], "scrambled": scramble(whole)}
	for name, raw := range cases {
		t.Run(name, func(t *testing.T) {
			bad := filepath.Join(t.TempDir(), "bad.db")
			h.ok(os.WriteFile(bad, raw, 0o600))
			if _, err := database.Restore(t.Context(), bad, path, false, things()); err == nil {
				t.Error("restored")
			}
			want(t, "the database that was to be replaced", h.find("fern"), nil)
		})
	}
	_, err = database.Restore(t.Context(), filepath.Join(t.TempDir(), "none"), path, false, things())
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
	h := open(t, newFile(t))
	h.ok(h.put("fern", ""))
	h.ok(h.Backup(t.Context(), copied))
	h.ok(os.WriteFile(path, []byte(strings.Repeat("ruined", 1000)), 0o600))
	if _, err := database.Restore(t.Context(), copied, path, false, things()); err != nil {
		t.Fatal(err)
	}
	want(t, "after the restore", open(t, path).find("fern"), nil)
}

func TestPostgresLeavesBackupToItsTools(t *testing.T) {
	url := postgres(t)
	h := open(t, url)
	want(t, "backup", h.Backup(t.Context(), filepath.Join(t.TempDir(), "x")), database.ErrOtherTools)
	_, err := database.Restore(t.Context(), "x", url, false, things())
	want(t, "restore", err, database.ErrOtherTools)
}

func TestReadOnlyDatabase(t *testing.T) {
	each(t, func(t *testing.T, s *shelf) {
		s.ok(s.put("fern", ""))
		s.ok(s.ReadOnlyForTest(t.Context()))
		want(t, "one more", s.put("miko", ""), database.ErrReadOnly)
		want(t, "the old state", s.find("fern"), nil)
	})
}

func TestFullDisk(t *testing.T) {
	s := open(t, newFile(t))
	s.ok(s.LimitPagesForTest(t.Context()))
	kept := 0
	var err error
	for ; kept < 2000 && err == nil; kept++ {
		err = s.put(fmt.Sprint(kept), strings.Repeat("n", 900))
	}
	want(t, "one more on a full disk", err, database.ErrFull)
	if kept--; kept == 0 || s.count() != kept { // the last was refused
		t.Errorf("%d things are there, %d were acknowledged", s.count(), kept)
	}
	for i := range kept {
		s.ok(s.find(fmt.Sprint(i)))
	}
}

// TestPragmasTook asks the database itself: the driver says nothing of options
// that it does not know. Numbers as in https://sqlite.org/pragma.html.
func TestPragmasTook(t *testing.T) {
	h := open(t, newFile(t))
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

// inFiles tells whether the database's file or one beside it holds a text.
func inFiles(t *testing.T, path, text string) bool {
	t.Helper()
	for _, side := range []string{"", "-wal", "-shm"} {
		raw, err := os.ReadFile(path + side)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			t.Fatal(err)
		}
		if bytes.Contains(raw, []byte(text)) {
			return true
		}
	}
	return false
}
