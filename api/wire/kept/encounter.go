package kept

import (
	"fmt"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

// EncounterInput is what a client sends of one meeting. Only at is required: one
// without a kind is a draft, to be filled in later.
type EncounterInput struct {
	Key        string    `json:"key,omitempty" maxLength:"80" doc:"Chosen by the client: what is sent twice under one key is stored once. The header Idempotency-Key does the same." example:"phone-7/0042"`
	Walk       string    `json:"walk,omitempty" maxLength:"80" doc:"Key or id of its walk, which may arrive later." example:"phone-7/2026-11-25T07:10"`
	Kind       string    `json:"kind,omitempty" doc:"Kind, or category if no more is known; left out: a draft." example:"dog_on_lead"`
	At         time.Time `json:"at" example:"2026-11-25T07:27:00-05:00"`
	Lat        *float64  `json:"lat,omitempty" minimum:"-90" maximum:"90"`
	Lon        *float64  `json:"lon,omitempty" minimum:"-180" maximum:"180"`
	Leg        *int      `json:"leg,omitempty" minimum:"0" maximum:"999" doc:"Leg of the plan, from 0, where no place is known."`
	NoticedM   *float64  `json:"noticed_m,omitempty" doc:"Distance in metres when the dog first noticed."`
	Nearest    string    `json:"nearest,omitempty" enum:"exact,about,nearer_than,farther_than,between" doc:"How distance_m is meant; left out with it: nobody knows."`
	DistanceM  *float64  `json:"distance_m,omitempty" doc:"Nearest distance in metres. Left out with about, nearer_than or farther_than: the dog's working distance." example:"24"`
	ToM        *float64  `json:"to_m,omitempty" doc:"Upper end of between."`
	DurationS  *float64  `json:"duration_s,omitempty" minimum:"0" maximum:"7200"`
	Food       string    `json:"food,omitempty" enum:"taken,refused"`
	TurnedBack bool      `json:"turned_back,omitempty" doc:"Turned back to the handler unprompted."`
	Over       string    `json:"over,omitempty" enum:"bark,lunge,freeze,snap,bite,other" doc:"Went over threshold, and how; left out: it did not. A snap or a bite flags the dog: nothing nearer is proposed until a trainer lifts that."`
	Sudden     bool      `json:"sudden,omitempty" doc:"Appeared without warning."`
	Note       string    `json:"note,omitempty" maxLength:"1000"`
}

// Encounter is a meeting as it is kept.
type Encounter struct {
	ID     string `json:"id"`
	Dog    string `json:"dog"`
	Person string `json:"person,omitempty"`
	EncounterInput
	Place   string    `json:"place_kind,omitempty" doc:"Kind of place, from the map."`
	Created time.Time `json:"created"`
	Removed bool      `json:"removed,omitempty" doc:"It was taken back; nothing but its key is kept."`
}

var (
	nearestWords = []string{"", "exact", "about", "nearer_than", "farther_than", "between"}
	foodWords    = []string{"", "taken", "refused"}
	overWords    = []string{"", "bark", "lunge", "freeze", "snap", "bite", "other"}
)

const mostDurationS = 7200

// Check says what is wrong with it, as fault.Problems, or that it is still to come:
// ErrAhead.
func (in *EncounterInput) Check(now time.Time) error {
	wrong := CheckKey("/key", in.Key)
	wrong = append(wrong, CheckKey("/walk", in.Walk)...)
	wrong = append(wrong, checkText("/note", in.Note, mostNote, false)...)
	wrong = append(wrong, checkMoment("/at", in.At)...)
	wrong = append(wrong, checkKind("/kind", in.Kind)...)
	wrong = append(wrong, checkPlace(in.Lat, in.Lon)...)
	for _, f := range []struct {
		name, value string
		words       []string
	}{{"nearest", in.Nearest, nearestWords}, {"food", in.Food, foodWords}, {"over", in.Over, overWords}} {
		if !slices.Contains(f.words, f.value) {
			wrong = append(wrong, fault.Problem{Pointer: "/" + f.name, Value: f.value, Mend: fmt.Sprintf("give one of %q, or leave it out", f.words[1:])})
		}
	}
	for _, f := range []struct {
		name string
		m    *float64
	}{{"noticed_m", in.NoticedM}, {"distance_m", in.DistanceM}, {"to_m", in.ToM}} {
		if f.m != nil && !(*f.m > 0 && *f.m <= exposure.MostMetM) {
			wrong = append(wrong, fault.Problem{Pointer: "/" + f.name, Value: fmt.Sprintf("%g", *f.m), Mend: fmt.Sprintf("give metres above 0 and at most %g", exposure.MostMetM)})
		}
	}
	if in.DurationS != nil && !(*in.DurationS >= 0 && *in.DurationS <= mostDurationS) {
		wrong = append(wrong, fault.Problem{Pointer: "/duration_s", Value: fmt.Sprintf("%g", *in.DurationS), Mend: fmt.Sprintf("give seconds up to %d", mostDurationS)})
	}
	if wrong = append(wrong, in.checkNearest()...); len(wrong) > 0 {
		return wrong
	}
	return CheckAhead(in.At, now)
}

// checkNearest holds the fields of the nearest distance against each other.
func (in *EncounterInput) checkNearest() fault.Problems {
	bad := func(field, mend string) fault.Problems {
		return fault.Problems{{Pointer: "/" + field, Mend: mend}}
	}
	switch {
	case in.Nearest == "" && in.DistanceM != nil:
		return bad("nearest", "missing: say how distance_m is meant, like exact or about")
	case in.Nearest == "exact" && in.DistanceM == nil:
		return bad("distance_m", "missing: an exact distance needs its metres; if nobody measured, use about, nearer_than or farther_than")
	case in.Nearest == "between" && (in.DistanceM == nil || in.ToM == nil):
		return bad("to_m", "missing: between needs distance_m and to_m")
	case in.Nearest == "between" && *in.ToM <= *in.DistanceM:
		return bad("to_m", "must be more than distance_m")
	case in.Nearest != "between" && in.ToM != nil:
		return bad("to_m", "goes with between only")
	case in.NoticedM != nil && in.Nearest == "exact" && *in.NoticedM < *in.DistanceM:
		return bad("noticed_m", "must be at least distance_m: it cannot come nearer than it did")
	}
	return nil
}

// Fill puts in the dog's working distance where a distance is told relative to
// it, so that a later change of the dog does not change what was seen.
func (in *EncounterInput) Fill(d *Dog) error {
	if in.Nearest == "" || in.DistanceM != nil {
		return nil
	}
	x, _, ok := d.Of(in.Kind)
	if !ok || x.Calm || x.WorkingM > exposure.MostMetM {
		return fault.Problems{{Pointer: "/distance_m", Mend: "missing: the dog has no working distance for this kind that it could stand for"}}
	}
	in.DistanceM = &x.WorkingM
	return nil
}
