package store

import (
	"context"
	"database/sql"
	"encoding/json"
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

// PlanHead is a kept plan in a list.
type PlanHead struct {
	ID      string    `json:"id"`
	Dog     string    `json:"dog"`
	Person  string    `json:"person,omitempty"`
	Created time.Time `json:"created"`
	Bytes   int       `json:"bytes" doc:"Of its body, which is asked for by its id."`
}

func checkBody(body json.RawMessage, most int, instead string) error {
	if err := checkBytes(body, most, instead); err != nil {
		return err
	}
	if !json.Valid(body) {
		return fault.Problems{{Pointer: "/body", Mend: "must be JSON"}}
	}
	return nil
}

// SavePlan keeps a plan for a dog.
func (s *Store) SavePlan(ctx context.Context, w Who, dogID, mapName string, body json.RawMessage) (p Plan, err error) {
	if err := checkBody(body, MostPlanBytes, "keep the walk that is walked, not all of the plan"); err != nil {
		return p, err
	}
	err = s.update(ctx, func(t *tx) error {
		if _, err := t.dog(w, dogID); err != nil {
			return err
		}
		if err := t.roomForPlan(w.Account, dogID, len(body)); err != nil {
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
		return t.do(`INSERT INTO plan (id, dog, person, body, bytes, created) VALUES ($1, $2, $3, $4, $5, $6)`, p.ID, dogID, w.Person, text, len(text), moment(t.now))
	})
	return p, err
}

// roomForPlan refuses one more plan of a dog, or more bytes of an account.
func (t *tx) roomForPlan(account, dogID string, bytes int) error {
	if err := t.lock(account); err != nil {
		return err
	}
	if err := t.room(mostPlans, "plans", "dog", "delete some first: walks that followed them stay", `SELECT 1 FROM plan WHERE dog = $1`, dogID); err != nil {
		return err
	}
	return t.roomFor(account, bytes)
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

// Plans lists a dog's kept plans, latest first, without their bodies.
func (s *Store) Plans(ctx context.Context, w Who, dogID string) (list []PlanHead, err error) {
	err = s.view(ctx, func(t *tx) error {
		if _, err := t.dog(w, dogID); err != nil {
			return err
		}
		list, err = all(t, func(r *sql.Rows, p *PlanHead) error {
			var (
				person  sql.NullString
				created int64
			)
			err := r.Scan(&p.ID, &person, &created, &p.Bytes)
			p.Dog, p.Person, p.Created = dogID, person.String, ofMoment(created)
			return err
		}, `SELECT id, person, created, bytes FROM plan WHERE dog = $1 ORDER BY created DESC, id`, dogID)
		return err
	})
	return list, err
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

// DocumentHead is a document in a list.
type DocumentHead struct {
	Kind    string    `json:"kind" maxLength:"40"`
	ID      string    `json:"id" maxLength:"80"`
	Dog     string    `json:"dog,omitempty" doc:"The dog that it is about; left out if about several."`
	Version int64     `json:"version" doc:"Goes up with each change; 0 makes a new one."`
	Created time.Time `json:"created"`
	Updated time.Time `json:"updated"`
	Bytes   int       `json:"bytes" doc:"Of its body, which is asked for by its id."`
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
	most, number := bodyLimit(d.Kind)
	if err := checkBody(d.Body, most, "leave out what can be asked for again, such as legs and drawings"); err != nil {
		return d, err
	}
	err := s.update(ctx, func(t *tx) (err error) {
		if err := t.roomForDocument(w.Account, &d, number); err != nil {
			return err
		}
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
			n, err = t.changed(`INSERT INTO document (account, kind, id, dog, version, body, bytes, created, updated) VALUES ($1, $2, $3, $4, 1, $5, $6, $7, $7) ON CONFLICT DO NOTHING`,
				w.Account, d.Kind, d.ID, nullable(d.Dog), string(d.Body), len(d.Body), moment(t.now))
		} else {
			n, err = t.changed(`UPDATE document SET version = $1, body = $2, bytes = $3, dog = $4, updated = $5 WHERE account = $6 AND kind = $7 AND id = $8 AND version = $9`,
				d.Version, string(d.Body), len(d.Body), nullable(d.Dog), moment(t.now), w.Account, d.Kind, d.ID, d.Version-1)
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

// roomForDocument refuses one more document of a kind, or more bytes of an account.
func (t *tx) roomForDocument(account string, d *Document, number int) error {
	if err := t.lock(account); err != nil {
		return err
	}
	if d.Version == 0 {
		if err := t.room(number, "documents of the kind "+d.Kind, "account", "delete some first", `SELECT 1 FROM document WHERE account = $1 AND kind = $2`, account, d.Kind); err != nil {
			return err
		}
	}
	return t.roomFor(account, len(d.Body))
}

const (
	headColumns     = `SELECT kind, id, dog, version, created, updated, bytes FROM document`
	documentColumns = `SELECT kind, id, dog, version, created, updated, bytes, body FROM document`
)

func scanHead(r *sql.Rows, d *DocumentHead) error { return d.scan(r) }

func scanDocument(r *sql.Rows, d *Document) error {
	var (
		head DocumentHead
		body string
	)
	err := head.scan(r, &body)
	*d = Document{head.Kind, head.ID, head.Dog, head.Version, head.Created, head.Updated, json.RawMessage(body)}
	return err
}

// scan reads the columns of a list, and what comes after them.
func (d *DocumentHead) scan(r *sql.Rows, more ...any) error {
	var (
		dog              sql.NullString
		created, updated int64
	)
	err := r.Scan(append([]any{&d.Kind, &d.ID, &dog, &d.Version, &created, &updated, &d.Bytes}, more...)...)
	d.Dog, d.Created, d.Updated = dog.String, ofMoment(created), ofMoment(updated)
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

// Documents lists the documents of a kind that the person may see, latest first,
// without their bodies.
func (s *Store) Documents(ctx context.Context, w Who, kind string) (list []DocumentHead, err error) {
	query, args := headColumns+` WHERE account = $1 AND kind = $2`, []any{w.Account, kind}
	if w.Role == Handler {
		query += ` AND (dog IS NULL OR dog IN (SELECT dog FROM given WHERE person = $3))`
		args = append(args, w.Person)
	}
	err = s.view(ctx, func(t *tx) error {
		list, err = all(t, scanHead, query+` ORDER BY updated DESC, id`, args...)
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
