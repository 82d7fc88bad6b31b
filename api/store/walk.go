package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"time"

	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
)

// printOf is a fingerprint of what was sent, to tell a repetition from another
// thing under the same key.
func printOf(v any) (string, error) {
	body, err := encode(v)
	h := sha256.Sum256([]byte(body))
	return hex.EncodeToString(h[:]), err
}

// repeated is the id of what was stored under a key of a dog before, "" if nothing
// was; other contents under the key are ErrConflict. It comes before every check: a
// repetition is told what is stored, whatever has changed since it was first sent.
func (t *tx) repeated(table, dogID, key, digest string) (id string, err error) {
	if key == "" || len(kept.CheckKey("", key)) > 0 {
		return "", nil // nothing was stored under it
	}
	was := ""
	err = t.Row(`SELECT id, print FROM `+table+` WHERE dog = $1 AND key = $2`, []any{dogID, key}, &id, &was)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return "", nil
	case err == nil && was != digest:
		err = conflict(fmt.Sprintf("something else was sent under the key %q before: take a new key, or change what is there", key))
	}
	return id, err
}

// AddWalk logs a walk with a dog and what was predicted of it. The second result
// is false for a repetition, which changes nothing; other contents under the same
// key are ErrConflict.
func (s *Store) AddWalk(ctx context.Context, w Who, dogID string, in kept.WalkInput, expected []kept.Expected) (walk kept.Walk, fresh bool, err error) {
	digest, err := printOf(in)
	if err != nil {
		return walk, false, err
	}
	err = s.update(ctx, func(t *tx) error {
		if _, err := t.hold(w, dogID); err != nil {
			return err
		}
		if id, err := t.repeated("walk", dogID, in.Key, digest); err != nil || id != "" {
			if err == nil {
				walk, err = t.walk(w, id)
			}
			return err
		}
		if err := in.Check(t.Now); err != nil {
			return err
		}
		if err := errors.Join(t.planOf(dogID, in.Plan), t.sequenceOf(w, dogID, in.Sequence)); err != nil {
			return err
		}
		if err := t.room(mostWalks, "walks", "dog", "delete some first", `SELECT 1 FROM walk WHERE dog = $1`, dogID); err != nil {
			return err
		}
		walk = kept.Walk{Dog: dogID, Person: w.Person, WalkInput: in, Created: t.Now, Expected: expected}
		if walk.ID, err = s.newID(); err != nil {
			return err
		}
		if walk.Key == "" {
			walk.Key = walk.ID
		}
		body, err := encode(walk)
		if err != nil {
			return err
		}
		fresh = true
		if err := t.Do(`INSERT INTO walk (id, dog, key, print, person, started, sequence, body, created) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
			walk.ID, dogID, walk.Key, digest, w.Person, moment(in.Started), nullable(in.Sequence), body, moment(t.Now)); err != nil {
			return err
		}
		return t.retally(w, &walk)
	})
	return walk, fresh, err
}

// planOf checks that a plan, if named, is one of the dog's.
func (t *tx) planOf(dogID, plan string) error {
	if plan == "" {
		return nil
	}
	var id string
	err := t.Row(`SELECT id FROM plan WHERE id = $1 AND dog = $2`, []any{plan, dogID}, &id)
	if errors.Is(err, sql.ErrNoRows) {
		return fault.Problems{{Pointer: "/plan", Value: plan, Mend: "give the id of a plan of this dog, or leave it out"}}
	}
	return err
}

// SetWalk changes a walk: its end, its note, which visit it was, and that all is told. What was
// predicted is replaced if expected is not nil.
func (s *Store) SetWalk(ctx context.Context, w Who, id string, in kept.WalkInput, expected []kept.Expected) (walk kept.Walk, err error) {
	err = s.update(ctx, func(t *tx) error {
		if walk, err = t.holdWalk(w, id); err != nil {
			return err
		}
		in.Key = walk.Key
		if err := in.Check(t.Now); err != nil {
			return err
		}
		if err := t.planOf(walk.Dog, in.Plan); err != nil {
			return err
		}
		if in.Sequence != walk.Sequence { // the one it has may be deleted by now
			if err := t.sequenceOf(w, walk.Dog, in.Sequence); err != nil {
				return err
			}
		}
		walk.WalkInput = in
		return t.putWalk(w, &walk, expected)
	})
	return walk, err
}

func (t *tx) putWalk(w Who, walk *kept.Walk, expected []kept.Expected) error {
	if expected != nil {
		walk.Expected = expected
	}
	body, err := encode(walk)
	if err != nil {
		return err
	}
	if err := t.Must(`UPDATE walk SET started = $1, sequence = $2, body = $3 WHERE id = $4`, moment(walk.Started), nullable(walk.Sequence), body, walk.ID); err != nil {
		return err
	}
	return t.retally(w, walk)
}

// DeleteWalk deletes a walk with its track and its encounters.
func (s *Store) DeleteWalk(ctx context.Context, w Who, id string) error {
	err := s.update(ctx, func(t *tx) error {
		walk, err := t.holdWalk(w, id)
		if err != nil {
			return err
		}
		if err := errors.Join(t.dropTally(w, walk.ID), t.Do(`DELETE FROM encounter WHERE dog = $1 AND walk = $2`, walk.Dog, walk.Key)); err != nil {
			return err
		}
		return t.Must(`DELETE FROM walk WHERE id = $1`, walk.ID)
	})
	if err != nil {
		return err
	}
	return s.scrub(ctx)
}

// walkColumns are what scanWalk reads.
const walkColumns = `SELECT w.person, w.body, t.begun FROM walk w LEFT JOIN track t ON t.walk = w.id`

func (t *tx) scanWalk(r interface{ Scan(...any) error }, keep time.Time, walk *kept.Walk) error {
	var (
		person sql.NullString
		body   string
		begun  sql.NullInt64
	)
	if err := r.Scan(&person, &body, &begun); err != nil {
		return err
	}
	if err := decode(body, walk); err != nil {
		return err
	}
	walk.Person = person.String
	walk.Track = begun.Valid && begun.Int64 >= moment(keep)
	return nil
}

// walk reads a walk of a dog that the person may see.
func (t *tx) walk(w Who, id string) (walk kept.Walk, err error) {
	keep, err := t.keepSince(w.Account)
	if err != nil {
		return walk, err
	}
	if err := t.scanWalk(t.One(walkColumns+` WHERE w.id = $1`, id), keep, &walk); err != nil {
		return walk, err
	}
	_, err = t.dog(w, walk.Dog)
	return walk, err
}

// holdWalk reads a walk to change it.
func (t *tx) holdWalk(w Who, id string) (kept.Walk, error) {
	if _, err := t.holdOf(w, "walk", id); err != nil {
		return kept.Walk{}, err
	}
	return t.walk(w, id)
}

// Walk gives one walk.
func (s *Store) Walk(ctx context.Context, w Who, id string) (walk kept.Walk, err error) {
	err = s.view(ctx, func(t *tx) error {
		walk, err = t.walk(w, id)
		return err
	})
	return walk, err
}

// Walks lists a dog's walks, latest first, at most most of those that began
// before a moment (zero for now).
func (s *Store) Walks(ctx context.Context, w Who, dogID string, before time.Time, most int) (walks []kept.Walk, err error) {
	err = s.view(ctx, func(t *tx) error {
		if _, err := t.dog(w, dogID); err != nil {
			return err
		}
		if before.IsZero() {
			before = t.Now.Add(kept.ClockSlack)
		}
		walks, err = t.walks(w, dogID, before, most)
		return err
	})
	return walks, err
}

func (t *tx) walks(w Who, dogID string, before time.Time, most int) ([]kept.Walk, error) {
	keep, err := t.keepSince(w.Account)
	if err != nil {
		return nil, err
	}
	return all(t, func(r *sql.Rows, walk *kept.Walk) error { return t.scanWalk(r, keep, walk) },
		walkColumns+` WHERE w.dog = $1 AND w.started < $2 ORDER BY w.started DESC, w.id LIMIT $3`, dogID, moment(before), most)
}
