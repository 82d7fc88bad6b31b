package store

import (
	"errors"
	"fmt"

	"wideberth/api/store/database"
	"wideberth/api/wire/kept"
)

// What a caller can decide by, beside what the database says. Faults of a value are
// fault.Problems.
var (
	// ErrNotFound: there is no such thing in this account, or the person is not
	// given the dog. Both look alike on purpose.
	ErrNotFound = database.ErrNotFound
	// ErrConflict: it was changed meanwhile, or another thing has the name or key.
	ErrConflict = database.ErrConflict
	// ErrForbidden: the person's role does not allow it.
	ErrForbidden = errors.New("this role may not do that")
	// ErrUnknownToken: no such token, or it is revoked or has run out.
	ErrUnknownToken = errors.New("the token is unknown, revoked or has run out")
)

// conflict is an ErrConflict with its own words.
type conflict string

func (c conflict) Error() string        { return string(c) }
func (c conflict) Is(target error) bool { return target == ErrConflict }

// forbid is an ErrForbidden that names the role needed.
func forbid(need kept.Role) error {
	return fmt.Errorf("%w: it takes a %s", ErrForbidden, need)
}
