package store

import (
	"context"
	"database/sql"
	"fmt"

	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

// AcceptChange gives a kind or category new distances from a proposal and keeps
// the evidence; for trainers, and farther for whoever walks the dog. fromWorkingM is
// the working distance that the proposal started from: ErrConflict if the dog has
// another by now.
func (s *Store) AcceptChange(ctx context.Context, w Who, dogID, name string, fromWorkingM float64, to exposure.Need, e kept.Evidence) (c kept.Change, err error) {
	if !(to.WorkingM > fromWorkingM) {
		if err := w.may(kept.Trainer); err != nil {
			return c, err
		}
	}
	if !(to.ReactionM >= exposure.LeastDistanceM && to.ReactionM < to.WorkingM && to.WorkingM <= exposure.MostMetM) {
		return c, fault.Problems{{Pointer: "/working_m", Value: fmt.Sprintf("%g", to.WorkingM), Mend: "give a working distance above the reaction distance"}}
	}
	err = s.update(ctx, func(t *tx) error {
		d, err := t.hold(w, dogID)
		if err != nil {
			return err
		}
		from, under, ok := d.Of(name)
		if !ok {
			return ErrNotFound
		}
		if from.WorkingM != fromWorkingM {
			return conflict(fmt.Sprintf("the working distance is %.1f m by now: look at the proposal again", from.WorkingM))
		}
		c = kept.Change{Name: name, Under: under, From: from, Why: "learnt", Evidence: &e,
			To: kept.Distance{Need: to, From: "learnt", Since: t.Now, Prior: from.Prior}}
		d.Distances[name] = c.To
		if err := t.note(w, d.ID, &c); err != nil {
			return err
		}
		return t.putDog(&d)
	})
	return c, err
}

// RevertChange takes a change back, which is a change of its own; for trainers.
// ErrConflict if the distance was changed again since.
func (s *Store) RevertChange(ctx context.Context, w Who, dogID, changeID string) (c kept.Change, err error) {
	if err := w.may(kept.Trainer); err != nil {
		return c, err
	}
	err = s.update(ctx, func(t *tx) error {
		d, err := t.hold(w, dogID)
		if err != nil {
			return err
		}
		var body string
		if err := t.Row(`SELECT body FROM distance_change WHERE id = $1 AND dog = $2`, []any{changeID, dogID}, &body); err != nil {
			return err
		}
		var old kept.Change
		if err := decode(body, &old); err != nil {
			return err
		}
		now, under, _ := d.Of(old.Name)
		if now != old.To {
			return conflict("the distance was changed again since: take the later change back first")
		}
		if old.Under == old.Name && old.From != (kept.Distance{}) {
			d.Distances[old.Name] = old.From
		} else {
			delete(d.Distances, old.Name) // it inherited, or there was none: a distance of 0 would say that the dog never reacts
		}
		if len(d.Distances) == 0 {
			return conflict("it is all that is said of the dog: say something else of it first")
		}
		c = kept.Change{Name: old.Name, Under: under, From: now, Why: "reverted", Reverts: old.ID}
		c.To, _, _ = d.Of(old.Name)
		if err := t.note(w, d.ID, &c); err != nil {
			return err
		}
		return t.putDog(&d)
	})
	return c, err
}

// note writes a change into the history.
func (t *tx) note(w Who, dog string, c *kept.Change) (err error) {
	if err := t.room(mostChanges, "changes of distances", "dog", "nothing was changed", `SELECT 1 FROM distance_change WHERE dog = $1`, dog); err != nil {
		return err
	}
	if c.ID, err = t.s.newID(); err != nil {
		return err
	}
	c.At, c.Person = t.Now, w.Person
	body, err := encode(c)
	if err != nil {
		return err
	}
	return t.Do(`INSERT INTO distance_change (id, dog, seq, at, person, body)
		SELECT $1, $2, coalesce(max(seq), 0) + 1, $3, $4, $5 FROM distance_change WHERE dog = $2`,
		c.ID, dog, moment(c.At), nullable(c.Person), body)
}

// History lists the changes of a dog's distances, latest first.
func (s *Store) History(ctx context.Context, w Who, dogID string) (changes []kept.Change, err error) {
	err = s.view(ctx, func(t *tx) error {
		if _, err := t.dog(w, dogID); err != nil {
			return err
		}
		changes, err = t.history(dogID)
		return err
	})
	return changes, err
}

func (t *tx) history(dogID string) ([]kept.Change, error) {
	return all(t, scanChange, historyOf, dogID)
}

func scanChange(r *sql.Rows, c *kept.Change) error {
	var (
		person sql.NullString
		body   string
	)
	if err := r.Scan(&person, &body); err != nil {
		return err
	}
	err := decode(body, c)
	c.Person = person.String // "" once the person is gone
	return err
}
