package wire

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"time"

	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/osmdata/fault"
)

// WrongRule says what is wrong with a rule, nothing if it can be; pointer is where it
// stands.
func WrongRule(pointer string, r *kept.TrainingRule) fault.Problems {
	if err := learning.Rule(*r).Check(); err != nil {
		return fault.Problems{{Pointer: pointer, Mend: err.Error()}}
	}
	return nil
}

// KeptSequence is the body of a document of the kind visits: a sequence of training
// visits as it lives with its dog. Members that are not named here are kept too.
type KeptSequence struct {
	Wish      VisitsBody         `json:"wish"`               // as it was asked for
	Sequence  plannedVisits      `json:"sequence"`           // as it was answered
	Step      int                `json:"step"`               // the visit that is next, from 1
	Paused    bool               `json:"paused"`             // nothing is proposed while it is
	Rule      *kept.TrainingRule `json:"rule,omitempty"`     // its own; left out: the account's
	Decisions []Decision         `json:"decisions,omitzero"` // oldest first
	kinds     []exposure.Kind    // that are watched
}

// plannedVisits is what is read of the answer that a sequence was planned with.
type plannedVisits struct {
	Visits []PlannedVisit `json:"visits"`
}

// PlannedVisit is what is read of a visit of the answer.
type PlannedVisit struct {
	At          Position  `json:"at"`
	Watched     Watched   `json:"watched"`
	DistanceM   float64   `json:"distance_m"`
	Multiple    float64   `json:"multiple"`
	StayMinutes float64   `json:"stay_minutes"`
	Arrive      string    `json:"arrive"`
	Meeting     *struct{} `json:"meeting"` // with a helper
	Car         *struct {
		At Position `json:"at"`
	} `json:"car"`

	Given *GivenVisit `json:"given"`
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

// Watching are the kinds that are watched.
func (q *KeptSequence) Watching() []exposure.Kind { return q.kinds }

// ReadSequence reads the body of a document. Faults are fault.Problems.
func ReadSequence(body json.RawMessage) (q KeptSequence, err error) {
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
		if !(v.Multiple > 0 && v.DistanceM > 0) || v.At == (Position{}) {
			bad(fmt.Sprintf("sequence/visits/%d", i), "", "has no place or no distance: give the visit as it was answered")
		}
	}
	if q.kinds, err = q.Wish.Watching(); err != nil {
		bad("wish/kind", q.Wish.Kind, "give the wish that the sequence answers")
	}
	if q.Rule != nil {
		wrong = append(wrong, WrongRule("/body/rule", q.Rule)...)
	}
	if len(wrong) > 0 {
		return q, wrong
	}
	return q, nil
}

// Changed is a JSON object with some members replaced, all others as they were.
func Changed(body json.RawMessage, with map[string]any) (json.RawMessage, error) {
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

// Copied is the wish of a sequence for another dog.
func (q *KeptSequence) Copied(in *CopyBody, now time.Time) VisitsBody {
	wish := q.Wish
	wish.DogID, wish.Dog, wish.Bite = in.Dog, dogfile.File{}, false
	wish.Keep, wish.Pins, wish.Times = nil, nil, in.Times
	if wish.Helper != nil {
		h := *wish.Helper
		h.TrainerWord = "" // it was said of the other dog
		wish.Helper = &h
	}
	for _, v := range q.Sequence.Visits {
		if at := (LatLon{Lat: v.At[1], Lon: v.At[0]}); !slices.Contains(wish.Keep, at) {
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
