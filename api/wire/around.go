package wire

import (
	"time"

	"wideberth/api/wire/dogfile"
	"wideberth/exposure"
	"wideberth/exposure/strain"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
)

// AroundBody asks what it is like in a box for one dog at one hour.
type AroundBody struct {
	BBox [4]float64 `json:"bbox" doc:"West, south, east, north in degrees." example:"[-75.56,39.74,-75.54,39.75]"`
	LookBody
}

// ReachBody asks what it is like round a place.
type ReachBody struct {
	From LatLon `json:"from" doc:"The ways within 1,500 m of it are compared."`
	LookBody
}

// LookBody says for whom and when something is looked at.
type LookBody struct {
	Depart string       `json:"depart,omitempty" doc:"RFC 3339 with its zone; left out: now."`
	Dog    dogfile.File `json:"dog,omitempty"`

	Weather *WeatherBody `json:"weather,omitempty" doc:"As somebody says it is; left out: as usual in the season."`
}

// besideMapDeg is how far beside the map a box is looked at: reports may lie there.
const besideMapDeg = 0.5

// Box is what is asked about on the plane of frame f, as far as it lies on the map,
// which has bounds, or not far beside. Faults are fault.Problems.
func (b *AroundBody) Box(f plane.Frame, bounds plane.Box) (plane.Box, error) {
	box := plane.EmptyBox()
	w, s, e, n := b.BBox[0], b.BBox[1], b.BBox[2], b.BBox[3]
	if !(w < e && s < n && s >= -90 && n <= 90 && w >= -180 && e <= 180) {
		return box, fault.One("/bbox", "", "give west, south, east, north in degrees, west before east and south before north")
	}
	// the plane is only good near the map: what lies far off it shows nothing anyway
	west, south := f.Inverse(bounds.Min)
	east, north := f.Inverse(bounds.Max)
	w, e, s, n = max(w, west-besideMapDeg), min(e, east+besideMapDeg), max(s, south-besideMapDeg), min(n, north+besideMapDeg)
	if w < e && s < n {
		// parallels are bent on the plane: their extreme is at its meridian, that of
		// meridians at the equator
		for _, lon := range [3]float64{w, e, min(max(f.Lon0, w), e)} {
			for _, lat := range [3]float64{s, n, min(max(0, s), n)} {
				box = box.With(f.Forward(lon, lat))
			}
		}
	}
	return box, nil
}

// Feature is a GeoJSON feature of an answer about a box.
type Feature struct {
	Type       string         `json:"type" enum:"Feature"`
	Geometry   LineString     `json:"geometry"`
	Properties EdgeProperties `json:"properties"`
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
	Rank Rank        `json:"rank"`
	Runs []StreetRun `json:"runs" doc:"Every feature is in one."`
}

// StreetRun is a run of ways of one step and sort, to be drawn as one line.
type StreetRun struct {
	Step  int    `json:"step" enum:"1,2,3,4"`
	Way   string `json:"way" enum:"street,path,crossing,drive,service"`
	Edges []int  `json:"edges" doc:"Features by their place in the list, counted from 1, in order; negative where the run goes against the geometry."`
}

// NewRankedStreets is the form of ground that was compared.
func NewRankedStreets(r *routing.Ranked, f plane.Frame) RankedStreets {
	runs := r.Runs()
	out := RankedStreets{Hazards: NewHazards(r.Edges, false, f), Rank: newRank(&r.Rank), Runs: make([]StreetRun, len(runs))}
	for i, run := range runs {
		edges := make([]int, len(run.Edges))
		for k, e := range run.Edges {
			edges[k] = int(e.Line) + 1
			if e.Against {
				edges[k] = -edges[k]
			}
		}
		out.Runs[i] = StreetRun{run.Step, run.Role.String(), edges}
	}
	return out
}

// SourceInfo is a fixed source of triggers.
type SourceInfo struct {
	ID       int32        `json:"id"`
	OSM      string       `json:"osm" doc:"Where the map has it, or the report."`
	Sort     string       `json:"sort" example:"dog_park"`
	What     string       `json:"what" example:"dog park"`
	Name     string       `json:"name"`
	At       Position     `json:"at"`
	Kinds    []string     `json:"kinds"`
	Hours    string       `json:"hours,omitempty" doc:"opening_hours as tagged."`
	Active   float64      `json:"active" doc:"Probability that a trigger the dog reacts to is there then."`
	WorkingM float64      `json:"working_m" doc:"The dog's working distance for what is there."`
	Assumed  bool         `json:"assumed" doc:"How many are there is a default."`
	Outline  [][]Position `json:"outline,omitempty"`
}

// Sources are the fixed sources in a box.
type Sources struct {
	Sources     []SourceInfo `json:"sources"`
	Truncated   bool         `json:"truncated" doc:"The box holds more sources than are given at once."`
	Attribution string       `json:"attribution"`
}

func newSourceInfo(p *routing.Planner, id int32, look *routing.Look, learnt *exposure.Factors, words briefing.Words) SourceInfo {
	snap := p.Snapshot()
	src := snap.Field.Source(id)
	info := SourceInfo{ID: id, OSM: src.OSM, Sort: src.As, What: words.Common(exposure.SourceNoun(src.As)), Name: src.Name,
		At: NewPosition(snap.Frame, src.At), Hours: src.Hours, Assumed: src.Assumed,
		Active:   round(snap.Field.Active(id, &look.Dog, p.Clock().At(look.Depart), learnt), 3),
		WorkingM: snap.Field.NeedAt(id, &look.Dog).WorkingM, Kinds: []string{}}
	for _, m := range src.Mix {
		info.Kinds = append(info.Kinds, m.Kind.String())
	}
	if src.Reported() {
		info.What = words.Common(src.Mix[0].Kind.Info().Noun)
	}
	for _, area := range src.Area {
		info.Outline = append(info.Outline, newLineString(snap.Frame, append(area.Outer[:len(area.Outer):len(area.Outer)], area.Outer[0])).Coordinates)
	}
	return info
}

// ExplainBody asks for the breakdown of one edge.
type ExplainBody struct {
	At     *LatLon      `json:"at,omitempty" doc:"A place on the way, which is meant on whatever map is loaded."`
	Edge   *int32       `json:"edge,omitempty" minimum:"0" doc:"From a plan's legs or from the hazard of a box, as it is loaded now; with at it is passed over where it lies elsewhere. Without at it is of the first map."`
	Depart string       `json:"depart,omitempty"`
	Dog    dogfile.File `json:"dog,omitempty"`

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
	Evidence    string  `json:"evidence" enum:"map_flows,few_places,map_source,report,map_border,counted,assumed"`
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

	Strain10  float64       `json:"strain_in_ten_minutes" doc:"Beside the reactions: what moving traffic and its noise count here, in the same unit."`
	Noise10   float64       `json:"noise_strain_in_ten_minutes" doc:"What of that is road noise, our assumption: none at 60 dB(A), in full from 70 on."`
	NoiseDB   float64       `json:"road_noise_db" doc:"Continuous road-traffic level by day, dB(A)."`
	Dark      bool          `json:"dark" doc:"It is dark, which doubles what traffic counts."`
	Traffic   []TrafficInfo `json:"traffic" doc:"The roads that pass."`
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

// NewSources makes the JSON form of some of a planner's sources; more says that there
// are others.
func NewSources(p *routing.Planner, ids []int32, more bool, look *routing.Look, learnt *exposure.Factors, words briefing.Words) Sources {
	out := Sources{Sources: []SourceInfo{}, Truncated: more, Attribution: Attribution}
	for _, id := range ids {
		out.Sources = append(out.Sources, newSourceInfo(p, id, look, learnt, words))
	}
	return out
}

// NewHazards makes the GeoJSON of what it is like on some edges of frame f; more says
// that there are others.
func NewHazards(edges []routing.EdgeHazard, more bool, f plane.Frame) Hazards {
	out := Hazards{Type: "FeatureCollection", Features: []Feature{}, Truncated: more, Attribution: Attribution}
	for i := range edges {
		e := &edges[i]
		out.Features = append(out.Features, Feature{"Feature", newLineString(f, e.Line), EdgeProperties{e.Role.String(), e.Step, e.Edge, e.Name, e.Level.String(), round(e.HazardPerS*600, 4),
			round(e.LeftM, 1), round(e.RightM, 1), e.RoomDefault, round(e.SightM, 0), round(e.LevelDB, 1)}})
	}
	return out
}

// NewExplanation makes the JSON form of a breakdown for an hour.
func NewExplanation(b routing.Breakdown, at time.Time, basis []exposure.Assumption, words briefing.Words) Explanation {
	tenMinutes := func(perS float64) float64 { return round(perS*600, 5) }
	out := Explanation{Name: b.Name, Clock: at.Format("Mon 15:04"), X10: tenMinutes(b.HazardPerS), Level: routing.LevelOf(b.HazardPerS).String(),
		Terms: []TermInfo{}, Basis: words.Assumptions(basis),
		Strain10: tenMinutes(b.StrainPerS), Noise10: tenMinutes(b.NoisePerS), NoiseDB: round(b.LevelDB, 0), Dark: b.Dark, Crossings: b.Crossings, Traffic: []TrafficInfo{}}
	for _, t := range b.Terms {
		what := t.What
		if t.Source < 0 {
			what = words.Common(what)
		}
		out.Terms = append(out.Terms, TermInfo{t.Kind.String(), what, round(t.DistM, 1), t.InSight, t.RatePerS * 3600, t.Active, t.P, t.Share, t.HazardPerS * 3600, t.Evidence.String(), t.Shape})
	}
	for _, t := range b.Traffic {
		out.Traffic = append(out.Traffic, TrafficInfo{round(float64(t.Share), 2), round(t.PerHour, 0), round(float64(t.SpeedKMH), 0), pavementWords[t.Pavement], t.Main, tenMinutes(t.PerS)})
	}
	return out
}
