package store

import (
	"database/sql"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5/pgconn"
	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// What a caller can decide by. Faults of a value are fault.Problems.
var (
	// ErrNotFound: there is no such thing in this account, or the person is not
	// given the dog. Both look alike on purpose.
	ErrNotFound = errors.New("there is no such thing here")
	// ErrConflict: it was changed meanwhile, or another thing has the name or key.
	ErrConflict = errors.New("it was changed meanwhile")
	// ErrForbidden: the person's role does not allow it.
	ErrForbidden = errors.New("this role may not do that")
	// ErrUnknownToken: no such token, or it is revoked or has run out.
	ErrUnknownToken = errors.New("the token is unknown, revoked or has run out")
	// ErrFull: the disk or the database's limit is reached; nothing was changed.
	ErrFull = errors.New("no room left to store anything: free some disk space; what was stored is kept")
	// ErrReadOnly: the database may only be read; nothing was changed.
	ErrReadOnly = errors.New("the database may only be read: check the rights of its file and folder; what was stored is kept")
	// ErrNewer: a newer program wrote the database.
	ErrNewer = errors.New("the database was written by a newer program: use that one")
	// ErrForeign: the file is not a database of this program.
	ErrForeign = errors.New("not a database of this program")
	// ErrInUse: another program has the database open.
	ErrInUse = errors.New("the database is in use: stop the program that serves it first")
	// ErrOtherTools: PostgreSQL has its own tools for that.
	ErrOtherTools = errors.New("a PostgreSQL database is backed up and restored with pg_dump and pg_restore")
)

// conflict is an ErrConflict with its own words.
type conflict string

func (c conflict) Error() string        { return string(c) }
func (c conflict) Is(target error) bool { return target == ErrConflict }

// forbid is an ErrForbidden that names the role needed.
func forbid(need Role) error {
	return fmt.Errorf("%w: it takes a %s", ErrForbidden, need)
}

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
		return translateSQLite(lite)
	case errors.As(err, &pg):
		return translatePostgres(pg)
	}
	return err
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
	}
	return err
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
	return err
}
