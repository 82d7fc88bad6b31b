package api

import (
	"context"

	"wideberth/api/knowledge"
	"wideberth/api/memory"
	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/routing"
	"wideberth/routing/atlas"
)

// taught is the planner of a map with what the asker's account has learnt about the place.
// Without a store it is the plain one.
func (s *Server) taught(ctx context.Context, m *atlas.Sheet) (*routing.Planner, *exposure.Factors, error) {
	if s.known == nil {
		return m.Planner, nil, nil
	}
	w, err := memory.Who(ctx)
	if err != nil {
		return nil, nil, err
	}
	return s.known.Of(ctx, w, m.Planner)
}

// forecast is what the steps of a walk are predicted to bring a dog, by cell: what its
// log is held against.
func (s *Server) forecast(ctx context.Context, m *atlas.Sheet, dog *exposure.Dog, steps []exposure.Step) ([]kept.Expected, error) {
	p, fa, err := s.taught(ctx, m)
	if err != nil {
		return nil, err
	}
	return knowledge.Expected(learning.Forecast(p.Snapshot().Field, dog, steps, fa)), nil
}

// dogOf is the dog of a request: a kept one by its id, or the one that was sent.
func (s *Server) dogOf(ctx context.Context, id string, sent *dogfile.File) (*exposure.Dog, error) {
	if id == "" {
		dog, err := sent.DogOrTypical()
		return dog, inDog(err)
	}
	w, err := memory.Who(ctx)
	if err != nil {
		return nil, err
	}
	kept, err := s.opt.Store.Dog(ctx, w, id)
	if err != nil {
		return nil, err
	}
	return kept.Model(), nil
}
