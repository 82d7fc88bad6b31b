package store_test

import (
	"database/sql"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"wideberth/api/store/database"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
)

// older makes a database as a program wrote it that knew only the migrations before
// one, with an account, a keeper and rows of its own.
func older(t *testing.T, where, before string, rows ...string) {
	t.Helper()
	driver := "sqlite"
	if database.IsURL(where) {
		driver = "pgx"
	}
	db, err := sql.Open(driver, where)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	run := func(statement string) {
		t.Helper()
		if _, err := db.Exec(statement); err != nil {
			t.Fatalf("%v: %s", err, statement)
		}
	}
	files, err := filepath.Glob("migrations/*.sql")
	if err != nil || len(files) < 5 {
		t.Fatalf("%d migrations: %v", len(files), err)
	}
	run(`CREATE TABLE schema_step (version BIGINT PRIMARY KEY, at BIGINT NOT NULL)`)
	for i, file := range files {
		if filepath.Base(file) >= before {
			break
		}
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, statement := range strings.Split(string(text), ";\n") {
			if strings.TrimSpace(statement) != "" {
				run(statement)
			}
		}
		run(fmt.Sprintf(`INSERT INTO schema_step VALUES (%d, 0)`, i+1))
	}
	run(`INSERT INTO account (id, name, settings, created) VALUES ('a', 'Alder House', '{"keep_tracks_days":365,"half_life_days":60}', 0)`)
	run(`INSERT INTO person (id, account, name, role, created) VALUES ('k', 'a', 'Kit', 'keeper', 0)`)
	for _, row := range rows {
		run(row)
	}
}

// oldDog is a row of a dog with a body.
func oldDog(id, body string) string {
	return fmt.Sprintf(`INSERT INTO dog (id, account, version, body, created, updated) VALUES ('%s', 'a', 1, '%s', 0, 0)`, id, body)
}

// TestOldNamesOfPriorsAreMended: what was said of a dog under the names of an older
// schema is what its learning starts from under the new ones.
func TestOldNamesOfPriorsAreMended(t *testing.T) {
	eachEmpty(t, func(t *testing.T, where string) {
		older(t, where, "0003", oldDog("fern", `{"id":"fern","version":1,"profile":{"name":"Fern"},"distances":{"dogs":{"working_m":31,"reaction_m":13,"from":"learnt","prior":{"WorkingM":38,"ReactionM":15,"LogSD":0.4,"Known":true}}}}`))
		s := open(t, where, newClock())
		w, err := s.KeeperOf(t.Context(), "Alder House")
		if err != nil {
			t.Fatal(err)
		}
		d, err := s.Dog(t.Context(), w, "fern")
		if err != nil {
			t.Fatal(err)
		}
		want := kept.Distance{Need: exposure.Need{WorkingM: 31, ReactionM: 13}, From: "learnt", Prior: kept.Prior{Need: exposure.Need{WorkingM: 38, ReactionM: 15}, LogSD: 0.4, Known: true}}
		if d.Distances["dogs"] != want {
			t.Errorf("distance %+v, want %+v", d.Distances["dogs"], want)
		}
	})
}

// TestOldDocumentsNameTheirDogs: of documents that an older program kept it is
// written down once which dogs they name, so that deleting a dog takes its old
// timetables too; and an account of old has lessons without a mark, which counts.
func TestOldDocumentsNameTheirDogs(t *testing.T) {
	const fern, miko = "fernfernfernfern", "mikomikomikomiko"
	doc := func(kind, id, dog, body string) string {
		return fmt.Sprintf(`INSERT INTO document (account, kind, id, dog, version, body, created, updated) VALUES ('a', '%s', '%s', %s, 1, '%s', 0, 0)`, kind, id, dog, body)
	}
	eachEmpty(t, func(t *testing.T, where string) {
		older(t, where, "0004", oldDog(fern, `{"id":"`+fern+`","version":1,"profile":{"name":"Fern"}}`), oldDog(miko, `{"id":"`+miko+`","version":1,"profile":{"name":"Miko"}}`),
			doc("outings", "both", "NULL", `{"wish":{"dogs":[{"dog_id":"`+fern+`"},{"dog_id":"`+miko+`"}]}}`), doc("outings", "mikos", "NULL", `{"wish":{"dogs":[{"dog_id":"`+miko+`"}]}}`),
			doc("outings", "nobodys", "NULL", `{}`), doc("visits", "ferns", "'"+fern+"'", `{"step":1}`), doc("visits", "mikos", "'"+miko+"'", `{"step":1}`),
			`INSERT INTO report (id, account, mapped, ends, body, created) VALUES ('r', 'a', 'way/7', 0, '{"id":"r","mapped":"way/7","presence":0.9,"live":true}', 0)`)
		s := open(t, where, newClock())
		ctx := t.Context()
		w, err := s.KeeperOf(ctx, "Alder House")
		if err != nil {
			t.Fatal(err)
		}
		l, err := s.Lessons(ctx, w)
		if err != nil || l.Mark != "" || len(l.Reports) != 1 || l.Reports[0].Mapped != "way/7" {
			t.Errorf("lessons of old %+v, %v", l, err)
		}
		if err := s.DeleteDog(ctx, w, fern, "Fern"); err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			kind  kept.DocumentKind
			id    string
			stays bool
		}{{kept.Outings, "both", false}, {kept.Outings, "mikos", true}, {kept.Outings, "nobodys", true}, {kept.Sequences, "ferns", false}, {kept.Sequences, "mikos", true}} {
			if _, err := s.Document(ctx, w, c.kind, c.id); (err == nil) != c.stays {
				t.Errorf("%s %s: %v", c.kind, c.id, err)
			}
		}
		// And what is changed from now on is written down anew.
		d, err := s.Document(ctx, w, kept.Outings, "mikos")
		if err != nil {
			t.Fatal(err)
		}
		d.Body = json.RawMessage(`{}`)
		if _, err := s.PutDocument(ctx, w, d); err != nil {
			t.Fatal(err)
		}
		if err := s.DeleteDog(ctx, w, miko, "Miko"); err != nil {
			t.Fatal(err)
		}
		if _, err := s.Document(ctx, w, kept.Outings, "mikos"); err != nil {
			t.Errorf("it no longer named the dog: %v", err)
		}
	})
}

// eachEmpty runs a test on an empty database of each sort.
func eachEmpty(t *testing.T, f func(t *testing.T, where string)) {
	t.Helper()
	t.Run("sqlite", func(t *testing.T) { f(t, newFile(t)) })
	t.Run("postgres", func(t *testing.T) { f(t, postgres(t)) })
}
