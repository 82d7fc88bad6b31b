package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

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
	w, err := who(ctx)
	if err != nil {
		return routing.FreeHours{}, err
	}
	account, err := s.opt.Store.Account(ctx, w)
	return wire.FreeHours(account.Settings.FreeHours), err
}

// where answers POST /v1/where.
func (s *Server) where(ctx context.Context, in *struct{ Body wire.WhereBody }) (*answered[wire.Where], error) {
	w, planner, err := s.wish(ctx, &in.Body.WishBody)
	if err == nil {
		w.Free, err = s.freeHours(ctx, in.Body.FreeHours)
	}
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	var found *errand.Choices
	err = s.searching(ctx, func() (err error) {
		found, err = s.finder.Where(ctx, planner, in.Body.Errand(w))
		return err
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[wire.Where]{wire.NewWhere(found, planner.Land(), &in.Body.WishBody)}, nil
}

func (s *Server) whereRoutes() {
	huma.Register(s.api, huma.Operation{
		OperationID: "where", Method: http.MethodPost, Path: "/v1/where", Summary: "Where to go", Tags: []string{"walks"},
		Description:  "One answer to where and when: from the door now, from the door at the best of the handler's free hours within a day, and at named places that a drive leads to, planned for the minute of arrival; ranked by expected reactions and strain, each with what it saves.",
		MaxBodyBytes: maxBodyBytes, Errors: []int{400, 422, 503, 504},
	}, s.where)
}
