package api

import (
	"cmp"
	"context"
	"encoding/json"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
	"wideberth/api/memory"
	"wideberth/api/problem"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
)

// answer is the plan in the form that leaves the house.
func (p *planned) answer() wire.PlanBody {
	out := wire.PlanBody{Plan: wire.NewPlan(p.plan, p.planner.Frame(), p.words)}
	if p.body.From != (wire.LatLon{}) {
		out.Given = wire.NewGiven(p.plan, p.planner.Land(), p.body)
	}
	return out
}

// shown finds or searches for the walks that an answer is about.
func (s *Server) shown(ctx context.Context, b *wire.Shown, prove bool) (*planned, error) {
	n := 0
	for _, there := range []bool{b.Wish != nil, b.Given != nil, b.Plan != ""} {
		if there {
			n++
		}
	}
	switch {
	case n != 1:
		return nil, fault.One("", "", "give one of wish, given and plan")
	case b.Given != nil:
		return s.told(ctx, b.Given, b.Leave, prove)
	case b.Plan != "":
		return s.keptPlan(ctx, b.Plan, prove)
	case prove:
		return s.walksFor(ctx, b.Wish, (*routing.Planner).Prove)
	}
	return s.walksFor(ctx, b.Wish, (*routing.Planner).Plan)
}

// told tells the walks of a plan as it was given; at another hour where one is named. On
// a map that was changed since they are matched by their lines.
func (s *Server) told(ctx context.Context, g *wire.Given, leave string, prove bool) (*planned, error) {
	if g.ID != g.Address() {
		return nil, fault.One("/given/id", g.ID, "does not belong to this plan: send it as it was given, or plan anew")
	}
	m, err := s.at(ctx, "/given/wish/from", g.Wish.From)
	if err != nil {
		return nil, err
	}
	land := m.Planner.Land()
	if g.Map != land.Snap.Network {
		lines, ok := g.Lines(land.Snap.Frame)
		if !ok {
			return nil, otherMap(land.Snap.MapTime, wire.ReaderOf(ctx))
		}
		wish := g.Wish
		wish.Depart = cmp.Or(leave, wish.Depart)
		return s.matched(ctx, &wish, lines)
	}
	list, err := g.Decode(land)
	if err != nil {
		return nil, fault.Within("/given", err)
	}
	wish := g.Wish
	wish.Depart = cmp.Or(leave, wish.Depart)
	return s.walksFor(ctx, &wish, func(p *routing.Planner, ctx context.Context, w routing.Wish) (*routing.Plan, error) {
		if prove {
			return p.ProveGiven(ctx, w, list)
		}
		return p.Tell(ctx, w, list)
	})
}

// otherMap refuses the address of a plan that belongs to another map.
func otherMap(now time.Time, words briefing.Words) error {
	date := "none"
	if !now.IsZero() {
		date = words.Date(now.UTC())
	}
	p := problem.New(http.StatusConflict, words.Say("problem.other_map", "date", date))
	p.Type, p.Title = "urn:wideberth:other-map", words.Say("problem.title.other_map")
	return p
}

// keptPlan tells the walks of a kept plan. One that was made on another map is
// matched with the map loaded here by the lines of its walks.
func (s *Server) keptPlan(ctx context.Context, id string, prove bool) (*planned, error) {
	w, err := memory.Who(ctx)
	if err != nil {
		return nil, err
	}
	if s.opt.Store == nil {
		return nil, store.ErrNotFound
	}
	kept, err := s.opt.Store.Plan(ctx, w, id)
	if err != nil {
		return nil, err
	}
	var body wire.PlanBody
	if err := json.Unmarshal(kept.Body, &body); err != nil || body.Given == nil {
		return nil, problem.New(http.StatusConflict, wire.ReaderOf(ctx).Say("problem.no_address"))
	}
	m, err := s.at(ctx, "/given/wish/from", body.Given.Wish.From)
	if err != nil {
		return nil, err
	}
	if body.Given.Map == m.Planner.Land().Snap.Network {
		return s.told(ctx, body.Given, "", prove)
	}
	f := m.Planner.Frame()
	lines := make([]plane.Polyline, len(body.Walks))
	for i := range body.Walks {
		for j := range body.Walks[i].Legs {
			lines[i] = append(lines[i], body.Walks[i].Legs[j].Geometry.In(f)...)
		}
		if len(lines[i]) < 2 {
			return nil, otherMap(m.MapTime, wire.ReaderOf(ctx))
		}
	}
	return s.matched(ctx, &body.Given.Wish, lines)
}

// matched tells walks of another map, or of this one before it was changed, by their lines.
func (s *Server) matched(ctx context.Context, wish *wire.WishBody, lines []plane.Polyline) (*planned, error) {
	return s.walksFor(ctx, wish, func(p *routing.Planner, ctx context.Context, w routing.Wish) (*routing.Plan, error) {
		list, err := p.Match(ctx, w, lines)
		if err != nil {
			return nil, err
		}
		return p.Tell(ctx, w, list)
	})
}

type shownInput struct {
	Body wire.Shown
}

// tellPlan answers POST /v1/plans/told.
func (s *Server) tellPlan(ctx context.Context, in *shownInput) (*planOutput, error) {
	p, err := s.shown(ctx, &in.Body, false)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &planOutput{Body: p.answer()}, nil
}

// keptPlanByID answers GET /v1/plans/{id}.
func (s *Server) keptPlanByID(ctx context.Context, in *memory.ByID) (*planOutput, error) {
	p, err := s.keptPlan(ctx, in.ID, false)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &planOutput{Body: p.answer()}, nil
}

func (s *Server) givenRoutes() {
	huma.Register(s.api, huma.Operation{
		OperationID: "tell-plan", Method: http.MethodPost, Path: "/v1/plans/told", Summary: "Tell a plan again", Tags: []string{"walks"},
		Description:  "A plan by its address: the walks as they were given, told anew without a search. Accept application/geo+json or application/gpx+xml for these forms.",
		MaxBodyBytes: body.MostBytes, Errors: []int{400, 401, 403, 404, 409, 413, 422, 503, 504},
	}, s.tellPlan)
	if s.opt.Store == nil {
		return
	}
	huma.Register(s.api, huma.Operation{
		OperationID: "kept-plan", Method: http.MethodGet, Path: "/v1/plans/{id}", Summary: "A kept plan, told", Tags: []string{"walks"},
		Description: "The walks of a kept plan for who may see its dog. One that was made on another map is matched with the map loaded here, or refused in words.",
		Errors:      []int{401, 403, 404, 409, 422, 503, 504},
	}, s.keptPlanByID)
}
