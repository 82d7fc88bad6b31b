package wire

import (
	"wideberth/api/wire/dogfile"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
	"wideberth/routing/escape"
)

// MostThreatM is how far off a trigger is still a matter of seconds.
const MostThreatM = 500

// WayOutBody asks for a way out here and now.
type WayOutBody struct {
	At     LatLon       `json:"at" doc:"Where the handler stands."`
	Threat LatLon       `json:"threat" doc:"Where the trigger is."`
	Kind   string       `json:"kind,omitempty" doc:"What it is; left out: dog_on_lead." example:"dog_off_lead"`
	Speed  float64      `json:"speed_mps,omitempty" minimum:"0" maximum:"15" doc:"How fast it comes along the ways towards the handler; 0 stands." example:"1.4"`
	Dog    dogfile.File `json:"dog,omitempty"`
}

// WayOutInfo is the best there is to do at one pace.
type WayOutInfo struct {
	PaceMPS  float64    `json:"pace_mps"`
	Means    string     `json:"means" enum:"stay,turn_back,side_street,aside,walk_on,between,stand" doc:"What it rests on. From a loose dog that comes: between, to the first of the cover, or stand."`
	Turn     string     `json:"turn" doc:"First move, for somebody who faces the trigger."`
	Aside    string     `json:"aside,omitempty" doc:"Side to step to, as one walks; with nothing to walk, as one faces the trigger."`
	AsideM   float64    `json:"aside_m,omitempty"`
	Stand    Position   `json:"stand" doc:"Where it ends: the end of the line, or aside of it."`
	Seconds  float64    `json:"seconds" doc:"Until the working distance is reached or it is out of sight, of between until one is there; -1 where neither is in reach."`
	PresentM float64    `json:"present_m"`
	NearestM float64    `json:"nearest_m" doc:"Least distance on the way, over what the trigger likely does."`
	EndsM    float64    `json:"ends_m"`
	Hidden   bool       `json:"hidden" doc:"Ends out of its sight."`
	Chance   float64    `json:"chance" doc:"That the trigger does what this way allows for."`
	Geometry LineString `json:"geometry"`
}

func newWayOutInfo(f plane.Frame, w *escape.WayOut) WayOutInfo {
	return WayOutInfo{PaceMPS: w.PaceMPS, Means: string(w.Means), Turn: string(w.Turn), Aside: w.Aside, AsideM: round(w.AsideM, 1), Stand: NewPosition(f, w.Stand),
		Seconds: round(w.Seconds, 0), PresentM: round(w.PresentM, 1), NearestM: round(w.NearestM, 1), EndsM: round(w.EndsM, 1),
		Hidden: w.Hidden, Chance: round(w.Chance, 2), Geometry: newLineString(f, w.Line)}
}

// WaysOutBody asks for ways out along a walk.
type WaysOutBody struct {
	Line []Position   `json:"line" minItems:"2" maxItems:"5000" doc:"The walk, as a plan's legs have it."`
	Kind string       `json:"kind,omitempty" doc:"What turns up; left out: dog_on_lead." example:"dog_off_lead"`
	Dog  dogfile.File `json:"dog,omitempty"`
}

// CoverInfo is something near to step behind.
type CoverInfo struct {
	What  string   `json:"what" enum:"gate,entrance,drive,parked_cars,shelter"`
	Name  string   `json:"name,omitempty" doc:"What it belongs to, where the map says so." example:"12 Race Walk"`
	At    Position `json:"at"`
	DistM float64  `json:"distance_m"`
	Side  string   `json:"side" enum:"ahead,back,left,right" doc:"For somebody who faces the trigger; of a walk, along the walk."`
}

func newCover(f plane.Frame, all []escape.Cover) []CoverInfo {
	out := make([]CoverInfo, len(all))
	for i := range all {
		c := &all[i]
		out[i] = CoverInfo{c.Kind.String(), c.Name, NewPosition(f, c.At), round(c.DistM, 0), string(c.Side)}
	}
	return out
}

// AidInfo is what helps at a place besides a way to walk.
type AidInfo struct {
	Do    []string    `json:"do" enum:"food_on_the_ground,something_between,call_out,step_off" doc:"What to do, in order (common practice). Nothing outruns a loose dog."`
	Words []string    `json:"words" doc:"The same in words."`
	Cover []CoverInfo `json:"cover" doc:"What there is near to step behind, by the map, nearest first; empty where the map has nothing."`
	Side  string      `json:"side,omitempty" enum:"left,right" doc:"The side with more room; left out where there is none on either."`
	SideM float64     `json:"side_m" doc:"Room there, at most 40 m; -1 where there is none on either side."`
}

func newAid(f plane.Frame, a *escape.Aid, words briefing.Words) AidInfo {
	out := AidInfo{Do: make([]string, len(a.Do)), Words: nonNil(words.Aid(a)), Cover: newCover(f, a.Cover), Side: string(a.Side), SideM: round(a.SideM, 1)}
	for i, d := range a.Do {
		out.Do[i] = string(d)
	}
	return out
}

// StretchOut is what to do on one stretch of a walk, by where the trigger is.
type StretchOut struct {
	AtM    float64  `json:"at_m" doc:"Where the stretch begins, along the walk."`
	Ahead  SideInfo `json:"ahead"`
	Left   SideInfo `json:"left"`
	Right  SideInfo `json:"right"`
	Behind SideInfo `json:"behind"`
	Aid    AidInfo  `json:"aid" doc:"What helps besides; sides as one walks."`
}

// SideInfo is a way out in moves, for somebody who faces along the walk.
type SideInfo struct {
	First   string  `json:"first" enum:"ahead,back,left,right,aside_left,aside_right,stay"`
	Then    string  `json:"then,omitempty" enum:"ahead,back,left,right" doc:"Next turn, seen as one walks then."`
	ThenM   float64 `json:"then_m,omitempty"`
	AsideM  float64 `json:"aside_m,omitempty"`
	LengthM float64 `json:"length_m"`
	Seconds float64 `json:"seconds" doc:"At a brisk pace, until the working distance is reached or it is out of sight; -1 where neither is in reach."`
	EndsM   float64 `json:"ends_m" doc:"How far off it is then."`
	Hidden  bool    `json:"hidden"`
	Works   bool    `json:"works" doc:"Ends out of sight or where the dog still works."`
}

func stretches(found []escape.OutAlong, needM float64, f plane.Frame, words briefing.Words) []StretchOut {
	out := []StretchOut{}
	for i := range found {
		o := &found[i]
		if o.Side == escape.SideAhead {
			out = append(out, StretchOut{AtM: o.AtM, Aid: newAid(f, o.Aid, words)})
		}
		at := &out[len(out)-1]
		side := SideInfo{First: string(o.First), Then: string(o.Then), ThenM: round(o.ThenM, 1), AsideM: round(o.Out.AsideM, 1), LengthM: round(o.Out.Line.LengthM(), 1),
			Seconds: round(o.Out.Seconds, 0), EndsM: round(o.Out.EndsM, 1), Hidden: o.Out.Hidden, Works: o.Out.Hidden || o.Out.EndsM >= needM}
		*map[escape.Side]*SideInfo{escape.SideAhead: &at.Ahead, escape.SideLeft: &at.Left, escape.SideRight: &at.Right, escape.SideBehind: &at.Behind}[o.Side] = side
	}
	return out
}

// WaysOut are the best that there is to do here and now.
type WaysOut struct {
	Calm        WayOutInfo `json:"calm" doc:"At the dog's own pace."`
	Brisk       WayOutInfo `json:"brisk" doc:"At a brisk one, 1.6 m/s."`
	Aid         AidInfo    `json:"aid" doc:"What helps besides, seen by somebody who faces the trigger."`
	Attribution string     `json:"attribution"`
}

// NewWaysOut makes the JSON form of two ways out of frame f, and of what helps besides.
func NewWaysOut(calm, brisk *escape.WayOut, aid *escape.Aid, f plane.Frame, words briefing.Words) WaysOut {
	return WaysOut{newWayOutInfo(f, calm), newWayOutInfo(f, brisk), newAid(f, aid, words), Attribution}
}

// WaysOutAlong are what to do along a walk.
type WaysOutAlong struct {
	Stretches   []StretchOut `json:"stretches"`
	Attribution string       `json:"attribution"`
}

// NewWaysOutAlong makes the JSON form of ways out along a walk; one works that ends
// needM off.
func NewWaysOutAlong(found []escape.OutAlong, needM float64, f plane.Frame, words briefing.Words) WaysOutAlong {
	return WaysOutAlong{stretches(found, needM, f, words), Attribution}
}
