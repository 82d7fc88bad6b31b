package api

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"reflect"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
	"wideberth/api/examples"
	"wideberth/api/origin"
	"wideberth/api/page"
	"wideberth/api/problem"
	"wideberth/api/wire"
	"wideberth/routing/atlas"
	"wideberth/routing/briefing"
)

// config describes the API and the forms its answers can take.
func (s *Server) config() huma.Config {
	c := huma.DefaultConfig("Wideberth", s.opt.Version)
	c.Info.Description = "Plans walks on which a leash-reactive dog's triggers stay outside its working distance. " +
		"Map data " + wire.Attribution + ", Open Database Licence (" + wire.LicenceURL + "). " + wire.ZoneCredit + " " + wire.Caution(briefing.Words{}) + " Texts come in British English and metres, to who asks with Accept-Language: en-US in American English, feet and miles."
	c.Info.License = &huma.License{Name: "Map data: ODbL 1.0", URL: wire.LicenceURL}
	c.Components.SecuritySchemes = map[string]*huma.SecurityScheme{keyScheme: {
		Type: "http", Scheme: "bearer",
		Description: "A key, as wideberth token or POST /v1/people/{id}/keys makes it. A server for one local account asks for none until the first was made, and lets in only this machine.",
	}}
	c.DocsPath = ""     // its page would fetch from another server
	c.CreateHooks = nil // no $schema in answers
	c.SchemasPath = ""
	c.Components.Schemas = huma.NewMapRegistry("#/components/schemas/", schemaName)
	c.Formats = map[string]huma.Format{
		"application/json":     plainJSON,
		"json":                 plainJSON,
		"application/geo+json": {Marshal: marshalGeoJSON, Unmarshal: json.Unmarshal},
		"application/gpx+xml":  {Marshal: marshalGPX, Unmarshal: unmarshalNothing},
	}
	return c
}

// plainJSON is JSON as huma has it, read by body.Unmarshal.
var plainJSON = huma.Format{Marshal: huma.DefaultJSONFormat.Marshal, Unmarshal: body.Unmarshal}

// schemaName tells what is kept from what is planned: both have walks and dogs. A dog
// as people write it down is a file wherever it is sent.
func schemaName(t reflect.Type, hint string) string {
	name := huma.DefaultSchemaNamer(t, hint)
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch {
	case strings.HasSuffix(t.PkgPath(), "/wire/kept"):
		return "Kept" + name
	case strings.HasSuffix(t.PkgPath(), "/wire/dogfile") && name != "Cautions": // which are a dog's, kept or not
		return "Dog" + name
	}
	return name
}

var errNoSuchForm = errors.New("only plans come in this form")

func marshalGeoJSON(w io.Writer, v any) error {
	switch v := v.(type) {
	case wire.PlanBody:
		return v.GeoJSON(w)
	}
	return json.NewEncoder(w).Encode(v)
}

func marshalGPX(w io.Writer, v any) error {
	if plan, ok := v.(wire.PlanBody); ok {
		return plan.GPX(w)
	}
	return json.NewEncoder(w).Encode(v) // problem documents are JSON whatever was asked for
}

func unmarshalNothing([]byte, any) error { return errNoSuchForm }

// routes is the table of contents.
func (s *Server) routes() {
	s.healthRoutes()
	s.planRoutes()
	s.givenRoutes()
	s.aroundRoutes()
	s.weekRoutes()
	s.whereRoutes()
	s.wayOutRoutes()
	s.pictureRoutes()
	s.memoryRoutes()
	s.placeRoutes()
	page.Routes(s.echo, s.drawTile)
	s.drawingRoutes()
	s.handOutRoutes()
	s.outingRoutes()
	s.tableRoutes()
	s.visitRoutes()
	s.visitDrawingRoutes()
	s.setupRoutes()
	examples.Show(s.api.OpenAPI())
	s.describeFaults()
}

type healthOutput struct {
	CacheControl string `header:"Cache-Control"`
	Body         struct {
		Status      string `json:"status" enum:"ok"`
		Version     string `json:"version"`
		Map         string `json:"map" doc:"What the loaded extract shows; of several the first names."`
		MapTime     string `json:"map_time,omitempty" doc:"Day of the extract; of several of the oldest."`
		TimeZone    string `json:"time_zone"`
		Attribution string `json:"attribution"`
	}
}

// storeTime is how long the store has to give a sign of life.
const storeTime = time.Second

// ready says that it can plan and keep: the map is loaded before the first request,
// the store is asked. It is not where the server is about to end.
func (s *Server) ready(ctx context.Context, in *struct{}) (*healthOutput, error) {
	if s.draining.Load() {
		return nil, problem.Unavailable(wire.ReaderOf(ctx).Say("problem.stopping"))
	}
	if s.opt.Store != nil {
		soon, cancel := context.WithTimeout(ctx, storeTime)
		defer cancel()
		if err := s.opt.Store.Ping(soon); err != nil {
			s.log.Error("store", "err", err, "id", origin.ID(ctx))
			return nil, problem.Unavailable(wire.ReaderOf(ctx).Say("problem.database"))
		}
	}
	return s.health(ctx, in)
}

// health says that the program runs, whatever becomes of its store.
func (s *Server) health(ctx context.Context, _ *struct{}) (*healthOutput, error) {
	out := &healthOutput{CacheControl: "no-store"}
	tiles := view(ctx).Tiles()
	out.Body.Status, out.Body.Version, out.Body.Map = "ok", s.opt.Version, atlas.Names(tiles)
	out.Body.TimeZone, out.Body.Attribution = tiles[0].Zone, wire.Attribution
	if at := oldest(tiles); !at.IsZero() {
		out.Body.MapTime = at.UTC().Format("2006-01-02")
	}
	return out, nil
}

func (s *Server) healthRoutes() {
	huma.Register(s.api, huma.Operation{OperationID: "health", Method: http.MethodGet, Path: "/healthz", Summary: "Is the program up?", Tags: []string{"service"}}, s.health)
	huma.Register(s.api, huma.Operation{OperationID: "ready", Method: http.MethodGet, Path: "/readyz", Summary: "Can it plan and keep?", Tags: []string{"service"},
		Description: "The map is loaded, the store answers within a second, and the server is not about to stop.", Errors: []int{503}}, s.ready)
}
