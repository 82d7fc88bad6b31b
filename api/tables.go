package api

import (
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/wire"
	"wideberth/api/wire/roster"
)

// readTables answers POST /v1/outings/tables.
func (s *Server) readTables(ctx context.Context, in *struct{ Body roster.Body }) (*answered[roster.Lists], error) {
	m, err := s.atOrFirst(ctx, "/gate", in.Body.Gate)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	lists, err := in.Body.Read(m.Planner.Zone())
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[roster.Lists]{lists}, nil
}

// writeTable answers POST /v1/outings/table.
func (s *Server) writeTable(ctx context.Context, in *struct{ Body roster.WrittenBody }) (*tableOutput, error) {
	gate := in.Body.Gate
	if t := in.Body.Timetable; t != nil && gate == nil {
		gate = &wire.LatLon{Lat: t.GatePosition[1], Lon: t.GatePosition[0]}
	}
	m, err := s.atOrFirst(ctx, "/gate", gate)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	table, err := in.Body.Write(m.Planner.Zone())
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &tableOutput{"text/csv; charset=utf-8; header=present", table}, nil
}

func (s *Server) tableRoutes() {
	op := func(id, path, summary, text string) huma.Operation {
		return huma.Operation{OperationID: id, Method: http.MethodPost, Path: path, Summary: summary, Description: text, Tags: []string{"outings"},
			MaxBodyBytes: maxTimetableBytes, Errors: []int{400, 413, 422}}
	}
	huma.Register(s.api, op("read-outing-tables", "/v1/outings/tables", "Read tables of dogs and people",
		"As a spreadsheet writes them (RFC 4180; commas, semicolons or tabs): the lists that an outing takes. What cannot be read is told by row and column, and then nothing is taken; columns that are not known are named."), s.readTables)
	table := op("write-outing-table", "/v1/outings/table", "Dogs, people or walks as a table", "Dogs and people as POST /v1/outings/tables reads them; what a table has no cell for is refused.")
	table.Responses = map[string]*huma.Response{"200": {Description: "The table", Content: map[string]*huma.MediaType{"text/csv": {}}}}
	huma.Register(s.api, table, s.writeTable)
}
