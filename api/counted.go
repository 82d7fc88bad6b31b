package api

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/memory"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/routing/atlas"
	"wideberth/routing/counts"
)

// others is what the pointers of counts begin with that were kept before.
const others = "/others"

// checkCount holds a count against the map of its place and what the account counted
// there before.
func (s *Server) checkCount(ctx context.Context, in exposure.Count) func([]exposure.Count) error {
	return func(all []exposure.Count) error {
		m, err := s.at(ctx, "/lat", wire.LatLon{Lat: in.Lat, Lon: in.Lon})
		if err != nil {
			return err
		}
		before := slices.DeleteFunc(slices.Clone(all), func(c exposure.Count) bool { return !view(ctx).Shows(m, c.Lon, c.Lat) })
		list := append(before[:len(before):len(before)], in)
		wrong := m.Planner.Land().CountMap().Check(list, func(i int) (pointer, told string) {
			if i < len(before) {
				return others, "that of " + before[i].Start.In(m.Planner.Zone()).Format("2 Jan 2006 15:04")
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
		return m.AddCount(ctx, w, in.Body, s.checkCount(ctx, in.Body.Model()))
	})
	memory.Drop(s.desk, http.MethodDelete, "/v1/counts/{id}", "delete-count", "Delete a count", func(ctx context.Context, w store.Who, in *memory.ByID) error {
		return m.DeleteCount(ctx, w, in.ID)
	})
	memory.Keep(s.desk, http.MethodGet, "/v1/counts/report", "counts-report", "How far the predicted levels lie from what was counted", func(ctx context.Context, w store.Who, _ *struct{}) (out wire.CountReport, err error) {
		own, err := s.ownCounts(ctx, w)
		if err != nil {
			return out, err
		}
		maps, lost, err := s.byMap(ctx, own)
		if err != nil {
			return out, err
		}
		err = s.searching(ctx, func() error {
			var told []wire.CountsOnMap
			for m, list := range maps {
				_, report, err := m.Planner.WithCounts(list)
				if err != nil {
					return err
				}
				told = append(told, wire.CountsOnMap{All: slices.Concat(m.Planner.Snapshot().Counts, list), Report: report, Zone: m.Planner.Zone()})
			}
			slices.SortFunc(told, func(a, b wire.CountsOnMap) int { return cmp.Compare(len(b.All), len(a.All)) })
			out = wire.NewCountReport(told, lost)
			return nil
		})
		return out, err
	})
	huma.Register(s.api, huma.Operation{OperationID: "export-counts", Method: http.MethodGet, Path: "/v1/counts/export.csv", Tags: []string{"memory"},
		Summary: "What people of the account counted, as a table that import --counts reads (RFC 4180)", Errors: []int{401, 403},
		Responses: map[string]*huma.Response{"200": {Description: "The table", Content: map[string]*huma.MediaType{"text/csv": {}}}}}, s.exportCounts)
}

// ownCounts are what people of the account counted.
func (s *Server) ownCounts(ctx context.Context, w store.Who) (own []exposure.Count, err error) {
	kept, err := s.opt.Store.Counts(ctx, w)
	for i := range kept {
		own = append(own, kept[i].Model())
	}
	return own, err
}

// byMap parts counts by the maps that they lie on, and says how many lie on none.
func (s *Server) byMap(ctx context.Context, list []exposure.Count) (maps map[*atlas.Sheet][]exposure.Count, lost int, err error) {
	maps = map[*atlas.Sheet][]exposure.Count{}
	if len(view(ctx).Tiles()) == 1 { // which may have been imported with counts
		m, err := s.first(ctx)
		maps[m] = list
		return maps, 0, err
	}
	for _, c := range list {
		m, err := view(ctx).At(ctx, c.Lon, c.Lat)
		if nowhere := (*atlas.NowhereError)(nil); errors.As(err, &nowhere) {
			lost++
			continue
		} else if err != nil {
			return nil, 0, err
		}
		maps[m] = append(maps[m], c)
	}
	return maps, lost, nil
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
	own, err := s.ownCounts(ctx, w)
	var table bytes.Buffer
	if err = errors.Join(err, counts.Write(&table, own)); err != nil {
		return nil, s.problem(ctx, err)
	}
	return &tableOutput{"text/csv; charset=utf-8; header=present", table.Bytes()}, nil
}
