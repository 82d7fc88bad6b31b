package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"wideberth/api/wire/kept"
	"wideberth/exposure"
)

// Lessons are the rows that say what an account's walks and reports teach about the
// place. What follows from them is worked out elsewhere.
type Lessons struct {
	Mark    string // see Taught
	Tallies []Tally
	Reports []kept.Report // latest first, faded and ended ones too
	Counts  []exposure.Count
}

// Tally is what one walk found of what was expected of it in one cell.
type Tally struct {
	Walk               string
	Kind, Place, Part  string
	Observed, Expected float64
}

// Taught is a mark that is new with every change of an account's lessons, to tell at
// little cost whether what was worked out of them still holds. It is drawn at random,
// so that a database that was put back to an earlier state never shows a mark with
// other lessons than before.
func (s *Store) Taught(ctx context.Context, w Who) (mark string, err error) {
	err = s.view(ctx, func(t *tx) error {
		mark, err = t.taught(w.Account)
		return err
	})
	return mark, err
}

// taught is the mark of an account, "" for one that was never taught anything.
func (t *tx) taught(account string) (mark string, err error) {
	err = t.Row(`SELECT mark FROM taught WHERE account = $1`, []any{account}, &mark)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return mark, err
}

// Lessons gathers what the account's walks and reports teach about the place. The
// rows are at least as new as the mark: where something changed meanwhile, the next
// Taught differs from it.
func (s *Store) Lessons(ctx context.Context, w Who) (l Lessons, err error) {
	err = s.view(ctx, func(t *tx) error {
		// PostgreSQL shows each statement what was committed before it, so the mark comes first.
		if l.Mark, err = t.taught(w.Account); err != nil {
			return err
		}
		if l.Tallies, err = all(t, func(r *sql.Rows, x *Tally) error {
			return r.Scan(&x.Walk, &x.Kind, &x.Place, &x.Part, &x.Observed, &x.Expected)
		}, `SELECT walk, kind, place, part, observed, expected FROM tally WHERE account = $1 ORDER BY walk, kind, place, part`, w.Account); err != nil {
			return err
		}
		if l.Reports, err = t.reports(w, ""); err != nil {
			return err
		}
		list, err := t.counts(w)
		l.Counts = onlyCounts(list)
		return err
	})
	return l, err
}

// stamp gives an account a new mark if the transaction changed its lessons. It comes
// last, as others that teach the same account wait for it and nobody who holds it waits
// for anything: so the mark is a row of its own that refers to none.
func (t *tx) stamp() error {
	if t.teaches == "" {
		return nil
	}
	mark, err := t.s.newID()
	if err != nil {
		return err
	}
	return t.Do(`INSERT INTO taught (account, mark) VALUES ($1, $2) ON CONFLICT (account) DO UPDATE SET mark = excluded.mark`, t.teaches, mark)
}

// retallyKey is retally for a walk by its key; none, if it has not arrived yet.
func (t *tx) retallyKey(w Who, dogID, key string) error {
	var id string
	err := t.Row(`SELECT id FROM walk WHERE dog = $1 AND key = $2`, []any{dogID, key}, &id)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err != nil {
		return err
	}
	walk, err := t.walk(w, id)
	if err != nil {
		return err
	}
	return t.retally(w, &walk)
}

// retally writes anew what a walk found of what was predicted. Only a walk of which
// all is told counts.
func (t *tx) retally(w Who, walk *kept.Walk) error {
	if err := t.dropTally(w, walk.ID); err != nil {
		return err
	}
	if !walk.AllTold || len(walk.Expected) == 0 {
		return nil
	}
	met, err := t.encounters(walk.Dog, walk.Key, time.Time{})
	if err != nil {
		return err
	}
	for i, n := range t.s.count(walk.Expected, met) {
		x := &walk.Expected[i]
		if err := t.Do(`INSERT INTO tally (walk, account, kind, place, part, observed, expected) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
			walk.ID, w.Account, x.Kind, x.Place, x.Part, n, x.Inside); err != nil {
			return fmt.Errorf("count a walk: %w", err)
		}
		t.teaches = w.Account
	}
	return nil
}

// dropTally takes a walk out of the lessons.
func (t *tx) dropTally(w Who, walk string) error {
	n, err := t.Changed(`DELETE FROM tally WHERE walk = $1`, walk)
	if n > 0 {
		t.teaches = w.Account
	}
	return err
}
