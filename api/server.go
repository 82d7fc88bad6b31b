// Package api speaks to people's programs over HTTP: it decodes and authorises a
// request, calls one verb of the planner or the store, and encodes the answer.
// The contract (OpenAPI 3.1, at /openapi.json) is generated from the Go types.
package api

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"runtime"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humaecho"
	"github.com/labstack/echo/v4"
	"github.com/labstack/echo/v4/middleware"

	"wideberth/api/knowledge"
	"wideberth/api/store"
	"wideberth/routing"
)

// Options of a server; the zero value of each is the default named.
type Options struct {
	Planner  *routing.Planner
	Log      *slog.Logger     // nil discards
	Now      func() time.Time // required: the clock
	Version  string
	Store    *store.Store  // nil keeps nothing
	Local    store.Who     // not zero: a server for the local account, which asks nobody for a token; zero asks
	Searches int           // searches at once, 0 for one a core
	Queue    int           // requests that may wait for a search, 0 for 16 a core
	Wait     time.Duration // how long they may wait, 0 for two seconds
	Deadline time.Duration // of one request, 0 for thirty seconds
}

// Server answers requests over one planner. Safe for concurrent use.
type Server struct {
	planner *routing.Planner
	log     *slog.Logger
	now     func() time.Time
	gate    *gate
	known   *knowledge.Base // nil without a store
	echo    *echo.Echo
	api     huma.API
	opt     Options
}

const (
	maxBodyBytes      = 1 << 20 // of one operation, unless it says otherwise; echo stops at 16 MB whatever it says
	readHeaderTimeout = 5 * time.Second
	readTimeout       = 30 * time.Second
	writeTimeout      = 60 * time.Second
	idleTimeout       = 2 * time.Minute
	drainTimeout      = 10 * time.Second
)

// New makes a server; Handler or Serve puts it to work.
func New(o Options) *Server {
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	cores := runtime.GOMAXPROCS(0)
	o.Searches = orDefault(o.Searches, cores)
	o.Queue = orDefault(o.Queue, 16*cores)
	o.Wait = orDefault(o.Wait, 2*time.Second)
	o.Deadline = orDefault(o.Deadline, 30*time.Second)
	s := &Server{planner: o.Planner, log: o.Log, now: o.Now, gate: newGate(o.Searches, o.Queue, o.Wait), opt: o}
	if o.Store != nil {
		s.known = knowledge.New(o.Planner, o.Store, o.Now)
	}
	s.echo = echo.New()
	s.echo.HideBanner, s.echo.HidePort = true, true
	s.echo.HTTPErrorHandler = s.echoProblem
	s.echo.Use(middleware.RequestIDWithConfig(middleware.RequestIDConfig{RequestIDHandler: nil}),
		s.logRequests, middleware.Recover(), middleware.BodyLimit("16M"), s.deadline, s.authorise)
	s.api = humaecho.New(s.echo, s.config())
	s.routes()
	return s
}

func orDefault[T comparable](v, def T) T {
	var zero T
	if v == zero {
		return def
	}
	return v
}

// Handler is the server as a plain handler, for tests.
func (s *Server) Handler() http.Handler { return s.echo }

// Serve answers on l until ctx ends, then lets running requests finish for up to
// ten seconds.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	srv := &http.Server{
		Handler: s.echo, ReadHeaderTimeout: readHeaderTimeout, ReadTimeout: readTimeout,
		WriteTimeout: writeTimeout, IdleTimeout: idleTimeout, ErrorLog: slog.NewLogLogger(s.log.Handler(), slog.LevelWarn),
	}
	ended := make(chan error, 1)
	go func() { ended <- srv.Serve(l) }()
	if err, over := s.until(ctx, ended); over {
		return err
	}
	drain, cancel := context.WithTimeout(context.WithoutCancel(ctx), drainTimeout)
	defer cancel()
	err := srv.Shutdown(drain)
	if e := <-ended; !errors.Is(e, http.ErrServerClosed) {
		err = errors.Join(err, e)
	}
	return err
}

// sweepEvery is how often tracks that are kept too long are deleted.
const sweepEvery = 24 * time.Hour

// until waits for the end of the service or of ctx, and sweeps old tracks once a
// day meanwhile. The second result says that the service ended by itself.
func (s *Server) until(ctx context.Context, ended <-chan error) (error, bool) {
	daily := time.NewTicker(sweepEvery)
	defer daily.Stop()
	for {
		select {
		case err := <-ended:
			return err, true
		case <-ctx.Done():
			return nil, false
		case <-daily.C:
			if s.opt.Store == nil {
				continue
			}
			if n, err := s.opt.Store.PurgeTracks(ctx); err != nil {
				s.log.Error("old tracks could not be deleted", "err", err)
			} else if n > 0 {
				s.log.Info("old tracks deleted", "tracks", n)
			}
		}
	}
}

// deadline ends the context of a request after its time.
func (s *Server) deadline(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		ctx, cancel := context.WithTimeout(c.Request().Context(), s.opt.Deadline)
		defer cancel()
		c.SetRequest(c.Request().WithContext(ctx))
		return next(c)
	}
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
