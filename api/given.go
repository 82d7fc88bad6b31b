package api

import (
	"context"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
)

// Given is a plan without what it brings: its address. Sent back in place of the
// wish it is told, drawn, printed or proved as it stands, without another search.
type Given struct {
	ID    string      `json:"id" doc:"Made of the rest: the same plan has the same." example:"pQ3xR9vTz0aW"`
	Map   string      `json:"map" doc:"Fingerprint of the network that the courses belong to."`
	Wish  WishBody    `json:"wish" doc:"As it was understood, with its departure fixed."`
	Walks []GivenWalk `json:"walks" minItems:"1" maxItems:"8" doc:"Best first."`
}

// GivenWalk is the ground of one walk and what the search said of it.
type GivenWalk struct {
	Shape     string  `json:"shape" enum:"loop,there_and_back,way,longest_calm"`
	Laps      int     `json:"laps,omitempty" minimum:"0" maximum:"100"`
	Course    string  `json:"course" maxLength:"60000" doc:"Directed edges of the network, as the server wrote them."`
	Proved    bool    `json:"proved,omitempty"`
	WithinPct float64 `json:"within_percent,omitempty"`
	LowerX    float64 `json:"lower,omitempty" doc:"Bound that the search proved on what it minimises."`
	Sum       float64 `json:"sum,omitempty" doc:"What it minimised."`
	CeilingS  float64 `json:"ceiling_s,omitempty"`
	Checking  bool    `json:"checking,omitempty" doc:"A longer proof can be asked for."`
}

// Shown says which walks an answer is about: those of a wish, which are searched
// for; those of a plan as it was given; or those of a kept plan. One of the three.
type Shown struct {
	Wish  *WishBody `json:"wish,omitempty"`
	Given *Given    `json:"given,omitempty"`
	Plan  string    `json:"plan,omitempty" maxLength:"80" doc:"Id of a kept plan."`
}

// id is the address of a plan in a few letters: of everything in it but itself.
func (g *Given) id() string {
	bare := *g
	bare.ID = ""
	text, err := json.Marshal(bare)
	if err != nil {
		return "" // numbers that JSON cannot write belong to no plan
	}
	sum := sha256.Sum256(text)
	return base64.RawURLEncoding.EncodeToString(sum[:12])
}

// given is the address of a plan that answers a wish.
func (p *planned) given() *Given {
	land := p.planner.Land()
	g := &Given{Map: land.Snap.Network, Wish: p.body}
	g.Wish.Depart, g.Wish.Shape = p.plan.Depart.Format(time.RFC3339Nano), string(p.wish.Shape)
	if g.Wish.DogID == "" && g.Wish.Dog.Needs == nil {
		g.Wish.Dog.Needs = map[string]*exposure.NeedFile{} // said so: the stated defaults
	}
	for i := range p.plan.Walks {
		w := p.plan.Walks[i].Given()
		g.Walks = append(g.Walks, GivenWalk{Shape: string(w.Shape), Laps: w.Laps, Course: land.MarshalCourse(w.Course), Proved: w.Quality.Proved,
			WithinPct: w.Quality.WithinPct, LowerX: w.Quality.LowerX, Sum: w.Quality.Sum, Checking: w.Quality.Checking, CeilingS: w.CeilingS})
	}
	g.ID = g.id()
	return g
}

// body is the plan in the form that leaves the house.
func (p *planned) answer() PlanBody {
	out := PlanBody{Plan: wire.NewPlan(p.plan, p.planner.Frame())}
	if p.body.From != (LatLon{}) {
		out.Given = p.given()
	}
	return out
}

// PlanBody is a plan with its address.
type PlanBody struct {
	wire.Plan
	Given *Given `json:"given,omitempty" doc:"The plan's address: send it back to have these walks drawn, printed, proved or told again."`
}

// shown finds or searches for the walks that an answer is about.
func (s *Server) shown(ctx context.Context, b *Shown, prove bool) (*planned, error) {
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
		return s.told(ctx, b.Given, prove)
	case b.Plan != "":
		return s.keptPlan(ctx, b.Plan, prove)
	case prove:
		return s.walksFor(ctx, b.Wish, (*routing.Planner).Prove)
	}
	return s.walksFor(ctx, b.Wish, (*routing.Planner).Plan)
}

// told tells the walks of a plan as it was given.
func (s *Server) told(ctx context.Context, g *Given, prove bool) (*planned, error) {
	if g.ID != g.id() {
		return nil, fault.One("/given/id", g.ID, "does not belong to this plan: send it as it was given, or plan anew")
	}
	land := s.planner.Land()
	if g.Map != land.Snap.Network {
		return nil, otherMap(land.Snap.MapTime)
	}
	list := make([]routing.Given, len(g.Walks))
	for i, w := range g.Walks {
		c, err := land.UnmarshalCourse(w.Course)
		if err != nil {
			return nil, fault.One("/given/walks/"+fault.Number(float64(i))+"/course", "", err.Error()+": plan anew")
		}
		list[i] = routing.Given{Shape: routing.Shape(w.Shape), Laps: w.Laps, Course: c, CeilingS: w.CeilingS,
			Quality: routing.Quality{Proved: w.Proved, WithinPct: w.WithinPct, LowerX: w.LowerX, Sum: w.Sum, Checking: w.Checking}}
	}
	return s.walksFor(ctx, &g.Wish, func(p *routing.Planner, ctx context.Context, w routing.Wish) (*routing.Plan, error) {
		if prove {
			return p.ProveGiven(ctx, w, list)
		}
		return p.Tell(ctx, w, list)
	})
}

// otherMap refuses the address of a plan that belongs to another map.
func otherMap(now time.Time) error {
	date := "none"
	if !now.IsZero() {
		date = english.Date(now.UTC())
	}
	p := newProblem(http.StatusConflict, english.Say("problem.other_map", "date", date))
	p.Type, p.Title = "urn:wideberth:other-map", english.Say("problem.title.other_map")
	return p
}

// keptPlan tells the walks of a kept plan. One that was made on another map is
// matched with the map loaded here by the lines of its walks.
func (s *Server) keptPlan(ctx context.Context, id string, prove bool) (*planned, error) {
	w, err := who(ctx)
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
	var body PlanBody
	if err := json.Unmarshal(kept.Body, &body); err != nil || body.Given == nil {
		return nil, newProblem(http.StatusConflict, english.Say("problem.no_address"))
	}
	if body.Given.Map == s.planner.Land().Snap.Network {
		return s.told(ctx, body.Given, prove)
	}
	f := s.planner.Frame()
	lines := make([]plane.Polyline, len(body.Walks))
	for i := range body.Walks {
		for _, leg := range body.Walks[i].Legs {
			for _, at := range leg.Geometry.Coordinates {
				lines[i] = append(lines[i], f.Forward(at[0], at[1]))
			}
		}
		if len(lines[i]) < 2 {
			return nil, otherMap(s.planner.Land().Snap.MapTime)
		}
	}
	return s.walksFor(ctx, &body.Given.Wish, func(p *routing.Planner, ctx context.Context, w routing.Wish) (*routing.Plan, error) {
		list, err := p.Match(ctx, w, lines)
		if err != nil {
			return nil, err
		}
		return p.Tell(ctx, w, list)
	})
}

type shownInput struct {
	Body Shown
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
func (s *Server) keptPlanByID(ctx context.Context, in *ByID) (*planOutput, error) {
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
		MaxBodyBytes: maxBodyBytes, Errors: []int{400, 401, 403, 404, 409, 413, 422, 503, 504},
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
