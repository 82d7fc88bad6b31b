package database

import (
	"cmp"
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"strings"
	"syscall"

	"github.com/jackc/pgx/v5/pgconn"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// What a caller can decide by.
var (
	// ErrNotFound: a statement found no row, or names one in a reference that there is not.
	ErrNotFound = errors.New("there is no such thing here")
	// ErrConflict: another row has the name or key.
	ErrConflict = errors.New("it was changed meanwhile")
	// ErrFull: the disk or the database's limit is reached; nothing was changed.
	ErrFull = errors.New("no room left to store anything: free some disk space; what was stored is kept")
	// ErrReadOnly: the database may only be read; nothing was changed.
	ErrReadOnly = errors.New("the database may only be read: check the rights of its file and folder; what was stored is kept")
	// ErrNewer: a newer program wrote the database.
	ErrNewer = errors.New("the database was written by a newer program: use that one")
	// ErrForeign: the file is not a database of this program.
	ErrForeign = errors.New("not a database of this program")
	// ErrEmpty: the file has nothing in it, which no database of ours ever had.
	ErrEmpty = errors.New("the file is empty: restore a backup to it, or delete it to begin anew")
	// ErrDamaged: the file is ours and broken.
	ErrDamaged = errors.New("the database is damaged: restore a backup, which keeps the damaged one beside it")
	// ErrChecksum: a backup is not what was written.
	ErrChecksum = errors.New("the backup is not as it was written: use another")
	// ErrUnmarked: a backup carries no checksum.
	ErrUnmarked = errors.New("the backup carries no checksum: it was cut short, or an older program made it")
	// ErrUnavailable: the database cannot be reached, or went away meanwhile. Whether
	// what was under way is stored is not known.
	ErrUnavailable = errors.New("the database cannot be reached now: try again; what was sent under a key is stored once however often it is sent")
	// ErrInUse: another program has the database open.
	ErrInUse = errors.New("the database is in use: stop the program that serves it first")
	// ErrOtherTools: PostgreSQL has its own tools for that.
	ErrOtherTools = errors.New("a PostgreSQL database is backed up and restored with pg_dump and pg_restore")
)

// PostgreSQL's codes, appendix A of its manual.
const (
	pgUniqueViolation = "23505"
	pgForeignKey      = "23503"
	pgDiskFull        = "53100"
	pgReadOnly        = "25006"
	pgNoSuchText      = "22021" // a byte that no text has: nothing can be called that
)

// translate gives the errors of both drivers the same meaning; what nobody
// decides by stays as it is.
func translate(err error) error {
	var (
		lite *sqlite.Error
		pg   *pgconn.PgError
	)
	switch {
	case err == nil:
		return nil
	case errors.Is(err, sql.ErrNoRows):
		return ErrNotFound
	case errors.As(err, &lite):
		return cmp.Or(translateSQLite(lite), err)
	case errors.As(err, &pg):
		return cmp.Or(translatePostgres(pg), err)
	case lost(err):
		return fmt.Errorf("%w (%s)", ErrUnavailable, reason(err))
	}
	return err
}

// lost says that an error comes from the way to the database, not from it.
func lost(err error) bool {
	var (
		connect *pgconn.ConnectError
		network *net.OpError // not net.Error: what a file system says is one, too
	)
	if errors.Is(err, context.Canceled) {
		return false
	}
	if errors.As(err, &connect) {
		return true
	}
	if errors.Is(err, context.DeadlineExceeded) {
		return false
	}
	return errors.As(err, &network) || errors.Is(err, driver.ErrBadConn) ||
		errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, net.ErrClosed) || pgconn.SafeToRetry(err) ||
		strings.HasSuffix(err.Error(), "conn closed") // pgx has no value for it
}

// reason is why the database cannot be reached, in words of our own: those of the
// driver may hold any part of an address that was mistyped, and so a password.
func reason(err error) string {
	var (
		name    *net.DNSError
		pg      *pgconn.PgError
		network net.Error
	)
	switch {
	case errors.As(err, &name):
		return "there is no host of that name: check the address"
	case errors.As(err, &pg):
		return refusalOf(pg.Code)
	case errors.Is(err, syscall.ECONNREFUSED), errors.Is(err, fs.ErrNotExist):
		return "nothing listens there: check host and port, and whether it runs"
	case errors.Is(err, context.DeadlineExceeded), errors.As(err, &network) && network.Timeout():
		return "it does not answer in time: check host and port, and the network"
	}
	return "the connection broke"
}

// refusalOf is what a refusal of PostgreSQL means.
func refusalOf(code string) string {
	switch {
	case code == "28P01", code == "28000":
		return "it refuses the user or the password: check both"
	case code == "3D000":
		return "it has no database of that name: make it, or check the name"
	case code == "53300":
		return "it has no connection left: let it have more, or run fewer programs"
	case strings.HasPrefix(code, "57P"):
		return "it is starting or stopping"
	}
	return "it refuses the connection with code " + code
}

func translateSQLite(err *sqlite.Error) error {
	switch code := err.Code(); {
	case code == sqlite3.SQLITE_CONSTRAINT_UNIQUE, code == sqlite3.SQLITE_CONSTRAINT_PRIMARYKEY:
		return ErrConflict
	case code == sqlite3.SQLITE_CONSTRAINT_FOREIGNKEY:
		return ErrNotFound
	case code&0xff == sqlite3.SQLITE_FULL:
		return ErrFull
	case code&0xff == sqlite3.SQLITE_READONLY:
		return ErrReadOnly
	case code&0xff == sqlite3.SQLITE_NOTADB:
		return ErrForeign
	case code&0xff == sqlite3.SQLITE_CORRUPT:
		return ErrDamaged
	case code&0xff == sqlite3.SQLITE_BUSY, code&0xff == sqlite3.SQLITE_LOCKED:
		return ErrInUse
	}
	return nil
}

func translatePostgres(err *pgconn.PgError) error {
	switch err.Code {
	case pgUniqueViolation:
		return ErrConflict
	case pgForeignKey, pgNoSuchText:
		return ErrNotFound
	case pgDiskFull:
		return ErrFull
	case pgReadOnly:
		return ErrReadOnly
	}
	if strings.HasPrefix(err.Code, "08") || strings.HasPrefix(err.Code, "57P") || strings.HasPrefix(err.Code, "28") || err.Code == "3D000" || err.Code == "53300" {
		return fmt.Errorf("%w (%s)", ErrUnavailable, refusalOf(err.Code))
	}
	return nil
}
