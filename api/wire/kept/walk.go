package kept

import (
	"time"

	"wideberth/osmdata/fault"
)

// Stamp is a point of a track in an export.
type Stamp struct {
	Lat float64   `json:"lat"`
	Lon float64   `json:"lon"`
	At  time.Time `json:"at,omitzero"`
}

// mostVisit is the largest number of a visit in a sequence.
const mostVisit = 99

// TrainingRule says when training moves on.
type TrainingRule struct {
	VisitsInARow    int     `json:"visits_in_a_row" doc:"Good visits in a row on one step before moving on." example:"2"`
	HandledShare    float64 `json:"handled_share" doc:"Of the triggers of a good visit, food taken or turned back, none over threshold." example:"0.8"`
	LeastTriggers   int     `json:"least_triggers" doc:"A visit with fewer says nothing either way." example:"1"`
	OverForBack     int     `json:"over_for_back" doc:"Over threshold so often in the last visit: one step back." example:"1"`
	RefusalsForBack int     `json:"refusals_for_back" doc:"Food refused so often in the last visits: one step back." example:"2"`
}

func (in *WalkInput) checkVisit() (wrong fault.Problems) {
	switch {
	case in.Visit != 0 && in.Sequence == "":
		wrong = fault.Problems{{Pointer: "/sequence", Mend: "missing: say of which sequence it is visit so and so"}}
	case in.Sequence != "" && !(in.Visit >= 1 && in.Visit <= mostVisit):
		wrong = fault.Problems{{Pointer: "/visit", Mend: "missing: give the number of the visit in its sequence, from 1"}}
	}
	return append(wrong, CheckKey("/sequence", in.Sequence)...)
}

// WalkInput is what a client sends of a walk.
type WalkInput struct {
	Key      string    `json:"key,omitempty" maxLength:"80" doc:"Chosen by the client: what is sent twice under one key is stored once. The header Idempotency-Key does the same." example:"phone-7/2026-11-25T07:10"`
	Started  time.Time `json:"started" example:"2026-11-25T07:10:00-05:00"`
	Ended    time.Time `json:"ended,omitzero" example:"2026-11-25T07:41:00-05:00"`
	Plan     string    `json:"plan,omitempty" doc:"Id of the plan that was walked."`
	PlanWalk int       `json:"plan_walk,omitempty" minimum:"0" maximum:"9" doc:"Which walk of the plan, from 0."`
	Sequence string    `json:"sequence,omitempty" maxLength:"80" doc:"Of a training visit: the document of the kind visits that it belongs to."`
	Visit    int       `json:"visit,omitempty" minimum:"0" maximum:"99" doc:"And which of its visits, from 1."`
	AllTold  bool      `json:"all_told,omitempty" doc:"Nothing else was met: what is not logged did not happen. Only such walks teach how busy the place is."`
	Note     string    `json:"note,omitempty" maxLength:"1000"`
}

// Walk is a walk as it is kept.
type Walk struct {
	ID     string `json:"id"`
	Dog    string `json:"dog"`
	Person string `json:"person,omitempty" doc:"Who logged it."`
	WalkInput
	Created  time.Time  `json:"created"`
	Expected []Expected `json:"expected,omitempty" doc:"What was predicted, nearer than the working distance, by kind, kind of place and part of the day."`
	Track    bool       `json:"track" doc:"A track is kept."`
}

// Expected is what a walk was predicted to meet nearer than the dog's working
// distance, in one cell.
type Expected struct {
	Kind     string  `json:"kind"`
	Place    string  `json:"place"`
	Part     string  `json:"part"`
	Inside   float64 `json:"inside"`
	WorkingM float64 `json:"working_m" doc:"The distance it was counted within."`
}

// Check says what is wrong with it, as fault.Problems, or that it is still to come:
// ErrAhead.
func (in *WalkInput) Check(now time.Time) error {
	wrong := CheckKey("/key", in.Key)
	wrong = append(wrong, checkText("/note", in.Note, mostNote, false)...)
	wrong = append(wrong, checkMoment("/started", in.Started)...)
	if !in.Ended.IsZero() && (in.Ended.Before(in.Started) || in.Ended.Sub(in.Started) > mostWalkTime) {
		wrong = append(wrong, fault.Problem{Pointer: "/ended", Value: in.Ended.Format(time.RFC3339), Mend: "must lie after started and within a day of it"})
	}
	if wrong = append(wrong, in.checkVisit()...); len(wrong) > 0 {
		return wrong
	}
	return CheckAhead(in.Started, now)
}

// TrackPoint is where somebody was: degrees, and when if the device noted it
// (zero if not).
type TrackPoint struct {
	Lat, Lon float64
	At       time.Time
}

// MostTrackPoints bounds a track: a point a second for more than five hours.
const MostTrackPoints = 20000
