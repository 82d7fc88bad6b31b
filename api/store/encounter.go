package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"wideberth/api/wire/kept"
)

// AddEncounter logs a meeting of a dog. place is the kind of place, "" if not
// known. The second result is false for a repetition, which changes nothing and
// does not bring back what was taken away; other contents under the same key are
// ErrConflict.
func (s *Store) AddEncounter(ctx context.Context, w Who, dogID string, in kept.EncounterInput, place string) (e kept.Encounter, fresh bool, err error) {
	digest, err := printOf(in)
	if err != nil {
		return e, false, err
	}
	err = s.update(ctx, func(t *tx) error {
		dog, err := t.hold(w, dogID)
		if err != nil {
			return err
		}
		if id, err := t.repeated("encounter", dogID, in.Key, digest); err != nil || id != "" {
			if err == nil {
				e, err = t.encounter(w, id)
			}
			return err
		}
		if err := t.room(mostEncounters, "meetings", "dog", "delete walks that are long past first", `SELECT 1 FROM encounter WHERE dog = $1`, dogID); err != nil {
			return err
		}
		if e, err = t.newEncounter(w, &dog, in, place); err != nil {
			return err
		}
		body, err := encode(e)
		if err != nil {
			return err
		}
		fresh = true
		if err := t.Do(`INSERT INTO encounter (id, dog, key, print, walk, person, at, body, created) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
			e.ID, dogID, e.Key, digest, e.Walk, w.Person, moment(e.At), body, moment(t.Now)); err != nil {
			return err
		}
		return errors.Join(t.reflag(&dog, "", e.Over), t.retallyKey(w, dogID, e.Walk))
	})
	return e, fresh, err
}

// newEncounter checks what was sent and makes a meeting of it.
func (t *tx) newEncounter(w Who, dog *kept.Dog, in kept.EncounterInput, place string) (e kept.Encounter, err error) {
	if err := in.Check(t.Now); err != nil {
		return e, err
	}
	if err := in.Fill(dog); err != nil {
		return e, err
	}
	e = kept.Encounter{Dog: dog.ID, Person: w.Person, EncounterInput: in, Place: place, Created: t.Now}
	if e.ID, err = t.s.newID(); err != nil {
		return e, err
	}
	if e.Key == "" {
		e.Key = e.ID
	}
	e.Walk, err = t.walkKey(dog.ID, in.Walk)
	return e, err
}

// walkKey turns a walk's id into its key; a key stays as it is, known or not.
func (t *tx) walkKey(dogID, walk string) (string, error) {
	key := walk
	err := t.Row(`SELECT key FROM walk WHERE id = $1 AND dog = $2`, []any{walk, dogID}, &key)
	if errors.Is(err, sql.ErrNoRows) {
		err = nil
	}
	return key, err
}

// SetEncounter changes a meeting.
func (s *Store) SetEncounter(ctx context.Context, w Who, id string, in kept.EncounterInput, place string) (e kept.Encounter, err error) {
	err = s.update(ctx, func(t *tx) error {
		dog, err := t.holdOf(w, "encounter", id)
		if err != nil {
			return err
		}
		old, err := t.encounter(w, id)
		if err != nil {
			return err
		}
		if old.Removed {
			return ErrNotFound
		}
		in.Key = old.Key
		if e, err = t.newEncounter(w, &dog, in, place); err != nil {
			return err
		}
		e.ID, e.Created, e.Person = old.ID, old.Created, old.Person
		body, err := encode(e)
		if err != nil {
			return err
		}
		if err := t.Must(`UPDATE encounter SET walk = $1, at = $2, body = $3 WHERE id = $4`, e.Walk, moment(e.At), body, id); err != nil {
			return err
		}
		return errors.Join(t.reflag(&dog, old.Over, e.Over), t.retallyKey(w, e.Dog, old.Walk), t.retallyKey(w, e.Dog, e.Walk))
	})
	return e, err
}

// RemoveEncounter takes a meeting back. Its key stays, so that a repetition that
// is still on its way does not bring it back.
func (s *Store) RemoveEncounter(ctx context.Context, w Who, id string) error {
	return s.update(ctx, func(t *tx) error {
		dog, err := t.holdOf(w, "encounter", id)
		if err != nil {
			return err
		}
		e, err := t.encounter(w, id)
		if err != nil {
			return err
		}
		if e.Removed {
			return nil
		}
		gone := kept.Encounter{ID: e.ID, Dog: e.Dog, EncounterInput: kept.EncounterInput{Key: e.Key}, Created: e.Created, Removed: true}
		body, err := encode(gone)
		if err != nil {
			return err
		}
		if err := t.Must(`UPDATE encounter SET removed = $1, walk = '', at = 0, body = $2 WHERE id = $3`, moment(t.Now), body, id); err != nil {
			return err
		}
		return errors.Join(t.reflag(&dog, e.Over, ""), t.retallyKey(w, e.Dog, e.Walk))
	})
}

func scanEncounter(r *sql.Rows, e *kept.Encounter) error {
	var (
		person sql.NullString
		body   string
	)
	if err := r.Scan(&person, &body); err != nil {
		return err
	}
	err := decode(body, e)
	e.Person = person.String
	return err
}

// encounter reads a meeting of a dog that the person may see.
func (t *tx) encounter(w Who, id string) (e kept.Encounter, err error) {
	found, err := all(t, scanEncounter, `SELECT person, body FROM encounter WHERE id = $1`, id)
	if err != nil {
		return e, err
	}
	if len(found) == 0 {
		return e, ErrNotFound
	}
	_, err = t.dog(w, found[0].Dog)
	return found[0], err
}

// Encounters lists a dog's meetings since a moment (zero for all), oldest first;
// of one walk if walk is its key or id.
func (s *Store) Encounters(ctx context.Context, w Who, dogID, walk string, since time.Time) (list []kept.Encounter, err error) {
	err = s.view(ctx, func(t *tx) error {
		if _, err := t.dog(w, dogID); err != nil {
			return err
		}
		key, err := t.walkKey(dogID, walk)
		if err != nil {
			return err
		}
		list, err = t.encounters(dogID, key, since)
		return err
	})
	return list, err
}

// Logged gives a dog with its meetings since a moment, oldest first, from one state of
// the database.
func (s *Store) Logged(ctx context.Context, w Who, dogID string, since time.Time) (d kept.Dog, met []kept.Encounter, err error) {
	err = s.view(ctx, func(t *tx) error {
		if d, err = t.dog(w, dogID); err != nil {
			return err
		}
		met, err = t.encounters(dogID, "", since)
		return err
	})
	return d, met, err
}

func (t *tx) encounters(dogID, walkKey string, since time.Time) ([]kept.Encounter, error) {
	query := `SELECT person, body FROM encounter WHERE dog = $1 AND removed = 0 AND at >= $2`
	args := []any{dogID, moment(since)}
	if walkKey != "" {
		query += ` AND walk = $3`
		args = append(args, walkKey)
	}
	return all(t, scanEncounter, query+` ORDER BY at, id`, args...)
}
