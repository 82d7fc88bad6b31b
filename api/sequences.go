package api

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"

	"wideberth/api/memory"
	"wideberth/api/problem"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/kept"
	"wideberth/exposure/learning"
	"wideberth/osmdata/fault"
	"wideberth/routing/briefing"
	"wideberth/routing/training"
)

// kept reads a kept sequence that the person may see.
func (s *Server) kept(ctx context.Context, w store.Who, id string) (d kept.Document, q wire.KeptSequence, err error) {
	if d, err = s.opt.Store.Document(ctx, w, kept.Sequences, id); err != nil {
		return d, q, err
	}
	q, err = wire.ReadSequence(d.Body)
	return d, q, err
}

// keptVisit is a visit of a kept sequence by its number, with the wish it answers,
// for the document's dog whatever the wish says.
func (s *Server) keptVisit(ctx context.Context, id string, number int) (*wire.PlannedVisit, *wire.VisitsBody, error) {
	w, err := memory.Who(ctx)
	if err != nil {
		return nil, nil, err
	}
	d, q, err := s.kept(ctx, w, id)
	if err != nil {
		return nil, nil, err
	}
	if number < 1 || number > len(q.Sequence.Visits) {
		return nil, nil, fault.Problems{{Pointer: "/visit", Value: strconv.Itoa(number), Mend: fmt.Sprintf("give the number of a visit of the sequence, 1 to %d", len(q.Sequence.Visits))}}
	}
	q.Wish.DogID, q.Wish.Dog = d.Dog, dogfile.File{}
	return &q.Sequence.Visits[number-1], &q.Wish, nil
}

// checkLogged says that a walk is no visit of the sequence that it names.
func (s *Server) checkLogged(ctx context.Context, w store.Who, in *kept.WalkInput) error {
	if in.Sequence == "" {
		return nil
	}
	_, q, err := s.kept(ctx, w, in.Sequence)
	if errors.Is(err, store.ErrNotFound) {
		return nil // the store tells this from one that was deleted since
	}
	if err == nil && in.Visit > len(q.Sequence.Visits) {
		err = fault.Problems{{Pointer: "/visit", Value: strconv.Itoa(in.Visit), Mend: fmt.Sprintf("the sequence has %d visits", len(q.Sequence.Visits))}}
	}
	return err
}

// rule is a sequence's own, the account's, or common practice.
func (s *Server) rule(ctx context.Context, w store.Who, q *wire.KeptSequence) (kept.TrainingRule, string, error) {
	if q.Rule != nil {
		return *q.Rule, "sequence", nil
	}
	account, err := s.opt.Store.Account(ctx, w)
	if err != nil || account.Settings.TrainingRule == (kept.TrainingRule{}) {
		return kept.TrainingRule(learning.DefaultRule()), "default", err
	}
	return account.Settings.TrainingRule, "account", nil
}

// progressOf holds the rule against what was logged of a sequence.
func (s *Server) progressOf(ctx context.Context, w store.Who, d *kept.Document, q *wire.KeptSequence) (wire.SequenceProgress, error) {
	out := wire.SequenceProgress{Step: q.Step, Of: len(q.Sequence.Visits), Paused: q.Paused, To: q.Step, Done: []wire.VisitDone{}, Caution: wire.ReaderOf(ctx).Say("visits.caution.stop") + " " + wire.ReaderOf(ctx).Say("caution.professional")}
	logged, err := s.opt.Store.Visits(ctx, w, d.Dog, d.ID)
	if err != nil {
		return out, err
	}
	stands := learning.Sequence{Step: q.Step, Of: out.Of, Paused: q.Paused}
	if n := len(q.Decisions); n > 0 {
		stands.Decided = q.Decisions[n-1].At
	}
	var done []learning.Logged
	for i := range logged {
		at := logged[i].Walk.Created
		if at.Before(d.Created) {
			continue // of another sequence that had this id
		}
		v := visitDone(&logged[i], q.Watching())
		out.Done = append(out.Done, v)
		done = append(done, learning.Logged{Visit: v.Counted(v.Visit), At: at})
	}
	if out.Rule, out.RuleFrom, err = s.rule(ctx, w, q); err != nil {
		return out, err
	}
	m, to, counted, err := stands.Advance(done, learning.Rule(out.Rule))
	if err != nil {
		return out, err
	}
	out.To = to
	out.MoveInfo = wire.NewMoveInfo(&m, wire.ReaderOf(ctx))
	next := &q.Sequence.Visits[out.To-1]
	out.Text = wire.ReaderOf(ctx).MoveTo(&m, briefing.Step{Number: out.To, DistanceM: next.DistanceM, Multiple: next.Multiple, Same: out.To == q.Step}, counted)
	if q.Paused {
		out.Text = wire.ReaderOf(ctx).Say("move.paused")
	}
	return out, nil
}

// decide changes where a sequence stands; for trainers.
func (s *Server) decide(ctx context.Context, w store.Who, id string, in *wire.DecisionBody) (kept.Document, error) {
	d, q, err := s.kept(ctx, w, id)
	if err != nil {
		return d, err
	}
	if w.Role == kept.Handler {
		return d, store.ErrForbidden
	}
	if d.Version != in.Version {
		return d, store.ErrConflict
	}
	if in.To > len(q.Sequence.Visits) {
		return d, fault.Problems{{Pointer: "/to", Value: strconv.Itoa(in.To), Mend: fmt.Sprintf("the sequence has %d visits", len(q.Sequence.Visits))}}
	}
	made := wire.Decision{At: s.now(), Person: w.Person, From: q.Step, To: cmp.Or(in.To, q.Step), Paused: q.Paused, Note: in.Note}
	if in.Paused != nil {
		made.Paused = *in.Paused
	}
	if made.Paused && made.To != q.Step {
		return d, problem.New(http.StatusConflict, wire.ReaderOf(ctx).Say("problem.paused"))
	}
	p, err := s.progressOf(ctx, w, &d, &q)
	if err != nil {
		return d, err
	}
	made.Proposal = p.Proposal
	if d.Body, err = wire.Changed(d.Body, map[string]any{"step": made.To, "paused": made.Paused, "decisions": append(q.Decisions, made)}); err != nil {
		return d, err
	}
	return s.opt.Store.PutDocument(ctx, w, d)
}

// copySequence plans a sequence anew for another dog, with its distances and at
// the places of the old one where they fit; for trainers.
func (s *Server) copySequence(ctx context.Context, w store.Who, id string, in *wire.CopyBody) (kept.Document, error) {
	from, q, err := s.kept(ctx, w, id)
	if err != nil {
		return from, err
	}
	if w.Role == kept.Handler {
		return from, store.ErrForbidden
	}
	wish := q.Copied(in, s.now())
	seq, err := s.sequence(ctx, &wish)
	if err != nil {
		return from, err
	}
	if len(seq.Visits) == 0 {
		text := wire.ReaderOf(ctx).Say("problem.no_sequence")
		if len(seq.Lacks) > 0 {
			text += ": " + seq.Lacks[0].Text
		}
		return from, problem.New(http.StatusUnprocessableEntity, text)
	}
	body, err := json.Marshal(map[string]any{"wish": wish, "sequence": seq, "step": 1, "paused": false, "copied_from": id})
	if err == nil && q.Rule != nil {
		body, err = wire.Changed(body, map[string]any{"rule": q.Rule})
	}
	if err != nil {
		return from, err
	}
	return s.opt.Store.PutDocument(ctx, w, kept.Document{Kind: kept.Sequences, ID: in.ID, Dog: in.Dog, Body: body})
}

// sequence plans a sequence and holds the rule of bite histories.
func (s *Server) sequence(ctx context.Context, b *wire.VisitsBody) (out wire.Sequence, err error) {
	w, p, held, err := s.visitsWish(ctx, b)
	if err != nil {
		return out, err
	}
	var seq *training.Sequence
	if err := s.searching(ctx, func() (err error) {
		seq, err = training.Visits(ctx, p, w)
		return err
	}); err != nil {
		return out, err
	}
	out = wire.NewSequence(seq, p.Land(), wire.ReaderOf(ctx))
	if held {
		out.Lacks = append(out.Lacks, wire.Lack{Why: "bite", Multiple: wire.NearStep, Text: wire.ReaderOf(ctx).Say("caution.trainer")})
	}
	return out, nil
}

func (s *Server) sequenceRoutes() {
	memory.Keep(s.desk, http.MethodGet, "/v1/visits/{id}/progress", "sequence-progress", "Move on, stay or go back? From what was logged of a kept sequence", func(ctx context.Context, w store.Who, in *memory.ByID) (wire.SequenceProgress, error) {
		d, q, err := s.kept(ctx, w, in.ID)
		if err != nil {
			return wire.SequenceProgress{}, err
		}
		return s.progressOf(ctx, w, &d, &q)
	})
	memory.Keep(s.desk, http.MethodPost, "/v1/visits/{id}/decisions", "decide-visit", "A person decides: which visit is next, pause, go on", func(ctx context.Context, w store.Who, in *struct {
		memory.ByID
		Body wire.DecisionBody
	}) (kept.Document, error) {
		return s.decide(ctx, w, in.ID, &in.Body)
	})
	memory.Keep(s.desk, http.MethodPost, "/v1/visits/{id}/copy", "copy-sequence", "Plan a kept sequence anew for another dog", func(ctx context.Context, w store.Who, in *struct {
		memory.ByID
		Body wire.CopyBody
	}) (kept.Document, error) {
		return s.copySequence(ctx, w, in.ID, &in.Body)
	})
}
