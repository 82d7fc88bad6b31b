package store

import (
	"context"
	"database/sql"
	"fmt"
	"regexp"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata/fault"
)

// ReportInput is what somebody says of a source: one that the map lacks, or one
// that the map has.
type ReportInput struct {
	Kind    string       `json:"kind,omitempty" doc:"Kind of trigger; not needed where mapped is given." example:"dog_behind_fence"`
	What    string       `json:"what,omitempty" maxLength:"80" doc:"In a few words." example:"dog behind the green fence"`
	Lat     *float64     `json:"lat,omitempty" minimum:"-90" maximum:"90" example:"39.7501"`
	Lon     *float64     `json:"lon,omitempty" minimum:"-180" maximum:"180" example:"-75.5502"`
	RadiusM float64      `json:"radius_m,omitempty" minimum:"0" maximum:"500" doc:"Extent round the place; 5 m if left out."`
	Area    [][2]float64 `json:"area,omitempty" maxItems:"200" doc:"Or an area: corners as longitude, latitude."`
	Hours   string       `json:"hours,omitempty" maxLength:"255" doc:"When it is there, in the notation of opening_hours; left out: by the usual hours of its kind." example:"Th 19:00-20:30"`
	Number  float64      `json:"number,omitempty" minimum:"0" maximum:"500" doc:"How many are there when it is busy, 1 if left out; of a sound that comes in events, how many a day."`
	Ends    time.Time    `json:"ends,omitzero" doc:"It is gone from then on." example:"2027-03-31T00:00:00Z"`
	Mapped  string       `json:"mapped,omitempty" pattern:"^(node|way|relation)/[0-9]+$" doc:"A source that the map has, to confirm or dispute." example:"way/1234"`
	There   bool         `json:"there" doc:"True: it is there. False disputes a source that the map has: it is not there."`
}

// Report is a source as people speak of it.
type Report struct {
	ID string `json:"id"`
	ReportInput
	Created time.Time   `json:"created"`
	Said    []Statement `json:"-"` // the latest word of each person, oldest first
}

// Statement is one person's word on a source.
type Statement struct {
	When  time.Time
	There bool
}

const (
	mostWhat = 80
	mostArea = 200
	mostSpan = 255
	// DefaultReportRadiusM is the extent of a reported source of which none is told.
	DefaultReportRadiusM = 5
	mostReportRadiusM    = 500
	mostNumber           = 500
)

var mappedName = regexp.MustCompile(`^(node|way|relation)/[0-9]{1,19}$`)

func (in *ReportInput) check() error {
	wrong := checkText("/what", in.What, mostWhat, false)
	wrong = append(wrong, checkPlace(in.Lat, in.Lon)...)
	bad := func(field, value, mend string) {
		wrong = append(wrong, fault.Problem{Pointer: "/" + field, Value: value, Mend: mend})
	}
	if in.Mapped != "" {
		if !mappedName.MatchString(in.Mapped) {
			bad("mapped", in.Mapped, "give a source of the map like way/1234")
		}
		return problems(wrong)
	}
	if !in.There {
		bad("there", "false", "only a source that the map has can be disputed here: name it in mapped, or dispute the report of it")
	}
	if _, err := exposure.ParseKind(in.Kind); err != nil {
		bad("kind", in.Kind, err.Error())
	}
	if in.Lat == nil && len(in.Area) == 0 {
		bad("lat", "", "missing: give a place or an area")
	}
	if n := len(in.Area); n != 0 && (n < 3 || n > mostArea) {
		bad("area", fmt.Sprintf("%d corners", n), fmt.Sprintf("give 3 to %d", mostArea))
	}
	for i, c := range in.Area {
		for _, p := range checkPlace(&c[1], &c[0]) {
			bad(fmt.Sprintf("area/%d", i), p.Value, p.Mend+" (longitude first)")
		}
	}
	if !(in.RadiusM >= 0 && in.RadiusM <= mostReportRadiusM) {
		bad("radius_m", fmt.Sprintf("%g", in.RadiusM), fmt.Sprintf("give metres up to %d", mostReportRadiusM))
	}
	if !(in.Number >= 0 && in.Number <= mostNumber) {
		bad("number", fmt.Sprintf("%g", in.Number), fmt.Sprintf("give 0 to %d", mostNumber))
	}
	if len(in.Hours) > mostSpan {
		bad("hours", "", fmt.Sprintf("give at most %d characters", mostSpan))
	} else if in.Hours != "" {
		if _, err := hours.Parse(in.Hours); err != nil {
			bad("hours", in.Hours, err.Error())
		}
	}
	return problems(wrong)
}

// AddReport keeps what somebody says of a source. Of a source that the map has
// there is one report an account, and each further one is that person's word on
// it.
func (s *Store) AddReport(ctx context.Context, w Who, in ReportInput) (r Report, err error) {
	if err := in.check(); err != nil {
		return r, err
	}
	if in.Mapped == "" {
		in.Number, in.RadiusM = orElse(in.Number, 1), orElse(in.RadiusM, DefaultReportRadiusM)
	}
	err = s.update(ctx, func(t *tx) error {
		if err := t.roomForReport(w.Account, in.Mapped); err != nil {
			return err
		}
		r = Report{ReportInput: in, Created: t.now}
		if r.ID, err = s.newID(); err != nil {
			return err
		}
		body, err := encode(r)
		if err != nil {
			return err
		}
		n, err := t.changed(`INSERT INTO report (id, account, mapped, ends, body, created) VALUES ($1, $2, $3, $4, $5, $6) ON CONFLICT DO NOTHING`,
			r.ID, w.Account, in.Mapped, moment(in.Ends), body, moment(t.now))
		if err != nil {
			return err
		}
		if n == 0 {
			if err := t.row(`SELECT id FROM report WHERE account = $1 AND mapped = $2`, []any{w.Account, in.Mapped}, &r.ID); err != nil {
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
func (s *Store) State(ctx context.Context, w Who, id string, there bool) (r Report, err error) {
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
	return t.do(`INSERT INTO statement (report, person, at, there) VALUES ($1, $2, $3, $4)
		ON CONFLICT (report, person) DO UPDATE SET at = excluded.at, there = excluded.there`, report, w.Person, moment(t.now), word)
}

// Reports lists the account's reports, latest first, faded and ended ones too.
func (s *Store) Reports(ctx context.Context, w Who) (list []Report, err error) {
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
		if w.may(Trainer) != nil {
			var all, own int
			if err := t.row(`SELECT count(*), count(CASE WHEN person = $2 THEN 1 END) FROM statement WHERE report = $1`, []any{id, w.Person}, &all, &own); err != nil {
				return err
			}
			if own == 0 || all > own {
				return fmt.Errorf("%w: it is not yours alone, so it takes a %s", ErrForbidden, Trainer)
			}
		}
		t.teaches = w.Account
		return t.must(`DELETE FROM report WHERE id = $1`, id)
	})
}

func (t *tx) report(w Who, id string) (r Report, err error) {
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
func (t *tx) reports(w Who, id string) ([]Report, error) {
	query, args := `SELECT body FROM report WHERE account = $1`, []any{w.Account}
	if id != "" {
		query += ` AND id = $2`
		args = append(args, id)
	}
	list, err := all(t, scanBody[Report], query+` ORDER BY created DESC, id`, args...)
	if err != nil {
		return nil, err
	}
	type statement struct {
		report string
		Statement
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
	of := map[string][]Statement{}
	for _, s := range said {
		of[s.report] = append(of[s.report], s.Statement)
	}
	for i := range list {
		list[i].Said = of[list[i].ID]
	}
	return list, nil
}
