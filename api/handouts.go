package api

import (
	"bytes"
	"cmp"
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
	"wideberth/api/page"
	"wideberth/api/wire"
	"wideberth/routing/briefing"
	"wideberth/routing/briefing/draw"
)

type handOutOutput struct {
	ContentType string `header:"Content-Type"`
	Policy      string `header:"Content-Security-Policy"`
	Body        []byte
}

// handOutStyle is where the style of hand-outs is served.
const handOutStyle = "/handout.css"

// handOut answers POST /v1/handouts.
func (s *Server) handOut(ctx context.Context, in *struct{ Body wire.HandOutBody }) (*handOutOutput, error) {
	b := &in.Body
	p, err := s.shown(ctx, &b.Shown, false)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	scene, err := p.scene(b.Walk, b.Units)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	var calmer *draw.Calmer
	if c := b.Calmer; c != nil {
		t, err := wire.ParseTime("/calmer/depart", c.Depart, s.now(), p.planner.Zone())
		if err != nil {
			return nil, s.problem(ctx, err)
		}
		calmer = &draw.Calmer{Depart: t, CalmChance: c.CalmChance}
	}
	var out bytes.Buffer
	err = scene.HandOut(&out, draw.HandOutOptions{Paper: draw.Paper(cmp.Or(b.Paper, string(draw.A4))),
		Driver: briefing.Driver(b.Driver), From: b.From, Calmer: calmer, StyleHref: handOutStyle})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &handOutOutput{ContentType: "text/html; charset=utf-8", Policy: page.Policy, Body: out.Bytes()}, nil
}

func (s *Server) handOutRoutes() {
	page.Style(s.echo, handOutStyle, draw.HandOutCSS)
	huma.Register(s.api, huma.Operation{
		OperationID: "hand-out", Method: http.MethodPost, Path: "/v1/handouts", Summary: "A walk on one page", Tags: []string{"walks"},
		Description:  "The page that a handler carries, as HTML to be printed: map and walk unrolled to scale, legs and watch points in words, the dog's distances, what to do when something comes too close.",
		MaxBodyBytes: body.MostBytes, Errors: []int{400, 401, 403, 404, 409, 422, 503, 504},
		Responses: map[string]*huma.Response{"200": {Description: "The page", Content: map[string]*huma.MediaType{"text/html": {}}}},
	}, s.handOut)
}
