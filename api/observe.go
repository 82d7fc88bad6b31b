package api

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/labstack/echo/v4"
	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/codes"
	"go.opentelemetry.io/otel/propagation"
	"go.opentelemetry.io/otel/trace"
	"go.opentelemetry.io/otel/trace/noop"

	"wideberth/api/gate"
	"wideberth/api/metrics"
	"wideberth/api/origin"
	"wideberth/api/problem"
	"wideberth/api/store"
	"wideberth/api/store/database"
	"wideberth/osmdata/fault"
	"wideberth/routing"
	"wideberth/routing/atlas"
	"wideberth/routing/reach"
)

// tracer makes the spans of a server; without a provider they cost and keep nothing.
func tracer(p trace.TracerProvider) trace.Tracer {
	if p == nil {
		p = noop.NewTracerProvider()
	}
	return p.Tracer("wideberth/api")
}

// span begins a part of a trace; the function that it gives ends it.
func (s *Server) span(ctx context.Context, name string) (end func(error)) {
	_, span := s.tracer.Start(ctx, name)
	return func(err error) {
		if err != nil {
			span.SetStatus(codes.Error, outcome(err)) // never the error's own words, which may tell a place
		}
		span.End()
	}
}

// observe counts each request and makes it a span. The span's names are those of
// OpenTelemetry's semantic conventions for HTTP; it carries no path but the route, no
// query and no address.
func (s *Server) observe(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		begin := s.now()
		leave := s.opt.Metrics.Enter()
		req := c.Request()
		ctx := propagation.TraceContext{}.Extract(req.Context(), propagation.HeaderCarrier(req.Header))
		method := knownMethod(req.Method)
		ctx, span := s.tracer.Start(ctx, method, trace.WithSpanKind(trace.SpanKindServer))
		c.SetRequest(req.WithContext(ctx))
		err := next(c)
		if err != nil {
			c.Error(err) // the status is known from here on
		}
		operation, status := s.operation(c), c.Response().Status
		span.SetName(operation)
		span.SetAttributes(attribute.String("http.request.method", method), attribute.String("http.route", c.Path()),
			attribute.Int("http.response.status_code", status), attribute.String("request.id", origin.ID(req.Context())))
		if status >= http.StatusInternalServerError {
			span.SetStatus(codes.Error, http.StatusText(status))
		}
		span.End()
		leave(operation, status, s.now().Sub(begin))
		return nil
	}
}

// knownMethod is a method of HTTP, or _OTHER, as the conventions want it: a client can
// call its method whatever it likes.
func knownMethod(m string) string {
	switch m {
	case http.MethodGet, http.MethodHead, http.MethodPost, http.MethodPut, http.MethodPatch, http.MethodDelete, http.MethodOptions:
		return m
	}
	return "_OTHER"
}

// operation is which of the described operations a request asked for; what is none of
// them is part of the page, or nothing that there is.
func (s *Server) operation(c echo.Context) string {
	if op, ok := s.operations[c.Request().Method+" "+c.Path()]; ok {
		return op
	}
	if c.Response().Status == http.StatusNotFound || c.Response().Status == http.StatusMethodNotAllowed {
		return "none"
	}
	return "page"
}

// inRoute turns a path of the description into a route of echo.
var inRoute = strings.NewReplacer("{", ":", "}", "")

// nameOperations finds out by which route each operation is reached.
func (s *Server) nameOperations() {
	s.operations = map[string]string{}
	for path, item := range s.api.OpenAPI().Paths {
		for _, op := range []*huma.Operation{item.Get, item.Post, item.Put, item.Delete} {
			if op != nil {
				s.operations[op.Method+" "+inRoute.Replace(path)] = op.OperationID
			}
		}
	}
}

// showLevels shows what is asked for at each scrape.
func (s *Server) showLevels() {
	m := s.opt.Metrics
	searches := func(n func(gate.Load) int64) func() float64 {
		return func() float64 { return float64(n(s.gate.Load())) }
	}
	entered, full := func(l gate.Load) int64 { return l.Entered }, func(l gate.Load) int64 { return l.Full }
	crowded := func(l gate.Load) int64 { return l.Crowded }
	m.Level("gate_places", "Searches that may run at once.", searches(func(l gate.Load) int64 { return int64(l.Places) }))
	m.Level("gate_in", "Searches that run.", searches(func(l gate.Load) int64 { return int64(l.In) }))
	m.Level("gate_waiting", "Requests that wait for a search.", searches(func(l gate.Load) int64 { return int64(l.Waiting) }))
	m.Level("gate_queue", "Requests that may wait for a search.", searches(func(l gate.Load) int64 { return int64(l.Queue) }))
	m.Tally("gate_requests_total", "Requests at the gate: let in, refused as it was full, or as their account had its share.", "outcome", map[string]func() float64{
		"entered": searches(entered), "full": searches(full), "crowded": searches(crowded),
	})
	quick := func(n func(gate.Load) int64) func() float64 {
		return func() float64 {
			sum := int64(0)
			for _, g := range []*gate.Gate{s.exits, s.looks, s.large} {
				sum += n(g.Load())
			}
			return float64(sum)
		}
	}
	m.Tally("quick_requests_total", "Ways out, looks at the map and large bodies, each at a gate of its own: let in, or refused.", "outcome", map[string]func() float64{
		"entered": quick(entered), "full": quick(full), "crowded": quick(crowded),
	})
	m.Level("draining", "1 while the server answers on but is about to end.", func() float64 {
		if s.draining.Load() {
			return 1
		}
		return 0
	})
	if !oldest(s.opt.Atlas.Tiles()).IsZero() {
		m.Level("map_age_seconds", "Age of the extract that is planned on, of several the oldest.", func() float64 { return s.now().Sub(oldest(s.opt.Atlas.Tiles())).Seconds() })
	}
	maps := func(n func(atlas.Level) int64) func() float64 {
		return func() float64 { return float64(n(s.opt.Atlas.Level())) }
	}
	m.Level("maps", "Maps that there are.", maps(func(l atlas.Level) int64 { return int64(l.Tiles) }))
	m.Level("maps_open", "Maps that are open.", maps(func(l atlas.Level) int64 { return int64(l.Open) }))
	m.Level("maps_open_bytes", "What the open maps take, as --memory counts it.", maps(func(l atlas.Level) int64 { return l.Bytes }))
	m.Tally("maps_opened_total", "How often a map was opened, for the first time or again.", "outcome", map[string]func() float64{
		"opened": maps(func(l atlas.Level) int64 { return l.Opened }), "failed": maps(func(l atlas.Level) int64 { return l.Failed }),
	})
	if st := s.opt.Store; st != nil {
		m.Level("store_connections", "Connections to the database in use.", func() float64 { n, _ := st.Load(); return float64(n) })
		m.Tally("store_waits_total", "Transactions that had to wait for a connection.", "for", map[string]func() float64{
			"connection": func() float64 { _, n := st.Load(); return float64(n) },
		})
		st.Watch(func(writes bool, took time.Duration, err error) { m.Stored(writes, took, outcome(err)) })
	}
}

// outcome is how something ended, in one of few words.
func outcome(err error) string {
	var (
		known *problem.Problem
		none  *reach.Infeasible
		wrong fault.Problems
	)
	switch {
	case err == nil:
		return "done"
	case errors.As(err, &none):
		return "none"
	case errors.As(err, &known), errors.As(err, &wrong):
		return "refused"
	case errors.Is(err, gate.ErrBusy), errors.Is(err, gate.ErrCrowd):
		return "busy"
	case errors.Is(err, context.DeadlineExceeded):
		return "late"
	case errors.Is(err, context.Canceled):
		return "gone"
	case errors.Is(err, database.ErrUnavailable):
		return "unreachable"
	case errors.Is(err, database.ErrFull), errors.Is(err, database.ErrReadOnly):
		return "full"
	case errors.Is(err, store.ErrNotFound), errors.Is(err, store.ErrConflict), errors.Is(err, store.ErrForbidden), errors.Is(err, store.ErrLimit), errors.Is(err, store.ErrUnknownToken):
		return "refused"
	}
	return "failed"
}

// seen counts a search for walks.
func (s *Server) seen(w *routing.Wish, took time.Duration, plan *routing.Plan, err error) {
	var proof *metrics.Proof
	if err == nil && plan != nil && len(plan.Walks) > 0 {
		q := plan.Walks[0].Quality
		proof = &metrics.Proof{Proved: q.Proved, WithinPct: q.WithinPct, Work: q.Work}
	}
	shape := w.Shape
	switch shape {
	case routing.Calmest, routing.Loop, routing.ThereAndBack, routing.Way, routing.LongestCalm:
	default: // as a client sent it, and about to be refused
		shape = "other"
	}
	s.opt.Metrics.Plan(string(shape), outcome(err), took, proof)
}
