package store

import (
	"context"
	"time"

	"wideberth/api/wire/kept"
)

// reflag sees whether a dog is flagged after a meeting changed from one outcome to
// another: by its latest bite, else by its latest snap, since a flag was last lifted.
// What else is kept of the dog stays as it is, its version too: who is changing it
// meanwhile changes nothing of this.
func (t *tx) reflag(d *kept.Dog, was, is string) error {
	if !kept.Harm(was) && !kept.Harm(is) {
		return nil
	}
	var since time.Time
	if d.Lifted != nil {
		since = *d.Lifted
	}
	met, err := t.encounters(d.ID, "", time.Time{})
	if err != nil {
		return err
	}
	d.Flag = nil
	for i := range met {
		e := &met[i]
		if !kept.Harm(e.Over) || e.Created.Before(since) || d.Flag != nil && d.Flag.Over == "bite" && e.Over == "snap" {
			continue
		}
		d.Flag = &kept.Flag{Over: e.Over, At: e.At, Encounter: e.ID}
	}
	return t.rewrite(d)
}

// rewrite writes a dog's body under the version that it has.
func (t *tx) rewrite(d *kept.Dog) error {
	body, err := encode(d)
	if err != nil {
		return err
	}
	return t.Must(`UPDATE dog SET body = $1 WHERE id = $2 AND version = $3`, body, d.ID, d.Version)
}

// LiftFlag takes the flag of a snap or a bite off a dog; for trainers. What is said of
// a bite history in its profile stays.
func (s *Store) LiftFlag(ctx context.Context, w Who, id string) (d kept.Dog, err error) {
	if err := w.may(kept.Trainer); err != nil {
		return d, err
	}
	err = s.update(ctx, func(t *tx) error {
		if d, err = t.hold(w, id); err != nil {
			return err
		}
		if d.Flag == nil {
			return conflict("the dog is not flagged")
		}
		d.Flag, d.Lifted = nil, &t.Now
		return t.putDog(&d)
	})
	return d, err
}
