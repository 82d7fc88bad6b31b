package api

import (
	"cmp"
	"context"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/body"
	"wideberth/api/wire"
	"wideberth/api/wire/dogfile"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/escape"
)

// threatened reads what comes, left out a dog on lead, and the dog that is to get
// away. Faults are fault.Problems.
func threatened(name string, file *dogfile.File) (exposure.Kind, *exposure.Dog, error) {
	kind, err := exposure.ParseKind(cmp.Or(name, exposure.DogOnLead.String()))
	if err != nil {
		return kind, nil, fault.Problems{{Pointer: "/kind", Value: name, Mend: err.Error()}}
	}
	dog, err := file.DogOrTypical()
	return kind, dog, inDog(err)
}

// wayOut answers POST /v1/ways-out.
func (s *Server) wayOut(ctx context.Context, in *struct{ Body wire.WayOutBody }) (*answered[wire.WaysOut], error) {
	b := &in.Body
	kind, dog, err := threatened(b.Kind, &b.Dog)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	m, err := s.at(ctx, "/at", b.At)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	f, land := m.Planner.Frame(), m.Planner.Land()
	at := b.At.In(f)
	threat := escape.Threat{At: b.Threat.In(f), SpeedMPS: b.Speed, Kind: kind}
	if threat.At.DistanceM(at) > wire.MostThreatM {
		return nil, s.problem(ctx, fault.Problems{{Pointer: "/threat", Mend: "lies more than 500 m off: nothing needs to be done about it"}})
	}
	var calm, brisk escape.WayOut
	err = s.quickly(ctx, s.exits, func() (err error) {
		calm, brisk, err = escape.WaysOut(land, at, threat, dog)
		return err
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	aid, err := escape.AidFrom(land, at, threat)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[wire.WaysOut]{wire.NewWaysOut(&calm, &brisk, &aid, f, wire.ReaderOf(ctx))}, nil
}

func (s *Server) wayOutRoutes() {
	huma.Register(s.api, huma.Operation{
		OperationID: "way-out", Method: http.MethodPost, Path: "/v1/ways-out", Summary: "Way out", Tags: []string{"on the walk"},
		Description:  "Here I am, there is the trigger, standing or coming: the way that keeps the most distance, at the dog's pace and at a brisk one. There is always an answer; its numbers say how good it is.",
		MaxBodyBytes: body.MostBytes, Errors: []int{400, 422, 429, 503},
	}, s.wayOut)
	huma.Register(s.api, huma.Operation{
		OperationID: "ways-out-along", Method: http.MethodPost, Path: "/v1/ways-out/along", Summary: "Ways out along a walk", Tags: []string{"on the walk"},
		Description:  "What to do when something turns up, every 40 m of a walk and for each side it may come from: to be kept by who walks without a network.",
		MaxBodyBytes: body.MostBytes, Errors: []int{400, 413, 422, 503, 504},
	}, s.waysOutAlong)
}

// waysOutAlong answers POST /v1/ways-out/along.
func (s *Server) waysOutAlong(ctx context.Context, in *struct{ Body wire.WaysOutBody }) (*answered[wire.WaysOutAlong], error) {
	b := &in.Body
	kind, dog, err := threatened(b.Kind, &b.Dog)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	m, err := s.at(ctx, "/line/0", wire.LatLon{Lat: b.Line[0][1], Lon: b.Line[0][0]})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	f := m.Planner.Frame()
	line := make(plane.Polyline, len(b.Line))
	for i, q := range b.Line {
		line[i] = q.In(f)
	}
	if long := line.LengthM(); !(long <= mostAlongM) {
		return nil, s.problem(ctx, fault.Problems{{Pointer: "/line", Mend: "is longer than 30 km: send a part of it"}})
	}
	var found []escape.OutAlong
	err = s.searching(ctx, func() (err error) {
		found, err = escape.WaysOutAlong(ctx, m.Planner.Land(), line, kind, dog)
		return err
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return &answered[wire.WaysOutAlong]{wire.NewWaysOutAlong(found, dog.Need(kind).WorkingM, f, wire.ReaderOf(ctx))}, nil
}

// mostAlongM bounds the work of one request; three hours on foot are 14 km.
const mostAlongM = 30_000
