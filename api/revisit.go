package api

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"wideberth/api/page"
	"wideberth/api/problem"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/osmdata/fault"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/draw"
	"wideberth/routing/reach"
	"wideberth/routing/training"
)

// revisited is a visit that was planned anew.
type revisited struct {
	*training.Visit
	planner *routing.Planner
	dog     *exposure.Dog
	kinds   []exposure.Kind // that are watched
	bite    bool
	factors *exposure.Factors
	words   briefing.Words // how it is told
}

// scene measures the whole visit as one walk, for the kind watched that needs most room.
func (v *revisited) scene(units string) (*draw.Scene, error) {
	kind := slices.MaxFunc(v.kinds, func(a, b exposure.Kind) int { return cmp.Compare(v.dog.Need(a).WorkingM, v.dog.Need(b).WorkingM) })
	snap, whole := v.planner.Snapshot(), v.Whole()
	plan := &planned{planner: v.planner, wish: routing.Wish{Dog: *v.dog}, plan: &routing.Plan{Walks: []routing.Walk{whole}, Depart: v.Leave,
		Zone: v.planner.Zone().String(), MapTime: snap.MapTime, Ground: v.planner.Ranked(whole.Line[0], v.dog, v.Leave, v.factors)}, room: &kind}
	return plan.scene(0, units)
}

// telling says whether a kept visit is told as it was answered, or looked for anew at its
// own hour too.
type telling bool

const (
	anew telling = false
	told telling = true
)

// revisit plans a visit at another hour, or tells one by the ways that are given. One of
// a kept sequence was set by a trainer: whoever is given the dog may walk it as near as
// that.
func (s *Server) revisit(ctx context.Context, b *wire.RevisitBody, how telling) (*revisited, error) {
	set, v, err := s.fillVisit(ctx, b)
	if err != nil {
		return nil, err
	}
	m, err := s.at(ctx, "/wish/from", b.Wish.From)
	if err != nil {
		return nil, err
	}
	arrive, err := time.Parse(time.RFC3339, b.Arrive)
	if err != nil {
		return nil, fault.Problems{{Pointer: "/arrive", Value: fmt.Sprintf("%q", b.Arrive), Mend: "give a time with its zone, like 2026-11-26T17:20:00-05:00"}}
	}
	dog, bite, p, fa, err := s.watching(ctx, m, &b.Wish.WatchBody)
	if err != nil {
		return nil, err
	}
	w, err := b.Wish.Wish(p.Frame(), p.Zone(), s.now())
	if err != nil {
		return nil, err
	}
	w.Dog, w.Factors = *dog, fa
	w.Spots = finder(ctx, m).Spots()
	o := training.Revisit{At: b.At.In(p.Frame()), Source: -1, Arrive: arrive, StayS: 60 * b.StayMinutes}
	if b.Car != nil {
		at := b.Car.In(p.Frame())
		o.Car = &at
	}
	kept := b.Given == nil && how == told && v != nil && v.Arrive == b.Arrive
	if kept {
		b.Given = v.Given
	}
	changed := b.Given != nil && b.Given.Map != m.Planner.Snapshot().Network
	if b.Given != nil {
		if o.Ways, err = groundOf(ctx, m.Planner.Land(), b.Given); err != nil && !(kept && changed) {
			return nil, err
		}
	}
	if b.Watched != "" {
		if o.Source = training.SourceNumber(p, b.Watched); o.Source < 0 {
			return nil, fault.Problems{{Pointer: "/watched", Value: b.Watched, Mend: "is no source that the map has: leave it out for ways"}}
		}
	}
	out := &revisited{planner: p, dog: dog, kinds: w.Kinds, bite: bite, factors: fa, words: wire.ReaderOf(ctx)}
	if err := s.searching(ctx, func() (err error) {
		var ground fault.Problems
		if out.Visit, err = training.Again(ctx, p, w, o); changed && o.Ways != nil && errors.As(err, &ground) {
			o.Ways = nil // their ground is not there any more
			out.Visit, err = training.Again(ctx, p, w, o)
		}
		if err == nil {
			out.Changed = changed && o.Ways == nil
		}
		return err
	}); err != nil {
		return nil, err
	}
	if bite && out.Multiple < set && !trains(ctx) {
		return nil, problem.New(http.StatusForbidden, out.words.Say("caution.trainer"))
	}
	return out, nil
}

// groundOf gives the ways of a visit on land: those that were given, or where they belong
// to another map those that follow the same lines.
func groundOf(ctx context.Context, land *reach.Land, g *wire.GivenVisit) (*training.Ways, error) {
	if g.Map == land.Snap.Network {
		ways, err := g.Decode(land)
		if err != nil {
			return nil, fault.Within("/given", err)
		}
		return ways, nil
	}
	ways, ok := g.Lines(land.Snap.Frame)
	if !ok {
		return nil, otherMap(land.Snap.MapTime, wire.ReaderOf(ctx))
	}
	return ways, nil
}

// hairMultiple is what the rounding of a kept distance may take away.
const hairMultiple = 0.001

// fillVisit takes place and wish from a kept sequence if one is named, gives its visit,
// nil if none is, and says down to which multiple of the working distance nobody need be
// a trainer.
func (s *Server) fillVisit(ctx context.Context, b *wire.RevisitBody) (set float64, v *wire.PlannedVisit, err error) {
	if b.Sequence == "" {
		var wrong fault.Problems
		if b.Wish == nil {
			wrong = append(wrong, fault.Problem{Pointer: "/wish", Mend: "missing: give the wish that the visit answers, or sequence and visit"})
		}
		if b.At == nil {
			wrong = append(wrong, fault.Problem{Pointer: "/at", Mend: "missing: say where one stands, or give sequence and visit"})
		}
		if len(wrong) > 0 {
			return wire.NearStep, nil, wrong
		}
		return wire.NearStep, nil, nil
	}
	v, wish, err := s.keptVisit(ctx, b.Sequence, b.Visit)
	if err != nil {
		return wire.NearStep, nil, err
	}
	if v.Meeting != nil {
		return wire.NearStep, nil, fault.One("/visit", strconv.Itoa(b.Visit), "is a meeting with a helper: send what its meeting says under ask to /v1/setups")
	}
	b.Wish, b.At, b.Watched = wish, &wire.LatLon{Lat: v.At[1], Lon: v.At[0]}, v.Watched.OSM
	b.StayMinutes = cmp.Or(b.StayMinutes, v.StayMinutes)
	if v.Car != nil {
		b.Car = &wire.LatLon{Lat: v.Car.At[1], Lon: v.Car.At[0]}
	}
	return min(wire.NearStep, v.Multiple-hairMultiple), v, nil
}

// encoded is the visit in the form that leaves the house.
func (v *revisited) encoded() wire.Visit {
	out := wire.NewVisit(v.Visit, v.planner.Land(), v.words)
	if v.bite && v.Multiple < wire.NearStep {
		out.Cautions = append(out.Cautions, v.words.Say("caution.trainer"))
	}
	return out
}

// replanVisit answers POST /v1/visits/replan.
func (s *Server) replanVisit(ctx context.Context, in *struct{ Body wire.RevisitBody }) (*answered[wire.Visit], error) {
	v, err := s.revisit(ctx, &in.Body, anew)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[wire.Visit]{v.encoded()}, nil
}

// printVisit answers POST /v1/visits/handouts.
func (s *Server) printVisit(ctx context.Context, in *struct{ Body wire.VisitPaper }) (*handOutOutput, error) {
	b := &in.Body
	v, err := s.revisit(ctx, &b.RevisitBody, told)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	if b.Rule == nil {
		usual := kept.TrainingRule(learning.DefaultRule())
		b.Rule = &usual
	} else if wrong := wire.WrongRule("/rule", b.Rule); wrong != nil {
		return nil, s.problem(ctx, wrong)
	}
	scene, err := v.scene(b.Units)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	var out bytes.Buffer
	if err := scene.VisitSheet(&out, &draw.VisitSheet{Visit: v.Visit, Number: b.Visit, Of: b.Of, Rule: learning.Rule(*b.Rule), Bite: v.bite,
		Driver: briefing.Driver(b.Driver), Paper: draw.Paper(cmp.Or(b.Paper, string(draw.A4))), StyleHref: handOutStyle}); err != nil {
		return nil, s.problem(ctx, err)
	}
	return &handOutOutput{ContentType: "text/html; charset=utf-8", Policy: page.Policy, Body: out.Bytes()}, nil
}
