package api

import (
	"context"
	"net/http"

	"wideberth/api/store"
)

func (s *Server) reportRoutes() {
	m := s.opt.Store
	keep(s, http.MethodGet, "/v1/reports", "reports", "What people of the account say of sources", func(ctx context.Context, w store.Who, _ *struct{}) ([]store.Report, error) {
		list, err := m.Reports(ctx, w)
		return orEmpty(list), err
	})
	keep(s, http.MethodPost, "/v1/reports", "add-report", "Report a source that the map lacks, or say a word on one that it has", func(ctx context.Context, w store.Who, in *struct{ Body store.ReportInput }) (store.Report, error) {
		return m.AddReport(ctx, w, in.Body)
	})
	for path, there := range map[string]bool{"confirmation": true, "dispute": false} {
		keep(s, http.MethodPost, "/v1/reports/{id}/"+path, path, "Say that a reported source is there, or is not", func(ctx context.Context, w store.Who, in *ByID) (store.Report, error) {
			return m.State(ctx, w, in.ID, there)
		})
	}
	drop(s, http.MethodDelete, "/v1/reports/{id}", "delete-report", "Delete a report", func(ctx context.Context, w store.Who, in *ByID) error {
		return m.DeleteReport(ctx, w, in.ID)
	})
}
