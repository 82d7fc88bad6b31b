// Package kept is the JSON of what is remembered of an account: dogs and what people
// say of them, walks, meetings, tracks, reports, counts, plans and documents, as they
// are sent, kept and given back, and what may stand in each field. What is wrong is
// told by field, before anything is kept.
package kept

import (
	"fmt"
	"time"

	"wideberth/osmdata/fault"
)

// Role is what a person may do.
type Role string

// The roles; each may do what the one before may.
const (
	Handler Role = "handler" // plans, logs and reports for the dogs they are given
	Trainer Role = "trainer" // everything about all dogs and plans
	Keeper  Role = "keeper"  // people, tokens, settings and the account itself too
)

// Settings of an account.
type Settings struct {
	KeepTracksDays int          `json:"keep_tracks_days" minimum:"0" maximum:"3650" doc:"Tracks of walks are deleted after so many days; 0 keeps none." example:"365"`
	HalfLifeDays   int          `json:"half_life_days" minimum:"7" maximum:"730" doc:"A walk counts half after so many days when distances are learnt." example:"60"`
	Units          string       `json:"units" enum:"m,ft" doc:"What distances are shown in; they are kept in metres."`
	Clock          string       `json:"clock" enum:"12,24"`
	TrainingRule   TrainingRule `json:"training_rule,omitzero" doc:"When training moves on; left out: common practice."`

	FreeHours          *FreeHours `json:"free_hours,omitempty" doc:"When its people can go out; left out: 06:00-22:00 in daylight or on lit ways."`
	HandlersSeeOutings bool       `json:"handlers_see_outings,omitempty" doc:"Handlers see timetables whole, with dogs that they are not given. Left out: only those in which all dogs are theirs."`
}

// FreeHours are when people can go out; whether they can be read is not looked at.
type FreeHours struct {
	Spans []string `json:"spans,omitempty" maxItems:"12" doc:"Hours of the clock on the wall, over midnight too; left out: 06:00-22:00." example:"[\"06:30-08:00\",\"17:00-21:30\"]"`
	Unlit bool     `json:"unlit,omitempty" doc:"Also on unlit ways in the dark; left out: in daylight or on lit ways."`
}

// DefaultSettings are those of a new account.
func DefaultSettings() Settings {
	return Settings{KeepTracksDays: 365, HalfLifeDays: 60, Units: "m", Clock: "24"}
}

// Problems names what cannot be stored; whether the rule can be is not looked at.
func (s Settings) Problems() (wrong fault.Problems) {
	bad := func(field string, value any, mend string) {
		wrong = append(wrong, fault.Problem{Pointer: "/" + field, Value: fmt.Sprint(value), Mend: mend})
	}
	if s.KeepTracksDays < 0 || s.KeepTracksDays > 3650 {
		bad("keep_tracks_days", s.KeepTracksDays, "give 0 to 3650 days")
	}
	if s.HalfLifeDays < 7 || s.HalfLifeDays > 730 {
		bad("half_life_days", s.HalfLifeDays, "give 7 to 730 days")
	}
	if s.Units != "m" && s.Units != "ft" {
		bad("units", s.Units, "give m or ft")
	}
	if s.Clock != "12" && s.Clock != "24" {
		bad("clock", s.Clock, "give 12 or 24")
	}
	return wrong
}

// Account is what an account is called and how it is set.
type Account struct {
	Name     string   `json:"name"`
	Settings Settings `json:"settings"`
	You      Person   `json:"you" doc:"The person that the token belongs to."`
}

// Person is somebody of an account.
type Person struct {
	ID   string   `json:"id"`
	Name string   `json:"name" example:"Robin"`
	Role Role     `json:"role" enum:"handler,trainer,keeper"`
	Dogs []string `json:"dogs" doc:"Ids of the dogs that a handler is given; trainers and keepers have all."`
	Keys []Token  `json:"keys"`
}

// Token is what is known of a token; the token itself is shown once and kept
// nowhere.
type Token struct {
	ID      string    `json:"id"`
	Label   string    `json:"label" example:"Robin's phone"`
	Created time.Time `json:"created"`
	Expires time.Time `json:"expires"`
	Revoked bool      `json:"revoked"`
	Seen    string    `json:"seen,omitempty" doc:"Day of its last use."`
}

// Limit is one bound of what can be kept.
type Limit struct {
	What string `json:"what"`
	Most int64  `json:"most"`
	Unit string `json:"unit,omitempty" enum:"bytes"`
	Of   string `json:"of" enum:"one,account,person,dog"`
}
