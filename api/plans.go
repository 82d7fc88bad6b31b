package api

import (
	"context"
	"errors"
	"net/http"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
	"wideberth/api/gate"
	"wideberth/api/origin"
	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/routing"
	"wideberth/routing/atlas"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/draw"
)

// wish turns what a client sent into what a planner understands, and gives the
// planner that knows what the asker's account has learnt. Both are of one look into
// the store: factors name reported sources by their place in the planner's list.
func (s *Server) wish(ctx context.Context, b *wire.WishBody) (w routing.Wish, p *routing.Planner, err error) {
	m, err := s.at(ctx, "/from", b.From)
	if err != nil {
		return w, nil, err
	}
	w = b.Wish(m.Planner.Frame())
	var wrong gathered
	wrong.exchanged(m, "/from", &b.From)
	wrong.exchanged(m, "/to", b.To)
	dog, err := s.dogOf(ctx, b.DogID, &b.Dog)
	if err := wrong.take(err); err != nil {
		return w, nil, err
	}
	if dog != nil {
		w.Dog = *dog
	}
	var bad error
	w.Depart, bad = s.departure(m, b.Depart)
	if err := wrong.take(bad); err != nil {
		return w, nil, err
	}
	if bad != nil {
		w.Depart = s.now() // it is told of already
	}
	if len(wrong.list) > 0 { // then what else is wrong is told with it
		if err := wrong.take(m.Planner.Check(&w)); err != nil {
			return w, nil, err
		}
		return w, nil, wrong.list
	}
	if p, w.Factors, err = s.taught(ctx, m); err != nil {
		return w, nil, err
	}
	return w, p.Under(w.Weather), nil
}

// gathered collects what is wrong with a body, so that it is told together.
type gathered struct{ list fault.Problems }

// take adds what err finds wrong; errors of other sorts it gives back.
func (f *gathered) take(err error) error {
	var ps fault.Problems
	if !errors.As(err, &ps) {
		return err
	}
	f.list = append(f.list, ps...)
	return nil
}

// exchanged asks about a place whose two numbers seem to be exchanged.
func (f *gathered) exchanged(m *atlas.Sheet, pointer string, at *wire.LatLon) {
	if at == nil {
		return
	}
	if mend := m.Planner.Land().Exchanged(at.Lat, at.Lon); mend != "" {
		f.list = append(f.list, fault.Problem{Pointer: pointer, Mend: mend})
	}
}

func (s *Server) departure(m *atlas.Sheet, text string) (time.Time, error) {
	return s.moment(m, "/depart", text)
}

// moment reads a time of a request about a map, now where it is left out.
func (s *Server) moment(m *atlas.Sheet, pointer, text string) (time.Time, error) {
	return wire.ParseTime(pointer, text, s.now(), m.Planner.Zone())
}

type planInput struct {
	Body wire.WishBody
}

type planOutput struct {
	Body wire.PlanBody
}

// planned is a wish with its plan and the planner that made it, which knows what
// the asker's account has learnt and reported.
type planned struct {
	planner *routing.Planner
	body    wire.WishBody // as it was sent
	wish    routing.Wish
	plan    *routing.Plan
	words   briefing.Words // how it is told
	room    *exposure.Kind // that room is drawn for; nil: the one that leads the walk's reactions
}

// verb is one of the planner's ways to answer a wish.
type verb func(p *routing.Planner, ctx context.Context, w routing.Wish) (*routing.Plan, error)

// walksFor answers a wish behind the gate.
func (s *Server) walksFor(ctx context.Context, b *wire.WishBody, answer verb) (*planned, error) {
	w, planner, err := s.wish(ctx, b)
	if err != nil {
		return nil, err
	}
	out := &planned{planner: planner, body: *b, wish: w, words: wire.ReaderOf(ctx)}
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
	return draw.NewScene(p.planner.Snapshot(), p.plan, min(walk, len(p.plan.Walks)-1), &p.wish.Dog, wordsIn(units, p.words), p.room)
}

// wordsIn are the words for the units that a request names; where it names none, those
// of who asks.
func wordsIn(units string, asks briefing.Words) briefing.Words {
	switch units {
	case "us":
		return briefing.Words{Units: briefing.US, TwelveHour: true}
	case "metric":
		return briefing.Words{}
	}
	return asks
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
	apart(ctx)
	name := origin.Asker(ctx)
	begin := s.now()
	through := s.span(ctx, "gate")
	leave, err := s.gate.Enter(ctx, name)
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
func (s *Server) quickly(ctx context.Context, g *gate.Gate, work func() error) error {
	name := origin.Asker(ctx)
	leave, err := g.Enter(ctx, name)
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
		MaxBodyBytes: body.MostBytes, Errors: []int{400, 413, 422, 503, 504},
	}, s.plan)
	huma.Register(s.api, huma.Operation{
		OperationID: "proof", Method: http.MethodPost, Path: "/v1/proofs", Summary: "Work longer on how good the best loop is", Tags: []string{"walks"},
		Description:  "A plan as it was given, sent back while somebody already reads it: its best loop with a certificate of how much better any loop could be in the model searched. With a wish the loop is searched for first.",
		MaxBodyBytes: body.MostBytes, Errors: []int{400, 401, 403, 404, 409, 413, 422, 503, 504},
	}, s.proof)
}
