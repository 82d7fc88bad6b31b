package store

import (
	"context"
	"fmt"
	"time"
)

// Everything is all that is kept about a dog.
type Everything struct {
	Exported   time.Time          `json:"exported"`
	Dog        Dog                `json:"dog"`
	History    []Change           `json:"history"`
	Walks      []Walk             `json:"walks"`
	Encounters []Encounter        `json:"encounters"`
	Tracks     map[string][]Stamp `json:"tracks" doc:"By walk."`
	Plans      []Plan             `json:"plans"`
	Documents  []Document         `json:"documents"`
}

// Stamp is a point of a track in an export.
type Stamp struct {
	Lat float64   `json:"lat"`
	Lon float64   `json:"lon"`
	At  time.Time `json:"at,omitzero"`
}

// mostExport is more rows of one sort than any dog has.
const mostExport = 1 << 30

// Export gathers all that is kept about a dog, from one state of the database;
// for trainers.
func (s *Store) Export(ctx context.Context, w Who, dogID string) (e Everything, err error) {
	if err := w.may(Trainer); err != nil {
		return e, err
	}
	err = s.view(ctx, func(t *tx) error {
		e = Everything{Exported: t.now, Tracks: map[string][]Stamp{}}
		if e.Dog, err = t.dog(w, dogID); err != nil {
			return err
		}
		if e.History, err = t.history(dogID); err != nil {
			return err
		}
		if e.Walks, err = t.walks(w, dogID, t.now.Add(clockSlack), mostExport); err != nil {
			return err
		}
		if e.Encounters, err = t.encounters(dogID, "", time.Time{}); err != nil {
			return err
		}
		if e.Plans, err = t.plans(dogID, mostExport); err != nil {
			return err
		}
		for _, walk := range e.Walks {
			if !walk.Track {
				continue
			}
			points, err := t.track(walk.ID)
			if err != nil {
				return err
			}
			for _, p := range points {
				e.Tracks[walk.ID] = append(e.Tracks[walk.ID], Stamp(p))
			}
		}
		e.Documents, err = all(t, scanDocument, documentColumns+` WHERE account = $1 AND dog = $2 ORDER BY kind, id`, w.Account, dogID)
		return err
	})
	return e, err
}

// DeleteDog deletes a dog and all that is kept about it, for good; for trainers.
// A timetable of several dogs with this one in it goes as a whole: it is to be
// planned anew anyway.
// name must be the dog's, so that nobody deletes another by mistake. Backups made
// before still hold it: it is gone from the next backup on.
func (s *Store) DeleteDog(ctx context.Context, w Who, dogID, name string) error {
	if err := w.may(Trainer); err != nil {
		return err
	}
	return s.erase(ctx, func(t *tx) error {
		d, err := t.dog(w, dogID)
		if err != nil {
			return err
		}
		if d.Profile.Name != name {
			return conflict(fmt.Sprintf("the dog is called %q: give its name to delete it", d.Profile.Name))
		}
		if t.s.postgres { // documents that name it and are being written come first, later ones find it gone
			if err := t.do(`SELECT 1 FROM dog WHERE id = $1 FOR UPDATE`, dogID); err != nil {
				return err
			}
		}
		if err := t.do(`DELETE FROM document WHERE account = $1 AND EXISTS (SELECT 1 FROM named n
			WHERE n.dog = $2 AND n.account = document.account AND n.kind = document.kind AND n.id = document.id)`, w.Account, dogID); err != nil {
			return err
		}
		t.teaches = w.Account // its walks go with it
		return t.must(`DELETE FROM dog WHERE id = $1`, dogID)
	})
}

// DeleteAccount deletes an account with everything in it, for good; for keepers.
// name must be the account's. It is gone from the next backup on.
func (s *Store) DeleteAccount(ctx context.Context, w Who, name string) error {
	if err := w.may(Keeper); err != nil {
		return err
	}
	return s.erase(ctx, func(t *tx) error {
		n, err := t.changed(`DELETE FROM account WHERE id = $1 AND name = $2`, w.Account, name)
		if err == nil && n == 0 {
			err = conflict("give the account's name to delete it")
		}
		return err
	})
}

// erase runs f in a transaction and leaves nothing of what it deleted.
func (s *Store) erase(ctx context.Context, f func(t *tx) error) error {
	if err := s.update(ctx, f); err != nil {
		return err
	}
	return s.scrub(ctx)
}
