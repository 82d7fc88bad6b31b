package api

import (
	"context"
	"errors"
	"net/http"
	"strings"

	"github.com/labstack/echo/v4"

	"wideberth/api/origin"
	"wideberth/api/problem"
	"wideberth/api/wire"
)

// problem is what is told outside of any error. What is our own fault is written down.
func (s *Server) problem(ctx context.Context, err error) error {
	if err == nil {
		return nil
	}
	p, ours := problem.Of(err, wire.ReaderOf(ctx))
	if ours != "" {
		s.log.Error(ours, "err", err, "id", origin.ID(ctx))
	}
	if ours == problem.Internal {
		p.Instance = origin.ID(ctx)
	}
	return p
}

// echoProblem answers errors that arise outside the described operations: wrong
// paths and methods, bodies that are too large, panics.
func (s *Server) echoProblem(err error, c echo.Context) {
	if c.Response().Committed {
		return
	}
	p := problem.New(http.StatusInternalServerError, wire.ReaderOf(c.Request().Context()).Say("problem.internal"))
	var he *echo.HTTPError
	if errors.As(err, &he) {
		if he.Code != http.StatusInternalServerError {
			p = problem.New(he.Code, strings.ToLower(http.StatusText(he.Code)))
		}
	} else {
		s.log.Error("stray error", "err", err, "id", c.Response().Header().Get(echo.HeaderXRequestID))
	}
	p.Instance = c.Response().Header().Get(echo.HeaderXRequestID)
	c.Response().Header().Set(echo.HeaderContentType, "application/problem+json")
	if c.Request().Method == http.MethodHead {
		_ = c.NoContent(p.Status)
		return
	}
	c.Response().WriteHeader(p.Status)
	_ = c.Echo().JSONSerializer.Serialize(c, p, "")
}
