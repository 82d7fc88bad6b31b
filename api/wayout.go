package api

import (
	"context"
	"math"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/encode"
	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
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
	PaceMPS  float64           `json:"pace_mps"`
	Means    string            `json:"means" enum:"stay,turn_back,side_street,aside,walk_on"`
	Turn     string            `json:"turn" doc:"First move, for somebody who faces the trigger."`
	Aside    string            `json:"aside,omitempty" doc:"Side to step to, as one walks; with nothing to walk, as one faces the trigger."`
	AsideM   float64           `json:"aside_m,omitempty"`
	Stand    encode.Position   `json:"stand" doc:"Where it ends: the end of the line, or aside of it."`
	Seconds  float64           `json:"seconds" doc:"Until the working distance is reached or it is out of sight."`
	PresentM float64           `json:"present_m"`
	NearestM float64           `json:"nearest_m" doc:"Least distance on the way, over what the trigger likely does."`
	EndsM    float64           `json:"ends_m"`
	Hidden   bool              `json:"hidden" doc:"Ends out of its sight."`
	Chance   float64           `json:"chance" doc:"That the trigger does what this way allows for."`
	Geometry encode.LineString `json:"geometry"`
}

type wayOutOutput struct {
	Body struct {
		Calm        WayOutInfo `json:"calm" doc:"At the dog's own pace."`
		Brisk       WayOutInfo `json:"brisk" doc:"At a brisk one, 1.6 m/s."`
		Attribution string     `json:"attribution"`
	}
}

// wayOut answers POST /v1/ways-out.
func (s *Server) wayOut(ctx context.Context, in *struct{ Body wayOutBody }) (*wayOutOutput, error) {
	b := &in.Body
	kind, err := exposure.ParseKind(orDefault(b.Kind, exposure.DogOnLead.String()))
	if err != nil {
		return nil, s.problem(ctx, exposure.Problems{{Pointer: "/kind", Value: b.Kind, Mend: err.Error()}})
	}
	dog, err := dogOf(&b.Dog)
	if err != nil {
		return nil, s.problem(ctx, inDog(err))
	}
	f := s.planner.Frame()
	at := f.Forward(b.At.Lon, b.At.Lat)
	threat := routing.Threat{At: f.Forward(b.Threat.Lon, b.Threat.Lat), SpeedMPS: b.Speed, Kind: kind}
	if threat.At.DistanceM(at) > mostThreatM {
		return nil, s.problem(ctx, exposure.Problems{{Pointer: "/threat", Mend: "lies more than 500 m off: nothing needs to be done about it"}})
	}
	calm, brisk, err := s.planner.WaysOut(at, threat, dog)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	out := &wayOutOutput{}
	out.Body.Calm, out.Body.Brisk, out.Body.Attribution = wayOutInfo(f, &calm), wayOutInfo(f, &brisk), encode.Attribution
	return out, nil
}

// mostThreatM is how far off a trigger is still a matter of seconds.
const mostThreatM = 500

func wayOutInfo(f plane.Frame, w *routing.WayOut) WayOutInfo {
	return WayOutInfo{PaceMPS: w.PaceMPS, Means: string(w.Means), Turn: string(w.Turn), Aside: w.Aside, AsideM: tenths(w.AsideM), Stand: encode.NewPosition(f, w.Stand),
		Seconds: math.Round(w.Seconds), PresentM: tenths(w.PresentM), NearestM: tenths(w.NearestM), EndsM: tenths(w.EndsM),
		Hidden: w.Hidden, Chance: math.Round(100*w.Chance) / 100, Geometry: encode.NewLineString(f, w.Line)}
}

func (s *Server) wayOutRoutes() {
	huma.Register(s.api, huma.Operation{
		OperationID: "way-out", Method: http.MethodPost, Path: "/v1/ways-out", Summary: "Way out", Tags: []string{"on the walk"},
		Description:  "Here I am, there is the trigger, standing or coming: the way that keeps the most distance, at the dog's pace and at a brisk one. There is always an answer; its numbers say how good it is.",
		MaxBodyBytes: maxBodyBytes, Errors: []int{400, 422},
	}, s.wayOut)
}
