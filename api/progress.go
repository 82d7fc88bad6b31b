package api

import (
	"context"
	"time"

	"wideberth/api/knowledge"
	"wideberth/api/store"
	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/osmdata/fault"
)

// ProgressBody is what was met on visits, oldest first.
type ProgressBody struct {
	Visits []VisitLog          `json:"visits" minItems:"1" maxItems:"500"`
	Rule   *store.TrainingRule `json:"rule,omitempty" doc:"When to move on; left out: common practice."`
}

// VisitLog counts one visit by trigger.
type VisitLog struct {
	Step int `json:"step" doc:"Place in the sequence; larger is harder."`
	VisitCount
}

// MoveInfo is what the rule proposes; a person decides.
type MoveInfo struct {
	Proposal    string `json:"proposal" enum:"stay,on,back"`
	Text        string `json:"text" doc:"The proposal with what it rests on."`
	Visits      int    `json:"visits" doc:"That were looked at."`
	Triggers    int    `json:"triggers"`
	Handled     int    `json:"handled"`
	TurnedBack  int    `json:"turned_back"`
	RefusedFood int    `json:"refused_food"`
	WentOver    int    `json:"went_over" doc:"In the last visit."`
}

func moveInfo(m *learning.Move) MoveInfo {
	proposal := [...]string{learning.Stay: "stay", learning.On: "on", learning.Back: "back"}[m.Direction]
	return MoveInfo{proposal, english.Move(m),
		m.Visits, m.Triggers, m.Handled, m.TurnedBack, m.RefusedFood, m.WentOver}
}

// progress answers POST /v1/visits/progress.
func (s *Server) progress(ctx context.Context, in *struct{ Body ProgressBody }) (*answered[MoveInfo], error) {
	rule := learning.DefaultRule()
	if r := in.Body.Rule; r != nil {
		if rule = learning.Rule(*r); rule.Check() != nil {
			return nil, s.problem(ctx, wrongRule("/rule", r))
		}
	}
	list := make([]learning.Visit, len(in.Body.Visits))
	for i, v := range in.Body.Visits {
		list[i] = v.counted(v.Step)
	}
	m, err := learning.Progress(list, rule)
	if err != nil {
		return nil, s.problem(ctx, fault.Problems{{Pointer: "/visits", Mend: err.Error()}})
	}
	return &answered[MoveInfo]{moveInfo(&m)}, nil
}

// wrongRule says what is wrong with a rule, nothing if it can be; pointer is where it
// stands.
func wrongRule(pointer string, r *store.TrainingRule) fault.Problems {
	if err := learning.Rule(*r).Check(); err != nil {
		return fault.Problems{{Pointer: pointer, Mend: err.Error()}}
	}
	return nil
}

// VisitDone counts what was logged of one visit.
type VisitDone struct {
	Walk    string    `json:"walk" doc:"Id of the walk that it was logged as."`
	Visit   int       `json:"visit" doc:"Its number in the sequence, from 1."`
	Started time.Time `json:"started"`
	VisitCount
	logged time.Time
}

// VisitCount counts a visit by trigger.
type VisitCount struct {
	Triggers    int `json:"triggers" doc:"Met while working."`
	Handled     int `json:"handled" doc:"Food taken and turned back, prompted or not."`
	TurnedBack  int `json:"turned_back,omitempty" doc:"Of them unprompted, the sign of learning."`
	RefusedFood int `json:"refused_food,omitempty"`
	WentOver    int `json:"went_over,omitempty"`
}

// visitDone counts what was logged of one visit to what it is about.
func visitDone(v *store.LoggedVisit, about []exposure.Kind) VisitDone {
	n := learning.CountVisit(v.Walk.Visit, knowledge.Meetings(v.Met), about)
	return VisitDone{Walk: v.Walk.ID, Visit: v.Walk.Visit, Started: v.Walk.Started, logged: v.Walk.Created,
		VisitCount: VisitCount{n.Triggers, n.Handled, n.TurnedBack, n.RefusedFood, n.WentOver}}
}

func (v *VisitCount) counted(step int) learning.Visit {
	return learning.Visit{Step: step, Triggers: v.Triggers, Handled: v.Handled, TurnedBack: v.TurnedBack, RefusedFood: v.RefusedFood, WentOver: v.WentOver}
}
