package api

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/exposure/strain"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/draw"
	"wideberth/routing/reach"
)

// LatLon is a place in degrees, WGS84.
type LatLon struct {
	Lat float64 `json:"lat" minimum:"-90" maximum:"90" example:"39.75"`
	Lon float64 `json:"lon" minimum:"-180" maximum:"180" example:"-75.55"`
}

// WishBody is what a client asks a plan for.
type WishBody struct {
	Shape        string           `json:"shape,omitempty" enum:"calmest,loop,there_and_back,way,longest_calm" doc:"Form of the walk; loop is loops alone. Left out: way if there is a 'to', else the calmest of any form from the door and back."`
	From         LatLon           `json:"from"`
	To           *LatLon          `json:"to,omitempty" doc:"Where a way leads."`
	Minutes      float64          `json:"minutes,omitempty" doc:"Wished duration, 5 to 180; of a way the most it may take." example:"30"`
	MaxReactions float64          `json:"max_expected_reactions,omitempty" doc:"Of the longest calm walk: what it may cost."`
	Depart       string           `json:"depart,omitempty" doc:"RFC 3339 with its zone; left out: now." example:"2026-11-25T07:10:00-05:00"`
	Dog          exposure.DogFile `json:"dog,omitempty,omitzero" doc:"The dog and its distances; left out: the stated defaults."`
	DogID        string           `json:"dog_id,omitempty" maxLength:"80" doc:"A kept dog, in place of dog."`
	Limits       LimitsBody       `json:"limits,omitempty,omitzero"`
	Walks        int              `json:"walks,omitempty" minimum:"0" maximum:"5" doc:"How many clearly different ones; left out: three."`
	Weather      *WeatherBody     `json:"weather,omitempty" doc:"As somebody says it is: nobody is asked for it. Left out: as usual in the season."`
	Strain       string           `json:"strain,omitempty" enum:"none,usual,strict" doc:"What moving traffic, wide crossings and the dark count beside expected reactions: nothing, their usual price, or three times that and road noise too. Left out: usual."`
	SoftGround   bool             `json:"soft_ground,omitempty" doc:"Rather on grass, earth and wood."`
	Stacking     bool             `json:"stacking,omitempty" doc:"Also report expected reactions when arousal builds up."`
}

// WeatherBody is the weather of the walk, as somebody says it.
type WeatherBody struct {
	TemperatureC *float64 `json:"temperature_c,omitempty" minimum:"-60" maximum:"60" doc:"Highest temperature of the day in degrees Celsius." example:"24"`
	Feel         string   `json:"feel,omitempty" enum:"hot,cold" doc:"For the season, where no temperature is given: taken as seven degrees off the usual."`
	Rain         string   `json:"rain,omitempty" enum:"none,light,heavy" doc:"Light from one millimetre in a day, heavy from ten." example:"light"`
}

// weather is what a planner understands; nothing said is the zero value.
func (b *WeatherBody) weather() (w hours.Weather) {
	if b == nil {
		return w
	}
	if b.TemperatureC != nil {
		w.TmaxC, w.HasTmax = *b.TemperatureC, true
	}
	w.Feel = map[string]hours.Feel{"hot": hours.Hot, "cold": hours.Cold}[b.Feel]
	w.Rain = map[string]hours.Rain{"none": hours.NoRain, "light": hours.LightRain, "heavy": hours.HeavyRain}[b.Rain]
	return w
}

// LimitsBody is what a handler will not have.
type LimitsBody struct {
	NoSteps          bool       `json:"no_steps,omitempty"`
	LitOnly          bool       `json:"lit_only,omitempty" doc:"Only ways tagged as lit, while the sun is down."`
	PavedOnly        bool       `json:"paved_only,omitempty"`
	OffRoads         bool       `json:"off_roads,omitempty" doc:"No main road without a pavement."`
	CrossAtCrossings bool       `json:"cross_at_crossings,omitempty" doc:"Cross roads of four lanes and more only at mapped crossings and signals."`
	AnyGround        bool       `json:"any_ground,omitempty" doc:"Private drives, ways through buildings and the aisles of car parks too."`
	NeverNearer      []KeepBody `json:"never_nearer,omitempty" maxItems:"20"`
	AvoidWays        []string   `json:"avoid_ways,omitempty" maxItems:"50" doc:"Street names not to walk."`
	Avoid            []Circle   `json:"avoid,omitempty" maxItems:"20"`
	WithinM          float64    `json:"within_m,omitempty" doc:"Never farther from the start than this."`
	MaxLevelDB       float64    `json:"max_road_noise_db,omitempty" doc:"Continuous road noise, dB(A)."`
	MaxSlope         float64    `json:"max_slope,omitempty" doc:"Rise over run; needs a map imported with heights." example:"0.08"`
	InsideReaction   bool       `json:"inside_reaction_distance,omitempty" doc:"Walk inside the reaction distance of active sources all the same."`
}

// KeepBody is a distance to keep.
type KeepBody struct {
	From string  `json:"from" doc:"A sort of place (school), a kind or a category of trigger." example:"school"`
	M    float64 `json:"m" example:"60"`
}

// Circle is a place to stay away from.
type Circle struct {
	At      LatLon  `json:"at"`
	RadiusM float64 `json:"radius_m"`
}

// wish turns what a client sent into what a planner understands, and gives the
// planner that knows what the asker's account has learnt. Both are of one look into
// the store: factors name reported sources by their place in the planner's list.
func (s *Server) wish(ctx context.Context, b *WishBody) (w routing.Wish, p *routing.Planner, err error) {
	f := s.planner.Frame()
	w = routing.Wish{
		Shape: routing.Shape(b.Shape), From: f.Forward(b.From.Lon, b.From.Lat), MaxX: b.MaxReactions,
		Minutes: b.Minutes, Walks: b.Walks, Stacking: b.Stacking, Strain: strain.Setting(b.Strain), Soft: b.SoftGround, Limits: s.limits(&b.Limits), Weather: b.Weather.weather(),
	}
	if b.To != nil {
		to := f.Forward(b.To.Lon, b.To.Lat)
		w.To = &to
	}
	if w.Shape == "" {
		w.Shape = routing.Calmest
		if b.To != nil {
			w.Shape = routing.Way
		}
	}
	dog, err := s.dogOf(ctx, b.DogID, &b.Dog)
	if err != nil {
		return w, nil, err
	}
	w.Dog = *dog
	if w.Depart, err = s.departure(b.Depart); err != nil {
		return w, nil, err
	}
	if p, w.Factors, err = s.taught(ctx); err != nil {
		return w, nil, err
	}
	return w, p.Under(w.Weather), nil
}

func (s *Server) departure(text string) (time.Time, error) { return s.moment("/depart", text) }

// moment reads a time of a request, now where it is left out.
func (s *Server) moment(pointer, text string) (time.Time, error) {
	if text == "" {
		return s.now().In(s.planner.Zone()), nil
	}
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return t, fault.Problems{{Pointer: pointer, Value: fmt.Sprintf("%q", text), Mend: "give a time with its zone, like 2026-11-25T07:10:00-05:00"}}
	}
	return t.In(s.planner.Zone()), nil
}

func (s *Server) limits(b *LimitsBody) reach.Limits { return b.limits(s.planner.Frame()) }

func (b *LimitsBody) limits(f plane.Frame) reach.Limits {
	l := reach.Limits{
		NoSteps: b.NoSteps, LitOnly: b.LitOnly, PavedOnly: b.PavedOnly, OffRoads: b.OffRoads, CrossAtCrossings: b.CrossAtCrossings,
		AvoidWays: b.AvoidWays, WithinM: b.WithinM, MaxLevelDB: b.MaxLevelDB, MaxSlope: b.MaxSlope, InsideReaction: b.InsideReaction, AnyGround: b.AnyGround,
	}
	for _, k := range b.NeverNearer {
		l.NeverNearer = append(l.NeverNearer, reach.Keep(k))
	}
	for _, c := range b.Avoid {
		l.Avoid = append(l.Avoid, reach.Circle{At: f.Forward(c.At.Lon, c.At.Lat), RadiusM: c.RadiusM})
	}
	return l
}

type planInput struct {
	Body WishBody
}

type planOutput struct {
	Body PlanBody
}

// planned is a wish with its plan and the planner that made it, which knows what
// the asker's account has learnt and reported.
type planned struct {
	planner *routing.Planner
	body    WishBody // as it was sent
	wish    routing.Wish
	plan    *routing.Plan
	room    *exposure.Kind // that room is drawn for; nil: the one that leads the walk's reactions
}

// verb is one of the planner's ways to answer a wish.
type verb func(p *routing.Planner, ctx context.Context, w routing.Wish) (*routing.Plan, error)

// walksFor answers a wish behind the gate.
func (s *Server) walksFor(ctx context.Context, b *WishBody, answer verb) (*planned, error) {
	w, planner, err := s.wish(ctx, b)
	if err != nil {
		return nil, err
	}
	out := &planned{planner: planner, body: *b, wish: w}
	err = s.searching(ctx, func() (err error) {
		begin := s.now()
		out.plan, err = answer(planner, ctx, w)
		s.seen(&w, s.now().Sub(begin), out.plan, err)
		return err
	})
	return out, err
}

// scene measures one walk of a plan for telling and drawing it.
func (p *planned) scene(walk int, units string) (*draw.Scene, error) {
	words := briefing.Words{}
	if units == "us" {
		words.Units = briefing.US
	}
	return draw.NewScene(p.planner.Snapshot(), p.plan, min(walk, len(p.plan.Walks)-1), &p.wish.Dog, words, p.room)
}

// plan answers POST /v1/plans.
func (s *Server) plan(ctx context.Context, in *planInput) (*planOutput, error) {
	p, err := s.walksFor(ctx, &in.Body, (*routing.Planner).Plan)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &planOutput{Body: p.answer()}, nil
}

// proof answers POST /v1/proofs.
func (s *Server) proof(ctx context.Context, in *shownInput) (*planOutput, error) {
	p, err := s.shown(ctx, &in.Body, true)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &planOutput{Body: p.answer()}, nil
}

// searching runs one search behind the gate.
func (s *Server) searching(ctx context.Context, search func() error) error {
	name, _ := ctx.Value(askerKey{}).(string)
	begin := s.now()
	through := s.span(ctx, "gate")
	leave, err := s.gate.enter(ctx, name)
	through(err)
	if err != nil {
		return err
	}
	defer leave()
	s.opt.Metrics.Waited(s.now().Sub(begin))
	done := s.span(ctx, "search")
	err = search()
	done(err)
	return err
}

// quickly runs what takes milliseconds behind a small gate of its own: bounded, and never
// behind a search.
func (s *Server) quickly(ctx context.Context, g *gate, work func() error) error {
	name, _ := ctx.Value(askerKey{}).(string)
	leave, err := g.enter(ctx, name)
	if err != nil {
		return err
	}
	defer leave()
	return work()
}

func (s *Server) planRoutes() {
	huma.Register(s.api, huma.Operation{
		OperationID: "plan", Method: http.MethodPost, Path: "/v1/plans", Summary: "Plan walks", Tags: []string{"walks"},
		Description:  "Low-trigger walks for one dog at one hour: the calmest of any shape, loops alone, there and back, ways from A to B, or the longest calm walk. Accept application/geo+json or application/gpx+xml for these forms.",
		MaxBodyBytes: maxBodyBytes, Errors: []int{400, 413, 422, 503, 504},
	}, s.plan)
	huma.Register(s.api, huma.Operation{
		OperationID: "proof", Method: http.MethodPost, Path: "/v1/proofs", Summary: "Work longer on how good the best loop is", Tags: []string{"walks"},
		Description:  "A plan as it was given, sent back while somebody already reads it: its best loop with a certificate of how much better any loop could be in the model searched. With a wish the loop is searched for first.",
		MaxBodyBytes: maxBodyBytes, Errors: []int{400, 401, 403, 404, 409, 413, 422, 503, 504},
	}, s.proof)
}
