package api

import (
	"context"
	"math"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/escape"
)

type wayOutBody struct {
	At     LatLon           `json:"at" doc:"Where the handler stands."`
	Threat LatLon           `json:"threat" doc:"Where the trigger is."`
	Kind   string           `json:"kind,omitempty" doc:"What it is; left out: dog_on_lead." example:"dog_off_lead"`
	Speed  float64          `json:"speed_mps,omitempty" minimum:"0" maximum:"15" doc:"How fast it comes along the ways towards the handler; 0 stands." example:"1.4"`
	Dog    exposure.DogFile `json:"dog,omitempty"`
}

// WayOutInfo is the best there is to do at one pace.
type WayOutInfo struct {
	PaceMPS  float64         `json:"pace_mps"`
	Means    string          `json:"means" enum:"stay,turn_back,side_street,aside,walk_on"`
	Turn     string          `json:"turn" doc:"First move, for somebody who faces the trigger."`
	Aside    string          `json:"aside,omitempty" doc:"Side to step to, as one walks; with nothing to walk, as one faces the trigger."`
	AsideM   float64         `json:"aside_m,omitempty"`
	Stand    wire.Position   `json:"stand" doc:"Where it ends: the end of the line, or aside of it."`
	Seconds  float64         `json:"seconds" doc:"Until the working distance is reached or it is out of sight."`
	PresentM float64         `json:"present_m"`
	NearestM float64         `json:"nearest_m" doc:"Least distance on the way, over what the trigger likely does."`
	EndsM    float64         `json:"ends_m"`
	Hidden   bool            `json:"hidden" doc:"Ends out of its sight."`
	Chance   float64         `json:"chance" doc:"That the trigger does what this way allows for."`
	Geometry wire.LineString `json:"geometry"`
}

type wayOutOutput struct {
	Body struct {
		Calm        WayOutInfo `json:"calm" doc:"At the dog's own pace."`
		Brisk       WayOutInfo `json:"brisk" doc:"At a brisk one, 1.6 m/s."`
		Attribution string     `json:"attribution"`
	}
}

// threatened reads what comes, left out a dog on lead, and the dog that is to get
// away. Faults are fault.Problems.
func threatened(name string, file *exposure.DogFile) (exposure.Kind, *exposure.Dog, error) {
	kind, err := exposure.ParseKind(orDefault(name, exposure.DogOnLead.String()))
	if err != nil {
		return kind, nil, fault.Problems{{Pointer: "/kind", Value: name, Mend: err.Error()}}
	}
	dog, err := dogOf(file)
	return kind, dog, inDog(err)
}

// wayOut answers POST /v1/ways-out.
func (s *Server) wayOut(ctx context.Context, in *struct{ Body wayOutBody }) (*wayOutOutput, error) {
	b := &in.Body
	kind, dog, err := threatened(b.Kind, &b.Dog)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	f := s.planner.Frame()
	at := f.Forward(b.At.Lon, b.At.Lat)
	threat := escape.Threat{At: f.Forward(b.Threat.Lon, b.Threat.Lat), SpeedMPS: b.Speed, Kind: kind}
	if threat.At.DistanceM(at) > mostThreatM {
		return nil, s.problem(ctx, fault.Problems{{Pointer: "/threat", Mend: "lies more than 500 m off: nothing needs to be done about it"}})
	}
	var calm, brisk escape.WayOut
	err = s.quickly(ctx, s.exits, func() (err error) {
		calm, brisk, err = escape.WaysOut(s.planner.Land(), at, threat, dog)
		return err
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	out := &wayOutOutput{}
	out.Body.Calm, out.Body.Brisk, out.Body.Attribution = wayOutInfo(f, &calm), wayOutInfo(f, &brisk), wire.Attribution
	return out, nil
}

// mostThreatM is how far off a trigger is still a matter of seconds.
const mostThreatM = 500

func wayOutInfo(f plane.Frame, w *escape.WayOut) WayOutInfo {
	return WayOutInfo{PaceMPS: w.PaceMPS, Means: string(w.Means), Turn: string(w.Turn), Aside: w.Aside, AsideM: tenths(w.AsideM), Stand: wire.NewPosition(f, w.Stand),
		Seconds: math.Round(w.Seconds), PresentM: tenths(w.PresentM), NearestM: tenths(w.NearestM), EndsM: tenths(w.EndsM),
		Hidden: w.Hidden, Chance: math.Round(100*w.Chance) / 100, Geometry: wire.NewLineString(f, w.Line)}
}

func (s *Server) wayOutRoutes() {
	huma.Register(s.api, huma.Operation{
		OperationID: "way-out", Method: http.MethodPost, Path: "/v1/ways-out", Summary: "Way out", Tags: []string{"on the walk"},
		Description:  "Here I am, there is the trigger, standing or coming: the way that keeps the most distance, at the dog's pace and at a brisk one. There is always an answer; its numbers say how good it is.",
		MaxBodyBytes: maxBodyBytes, Errors: []int{400, 422, 429, 503},
	}, s.wayOut)
	huma.Register(s.api, huma.Operation{
		OperationID: "ways-out-along", Method: http.MethodPost, Path: "/v1/ways-out/along", Summary: "Ways out along a walk", Tags: []string{"on the walk"},
		Description:  "What to do when something turns up, every 40 m of a walk and for each side it may come from: to be kept by who walks without a network.",
		MaxBodyBytes: maxBodyBytes, Errors: []int{400, 413, 422, 503, 504},
	}, s.waysOutAlong)
}

type waysOutBody struct {
	Line []wire.Position  `json:"line" minItems:"2" maxItems:"5000" doc:"The walk, as a plan's legs have it."`
	Kind string           `json:"kind,omitempty" doc:"What turns up; left out: dog_on_lead." example:"dog_off_lead"`
	Dog  exposure.DogFile `json:"dog,omitempty"`
}

// StretchOut is what to do on one stretch of a walk, by where the trigger is.
type StretchOut struct {
	AtM    float64  `json:"at_m" doc:"Where the stretch begins, along the walk."`
	Ahead  SideInfo `json:"ahead"`
	Left   SideInfo `json:"left"`
	Right  SideInfo `json:"right"`
	Behind SideInfo `json:"behind"`
}

// SideInfo is a way out in moves, for somebody who faces along the walk.
type SideInfo struct {
	First   string  `json:"first" enum:"ahead,back,left,right,aside_left,aside_right,stay"`
	Then    string  `json:"then,omitempty" enum:"ahead,back,left,right" doc:"Next turn, seen as one walks then."`
	ThenM   float64 `json:"then_m,omitempty"`
	AsideM  float64 `json:"aside_m,omitempty"`
	LengthM float64 `json:"length_m"`
	Seconds float64 `json:"seconds" doc:"At a brisk pace, until the working distance is reached or it is out of sight."`
	EndsM   float64 `json:"ends_m" doc:"How far off it is then."`
	Hidden  bool    `json:"hidden"`
	Works   bool    `json:"works" doc:"Ends out of sight or where the dog still works."`
}

type waysOutOutput struct {
	Body struct {
		Stretches   []StretchOut `json:"stretches"`
		Attribution string       `json:"attribution"`
	}
}

// waysOutAlong answers POST /v1/ways-out/along.
func (s *Server) waysOutAlong(ctx context.Context, in *struct{ Body waysOutBody }) (*waysOutOutput, error) {
	b := &in.Body
	kind, dog, err := threatened(b.Kind, &b.Dog)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	line := make(plane.Polyline, len(b.Line))
	for i, q := range b.Line {
		line[i] = s.planner.Frame().Forward(q[0], q[1])
	}
	if long := line.LengthM(); !(long <= mostAlongM) {
		return nil, s.problem(ctx, fault.Problems{{Pointer: "/line", Mend: "is longer than 30 km: send a part of it"}})
	}
	var found []escape.OutAlong
	err = s.searching(ctx, func() (err error) {
		found, err = escape.WaysOutAlong(ctx, s.planner.Land(), line, kind, dog)
		return err
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	out := &waysOutOutput{}
	out.Body.Stretches, out.Body.Attribution = stretches(found, dog.Need(kind).WorkingM), wire.Attribution
	return out, nil
}

// mostAlongM bounds the work of one request; three hours on foot are 14 km.
const mostAlongM = 30_000

func stretches(found []escape.OutAlong, needM float64) []StretchOut {
	out := []StretchOut{}
	for i := range found {
		o := &found[i]
		if o.Side == escape.SideAhead {
			out = append(out, StretchOut{AtM: o.AtM})
		}
		at := &out[len(out)-1]
		side := SideInfo{First: string(o.First), Then: string(o.Then), ThenM: tenths(o.ThenM), AsideM: tenths(o.Out.AsideM), LengthM: tenths(o.Out.Line.LengthM()),
			Seconds: math.Round(o.Out.Seconds), EndsM: tenths(o.Out.EndsM), Hidden: o.Out.Hidden, Works: o.Out.Hidden || o.Out.EndsM >= needM}
		*map[escape.Side]*SideInfo{escape.SideAhead: &at.Ahead, escape.SideLeft: &at.Left, escape.SideRight: &at.Right, escape.SideBehind: &at.Behind}[o.Side] = side
	}
	return out
}
