package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"wideberth/api/wire/kept"
	"wideberth/exposure"
)

// AddCount keeps what somebody counted. check holds it against the others of the
// account, nil for none; what has come before under its key is given as it is.
func (s *Store) AddCount(ctx context.Context, w Who, in kept.CountInput, check func(others []exposure.Count) error) (c kept.Count, err error) {
	wrong := kept.CheckKey("/key", in.Key)
	count := in.Model()
	wrong = append(wrong, count.Check(s.now())...)
	if err := wrong.Err(); err != nil {
		return c, err
	}
	err = s.update(ctx, func(t *tx) error {
		if err := t.lock(w.Account); err != nil {
			return err
		}
		list, err := t.counts(w)
		if err != nil {
			return err
		}
		if in.Key != "" {
			var id string
			err := t.Row(`SELECT id FROM counted WHERE account = $1 AND key = $2`, []any{w.Account, in.Key}, &id)
			if err == nil {
				c, err = found(list, id)
				return err
			} else if !errors.Is(err, sql.ErrNoRows) {
				return err
			}
		}
		if len(list) >= mostCounts {
			return &limitError{mostCounts, "counts", "account", "delete some first"}
		}
		if check != nil {
			if err := check(onlyCounts(list)); err != nil {
				return err
			}
		}
		c = kept.Count{Counted: in.Counted, Own: true, Created: t.Now}
		if c.ID, err = s.newID(); err != nil {
			return err
		}
		body, err := encode(c)
		if err != nil {
			return err
		}
		t.teaches = w.Account
		return t.Do(`INSERT INTO counted (id, account, person, key, start, body, created) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
			c.ID, w.Account, w.Person, in.Key, moment(c.Start), body, moment(t.Now))
	})
	return c, err
}

// onlyCounts are the counts without who made them.
func onlyCounts(list []kept.Count) []exposure.Count {
	out := make([]exposure.Count, len(list))
	for i := range list {
		out[i] = list[i].Model()
	}
	return out
}

func found(list []kept.Count, id string) (kept.Count, error) {
	for i := range list {
		if list[i].ID == id {
			return list[i], nil
		}
	}
	return kept.Count{}, ErrNotFound
}

// Counts lists what all people of the account counted, latest first.
func (s *Store) Counts(ctx context.Context, w Who) (list []kept.Count, err error) {
	err = s.view(ctx, func(t *tx) error {
		list, err = t.counts(w)
		return err
	})
	return list, err
}

// DeleteCount deletes a count: a trainer any, others their own.
func (s *Store) DeleteCount(ctx context.Context, w Who, id string) error {
	return s.update(ctx, func(t *tx) error {
		list, err := t.counts(w)
		if err != nil {
			return err
		}
		c, err := found(list, id)
		if err != nil {
			return err
		}
		if !c.Own && w.may(kept.Trainer) != nil {
			return fmt.Errorf("%w: somebody else counted, so it takes a %s", ErrForbidden, kept.Trainer)
		}
		t.teaches = w.Account
		return t.Must(`DELETE FROM counted WHERE id = $1`, id)
	})
}

func (t *tx) counts(w Who) ([]kept.Count, error) {
	return all(t, func(r *sql.Rows, c *kept.Count) error {
		var person sql.NullString
		var body string
		if err := r.Scan(&person, &body); err != nil {
			return err
		}
		err := decode(body, c)
		c.Own = person.Valid && person.String == w.Person
		return err
	}, `SELECT person, body FROM counted WHERE account = $1 ORDER BY start DESC, id`, w.Account)
}
