package database_test

import (
	"maps"
	"strings"
	"testing"
	"testing/fstest"

	"wideberth/api/store/database"
)

// TestMigrationsGoOn: a database of an older program gets what came since, in order and
// once, and keeps what is in it; a migration that fails is named and changes nothing.
func TestMigrationsGoOn(t *testing.T) {
	for name, where := range map[string]string{"sqlite": newFile(t), "postgres": postgres(t)} {
		t.Run(name, func(t *testing.T) {
			older := things()
			files := maps.Clone(older.Migrations.(fstest.MapFS))
			delete(files, "migrations/0002_beside.sql")
			older.Migrations = files
			db, err := database.Open(t.Context(), where, older)
			ok(t, err)
			s := &shelf{db, t, where}
			s.ok(s.put("fern", ""))
			s.ok(s.Close())

			broken := things()
			files = maps.Clone(broken.Migrations.(fstest.MapFS))
			files["migrations/0003_broken.sql"] = &fstest.MapFile{Data: []byte("CREATE TABLE other (x BIGINT);\nCREATE TABEL another (x BIGINT);\n")}
			broken.Migrations = files
			if _, err := database.Open(t.Context(), where, broken); err == nil || !strings.Contains(err.Error(), "0003_broken") {
				t.Errorf("a broken migration: %v", err)
			}

			s = open(t, where)
			if s.Made() {
				t.Error("an old one is told as new")
			}
			want(t, "what was kept", s.find("fern"), nil)
			s.ok(s.Update(t.Context(), func(x *database.Tx) error { return x.Do(`UPDATE thing SET beside = 'fern'`) }))
			if s.View(t.Context(), func(x *database.Tx) error { return x.Do(`SELECT x FROM other`) }) == nil {
				t.Error("half of a migration was kept")
			}
		})
	}
}

// TestDeletedIsGone: after a scrub the file holds nothing of what was deleted.
func TestDeletedIsGone(t *testing.T) {
	each(t, func(t *testing.T, s *shelf) {
		const note = "Zorrowind 39.7503"
		s.ok(s.put("fern", note))
		if !s.Cramped() && s.where != "" && !database.IsURL(s.where) && !inFiles(t, s.where, note) {
			t.Fatal("the note is not in the file to begin with")
		}
		s.ok(s.Update(t.Context(), func(x *database.Tx) error { return x.Must(`DELETE FROM thing`) }))
		s.ok(s.Scrub(t.Context(), "thing"))
		if !database.IsURL(s.where) && inFiles(t, s.where, note) {
			t.Error("what was deleted is still in the file")
		}
	})
}
