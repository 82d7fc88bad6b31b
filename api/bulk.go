package api

import (
	"bytes"
	"context"
	"errors"
	"io"

	"github.com/danielgtaylor/huma/v2"
	"github.com/labstack/echo/v4"
)

// bulk lets few large bodies be taken apart at once: as values each is some thirty times
// as large as it was sent. It is read first, so that who sends slowly holds up nobody.
func (s *Server) bulk(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		req := c.Request()
		most := s.bodies[req.Method+" "+c.Path()]
		if most <= maxBodyBytes || req.ContentLength >= 0 && req.ContentLength <= maxBodyBytes || req.ContentLength > most {
			return next(c) // small, or about to be refused
		}
		body, err := io.ReadAll(io.LimitReader(req.Body, most+1))
		rest := req.Body
		if err != nil {
			rest = io.NopCloser(broken{err})
		}
		req.Body = struct {
			io.Reader
			io.Closer
		}{io.MultiReader(bytes.NewReader(body), rest), req.Body}
		if err != nil || len(body) <= maxBodyBytes || int64(len(body)) > most {
			return next(c)
		}
		err = s.quickly(req.Context(), s.large, func() error { return next(c) })
		if errors.Is(err, errBusy) || errors.Is(err, errCrowd) || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
			return s.tellError(c, err)
		}
		return err
	}
}

// broken is what could not be read of a body.
type broken struct{ err error }

func (b broken) Read([]byte) (int, error) { return 0, b.err }

// measureBodies finds out how long a body each route takes.
func (s *Server) measureBodies() {
	s.bodies = map[string]int64{}
	for path, item := range s.api.OpenAPI().Paths {
		for _, op := range []*huma.Operation{item.Post, item.Put} {
			if op != nil {
				s.bodies[op.Method+" "+inRoute.Replace(path)] = op.MaxBodyBytes
			}
		}
	}
}
