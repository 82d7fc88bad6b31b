package memory

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"reflect"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/origin"
	"wideberth/api/problem"
	"wideberth/api/store"
	"wideberth/api/wire/kept"
)

// exportRoutes give a dog's own: all of it as JSON, and parts as files. They go out
// row by row, so that a large one costs no more memory than a small one.
func (d *Desk) exportRoutes() {
	registry := d.API.OpenAPI().Components.Schemas
	everything := registry.Schema(reflect.TypeFor[kept.Everything](), true, "Everything")
	d.export("export", "/v1/dogs/{id}/export", "All that is kept about a dog", "application/json", store.ExportJSON, everything)
	d.export("export-csv", "/v1/dogs/{id}/export.csv", "A dog's meetings as a table (RFC 4180)", "text/csv; charset=utf-8; header=present", store.ExportCSV, nil)
	d.export("export-gpx", "/v1/dogs/{id}/export.gpx", "A dog's tracks and meetings as GPX 1.1", "application/gpx+xml", store.ExportGPX, nil)
}

// export registers one form. An error after the first byte breaks the connection, so
// that nobody takes half of it for the whole.
func (d *Desk) export(id, path, summary, contentType string, form store.ExportForm, schema *huma.Schema) {
	media, _, _ := strings.Cut(contentType, ";")
	huma.Register(d.API, huma.Operation{
		OperationID: id, Method: http.MethodGet, Path: path, Summary: summary, Tags: []string{"memory"}, Errors: []int{401, 403, 404, 422, 429, 503},
		Responses: map[string]*huma.Response{"200": {Description: "The export", Content: map[string]*huma.MediaType{media: {Schema: schema}}}},
	}, func(ctx context.Context, in *ByID) (*huma.StreamResponse, error) {
		w, err := Who(ctx)
		if err != nil {
			return nil, d.Problem(ctx, err)
		}
		name := origin.Asker(ctx)
		leave, err := d.Gate.Enter(ctx, name)
		if err != nil {
			return nil, d.Problem(ctx, err)
		}
		return &huma.StreamResponse{Body: func(hc huma.Context) {
			defer leave()
			out := &late{hc: hc, contentType: contentType}
			if form != store.ExportJSON {
				out.disposition = fmt.Sprintf(`attachment; filename="dog-%s%s"`, in.ID, path[len("/v1/dogs/{id}/export"):])
			}
			err := d.Store.Export(ctx, w, in.ID, form, out)
			switch {
			case err == nil:
			case out.begun:
				d.Log.Warn("export broke off", "id", origin.ID(ctx), "err", err)
				panic(http.ErrAbortHandler)
			default:
				d.refuse(hc, d.Problem(ctx, err))
			}
		}}, nil
	})
}

// refuse answers with a problem where huma has handed over.
func (d *Desk) refuse(hc huma.Context, err error) {
	var p *problem.Problem
	if !errors.As(err, &p) {
		panic(err) // problem makes nothing else
	}
	for name, values := range p.GetHeaders() {
		hc.SetHeader(name, values[0])
	}
	hc.SetHeader("Content-Type", p.ContentType(""))
	hc.SetStatus(p.Status)
	_ = json.NewEncoder(hc.BodyWriter()).Encode(p) // whoever asked is gone, or it is written
}

// late sets the header of an answer with its first byte.
type late struct {
	hc          huma.Context
	contentType string
	disposition string
	begun       bool
}

func (l *late) Write(p []byte) (int, error) {
	if !l.begun {
		l.begun = true
		l.hc.SetHeader("Content-Type", l.contentType)
		if l.disposition != "" {
			l.hc.SetHeader("Content-Disposition", l.disposition)
		}
		l.hc.SetStatus(http.StatusOK)
	}
	return l.hc.BodyWriter().Write(p)
}
