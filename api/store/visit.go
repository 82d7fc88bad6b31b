package store

import (
	"context"
	"database/sql"
	"errors"

	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
)

// LoggedVisit is a walk of a sequence with what was met on it, oldest first.
type LoggedVisit struct {
	Walk kept.Walk
	Met  []kept.Encounter
}

// sequenceOf checks that a sequence, if named, is one of the dog's.
func (t *tx) sequenceOf(w Who, dogID, sequence string) error {
	if sequence == "" {
		return nil
	}
	d, err := t.document(w, kept.Sequences, sequence)
	if errors.Is(err, ErrNotFound) || err == nil && d.Dog != dogID {
		return fault.Problems{{Pointer: "/sequence", Value: sequence, Mend: "give the id of a sequence of this dog, or leave it out"}}
	}
	return err
}

// Visits lists the walks of a dog that were visits of a sequence, oldest first,
// with what was met on each.
func (s *Store) Visits(ctx context.Context, w Who, dogID, sequence string) (list []LoggedVisit, err error) {
	err = s.view(ctx, func(t *tx) error {
		if _, err := t.dog(w, dogID); err != nil {
			return err
		}
		keep, err := t.keepSince(w.Account)
		if err != nil {
			return err
		}
		walks, err := all(t, func(r *sql.Rows, walk *kept.Walk) error { return t.scanWalk(r, keep, walk) },
			walkColumns+` WHERE w.dog = $1 AND w.sequence = $2 ORDER BY w.started, w.id`, dogID, sequence)
		if err != nil {
			return err
		}
		met, err := all(t, scanEncounter, `SELECT e.person, e.body FROM encounter e JOIN walk w ON w.dog = e.dog AND w.key = e.walk
			WHERE w.dog = $1 AND w.sequence = $2 AND e.removed = 0 ORDER BY e.at, e.id`, dogID, sequence)
		if err != nil {
			return err
		}
		of := map[string]int{}
		for i := range walks {
			list = append(list, LoggedVisit{Walk: walks[i]})
			of[walks[i].Key] = i
		}
		for _, e := range met {
			v := &list[of[e.Walk]]
			v.Met = append(v.Met, e)
		}
		return nil
	})
	return list, err
}
