package api

import (
	"context"
	"errors"
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
var errNoMemory = errors.New("this server keeps no dogs or walks: start it with --store")

// free are the paths that nobody needs a token for: the program's health, its
// description and its page.
func free(path string) bool {
	return !strings.HasPrefix(path, "/v1/")
}

// authorise finds out who asks. On a server for one local account everybody is
// its keeper; elsewhere a token is asked for.
func (s *Server) authorise(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		if s.opt.Store == nil || free(c.Request().URL.Path) {
			return next(c)
		}
		w := s.opt.Local
		if w == (store.Who{}) {
			token, ok := strings.CutPrefix(c.Request().Header.Get(echo.HeaderAuthorization), "Bearer ")
			if !ok {
				return s.tell(c, newProblem(http.StatusUnauthorized, "a token is needed: send it as Authorization: Bearer TOKEN"))
			}
			var err error
			if w, err = s.opt.Store.Authenticate(c.Request().Context(), strings.TrimSpace(token)); err != nil {
				var p *Problem
				if !errors.As(s.problem(c.Request().Context(), err), &p) {
					return err
				}
				return s.tell(c, p)
			}
		}
		c.SetRequest(c.Request().WithContext(context.WithValue(c.Request().Context(), whoKey{}, w)))
		return next(c)
	}
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
