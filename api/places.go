package api

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/wire"
	"wideberth/osmdata/fault"
	"wideberth/routing/atlas"
	"wideberth/routing/gazetteer"
	"wideberth/testdata"
)

// mapInfo answers GET /v1/map.
func (s *Server) mapInfo(ctx context.Context, in *mapAsked) (*struct {
	CacheControl string `header:"Cache-Control"`
	Body         wire.MapInfo
}, error) {
	at, err := in.place()
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	m, err := s.atOrFirst(ctx, "/at", at)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	snap := m.Planner.Snapshot()
	out := &struct {
		CacheControl string `header:"Cache-Control"`
		Body         wire.MapInfo
	}{CacheControl: "no-store"}
	out.Body = wire.NewMapInfo(snap, s.opt.Version, s.now().In(m.Planner.Zone()))
	if tiles := view(ctx).Tiles(); len(tiles) > 1 {
		out.Body.BBox = view(ctx).Bounds()
		out.Body.Maps = wire.NewMapsThere(tiles)
	}
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

// mapAsked says of which map somebody asks.
type mapAsked struct {
	At string `query:"at" doc:"LAT,LON in degrees: zone, clock and age of the map of this place. Left out: of the first." example:"39.75,-75.55"`
}

// place is the place asked about, nil where none is.
func (a *mapAsked) place() (*wire.LatLon, error) {
	if a.At == "" {
		return nil, nil
	}
	var at wire.LatLon
	if n, err := fmt.Sscanf(a.At, "%g,%g", &at.Lat, &at.Lon); n != 2 || err != nil || !(math.Abs(at.Lat) <= 90 && math.Abs(at.Lon) <= 180) {
		return nil, fault.One("/at", a.At, "give latitude and longitude in degrees, like 39.75,-75.55")
	}
	return &at, nil
}

// places answers POST /v1/places.
func (s *Server) places(ctx context.Context, in *wire.PlacesBody) (out wire.FoundPlaces, err error) {
	out.Places = []wire.FoundPlace{}
	if in.At == nil {
		var near *atlas.Place
		if in.Near != nil {
			near = &atlas.Place{Lon: in.Near.Lon, Lat: in.Near.Lat}
		}
		found, err := view(ctx).Find(ctx, in.Text, near, mostPlaces, s.missing)
		for i := range found {
			out.Places = append(out.Places, wire.NewFoundPlace(wire.LatLon{Lat: found[i].Lat, Lon: found[i].Lon}, &found[i].Found))
		}
		return out, err
	}
	m, err := s.at(ctx, "/at", *in.At)
	if err != nil {
		return out, err
	}
	f, snap := m.Planner.Frame(), m.Planner.Snapshot()
	at := in.At.In(f)
	found, ok := snap.Names.Nearest(at, nameWithinM)
	if !ok {
		place, near := snap.Graph.Near(at, nameWithinM)
		if !near {
			return out, nil
		}
		found = gazetteer.Found{Kind: gazetteer.Street, Name: snap.Graph.Names[snap.Graph.Parts[snap.Graph.PartAt[place.Edge]].Name]}
	}
	if found.Name != "" {
		p := wire.NewFoundPlace(*in.At, &found)
		p.AwayM = 0
		out.Places = append(out.Places, p)
	}
	return out, nil
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
		err := s.quickly(ctx, s.looks, func() (err error) {
			out.Body, err = s.places(ctx, &in.Body)
			return err
		})
		if err != nil {
			return nil, s.problem(ctx, err)
		}
		return out, nil
	})
}
