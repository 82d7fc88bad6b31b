package api

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
	"wideberth/api/problem"
	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/routing"
)

// mostEdges and mostSources bound one answer to about two megabytes.
const (
	mostEdges   = 6000
	mostSources = 4000
)

func (s *Server) hazards(ctx context.Context, in *struct{ Body wire.AroundBody }) (*answered[wire.Hazards], error) {
	look, err := s.look(&in.Body)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	var out wire.Hazards
	p, learnt, err := s.taught(ctx)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p = p.Under(in.Body.Weather.Weather())
	err = s.searching(ctx, func() error {
		edges, more := p.EdgesIn(look.Box, mostEdges)
		out = wire.NewHazards(p.Hazards(edges, &look.Dog, look.Depart, learnt), more, s.planner.Frame())
		return nil
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[wire.Hazards]{out}, nil
}

// look turns what a client sent into what the planner looks at.
func (s *Server) look(b *wire.AroundBody) (routing.Look, error) {
	box, err := b.Box(s.planner.Frame(), s.planner.Snapshot().Bounds)
	if err != nil {
		return routing.Look{}, err
	}
	look := routing.Look{Box: box}
	dog, at, err := s.lookAt(&b.LookBody)
	if err != nil {
		return look, err
	}
	look.Dog, look.Depart = *dog, at
	return look, nil
}

// lookAt reads for whom and when.
func (s *Server) lookAt(b *wire.LookBody) (*exposure.Dog, time.Time, error) {
	dog, err := b.Dog.DogOrTypical()
	if err != nil {
		return nil, time.Time{}, inDog(err)
	}
	at, err := s.departure(b.Depart)
	return dog, at, err
}

// streets answers POST /v1/streets: the whole reach, however many ways it has.
func (s *Server) streets(ctx context.Context, in *struct{ Body wire.ReachBody }) (*answered[wire.RankedStreets], error) {
	dog, at, err := s.lookAt(&in.Body.LookBody)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p, learnt, err := s.taught(ctx)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	f := s.planner.Frame()
	var out wire.RankedStreets
	err = s.searching(ctx, func() error {
		out = wire.NewRankedStreets(p.Under(in.Body.Weather.Weather()).Ranked(in.Body.From.In(f), dog, at, learnt), f)
		return nil
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[wire.RankedStreets]{out}, nil
}

func (s *Server) sources(ctx context.Context, in *struct{ Body wire.AroundBody }) (*answered[wire.Sources], error) {
	look, err := s.look(&in.Body)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p, learnt, err := s.taught(ctx)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p = p.Under(in.Body.Weather.Weather())
	out := &answered[wire.Sources]{}
	err = s.quickly(ctx, s.looks, func() error {
		ids, more := p.SourcesIn(look.Box, mostSources)
		out.Body = wire.NewSources(p, ids, more, &look, learnt, wire.ReaderOf(ctx))
		return nil
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return out, nil
}

func (s *Server) explain(ctx context.Context, in *struct{ Body wire.ExplainBody }) (*answered[wire.Explanation], error) {
	if int(in.Body.Edge) >= s.planner.Snapshot().Graph.EdgeCount() {
		return nil, problem.New(http.StatusNotFound, wire.ReaderOf(ctx).Say("problem.no_edge"))
	}
	dog, err := in.Body.Dog.DogOrTypical()
	if err != nil {
		return nil, s.problem(ctx, inDog(err))
	}
	at, err := s.departure(in.Body.Depart)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p, learnt, err := s.taught(ctx)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p = p.Under(in.Body.Weather.Weather())
	out := &answered[wire.Explanation]{}
	err = s.quickly(ctx, s.looks, func() error {
		out.Body = wire.NewExplanation(p.Explain(in.Body.Edge, dog, at, learnt), at, p.BasisAt(in.Body.Edge, dog), wire.ReaderOf(ctx))
		return nil
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return out, nil
}

// inDog says that the faults are in the dog.
func inDog(err error) error { return fault.Within("/dog", err) }

func (s *Server) aroundRoutes() {
	op := func(id, path, summary, text string) huma.Operation {
		return huma.Operation{OperationID: id, Method: http.MethodPost, Path: path, Summary: summary, Description: text, Tags: []string{"around"}, MaxBodyBytes: body.MostBytes, Errors: []int{400, 422, 429, 503}}
	}
	huma.Register(s.api, op("hazards", "/v1/hazards", "Hazard in a box", "How hard the ways in a box are for one dog at one hour, as GeoJSON."), s.hazards)
	huma.Register(s.api, op("streets", "/v1/streets", "Streets about a place, compared", "The ways within 1,500 m of a place in four steps, from the calmest here to the hardest here, for one dog at one hour: bounds in minutes to one reaction, and runs to be drawn."), s.streets)
	huma.Register(s.api, op("sources", "/v1/sources", "Fixed sources in a box", "Dog parks, schools, playgrounds and the like, with hours and how likely somebody is there."), s.sources)
	huma.Register(s.api, op("explain", "/v1/explain", "Breakdown of one edge", "Every source and stream that makes the hazard of one edge at one hour: distance, sight, rate, chance, share."), s.explain)
}
