package api

import (
	"bytes"
	"cmp"
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
	"wideberth/api/wire"
	"wideberth/routing/briefing/draw"
)

type pictureOutput struct {
	ContentType string `header:"Content-Type"`
	Body        []byte
}

// picture answers POST /v1/pictures.
func (s *Server) picture(ctx context.Context, in *struct{ Body wire.PictureBody }) (*pictureOutput, error) {
	b := &in.Body
	p, err := s.shown(ctx, &b.Shown, false)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	scene, err := p.scene(b.Walk, b.Units)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	theme, _ := draw.ParseTheme(b.Theme)
	var out bytes.Buffer
	width, height := cmp.Or(b.WidthPX, 800), cmp.Or(b.HeightPX, 600)
	if b.What == "strip" {
		err = scene.Strip(&out, draw.StripOptions{WidthPX: width, HeightPX: height, Theme: theme})
	} else {
		err = scene.Map(&out, draw.MapOptions{WidthPX: width, HeightPX: height, Theme: theme, Others: true, Wider: b.Wider})
	}
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &pictureOutput{ContentType: "image/svg+xml", Body: out.Bytes()}, nil
}

func (s *Server) pictureRoutes() {
	huma.Register(s.api, huma.Operation{
		OperationID: "picture", Method: http.MethodPost, Path: "/v1/pictures", Summary: "A walk drawn", Tags: []string{"walks"},
		Description:  "The map of a walk, or the walk unrolled, as SVG at true scale: the band of room, what blocks, sources with the dog's distances. For screens without WebGL and for paper.",
		MaxBodyBytes: body.MostBytes, Errors: []int{400, 401, 403, 404, 409, 422, 503, 504},
		Responses: map[string]*huma.Response{"200": {Description: "The picture", Content: map[string]*huma.MediaType{"image/svg+xml": {}}}},
	}, s.picture)
}
