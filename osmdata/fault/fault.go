// Package fault says what is wrong with what somebody wrote, field by field, in
// the one form that every door knows how to tell.
package fault

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Problem is one thing wrong with what somebody wrote.
type Problem struct {
	Pointer string // JSON pointer (RFC 6901) to the field, "" for the whole
	Value   string // as given, shortened
	Mend    string // what is wrong and what would be right
}

func (p Problem) String() string {
	at := p.Pointer
	if at == "" {
		at = "/"
	}
	if p.Value == "" {
		return at + ": " + p.Mend
	}
	return fmt.Sprintf("%s = %s: %s", at, p.Value, p.Mend)
}

// Problems is an error that names everything wrong at once.
type Problems []Problem

// One is a single problem as an error.
func One(pointer, value, mend string) Problems {
	return Problems{{Pointer: pointer, Value: value, Mend: mend}}
}

// Err is nil where nothing is wrong: an empty list as an error would not be nil.
func (ps Problems) Err() error {
	if len(ps) == 0 {
		return nil
	}
	return ps
}

// mostSaid is how many problems are said in one breath.
const mostSaid = 20

// Error says the first twenty problems, and how many more there are.
func (ps Problems) Error() string {
	texts := make([]string, 0, mostSaid+1)
	for _, p := range ps[:min(mostSaid, len(ps))] {
		texts = append(texts, p.String())
	}
	if more := len(ps) - mostSaid; more > 0 {
		texts = append(texts, fmt.Sprintf("and %d more", more))
	}
	return strings.Join(texts, "; ")
}

// Within says that what err finds wrong stands at pointer in what was sent. Errors
// of other sorts stay as they are.
func Within(pointer string, err error) error {
	var ps Problems
	if !errors.As(err, &ps) {
		return err
	}
	out := slices.Clone(ps)
	for i := range out {
		out[i].Pointer = pointer + strings.TrimSuffix(out[i].Pointer, "/")
	}
	return out
}
