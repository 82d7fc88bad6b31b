package api

import (
	"context"
	"encoding/json"
	"net/http"
	"sync"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/wire"
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

// places answers POST /v1/places.
func (s *Server) places(g *gazetteer.Gazetteer, in *wire.PlacesBody) []wire.Place {
	f := s.planner.Frame()
	out := []wire.Place{}
	if in.At != nil {
		if name, ok := g.Called(in.At.In(f)); ok {
			out = append(out, wire.Place{Name: name, At: *in.At})
		}
		return out
	}
	for _, p := range g.Find(in.Text) {
		out = append(out, wire.Place{Name: p.Name, At: wire.NewLatLon(f, p.At)})
	}
	return out
}

func (s *Server) placeRoutes() {
	names := sync.OnceValue(func() *gazetteer.Gazetteer { return gazetteer.New(s.planner.Snapshot()) })
	huma.Register(s.api, huma.Operation{OperationID: "map", Method: http.MethodGet, Path: "/v1/map", Summary: "What map is loaded", Tags: []string{"around"}}, s.mapInfo)
	huma.Register(s.api, huma.Operation{
		OperationID: "places", Method: http.MethodPost, Path: "/v1/places", Summary: "Find a place by name, or a place's name", Tags: []string{"around"},
		Description: "Streets, doors and quarters of the loaded map. A POST, so that no address stands in anybody's log of requests.",
		Errors:      []int{400, 422, 429, 503},
	}, func(ctx context.Context, in *struct{ Body wire.PlacesBody }) (*struct {
		Body struct {
			Places []wire.Place `json:"places"`
		}
	}, error) {
		out := &struct {
			Body struct {
				Places []wire.Place `json:"places"`
			}
		}{}
		err := s.quickly(ctx, s.looks, func() error {
			out.Body.Places = s.places(names(), &in.Body)
			return nil
		})
		if err != nil {
			return nil, s.problem(ctx, err)
		}
		return out, nil
	})
}
