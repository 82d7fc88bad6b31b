package api

import (
	"context"
	"fmt"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/training"
)

// WatchBody is what a search for vantage places and a sequence have in common.
type WatchBody struct {
	From       wire.LatLon      `json:"from" doc:"Where walks begin: the door, or where the car is left."`
	Dog        exposure.DogFile `json:"dog,omitempty"`
	DogID      string           `json:"dog_id,omitempty" maxLength:"80" doc:"A kept dog, in place of dog; its cautions hold."`
	Kind       string           `json:"kind" doc:"What is to be watched: a kind or a category." example:"dogs"`
	ReachM     float64          `json:"reach_m,omitempty" doc:"How far to walk there; left out: 2,500."`
	LeastGrade string           `json:"least_grade,omitempty" enum:"A,B,C,D" doc:"Of the ways out; left out: C from 1.5 times the working distance, B below."`
	Bite       bool             `json:"bite_history,omitempty" doc:"A trainer must set steps nearer than 1.5 times the working distance."`
}

// VantageBody asks for vantage places at one distance and hour.
type VantageBody struct {
	WatchBody
	Multiple    float64 `json:"multiple" doc:"Distance wished, in multiples of the working distance, 0.5 to 3." example:"1.5"`
	At          string  `json:"at,omitempty" doc:"RFC 3339; left out: now." example:"2026-11-25T17:20:00-05:00"`
	StayMinutes float64 `json:"stay_minutes,omitempty" doc:"Left out: eight."`
}

// VisitsBody asks for a sequence of training visits.
type VisitsBody struct {
	WatchBody
	Farthest     float64         `json:"farthest,omitempty" doc:"First distance in multiples of the working distance; left out: 2."`
	Nearest      float64         `json:"nearest,omitempty" doc:"Last distance; left out: 1. Nothing nearer is offered."`
	Times        []string        `json:"times,omitempty" maxItems:"24" doc:"When one could stand there, RFC 3339; left out: four times a day on the next five days."`
	MaxReactions float64         `json:"max_expected_reactions,omitempty" doc:"That one visit may cost, ways and all; left out: 1."`
	Pins         []wire.LatLon   `json:"pins,omitempty" maxItems:"8" doc:"Places that must be in it."`
	Bans         []wire.LatLon   `json:"bans,omitempty" maxItems:"100" doc:"Places that must not."`
	Keep         []wire.LatLon   `json:"keep,omitempty" maxItems:"99" doc:"Places that are taken rather than others where they fit."`
	Limits       wire.LimitsBody `json:"limits,omitempty"`
}

// RevisitBody asks for one visit at another hour: of a kept sequence by its number,
// or by place.
type RevisitBody struct {
	Sequence    string       `json:"sequence,omitempty" maxLength:"80" doc:"A kept sequence, with visit, in place of wish, at and watched."`
	Visit       int          `json:"visit,omitempty" minimum:"0" maximum:"99" doc:"Number of its visit, from 1."`
	Wish        *VisitsBody  `json:"wish,omitempty"`
	At          *wire.LatLon `json:"at,omitempty" doc:"Where one stands."`
	Watched     string       `json:"watched,omitempty" doc:"The osm of what is watched; left out for ways." example:"way/123"`
	Arrive      string       `json:"arrive" example:"2026-11-26T17:20:00-05:00"`
	StayMinutes float64      `json:"stay_minutes,omitempty" doc:"Of a kept visit left out: as it was." example:"8"`
}

// Watching turns what was sent into dog and kinds. Faults are fault.Problems.
func (b *WatchBody) kinds() ([]exposure.Kind, error) {
	if k, err := exposure.ParseKind(b.Kind); err == nil {
		return []exposure.Kind{k}, nil
	}
	c, err := exposure.ParseCategory(b.Kind)
	if err != nil {
		return nil, fault.Problems{{Pointer: "/kind", Value: fmt.Sprintf("%q", b.Kind), Mend: "name a kind or a category of trigger: " + err.Error()}}
	}
	return c.Kinds(), nil
}

// Wish turns what was sent into what a planner understands, but for the dog.
func (b *VisitsBody) Wish(f plane.Frame, zone *time.Location, now time.Time) (w training.Wish, err error) {
	w = training.Wish{From: b.From.In(f), Farthest: b.Farthest, Nearest: b.Nearest, ReachM: b.ReachM,
		MaxX: b.MaxReactions, Least: training.Grade(b.LeastGrade), Limits: b.Limits.Limits(f)}
	if w.Kinds, err = b.kinds(); err != nil {
		return w, err
	}
	for _, p := range b.Pins {
		w.Pins = append(w.Pins, p.In(f))
	}
	for _, p := range b.Bans {
		w.Bans = append(w.Bans, p.In(f))
	}
	for _, p := range b.Keep {
		w.Keep = append(w.Keep, p.In(f))
	}
	for i, text := range b.Times {
		t, err := time.Parse(time.RFC3339, text)
		if err != nil {
			return w, fault.Problems{{Pointer: fmt.Sprintf("/times/%d", i), Value: fmt.Sprintf("%q", text), Mend: "give a time with its zone, like 2026-11-25T17:20:00-05:00"}}
		}
		w.Times = append(w.Times, t.In(zone))
	}
	if len(w.Times) == 0 {
		w.Times = usualTimes(now.In(zone))
	}
	return w, nil
}

// usualTimes are four times a day on the five days from tomorrow.
func usualTimes(now time.Time) (out []time.Time) {
	for day := 1; day <= 5; day++ {
		for _, minute := range [...]int{7*60 + 30, 11 * 60, 15*60 + 30, 18*60 + 30} {
			out = append(out, time.Date(now.Year(), now.Month(), now.Day()+day, 0, minute, 0, 0, now.Location()))
		}
	}
	return out
}

// nearStep is the multiple of the working distance below which a dog with a bite
// history is only put by a trainer.
const nearStep = 1.5

// biteLimit holds the rule of dogs with a bite history: who is no trainer gets
// nothing nearer than 1.5 times the working distance, and a refusal who asks for
// it. held says that the distance was moved.
func (s *Server) biteLimit(ctx context.Context, bite bool, nearest float64) (limit float64, held bool, err error) {
	if !bite || nearest >= nearStep {
		return nearest, false, nil
	}
	if trains(ctx) {
		return nearest, false, nil
	}
	if nearest > 0 {
		return 0, false, newProblem(http.StatusForbidden, english.Say("caution.trainer"))
	}
	return nearStep, true, nil
}

// trains says that whoever asks has at least the trainer's role. Without a store
// nobody has a role.
func trains(ctx context.Context) bool {
	w, err := who(ctx)
	return err == nil && (w.Role == store.Trainer || w.Role == store.Keeper)
}

// watching finds the dog, whether it has a bite history, and what the account has
// learnt.
func (s *Server) watching(ctx context.Context, b *WatchBody) (dog *exposure.Dog, bite bool, p *routing.Planner, fa *exposure.Factors, err error) {
	bite = b.Bite
	if dog, err = s.dogOf(ctx, b.DogID, &b.Dog); err != nil {
		return nil, bite, nil, nil, err
	}
	if b.DogID != "" {
		w, err := who(ctx)
		if err != nil {
			return nil, bite, nil, nil, err
		}
		kept, err := s.opt.Store.Dog(ctx, w, b.DogID)
		if err != nil {
			return nil, bite, nil, nil, err
		}
		bite = bite || kept.Profile.Cautions.BiteHistory
	}
	p, fa, err = s.taught(ctx)
	return dog, bite, p, fa, err
}

// VantageList is what a search for vantage places found.
type VantageList struct {
	Places      []wire.Vantage `json:"places" doc:"Best grade first, then calmest."`
	Sieve       Sieve          `json:"sieve" doc:"What was left over at each sieve: the numbers to say why there is none."`
	CutShort    bool           `json:"cut_short,omitempty" doc:"The ground asked for is too large for one search: what lies farther from the start was not looked at."`
	Attribution string         `json:"attribution"`
	Caution     string         `json:"caution"`
}

// Sieve counts what was left over.
type Sieve struct {
	Sources   int     `json:"sources" doc:"With the kinds, in reach."`
	Active    int     `json:"active" doc:"Of them where somebody is likely there then."`
	InBand    int     `json:"in_band" doc:"Places at the distance."`
	Standable int     `json:"standable" doc:"Where one may stand."`
	InSight   int     `json:"in_sight"`
	WithWays  int     `json:"with_ways_out"`
	Apart     int     `json:"apart" doc:"Where enough shows and nothing else is too near."`
	NearestM  float64 `json:"nearest_m,omitempty"`
	NearestAt string  `json:"nearest,omitempty"`
}

// vantages answers POST /v1/vantages.
func (s *Server) vantages(ctx context.Context, in *struct{ Body VantageBody }) (*answered[VantageList], error) {
	b := &in.Body
	dog, bite, p, fa, err := s.watching(ctx, &b.WatchBody)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	if _, _, err := s.biteLimit(ctx, bite, b.Multiple); err != nil {
		return nil, s.problem(ctx, err)
	}
	f := s.planner.Frame()
	w := training.VantageWish{From: b.From.In(f), Dog: *dog, Multiple: b.Multiple, StayS: 60 * b.StayMinutes,
		ReachM: b.ReachM, Least: training.Grade(b.LeastGrade), Factors: fa}
	if bite && !trains(ctx) {
		w.Nearest = nearStep // the band about the distance reaches nearer
	}
	if w.Kinds, err = b.kinds(); err != nil {
		return nil, s.problem(ctx, err)
	}
	if w.At, err = s.departure(b.At); err != nil {
		return nil, s.problem(ctx, err)
	}
	var found *training.VantageSearch
	if err := s.searching(ctx, func() (err error) {
		found, err = training.Vantages(ctx, p, w)
		return err
	}); err != nil {
		return nil, s.problem(ctx, err)
	}
	out := VantageList{Places: []wire.Vantage{}, Sieve: Sieve(found.Sieve), CutShort: found.CutShort, Attribution: wire.Attribution, Caution: wire.Caution()}
	for i := range found.Places {
		out.Places = append(out.Places, wire.NewVantage(&found.Places[i], p.Snapshot()))
	}
	return &answered[VantageList]{out}, nil
}

// visitsWish reads a wish and holds the rule of bite histories.
func (s *Server) visitsWish(ctx context.Context, b *VisitsBody) (w training.Wish, p *routing.Planner, held bool, err error) {
	dog, bite, p, fa, err := s.watching(ctx, &b.WatchBody)
	if err != nil {
		return w, nil, false, err
	}
	if w, err = b.Wish(s.planner.Frame(), s.planner.Zone(), s.now()); err != nil {
		return w, nil, false, err
	}
	w.Dog, w.Factors = *dog, fa
	w.Nearest, held, err = s.biteLimit(ctx, bite, w.Nearest)
	return w, p, held, err
}

// visits answers POST /v1/visits.
func (s *Server) visits(ctx context.Context, in *struct{ Body VisitsBody }) (*answered[wire.Sequence], error) {
	out, err := s.sequence(ctx, &in.Body)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[wire.Sequence]{out}, nil
}

func (s *Server) visitRoutes() {
	op := func(id, path, summary, text string) huma.Operation {
		return huma.Operation{OperationID: id, Method: http.MethodPost, Path: path, Summary: summary, Description: text, Tags: []string{"training"},
			MaxBodyBytes: maxBodyBytes, Errors: []int{400, 403, 404, 413, 422, 503, 504}}
	}
	huma.Register(s.api, op("vantages", "/v1/vantages", "Places to watch triggers from",
		"Places with a line of sight to a lasting source of one kind at the wished distance, where one may stand, with ways out in grades and little of everything else."), s.vantages)
	huma.Register(s.api, op("plan-visits", "/v1/visits", "Plan training visits that come nearer by small steps",
		"A chain of visits from far to near, each with place, hour, stay, what it shows, the way there of at least five minutes and the way home; no step nearer by more than a quarter. What cannot be had is said with numbers. Keep it as a document of the kind visits."), s.visits)
	huma.Register(s.api, op("replan-visit", "/v1/visits/replan", "Plan one visit for another hour", "Same place, same thing watched, all numbers anew: a visit of a kept sequence by its number, or any by its place."), s.replanVisit)
	paper := op("print-visit", "/v1/visits/handouts", "A visit on one page", "Way in, where to stand and what for, way home, as HTML to be printed.")
	paper.Responses = map[string]*huma.Response{"200": {Description: "The page", Content: map[string]*huma.MediaType{"text/html": {}}}}
	huma.Register(s.api, paper, s.printVisit)
	huma.Register(s.api, op("visit-progress", "/v1/visits/progress", "Move on, stay or go back?", "What the rule says to the counts of past visits, with its evidence. A proposal: a person decides."), s.progress)
}
