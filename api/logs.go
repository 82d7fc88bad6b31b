package api

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"time"

	"wideberth/api/knowledge"
	"wideberth/api/memory"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/routing/atlas"
)

// memoryRoutes are the operations on what is remembered.
func (s *Server) memoryRoutes() {
	if s.opt.Store == nil {
		return
	}
	s.desk = &memory.Desk{API: s.api, Store: s.opt.Store, Now: s.now, Log: s.log, Gate: s.gate, Problem: s.problem}
	s.desk.Routes()
	s.logRoutes()
	s.trackRoutes()
	s.countRoutes()
	s.sequenceRoutes()
}

// answered is an answer with a body.
type answered[T any] struct{ Body T }

type planKept struct {
	memory.ByID
	Body struct {
		Plan json.RawMessage `json:"plan" doc:"A plan as it was answered."`
	}
}

func orKey(inBody, inHeader string) string {
	if inBody == "" {
		return inHeader
	}
	return inBody
}

type walkSent struct {
	memory.ByID
	memory.Repeated
	Body kept.WalkInput
}

type meetingSent struct {
	memory.ByID
	memory.Repeated
	Body kept.EncounterInput
}

func (s *Server) logRoutes() {
	m := s.opt.Store
	memory.KeepUpTo(s.desk, store.MostPlanBytes+memory.BesideBytes, http.MethodPost, "/v1/dogs/{id}/plans", "keep-plan", "Keep a plan for a dog", func(ctx context.Context, w store.Who, in *planKept) (kept.Plan, error) {
		return m.SavePlan(ctx, w, in.ID, s.mapOf(ctx, in.Body.Plan), in.Body.Plan)
	})
	memory.Keep(s.desk, http.MethodGet, "/v1/dogs/{id}/plans", "kept-plans", "A dog's kept plans, latest first, without their bodies", func(ctx context.Context, w store.Who, in *memory.ByID) ([]kept.PlanHead, error) {
		list, err := m.Plans(ctx, w, in.ID)
		return memory.OrEmpty(list), err
	})
	memory.Drop(s.desk, http.MethodDelete, "/v1/plans/{id}", "delete-plan", "Delete a kept plan; walks that followed it stay", func(ctx context.Context, w store.Who, in *memory.ByID) error {
		return m.DeletePlan(ctx, w, in.ID)
	})
	memory.Keep(s.desk, http.MethodPost, "/v1/dogs/{id}/walks", "log-walk", "Log a walk", func(ctx context.Context, w store.Who, in *walkSent) (kept.Walk, error) {
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
	memory.Keep(s.desk, http.MethodGet, "/v1/dogs/{id}/walks", "walks", "A dog's walks, latest first", func(ctx context.Context, w store.Who, in *memory.ByID) ([]kept.Walk, error) {
		list, err := m.Walks(ctx, w, in.ID, time.Time{}, mostListed)
		return memory.OrEmpty(list), err
	})
	memory.Keep(s.desk, http.MethodPut, "/v1/walks/{id}", "set-walk", "Change a walk: its end, its note, that all is told", func(ctx context.Context, w store.Who, in *struct {
		memory.ByID
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
	memory.Drop(s.desk, http.MethodDelete, "/v1/walks/{id}", "delete-walk", "Delete a walk with its track and encounters", func(ctx context.Context, w store.Who, in *memory.ByID) error {
		return m.DeleteWalk(ctx, w, in.ID)
	})
	memory.Keep(s.desk, http.MethodPost, "/v1/dogs/{id}/encounters", "log-encounter", "Log a meeting: one small request, late, out of order or twice", func(ctx context.Context, w store.Who, in *meetingSent) (wire.LoggedEncounter, error) {
		in.Body.Key = orKey(in.Body.Key, in.Key)
		e, _, err := m.AddEncounter(ctx, w, in.ID, in.Body, s.placeKind(ctx, &in.Body))
		return wire.NewLoggedEncounter(e, wire.ReaderOf(ctx)), err
	})
	memory.Keep(s.desk, http.MethodGet, "/v1/dogs/{id}/encounters", "encounters", "A dog's meetings, oldest first", func(ctx context.Context, w store.Who, in *struct {
		memory.ByID
		Walk string `query:"walk" doc:"Of one walk only: its key or id."`
	}) ([]kept.Encounter, error) {
		list, err := m.Encounters(ctx, w, in.ID, in.Walk, time.Time{})
		return memory.OrEmpty(list), err
	})
	memory.Keep(s.desk, http.MethodPut, "/v1/encounters/{id}", "set-encounter", "Mend a meeting", func(ctx context.Context, w store.Who, in *struct {
		memory.ByID
		Body kept.EncounterInput
	}) (wire.LoggedEncounter, error) {
		e, err := m.SetEncounter(ctx, w, in.ID, in.Body, s.placeKind(ctx, &in.Body))
		return wire.NewLoggedEncounter(e, wire.ReaderOf(ctx)), err
	})
	memory.Drop(s.desk, http.MethodPost, "/v1/encounters/{id}/removal", "remove-encounter", "Take a meeting back", func(ctx context.Context, w store.Who, in *memory.ByID) error {
		return m.RemoveEncounter(ctx, w, in.ID)
	})
}

const mostListed = 200

// placeKind is the kind of place that a meeting was in, "" where nobody knows.
func (s *Server) placeKind(ctx context.Context, in *kept.EncounterInput) string {
	if in.Lat == nil || in.Lon == nil {
		return ""
	}
	at := wire.LatLon{Lat: *in.Lat, Lon: *in.Lon}
	m := s.mayBeAt(ctx, at)
	if m == nil {
		return ""
	}
	edge, err := m.Planner.EdgeAt(at.In(m.Planner.Frame()))
	if err != nil {
		return ""
	}
	return m.Planner.Snapshot().Field.Place[edge].String()
}

// mapOf names the map that a plan lies on, "" where it lies on none.
func (s *Server) mapOf(ctx context.Context, plan json.RawMessage) string {
	m := s.onMap(ctx, plan)
	if m == nil {
		return ""
	}
	return mapName(m)
}

// onMap is the map that a plan lies on: that of its start; nil where there is none.
func (s *Server) onMap(ctx context.Context, plan json.RawMessage) *atlas.Sheet {
	at, ok := wire.StartOf(plan)
	if !ok {
		return nil
	}
	return s.mayBeAt(ctx, at)
}

// mapName tells a map from others, also from another extract of the same place: edges are
// numbered anew with each.
func mapName(m *atlas.Sheet) string {
	snap := m.Planner.Snapshot()
	return fmt.Sprintf("%s, %s, %s", snap.Name, snap.MapTime.UTC().Format(time.RFC3339), snap.Network)
}

// expected is what the plan of a walk predicted, nearer than the dog's working
// distance, by kind, kind of place and part of the day: what its log is held
// against. Nil where the walk followed no kept plan, or one that lies on no map here.
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
	if err != nil {
		return nil, err
	}
	m := s.onMap(ctx, kept.Body)
	if m == nil {
		return nil, nil
	}
	g, clock := m.Planner.Snapshot().Graph, m.Planner.Clock()
	var steps []exposure.Step
	if kept.Map == mapName(m) {
		steps = knowledge.Planned(legs, g, clock, in.Started)
	} else { // its edges are no places here, but its lines are
		err = s.quickly(ctx, s.looks, func() error {
			steps = knowledge.PlannedAlong(legs, g, m.Planner.Frame(), clock, in.Started)
			return nil
		})
	}
	if err != nil || len(steps) == 0 {
		return nil, err
	}
	return s.forecast(ctx, m, dog.Model(), steps)
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
