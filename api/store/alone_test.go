package store

import (
	"context"

	"wideberth/api/wire/kept"
)

// Encounter gives one meeting.
func (s *Store) Encounter(ctx context.Context, w Who, id string) (e kept.Encounter, err error) {
	err = s.view(ctx, func(t *tx) error {
		e, err = t.encounter(w, id)
		return err
	})
	return e, err
}

// Report gives one report with what was said of it.
func (s *Store) Report(ctx context.Context, w Who, id string) (r kept.Report, err error) {
	err = s.view(ctx, func(t *tx) error {
		r, err = t.report(w, id)
		return err
	})
	return r, err
}
