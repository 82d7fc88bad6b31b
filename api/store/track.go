package store

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
)

// row is the stored form of a point.
type trackRow [3]float64

// Attach keeps the track of a walk, in the place of an earlier one. It is not
// kept, and the answer is false, where the account keeps tracks for fewer days than the
// walk is old. expected, if not nil, replaces what was predicted of the walk.
func (s *Store) Attach(ctx context.Context, w Who, walkID string, points []kept.TrackPoint, expected []kept.Expected) (attached bool, err error) {
	if len(points) == 0 || len(points) > kept.MostTrackPoints {
		return false, fault.Problems{{Value: fmt.Sprintf("%d points", len(points)), Mend: fmt.Sprintf("a track needs 1 to %d points", kept.MostTrackPoints)}}
	}
	rows := make([]trackRow, len(points))
	for i, p := range points {
		rows[i] = trackRow{p.Lat, p.Lon, float64(moment(p.At))}
	}
	body, err := encode(rows)
	if err != nil {
		return false, err
	}
	err = s.update(ctx, func(t *tx) error {
		walk, err := t.holdWalk(w, walkID)
		if err != nil {
			return err
		}
		for _, p := range points {
			if err := kept.CheckAhead(p.At, t.Now); err != nil {
				return err
			}
		}
		if expected != nil {
			if err := t.putWalk(w, &walk, expected); err != nil {
				return err
			}
		}
		keep, err := t.keepSince(w.Account)
		if err != nil {
			return err
		}
		if attached = !walk.Started.Before(keep); !attached {
			return nil
		}
		if err := t.roomForTrack(w.Account, walkID, len(body)); err != nil {
			return err
		}
		return t.Do(`INSERT INTO track (walk, account, begun, points, bytes, created) VALUES ($1, $2, $3, $4, $5, $6)
			ON CONFLICT (walk) DO UPDATE SET begun = excluded.begun, points = excluded.points, bytes = excluded.bytes, created = excluded.created`,
			walkID, w.Account, moment(walk.Started), body, len(body), moment(t.Now))
	})
	return attached, err
}

// Track gives the track of a walk; ErrNotFound where none is kept.
func (s *Store) Track(ctx context.Context, w Who, walkID string) (points []kept.TrackPoint, err error) {
	err = s.view(ctx, func(t *tx) error {
		walk, err := t.walk(w, walkID)
		if err != nil {
			return err
		}
		if !walk.Track {
			return ErrNotFound
		}
		points, err = t.track(walkID)
		return err
	})
	return points, err
}

func (t *tx) track(walkID string) ([]kept.TrackPoint, error) {
	var body string
	if err := t.Row(`SELECT points FROM track WHERE walk = $1`, []any{walkID}, &body); err != nil {
		return nil, err
	}
	var rows []trackRow
	if err := decode(body, &rows); err != nil {
		return nil, err
	}
	points := make([]kept.TrackPoint, len(rows))
	for i, r := range rows {
		points[i] = kept.TrackPoint{Lat: r[0], Lon: r[1], At: ofMoment(int64(r[2]))}
	}
	return points, nil
}

// DetachTrack deletes the track of a walk; the walk stays.
func (s *Store) DetachTrack(ctx context.Context, w Who, walkID string) error {
	err := s.update(ctx, func(t *tx) error {
		if _, err := t.walk(w, walkID); err != nil {
			return err
		}
		return t.Must(`DELETE FROM track WHERE walk = $1`, walkID)
	})
	if err != nil {
		return err
	}
	return s.scrub(ctx)
}

// keepSince is the beginning of the oldest walk whose track is kept.
func (t *tx) keepSince(account string) (time.Time, error) {
	set, err := t.settings(account)
	if err != nil {
		return time.Time{}, err
	}
	if set.KeepTracksDays == 0 {
		return t.Now.AddDate(1000, 0, 0), nil // none is young enough
	}
	return t.Now.AddDate(0, 0, -set.KeepTracksDays), nil
}

// PurgeTracks deletes the tracks of all accounts that are older than wished, and
// gives their number. Call it once a day; until then they are no longer shown.
func (s *Store) PurgeTracks(ctx context.Context) (gone int64, err error) {
	err = s.update(ctx, func(t *tx) error {
		accounts, err := all(t, func(r *sql.Rows, id *string) error { return r.Scan(id) }, `SELECT id FROM account`)
		if err != nil {
			return err
		}
		for _, account := range accounts {
			keep, err := t.keepSince(account)
			if err != nil {
				return err
			}
			n, err := t.Changed(`DELETE FROM track WHERE account = $1 AND begun < $2`, account, moment(keep))
			if err != nil {
				return err
			}
			gone += n
		}
		return nil
	})
	if err == nil && gone > 0 {
		err = s.scrub(ctx)
	}
	return gone, err
}
