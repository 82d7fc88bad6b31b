package api

import (
	"bytes"
	"cmp"
	"context"
	"mime"
	"net/http"
	"slices"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/memory"
	"wideberth/api/problem"
	"wideberth/api/store"
	"wideberth/api/wire"
	"wideberth/api/wire/kept"
	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/routing/track"
)

// gpxTypes are the media types that a GPX file is taken under: its own, and those
// of XML (RFC 7303).
var gpxTypes = []string{"application/gpx+xml", "application/xml", "text/xml"}

const (
	trackReadTime = 25 * time.Second // 8 MB from a phone; the server gives a request 30 s
	gpxSlack      = 24 * time.Hour   // a phone's clock may be off by a zone
)

type trackSent struct {
	memory.ByID
	ContentType string `header:"Content-Type"`
	RawBody     []byte
}

func (s *Server) trackRoutes() {
	m := s.opt.Store
	s.takeTrack()
	memory.Keep(s.desk, http.MethodGet, "/v1/walks/{id}/track", "track", "The track of a walk", func(ctx context.Context, w store.Who, in *memory.ByID) ([]kept.Stamp, error) {
		points, err := m.Track(ctx, w, in.ID)
		out := make([]kept.Stamp, len(points))
		for i, p := range points {
			out[i] = kept.Stamp(p)
		}
		return out, err
	})
	memory.Drop(s.desk, http.MethodDelete, "/v1/walks/{id}/track", "delete-track", "Delete the track of a walk; the walk stays", func(ctx context.Context, w store.Who, in *memory.ByID) error {
		return m.DetachTrack(ctx, w, in.ID)
	})
}

// takeTrack registers POST /v1/walks/{id}/track.
func (s *Server) takeTrack() {
	content := map[string]*huma.MediaType{}
	for _, t := range gpxTypes {
		content[t] = &huma.MediaType{Schema: &huma.Schema{Type: huma.TypeString, Format: "binary"}, Example: gpxExample}
	}
	huma.Register(s.api, huma.Operation{
		OperationID: "add-track", Method: http.MethodPost, Path: "/v1/walks/{id}/track", Summary: "Attach a recorded track", Tags: []string{"memory"},
		Description:  "A GPX 1.1 file, in the place of an earlier one. A fault is told with its line, and then nothing is kept. Where the points have times, what the walk was predicted to meet is worked out anew along the track.",
		RequestBody:  &huma.RequestBody{Required: true, Content: content},
		MaxBodyBytes: wire.MostGPXBytes, BodyReadTimeout: trackReadTime, Errors: []int{400, 401, 403, 404, 409, 413, 415, 422, 429, 503, 507},
	}, func(ctx context.Context, in *trackSent) (*answered[wire.TrackInfo], error) {
		w, err := memory.Who(ctx)
		if err != nil {
			return nil, s.problem(ctx, err)
		}
		info, err := s.addTrack(ctx, w, in)
		if err != nil {
			return nil, s.problem(ctx, err)
		}
		return &answered[wire.TrackInfo]{info}, nil
	})
}

const gpxExample = `<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="example"><trk><trkseg>` +
	`<trkpt lat="39.7501" lon="-75.5502"><time>2026-11-25T12:10:00Z</time></trkpt></trkseg></trk></gpx>`

func (s *Server) addTrack(ctx context.Context, w store.Who, in *trackSent) (info wire.TrackInfo, err error) {
	if t, _, err := mime.ParseMediaType(in.ContentType); err != nil || !slices.Contains(gpxTypes, t) {
		return info, problem.New(http.StatusUnsupportedMediaType, wire.ReaderOf(ctx).Say("problem.track_form"))
	}
	walk, err := s.opt.Store.Walk(ctx, w, in.ID)
	if err != nil {
		return info, err
	}
	points, err := wire.ReadGPX(bytes.NewReader(in.RawBody))
	if err != nil {
		return info, err
	}
	info.Points = len(points)
	for _, p := range points {
		if !p.At.IsZero() {
			info.Begins, info.Ends = cmp.Or(info.Begins, p.At), p.At
		}
	}
	if !info.Begins.IsZero() && info.Begins.Sub(walk.Started).Abs() > gpxSlack {
		return info, fault.Problems{{Pointer: "/time", Value: info.Begins.Format(time.RFC3339),
			Mend: "lies more than a day from the walk, which began " + walk.Started.UTC().Format(time.RFC3339) + ": send the track of this walk"}}
	}
	expected, err := s.expectedAlong(ctx, w, walk.Dog, points)
	if err != nil {
		return info, err
	}
	info.Kept, err = s.opt.Store.Attach(ctx, w, in.ID, points, expected)
	return info, err
}

// expectedAlong is what the map predicted along a track, nearer than the dog's
// working distance. Nil where too few points have times or lie on the map, so that
// what a plan predicted stays.
func (s *Server) expectedAlong(ctx context.Context, w store.Who, dogID string, points []kept.TrackPoint) ([]kept.Expected, error) {
	dog, err := s.opt.Store.Dog(ctx, w, dogID)
	if err != nil {
		return nil, err
	}
	m := s.mayBeAt(ctx, wire.LatLon{Lat: points[0].Lat, Lon: points[0].Lon})
	if m == nil {
		return nil, nil
	}
	walked := wire.Walked(points, m.Planner.Frame())
	var steps []exposure.Step
	err = s.quickly(ctx, s.looks, func() error {
		steps = track.Match(m.Planner.Snapshot().Graph, m.Planner.Clock(), walked)
		return nil
	})
	if err != nil || len(steps) == 0 {
		return nil, err
	}
	return s.forecast(ctx, m, dog.Model(), steps)
}
