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
	"regexp"
	"strings"
	"time"

	"wideberth/api/wire/kept"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
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
	write, read *sql.DB
	postgres    bool
	made        bool
	cramped     bool
	path        string // of the SQLite file, "" for PostgreSQL
	now         func() time.Time
	rand        io.Reader
	count       func(expected []kept.Expected, met []kept.Encounter) []float64
	watch       func(writes bool, took time.Duration, err error) // nil: nobody counts
}

const (
	// mostConnections is how many PostgreSQL connections are held at most, and how
	// many connections read from SQLite.
	mostConnections = 8
	// connectTime is how long a server has to take a connection.
	connectTime = 5 * time.Second
	// transactionTime is how long one transaction may take, waiting included. It is
	// far more than any needs, and less than a request may take.
	transactionTime = 15 * time.Second
)

// Open opens the database at a file's path, or at a URL that begins with
// postgres:// or postgresql://, and brings it up to date. A new file is made
// where there is none; Made says so. Tracks that are kept longer than wished are
// deleted. A database on a full disk can be opened and read.
func Open(ctx context.Context, where string, o Options) (*Store, error) {
	s := &Store{now: o.Now, rand: o.Rand, count: o.Count}
	var err error
	switch {
	case IsURL(where):
		s.postgres = true
		err = s.openPostgres(ctx, where)
	case looksSecret(where):
		err = ErrAddress
	default:
		s.path = where
		err = s.openSQLite(ctx)
	}
	if err != nil {
		return nil, fmt.Errorf("open database %s: %w", Redacted(where), translate(err))
	}
	if err := s.prepare(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("open database %s: %w", Redacted(where), translate(err)), s.Close())
	}
	return s, nil
}

// prepare brings an open database up to date and deletes what is kept too long.
func (s *Store) prepare(ctx context.Context) error {
	before, err := s.schemaVersion(ctx)
	if err != nil {
		return err
	}
	if err := s.migrate(ctx); err != nil {
		return err
	}
	s.made = s.made || before == 0
	if _, err := s.PurgeTracks(ctx); err != nil && !errors.Is(err, ErrReadOnly) && !errors.Is(err, ErrFull) {
		return err
	}
	return nil
}

// Made says that there was no database before it was opened.
func (s *Store) Made() bool { return s.made }

// Cramped says that the disk was full when the file was opened. It is served then by
// one connection until it is opened anew, and no other program can read it.
func (s *Store) Cramped() bool { return s.cramped }

// Ping asks the database for a sign of life.
func (s *Store) Ping(ctx context.Context) error {
	var one int
	return s.view(ctx, func(t *tx) error { return t.row(`SELECT 1`, nil, &one) })
}

// Watch has f called after every transaction, with how long it took and how it ended.
// It is called before the store is put to work.
func (s *Store) Watch(f func(writes bool, took time.Duration, err error)) { s.watch = f }

// Load tells how many connections to the database are in use, and how often somebody
// had to wait for one.
func (s *Store) Load() (inUse int, waits int64) {
	r := s.read.Stats()
	if s.postgres { // the same for both
		return r.InUse, r.WaitCount
	}
	w := s.write.Stats()
	return r.InUse + w.InUse, r.WaitCount + w.WaitCount
}

// IsURL says that a place is a PostgreSQL URL, not a file.
func IsURL(where string) bool {
	return strings.HasPrefix(where, "postgres://") || strings.HasPrefix(where, "postgresql://")
}

// ErrAddress: a place is neither a file nor a URL that we know.
var ErrAddress = errors.New("the address cannot be read: give a file, or a URL like postgres://user@host/database with signs in its parts escaped")

// looksSecret says that a place may be an address of a database in some other or a
// mistyped form: it must not be taken for a file and shown.
func looksSecret(where string) bool { return secretLike.MatchString(where) }

var secretLike = regexp.MustCompile(`(?i)://|:.*@|passw|^postgres(ql)?:`)

// Redacted is a place to be shown: without what may be a password.
func Redacted(where string) string {
	switch {
	case IsURL(where):
		return "at a PostgreSQL URL"
	case looksSecret(where):
		return "at the address given"
	}
	return where
}

func (s *Store) openPostgres(ctx context.Context, url string) error {
	config, err := pgx.ParseConfig(url)
	if err != nil {
		return ErrAddress // the error's own words repeat the URL
	}
	if config.ConnectTimeout == 0 || config.ConnectTimeout > connectTime {
		config.ConnectTimeout = connectTime
	}
	db := stdlib.OpenDB(*config)
	db.SetMaxOpenConns(mostConnections)
	soon, cancel := context.WithTimeout(ctx, connectTime)
	defer cancel()
	if err := db.PingContext(soon); err != nil {
		if ctx.Err() == nil && soon.Err() != nil {
			err = fmt.Errorf("%w (%s)", ErrUnavailable, reason(soon.Err()))
		}
		return errors.Join(translate(err), db.Close())
	}
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

// view runs f on one state of the database: what is committed meanwhile is not seen,
// by no statement of f.
func (s *Store) view(ctx context.Context, f func(t *tx) error) error {
	return s.in(ctx, s.read, s.oneState(), f)
}

// long is view for what may take long, as it goes out to somebody who reads slowly.
func (s *Store) long(ctx context.Context, f func(t *tx) error) error {
	return s.run(ctx, s.read, s.oneState(), f)
}

// oneState are the options of a transaction that reads one state of the database.
// SQLite's are so anyway; PostgreSQL gives each statement the state that it finds
// unless asked for more (its manual, 13.2, Transaction Isolation).
func (s *Store) oneState() *sql.TxOptions {
	o := &sql.TxOptions{ReadOnly: true}
	if s.postgres {
		o.Isolation = sql.LevelRepeatableRead
	}
	return o
}

func (s *Store) in(ctx context.Context, db *sql.DB, o *sql.TxOptions, f func(t *tx) error) error {
	soon, cancel := context.WithTimeoutCause(ctx, transactionTime, ErrUnavailable)
	defer cancel()
	err := s.run(soon, db, o, f)
	if err != nil && ctx.Err() == nil && errors.Is(context.Cause(soon), ErrUnavailable) {
		return ErrUnavailable
	}
	return err
}

func (s *Store) run(ctx context.Context, db *sql.DB, o *sql.TxOptions, f func(t *tx) error) error {
	if s.watch == nil {
		return s.transact(ctx, db, o, f)
	}
	begin := s.now()
	err := s.transact(ctx, db, o, f)
	s.watch(o == nil, s.now().Sub(begin), err)
	return err
}

// transact runs f in a transaction and gives errors their meaning.
func (s *Store) transact(ctx context.Context, db *sql.DB, o *sql.TxOptions, f func(t *tx) error) error {
	raw, err := db.BeginTx(ctx, o)
	if err != nil {
		return translate(err)
	}
	defer raw.Rollback() // after a commit it does nothing
	err = f(&tx{Tx: raw, ctx: ctx, s: s, now: s.now().UTC()})
	if err == nil {
		err = raw.Commit()
	}
	if errors.Is(err, sql.ErrTxDone) && ctx.Err() != nil {
		return ctx.Err() // the context's end rolled it back between two statements
	}
	return translate(err)
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

// each gives every row of a query to f, one after another.
func each[T any](t *tx, scan func(*sql.Rows, *T) error, f func(*T) error, query string, args ...any) error {
	rows, err := t.QueryContext(t.ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var v T
		if err := scan(rows, &v); err != nil {
			return err
		}
		if err := f(&v); err != nil {
			return err
		}
	}
	return rows.Err()
}

// all reads every row of a query, never nil.
func all[T any](t *tx, scan func(*sql.Rows, *T) error, query string, args ...any) ([]T, error) {
	out := []T{}
	err := each(t, scan, func(v *T) error {
		out = append(out, *v)
		return nil
	}, query, args...)
	if err != nil {
		return nil, err
	}
	return out, nil
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
