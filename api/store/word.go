package store

import (
	"context"

	"wideberth/api/wire/kept"
)

// wordOf reads a word on a dog that the person may see.
func (t *tx) wordOf(w Who, id string) (x kept.Word, err error) {
	var body, dog string
	if err := t.Row(`SELECT body, dog FROM word WHERE id = $1`, []any{id}, &body, &dog); err != nil {
		return x, err
	}
	if _, err := t.dog(w, dog); err != nil {
		return x, err
	}
	return x, decode(body, &x)
}

// AddWord keeps what a trainer says in writing of a dog and a helper; for trainers. It is
// never changed afterwards, only taken back.
func (s *Store) AddWord(ctx context.Context, w Who, dog string, in kept.WordInput) (x kept.Word, err error) {
	if err := w.may(kept.Trainer); err != nil {
		return x, err
	}
	if err := in.Check().Err(); err != nil {
		return x, err
	}
	err = s.update(ctx, func(t *tx) error {
		if _, err := t.hold(w, dog); err != nil {
			return err
		}
		if in.HelperDog != "" {
			if _, err := t.dog(w, in.HelperDog); err != nil {
				return err
			}
		}
		if err := t.room(mostTrainerWords, "words of trainers", "dog", "use one that stands", `SELECT 1 FROM word WHERE dog = $1`, dog); err != nil {
			return err
		}
		x = kept.Word{Dog: dog, Person: w.Person, At: t.Now, WordInput: in}
		if err := t.Row(`SELECT name FROM person WHERE id = $1`, []any{w.Person}, &x.By); err != nil {
			return err
		}
		if x.ID, err = s.newID(); err != nil {
			return err
		}
		body, err := encode(x)
		if err != nil {
			return err
		}
		return t.Do(`INSERT INTO word (id, dog, body, created) VALUES ($1, $2, $3, $4)`, x.ID, dog, body, moment(t.Now))
	})
	return x, err
}

// Words lists what trainers said of a dog, latest first, what was taken back too.
func (s *Store) Words(ctx context.Context, w Who, dog string) (list []kept.Word, err error) {
	err = s.view(ctx, func(t *tx) error {
		if _, err := t.dog(w, dog); err != nil {
			return err
		}
		list, err = all(t, scanBody[kept.Word], wordsOf, dog)
		return err
	})
	return list, err
}

// Word gives one.
func (s *Store) Word(ctx context.Context, w Who, id string) (x kept.Word, err error) {
	err = s.view(ctx, func(t *tx) error {
		x, err = t.wordOf(w, id)
		return err
	})
	return x, err
}

// WithdrawWord takes a word back, from now on; for trainers. The record stays.
func (s *Store) WithdrawWord(ctx context.Context, w Who, id string) error {
	if err := w.may(kept.Trainer); err != nil {
		return err
	}
	return s.update(ctx, func(t *tx) error {
		if _, err := t.holdOf(w, "word", id); err != nil {
			return err
		}
		x, err := t.wordOf(w, id)
		if err != nil {
			return err
		}
		if x.Withdrawn != nil {
			return conflict("it was taken back before")
		}
		x.Withdrawn = &t.Now
		body, err := encode(x)
		if err != nil {
			return err
		}
		return t.Must(`UPDATE word SET body = $1 WHERE id = $2`, body, id)
	})
}
