package api

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/knowledge"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
)

// answered is an answer with a body.
type answered[T any] struct{ Body T }

// keep registers an operation on what is remembered: who asks is found out first,
// errors become problems last.
func keep[I, O any](s *Server, method, path, id, summary string, f func(ctx context.Context, w store.Who, in *I) (O, error)) {
	keepUpTo(s, maxBodyBytes, method, path, id, summary, f)
}

// keepUpTo is keep for bodies that may be larger than others.
func keepUpTo[I, O any](s *Server, bytes int64, method, path, id, summary string, f func(ctx context.Context, w store.Who, in *I) (O, error)) {
	op := huma.Operation{OperationID: id, Method: method, Path: path, Summary: summary, Tags: []string{"memory"},
		MaxBodyBytes: bytes, Errors: []int{400, 401, 403, 404, 409, 413, 422, 507}}
	huma.Register(s.api, op, func(ctx context.Context, in *I) (*answered[O], error) {
		w, err := who(ctx)
		if err != nil {
			return nil, s.problem(ctx, err)
		}
		out, err := f(ctx, w, in)
		if err != nil {
			return nil, s.problem(ctx, err)
		}
		return &answered[O]{out}, nil
	})
}

// drop registers an operation after which something is gone; it has no body.
func drop[I any](s *Server, method, path, id, summary string, f func(ctx context.Context, w store.Who, in *I) error) {
	op := huma.Operation{OperationID: id, Method: method, Path: path, Summary: summary, Tags: []string{"memory"},
		DefaultStatus: http.StatusNoContent, MaxBodyBytes: maxBodyBytes, Errors: []int{400, 401, 403, 404, 409, 422, 507}}
	huma.Register(s.api, op, func(ctx context.Context, in *I) (*struct{}, error) {
		w, err := who(ctx)
		if err == nil {
			err = f(ctx, w, in)
		}
		return nil, s.problem(ctx, err)
	})
}

// ByID names one thing.
type ByID struct {
	ID string `path:"id" maxLength:"80"`
}

// Repeated is the header by which a request that is sent twice is done once.
type Repeated struct {
	Key string `header:"Idempotency-Key" maxLength:"80" doc:"Chosen by the client: what is sent twice under one key is stored once."`
}

// besideBody is what a request that keeps a body has beside it.
const besideBody = 64 << 10

func orKey(inBody, inHeader string) string {
	if inBody == "" {
		return inHeader
	}
	return inBody
}

// memoryRoutes are the operations on what is remembered.
func (s *Server) memoryRoutes() {
	if s.opt.Store == nil {
		return
	}
	s.dogRoutes()
	s.logRoutes()
	s.trackRoutes()
	s.reportRoutes()
	s.accountRoutes()
	s.documentRoutes()
	s.sequenceRoutes()
}

type dogChange struct {
	ByID
	Body struct {
		Version int64        `json:"version" doc:"The one that was changed."`
		Profile kept.Profile `json:"profile"`
	}
}

func (s *Server) dogRoutes() {
	m := s.opt.Store
	keep(s, http.MethodGet, "/v1/dogs", "dogs", "The dogs that one may see", func(ctx context.Context, w store.Who, _ *struct{}) ([]kept.Dog, error) {
		dogs, err := m.Dogs(ctx, w)
		return orEmpty(dogs), err
	})
	keep(s, http.MethodPost, "/v1/dogs", "add-dog", "Add a dog: distances, or plain answers from which they follow", func(ctx context.Context, w store.Who, in *struct{ Body kept.Profile }) (kept.Dog, error) {
		said, err := knowledge.Distances(&in.Body)
		if err != nil {
			return kept.Dog{}, err
		}
		return m.AddDog(ctx, w, in.Body, said)
	})
	keep(s, http.MethodGet, "/v1/dogs/{id}", "dog", "One dog", func(ctx context.Context, w store.Who, in *ByID) (kept.Dog, error) {
		return m.Dog(ctx, w, in.ID)
	})
	keep(s, http.MethodPut, "/v1/dogs/{id}", "set-dog", "Change what is said of a dog", func(ctx context.Context, w store.Who, in *dogChange) (kept.Dog, error) {
		said, err := knowledge.Distances(&in.Body.Profile)
		if err != nil {
			return kept.Dog{}, err
		}
		return m.SetDog(ctx, w, in.ID, in.Body.Version, in.Body.Profile, said)
	})
	drop(s, http.MethodPost, "/v1/dogs/{id}/deletion", "delete-dog", "Delete a dog and all that is kept about it, for good", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Body struct {
			Name string `json:"name" doc:"The dog's name, so that nobody deletes another by mistake."`
		}
	}) error {
		return m.DeleteDog(ctx, w, in.ID, in.Body.Name)
	})
	keep(s, http.MethodGet, "/v1/dogs/{id}/history", "history", "How a dog's distances changed, latest first", func(ctx context.Context, w store.Who, in *ByID) ([]kept.Change, error) {
		list, err := m.History(ctx, w, in.ID)
		return orEmpty(list), err
	})
	s.exportRoutes()
	s.countRoutes()
	s.learningRoutes()
}

func orEmpty[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

type planKept struct {
	ByID
	Body struct {
		Plan json.RawMessage `json:"plan" doc:"A plan as it was answered."`
	}
}

type walkSent struct {
	ByID
	Repeated
	Body kept.WalkInput
}

type meetingSent struct {
	ByID
	Repeated
	Body kept.EncounterInput
}

func (s *Server) logRoutes() {
	m := s.opt.Store
	keepUpTo(s, store.MostPlanBytes+besideBody, http.MethodPost, "/v1/dogs/{id}/plans", "keep-plan", "Keep a plan for a dog", func(ctx context.Context, w store.Who, in *planKept) (kept.Plan, error) {
		return m.SavePlan(ctx, w, in.ID, s.mapName(), in.Body.Plan)
	})
	keep(s, http.MethodGet, "/v1/dogs/{id}/plans", "kept-plans", "A dog's kept plans, latest first, without their bodies", func(ctx context.Context, w store.Who, in *ByID) ([]kept.PlanHead, error) {
		list, err := m.Plans(ctx, w, in.ID)
		return orEmpty(list), err
	})
	drop(s, http.MethodDelete, "/v1/plans/{id}", "delete-plan", "Delete a kept plan; walks that followed it stay", func(ctx context.Context, w store.Who, in *ByID) error {
		return m.DeletePlan(ctx, w, in.ID)
	})
	keep(s, http.MethodPost, "/v1/dogs/{id}/walks", "log-walk", "Log a walk", func(ctx context.Context, w store.Who, in *walkSent) (kept.Walk, error) {
		in.Body.Key = orKey(in.Body.Key, in.Key)
		if err := s.checkLogged(ctx, w, &in.Body); err != nil {
			return kept.Walk{}, err
		}
		expected, err := s.expected(ctx, w, in.ID, &in.Body)
		if err != nil {
			return kept.Walk{}, err
		}
		walk, _, err := m.AddWalk(ctx, w, in.ID, in.Body, expected)
		return walk, err
	})
	keep(s, http.MethodGet, "/v1/dogs/{id}/walks", "walks", "A dog's walks, latest first", func(ctx context.Context, w store.Who, in *ByID) ([]kept.Walk, error) {
		list, err := m.Walks(ctx, w, in.ID, time.Time{}, mostListed)
		return orEmpty(list), err
	})
	keep(s, http.MethodPut, "/v1/walks/{id}", "set-walk", "Change a walk: its end, its note, that all is told", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Body kept.WalkInput
	}) (kept.Walk, error) {
		if err := s.checkLogged(ctx, w, &in.Body); err != nil {
			return kept.Walk{}, err
		}
		expected, err := s.expectedAnew(ctx, w, in.ID, &in.Body)
		if err != nil {
			return kept.Walk{}, err
		}
		return m.SetWalk(ctx, w, in.ID, in.Body, expected)
	})
	drop(s, http.MethodDelete, "/v1/walks/{id}", "delete-walk", "Delete a walk with its track and encounters", func(ctx context.Context, w store.Who, in *ByID) error {
		return m.DeleteWalk(ctx, w, in.ID)
	})
	keep(s, http.MethodPost, "/v1/dogs/{id}/encounters", "log-encounter", "Log a meeting: one small request, late, out of order or twice", func(ctx context.Context, w store.Who, in *meetingSent) (wire.LoggedEncounter, error) {
		in.Body.Key = orKey(in.Body.Key, in.Key)
		e, _, err := m.AddEncounter(ctx, w, in.ID, in.Body, s.placeKind(&in.Body))
		return wire.NewLoggedEncounter(e), err
	})
	keep(s, http.MethodGet, "/v1/dogs/{id}/encounters", "encounters", "A dog's meetings, oldest first", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Walk string `query:"walk" doc:"Of one walk only: its key or id."`
	}) ([]kept.Encounter, error) {
		list, err := m.Encounters(ctx, w, in.ID, in.Walk, time.Time{})
		return orEmpty(list), err
	})
	keep(s, http.MethodPut, "/v1/encounters/{id}", "set-encounter", "Mend a meeting", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Body kept.EncounterInput
	}) (wire.LoggedEncounter, error) {
		e, err := m.SetEncounter(ctx, w, in.ID, in.Body, s.placeKind(&in.Body))
		return wire.NewLoggedEncounter(e), err
	})
	drop(s, http.MethodPost, "/v1/encounters/{id}/removal", "remove-encounter", "Take a meeting back", func(ctx context.Context, w store.Who, in *ByID) error {
		return m.RemoveEncounter(ctx, w, in.ID)
	})
}

const mostListed = 200

// placeKind is the kind of place that a meeting was in, "" where nobody knows.
func (s *Server) placeKind(in *kept.EncounterInput) string {
	if in.Lat == nil || in.Lon == nil {
		return ""
	}
	edge, err := s.planner.EdgeAt(wire.LatLon{Lat: *in.Lat, Lon: *in.Lon}.In(s.planner.Frame()))
	if err != nil {
		return ""
	}
	return s.planner.Snapshot().Field.Place[edge].String()
}

// mapName tells the map that is loaded from others, also from another extract of
// the same place: edges are numbered anew with each.
func (s *Server) mapName() string {
	snap := s.planner.Snapshot()
	return fmt.Sprintf("%s, %s, %s", snap.Name, snap.MapTime.UTC().Format(time.RFC3339), snap.Network)
}

// expected is what the plan of a walk predicted, nearer than the dog's working
// distance, by kind, kind of place and part of the day: what its log is held
// against. Nil where the walk followed no kept plan, or one on another map.
func (s *Server) expected(ctx context.Context, w store.Who, dogID string, in *kept.WalkInput) ([]kept.Expected, error) {
	if in.Plan == "" {
		return nil, nil
	}
	dog, err := s.opt.Store.Dog(ctx, w, dogID)
	if err != nil {
		return nil, err
	}
	kept, err := s.opt.Store.Plan(ctx, w, in.Plan)
	if errors.Is(err, store.ErrNotFound) {
		return nil, nil // the store names the field, unless the walk was logged before the plan was deleted
	}
	if err != nil {
		return nil, err
	}
	legs, err := knowledge.LegsOf(&kept, in.PlanWalk)
	if err != nil || kept.Map != s.mapName() {
		return nil, err // edges of another map are no places here
	}
	steps := knowledge.Planned(legs, s.planner.Snapshot().Graph, s.planner.Clock(), in.Started)
	return s.forecast(ctx, dog.Model(), steps)
}

// expectedAnew is what a changed walk's plan predicted; nil where what was predicted
// before holds: the same plan at the same time, none named, or a track that was walked.
func (s *Server) expectedAnew(ctx context.Context, w store.Who, id string, in *kept.WalkInput) ([]kept.Expected, error) {
	was, err := s.opt.Store.Walk(ctx, w, id)
	if err != nil || was.Track || in.Plan == was.Plan && in.PlanWalk == was.PlanWalk && in.Started.Equal(was.Started) {
		return nil, err
	}
	return s.expected(ctx, w, was.Dog, in)
}
