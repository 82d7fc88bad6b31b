package store

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"wideberth/exposure"
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
		return exposure.Problems{{Pointer: "/body", Value: fmt.Sprintf("%d bytes", len(body)), Mend: fmt.Sprintf("at most %d can be kept", MostBodyBytes)}}
	case !json.Valid(body):
		return exposure.Problems{{Pointer: "/body", Mend: "must be JSON"}}
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
