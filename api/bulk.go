package api

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"sync"

	"github.com/danielgtaylor/huma/v2"
	"github.com/labstack/echo/v4"

	"wideberth/api/body"
	"wideberth/api/origin"
	"wideberth/api/problem"
	"wideberth/api/wire"
)

// largeBytes is from where on a body is large: what is smaller costs little, whatever
// is in it.
const largeBytes = 64 << 10

// taken is what an operation takes as its body.
type taken struct {
	most   int64        // bytes
	schema *huma.Schema // nil if it is not JSON
}

// largeKey is where the function stands in a request's context that ends the taking
// apart of a large body.
type largeKey struct{}

// bulk lets few large bodies be taken apart at once: as values each is some thirty times
// as large as it was sent. It is read first, so that who sends slowly holds up nobody;
// and one that is full of faults is refused before each of them is described.
func (s *Server) bulk(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		req := c.Request()
		takes := s.bodies[req.Method+" "+c.Path()]
		if takes.most == 0 || req.ContentLength >= 0 && req.ContentLength <= largeBytes || req.ContentLength > takes.most {
			return next(c) // small, or about to be refused
		}
		sent, err := io.ReadAll(io.LimitReader(req.Body, takes.most+1))
		rest := io.Reader(req.Body)
		if err != nil {
			rest = broken{err}
		}
		req.Body = struct {
			io.Reader
			io.Closer
		}{io.MultiReader(bytes.NewReader(sent), rest), req.Body}
		if err != nil || len(sent) <= largeBytes || int64(len(sent)) > takes.most {
			return next(c)
		}
		name := origin.Asker(req.Context())
		leave, err := s.large.Enter(req.Context(), name)
		if err != nil {
			return s.tellError(c, err)
		}
		leave = sync.OnceFunc(leave)
		defer leave()
		if body.Faulty(s.api.OpenAPI().Components.Schemas, takes.schema, sent) {
			return s.tell(c, problem.New(http.StatusUnprocessableEntity, wire.ReaderOf(c.Request().Context()).Say("problem.many_faults", "n", body.MostFaults)))
		}
		c.SetRequest(req.WithContext(context.WithValue(req.Context(), largeKey{}, leave)))
		return next(c)
	}
}

// apart says that a request's body, if it was a large one, is taken apart, so that
// another can be.
func apart(ctx context.Context) {
	if leave, ok := ctx.Value(largeKey{}).(func()); ok {
		leave()
	}
}

// broken is what could not be read of a body.
type broken struct{ err error }

func (b broken) Read([]byte) (int, error) { return 0, b.err }

// measureBodies finds out what each route takes.
func (s *Server) measureBodies() {
	s.bodies = map[string]taken{}
	for path, item := range s.api.OpenAPI().Paths {
		for _, op := range []*huma.Operation{item.Post, item.Put} {
			if op == nil {
				continue
			}
			t := taken{most: op.MaxBodyBytes}
			if op.RequestBody != nil && op.RequestBody.Content["application/json"] != nil {
				t.schema = op.RequestBody.Content["application/json"].Schema
			}
			s.bodies[op.Method+" "+inRoute.Replace(path)] = t
		}
	}
}
