package api

import (
	"context"
	"errors"
	"net"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"wideberth/api/store"
)

// whoKey is where the person that asks stands in a request's context.
type whoKey struct{}

// who is the person that asks; without a store nobody is anybody.
func who(ctx context.Context) (store.Who, error) {
	w, ok := ctx.Value(whoKey{}).(store.Who)
	if !ok {
		return w, errNoMemory
	}
	return w, nil
}

// errNoMemory says that this server keeps nothing.
var errNoMemory = errors.New("no store")

// free are the paths that nobody needs a token for: the program's health, its
// description and its page.
func free(path string) bool {
	return !strings.HasPrefix(path, "/v1/")
}

// authorise finds out who asks.
func (s *Server) authorise(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if s.opt.Store == nil || free(c.Request().URL.Path) {
			return next(c)
		}
		w, err := s.asker(c.Request())
		if err != nil {
			var p *Problem
			if !errors.As(s.problem(c.Request().Context(), err), &p) {
				return err
			}
			return s.tell(c, p)
		}
		c.SetRequest(c.Request().WithContext(context.WithValue(c.Request().Context(), whoKey{}, w)))
		return next(c)
	}
}

// asker is whom a token belongs to. Without one, on a server for one local
// account, it is that account's keeper, as long as no token was ever made: from
// then on everybody shows theirs.
func (s *Server) asker(r *http.Request) (store.Who, error) {
	if token, ok := strings.CutPrefix(r.Header.Get(echo.HeaderAuthorization), "Bearer "); ok {
		return s.opt.Store.Authenticate(r.Context(), strings.TrimSpace(token))
	}
	needed := newProblem(http.StatusUnauthorized, english.Say("problem.token"))
	if s.opt.Local == (store.Who{}) {
		return store.Who{}, needed
	}
	has, err := s.opt.Store.HasTokens(r.Context())
	switch {
	case err != nil:
		return store.Who{}, err
	case has:
		return store.Who{}, needed
	case !fromHere(r):
		return store.Who{}, newProblem(http.StatusForbidden, english.Say("problem.local"))
	}
	return s.opt.Store.Local(r.Context()) // anew, should they have deleted it
}

// fromHere says that a request to a server that asks nobody for a token is meant
// for it and comes from its own page or a program. A page from elsewhere, open in
// a browser on this machine, could reach the port too: by a name of its own that
// it lets point here (then Host is that name), or by sending blindly (then the
// browser says where from, in Origin and Sec-Fetch-Site of the Fetch standard).
func fromHere(r *http.Request) bool {
	host := r.Host
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	if ip := net.ParseIP(strings.Trim(host, "[]")); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return false
	}
	if site := r.Header.Get("Sec-Fetch-Site"); site == "cross-site" || site == "same-site" {
		return false
	}
	origin := r.Header.Get(echo.HeaderOrigin)
	return origin == "" || origin == "http://"+r.Host || origin == "https://"+r.Host
}

// tell answers with a problem outside the described operations.
func (s *Server) tell(c echo.Context, p *Problem) error {
	p.Instance = c.Response().Header().Get(echo.HeaderXRequestID)
	c.Response().Header().Set(echo.HeaderContentType, "application/problem+json")
	if p.Status == http.StatusUnauthorized {
		c.Response().Header().Set(echo.HeaderWWWAuthenticate, `Bearer realm="wideberth"`)
	}
	c.Response().WriteHeader(p.Status)
	return c.Echo().JSONSerializer.Serialize(c, p, "")
}
