package store

import (
	"context"
	"database/sql"
	"fmt"

	"wideberth/api/wire/kept"
)

// AddReport keeps what somebody says of a source. Of a source that the map has
// there is one report an account, and each further one is that person's word on
// it.
func (s *Store) AddReport(ctx context.Context, w Who, in kept.ReportInput) (r kept.Report, err error) {
	if err := in.Check(); err != nil {
		return r, err
	}
	if in.Mapped == "" {
		in.Number, in.RadiusM = orElse(in.Number, 1), orElse(in.RadiusM, kept.DefaultReportRadiusM)
	}
	err = s.update(ctx, func(t *tx) error {
		if err := t.roomForReport(w.Account, in.Mapped); err != nil {
			return err
		}
		r = kept.Report{ReportInput: in, Created: t.Now}
		if r.ID, err = s.newID(); err != nil {
			return err
		}
		body, err := encode(r)
		if err != nil {
			return err
		}
		n, err := t.Changed(`INSERT INTO report (id, account, mapped, ends, body, created) VALUES ($1, $2, $3, $4, $5, $6) ON CONFLICT DO NOTHING`,
			r.ID, w.Account, in.Mapped, moment(in.Ends), body, moment(t.Now))
		if err != nil {
			return err
		}
		if n == 0 {
			if err := t.Row(`SELECT id FROM report WHERE account = $1 AND mapped = $2`, []any{w.Account, in.Mapped}, &r.ID); err != nil {
				return err
			}
		}
		if err := t.state(w, r.ID, in.There); err != nil {
			return err
		}
		r, err = t.report(w, r.ID)
		return err
	})
	return r, err
}

// roomForReport refuses one more report, of a source that the map has or lacks.
func (t *tx) roomForReport(account, mapped string) error {
	if err := t.lock(account); err != nil {
		return err
	}
	if mapped == "" {
		return t.room(mostReports, "reports", "account", "delete some that have ended or faded first", `SELECT 1 FROM report WHERE account = $1 AND mapped = ''`, account)
	}
	return t.room(mostWords, "words on sources of the map", "account", "delete some that no longer hold first",
		`SELECT 1 FROM report WHERE account = $1 AND mapped <> '' AND mapped <> $2`, account, mapped)
}

// orElse is a number that was given, or its default.
func orElse(given, otherwise float64) float64 {
	if given == 0 {
		return otherwise
	}
	return given
}

// State keeps a person's word on a reported source: that it is there, or not.
// It takes the place of what the same person said before.
func (s *Store) State(ctx context.Context, w Who, id string, there bool) (r kept.Report, err error) {
	err = s.update(ctx, func(t *tx) error {
		if _, err := t.report(w, id); err != nil {
			return err
		}
		if err := t.state(w, id, there); err != nil {
			return err
		}
		r, err = t.report(w, id)
		return err
	})
	return r, err
}

func (t *tx) state(w Who, report string, there bool) error {
	word := 0
	if there {
		word = 1
	}
	t.teaches = w.Account
	return t.Do(`INSERT INTO statement (report, person, at, there) VALUES ($1, $2, $3, $4)
		ON CONFLICT (report, person) DO UPDATE SET at = excluded.at, there = excluded.there`, report, w.Person, moment(t.Now), word)
}

// Reports lists the account's reports, latest first, faded and ended ones too.
func (s *Store) Reports(ctx context.Context, w Who) (list []kept.Report, err error) {
	err = s.view(ctx, func(t *tx) error {
		list, err = t.reports(w, "")
		return err
	})
	return list, err
}

// DeleteReport deletes a report: a trainer any, others their own.
func (s *Store) DeleteReport(ctx context.Context, w Who, id string) error {
	return s.update(ctx, func(t *tx) error {
		if _, err := t.report(w, id); err != nil {
			return err
		}
		if w.may(kept.Trainer) != nil {
			var all, own int
			if err := t.Row(`SELECT count(*), count(CASE WHEN person = $2 THEN 1 END) FROM statement WHERE report = $1`, []any{id, w.Person}, &all, &own); err != nil {
				return err
			}
			if own == 0 || all > own {
				return fmt.Errorf("%w: it is not yours alone, so it takes a %s", ErrForbidden, kept.Trainer)
			}
		}
		t.teaches = w.Account
		return t.Must(`DELETE FROM report WHERE id = $1`, id)
	})
}

func (t *tx) report(w Who, id string) (r kept.Report, err error) {
	list, err := t.reports(w, id)
	if err != nil {
		return r, err
	}
	if len(list) == 0 {
		return r, ErrNotFound
	}
	return list[0], nil
}

// reports reads one report or all, with what was said of each.
func (t *tx) reports(w Who, id string) ([]kept.Report, error) {
	query, args := `SELECT body FROM report WHERE account = $1`, []any{w.Account}
	if id != "" {
		query += ` AND id = $2`
		args = append(args, id)
	}
	list, err := all(t, scanBody[kept.Report], query+` ORDER BY created DESC, id`, args...)
	if err != nil {
		return nil, err
	}
	type statement struct {
		report string
		kept.Statement
	}
	query = `SELECT s.report, s.at, s.there FROM statement s JOIN report r ON r.id = s.report WHERE r.account = $1`
	if id != "" {
		query += ` AND r.id = $2`
	}
	said, err := all(t, func(rows *sql.Rows, s *statement) error {
		var at, there int64
		err := rows.Scan(&s.report, &at, &there)
		s.When, s.There = ofMoment(at), there != 0
		return err
	}, query+` ORDER BY s.at`, args...)
	if err != nil {
		return nil, err
	}
	of := map[string][]kept.Statement{}
	for _, s := range said {
		of[s.report] = append(of[s.report], s.Statement)
	}
	for i := range list {
		list[i].Said = of[list[i].ID]
	}
	return list, nil
}
