package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"time"

	"wideberth/osmdata/fault"
)

// WalkInput is what a client sends of a walk.
type WalkInput struct {
	Key      string    `json:"key,omitempty" maxLength:"80" doc:"Chosen by the client: what is sent twice under one key is stored once. The header Idempotency-Key does the same." example:"phone-7/2026-11-25T07:10"`
	Started  time.Time `json:"started" example:"2026-11-25T07:10:00-05:00"`
	Ended    time.Time `json:"ended,omitzero" example:"2026-11-25T07:41:00-05:00"`
	Plan     string    `json:"plan,omitempty" doc:"Id of the plan that was walked."`
	PlanWalk int       `json:"plan_walk,omitempty" minimum:"0" maximum:"9" doc:"Which walk of the plan, from 0."`
	Sequence string    `json:"sequence,omitempty" maxLength:"80" doc:"Of a training visit: the document of the kind visits that it belongs to."`
	Visit    int       `json:"visit,omitempty" minimum:"0" maximum:"99" doc:"And which of its visits, from 1."`
	AllTold  bool      `json:"all_told,omitempty" doc:"Nothing else was met: what is not logged did not happen. Only such walks teach how busy the place is."`
	Note     string    `json:"note,omitempty" maxLength:"1000"`
}

// Walk is a walk as it is kept.
type Walk struct {
	ID     string `json:"id"`
	Dog    string `json:"dog"`
	Person string `json:"person,omitempty" doc:"Who logged it."`
	WalkInput
	Created  time.Time  `json:"created"`
	Expected []Expected `json:"expected,omitempty" doc:"What was predicted, nearer than the working distance, by kind, kind of place and part of the day."`
	Track    bool       `json:"track" doc:"A track is kept."`
}

// Expected is what a walk was predicted to meet nearer than the dog's working
// distance, in one cell.
type Expected struct {
	Kind     string  `json:"kind"`
	Place    string  `json:"place"`
	Part     string  `json:"part"`
	Inside   float64 `json:"inside"`
	WorkingM float64 `json:"working_m" doc:"The distance it was counted within."`
}

// Bounds of logs.
const (
	mostKey      = 80
	mostNote     = 1000
	mostWalkTime = 24 * time.Hour
	clockSlack   = 24 * time.Hour // a phone's clock may be off by a zone
)

// earliest is the first moment that can be logged: before it a clock stands wrong.
var earliest = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// latest is the last: after it no clock that is put right will ever be.
var latest = time.Date(2200, 1, 1, 0, 0, 0, 0, time.UTC)

// ErrAhead: what is logged is still to come by this server's clock. Nobody here knows
// whose clock is wrong, so it is not refused for good: it is taken once its time has
// come, or the clock is put right.
var ErrAhead = errors.New("what is logged is still to come")

// aheadError is an ErrAhead with both times.
type aheadError struct{ at, now time.Time }

func (e *aheadError) Error() string {
	return fmt.Sprintf("%s is more than a day after this server's time, %s: put the clock right that is wrong, and send it again", e.at.Format(time.RFC3339), e.now.Format(time.RFC3339))
}

func (e *aheadError) Is(target error) bool { return target == ErrAhead }

// checkAhead refuses for now a moment that is still to come.
func checkAhead(at, now time.Time) error {
	if at.After(now.Add(clockSlack)) {
		return &aheadError{at, now}
	}
	return nil
}

func checkMoment(pointer string, at time.Time) fault.Problems {
	if at.Before(earliest) || at.After(latest) {
		return fault.Problems{{Pointer: pointer, Value: at.Format(time.RFC3339),
			Mend: "lies before 2000 or after 2200: put the clock right and give a time with its zone, like 2026-11-25T07:10:00Z"}}
	}
	return nil
}

func (in *WalkInput) check(now time.Time) error {
	wrong := checkText("/key", in.Key, mostKey, false)
	wrong = append(wrong, checkText("/note", in.Note, mostNote, false)...)
	wrong = append(wrong, checkMoment("/started", in.Started)...)
	if !in.Ended.IsZero() && (in.Ended.Before(in.Started) || in.Ended.Sub(in.Started) > mostWalkTime) {
		wrong = append(wrong, fault.Problem{Pointer: "/ended", Value: in.Ended.Format(time.RFC3339), Mend: "must lie after started and within a day of it"})
	}
	if wrong = append(wrong, in.checkVisit()...); len(wrong) > 0 {
		return wrong
	}
	return checkAhead(in.Started, now)
}

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
	if key == "" || len(checkText("", key, mostKey, true)) > 0 {
		return "", nil // nothing was stored under it
	}
	was := ""
	err = t.row(`SELECT id, print FROM `+table+` WHERE dog = $1 AND key = $2`, []any{dogID, key}, &id, &was)
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
func (s *Store) AddWalk(ctx context.Context, w Who, dogID string, in WalkInput, expected []Expected) (walk Walk, fresh bool, err error) {
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
		if err := in.check(t.now); err != nil {
			return err
		}
		if err := errors.Join(t.planOf(dogID, in.Plan), t.sequenceOf(w, dogID, in.Sequence)); err != nil {
			return err
		}
		if err := t.room(mostWalks, "walks", "dog", "delete some first", `SELECT 1 FROM walk WHERE dog = $1`, dogID); err != nil {
			return err
		}
		walk = Walk{Dog: dogID, Person: w.Person, WalkInput: in, Created: t.now, Expected: expected}
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
		if err := t.do(`INSERT INTO walk (id, dog, key, print, person, started, sequence, body, created) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
			walk.ID, dogID, walk.Key, digest, w.Person, moment(in.Started), nullable(in.Sequence), body, moment(t.now)); err != nil {
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
	err := t.row(`SELECT id FROM plan WHERE id = $1 AND dog = $2`, []any{plan, dogID}, &id)
	if errors.Is(err, sql.ErrNoRows) {
		return fault.Problems{{Pointer: "/plan", Value: plan, Mend: "give the id of a plan of this dog, or leave it out"}}
	}
	return err
}

// SetWalk changes a walk: its end, its note, which visit it was, and that all is told. What was
// predicted is replaced if expected is not nil.
func (s *Store) SetWalk(ctx context.Context, w Who, id string, in WalkInput, expected []Expected) (walk Walk, err error) {
	err = s.update(ctx, func(t *tx) error {
		if walk, err = t.holdWalk(w, id); err != nil {
			return err
		}
		in.Key = walk.Key
		if err := in.check(t.now); err != nil {
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

func (t *tx) putWalk(w Who, walk *Walk, expected []Expected) error {
	if expected != nil {
		walk.Expected = expected
	}
	body, err := encode(walk)
	if err != nil {
		return err
	}
	if err := t.must(`UPDATE walk SET started = $1, sequence = $2, body = $3 WHERE id = $4`, moment(walk.Started), nullable(walk.Sequence), body, walk.ID); err != nil {
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
		if err := errors.Join(t.dropTally(w, walk.ID), t.do(`DELETE FROM encounter WHERE dog = $1 AND walk = $2`, walk.Dog, walk.Key)); err != nil {
			return err
		}
		return t.must(`DELETE FROM walk WHERE id = $1`, walk.ID)
	})
	if err != nil {
		return err
	}
	return s.scrub(ctx)
}

// walkColumns are what scanWalk reads.
const walkColumns = `SELECT w.person, w.body, t.begun FROM walk w LEFT JOIN track t ON t.walk = w.id`

func (t *tx) scanWalk(r interface{ Scan(...any) error }, keep time.Time, walk *Walk) error {
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
func (t *tx) walk(w Who, id string) (walk Walk, err error) {
	keep, err := t.keepSince(w.Account)
	if err != nil {
		return walk, err
	}
	if err := t.scanWalk(t.QueryRowContext(t.ctx, walkColumns+` WHERE w.id = $1`, id), keep, &walk); err != nil {
		return walk, err
	}
	_, err = t.dog(w, walk.Dog)
	return walk, err
}

// holdWalk reads a walk to change it.
func (t *tx) holdWalk(w Who, id string) (Walk, error) {
	if _, err := t.holdOf(w, "walk", id); err != nil {
		return Walk{}, err
	}
	return t.walk(w, id)
}

// Walk gives one walk.
func (s *Store) Walk(ctx context.Context, w Who, id string) (walk Walk, err error) {
	err = s.view(ctx, func(t *tx) error {
		walk, err = t.walk(w, id)
		return err
	})
	return walk, err
}

// Walks lists a dog's walks, latest first, at most most of those that began
// before a moment (zero for now).
func (s *Store) Walks(ctx context.Context, w Who, dogID string, before time.Time, most int) (walks []Walk, err error) {
	err = s.view(ctx, func(t *tx) error {
		if _, err := t.dog(w, dogID); err != nil {
			return err
		}
		if before.IsZero() {
			before = t.now.Add(clockSlack)
		}
		walks, err = t.walks(w, dogID, before, most)
		return err
	})
	return walks, err
}

func (t *tx) walks(w Who, dogID string, before time.Time, most int) ([]Walk, error) {
	keep, err := t.keepSince(w.Account)
	if err != nil {
		return nil, err
	}
	return all(t, func(r *sql.Rows, walk *Walk) error { return t.scanWalk(r, keep, walk) },
		walkColumns+` WHERE w.dog = $1 AND w.started < $2 ORDER BY w.started DESC, w.id LIMIT $3`, dogID, moment(before), most)
}
