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
	"embed"
	"encoding/base32"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"time"

	"wideberth/api/store/database"
	"wideberth/api/wire/kept"
)

// Options of a store; all are required.
type Options struct {
	Now  func() time.Time
	Rand io.Reader // of tokens and ids: crypto/rand.Reader; must be safe for concurrent use
	// Count says what a walk of which all is told found of what was expected of it,
	// entry by entry; nil where it does not count yet. It runs inside the transaction
	// that changes the walk or its meetings, and depends on nothing but its arguments.
	Count func(expected []kept.Expected, met []kept.Encounter) []float64
}

// Store is an open database. Safe for concurrent use.
type Store struct {
	db    *database.DB
	now   func() time.Time
	rand  io.Reader
	count func(expected []kept.Expected, met []kept.Encounter) []float64
}

//go:embed migrations/*.sql
var migrations embed.FS

// Open opens the database at a file's path, or at a URL that begins with
// postgres:// or postgresql://, and brings it up to date; see database.Open. Tracks
// that are kept longer than wished are deleted.
func Open(ctx context.Context, where string, o Options) (*Store, error) {
	db, err := database.Open(ctx, where, o.database())
	if err != nil {
		return nil, err
	}
	s := &Store{db: db, now: o.Now, rand: o.Rand, count: o.Count}
	if _, err := s.PurgeTracks(ctx); err != nil && !errors.Is(err, database.ErrReadOnly) && !errors.Is(err, database.ErrFull) {
		return nil, errors.Join(fmt.Errorf("open database %s: %w", database.Redacted(where), err), s.Close())
	}
	return s, nil
}

func (o *Options) database() database.Options {
	return database.Options{Now: o.Now, Migrations: migrations}
}

// Made says that there was no database before it was opened.
func (s *Store) Made() bool { return s.db.Made() }

// Cramped says that the disk was full when the file was opened; see database.DB.Cramped.
func (s *Store) Cramped() bool { return s.db.Cramped() }

// Ping asks the database for a sign of life.
func (s *Store) Ping(ctx context.Context) error { return s.db.Ping(ctx) }

// Watch has f called after every transaction, with how long it took and how it ended.
// It is called before the store is put to work.
func (s *Store) Watch(f func(writes bool, took time.Duration, err error)) { s.db.Watch(f) }

// Load tells how many connections to the database are in use, and how often somebody
// had to wait for one.
func (s *Store) Load() (inUse int, waits int64) { return s.db.Load() }

// Close closes the database; nothing acknowledged is lost.
func (s *Store) Close() error { return s.db.Close() }

// Backup writes a copy of all that is kept to a new file, while others go on; see
// database.DB.Backup.
func (s *Store) Backup(ctx context.Context, to string) error { return s.db.Backup(ctx, to) }

// Restore puts a copy in the place of a file; see database.Restore.
func Restore(ctx context.Context, from, to string, unsealed bool, o Options) (kept string, err error) {
	return database.Restore(ctx, from, to, unsealed, o.database())
}

// tx is one transaction; its clock stands still.
type tx struct {
	*database.Tx
	s *Store

	teaches string // the account whose lessons it changes, "" for none
}

// update runs f in one transaction that may write: all of it or nothing.
func (s *Store) update(ctx context.Context, f func(t *tx) error) error {
	return s.db.Update(ctx, func(raw *database.Tx) error {
		t := &tx{Tx: raw, s: s}
		if err := f(t); err != nil {
			return err
		}
		return t.stamp()
	})
}

// view runs f on one state of the database: what is committed meanwhile is not seen,
// by no statement of f.
func (s *Store) view(ctx context.Context, f func(t *tx) error) error {
	return s.db.View(ctx, func(raw *database.Tx) error { return f(&tx{Tx: raw, s: s}) })
}

// long is view for what may take long, as it goes out to somebody who reads slowly.
func (s *Store) long(ctx context.Context, f func(t *tx) error) error {
	return s.db.Long(ctx, func(raw *database.Tx) error { return f(&tx{Tx: raw, s: s}) })
}

// each gives every row of a query to f, one after another.
func each[T any](t *tx, scan func(*sql.Rows, *T) error, f func(*T) error, query string, args ...any) error {
	return database.Each(t.Tx, scan, f, query, args...)
}

// all reads every row of a query, never nil.
func all[T any](t *tx, scan func(*sql.Rows, *T) error, query string, args ...any) ([]T, error) {
	return database.All(t.Tx, scan, query, args...)
}

// scrub takes what was deleted out of what is left of the database.
func (s *Store) scrub(ctx context.Context) error {
	return s.db.Scrub(ctx, "dog", "given", "distance_change", "plan", "walk", "encounter", "track", "tally", "report", "statement", "counted", "document", "named", "person", "token", "account")
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
