package api

import (
	"context"

	"wideberth/api/knowledge"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/osmdata/fault"
)

// progress answers POST /v1/visits/progress.
func (s *Server) progress(ctx context.Context, in *struct{ Body wire.ProgressBody }) (*answered[wire.MoveInfo], error) {
	rule := learning.DefaultRule()
	if r := in.Body.Rule; r != nil {
		if rule = learning.Rule(*r); rule.Check() != nil {
			return nil, s.problem(ctx, wire.WrongRule("/rule", r))
		}
	}
	list := make([]learning.Visit, len(in.Body.Visits))
	for i, v := range in.Body.Visits {
		list[i] = v.Counted(v.Step)
	}
	m, err := learning.Progress(list, rule)
	if err != nil {
		return nil, s.problem(ctx, fault.Problems{{Pointer: "/visits", Mend: err.Error()}})
	}
	return &answered[wire.MoveInfo]{wire.NewMoveInfo(&m, wire.ReaderOf(ctx))}, nil
}

// visitDone counts what was logged of one visit to what it is about.
func visitDone(v *store.LoggedVisit, about []exposure.Kind) wire.VisitDone {
	n := learning.CountVisit(v.Walk.Visit, knowledge.Meetings(v.Met), about)
	return wire.VisitDone{Walk: v.Walk.ID, Visit: v.Walk.Visit, Started: v.Walk.Started, VisitCount: wire.NewVisitCount(n)}
}
