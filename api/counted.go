package api

import (
	"bytes"
	"context"
	"errors"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/memory"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/routing/counts"
)

// others is what the pointers of counts begin with that were kept before.
const others = "/others"

// checkCount holds a count against the map and what the account counted before.
func (s *Server) checkCount(in exposure.Count) func([]exposure.Count) error {
	return func(before []exposure.Count) error {
		list := append(before[:len(before):len(before)], in)
		wrong := s.planner.Land().CountMap().Check(list, func(i int) (pointer, told string) {
			if i < len(before) {
				return others, "that of " + before[i].Start.In(s.planner.Zone()).Format("2 Jan 2006 15:04")
			}
			return "", ""
		})
		var mine fault.Problems
		for _, p := range wrong {
			if !strings.HasPrefix(p.Pointer, others) {
				mine = append(mine, p)
			}
		}
		if len(mine) > 0 {
			return mine
		}
		return nil
	}
}

func (s *Server) countRoutes() {
	m := s.opt.Store
	memory.Keep(s.desk, http.MethodGet, "/v1/counts", "counts", "What people of the account counted by hand, latest first", func(ctx context.Context, w store.Who, _ *struct{}) ([]kept.Count, error) {
		return m.Counts(ctx, w)
	})
	memory.Keep(s.desk, http.MethodPost, "/v1/counts", "add-count", "Count by hand who passes a place: it binds the levels there, for all of the account", func(ctx context.Context, w store.Who, in *struct {
		memory.Repeated
		Body kept.CountInput
	}) (kept.Count, error) {
		in.Body.Key = orKey(in.Body.Key, in.Key)
		return m.AddCount(ctx, w, in.Body, s.checkCount(in.Body.Model()))
	})
	memory.Drop(s.desk, http.MethodDelete, "/v1/counts/{id}", "delete-count", "Delete a count", func(ctx context.Context, w store.Who, in *memory.ByID) error {
		return m.DeleteCount(ctx, w, in.ID)
	})
	memory.Keep(s.desk, http.MethodGet, "/v1/counts/report", "counts-report", "How far the predicted levels lie from what was counted", func(ctx context.Context, w store.Who, _ *struct{}) (out wire.CountReport, err error) {
		all, list, err := s.allCounts(ctx, w)
		if err != nil {
			return out, err
		}
		err = s.searching(ctx, func() error {
			_, report, err := s.planner.WithCounts(list)
			if err == nil {
				out = wire.NewCountReport(all, report, s.planner.Zone())
			}
			return err
		})
		return out, err
	})
	huma.Register(s.api, huma.Operation{OperationID: "export-counts", Method: http.MethodGet, Path: "/v1/counts/export.csv", Tags: []string{"memory"},
		Summary: "What people of the account counted, as a table that import --counts reads (RFC 4180)", Errors: []int{401, 403},
		Responses: map[string]*huma.Response{"200": {Description: "The table", Content: map[string]*huma.MediaType{"text/csv": {}}}}}, s.exportCounts)
}

// allCounts are those of the map and of the account, and the account's alone.
func (s *Server) allCounts(ctx context.Context, w store.Who) (all, own []exposure.Count, err error) {
	kept, err := s.opt.Store.Counts(ctx, w)
	if err != nil {
		return nil, nil, err
	}
	for i := range kept {
		own = append(own, kept[i].Model())
	}
	return append(append(all, s.planner.Snapshot().Counts...), own...), own, nil
}

type tableOutput struct {
	Type string `header:"Content-Type"`
	Body []byte
}

// exportCounts answers GET /v1/counts/export.csv.
func (s *Server) exportCounts(ctx context.Context, _ *struct{}) (*tableOutput, error) {
	w, err := memory.Who(ctx)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	_, own, err := s.allCounts(ctx, w)
	var table bytes.Buffer
	if err = errors.Join(err, counts.Write(&table, own)); err != nil {
		return nil, s.problem(ctx, err)
	}
	return &tableOutput{"text/csv; charset=utf-8; header=present", table.Bytes()}, nil
}
