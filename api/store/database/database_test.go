package database_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"testing/fstest"
	"time"

	"wideberth/api/store/database"
	"wideberth/api/store/pgtest"
)

// pg is the throw-away PostgreSQL server, nil where Debian's package is not
// installed; pgWhy says why it is missing.
var (
	pg    *pgtest.Server
	pgWhy error
)

func TestMain(m *testing.M) {
	if path := os.Getenv("WIDEBERTH_MAKE_CHILD"); path != "" {
		os.Exit(makeUntilKilled(path))
	}
	pg, pgWhy = pgtest.Start(false)
	code := m.Run()
	if pg != nil {
		pg.Stop()
	}
	os.Exit(code)
}

// postgres is the URL of a new, empty database.
func postgres(t testing.TB) string {
	t.Helper()
	return pg.Fresh(t, pgWhy)
}

func newFile(t testing.TB) string { return filepath.Join(t.TempDir(), "memory.db") }

var start = time.Date(2026, 11, 25, 7, 0, 0, 0, time.UTC)

func now() time.Time { return start }

// things is a schema in two steps: things, and beside which other thing each lies.
func things() database.Options {
	return database.Options{Now: now, Migrations: fstest.MapFS{
		"migrations/0001_thing.sql":  {Data: []byte("CREATE TABLE thing (id TEXT PRIMARY KEY, note TEXT NOT NULL);\nCREATE INDEX noted ON thing (note);\n")},
		"migrations/0002_beside.sql": {Data: []byte("ALTER TABLE thing ADD COLUMN beside TEXT REFERENCES thing (id);\n")},
	}}
}

// shelf is an opened database of things.
type shelf struct {
	*database.DB
	t     testing.TB
	where string
}

func open(t testing.TB, where string) *shelf {
	t.Helper()
	db, err := database.Open(t.Context(), where, things())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return &shelf{db, t, where}
}

// each runs a test on both databases.
func each(t *testing.T, f func(t *testing.T, s *shelf)) {
	t.Helper()
	t.Run("sqlite", func(t *testing.T) { f(t, open(t, newFile(t))) })
	t.Run("postgres", func(t *testing.T) { f(t, open(t, postgres(t))) })
}

// put lays a thing down.
func (s *shelf) put(id, note string) error {
	return s.Update(s.t.Context(), func(t *database.Tx) error {
		return t.Do(`INSERT INTO thing (id, note) VALUES ($1, $2)`, id, note)
	})
}

// find looks for a thing: ErrNotFound where there is none.
func (s *shelf) find(id string) error {
	return s.View(s.t.Context(), func(t *database.Tx) error {
		var note string
		return t.Row(`SELECT note FROM thing WHERE id = $1`, []any{id}, &note)
	})
}

func (s *shelf) count() (n int) {
	s.t.Helper()
	s.ok(s.View(s.t.Context(), func(t *database.Tx) error { return t.Row(`SELECT count(*) FROM thing`, nil, &n) }))
	return n
}

func (s *shelf) ok(err error) {
	s.t.Helper()
	ok(s.t, err)
}

// full lays down things enough for several pages.
func (s *shelf) full() {
	s.t.Helper()
	for i := range 60 {
		s.ok(s.put(fmt.Sprintf("thing %d", i), fmt.Sprintf("%0300d", i)))
	}
}

func ok(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func want(t testing.TB, what string, err, target error) {
	t.Helper()
	if !errors.Is(err, target) {
		t.Errorf("%s: error %v, want %v", what, err, target)
	}
}

// makeUntilKilled is a child that makes a database and waits.
func makeUntilKilled(path string) int {
	if _, err := database.Open(context.Background(), path, things()); err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	select {}
}
