package wire

import (
	"fmt"
	"slices"
	"time"

	"wideberth/api/wire/dogfile"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing/draw"
	"wideberth/routing/training"
	"wideberth/routing/training/setup"
)

// VisitPaper asks for a visit on paper.
type VisitPaper struct {
	RevisitBody
	Of     int                `json:"of,omitempty" minimum:"0" maximum:"99" doc:"How many visits there are: with visit, for the title."`
	Rule   *kept.TrainingRule `json:"rule,omitempty" doc:"When training moves on; left out: common practice."`
	Driver string             `json:"driver,omitempty" enum:"fear,frustration,excitement" doc:"What drives the dog, for the advice only."`
	Paper  string             `json:"paper,omitempty" enum:"a4,letter" doc:"Left out: A4."`
	Units  string             `json:"units,omitempty" enum:"metric,us"`
}

// NearStep is the multiple of the working distance below which a dog with a bite
// history is only put by a trainer.
const NearStep = 1.5

// WatchBody is what a search for vantage places and a sequence have in common.
type WatchBody struct {
	From       LatLon       `json:"from" doc:"The door."`
	Dog        dogfile.File `json:"dog,omitempty"`
	DogID      string       `json:"dog_id,omitempty" maxLength:"80" doc:"A kept dog, in place of dog; its cautions hold."`
	Kind       string       `json:"kind" doc:"What is to be watched: a kind or a category." example:"dogs"`
	ReachM     float64      `json:"reach_m,omitempty" doc:"How far to walk there from the door; left out: 2,500."`
	LeastGrade string       `json:"least_grade,omitempty" enum:"A,B,C,D" doc:"Of the ways out; left out: D from 1.5 times the working distance, B below."`
	Weather    *WeatherBody `json:"weather,omitempty" doc:"As somebody says it is on the day; left out: as usual in the season."`
	Bite       bool         `json:"bite_history,omitempty" doc:"A trainer must set steps nearer than 1.5 times the working distance."`
}

// VantageBody asks for vantage places at one distance and hour.
type VantageBody struct {
	WatchBody
	Multiple    float64 `json:"multiple" doc:"Distance wished, in multiples of the working distance, 0.5 to 3." example:"1.5"`
	At          string  `json:"at,omitempty" doc:"RFC 3339; left out: now." example:"2026-11-25T17:20:00-05:00"`
	StayMinutes float64 `json:"stay_minutes,omitempty" doc:"Left out: eight."`
}

// VisitsBody asks for a sequence of training visits.
type VisitsBody struct {
	WatchBody
	Farthest     float64     `json:"farthest,omitempty" doc:"First distance in multiples of the working distance; left out: 2."`
	Nearest      float64     `json:"nearest,omitempty" doc:"Last distance; left out: 1. Nothing nearer is offered."`
	Times        []string    `json:"times,omitempty" maxItems:"24" doc:"When one could stand there, RFC 3339; left out: four times a day on the next five days."`
	MaxReactions float64     `json:"max_expected_reactions,omitempty" doc:"That one visit may cost besides those to what is watched, ways and all; left out: 0.25."`
	DriveMinutes *float64    `json:"drive_minutes,omitempty" minimum:"0" maximum:"60" doc:"How long a drive to a visit may take, one way and with parking; 0: on foot from the door only; left out: 20."`
	Helper       *HelperBody `json:"helper,omitempty" doc:"A known helper: the near half of the sequence is meetings with it on ground laid out for them, the far half chance visits; left out: chance visits only."`
	Ground       string      `json:"ground,omitempty" enum:"parks,green" doc:"For the helper: parks and pitches only, or grass as well of which the map does not tell whose it is; left out: parks."`
	Together     bool        `json:"together,omitempty" doc:"For the helper: ground with one way in for both, too."`
	Pins         []LatLon    `json:"pins,omitempty" maxItems:"8" doc:"Places that must be in it."`
	Bans         []LatLon    `json:"bans,omitempty" maxItems:"100" doc:"Places that must not."`
	Keep         []LatLon    `json:"keep,omitempty" maxItems:"99" doc:"Places that are taken rather than others where they fit."`
	Limits       LimitsBody  `json:"limits,omitempty"`
}

// RevisitBody asks for one visit at another hour: of a kept sequence by its number,
// or by place.
type RevisitBody struct {
	Sequence    string      `json:"sequence,omitempty" maxLength:"80" doc:"A kept sequence, with visit, in place of wish, at and watched."`
	Visit       int         `json:"visit,omitempty" minimum:"0" maximum:"99" doc:"Number of its visit, from 1."`
	Wish        *VisitsBody `json:"wish,omitempty"`
	At          *LatLon     `json:"at,omitempty" doc:"Where one stands."`
	Car         *LatLon     `json:"car,omitempty" doc:"Where the walk begins, as an answer had it; left out for the door."`
	Watched     string      `json:"watched,omitempty" doc:"The osm of what is watched; left out for ways." example:"way/123"`
	Arrive      string      `json:"arrive" example:"2026-11-26T17:20:00-05:00"`
	StayMinutes float64     `json:"stay_minutes,omitempty" doc:"Of a kept visit left out: as it was." example:"8"`
	Given       *GivenVisit `json:"given,omitempty" doc:"The ways, as the visit was answered: they are told for the hour, without a search. Left out: those of the kept visit where it is drawn or printed for its own hour, else the calmest of the hour are looked for."`
}

// Watching turns what was sent into dog and kinds. Faults are fault.Problems.
func (b *WatchBody) Watching() ([]exposure.Kind, error) {
	kinds, err := exposure.ParseKinds(b.Kind)
	if err != nil {
		return nil, fault.Problems{{Pointer: "/kind", Value: fmt.Sprintf("%q", b.Kind), Mend: err.Error()}}
	}
	return kinds, nil
}

// Wish turns what was sent into what a planner understands, but for the dog.
func (b *VisitsBody) Wish(f plane.Frame, zone *time.Location, now time.Time) (w training.Wish, err error) {
	w = training.Wish{From: b.From.In(f), Farthest: b.Farthest, Nearest: b.Nearest, ReachM: b.ReachM,
		MaxX: b.MaxReactions, DriveMin: training.UsualDriveMin, Least: training.Grade(b.LeastGrade), Limits: b.Limits.limits(f)}
	if b.DriveMinutes != nil {
		w.DriveMin = *b.DriveMinutes
	}
	if w.Kinds, err = b.Watching(); err != nil {
		return w, err
	}
	if b.Helper != nil {
		w.Helper = &training.Helper{Calm: setup.Calmness(b.Helper.Calmness), Ground: setup.Ground(b.Ground), Together: b.Together, Who: b.Helper.Who()}
		if w.Helper.Kind, err = b.Helper.kind(); err != nil {
			return w, err
		}
	}
	for _, p := range b.Pins {
		w.Pins = append(w.Pins, p.In(f))
	}
	for _, p := range b.Bans {
		w.Bans = append(w.Bans, p.In(f))
	}
	for _, p := range b.Keep {
		w.Keep = append(w.Keep, p.In(f))
	}
	for i, text := range b.Times {
		t, err := time.Parse(time.RFC3339, text)
		if err != nil {
			return w, fault.Problems{{Pointer: fmt.Sprintf("/times/%d", i), Value: fmt.Sprintf("%q", text), Mend: "give a time with its zone, like 2026-11-25T17:20:00-05:00"}}
		}
		w.Times = append(w.Times, t.In(zone))
	}
	if len(w.Times) == 0 {
		w.Times = usualTimes(now.In(zone))
	}
	return w, nil
}

// usualTimes are four times a day on the five days from tomorrow.
func usualTimes(now time.Time) (out []time.Time) {
	for day := 1; day <= 5; day++ {
		for _, minute := range [...]int{7*60 + 30, 11 * 60, 15*60 + 30, 18*60 + 30} {
			out = append(out, time.Date(now.Year(), now.Month(), now.Day()+day, 0, minute, 0, 0, now.Location()))
		}
	}
	return out
}

// VantageList is what a search for vantage places found.
type VantageList struct {
	Places      []Vantage `json:"places" doc:"Best grade first, then calmest."`
	Sieve       Sieve     `json:"sieve" doc:"What was left over at each sieve: the numbers to say why there is none."`
	CutShort    bool      `json:"cut_short,omitempty" doc:"The ground asked for is too large for one search: what lies farther from the start was not looked at."`
	Attribution string    `json:"attribution"`
	Caution     string    `json:"caution"`
}

// Sieve counts what was left over.
type Sieve struct {
	Sources   int     `json:"sources" doc:"With the kinds, in reach."`
	Active    int     `json:"active" doc:"Of them where somebody is likely there then."`
	InBand    int     `json:"in_band" doc:"Places at the distance."`
	Standable int     `json:"standable" doc:"Where one may stand."`
	InSight   int     `json:"in_sight"`
	WithWays  int     `json:"with_ways_out"`
	Apart     int     `json:"apart" doc:"Where enough shows and nothing else is too near."`
	NearestM  float64 `json:"nearest_m,omitempty"`
	NearestAt string  `json:"nearest,omitempty"`
}

// VisitDrawn is a visit planned for its hour, with what it is walked by.
type VisitDrawn struct {
	Visit   Visit   `json:"visit"`
	Walk    Walk    `json:"walk" doc:"Way in, stay and way home as one walk; the stay is the watch point that says stand."`
	Drawing Drawing `json:"drawing" doc:"What is watched comes first of what is around."`
	// Arc is part of the place, not of the walk.
	Arc []Position `json:"arc" doc:"As far from what is watched as the stand, 35 degrees to each side: a step along it changes no dose."`
}

// NewVisitDrawn is a visit with what it is walked by; the scene is the whole of it as one walk.
func NewVisitDrawn(v *training.Visit, body Visit, scene *draw.Scene, f plane.Frame) VisitDrawn {
	place := scene.Place(v)
	out := VisitDrawn{Visit: body, Walk: NewWalk(scene.Walk, f, v.Leave, scene.Words), Drawing: NewDrawing(scene, f), Arc: positions(f, place.Arc)}
	watched := newAround(&place.Watched, f)
	watched.Watched = true
	out.Drawing.Around = append([]AroundSource{watched}, slices.DeleteFunc(out.Drawing.Around, func(a AroundSource) bool { return a.Name == watched.Name })...)
	return out
}

// VisitPictureBody asks for the picture of a visit.
type VisitPictureBody struct {
	RevisitBody
	Theme    string  `json:"theme,omitempty" enum:"light,dark,print"`
	Units    string  `json:"units,omitempty" enum:"metric,us"`
	WidthPX  float64 `json:"width_px,omitempty" minimum:"100" maximum:"3000" doc:"CSS pixels; left out: 390."`
	HeightPX float64 `json:"height_px,omitempty" minimum:"100" maximum:"3000" doc:"CSS pixels; left out: 392."`
	Wider    float64 `json:"wider,omitempty" minimum:"0.1" maximum:"20" doc:"How much more ground than the place needs."`
}
