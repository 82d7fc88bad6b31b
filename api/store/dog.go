package store

import (
	"context"
	"database/sql"
	"fmt"
	"maps"
	"slices"
	"time"

	"wideberth/api/wire/kept"
	"wideberth/exposure"
)

// AddDog adds a dog to the account with the distances that follow from its profile;
// for trainers.
func (s *Store) AddDog(ctx context.Context, w Who, p kept.Profile, said map[string]kept.Distance) (d kept.Dog, err error) {
	if err := w.may(kept.Trainer); err != nil {
		return d, err
	}
	if err := p.Check(said); err != nil {
		return d, err
	}
	err = s.update(ctx, func(t *tx) error {
		if err := t.lock(w.Account); err != nil {
			return err
		}
		if err := t.room(mostDogs, "dogs", "account", "delete one first", `SELECT 1 FROM dog WHERE account = $1`, w.Account); err != nil {
			return err
		}
		d = kept.Dog{Version: 1, Created: t.Now, Updated: t.Now, Profile: p, Distances: since(said, t.Now)}
		if d.ID, err = s.newID(); err != nil {
			return err
		}
		body, err := encode(d)
		if err != nil {
			return err
		}
		return t.Do(`INSERT INTO dog (id, account, version, body, created, updated) VALUES ($1, $2, $3, $4, $5, $5)`, d.ID, w.Account, d.Version, body, moment(t.Now))
	})
	return d, err
}

// since dates distances that are held from now on.
func since(said map[string]kept.Distance, now time.Time) map[string]kept.Distance {
	out := make(map[string]kept.Distance, len(said))
	for name, x := range said {
		x.Since = now
		out[name] = x
	}
	return out
}

// SetDog replaces what is said of a dog; for trainers. said are the distances that
// follow from it. version is the one that
// was changed: ErrConflict if the dog has another meanwhile. Distances of kinds
// of which the same is said as before stay as they were learnt, also those of kinds
// that inherit from a category; others are noted in the history.
func (s *Store) SetDog(ctx context.Context, w Who, id string, version int64, p kept.Profile, said map[string]kept.Distance) (d kept.Dog, err error) {
	if err := w.may(kept.Trainer); err != nil {
		return d, err
	}
	if err := p.Check(said); err != nil {
		return d, err
	}
	err = s.update(ctx, func(t *tx) error {
		if d, err = t.hold(w, id); err != nil {
			return err
		}
		if d.Version != version {
			return conflict(fmt.Sprintf("the dog was changed meanwhile (version %d, not %d): look at it again", d.Version, version))
		}
		fresh := since(said, t.Now)
		carryLearnt(&d, fresh)
		if err := t.noteSaid(w, &d, fresh); err != nil {
			return err
		}
		d.Profile, d.Distances = p, fresh
		return t.putDog(&d)
	})
	return d, err
}

// carryLearnt puts into the distances that follow from a new profile those that
// were learnt from what it says too: of names that it names, and of kinds that
// neither profile names, whose category started them.
func carryLearnt(d *kept.Dog, fresh map[string]kept.Distance) {
	for name, old := range d.Distances {
		x, named := fresh[name]
		if !named && !d.Profile.Names(name) {
			if k, err := exposure.ParseKind(name); err == nil {
				x, named = fresh[k.Category().String()]
			}
		}
		if named && old.Calm == x.Calm && old.Prior == x.Prior {
			fresh[name] = old
		}
	}
}

// noteSaid notes what a new profile changes: distances that differ, and those that
// it takes out.
func (t *tx) noteSaid(w Who, d *kept.Dog, fresh map[string]kept.Distance) error {
	after := kept.Dog{Distances: fresh}
	named := maps.Clone(fresh)
	maps.Copy(named, d.Distances)
	for _, name := range slices.Sorted(maps.Keys(named)) {
		old, had := d.Distances[name]
		x, has := fresh[name]
		if had == has && old == x {
			continue
		}
		c := kept.Change{Name: name, Why: "said"}
		c.From, c.Under, _ = d.Of(name)
		c.To, _, _ = after.Of(name)
		if err := t.note(w, d.ID, &c); err != nil {
			return err
		}
	}
	return nil
}

// putDog writes a dog that was read in the same transaction.
func (t *tx) putDog(d *kept.Dog) error {
	was := d.Version
	d.Version, d.Updated = was+1, t.Now
	body, err := encode(d)
	if err != nil {
		return err
	}
	n, err := t.Changed(`UPDATE dog SET version = $1, body = $2, updated = $3 WHERE id = $4 AND version = $5`, d.Version, body, moment(t.Now), d.ID, was)
	if err == nil && n == 0 {
		err = ErrConflict
	}
	return err
}

// dog reads a dog that the person may see.
func (t *tx) dog(w Who, id string) (d kept.Dog, err error) {
	var body string
	query := `SELECT body FROM dog WHERE id = $1 AND account = $2`
	args := []any{id, w.Account}
	if w.Role == kept.Handler {
		query += ` AND id IN (SELECT dog FROM given WHERE person = $3)`
		args = append(args, w.Person)
	}
	if err := t.Row(query, args, &body); err != nil {
		return d, err
	}
	return d, decode(body, &d)
}

// hold reads a dog like dog, and keeps other transactions that hold it waiting
// until this one ends: what is counted from several rows of a dog must not be
// counted by two at a time. SQLite has one writer anyway.
func (t *tx) hold(w Who, id string) (kept.Dog, error) {
	if t.Postgres {
		if err := t.Do(`SELECT 1 FROM dog WHERE id = $1 AND account = $2 FOR NO KEY UPDATE`, id, w.Account); err != nil {
			return kept.Dog{}, err
		}
	}
	return t.dog(w, id)
}

// holdOf is hold for the dog of a row in a table of this package.
func (t *tx) holdOf(w Who, table, id string) (d kept.Dog, err error) {
	var dog string
	if err := t.Row(`SELECT dog FROM `+table+` WHERE id = $1`, []any{id}, &dog); err != nil {
		return d, err
	}
	return t.hold(w, dog)
}

// Dog gives a dog of the account; a handler's only if they are given it.
func (s *Store) Dog(ctx context.Context, w Who, id string) (d kept.Dog, err error) {
	err = s.view(ctx, func(t *tx) (err error) {
		d, err = t.dog(w, id)
		return err
	})
	return d, err
}

// Dogs lists the dogs that the person may see, oldest first.
func (s *Store) Dogs(ctx context.Context, w Who) (dogs []kept.Dog, err error) {
	query := `SELECT body FROM dog WHERE account = $1`
	args := []any{w.Account}
	if w.Role == kept.Handler {
		query += ` AND id IN (SELECT dog FROM given WHERE person = $2)`
		args = append(args, w.Person)
	}
	err = s.view(ctx, func(t *tx) (err error) {
		dogs, err = all(t, scanBody[kept.Dog], query+` ORDER BY created, id`, args...)
		return err
	})
	return dogs, err
}

// scanBody reads a row that is a body only.
func scanBody[T any](r *sql.Rows, v *T) error {
	var body string
	if err := r.Scan(&body); err != nil {
		return err
	}
	return decode(body, v)
}
