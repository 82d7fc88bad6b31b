package api

import (
	"bytes"
	"cmp"
	"context"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/wire"
	"wideberth/routing/briefing/draw"
)

// drawVisit answers POST /v1/visits/drawings.
func (s *Server) drawVisit(ctx context.Context, in *struct{ Body wire.RevisitBody }) (*answered[wire.VisitDrawn], error) {
	v, err := s.revisit(ctx, &in.Body, told)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	scene, err := v.scene("")
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[wire.VisitDrawn]{wire.NewVisitDrawn(v.Visit, v.encoded(), scene, v.planner.Frame())}, nil
}

// visitPicture answers POST /v1/visits/pictures.
func (s *Server) visitPicture(ctx context.Context, in *struct{ Body wire.VisitPictureBody }) (*pictureOutput, error) {
	b := &in.Body
	v, err := s.revisit(ctx, &b.RevisitBody, told)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	scene, err := v.scene(b.Units)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	theme, _ := draw.ParseTheme(b.Theme)
	var out bytes.Buffer
	o := draw.MapOptions{WidthPX: cmp.Or(b.WidthPX, 390), HeightPX: cmp.Or(b.HeightPX, 392), Theme: theme, Wider: b.Wider}
	if err := scene.VisitMap(&out, v.Visit, o); err != nil {
		return nil, s.problem(ctx, err)
	}
	return &pictureOutput{ContentType: "image/svg+xml", Body: out.Bytes()}, nil
}

func (s *Server) visitDrawingRoutes() {
	op := trainingOperation
	huma.Register(s.api, op("draw-visit", "/v1/visits/drawings", "A visit with what it is walked by",
		"The visit for its hour, the whole of it as one walk, and what that walk is drawn from: all that a device needs to go without a network."), s.drawVisit)
	picture := op("visit-picture", "/v1/visits/pictures", "The place of a visit drawn",
		"Where to stand, the line of sight with the dog's distances round what is watched, ways out, way in and home, as SVG at true scale.")
	picture.Responses = map[string]*huma.Response{"200": {Description: "The picture", Content: map[string]*huma.MediaType{"image/svg+xml": {}}}}
	huma.Register(s.api, picture, s.visitPicture)
}
