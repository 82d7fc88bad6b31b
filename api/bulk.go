package api

import (
	"bytes"
	"context"
	"io"
	"net/http"
	"sync"

	"github.com/danielgtaylor/huma/v2"
	"github.com/labstack/echo/v4"
)

const (
	// largeBytes is from where on a body is large: what is smaller costs little, whatever
	// is in it.
	largeBytes = 64 << 10
	// mostFaults are looked for in a large body: each costs about a kB before twenty of
	// them are told.
	mostFaults = 10_000
)

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
		body, err := io.ReadAll(io.LimitReader(req.Body, takes.most+1))
		rest := io.Reader(req.Body)
		if err != nil {
			rest = broken{err}
		}
		req.Body = struct {
			io.Reader
			io.Closer
		}{io.MultiReader(bytes.NewReader(body), rest), req.Body}
		if err != nil || len(body) <= largeBytes || int64(len(body)) > takes.most {
			return next(c)
		}
		name, _ := req.Context().Value(askerKey{}).(string)
		leave, err := s.large.Enter(req.Context(), name)
		if err != nil {
			return s.tellError(c, err)
		}
		leave = sync.OnceFunc(leave)
		defer leave()
		if s.faulty(takes.schema, body) {
			return s.tell(c, newProblem(http.StatusUnprocessableEntity, english.Say("problem.many_faults", "n", mostFaults)))
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

// faulty says that a body has more faults by its schema than are looked for.
func (s *Server) faulty(schema *huma.Schema, body []byte) bool {
	var v any
	if schema == nil || unmarshalPlain(body, &v) != nil {
		return false
	}
	f := faults{registry: s.api.OpenAPI().Components.Schemas, path: huma.NewPathBuffer(nil, 0)}
	f.look(schema, v)
	return f.found > mostFaults
}

// faults counts what huma's validation would find, part by part, and stops where it is
// too much: huma itself lists all.
type faults struct {
	registry huma.Registry
	path     *huma.PathBuffer
	result   huma.ValidateResult
	found    int
}

func (f *faults) look(s *huma.Schema, v any) {
	for s != nil && s.Ref != "" {
		s = f.registry.SchemaFromRef(s.Ref)
	}
	if s == nil || f.found > mostFaults {
		return
	}
	list, isList := v.([]any)
	object, isObject := v.(map[string]any)
	switch {
	case s.Type == huma.TypeArray && isList:
		for _, x := range list {
			f.look(s.Items, x)
		}
	case s.Type == huma.TypeObject && isObject:
		for _, name := range s.Required {
			if _, there := object[name]; !there {
				f.found++
			}
		}
		for name, x := range object {
			f.member(s, name, x)
		}
	default: // no parts, or not those that it should have
		huma.Validate(f.registry, s, f.path, huma.ModeWriteToServer, v, &f.result)
		f.found += len(f.result.Errors)
		f.result.Reset()
	}
}

// member looks at a member of an object.
func (f *faults) member(s *huma.Schema, name string, x any) {
	if property, known := s.Properties[name]; known {
		f.look(property, x)
	} else if other, ok := s.AdditionalProperties.(*huma.Schema); ok {
		f.look(other, x)
	} else if s.AdditionalProperties == false {
		f.found++
	}
}

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
