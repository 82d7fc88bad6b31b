// Package database keeps one database, a SQLite file or one in PostgreSQL: opens it and
// brings its schema up to date, runs transactions with a bound on their time, says in
// words what went wrong, and makes and restores copies of a file. What is kept is its
// caller's: it brings the migrations.
//
// An acknowledged write is on the disk.
package database

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"regexp"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
)

// Options of a database; all are required.
type Options struct {
	Now        func() time.Time
	Migrations fs.FS // migrations/*.sql, see Open
}

// DB is an open database. Safe for concurrent use.
type DB struct {
	write, read *sql.DB
	postgres    bool
	made        bool
	cramped     bool
	path        string // of the SQLite file, "" for PostgreSQL
	now         func() time.Time
	migrations  fs.FS
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
// where there is none; Made says so. Migrations are applied in the order of their
// names, each in a transaction of its own, and never undone. A database on a full disk
// can be opened and read.
func Open(ctx context.Context, where string, o Options) (*DB, error) {
	d := &DB{now: o.Now, migrations: o.Migrations}
	var err error
	switch {
	case IsURL(where):
		d.postgres = true
		err = d.openPostgres(ctx, where)
	case looksSecret(where):
		err = ErrAddress
	default:
		d.path = where
		err = d.openSQLite(ctx)
	}
	if err != nil {
		return nil, fmt.Errorf("open database %s: %w", Redacted(where), translate(err))
	}
	if err := d.prepare(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("open database %s: %w", Redacted(where), translate(err)), d.Close())
	}
	return d, nil
}

// prepare brings an open database up to date.
func (d *DB) prepare(ctx context.Context) error {
	before, err := d.schemaVersion(ctx)
	if err != nil {
		return err
	}
	if err := d.migrate(ctx); err != nil {
		return err
	}
	d.made = d.made || before == 0
	return nil
}

// Made says that there was no database before it was opened.
func (d *DB) Made() bool { return d.made }

// Cramped says that the disk was full when the file was opened. It is served then by
// one connection until it is opened anew, and no other program can read it.
func (d *DB) Cramped() bool { return d.cramped }

// Ping asks the database for a sign of life.
func (d *DB) Ping(ctx context.Context) error {
	var one int
	return d.View(ctx, func(t *Tx) error { return t.Row(`SELECT 1`, nil, &one) })
}

// Watch has f called after every transaction, with how long it took and how it ended.
// It is called before the database is put to work.
func (d *DB) Watch(f func(writes bool, took time.Duration, err error)) { d.watch = f }

// Load tells how many connections to the database are in use, and how often somebody
// had to wait for one.
func (d *DB) Load() (inUse int, waits int64) {
	r := d.read.Stats()
	if d.postgres { // the same for both
		return r.InUse, r.WaitCount
	}
	w := d.write.Stats()
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

func (d *DB) openPostgres(ctx context.Context, url string) error {
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
	d.write, d.read = db, db
	return nil
}

// Close closes the database; nothing acknowledged is lost.
func (d *DB) Close() error {
	if d.postgres {
		return d.write.Close()
	}
	return errors.Join(d.read.Close(), d.write.Close())
}
