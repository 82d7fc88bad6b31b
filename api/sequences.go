package api

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/osmdata/fault"
	"wideberth/routing/briefing"
	"wideberth/routing/training"
)

// Sequence is the body of a document of the kind visits: a sequence of training
// visits as it lives with its dog. Members that are not named here are kept too.
type Sequence struct {
	Wish      VisitsBody          `json:"wish"`               // as it was asked for
	Sequence  plannedVisits       `json:"sequence"`           // as it was answered
	Step      int                 `json:"step"`               // the visit that is next, from 1
	Paused    bool                `json:"paused"`             // nothing is proposed while it is
	Rule      *store.TrainingRule `json:"rule,omitempty"`     // its own; left out: the account's
	Decisions []Decision          `json:"decisions,omitzero"` // oldest first
	kinds     []exposure.Kind     // that are watched
}

// plannedVisits is what is read of the answer that a sequence was planned with.
type plannedVisits struct {
	Visits []plannedVisit `json:"visits"`
}

type plannedVisit struct {
	At          wire.Position `json:"at"`
	Watched     wire.Watched  `json:"watched"`
	DistanceM   float64       `json:"distance_m"`
	Multiple    float64       `json:"multiple"`
	StayMinutes float64       `json:"stay_minutes"`
	Arrive      string        `json:"arrive"`
}

// Decision is what a person decided about a sequence.
type Decision struct {
	At       time.Time `json:"at"`
	Person   string    `json:"person,omitempty" doc:"Id of who decided."`
	From     int       `json:"from" doc:"The visit that was next before."`
	To       int       `json:"to" doc:"The visit that is next."`
	Paused   bool      `json:"paused"`
	Proposal string    `json:"proposal,omitempty" enum:"stay,on,back" doc:"What the rule said then."`
	Note     string    `json:"note,omitempty"`
}

// mostVisits is more than any sequence has.
const mostVisits = 99

// readSequence reads the body of a document. Faults are fault.Problems.
func readSequence(body json.RawMessage) (q Sequence, err error) {
	if err := json.Unmarshal(body, &q); err != nil {
		return q, fault.Problems{{Pointer: "/body", Mend: "is not a sequence of visits: give wish, sequence and step as POST /v1/visits takes and answers them: " + err.Error()}}
	}
	var wrong fault.Problems
	bad := func(field, value, mend string) {
		wrong = append(wrong, fault.Problem{Pointer: "/body/" + field, Value: value, Mend: mend})
	}
	n := len(q.Sequence.Visits)
	if n == 0 || n > mostVisits {
		bad("sequence/visits", strconv.Itoa(n), "give the answer of POST /v1/visits, with 1 to 99 visits")
	} else if q.Step < 1 || q.Step > n {
		bad("step", strconv.Itoa(q.Step), fmt.Sprintf("give the number of the visit that is next, 1 to %d", n))
	}
	for i, v := range q.Sequence.Visits {
		if !(v.Multiple > 0 && v.DistanceM > 0) || v.At == (wire.Position{}) {
			bad(fmt.Sprintf("sequence/visits/%d", i), "", "has no place or no distance: give the visit as it was answered")
		}
	}
	if q.kinds, err = q.Wish.kinds(); err != nil {
		bad("wish/kind", q.Wish.Kind, "give the wish that the sequence answers")
	}
	if q.Rule != nil {
		wrong = append(wrong, wrongRule("/body/rule", q.Rule)...)
	}
	if len(wrong) > 0 {
		return q, wrong
	}
	return q, nil
}

// putDocument keeps a document; one of the kind visits must be a sequence.
func (s *Server) putDocument(ctx context.Context, w store.Who, d store.Document) (store.Document, error) {
	if d.Kind == store.Sequences {
		if d.Dog == "" {
			return d, fault.Problems{{Pointer: "/dog", Mend: "missing: a sequence lives with a dog, give its id"}}
		}
		if _, err := readSequence(d.Body); err != nil {
			return d, err
		}
	}
	return s.opt.Store.PutDocument(ctx, w, d)
}

// kept reads a kept sequence that the person may see.
func (s *Server) kept(ctx context.Context, w store.Who, id string) (d store.Document, q Sequence, err error) {
	if d, err = s.opt.Store.Document(ctx, w, store.Sequences, id); err != nil {
		return d, q, err
	}
	q, err = readSequence(d.Body)
	return d, q, err
}

// keptVisit is a visit of a kept sequence by its number, with the wish it answers,
// for the document's dog whatever the wish says.
func (s *Server) keptVisit(ctx context.Context, id string, number int) (*plannedVisit, *VisitsBody, error) {
	w, err := who(ctx)
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
	q.Wish.DogID, q.Wish.Dog = d.Dog, exposure.DogFile{}
	return &q.Sequence.Visits[number-1], &q.Wish, nil
}

// checkLogged says that a walk is no visit of the sequence that it names.
func (s *Server) checkLogged(ctx context.Context, w store.Who, in *store.WalkInput) error {
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

// SequenceProgress is what the rule says to the kept logs of a sequence. A person
// decides.
type SequenceProgress struct {
	Step     int    `json:"step" doc:"The visit that is next, from 1."`
	Of       int    `json:"of"`
	Paused   bool   `json:"paused"`
	To       int    `json:"to" doc:"The visit that is proposed; step where it is to stay."`
	RuleFrom string `json:"rule_from" enum:"sequence,account,default"`
	MoveInfo
	Rule    store.TrainingRule `json:"rule"`
	Done    []VisitDone        `json:"done" doc:"All that were logged, oldest first."`
	Caution string             `json:"caution"`
}

// rule is a sequence's own, the account's, or common practice.
func (s *Server) rule(ctx context.Context, w store.Who, q *Sequence) (store.TrainingRule, string, error) {
	if q.Rule != nil {
		return *q.Rule, "sequence", nil
	}
	account, err := s.opt.Store.Account(ctx, w)
	if err != nil || account.Settings.TrainingRule == (store.TrainingRule{}) {
		return store.TrainingRule(learning.DefaultRule()), "default", err
	}
	return account.Settings.TrainingRule, "account", nil
}

// progressOf holds the rule against what was logged of a sequence.
func (s *Server) progressOf(ctx context.Context, w store.Who, d *store.Document, q *Sequence) (SequenceProgress, error) {
	out := SequenceProgress{Step: q.Step, Of: len(q.Sequence.Visits), Paused: q.Paused, To: q.Step, Done: []VisitDone{}, Caution: english.Say("visits.caution.stop") + " " + english.Say("caution.professional")}
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
		v := visitDone(&logged[i], q.kinds)
		if v.logged.Before(d.Created) {
			continue // of another sequence that had this id
		}
		out.Done = append(out.Done, v)
		done = append(done, learning.Logged{Visit: v.counted(v.Visit), At: v.logged})
	}
	if out.Rule, out.RuleFrom, err = s.rule(ctx, w, q); err != nil {
		return out, err
	}
	m, to, counted, err := stands.Advance(done, learning.Rule(out.Rule))
	if err != nil {
		return out, err
	}
	out.To = to
	out.MoveInfo = moveInfo(&m)
	next := &q.Sequence.Visits[out.To-1]
	out.Text = english.MoveTo(&m, briefing.Step{Number: out.To, DistanceM: next.DistanceM, Multiple: next.Multiple, Same: out.To == q.Step}, counted)
	if q.Paused {
		out.Text = english.Say("move.paused")
	}
	return out, nil
}

// DecisionBody is what a person decides.
type DecisionBody struct {
	Version int64  `json:"version" doc:"Of the document that was looked at."`
	To      int    `json:"to,omitempty" minimum:"0" maximum:"99" doc:"The visit that is next from now, from 1; left out: as it was."`
	Paused  *bool  `json:"paused,omitempty" doc:"Pause, or go on; left out: as it was."`
	Note    string `json:"note,omitempty" maxLength:"1000"`
}

// decide changes where a sequence stands; for trainers.
func (s *Server) decide(ctx context.Context, w store.Who, id string, in *DecisionBody) (store.Document, error) {
	d, q, err := s.kept(ctx, w, id)
	if err != nil {
		return d, err
	}
	if w.Role == store.Handler {
		return d, store.ErrForbidden
	}
	if d.Version != in.Version {
		return d, store.ErrConflict
	}
	if in.To > len(q.Sequence.Visits) {
		return d, fault.Problems{{Pointer: "/to", Value: strconv.Itoa(in.To), Mend: fmt.Sprintf("the sequence has %d visits", len(q.Sequence.Visits))}}
	}
	made := Decision{At: s.now(), Person: w.Person, From: q.Step, To: cmp.Or(in.To, q.Step), Paused: q.Paused, Note: in.Note}
	if in.Paused != nil {
		made.Paused = *in.Paused
	}
	if made.Paused && made.To != q.Step {
		return d, newProblem(http.StatusConflict, english.Say("problem.paused"))
	}
	p, err := s.progressOf(ctx, w, &d, &q)
	if err != nil {
		return d, err
	}
	made.Proposal = p.Proposal
	if d.Body, err = changed(d.Body, map[string]any{"step": made.To, "paused": made.Paused, "decisions": append(q.Decisions, made)}); err != nil {
		return d, err
	}
	return s.opt.Store.PutDocument(ctx, w, d)
}

// changed is a JSON object with some members replaced, all others as they were.
func changed(body json.RawMessage, with map[string]any) (json.RawMessage, error) {
	var members map[string]json.RawMessage
	if err := json.Unmarshal(body, &members); err != nil {
		return nil, err
	}
	for name, v := range with {
		text, err := json.Marshal(v)
		if err != nil {
			return nil, err
		}
		members[name] = text
	}
	return json.Marshal(members)
}

// CopyBody asks for a sequence for another dog.
type CopyBody struct {
	Dog   string   `json:"dog" minLength:"1" maxLength:"80" doc:"Id of the dog that it is for."`
	ID    string   `json:"id,omitempty" maxLength:"80" doc:"Of the new document; left out: one of its own."`
	Times []string `json:"times,omitempty" maxItems:"24" doc:"When one could stand there, RFC 3339; left out: the times of the old one that are still to come, else four times a day on the next five days."`
}

// copySequence plans a sequence anew for another dog, with its distances and at
// the places of the old one where they fit; for trainers.
func (s *Server) copySequence(ctx context.Context, w store.Who, id string, in *CopyBody) (store.Document, error) {
	from, q, err := s.kept(ctx, w, id)
	if err != nil {
		return from, err
	}
	if w.Role == store.Handler {
		return from, store.ErrForbidden
	}
	wish := q.copied(in, s.now())
	seq, err := s.sequence(ctx, &wish)
	if err != nil {
		return from, err
	}
	if len(seq.Visits) == 0 {
		text := english.Say("problem.no_sequence")
		if len(seq.Lacks) > 0 {
			text += ": " + seq.Lacks[0].Text
		}
		return from, newProblem(http.StatusUnprocessableEntity, text)
	}
	body, err := json.Marshal(map[string]any{"wish": wish, "sequence": seq, "step": 1, "paused": false, "copied_from": id})
	if err == nil && q.Rule != nil {
		body, err = changed(body, map[string]any{"rule": q.Rule})
	}
	if err != nil {
		return from, err
	}
	return s.opt.Store.PutDocument(ctx, w, store.Document{Kind: store.Sequences, ID: in.ID, Dog: in.Dog, Body: body})
}

// copied is the wish of a sequence for another dog.
func (q *Sequence) copied(in *CopyBody, now time.Time) VisitsBody {
	wish := q.Wish
	wish.DogID, wish.Dog, wish.Bite = in.Dog, exposure.DogFile{}, false
	wish.Keep, wish.Pins, wish.Times = nil, nil, in.Times
	for _, v := range q.Sequence.Visits {
		if at := (wire.LatLon{Lat: v.At[1], Lon: v.At[0]}); !slices.Contains(wish.Keep, at) {
			wish.Keep = append(wish.Keep, at)
		}
	}
	if len(in.Times) > 0 {
		return wish
	}
	for _, text := range q.Wish.Times {
		if t, err := time.Parse(time.RFC3339, text); err == nil && t.After(now) {
			wish.Times = append(wish.Times, text)
		}
	}
	return wish
}

// sequence plans a sequence and holds the rule of bite histories.
func (s *Server) sequence(ctx context.Context, b *VisitsBody) (out wire.Sequence, err error) {
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
	out = wire.NewSequence(seq, p.Snapshot())
	if held {
		out.Lacks = append(out.Lacks, wire.Lack{Why: "bite", Multiple: nearStep, Text: english.Say("caution.trainer")})
	}
	return out, nil
}

func (s *Server) sequenceRoutes() {
	keep(s, http.MethodGet, "/v1/visits/{id}/progress", "sequence-progress", "Move on, stay or go back? From what was logged of a kept sequence", func(ctx context.Context, w store.Who, in *ByID) (SequenceProgress, error) {
		d, q, err := s.kept(ctx, w, in.ID)
		if err != nil {
			return SequenceProgress{}, err
		}
		return s.progressOf(ctx, w, &d, &q)
	})
	keep(s, http.MethodPost, "/v1/visits/{id}/decisions", "decide-visit", "A person decides: which visit is next, pause, go on", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Body DecisionBody
	}) (store.Document, error) {
		return s.decide(ctx, w, in.ID, &in.Body)
	})
	keep(s, http.MethodPost, "/v1/visits/{id}/copy", "copy-sequence", "Plan a kept sequence anew for another dog", func(ctx context.Context, w store.Who, in *struct {
		ByID
		Body CopyBody
	}) (store.Document, error) {
		return s.copySequence(ctx, w, in.ID, &in.Body)
	})
}
