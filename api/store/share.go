package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"wideberth/api/store/database"
	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
)

// Bounds of a share's life, and what it is if nothing is said.
const (
	defaultShareDays = 30
	mostShareDays    = 365
)

// Guest is who has a key to one dog: nobody of the account, and no Who, so that no other
// call takes them. Only OpenShare makes one.
type Guest struct {
	Share   string
	account string
	dog     string
}

// Shared is what a guest sees.
type Shared struct {
	Share kept.Share
	Dog   kept.Dog
	Walks []kept.Walk
	Met   []kept.Encounter
	Docs  []kept.Document // training sequences that name this dog and no other
}

// NewShare makes a key that opens one dog to be read for some days (0 for
// defaultShareDays), and gives it the only time; for trainers.
func (s *Store) NewShare(ctx context.Context, w Who, dog, label string, days int) (key string, info kept.Share, err error) {
	if err := w.may(kept.Trainer); err != nil {
		return "", info, err
	}
	ps := kept.CheckName("/label", label, false)
	if days < 0 || days > mostShareDays {
		ps = append(ps, fault.Problem{Pointer: "/days", Value: fmt.Sprint(days), Mend: fmt.Sprintf("give 1 to %d days, or leave it out for %d", mostShareDays, defaultShareDays)})
	}
	if err := ps.Err(); err != nil {
		return "", info, err
	}
	if days == 0 {
		days = defaultShareDays
	}
	if key, err = s.drawToken(); err != nil {
		return "", info, err
	}
	err = s.update(ctx, func(t *tx) error {
		if _, err := t.hold(w, dog); err != nil {
			return err
		}
		if err := t.room(mostShares, "keys that open it", "dog", "delete some that have ended", `SELECT 1 FROM share WHERE dog = $1`, dog); err != nil {
			return err
		}
		id, err := s.newID()
		if err != nil {
			return err
		}
		info = kept.Share{ID: id, Dog: dog, Label: label, Created: t.Now, Expires: t.Now.Add(time.Duration(days) * 24 * time.Hour)}
		return t.Do(`INSERT INTO share (id, hash, dog, person, label, created, expires) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
			id, hashToken(key), dog, w.Person, label, moment(info.Created), moment(info.Expires))
	})
	if err != nil {
		return "", kept.Share{}, err
	}
	return key, info, nil
}

const shareColumns = `SELECT id, dog, label, created, expires, revoked, seen FROM share`

func scanShare(r *sql.Rows, x *kept.Share) error {
	var created, expires, revoked, seen int64
	if err := r.Scan(&x.ID, &x.Dog, &x.Label, &created, &expires, &revoked, &seen); err != nil {
		return err
	}
	x.Created, x.Expires, x.Revoked = ofMoment(created), ofMoment(expires), revoked != 0
	if seen != 0 {
		x.Seen = ofMoment(seen).Format(time.DateOnly)
	}
	return nil
}

// Shares lists the keys that open a dog, those that have ended too; for trainers.
func (s *Store) Shares(ctx context.Context, w Who, dog string) (list []kept.Share, err error) {
	if err := w.may(kept.Trainer); err != nil {
		return nil, err
	}
	err = s.view(ctx, func(t *tx) error {
		if _, err := t.dog(w, dog); err != nil {
			return err
		}
		list, err = all(t, scanShare, shareColumns+` WHERE dog = $1 ORDER BY created DESC, id`, dog)
		return err
	})
	return list, err
}

// RevokeShare ends a key at once; for trainers. One that has ended before, revoked or run
// out, is deleted.
func (s *Store) RevokeShare(ctx context.Context, w Who, id string) error {
	if err := w.may(kept.Trainer); err != nil {
		return err
	}
	return s.update(ctx, func(t *tx) error {
		if _, err := t.holdOf(w, "share", id); err != nil {
			return err
		}
		n, err := t.Changed(`UPDATE share SET revoked = $1 WHERE id = $2 AND revoked = 0 AND expires > $1`, moment(t.Now), id)
		if err != nil || n > 0 {
			return err
		}
		return t.Must(`DELETE FROM share WHERE id = $1`, id)
	})
}

// OpenShare says which dog a key opens. ErrUnknownToken if none, or if it is revoked or
// has run out. The day of its use is noted.
func (s *Store) OpenShare(ctx context.Context, key string) (Guest, error) {
	var (
		g    Guest
		seen int64
		day  time.Time
	)
	err := s.view(ctx, func(t *tx) error {
		day = t.Now.Truncate(24 * time.Hour)
		return t.Row(`SELECT s.id, s.seen, d.account, d.id FROM share s JOIN dog d ON d.id = s.dog
			WHERE s.hash = $1 AND s.revoked = 0 AND s.expires > $2`, []any{hashToken(key), moment(t.Now)}, &g.Share, &seen, &g.account, &g.dog)
	})
	if errors.Is(err, ErrNotFound) {
		return Guest{}, ErrUnknownToken
	}
	if err != nil {
		return Guest{}, err
	}
	if seen < moment(day) {
		err = s.update(ctx, func(t *tx) error {
			return t.Do(`UPDATE share SET seen = $1 WHERE id = $2`, moment(day), g.Share)
		})
		if errors.Is(err, database.ErrReadOnly) || errors.Is(err, database.ErrFull) {
			err = nil // whoever may only read still may
		}
	}
	return g, err
}

// Shared is all that a guest sees, from one state of the database: the dog, its walks and
// meetings since a day, and the training sequences that are about it alone.
func (s *Store) Shared(ctx context.Context, g Guest, since time.Time) (out Shared, err error) {
	err = s.view(ctx, func(t *tx) error {
		shares, err := all(t, scanShare, shareColumns+` WHERE id = $1 AND revoked = 0 AND expires > $2`, g.Share, moment(t.Now))
		if err != nil {
			return err
		}
		if len(shares) == 0 || shares[0].Dog != g.dog {
			return ErrUnknownToken // it ended meanwhile
		}
		out.Share = shares[0]
		var body string
		if err := t.Row(`SELECT body FROM dog WHERE id = $1`, []any{g.dog}, &body); err != nil {
			return err
		}
		if err := decode(body, &out.Dog); err != nil {
			return err
		}
		keep, err := t.keepSince(g.account)
		if err != nil {
			return err
		}
		if out.Walks, err = all(t, func(r *sql.Rows, walk *kept.Walk) error { return t.scanWalk(r, keep, walk) },
			walkColumns+` WHERE w.dog = $1 AND w.started >= $2 ORDER BY w.started DESC, w.id`, g.dog, moment(since)); err != nil {
			return err
		}
		if out.Met, err = t.encounters(g.dog, "", since); err != nil {
			return err
		}
		out.Docs, err = all(t, scanDocument, documentColumns+` WHERE account = $1 AND kind = $2 AND dog = $3
			AND NOT EXISTS (SELECT 1 FROM named n WHERE n.account = document.account AND n.kind = document.kind AND n.id = document.id AND n.dog <> $3)
			ORDER BY updated DESC, id`, g.account, kept.Sequences, g.dog)
		return err
	})
	return out, err
}
