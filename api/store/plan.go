package store

import (
	"context"
	"database/sql"
	"encoding/json"

	"wideberth/api/wire/kept"
	"wideberth/osmdata/fault"
)

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
func (s *Store) SavePlan(ctx context.Context, w Who, dogID, mapName string, body json.RawMessage) (p kept.Plan, err error) {
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
		p = kept.Plan{Dog: dogID, Person: w.Person, Created: t.Now, Map: mapName, Body: body}
		if p.ID, err = s.newID(); err != nil {
			return err
		}
		text, err := encode(p)
		if err != nil {
			return err
		}
		return t.Do(`INSERT INTO plan (id, dog, person, body, bytes, created) VALUES ($1, $2, $3, $4, $5, $6)`, p.ID, dogID, w.Person, text, len(text), moment(t.Now))
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
func (s *Store) Plan(ctx context.Context, w Who, id string) (p kept.Plan, err error) {
	err = s.view(ctx, func(t *tx) error {
		p, err = t.plan(w, id)
		return err
	})
	return p, err
}

func (t *tx) plan(w Who, id string) (p kept.Plan, err error) {
	var body string
	if err := t.Row(`SELECT body FROM plan WHERE id = $1`, []any{id}, &body); err != nil {
		return p, err
	}
	if err := decode(body, &p); err != nil {
		return p, err
	}
	_, err = t.dog(w, p.Dog)
	return p, err
}

// Plans lists a dog's kept plans, latest first, without their bodies.
func (s *Store) Plans(ctx context.Context, w Who, dogID string) (list []kept.PlanHead, err error) {
	err = s.view(ctx, func(t *tx) error {
		if _, err := t.dog(w, dogID); err != nil {
			return err
		}
		list, err = all(t, func(r *sql.Rows, p *kept.PlanHead) error {
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
		return t.Must(`DELETE FROM plan WHERE id = $1`, id)
	})
	if err != nil {
		return err
	}
	return s.scrub(ctx)
}
