// Package store remembers: accounts and their people, dogs and how their
// distances changed, plans, walks with what was met on them, and what people
// reported from the ground.
//
// Everything belongs to an account, and every call says who asks; what belongs
// to another account is not found. Places are kept in degrees, WGS84, as people
// sent them: they must outlive the map that they were seen on.
//
// One type serves SQLite and PostgreSQL. An acknowledged write is on the disk.
package store

import (
	"context"
	"database/sql"
	"encoding/base32"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib" // the driver for PostgreSQL
)

// Options of a store; all are required.
type Options struct {
	Now  func() time.Time
	Rand io.Reader // of tokens and ids: crypto/rand.Reader; must be safe for concurrent use
	// Count says what a walk of which all is told found of what was expected of it,
	// entry by entry; nil where it does not count yet. It runs inside the transaction
	// that changes the walk or its meetings, and depends on nothing but its arguments.
	Count func(expected []Expected, met []Encounter) []float64
}

// Store is an open database. Safe for concurrent use.
type Store struct {
	write, read *sql.DB
	postgres    bool
	path        string // of the SQLite file, "" for PostgreSQL
	now         func() time.Time
	rand        io.Reader
	count       func(expected []Expected, met []Encounter) []float64
}

// mostConnections is how many PostgreSQL connections are held at most, and how
// many connections read from SQLite.
const mostConnections = 8

// Open opens the database at a file's path, or at a URL that begins with
// postgres:// or postgresql://, and brings it up to date. A new file is made
// where there is none. Tracks that are kept longer than wished are deleted.
func Open(ctx context.Context, where string, o Options) (*Store, error) {
	s := &Store{now: o.Now, rand: o.Rand, count: o.Count}
	var err error
	if IsURL(where) {
		s.postgres = true
		err = s.openPostgres(where)
	} else {
		s.path = where
		err = s.openSQLite(ctx)
	}
	if err != nil {
		return nil, fmt.Errorf("open database %s: %w", redacted(where), translate(err))
	}
	if err := s.migrate(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("open database %s: %w", redacted(where), translate(err)), s.Close())
	}
	if _, err := s.PurgeTracks(ctx); err != nil && !errors.Is(err, ErrReadOnly) {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// IsURL says that a place is a PostgreSQL URL, not a file.
func IsURL(where string) bool {
	return strings.HasPrefix(where, "postgres://") || strings.HasPrefix(where, "postgresql://")
}

// redacted is a place without what may be a password.
func redacted(where string) string {
	if IsURL(where) {
		return "at a PostgreSQL URL"
	}
	return where
}

func (s *Store) openPostgres(url string) error {
	db, err := sql.Open("pgx", url)
	if err != nil {
		return errors.New("the URL cannot be read: it looks like postgres://user@host/database")
	}
	db.SetMaxOpenConns(mostConnections)
	s.write, s.read = db, db
	return nil
}

// Close closes the database; nothing acknowledged is lost.
func (s *Store) Close() error {
	if s.postgres {
		return s.write.Close()
	}
	return errors.Join(s.read.Close(), s.write.Close())
}

// tx is one transaction; its clock stands still.
type tx struct {
	*sql.Tx
	ctx context.Context
	s   *Store
	now time.Time

	teaches string // the account whose lessons it changes, "" for none
}

// update runs f in one transaction that may write: all of it or nothing.
func (s *Store) update(ctx context.Context, f func(t *tx) error) error {
	return s.in(ctx, s.write, nil, func(t *tx) error {
		if err := f(t); err != nil {
			return err
		}
		return t.stamp()
	})
}

// view runs f on one state of the database.
func (s *Store) view(ctx context.Context, f func(t *tx) error) error {
	return s.in(ctx, s.read, &sql.TxOptions{ReadOnly: true}, f)
}

func (s *Store) in(ctx context.Context, db *sql.DB, o *sql.TxOptions, f func(t *tx) error) error {
	raw, err := db.BeginTx(ctx, o)
	if err != nil {
		return translate(err)
	}
	defer raw.Rollback() // after a commit it does nothing
	if err := f(&tx{Tx: raw, ctx: ctx, s: s, now: s.now().UTC()}); err != nil {
		return translate(err)
	}
	return translate(raw.Commit())
}

// do runs one statement.
func (t *tx) do(query string, args ...any) error {
	_, err := t.ExecContext(t.ctx, query, args...)
	return err
}

// changed runs one statement and gives the number of rows it changed.
func (t *tx) changed(query string, args ...any) (int64, error) {
	r, err := t.ExecContext(t.ctx, query, args...)
	if err != nil {
		return 0, err
	}
	return r.RowsAffected()
}

// must is changed for a statement that has to find its row.
func (t *tx) must(query string, args ...any) error {
	n, err := t.changed(query, args...)
	if err == nil && n == 0 {
		err = ErrNotFound
	}
	return err
}

// row reads the one row that a query gives; sql.ErrNoRows if it gives none.
func (t *tx) row(query string, args []any, into ...any) error {
	return t.QueryRowContext(t.ctx, query, args...).Scan(into...)
}

// all reads every row of a query, never nil.
func all[T any](t *tx, scan func(*sql.Rows, *T) error, query string, args ...any) ([]T, error) {
	rows, err := t.QueryContext(t.ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	out := []T{}
	for rows.Next() {
		var v T
		if err := scan(rows, &v); err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, rows.Err()
}

// idBytes makes ids of 16 letters that nobody guesses.
const idBytes = 10

var letters = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

func (s *Store) newID() (string, error) {
	var b [idBytes]byte
	if _, err := io.ReadFull(s.rand, b[:]); err != nil {
		return "", fmt.Errorf("draw an id: %w", err)
	}
	return letters.EncodeToString(b[:]), nil
}

func encode(v any) (string, error) {
	b, err := json.Marshal(v)
	return string(b), err
}

func decode(body string, into any) error {
	if err := json.Unmarshal([]byte(body), into); err != nil {
		return fmt.Errorf("a stored body cannot be read: %w", err)
	}
	return nil
}

// moment and ofMoment turn times into what is stored and back; the zero time is 0.
func moment(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMilli()
}

func ofMoment(ms int64) time.Time {
	if ms == 0 {
		return time.Time{}
	}
	return time.UnixMilli(ms).UTC()
}

// nullable stores an empty text as nothing, for references that may be missing.
func nullable(id string) any {
	if id == "" {
		return nil
	}
	return id
}
