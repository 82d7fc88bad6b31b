package api

import (
	"context"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
	"wideberth/api/knowledge"
	"wideberth/api/memory"
	"wideberth/api/problem"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/routing"
	"wideberth/routing/atlas"
	"wideberth/routing/training"
)

// biteLimit holds the rule of dogs with a bite history: who is no trainer gets
// nothing nearer than 1.5 times the working distance, and a refusal who asks for
// it. held says that the distance was moved.
func (s *Server) biteLimit(ctx context.Context, bite bool, nearest float64) (limit float64, held bool, err error) {
	if !bite || nearest >= wire.NearStep {
		return nearest, false, nil
	}
	if trains(ctx) {
		return nearest, false, nil
	}
	if nearest > 0 {
		return 0, false, problem.New(http.StatusForbidden, wire.ReaderOf(ctx).Say("caution.trainer"))
	}
	return wire.NearStep, true, nil
}

// trains says that whoever asks has at least the trainer's role. Without a store
// nobody has a role.
func trains(ctx context.Context) bool {
	w, err := memory.Who(ctx)
	return err == nil && (w.Role == kept.Trainer || w.Role == kept.Keeper)
}

// watching finds the dog, whether it has a bite history, and what the account has
// learnt.
func (s *Server) watching(ctx context.Context, m *atlas.Sheet, b *wire.WatchBody) (dog *exposure.Dog, bite bool, p *routing.Planner, fa *exposure.Factors, err error) {
	bite = b.Bite
	var wrong gathered
	wrong.exchanged(m, "/from", &b.From)
	dog, err = s.dogOf(ctx, b.DogID, &b.Dog)
	if err := wrong.take(err); err != nil {
		return nil, bite, nil, nil, err
	}
	if len(wrong.list) > 0 {
		if _, err := b.Watching(); wrong.take(err) != nil {
			return nil, bite, nil, nil, err
		}
		return nil, bite, nil, nil, wrong.list
	}
	bite = bite || dog.Cautions.BiteHistory
	if p, fa, err = s.taught(ctx, m); err == nil {
		p = p.Under(b.Weather.Weather())
	}
	return dog, bite, p, fa, err
}

// vantages answers POST /v1/vantages.
func (s *Server) vantages(ctx context.Context, in *struct{ Body wire.VantageBody }) (*answered[wire.VantageList], error) {
	b := &in.Body
	m, err := s.at(ctx, "/from", b.From)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	dog, bite, p, fa, err := s.watching(ctx, m, &b.WatchBody)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	if _, _, err := s.biteLimit(ctx, bite, b.Multiple); err != nil {
		return nil, s.problem(ctx, err)
	}
	f := m.Planner.Frame()
	w := training.VantageWish{From: b.From.In(f), Dog: *dog, Multiple: b.Multiple, StayS: 60 * b.StayMinutes,
		ReachM: b.ReachM, Least: training.Grade(b.LeastGrade), Factors: fa}
	if bite && !trains(ctx) {
		w.Nearest = wire.NearStep // the band about the distance reaches nearer
	}
	if w.Kinds, err = b.Watching(); err != nil {
		return nil, s.problem(ctx, err)
	}
	if w.At, err = s.departure(m, b.At); err != nil {
		return nil, s.problem(ctx, err)
	}
	var found *training.VantageSearch
	if err := s.searching(ctx, func() (err error) {
		found, err = training.Vantages(ctx, p, w)
		return err
	}); err != nil {
		return nil, s.problem(ctx, err)
	}
	out := wire.VantageList{Places: []wire.Vantage{}, Sieve: wire.Sieve(found.Sieve), CutShort: found.CutShort, Attribution: wire.Attribution, Caution: wire.Caution(wire.ReaderOf(ctx))}
	for i := range found.Places {
		out.Places = append(out.Places, wire.NewVantage(&found.Places[i], p.Snapshot(), wire.ReaderOf(ctx)))
	}
	return &answered[wire.VantageList]{out}, nil
}

// visitsWish reads a wish and holds the rule of bite histories.
func (s *Server) visitsWish(ctx context.Context, b *wire.VisitsBody) (w training.Wish, p *routing.Planner, held bool, err error) {
	m, err := s.at(ctx, "/from", b.From)
	if err != nil {
		return w, nil, false, err
	}
	dog, bite, p, fa, err := s.watching(ctx, m, &b.WatchBody)
	if err != nil {
		return w, nil, false, err
	}
	if w, err = b.Wish(p.Frame(), p.Zone(), s.now()); err != nil {
		return w, nil, false, err
	}
	w.Dog, w.Factors, w.Spots = *dog, fa, finder(ctx, m).Spots()
	w.Dog.Cautions.BiteHistory = bite
	if w.Helper != nil {
		if err := s.met(ctx, b.Helper, b.DogID, &w.Helper.Who); err != nil {
			return w, nil, false, err
		}
	}
	if b.DogID != "" {
		if w.Overs, err = s.overs(ctx, b.DogID); err != nil {
			return w, nil, false, err
		}
		if w.Each, err = s.each(ctx); err != nil {
			return w, nil, false, err
		}
	}
	w.Nearest, held, err = s.biteLimit(ctx, bite, w.Nearest)
	return w, p, held, err
}

// overs are when a kept dog went over threshold of late, as was logged: what a bad day
// asks of the days after it is reckoned from there.
func (s *Server) overs(ctx context.Context, dogID string) ([]learning.Over, error) {
	w, err := memory.Who(ctx)
	if err != nil {
		return nil, err
	}
	const bad = 72 * time.Hour // more than that day and the one before, wherever it is
	list, err := s.opt.Store.Encounters(ctx, w, dogID, "", s.now().Add(-bad))
	return knowledge.Overs(list), err
}

// each is how many visits the account's rule wants on a step.
func (s *Server) each(ctx context.Context) (int, error) {
	w, err := memory.Who(ctx)
	if err != nil {
		return 0, err
	}
	a, err := s.opt.Store.Account(ctx, w)
	return a.Settings.TrainingRule.VisitsInARow, err
}

// visits answers POST /v1/visits.
func (s *Server) visits(ctx context.Context, in *struct{ Body wire.VisitsBody }) (*answered[wire.Sequence], error) {
	out, err := s.sequence(ctx, &in.Body)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[wire.Sequence]{out}, nil
}

// trainingOperation is what all operations of training have in common.
func trainingOperation(id, path, summary, text string) huma.Operation {
	return huma.Operation{OperationID: id, Method: http.MethodPost, Path: path, Summary: summary, Description: text, Tags: []string{"training"},
		MaxBodyBytes: body.MostBytes, Errors: []int{400, 403, 404, 413, 422, 503, 504}}
}

func (s *Server) visitRoutes() {
	op := trainingOperation
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
