package api

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"time"

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
	return MoveInfo{proposal, evidence(m) + [...]string{learning.Stay: ". Stay at this step.", learning.On: ". Move on to the next step?", learning.Back: ". Go back one step?"}[m.Direction],
		m.Visits, m.Triggers, m.Handled, m.TurnedBack, m.RefusedFood, m.WentOver}
}

// progress answers POST /v1/visits/progress.
func (s *Server) progress(ctx context.Context, in *struct{ Body ProgressBody }) (*answered[MoveInfo], error) {
	rule := learning.DefaultRule()
	if r := in.Body.Rule; r != nil {
		if err := r.Check("/rule"); err != nil {
			return nil, s.problem(ctx, err)
		}
		rule = learning.Rule(*r)
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

// evidence says what a proposal rests on.
func evidence(m *learning.Move) string {
	text := fmt.Sprintf("%s, %d of %d handled, ", times(m.Visits, "visit", "visits"), m.Handled, m.Triggers)
	if m.WentOver == 0 {
		text += "none over threshold"
	} else {
		text += fmt.Sprintf("%d over threshold in the last", m.WentOver)
	}
	if m.RefusedFood > 0 {
		text += ", food refused " + times(m.RefusedFood, "time", "times")
	}
	if m.TurnedBack > 0 {
		text += ", turned back unprompted " + times(m.TurnedBack, "time", "times")
	}
	return text
}

func times(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, more)
}

// keptText says what is proposed, with its evidence and where it leads.
func keptText(m *learning.Move, q *Sequence, to, visits int) string {
	next := &q.Sequence.Visits[to-1]
	where := fmt.Sprintf("visit %d, %.0f m (%s times)", to, next.DistanceM, strconv.FormatFloat(next.Multiple, 'f', -1, 64))
	switch {
	case q.Paused:
		return "Paused: nothing is proposed."
	case visits == 0:
		return "Next: " + where + ". Nothing logged of it yet."
	case to == q.Step && m.Direction == learning.On:
		return evidence(m) + ". That was the last visit: it may be repeated at other hours and places."
	case to == q.Step && m.Direction == learning.Back:
		return evidence(m) + ". This is the farthest visit: plan one farther off?"
	case m.Direction == learning.On:
		return evidence(m) + ". Move on to " + where + "?"
	case m.Direction == learning.Back:
		return evidence(m) + ". Go back to " + where + "?"
	}
	return evidence(m) + ". Stay at " + where + "."
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

// countVisit counts the meetings of a visit that were with what it is about, or
// with nobody knows what. Handled is not going over and taking food, or turning
// back unprompted; refusing food that turning back went with is still refusing.
func countVisit(v *store.LoggedVisit, kinds []exposure.Kind) VisitDone {
	out := VisitDone{Walk: v.Walk.ID, Visit: v.Walk.Visit, Started: v.Walk.Started, logged: v.Walk.Created}
	for i := range v.Met {
		e := &v.Met[i]
		if !about(e.Kind, kinds) {
			continue
		}
		out.Triggers++
		switch {
		case e.Over != "":
			out.WentOver++
			continue
		case e.Food == "refused":
			out.RefusedFood++
			continue
		}
		if e.TurnedBack {
			out.TurnedBack++
		}
		if e.TurnedBack || e.Food == "taken" {
			out.Handled++
		}
	}
	return out
}

// about says that what was met may be of some kinds: it is one of them, the
// category of one, or not told.
func about(met string, kinds []exposure.Kind) bool {
	return met == "" || slices.ContainsFunc(kinds, func(k exposure.Kind) bool {
		return k.String() == met || k.Category().String() == met
	})
}

func (v *VisitCount) counted(step int) learning.Visit {
	return learning.Visit{Step: step, Triggers: v.Triggers, Handled: v.Handled, TurnedBack: v.TurnedBack, RefusedFood: v.RefusedFood, WentOver: v.WentOver}
}
