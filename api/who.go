package api

import (
	"errors"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"wideberth/api/memory"
	"wideberth/api/problem"
	"wideberth/api/store"
	"wideberth/api/wire"
)

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
		if c.Request().URL.Path == memory.SharedPath {
			return s.guest(c, next)
		}
		w, err := s.asker(c.Request())
		if err != nil {
			return s.tellError(c, err)
		}
		c.SetRequest(c.Request().WithContext(memory.WithWho(c.Request().Context(), w)))
		return s.oneOfMany(c, "account "+w.Account, next)
	}
}

// guest lets somebody with a key to one dog in to that dog. No other way leads by here, and
// no other way takes such a key: to asker it is none.
func (s *Server) guest(c echo.Context, next echo.HandlerFunc) error {
	key, ok := strings.CutPrefix(c.Request().Header.Get(echo.HeaderAuthorization), "Bearer ")
	if !ok {
		return s.tell(c, problem.New(http.StatusUnauthorized, wire.ReaderOf(c.Request().Context()).Say("problem.token")))
	}
	g, err := s.opt.Store.OpenShare(c.Request().Context(), strings.TrimSpace(key))
	if err != nil {
		return s.tellError(c, err)
	}
	c.SetRequest(c.Request().WithContext(memory.WithGuest(c.Request().Context(), g)))
	return s.oneOfMany(c, "share "+g.Share, next)
}

// asker is whom a token belongs to. Without one, on a server for one local
// account, it is that account's keeper, as long as no token was ever made: from
// then on everybody shows theirs.
func (s *Server) asker(r *http.Request) (store.Who, error) {
	if token, ok := strings.CutPrefix(r.Header.Get(echo.HeaderAuthorization), "Bearer "); ok {
		return s.opt.Store.Authenticate(r.Context(), strings.TrimSpace(token))
	}
	keyless, err := s.keyless(r) // then the door has looked where it comes from
	switch {
	case err != nil:
		return store.Who{}, err
	case !keyless:
		return store.Who{}, problem.New(http.StatusUnauthorized, wire.ReaderOf(r.Context()).Say("problem.token"))
	}
	return s.opt.Store.Local(r.Context()) // anew, should they have deleted it
}

// tellError is tell for any error.
func (s *Server) tellError(c echo.Context, err error) error {
	var p *problem.Problem
	if !errors.As(s.problem(c.Request().Context(), err), &p) {
		return err
	}
	return s.tell(c, p)
}

// tell answers with a problem outside the described operations.
func (s *Server) tell(c echo.Context, p *problem.Problem) error {
	p.Instance = c.Response().Header().Get(echo.HeaderXRequestID)
	c.Response().Header().Set(echo.HeaderContentType, "application/problem+json")
	if p.Status == http.StatusUnauthorized {
		c.Response().Header().Set(echo.HeaderWWWAuthenticate, `Bearer realm="wideberth"`)
	}
	for name, values := range p.GetHeaders() {
		c.Response().Header()[name] = values
	}
	c.Response().WriteHeader(p.Status)
	return c.Echo().JSONSerializer.Serialize(c, p, "")
}
