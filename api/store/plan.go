package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"time"

	"wideberth/osmdata/fault"
)

// Plan is a plan as it was answered, kept with the wish it answers.
type Plan struct {
	ID      string          `json:"id"`
	Dog     string          `json:"dog"`
	Person  string          `json:"person,omitempty"`
	Created time.Time       `json:"created"`
	Map     string          `json:"map" doc:"What identifies the map that it was made on."`
	Body    json.RawMessage `json:"body" doc:"The plan as it was answered."`
}

// MostBodyBytes bounds a stored plan or document.
const MostBodyBytes = 4 << 20

func checkBody(body json.RawMessage) error {
	switch {
	case len(body) > MostBodyBytes:
		return fault.Problems{{Pointer: "/body", Value: fmt.Sprintf("%d bytes", len(body)), Mend: fmt.Sprintf("at most %d can be kept", MostBodyBytes)}}
	case !json.Valid(body):
		return fault.Problems{{Pointer: "/body", Mend: "must be JSON"}}
	}
	return nil
}

// SavePlan keeps a plan for a dog.
func (s *Store) SavePlan(ctx context.Context, w Who, dogID, mapName string, body json.RawMessage) (p Plan, err error) {
	if err := checkBody(body); err != nil {
		return p, err
	}
	err = s.update(ctx, func(t *tx) error {
		if _, err := t.dog(w, dogID); err != nil {
			return err
		}
		p = Plan{Dog: dogID, Person: w.Person, Created: t.now, Map: mapName, Body: body}
		if p.ID, err = s.newID(); err != nil {
			return err
		}
		text, err := encode(p)
		if err != nil {
			return err
		}
		return t.do(`INSERT INTO plan (id, dog, person, body, created) VALUES ($1, $2, $3, $4, $5)`, p.ID, dogID, w.Person, text, moment(t.now))
	})
	return p, err
}

// Plan gives a kept plan.
func (s *Store) Plan(ctx context.Context, w Who, id string) (p Plan, err error) {
	err = s.view(ctx, func(t *tx) error {
		p, err = t.plan(w, id)
		return err
	})
	return p, err
}

func (t *tx) plan(w Who, id string) (p Plan, err error) {
	var body string
	if err := t.row(`SELECT body FROM plan WHERE id = $1`, []any{id}, &body); err != nil {
		return p, err
	}
	if err := decode(body, &p); err != nil {
		return p, err
	}
	_, err = t.dog(w, p.Dog)
	return p, err
}

// Plans lists a dog's kept plans, latest first, at most most.
func (s *Store) Plans(ctx context.Context, w Who, dogID string, most int) (list []Plan, err error) {
	err = s.view(ctx, func(t *tx) error {
		if _, err := t.dog(w, dogID); err != nil {
			return err
		}
		list, err = t.plans(dogID, most)
		return err
	})
	return list, err
}

func (t *tx) plans(dogID string, most int) ([]Plan, error) {
	return all(t, scanBody[Plan], `SELECT body FROM plan WHERE dog = $1 ORDER BY created DESC, id LIMIT $2`, dogID, most)
}

// DeletePlan deletes a kept plan; walks that followed it stay.
func (s *Store) DeletePlan(ctx context.Context, w Who, id string) error {
	err := s.update(ctx, func(t *tx) error {
		if _, err := t.plan(w, id); err != nil {
			return err
		}
		return t.must(`DELETE FROM plan WHERE id = $1`, id)
	})
	if err != nil {
		return err
	}
	return s.scrub(ctx)
}

// Document is anything that is kept as a whole: a training sequence, a timetable.
type Document struct {
	Kind    string          `json:"kind" maxLength:"40"`
	ID      string          `json:"id" maxLength:"80"`
	Dog     string          `json:"dog,omitempty" doc:"The dog that it is about; left out if about several."`
	Version int64           `json:"version" doc:"Goes up with each change; 0 makes a new one."`
	Created time.Time       `json:"created"`
	Updated time.Time       `json:"updated"`
	Body    json.RawMessage `json:"body"`
}

const mostKind = 40

// PutDocument keeps a document; for trainers. Version 0 makes a new one, with an
// id of its own if none is given; else it must be the version that was changed.
// ErrConflict if it is another by now.
func (s *Store) PutDocument(ctx context.Context, w Who, d Document) (Document, error) {
	if err := w.may(Trainer); err != nil {
		return d, err
	}
	if err := problems(append(checkText("/kind", d.Kind, mostKind, true), checkText("/id", d.ID, mostKey, false)...)); err != nil {
		return d, err
	}
	if err := checkBody(d.Body); err != nil {
		return d, err
	}
	err := s.update(ctx, func(t *tx) (err error) {
		if d.Dog != "" {
			if _, err := t.dog(w, d.Dog); err != nil {
				return err
			}
		}
		if d.ID == "" {
			if d.ID, err = s.newID(); err != nil {
				return err
			}
		}
		d.Version++
		n := int64(0)
		if d.Version == 1 {
			n, err = t.changed(`INSERT INTO document (account, kind, id, dog, version, body, created, updated) VALUES ($1, $2, $3, $4, 1, $5, $6, $6) ON CONFLICT DO NOTHING`,
				w.Account, d.Kind, d.ID, nullable(d.Dog), string(d.Body), moment(t.now))
		} else {
			n, err = t.changed(`UPDATE document SET version = $1, body = $2, dog = $3, updated = $4 WHERE account = $5 AND kind = $6 AND id = $7 AND version = $8`,
				d.Version, string(d.Body), nullable(d.Dog), moment(t.now), w.Account, d.Kind, d.ID, d.Version-1)
		}
		if err != nil {
			return err
		}
		if n == 0 {
			return conflict("the document was changed meanwhile: look at it again")
		}
		d, err = t.document(w, d.Kind, d.ID)
		return err
	})
	return d, err
}

const documentColumns = `SELECT kind, id, dog, version, body, created, updated FROM document`

func scanDocument(r *sql.Rows, d *Document) error {
	var (
		dog              sql.NullString
		body             string
		created, updated int64
	)
	err := r.Scan(&d.Kind, &d.ID, &dog, &d.Version, &body, &created, &updated)
	d.Dog, d.Body, d.Created, d.Updated = dog.String, json.RawMessage(body), ofMoment(created), ofMoment(updated)
	return err
}

// document reads a document that the person may see: a handler those about no
// one dog, or about one they are given.
func (t *tx) document(w Who, kind, id string) (d Document, err error) {
	list, err := all(t, scanDocument, documentColumns+` WHERE account = $1 AND kind = $2 AND id = $3`, w.Account, kind, id)
	if err != nil {
		return d, err
	}
	if len(list) == 0 {
		return d, ErrNotFound
	}
	if list[0].Dog != "" {
		if _, err := t.dog(w, list[0].Dog); err != nil {
			return d, err
		}
	}
	return list[0], nil
}

// Document gives one document.
func (s *Store) Document(ctx context.Context, w Who, kind, id string) (d Document, err error) {
	err = s.view(ctx, func(t *tx) error {
		d, err = t.document(w, kind, id)
		return err
	})
	return d, err
}

// Documents lists the documents of a kind that the person may see, latest first.
func (s *Store) Documents(ctx context.Context, w Who, kind string) (list []Document, err error) {
	query, args := documentColumns+` WHERE account = $1 AND kind = $2`, []any{w.Account, kind}
	if w.Role == Handler {
		query += ` AND (dog IS NULL OR dog IN (SELECT dog FROM given WHERE person = $3))`
		args = append(args, w.Person)
	}
	err = s.view(ctx, func(t *tx) error {
		list, err = all(t, scanDocument, query+` ORDER BY updated DESC, id`, args...)
		return err
	})
	return list, err
}

// DeleteDocument deletes a document; for trainers. What was logged of it stays.
func (s *Store) DeleteDocument(ctx context.Context, w Who, kind, id string) error {
	if err := w.may(Trainer); err != nil {
		return err
	}
	return s.erase(ctx, func(t *tx) error {
		return t.must(`DELETE FROM document WHERE account = $1 AND kind = $2 AND id = $3`, w.Account, kind, id)
	})
}
