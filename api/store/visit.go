package store

import (
	"context"
	"database/sql"
	"errors"

	"wideberth/osmdata/fault"
)

// mostVisit is the largest number of a visit in a sequence.
const mostVisit = 99

// TrainingRule says when training moves on.
type TrainingRule struct {
	VisitsInARow    int     `json:"visits_in_a_row" doc:"Good visits in a row on one step before moving on." example:"2"`
	HandledShare    float64 `json:"handled_share" doc:"Of the triggers of a good visit, food taken or turned back, none over threshold." example:"0.8"`
	LeastTriggers   int     `json:"least_triggers" doc:"A visit with fewer says nothing either way." example:"1"`
	OverForBack     int     `json:"over_for_back" doc:"Over threshold so often in the last visit: one step back." example:"1"`
	RefusalsForBack int     `json:"refusals_for_back" doc:"Food refused so often in the last visits: one step back." example:"2"`
}

// LoggedVisit is a walk of a sequence with what was met on it, oldest first.
type LoggedVisit struct {
	Walk Walk
	Met  []Encounter
}

func (in *WalkInput) checkVisit() (wrong fault.Problems) {
	switch {
	case in.Visit != 0 && in.Sequence == "":
		wrong = fault.Problems{{Pointer: "/sequence", Mend: "missing: say of which sequence it is visit so and so"}}
	case in.Sequence != "" && !(in.Visit >= 1 && in.Visit <= mostVisit):
		wrong = fault.Problems{{Pointer: "/visit", Mend: "missing: give the number of the visit in its sequence, from 1"}}
	}
	return append(wrong, checkText("/sequence", in.Sequence, mostKey, false)...)
}

// sequenceOf checks that a sequence, if named, is one of the dog's.
func (t *tx) sequenceOf(w Who, dogID, sequence string) error {
	if sequence == "" {
		return nil
	}
	d, err := t.document(w, Sequences, sequence)
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
		walks, err := all(t, func(r *sql.Rows, walk *Walk) error { return t.scanWalk(r, keep, walk) },
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
