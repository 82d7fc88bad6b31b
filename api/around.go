package api

import (
	"context"
	"errors"
	"math"
	"net/http"
	"slices"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	"wideberth/api/wire"
	"wideberth/exposure"
	"wideberth/exposure/strain"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
)

// aroundBody asks what it is like in a box for one dog at one hour.
type aroundBody struct {
	BBox [4]float64 `json:"bbox" doc:"West, south, east, north in degrees." example:"[-75.56,39.74,-75.54,39.75]"`
	LookBody
}

// reachBody asks what it is like round a place.
type reachBody struct {
	From LatLon `json:"from" doc:"The ways within 1,500 m of it are compared."`
	LookBody
}

// LookBody says for whom and when something is looked at.
type LookBody struct {
	Depart string           `json:"depart,omitempty" doc:"RFC 3339 with its zone; left out: now."`
	Dog    exposure.DogFile `json:"dog,omitempty"`

	Weather *WeatherBody `json:"weather,omitempty" doc:"As somebody says it is; left out: as usual in the season."`
}

// Feature is a GeoJSON feature of an answer about a box.
type Feature struct {
	Type       string          `json:"type" enum:"Feature"`
	Geometry   wire.LineString `json:"geometry"`
	Properties EdgeProperties  `json:"properties"`
}

// EdgeProperties say what it is like on one edge of the network.
type EdgeProperties struct {
	Way        string  `json:"way" enum:"street,path,crossing,drive,service" doc:"What it is on a map: crossings, drives and service roads are not compared."`
	Step       int     `json:"step,omitempty" enum:"1,2,3,4" doc:"Among the streets about: 1 calmest here to 4 hardest here. Left out where they were not compared."`
	Edge       int32   `json:"edge" doc:"For breakdowns."`
	Name       string  `json:"name"`
	Level      string  `json:"level" enum:"calm,some,tight,hard"`
	X10        float64 `json:"reactions_in_ten_minutes"`
	RoomLeftM  float64 `json:"room_left_m" doc:"Seen along the geometry."`
	RoomRightM float64 `json:"room_right_m"`
	Default    bool    `json:"room_default"`
	SightM     float64 `json:"sight_m"`
	NoiseDB    float64 `json:"road_noise_db"`
}

// Hazards is a GeoJSON feature collection.
type Hazards struct {
	Type        string    `json:"type" enum:"FeatureCollection"`
	Features    []Feature `json:"features"`
	Truncated   bool      `json:"truncated" doc:"The box holds more ways than are given at once."`
	Attribution string    `json:"attribution"`
}

// RankedStreets are the ways about a place: each by itself, and in runs to be drawn.
type RankedStreets struct {
	Hazards
	Rank wire.Rank   `json:"rank"`
	Runs []StreetRun `json:"runs" doc:"Every feature is in one."`
}

// StreetRun is a run of ways of one step and sort, to be drawn as one line.
type StreetRun struct {
	Step  int    `json:"step" enum:"1,2,3,4"`
	Way   string `json:"way" enum:"street,path,crossing,drive,service"`
	Edges []int  `json:"edges" doc:"Features by their place in the list, counted from 1, in order; negative where the run goes against the geometry."`
}

// streets answers POST /v1/streets: the whole reach, however many ways it has.
func (s *Server) streets(ctx context.Context, in *struct{ Body reachBody }) (*struct{ Body RankedStreets }, error) {
	dog, at, err := s.lookAt(&in.Body.LookBody)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p, learnt, err := s.taught(ctx)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	var r *routing.Ranked
	err = s.searching(ctx, func() error {
		r = p.Under(in.Body.Weather.weather()).Ranked(s.planner.Frame().Forward(in.Body.From.Lon, in.Body.From.Lat), dog, at, learnt)
		return nil
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	out := RankedStreets{Hazards: s.newHazards(r.Edges), Rank: wire.NewRank(&r.Rank), Runs: make([]StreetRun, len(r.Runs))}
	for i := range r.Runs {
		run := &r.Runs[i]
		edges := make([]int, len(run.Edges))
		for k, e := range run.Edges {
			edges[k] = int(e.Line) + 1
			if e.Against {
				edges[k] = -edges[k]
			}
		}
		out.Runs[i] = StreetRun{run.Step, run.Role.String(), edges}
	}
	return &struct{ Body RankedStreets }{out}, nil
}

func (s *Server) newHazards(edges []routing.EdgeHazard) Hazards {
	out := Hazards{Type: "FeatureCollection", Features: make([]Feature, len(edges)), Attribution: wire.Attribution}
	for i := range edges {
		e := &edges[i]
		out.Features[i] = Feature{"Feature", wire.NewLineString(s.planner.Frame(), e.Line),
			EdgeProperties{e.Role.String(), e.Step, e.Edge, e.Name, e.Level.String(), math.Round(e.HazardPerS*600*1e4) / 1e4, tenths(e.LeftM), tenths(e.RightM), e.RoomDefault, math.Round(e.SightM), tenths(e.LevelDB)}}
	}
	return out
}

// mostEdges and mostSources bound one answer to about two megabytes.
const (
	mostEdges   = 6000
	mostSources = 4000
)

func (s *Server) hazards(ctx context.Context, in *struct{ Body aroundBody }) (*struct{ Body Hazards }, error) {
	look, err := s.look(&in.Body)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	out := &struct{ Body Hazards }{}
	p, learnt, err := s.taught(ctx)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p = p.Under(in.Body.Weather.weather())
	err = s.searching(ctx, func() error {
		edges, more := p.EdgesIn(look.Box, mostEdges)
		out.Body = s.newHazards(p.Hazards(edges, &look.Dog, look.Depart, learnt))
		out.Body.Truncated = more
		return nil
	})
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	return out, nil
}

func tenths(x float64) float64 { return math.Round(10*x) / 10 }

// besideMapDeg is how far beside the map a box is looked at: reports may lie there.
const besideMapDeg = 0.5

// look turns what a client sent into what the planner looks at.
func (s *Server) look(b *aroundBody) (routing.Look, error) {
	w, s2, e, n := b.BBox[0], b.BBox[1], b.BBox[2], b.BBox[3]
	if !(w < e && s2 < n && s2 >= -90 && n <= 90 && w >= -180 && e <= 180) {
		return routing.Look{}, fault.Problems{{Pointer: "/bbox", Mend: "give west, south, east, north in degrees, west before east and south before north"}}
	}
	f := s.planner.Frame()
	look := routing.Look{Box: plane.EmptyBox()}
	// the plane is only good near the map: what lies far off it shows nothing anyway
	bounds := s.planner.Snapshot().Bounds
	west, south := f.Inverse(bounds.Min)
	east, north := f.Inverse(bounds.Max)
	w, e, s2, n = max(w, west-besideMapDeg), min(e, east+besideMapDeg), max(s2, south-besideMapDeg), min(n, north+besideMapDeg)
	if w < e && s2 < n {
		for _, c := range [4][2]float64{{w, s2}, {e, n}, {w, n}, {e, s2}} {
			look.Box = look.Box.With(f.Forward(c[0], c[1]))
		}
	}
	dog, at, err := s.lookAt(&b.LookBody)
	if err != nil {
		return look, err
	}
	look.Dog, look.Depart = *dog, at
	return look, nil
}

// lookAt reads for whom and when.
func (s *Server) lookAt(b *LookBody) (*exposure.Dog, time.Time, error) {
	dog, err := dogOf(&b.Dog)
	if err != nil {
		return nil, time.Time{}, inDog(err)
	}
	at, err := s.departure(b.Depart)
	return dog, at, err
}

// SourceInfo is a fixed source of triggers.
type SourceInfo struct {
	ID       int32             `json:"id"`
	OSM      string            `json:"osm" doc:"Where the map has it, or the report."`
	Sort     string            `json:"sort" example:"dog_park"`
	What     string            `json:"what" example:"dog park"`
	Name     string            `json:"name"`
	At       wire.Position     `json:"at"`
	Kinds    []string          `json:"kinds"`
	Hours    string            `json:"hours,omitempty" doc:"opening_hours as tagged."`
	Active   float64           `json:"active" doc:"Probability that a trigger the dog reacts to is there then."`
	WorkingM float64           `json:"working_m" doc:"The dog's working distance for what is there."`
	Assumed  bool              `json:"assumed" doc:"How many are there is a default."`
	Outline  [][]wire.Position `json:"outline,omitempty"`
}

// Sources are the fixed sources in a box.
type Sources struct {
	Sources     []SourceInfo `json:"sources"`
	Truncated   bool         `json:"truncated" doc:"The box holds more sources than are given at once."`
	Attribution string       `json:"attribution"`
}

func (s *Server) sources(ctx context.Context, in *struct{ Body aroundBody }) (*answered[Sources], error) {
	look, err := s.look(&in.Body)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p, learnt, err := s.taught(ctx)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p = p.Under(in.Body.Weather.weather())
	ids, more := p.SourcesIn(look.Box, mostSources)
	out := Sources{Sources: []SourceInfo{}, Truncated: more, Attribution: wire.Attribution}
	for _, id := range ids {
		out.Sources = append(out.Sources, sourceInfo(p, id, &look, learnt))
	}
	return &answered[Sources]{out}, nil
}

func sourceInfo(p *routing.Planner, id int32, look *routing.Look, learnt *exposure.Factors) SourceInfo {
	snap := p.Snapshot()
	src := snap.Field.Source(id)
	info := SourceInfo{ID: id, OSM: src.OSM, Sort: src.As, What: exposure.SourceNoun(src.As), Name: src.Name,
		At: wire.NewPosition(snap.Frame, src.At), Hours: src.Hours, Assumed: src.Assumed,
		Active:   math.Round(1e3*snap.Field.Active(id, &look.Dog, p.Clock().At(look.Depart), learnt)) / 1e3,
		WorkingM: snap.Field.NeedAt(id, &look.Dog).WorkingM, Kinds: []string{}}
	for _, m := range src.Mix {
		info.Kinds = append(info.Kinds, m.Kind.String())
	}
	if src.Reported() {
		info.What = src.Mix[0].Kind.Info().Noun
	}
	for _, area := range src.Area {
		info.Outline = append(info.Outline, wire.NewLineString(snap.Frame, append(area.Outer[:len(area.Outer):len(area.Outer)], area.Outer[0])).Coordinates)
	}
	return info
}

type explainBody struct {
	Edge   int32            `json:"edge" minimum:"0" doc:"From a plan's legs or from the hazard of a box."`
	Depart string           `json:"depart,omitempty"`
	Dog    exposure.DogFile `json:"dog,omitempty"`

	Weather *WeatherBody `json:"weather,omitempty" doc:"As somebody says it is; left out: as usual in the season."`
}

// TermInfo is one line of a breakdown.
type TermInfo struct {
	Kind        string  `json:"kind"`
	What        string  `json:"what" doc:"The source, or the stream." example:"dog walks on the way itself"`
	DistanceM   float64 `json:"distance_m" doc:"Closest approach; for a sound, the distance at which it would be as loud without buildings between."`
	InSight     bool    `json:"in_sight"`
	PerHour     float64 `json:"per_hour" doc:"Encounters, or fresh chances at a source that stays, in an hour of walking there."`
	Active      float64 `json:"active" doc:"At a source: probability that somebody is there."`
	P           float64 `json:"p" doc:"That one encounter goes over threshold."`
	Share       float64 `json:"share" doc:"Of the hazard of this ground."`
	XPerHour    float64 `json:"reactions_per_hour"`
	Evidence    string  `json:"evidence" enum:"map_flows,few_places,map_source,report,map_border,counted"`
	DoubtFactor float64 `json:"doubt_shape" doc:"Gamma shape of the doubt about the rate: smaller is less sure."`
}

// Explanation is the hazard of one ground and hour, taken apart.
type Explanation struct {
	Name  string     `json:"name"`
	Clock string     `json:"clock"`
	X10   float64    `json:"reactions_in_ten_minutes"`
	Level string     `json:"level" enum:"calm,some,tight,hard"`
	Terms []TermInfo `json:"terms"`
	Basis []string   `json:"basis" doc:"What the levels rest on, by what the dog minds: counted here, counted elsewhere and how far off there, or assumed."`

	Strain10  float64       `json:"strain_in_ten_minutes" doc:"Beside the reactions: what moving traffic counts here, in the same unit."`
	Dark      bool          `json:"dark" doc:"It is dark, which doubles the strain."`
	Traffic   []TrafficInfo `json:"traffic" doc:"The roads that make it."`
	Crossings float64       `json:"wide_crossings" doc:"Crossings of four lanes or more without a crossing or signals, on the whole edge."`
}

// TrafficInfo is a road on or beside the ground that is asked about.
type TrafficInfo struct {
	Share    float64 `json:"share" doc:"Of the edge's length."`
	PerHour  float64 `json:"vehicles_per_hour"`
	SpeedKMH float64 `json:"speed_kmh"`
	Pavement string  `json:"pavement" enum:"separate,unknown,none"`
	Main     bool    `json:"main_road"`
	Strain10 float64 `json:"strain_in_ten_minutes"`
}

var pavementWords = [...]string{strain.Separate: "separate", strain.Unknown: "unknown", strain.Carriageway: "none"}

func (s *Server) explain(ctx context.Context, in *struct{ Body explainBody }) (*answered[Explanation], error) {
	if int(in.Body.Edge) >= s.planner.Snapshot().Graph.EdgeCount() {
		return nil, newProblem(http.StatusNotFound, english.Say("problem.no_edge"))
	}
	dog, err := dogOf(&in.Body.Dog)
	if err != nil {
		return nil, s.problem(ctx, inDog(err))
	}
	at, err := s.departure(in.Body.Depart)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p, learnt, err := s.taught(ctx)
	if err != nil {
		return nil, s.problem(ctx, err)
	}
	p = p.Under(in.Body.Weather.weather())
	b := p.Explain(in.Body.Edge, dog, at, learnt)
	out := &answered[Explanation]{Explanation{Name: b.Name, Clock: at.Format("Mon 15:04"), X10: math.Round(1e5*b.HazardPerS*600) / 1e5,
		Level: routing.LevelOf(b.HazardPerS).String(), Terms: []TermInfo{}, Basis: english.Assumptions(p.BasisAt(in.Body.Edge, dog))}}
	for _, t := range b.Terms {
		out.Body.Terms = append(out.Body.Terms, TermInfo{t.Kind.String(), t.What, tenths(t.DistM), t.InSight, t.RatePerS * 3600, t.Active, t.P, t.Share, t.HazardPerS * 3600, t.Evidence.String(), t.Shape})
	}
	tenMinutes := func(perS float64) float64 { return math.Round(1e5*perS*600) / 1e5 }
	out.Body.Strain10, out.Body.Dark, out.Body.Crossings, out.Body.Traffic = tenMinutes(b.StrainPerS), b.Dark, b.Crossings, []TrafficInfo{}
	for _, t := range b.Traffic {
		out.Body.Traffic = append(out.Body.Traffic, TrafficInfo{math.Round(100*float64(t.Share)) / 100, math.Round(t.PerHour), math.Round(float64(t.SpeedKMH)), pavementWords[t.Pavement], t.Main, tenMinutes(t.PerS)})
	}
	return out, nil
}

// dogOf is the dog that a client sent; one without any distances is the dog of
// whom nothing is known.
func dogOf(f *exposure.DogFile) (*exposure.Dog, error) {
	if len(f.Needs) == 0 && f.SpeedMPS == nil {
		d := exposure.DefaultDog()
		d.Name = f.Name
		return d, nil
	}
	return f.Dog()
}

// inDog says that the faults are in the dog.
func inDog(err error) error { return within("/dog", err) }

// within says where in what was sent the faulty part stands.
func within(pointer string, err error) error {
	var ps fault.Problems
	if !errors.As(err, &ps) {
		return err
	}
	out := slices.Clone(ps)
	for i := range out {
		out[i].Pointer = pointer + strings.TrimSuffix(out[i].Pointer, "/")
	}
	return out
}

func (s *Server) aroundRoutes() {
	op := func(id, path, summary, text string) huma.Operation {
		return huma.Operation{OperationID: id, Method: http.MethodPost, Path: path, Summary: summary, Description: text, Tags: []string{"around"}, MaxBodyBytes: maxBodyBytes, Errors: []int{400, 422, 503}}
	}
	huma.Register(s.api, op("hazards", "/v1/hazards", "Hazard in a box", "How hard the ways in a box are for one dog at one hour, as GeoJSON."), s.hazards)
	huma.Register(s.api, op("streets", "/v1/streets", "Streets about a place, compared", "The ways within 1,500 m of a place in four steps, from the calmest here to the hardest here, for one dog at one hour: bounds in minutes to one reaction, and runs to be drawn."), s.streets)
	huma.Register(s.api, op("sources", "/v1/sources", "Fixed sources in a box", "Dog parks, schools, playgrounds and the like, with hours and how likely somebody is there."), s.sources)
	huma.Register(s.api, op("explain", "/v1/explain", "Breakdown of one edge", "Every source and stream that makes the hazard of one edge at one hour: distance, sight, rate, chance, share."), s.explain)
}
