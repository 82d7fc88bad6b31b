package api

import (
	"bytes"
	"context"
	"errors"
	"math"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/routing/counts"
)

// CountReport says how far the predicted levels lie from what was counted by hand: by
// people of the account, and in the file that the map was imported with.
type CountReport struct {
	Lines       []CountLine  `json:"lines"`
	Scores      []CountScore `json:"scores" doc:"By what was counted, of predictions from the map alone."`
	OffTheMap   int          `json:"off_the_map" doc:"Counts that lie on no way of this map."`
	Attribution string       `json:"attribution"`
}

// CountLine is what one count says of one kind.
type CountLine struct {
	Start     string  `json:"start"`
	Minutes   float64 `json:"minutes"`
	Street    string  `json:"street"`
	What      string  `json:"what" enum:"dogs,people,wheels,traffic"`
	Counted   float64 `json:"counted"`
	Predicted float64 `json:"predicted" doc:"From the map alone, for the same place, hour and month."`
	Bound     float64 `json:"with_all_counts"`
}

// CountScore is how far predictions lie from counts.
type CountScore struct {
	What    string  `json:"what" enum:"dogs,people,wheels,traffic"`
	N       int     `json:"n" doc:"Counts with somebody both counted and predicted."`
	Mean    float64 `json:"predicted_over_counted" doc:"Geometric mean; 1 is right."`
	Scatter float64 `json:"scatter,omitempty" doc:"Factor; left out where there is but one."`
	Within3 int     `json:"within_three" doc:"Of n: predictions within a factor of three."`
}

// countReport tells a report; all are the counts that it is about.
func (s *Server) countReport(all []exposure.Count, r *counts.Report) CountReport {
	out := CountReport{Lines: []CountLine{}, Scores: []CountScore{}, OffTheMap: r.Lost, Attribution: wire.Attribution}
	for _, l := range r.Lines {
		c := &all[l.Count]
		out.Lines = append(out.Lines, CountLine{c.Start.In(s.planner.Zone()).Format("2006-01-02T15:04:05Z07:00"), c.Minutes, l.Street, l.Of.String(),
			l.Counted, tenths(l.Predicted), tenths(l.Bound)})
	}
	for of := range exposure.Sounds {
		x := r.Scores[of]
		if x.N == 0 {
			continue
		}
		score := CountScore{What: of.String(), N: x.N, Mean: math.Round(100*x.GM) / 100, Within3: x.Within3}
		if x.N > 1 {
			score.Scatter = math.Round(100*x.Scatter) / 100
		}
		out.Scores = append(out.Scores, score)
	}
	return out
}

// others is what the pointers of counts begin with that were kept before.
const others = "/others"

// checkCount holds a count against the map and what the account counted before.
func (s *Server) checkCount(in *exposure.Count) func([]exposure.Count) error {
	return func(before []exposure.Count) error {
		list := append(before[:len(before):len(before)], *in)
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
	keep(s, http.MethodGet, "/v1/counts", "counts", "What people of the account counted by hand, latest first", func(ctx context.Context, w store.Who, _ *struct{}) ([]store.Count, error) {
		return m.Counts(ctx, w)
	})
	keep(s, http.MethodPost, "/v1/counts", "add-count", "Count by hand who passes a place: it binds the levels there, for all of the account", func(ctx context.Context, w store.Who, in *struct {
		Repeated
		Body store.CountInput
	}) (store.Count, error) {
		in.Body.Key = orKey(in.Body.Key, in.Key)
		return m.AddCount(ctx, w, in.Body, s.checkCount(&in.Body.Count))
	})
	drop(s, http.MethodDelete, "/v1/counts/{id}", "delete-count", "Delete a count", func(ctx context.Context, w store.Who, in *ByID) error {
		return m.DeleteCount(ctx, w, in.ID)
	})
	keep(s, http.MethodGet, "/v1/counts/report", "counts-report", "How far the predicted levels lie from what was counted", func(ctx context.Context, w store.Who, _ *struct{}) (out CountReport, err error) {
		all, list, err := s.allCounts(ctx, w)
		if err != nil {
			return out, err
		}
		err = s.searching(ctx, func() error {
			_, report, err := s.planner.WithCounts(list)
			if err == nil {
				out = s.countReport(all, report)
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
		own = append(own, kept[i].Count)
	}
	return append(append(all, s.planner.Snapshot().Counts...), own...), own, nil
}

type tableOutput struct {
	Type string `header:"Content-Type"`
	Body []byte
}

// exportCounts answers GET /v1/counts/export.csv.
func (s *Server) exportCounts(ctx context.Context, _ *struct{}) (*tableOutput, error) {
	w, err := who(ctx)
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
