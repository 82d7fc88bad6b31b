package api

import (
	"cmp"
	"context"
	"encoding/json"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/wire"
	"wideberth/osmdata/plane"
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
	w, south := snap.Frame.Inverse(snap.Bounds.Min)
	e, n := snap.Frame.Inverse(snap.Bounds.Max)
	out.Body = wire.MapInfo{Name: snap.Name, BBox: [4]float64{w, south, e, n}, TimeZone: snap.Zone, Version: s.opt.Version,
		Now: s.now().In(s.planner.Zone()).Format(time.RFC3339), Attribution: wire.Attribution, ZoneCredit: wire.ZoneCredit}
	if !snap.MapTime.IsZero() {
		out.Body.MapTime = snap.MapTime.UTC().Format(time.RFC3339)
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
	mostPlaces  = 8
	nameWithinM = 60 // a place this near an address is called by it
)

// gazetteer lists what places are called.
type gazetteer struct {
	entries []gazetteerEntry
}

type gazetteerEntry struct {
	name, folded string
	at           plane.Point
	rank         uint8 // quarters before streets before doors
}

func (s *Server) newGazetteer() *gazetteer {
	var g gazetteer
	snap := s.planner.Snapshot()
	for _, p := range snap.Ground.Places {
		g.add(p.Name, p.At, 0)
	}
	longest := make([]float64, len(snap.Graph.Names))
	middle := make([]plane.Point, len(snap.Graph.Names))
	for e := range int32(snap.Graph.EdgeCount()) {
		name := snap.Graph.Parts[snap.Graph.PartAt[e]].Name
		if l := float64(snap.Graph.LengthM[e]); name != 0 && l > longest[name] {
			longest[name], middle[name] = l, snap.Graph.EdgeLine(e).At(l/2)
		}
	}
	for i, name := range snap.Graph.Names {
		if longest[i] > 0 {
			g.add(name, middle[i], 1)
		}
	}
	for _, a := range snap.Ground.Addresses {
		if a.Street != "" && a.Number != "" {
			g.add(a.Street+" "+a.Number, a.At, 2)
		}
	}
	return &g
}

func (g *gazetteer) add(name string, at plane.Point, rank uint8) {
	g.entries = append(g.entries, gazetteerEntry{name, strings.ToLower(name), at, rank})
}

// find gives what begins with the text first, then what holds it.
func (g *gazetteer) find(text string) []gazetteerEntry {
	text = strings.ToLower(strings.Join(strings.Fields(text), " "))
	if text == "" {
		return nil
	}
	var first, second []gazetteerEntry
	for _, e := range g.entries {
		switch at := strings.Index(e.folded, text); {
		case at == 0:
			first = append(first, e)
		case at > 0:
			second = append(second, e)
		}
	}
	byRank := func(a, b gazetteerEntry) int {
		return cmp.Or(cmp.Compare(len(a.name), len(b.name)), cmp.Compare(a.rank, b.rank), cmp.Compare(a.name, b.name))
	}
	slices.SortFunc(first, byRank)
	slices.SortFunc(second, byRank)
	found := append(first, second...)
	return found[:min(len(found), mostPlaces)]
}

// nearest is the entry next to a place, a door rather than a street where one is
// near enough.
func (g *gazetteer) nearest(at plane.Point) (best gazetteerEntry, ok bool) {
	bestM := 0.0
	for _, e := range g.entries {
		if e.rank != 2 {
			continue
		}
		if d := e.at.DistanceM(at); d < nameWithinM && (!ok || d < bestM) {
			best, bestM, ok = e, d, true
		}
	}
	return best, ok
}

// places answers POST /v1/places.
func (s *Server) places(g *gazetteer, in *wire.PlacesBody) []wire.Place {
	f := s.planner.Frame()
	out := []wire.Place{}
	if in.At != nil {
		at := in.At.In(f)
		if e, ok := g.nearest(at); ok {
			return append(out, wire.Place{Name: e.name, At: *in.At})
		}
		if place, err := s.planner.Snapshot().Graph.Snap(at, nameWithinM); err == nil {
			graph := s.planner.Snapshot().Graph
			if name := graph.Names[graph.Parts[graph.PartAt[place.Edge]].Name]; name != "" {
				out = append(out, wire.Place{Name: name, At: *in.At})
			}
		}
		return out
	}
	for _, e := range g.find(in.Text) {
		out = append(out, wire.Place{Name: e.name, At: wire.NewLatLon(f, e.at)})
	}
	return out
}

func (s *Server) placeRoutes() {
	gazetteer := sync.OnceValue(s.newGazetteer)
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
			out.Body.Places = s.places(gazetteer(), &in.Body)
			return nil
		})
		if err != nil {
			return nil, s.problem(ctx, err)
		}
		return out, nil
	})
}
