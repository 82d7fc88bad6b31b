package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"

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
func (s *Store) openSQLite(ctx context.Context) (err error) {
	if f, err := os.OpenFile(s.path, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600); err == nil {
		if err := f.Close(); err != nil {
			return err
		}
	} else if !errors.Is(err, fs.ErrExist) {
		return err
	}
	if s.write, err = sql.Open("sqlite", source(s.path)); err != nil {
		return err
	}
	s.write.SetMaxOpenConns(1)
	if err := s.write.PingContext(ctx); err != nil {
		return errors.Join(translate(err), s.write.Close())
	}
	if s.read, err = sql.Open("sqlite", readingSource(s.path)); err != nil {
		return errors.Join(err, s.write.Close())
	}
	s.read.SetMaxOpenConns(mostConnections)
	return nil
}

// scrub takes what was deleted out of what is left of it: the journal of a
// SQLite file, the dead rows of PostgreSQL.
func (s *Store) scrub(ctx context.Context) error {
	command := `PRAGMA wal_checkpoint(TRUNCATE)`
	if s.postgres {
		command = `VACUUM dog, given, distance_change, plan, walk, encounter, track, tally, report, statement, document, named, person, token, account`
	}
	_, err := s.write.ExecContext(ctx, command)
	return translate(err)
}

// Backup writes a whole copy of a SQLite database to a new file while it is in
// use. The copy appears under its name only when it is complete; a file that is
// there already is not touched. PostgreSQL: ErrOtherTools.
func (s *Store) Backup(ctx context.Context, to string) error {
	if s.postgres {
		return ErrOtherTools
	}
	if _, err := os.Stat(to); err == nil {
		return fmt.Errorf("back up to %s: %w", to, fs.ErrExist)
	}
	if err := copyDatabase(ctx, s.path, to); err != nil {
		return fmt.Errorf("back up to %s: %w", to, translate(err))
	}
	return nil
}

// copyDatabase writes a compact copy beside its place and moves it there. It
// reads over a connection of its own, as query_only would forbid the copy too.
func copyDatabase(ctx context.Context, from, to string) error {
	db, err := sql.Open("sqlite", untouchedSource(from))
	if err != nil {
		return err
	}
	defer db.Close()
	partial := to + ".partial"
	if err := os.Remove(partial); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	f, err := os.OpenFile(partial, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o600)
	if err != nil {
		return err
	}
	defer os.Remove(partial) // after the move there is nothing to remove
	if _, err := db.ExecContext(ctx, `VACUUM INTO $1`, partial); err != nil {
		return errors.Join(err, f.Close())
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(partial, to); err != nil {
		return err
	}
	return syncDir(filepath.Dir(to))
}

func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// Restore puts a backup in the place of a SQLite database that no program has
// open. The backup is checked first: ErrForeign, ErrNewer, or a list of what is
// broken. What was there before is kept beside it, under the name given back, or
// "" if there was nothing; where the copy fails it is put back.
func Restore(ctx context.Context, from, to string, o Options) (kept string, err error) {
	if IsURL(to) {
		return "", ErrOtherTools
	}
	if _, err := os.Stat(from); err != nil {
		return "", fmt.Errorf("restore: %w", err)
	}
	if err := checkBackup(ctx, from, o); err != nil {
		return "", fmt.Errorf("restore %s: %w", from, translate(err))
	}
	if _, err := os.Stat(to); err == nil {
		kept = unused(to + ".before-restore")
		if err := setAside(ctx, to, kept); err != nil {
			return "", fmt.Errorf("restore to %s: %w", to, err)
		}
	}
	if err := copyDatabase(ctx, from, to); err != nil {
		if kept != "" {
			err = errors.Join(err, moveDatabase(kept, to))
		}
		return "", fmt.Errorf("restore to %s, which is as it was: %w", to, translate(err))
	}
	return kept, nil
}

// unused is a name for a file that is not there yet: the one wished for, else with a
// number.
func unused(name string) string {
	try := name
	for n := 2; ; n++ {
		if _, err := os.Lstat(try); errors.Is(err, fs.ErrNotExist) {
			return try
		}
		try = fmt.Sprintf("%s-%d", name, n)
	}
}

// moveDatabase moves a database with what belongs to it.
func moveDatabase(from, to string) error {
	for _, part := range []string{"", "-wal", "-shm"} {
		if err := os.Rename(from+part, to+part); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

// checkBackup says what is wrong with a backup.
func checkBackup(ctx context.Context, path string, o Options) error {
	db, err := sql.Open("sqlite", untouchedSource(path))
	if err != nil {
		return err
	}
	defer db.Close()
	var verdict string
	if err := db.QueryRowContext(ctx, `PRAGMA integrity_check(1)`).Scan(&verdict); err != nil {
		return err
	}
	if verdict != "ok" {
		return fmt.Errorf("%w: %s", ErrForeign, verdict)
	}
	version, known, err := (&Store{read: db, now: o.Now}).versions(ctx)
	switch {
	case err != nil:
		return err
	case version == 0:
		return ErrForeign
	case version > len(known):
		return ErrNewer
	}
	return nil
}

// setAside moves a database away. Leaving the WAL needs the file alone, so that
// it fails while another program has it open, and leaves one whole file. One
// that is broken is moved as it is: that is what a restore is for.
func setAside(ctx context.Context, path, as string) error {
	db, err := sql.Open("sqlite", source(path))
	if err != nil {
		return err
	}
	var mode string
	err = db.QueryRowContext(ctx, `PRAGMA journal_mode = DELETE`).Scan(&mode)
	if e := db.Close(); e != nil && err == nil {
		err = e
	}
	var lite *sqlite.Error
	if errors.As(err, &lite) && (lite.Code()&0xff == sqlite3.SQLITE_BUSY || lite.Code()&0xff == sqlite3.SQLITE_LOCKED) {
		return ErrInUse
	}
	return moveDatabase(path, as)
}
