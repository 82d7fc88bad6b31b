// Package api speaks to people's programs over HTTP: it decodes and authorises a
// request, calls one verb of the planner or the store, and encodes the answer.
// The contract (OpenAPI 3.1, at /openapi.json) is generated from the Go types.
package api

import (
	"cmp"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"runtime"
	"runtime/debug"
	"strings"
	"sync/atomic"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humaecho"
	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"
	"go.opentelemetry.io/otel/trace"

	"wideberth/api/gate"
	"wideberth/api/knowledge"
	"wideberth/api/memory"
	"wideberth/api/metrics"
	"wideberth/api/origin"
	"wideberth/api/serve"
	"wideberth/api/store"
	"wideberth/osmdata/parallel"
	"wideberth/routing/atlas"
)

// Options of a server; the zero value of each is the default named.
type Options struct {
	Atlas    *atlas.Atlas     // the maps; nil for a server that only describes itself
	Log      *slog.Logger     // nil discards
	Now      func() time.Time // required: the clock
	Version  string
	Store    *store.Store         // nil keeps nothing
	Local    store.Who            // not zero: a server for the local account, which asks nobody for a token; zero asks
	Searches int                  // searches at once, 0 for one a core and one more
	Queue    int                  // requests that may wait for a search, 0 for 16 a core
	Crowd    int                  // requests of one account, and four times as many of one address, under way at once, 0 for 32
	Wait     time.Duration        // how long they may wait, 0 for two seconds
	Deadline time.Duration        // of one request, 0 for thirty seconds
	Drain    time.Duration        // how long it answers on after its end was asked for, while /readyz says that it goes
	Proxies  []netip.Prefix       // whose word on where a request comes from is trusted
	Metrics  *metrics.Metrics     // nil counts nothing
	Traces   trace.TracerProvider // nil traces nothing
}

// Server answers requests over the maps of an atlas. Safe for concurrent use.
type Server struct {
	log    *slog.Logger
	now    func() time.Time
	gate   *gate.Gate      // of searches
	exits  *gate.Gate      // of ways out that somebody needs at once
	looks  *gate.Gate      // of what looks through the map and searches nothing
	large  *gate.Gate      // of large bodies
	known  *knowledge.Base // nil without a store
	desk   *memory.Desk    // likewise
	crowds [2]*gate.Crowd  // by address and by account
	echo   *echo.Echo
	api    huma.API
	opt    Options

	tracer     trace.Tracer
	operations map[string]string // their names, by method and route
	bodies     map[string]taken  // what they take, likewise

	keyed    atomic.Bool // a key was made: see keyless
	draining atomic.Bool
}

// New makes a server; Handler or Serve puts it to work.
func New(o Options) *Server {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	cores := runtime.GOMAXPROCS(0)
	o.Searches = cmp.Or(o.Searches, cores+1) // the one more is for whoever comes while one asker has all cores
	o.Crowd = cmp.Or(o.Crowd, 32)
	o.Queue = cmp.Or(o.Queue, 16*cores)
	o.Wait = cmp.Or(o.Wait, 2*time.Second)
	o.Deadline = cmp.Or(o.Deadline, 30*time.Second)
	s := &Server{log: o.Log, now: o.Now, opt: o}
	s.gate = gate.New(o.Searches, o.Queue, o.Wait)
	quick := func() *gate.Gate { return gate.New(cores+1, o.Queue, o.Wait) }
	s.exits, s.looks, s.large = quick(), quick(), quick()
	if o.Store != nil {
		s.known = knowledge.New(o.Store, o.Now)
		if o.Atlas != nil {
			o.Atlas.OnClosing(s.known.Drop)
		}
	}
	s.crowds = [2]*gate.Crowd{gate.NewCrowd(4 * o.Crowd), gate.NewCrowd(o.Crowd)}
	s.echo = echo.New()
	s.echo.HideBanner, s.echo.HidePort = true, true
	s.echo.HTTPErrorHandler = s.echoProblem
	s.echo.IPExtractor = origin.AddressOf(o.Proxies)
	s.tracer = tracer(o.Traces)
	s.echo.Use(origin.Identify, s.observe, s.logRequests, s.headers, small, middleware.RecoverWithConfig(middleware.RecoverConfig{DisableStackAll: true, LogErrorFunc: s.logPanic}), middleware.BodyLimit("16M"), s.deadline, s.fromOneAddress, s.door, s.authorise, s.bulk, s.looking)
	s.api = humaecho.New(s.echo, s.config())
	s.routes()
	s.nameOperations()
	s.measureBodies()
	if o.Metrics != nil {
		s.showLevels()
	}
	return s
}

// squeezeBytes is the size from which an answer is sent small.
const squeezeBytes = 16 << 10

// small sends long answers of /v1 gzipped to who can read that. Files and tiles are
// kept that way and are left alone.
var small = middleware.GzipWithConfig(middleware.GzipConfig{
	Level: gzip.BestSpeed, MinLength: squeezeBytes,
	Skipper: func(c echo.Context) bool { return !strings.HasPrefix(c.Request().URL.Path, "/v1/") },
})

// Handler is the server as a plain handler, for tests.
func (s *Server) Handler() http.Handler { return s.echo }

// Serve answers on l until ctx ends. Then /readyz says that it goes, and it answers
// on for as long as it was told to drain; then it takes no more and lets what runs
// finish for up to ten seconds, and what runs still is given up.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	o := serve.Options{Handler: s.echo, Log: s.log, Drain: s.opt.Drain, Leaving: func() { s.draining.Store(true) }}
	if s.opt.Store != nil {
		o.Daily = s.sweep
	}
	return serve.Until(ctx, l, o)
}

// sweep deletes tracks that are kept too long.
func (s *Server) sweep(ctx context.Context) {
	if n, err := s.opt.Store.PurgeTracks(ctx); err != nil {
		s.log.Error("old tracks could not be deleted", "err", err)
	} else if n > 0 {
		s.log.Info("old tracks deleted", "tracks", n)
	}
}

// deadline ends the context of a request after its time. A map's file that is cut short
// while it is open costs the requests that read on in it, and not the server.
func (s *Server) deadline(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
		ctx, cancel := context.WithTimeout(c.Request().Context(), s.opt.Deadline)
		defer cancel()
		c.SetRequest(c.Request().WithContext(ctx))
		return next(c)
	}
}

// fromOneAddress bounds the requests of one address before anybody asks whose they
// are.
func (s *Server) fromOneAddress(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error { return s.oneOfMany(c, "address "+c.RealIP(), next) }
}

// oneOfMany counts a request among those of its asker and refuses it where they are
// too many.
func (s *Server) oneOfMany(c echo.Context, name string, next echo.HandlerFunc) error {
	crowd := s.crowds[0]
	if strings.HasPrefix(name, "account") {
		crowd = s.crowds[1]
	}
	if !crowd.Enter(name) {
		return s.tellError(c, gate.ErrCrowd)
	}
	defer crowd.Leave(name)
	c.SetRequest(c.Request().WithContext(origin.WithAsker(c.Request().Context(), name)))
	return next(c)
}

// logPanic writes where a request ended by a fault of ours. The error goes on to
// echoProblem, which answers.
func (s *Server) logPanic(c echo.Context, err error, stack []byte) error {
	var far *parallel.Panic // of another goroutine, whose stack tells more
	if errors.As(err, &far) {
		err, stack = fmt.Errorf("%v", far.Value), far.Stack
	}
	s.log.Error("panic", "err", err, "id", c.Response().Header().Get(echo.HeaderXRequestID), "stack", string(stack))
	return echo.ErrInternalServerError
}

// logRequests writes one line a request: never a body, never a coordinate.
func (s *Server) logRequests(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		begin := s.now()
		err := next(c)
		if err != nil {
			c.Error(err)
		}
		s.log.Info("request", "method", c.Request().Method, "route", c.Path(), "status", c.Response().Status,
			"ms", float64(s.now().Sub(begin).Microseconds())/1000, "bytes", c.Response().Size,
			"id", c.Response().Header().Get(echo.HeaderXRequestID))
		return nil
	}
}
