package database

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// Backup writes a whole copy of a SQLite database to a new file while it is in
// use. The copy appears under its name only when it is complete; a file that is
// there already is not touched. PostgreSQL: ErrOtherTools.
func (d *DB) Backup(ctx context.Context, to string) error {
	if d.postgres {
		return ErrOtherTools
	}
	if _, err := os.Stat(to); err == nil {
		return fmt.Errorf("back up to %s: %w", to, fs.ErrExist)
	}
	if err := copyDatabase(ctx, d.path, to, seal); err != nil {
		return fmt.Errorf("back up to %s: %w", to, translate(err))
	}
	return nil
}

// copyDatabase writes a compact copy beside its place, finishes it and moves it
// there. It reads over a connection of its own, as query_only would forbid the copy
// too.
func copyDatabase(ctx context.Context, from, to string, finish func(*os.File) error) error {
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
	if err := errors.Join(finish(f), f.Sync(), f.Close()); err != nil {
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

// A backup ends in a line of its own: what it is, and the SHA-256 of all before. To
// SQLite it is a page that no table has, so that a backup can be opened as it is.
const (
	sealBegins = "\nwideberth backup, sha256 of all before this line: "
	sealLength = len(sealBegins) + 2*sha256.Size + 1
)

// seal writes the line to the end of a copy.
func seal(f *os.File) error {
	sum, err := sumOf(f)
	if err != nil {
		return err
	}
	_, err = f.WriteString(sealBegins + hex.EncodeToString(sum) + "\n") // f stands at its end
	return err
}

// bare leaves a copy as it is.
func bare(*os.File) error { return nil }

// sumOf reads a file from its beginning to its end.
func sumOf(f io.ReadSeeker) ([]byte, error) {
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	h := sha256.New()
	_, err := io.Copy(h, bufio.NewReaderSize(f, 1<<20))
	return h.Sum(nil), err
}

// checkSeal holds a backup against its line: ErrUnmarked where it has none,
// ErrChecksum where they differ.
func checkSeal(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	end, err := f.Seek(0, io.SeekEnd)
	if err != nil {
		return err
	}
	before := end - int64(sealLength)
	if before <= 0 {
		return ErrUnmarked
	}
	line := make([]byte, sealLength)
	if _, err := f.ReadAt(line, before); err != nil {
		return err
	}
	told, sealed := bytes.CutPrefix(line, []byte(sealBegins))
	if !sealed {
		return ErrUnmarked
	}
	sum, err := sumOf(io.NewSectionReader(f, 0, before))
	if err != nil {
		return err
	}
	if string(told) != hex.EncodeToString(sum)+"\n" {
		return ErrChecksum
	}
	return nil
}

// Restore puts a backup in the place of a SQLite database that no program has
// open. The backup is checked first: ErrUnmarked, ErrChecksum, ErrForeign, ErrNewer,
// or what is broken. With unsealed, one without a checksum is taken if SQLite finds
// nothing wrong with it. What was there before is kept beside it, under the name given back, or
// "" if there was nothing; where the copy fails it is put back.
func Restore(ctx context.Context, from, to string, unsealed bool, o Options) (kept string, err error) {
	if IsURL(to) {
		return "", ErrOtherTools
	}
	if _, err := os.Stat(from); err != nil {
		return "", fmt.Errorf("restore: %w", err)
	}
	err = checkSeal(from)
	if err == nil || errors.Is(err, ErrUnmarked) {
		if broken := checkBackup(ctx, from, o); broken != nil || unsealed {
			err = broken
		}
	}
	if err != nil {
		return "", fmt.Errorf("restore %s: %w", from, translate(err))
	}
	if _, err := os.Stat(to); err == nil {
		kept = unused(to + ".before-restore")
		if err := setAside(ctx, to, kept); err != nil {
			return "", fmt.Errorf("restore to %s: %w", to, err)
		}
	}
	if err := copyDatabase(ctx, from, to, bare); err != nil {
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
		return fmt.Errorf("%w (%s)", ErrDamaged, verdict)
	}
	version, known, err := (&DB{read: db, now: o.Now, migrations: o.Migrations}).versions(ctx)
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
