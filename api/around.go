package api

import (
	"context"
	"net/http"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
	"wideberth/api/problem"
	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/atlas"
)

// mostEdges and mostSources bound one answer to about two megabytes.
const (
	mostEdges   = 6000
	mostSources = 4000
)

func (s *Server) hazards(ctx context.Context, in *struct{ Body wire.AroundBody }) (*answered[wire.Hazards], error) {
	out := &answered[wire.Hazards]{wire.NewHazards(nil, false, plane.Frame{})}
	more, err := s.across(ctx, &in.Body, func(a *around) error {
		return s.searching(ctx, func() error {
			edges, more := a.planner.EdgesIn(a.Box, mostEdges-len(out.Body.Features))
			g := a.planner.Snapshot().Graph
			edges = slices.DeleteFunc(edges, func(e int32) bool { return !a.mine(g.EdgeLine(e)[0]) })
			here := wire.NewHazards(a.planner.Hazards(edges, &a.Dog, a.Depart, a.learnt), more, a.planner.Frame())
			out.Body.Features, out.Body.Truncated = append(out.Body.Features, here.Features...), out.Body.Truncated || more
			return nil
		})
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	out.Body.Truncated = out.Body.Truncated || more
	return out, nil
}

// around is what is asked about a box, on one of the maps that show it.
type around struct {
	routing.Look
	planner *routing.Planner
	learnt  *exposure.Factors
	mine    func(plane.Point) bool // what begins there is told by this map
}

// mostAcross is how many maps are asked about one box.
const mostAcross = 16

// across visits the maps that a box lies on, those about its middle first. more says that
// there are others, or that one could not be opened.
func (s *Server) across(ctx context.Context, b *wire.AroundBody, visit func(*around) error) (more bool, err error) {
	v := view(ctx)
	tiles := v.Meeting(b.BBox)
	if len(tiles) == 0 {
		tiles = v.Tiles()[:1] // which says what is wrong with the box, if anything is
	}
	if len(tiles) > mostAcross {
		tiles, more = tiles[:mostAcross], true
	}
	err = v.Each(ctx, tiles, func(m *atlas.Sheet) error {
		look, err := s.look(m, b)
		if err != nil {
			return err
		}
		p, learnt, err := s.taught(ctx, m)
		if err != nil {
			return err
		}
		return visit(&around{look, p.Under(b.Weather.Weather()), learnt, v.Mine(ctx, m)})
	}, func(err error) {
		s.missing(err)
		more = true
	})
	return more, err
}

// look turns what a client sent into what the planner of a map looks at.
func (s *Server) look(m *atlas.Sheet, b *wire.AroundBody) (routing.Look, error) {
	box, err := b.Box(m.Planner.Frame(), m.Planner.Snapshot().Bounds)
	if err != nil {
		return routing.Look{}, err
	}
	look := routing.Look{Box: box}
	dog, at, err := s.lookAt(m, &b.LookBody)
	if err != nil {
		return look, err
	}
	look.Dog, look.Depart = *dog, at
	return look, nil
}

// lookAt reads for whom and when.
func (s *Server) lookAt(m *atlas.Sheet, b *wire.LookBody) (*exposure.Dog, time.Time, error) {
	dog, err := b.Dog.DogOrTypical()
	if err != nil {
		return nil, time.Time{}, inDog(err)
	}
	at, err := s.departure(m, b.Depart)
	return dog, at, err
}

// streets answers POST /v1/streets: the whole reach, however many ways it has.
func (s *Server) streets(ctx context.Context, in *struct{ Body wire.ReachBody }) (*answered[wire.RankedStreets], error) {
	m, err := s.at(ctx, "/from", in.Body.From)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	dog, at, err := s.lookAt(m, &in.Body.LookBody)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p, learnt, err := s.taught(ctx, m)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	f := p.Frame()
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
	out := &answered[wire.Sources]{wire.NewSources(nil, nil, false, nil, nil, wire.ReaderOf(ctx))}
	more, err := s.across(ctx, &in.Body, func(a *around) error {
		return s.quickly(ctx, s.looks, func() error {
			ids, more := a.planner.SourcesIn(a.Box, mostSources-len(out.Body.Sources))
			field := a.planner.Snapshot().Field
			ids = slices.DeleteFunc(ids, func(id int32) bool { return !a.mine(field.Source(id).At) })
			here := wire.NewSources(a.planner, ids, more, &a.Look, a.learnt, wire.ReaderOf(ctx))
			out.Body.Sources, out.Body.Truncated = append(out.Body.Sources, here.Sources...), out.Body.Truncated || more
			return nil
		})
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	out.Body.Truncated = out.Body.Truncated || more
	return out, nil
}

func (s *Server) explain(ctx context.Context, in *struct{ Body wire.ExplainBody }) (*answered[wire.Explanation], error) {
	m, err := s.atOrFirst(ctx, "/at", in.Body.At)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	edge, err := edgeOf(ctx, m, &in.Body)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	dog, err := in.Body.Dog.DogOrTypical()
	if err != nil {
		return nil, s.problem(ctx, inDog(err))
	}
	at, err := s.departure(m, in.Body.Depart)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p, learnt, err := s.taught(ctx, m)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p = p.Under(in.Body.Weather.Weather())
	out := &answered[wire.Explanation]{}
	err = s.quickly(ctx, s.looks, func() error {
		out.Body = wire.NewExplanation(p.Explain(edge, dog, at, learnt), at, p.BasisAt(edge, dog), wire.ReaderOf(ctx))
		return nil
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return out, nil
}

// namedWithinM is how far from a place that was sent the edge named with it may lie: it is
// of another map otherwise.
const namedWithinM = 50

// edgeOf is the edge that a breakdown is asked of: the one named where it lies at the
// place, else the one nearest to that.
func edgeOf(ctx context.Context, m *atlas.Sheet, b *wire.ExplainBody) (int32, error) {
	g := m.Planner.Snapshot().Graph
	named := b.Edge != nil && int(*b.Edge) < g.EdgeCount()
	switch {
	case b.At != nil:
		at := b.At.In(m.Planner.Frame())
		if named {
			if _, _, d := g.EdgeLine(*b.Edge).Nearest(at); d <= namedWithinM {
				return *b.Edge, nil
			}
		}
		return m.Planner.EdgeAt(at)
	case b.Edge == nil:
		return 0, fault.One("/at", "", "say which way is meant: give a place on it")
	case !named:
		return 0, problem.New(http.StatusNotFound, wire.ReaderOf(ctx).Say("problem.no_edge"))
	}
	return *b.Edge, nil
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
