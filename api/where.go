package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
	"wideberth/api/memory"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/routing"
	"wideberth/routing/errand"
)

// freeHours are those of a request, else those kept with the asker's account, else the
// usual.
func (s *Server) freeHours(ctx context.Context, sent *kept.FreeHours) (routing.FreeHours, error) {
	if sent != nil || s.opt.Store == nil {
		return wire.FreeHours(sent), nil
	}
	w, err := memory.Who(ctx)
	if err != nil {
		return routing.FreeHours{}, err
	}
	account, err := s.opt.Store.Account(ctx, w)
	return wire.FreeHours(account.Settings.FreeHours), err
}

// errand is what a body asks for; all that is wrong with it is told together.
func (s *Server) errand(ctx context.Context, b *wire.WhereBody) (errand.Errand, *routing.Planner, error) {
	var wrong gathered
	w, planner, err := s.wish(ctx, &b.WishBody)
	if err := wrong.take(err); err != nil {
		return errand.Errand{}, nil, err
	}
	if w.Free, err = s.freeHours(ctx, b.FreeHours); err != nil {
		return errand.Errand{}, nil, err
	}
	e := b.Errand(w)
	if len(wrong.list) > 0 { // else the search tells the others, with what the map knows
		wrong.list = append(append(wrong.list, w.Free.Check()...), e.Beside()...)
	}
	return e, planner, wrong.list.Err()
}

// where answers POST /v1/where.
func (s *Server) where(ctx context.Context, in *struct{ Body wire.WhereBody }) (*answered[wire.Where], error) {
	e, planner, err := s.errand(ctx, &in.Body)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	m, err := s.at(ctx, "/from", in.Body.From)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	var found *errand.Choices
	err = s.searching(ctx, func() (err error) {
		found, err = finder(ctx, m).Where(ctx, planner, e)
		return err
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[wire.Where]{wire.NewWhere(found, planner.Land(), &in.Body.WishBody, wire.ReaderOf(ctx))}, nil
}

func (s *Server) whereRoutes() {
	huma.Register(s.api, huma.Operation{
		OperationID: "where", Method: http.MethodPost, Path: "/v1/where", Summary: "Where to go", Tags: []string{"walks"},
		Description:  "One answer to where and when: from the door now, from the door at the best of the handler's free hours within a day, and at named places that a drive leads to, planned for the minute of arrival; ranked by expected reactions and strain, each with what it saves.",
		MaxBodyBytes: body.MostBytes, Errors: []int{400, 422, 503, 504},
	}, s.where)
}
