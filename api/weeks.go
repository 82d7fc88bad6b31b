package api

import (
	"cmp"
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
	"wideberth/api/wire"
	"wideberth/routing"
)

const weekHours = 7 * 24

// week answers POST /v1/weeks.
func (s *Server) week(ctx context.Context, in *struct{ Body wire.WeekBody }) (*answered[wire.Week], error) {
	w, planner, err := s.wish(ctx, &in.Body.WishBody)
	if err == nil {
		w.Free, err = s.freeHours(ctx, in.Body.FreeHours)
	}
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	n := cmp.Or(in.Body.Hours, weekHours)
	var hours []routing.HourOutlook
	err = s.searching(ctx, func() (err error) {
		hours, err = planner.Week(ctx, w, n)
		return err
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[wire.Week]{wire.NewWeek(hours, planner.Zone(), wire.ReaderOf(ctx))}, nil
}

func (s *Server) weekRoutes() {
	op := func(id, path, summary, text string) huma.Operation {
		return huma.Operation{OperationID: id, Method: http.MethodPost, Path: path, Summary: summary, Description: text, Tags: []string{"walks"}, MaxBodyBytes: body.MostBytes, Errors: []int{400, 422, 503, 504}}
	}
	huma.Register(s.api, op("week", "/v1/weeks", "Quiet hours", "The same loop hour by hour: the best walk that each hour offers, and the best windows."), s.week)
}
