package database

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// What every SQLite connection is told. The driver ignores the options of other
// drivers without a word, so a test asks the database what took.
//
//   - WAL: readers and the writer do not stop each other;
//   - synchronous FULL: a commit is on the disk before it is acknowledged, also
//     when the power fails (NORMAL would only survive the end of the program);
//   - secure_delete: what is deleted is overwritten with zeros;
//   - busy_timeout: how long to wait for another program, such as a backup.
var pragmas = []string{"busy_timeout(5000)", "foreign_keys(1)", "journal_mode(WAL)", "secure_delete(1)", "synchronous(FULL)"}

// source is the connection string for a file. Transactions that may write begin
// as such: one that reads first and then wants to write can only fail.
func source(path string) string {
	return fileURL(path, url.Values{"_pragma": pragmas, "_txlock": {"immediate"}})
}

// readingSource is for connections that only read.
func readingSource(path string) string {
	return fileURL(path, url.Values{"_pragma": append(pragmas[:len(pragmas):len(pragmas)], "query_only(1)")})
}

// untouchedSource is for a file that must not change, not even its journal.
func untouchedSource(path string) string {
	return fileURL(path, url.Values{"_pragma": {"busy_timeout(5000)"}, "mode": {"ro"}})
}

func fileURL(path string, q url.Values) string {
	u := url.URL{Scheme: "file", Opaque: (&url.URL{Path: path}).EscapedPath(), RawQuery: q.Encode()}
	return u.String()
}

// openSQLite opens the file with one connection that writes and several that
// read. Only its owner may read a file made here: home addresses are in it.
func (d *DB) openSQLite(ctx context.Context) (err error) {
	info, err := os.Stat(d.path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if err := d.create(ctx); err != nil {
			return err
		}
	case err != nil:
		return err
	case info.Size() == 0:
		return ErrEmpty
	}
	if d.write, err = sql.Open("sqlite", source(d.path)); err != nil {
		return err
	}
	d.write.SetMaxOpenConns(1)
	if err := touch(ctx, d.write); noRoom(err) {
		return errors.Join(d.write.Close(), d.openCramped(ctx))
	} else if err != nil {
		return errors.Join(translate(err), d.write.Close())
	}
	if d.read, err = sql.Open("sqlite", readingSource(d.path)); err != nil {
		return errors.Join(err, d.write.Close())
	}
	d.read.SetMaxOpenConns(mostConnections)
	return nil
}

// noRoom says that the disk has no room for what SQLite keeps beside a file that
// several connections have open.
func noRoom(err error) bool {
	var lite *sqlite.Error
	if !errors.As(err, &lite) {
		return false
	}
	return lite.Code() == sqlite3.SQLITE_IOERR_SHMSIZE || lite.Code()&0xff == sqlite3.SQLITE_FULL
}

// openCramped opens the file with one connection that has it alone and needs nothing
// beside it: what was stored can be read, and written to once there is room.
func (d *DB) openCramped(ctx context.Context) (err error) {
	// The driver takes pragmas by the alphabet, and a journal mode before the locking
	// mode would ask for the room again: the file has its mode anyway.
	alone := slices.DeleteFunc(slices.Clone(pragmas), func(p string) bool { return strings.HasPrefix(p, "journal_mode") })
	q := url.Values{"_pragma": append(alone, "locking_mode(EXCLUSIVE)"), "_txlock": {"immediate"}}
	if d.write, err = sql.Open("sqlite", fileURL(d.path, q)); err != nil {
		return err
	}
	d.write.SetMaxOpenConns(1)
	d.read, d.cramped = d.write, true
	if err := touch(ctx, d.write); err != nil {
		return errors.Join(translate(err), d.write.Close())
	}
	return nil
}

// touch reads something: a connection alone opens little.
func touch(ctx context.Context, db *sql.DB) error {
	var n int
	return db.QueryRowContext(ctx, `SELECT count(*) FROM sqlite_schema`).Scan(&n)
}

// create makes a new database under another name and links it to its own when it is
// whole: whoever is killed meanwhile leaves no half of one, and of two who make it at
// the same time one is first.
func (d *DB) create(ctx context.Context) error {
	partial := unused(fmt.Sprintf("%s.new-%d", d.path, os.Getpid()))
	f, err := os.OpenFile(partial, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600)
	if err != nil {
		return err
	}
	defer discard(partial)
	if err := f.Close(); err != nil {
		return err
	}
	db, err := sql.Open("sqlite", source(partial))
	if err != nil {
		return err
	}
	fresh := &DB{write: db, read: db, now: d.now, migrations: d.migrations}
	if err := errors.Join(fresh.migrate(ctx), db.Close()); err != nil { // the last to close writes the journal back
		return err
	}
	if err := os.Link(partial, d.path); err != nil && !errors.Is(err, fs.ErrExist) {
		if err := os.Rename(partial, d.path); err != nil { // a file system without links
			return err
		}
	}
	d.made = true
	return syncDir(filepath.Dir(d.path))
}

// discard removes a database that nobody knows of.
func discard(path string) {
	for _, part := range []string{"", "-wal", "-shm"} {
		_ = os.Remove(path + part) // most are not there
	}
}

// Scrub takes what was deleted from tables out of what is left of it: the journal of a
// SQLite file, the dead rows of PostgreSQL.
func (d *DB) Scrub(ctx context.Context, tables ...string) error {
	command := `PRAGMA wal_checkpoint(TRUNCATE)`
	if d.postgres {
		command = `VACUUM ` + strings.Join(tables, ", ")
	}
	_, err := d.write.ExecContext(ctx, command)
	return translate(err)
}
