package api

import (
	"context"
	"encoding/json"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/wire"
	"wideberth/osmdata/plane"
	"wideberth/routing/gazetteer"
	"wideberth/testdata"
)

// mapInfo answers GET /v1/map.
func (s *Server) mapInfo(context.Context, *struct{}) (*struct {
	CacheControl string `header:"Cache-Control"`
	Body         wire.MapInfo
}, error) {
	snap := s.planner.Snapshot()
	out := &struct {
		CacheControl string `header:"Cache-Control"`
		Body         wire.MapInfo
	}{CacheControl: "no-store"}
	out.Body = wire.NewMapInfo(snap, s.opt.Version, s.now().In(s.planner.Zone()))
	if snap.Name == testdata.TownName {
		d := wire.Demo{From: wire.Place{Name: testdata.DoorName, At: wire.LatLon{Lat: testdata.DoorLat, Lon: testdata.DoorLon}}}
		if err := json.Unmarshal(testdata.Dog(), &d.Dog); err != nil {
			return nil, err
		}
		if err := json.Unmarshal(testdata.Outing(), &d.Outing); err != nil {
			return nil, err
		}
		out.Body.Demo = &d
	}
	return out, nil
}

const (
	mostPlaces  = 12
	nameWithinM = 60 // a place this near an address is called by it
)

// places answers POST /v1/places.
func (s *Server) places(in *wire.PlacesBody) (out wire.FoundPlaces) {
	f, snap := s.planner.Frame(), s.planner.Snapshot()
	out.Places = []wire.FoundPlace{}
	if in.At == nil {
		var near *plane.Point
		if in.Near != nil {
			at := in.Near.In(f)
			near = &at
		}
		for _, p := range snap.Names.Find(in.Text, near, mostPlaces) {
			out.Places = append(out.Places, wire.NewFoundPlace(f, &p))
		}
		return out
	}
	at := in.At.In(f)
	found, ok := snap.Names.Nearest(at, nameWithinM)
	if !ok {
		place, err := snap.Graph.Snap(at, nameWithinM)
		if err != nil {
			return out
		}
		found = gazetteer.Found{Kind: gazetteer.Street, Name: snap.Graph.Names[snap.Graph.Parts[snap.Graph.PartAt[place.Edge]].Name]}
	}
	if found.Name != "" {
		p := wire.NewFoundPlace(f, &found)
		p.At, p.AwayM = *in.At, 0
		out.Places = append(out.Places, p)
	}
	return out
}

func (s *Server) placeRoutes() {
	huma.Register(s.api, huma.Operation{OperationID: "map", Method: http.MethodGet, Path: "/v1/map", Summary: "What map is loaded", Tags: []string{"around"}}, s.mapInfo)
	huma.Register(s.api, huma.Operation{
		OperationID: "places", Method: http.MethodPost, Path: "/v1/places", Summary: "Find a place by name, or a place's name", Tags: []string{"around"},
		Description: "Streets by town, doors, parks, schools, settlements and postcodes of the loaded map: what fits in more words and better comes first, then the nearest. " +
			"Letters are forgiven where nothing else fits. A POST, so that no address stands in anybody's log of requests.",
		Errors: []int{400, 422, 429, 503},
	}, func(ctx context.Context, in *struct{ Body wire.PlacesBody }) (*struct{ Body wire.FoundPlaces }, error) {
		out := &struct{ Body wire.FoundPlaces }{}
		err := s.quickly(ctx, s.looks, func() error {
			out.Body = s.places(&in.Body)
			return nil
		})
		if err != nil {
			return nil, s.problem(ctx, err)
		}
		return out, nil
	})
}
