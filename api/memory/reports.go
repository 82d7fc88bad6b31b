package memory

import (
	"context"
	"net/http"

	"wideberth/api/knowledge"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
)

// standing is a report with what is thought of it now.
func (d *Desk) standing(r kept.Report, err error) (wire.KeptReport, error) {
	if err != nil {
		return wire.KeptReport{}, err
	}
	stands, err := knowledge.Spoken(&r).Standing(d.Now())
	return wire.NewKeptReport(r, stands), err
}

func (d *Desk) reportRoutes() {
	m := d.Store
	Keep(d, http.MethodGet, "/v1/reports", "reports", "What people of the account say of sources", func(ctx context.Context, w store.Who, _ *struct{}) ([]wire.KeptReport, error) {
		list, err := m.Reports(ctx, w)
		if err != nil {
			return nil, err
		}
		out := make([]wire.KeptReport, len(list))
		for i := range list {
			if out[i], err = d.standing(list[i], nil); err != nil {
				return nil, err
			}
		}
		return out, nil
	})
	Keep(d, http.MethodPost, "/v1/reports", "add-report", "Report a source that the map lacks, or say a word on one that it has", func(ctx context.Context, w store.Who, in *struct{ Body kept.ReportInput }) (wire.KeptReport, error) {
		return d.standing(m.AddReport(ctx, w, in.Body))
	})
	for path, there := range map[string]bool{"confirmation": true, "dispute": false} {
		Keep(d, http.MethodPost, "/v1/reports/{id}/"+path, path, "Say that a reported source is there, or is not", func(ctx context.Context, w store.Who, in *ByID) (wire.KeptReport, error) {
			return d.standing(m.State(ctx, w, in.ID, there))
		})
	}
	Drop(d, http.MethodDelete, "/v1/reports/{id}", "delete-report", "Delete a report", func(ctx context.Context, w store.Who, in *ByID) error {
		return m.DeleteReport(ctx, w, in.ID)
	})
}
