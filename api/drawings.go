package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
	"wideberth/api/wire"
)

// drawings answers POST /v1/drawings.
func (s *Server) drawings(ctx context.Context, in *shownInput) (*answered[wire.DrawnPlan], error) {
	p, err := s.shown(ctx, &in.Body, false)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	out := &answered[wire.DrawnPlan]{wire.DrawnPlan{Plan: p.answer(), Drawings: []wire.Drawing{}}}
	for i := range p.plan.Walks {
		scene, err := p.scene(i, "")
		if err != nil {
			return nil, s.problem(ctx, err)
		}
		out.Body.Drawings = append(out.Body.Drawings, wire.NewDrawing(scene, p.planner.Frame()))
	}
	return out, nil
}

func (s *Server) drawingRoutes() {
	huma.Register(s.api, huma.Operation{
		OperationID: "drawings", Method: http.MethodPost, Path: "/v1/drawings", Summary: "Walks and how they are drawn", Tags: []string{"walks"},
		Description:  "A plan, of a wish or as it was given, and for each walk what a map and the walk unrolled are drawn from.",
		MaxBodyBytes: body.MostBytes, Errors: []int{400, 401, 403, 404, 409, 413, 422, 503, 504},
	}, s.drawings)
}
