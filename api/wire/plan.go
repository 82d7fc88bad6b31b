// Package wire is what is asked and answered over the wire, and how it is read and
// made: JSON with units in its names, GeoJSON and GPX. It is the door
// between metres and degrees: nobody above speaks of a plane, nobody below of degrees.
package wire

import (
	"math"
	"time"

	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
)

// Attribution must travel with everything made from the map.
const Attribution = "© OpenStreetMap contributors"

// ZoneCredit names where the borders of time zones come from, by which a map's zone is
// found.
const ZoneCredit = "Time zone borders are made from OpenStreetMap data too, under the same licence."

// LicenceURL is where the map data's terms stand.
const LicenceURL = "https://www.openstreetmap.org/copyright"

// Caution goes with every plan.
func Caution(words briefing.Words) string { return words.Say("sure.caution") }

// Position is longitude and latitude in degrees, in the order of RFC 7946,
// rounded to 1e-6 degree (about 0.1 m).
type Position [2]float64

// NewPosition is a place of frame f in degrees.
func NewPosition(f plane.Frame, p plane.Point) Position {
	lon, lat := f.Inverse(p)
	return Position{math.Round(lon*1e6) / 1e6, math.Round(lat*1e6) / 1e6}
}

// In is the place on the plane of frame f.
func (p Position) In(f plane.Frame) plane.Point { return f.Forward(p[0], p[1]) }

// newLineString is a line of frame f in degrees.
func newLineString(f plane.Frame, l []plane.Point) LineString {
	out := make([]Position, len(l))
	for i, p := range l {
		out[i] = NewPosition(f, p)
	}
	return LineString{"LineString", out}
}

// Plan is the JSON form of a plan.
type Plan struct {
	Walks       []Walk   `json:"walks" doc:"Walks, best first."`
	Depart      string   `json:"depart" doc:"Departure, RFC 3339 with the place's own offset." example:"2026-11-25T07:10:00-05:00"`
	TimeZone    string   `json:"time_zone" doc:"IANA name of the place's time zone." example:"America/New_York"`
	Start       Position `json:"start" doc:"Where the walk begins: longitude, latitude."`
	StartDistM  float64  `json:"start_distance_m" doc:"From the place asked for to the start, in metres."`
	Assumed     []string `json:"assumed" doc:"What was assumed, most important first."`
	Notes       []string `json:"notes" doc:"What else to know: laps, a start inside a working distance."`
	MapTime     string   `json:"map_time,omitempty" doc:"Time of the map extract, RFC 3339."`
	Rank        *Rank    `json:"rank,omitempty" doc:"The streets within 1,500 m of the start, compared for the dog at the hour of departure."`
	Attribution string   `json:"attribution" example:"© OpenStreetMap contributors"`
	Caution     string   `json:"caution"`
}

// Rank says how the streets about a place compare for one dog at one hour, in steps 1
// calm for here, 2, 3 and 4 hardest here.
type Rank struct {
	Minutes [3]float64 `json:"minutes" doc:"To one reaction, from which on ground is of step 1, 2 and 3; less than the last is step 4." example:"[32,22,16]"`
	Share   [4]float64 `json:"share" doc:"Of the metres compared, by step."`
}

// newRank is the JSON form of a comparison.
func newRank(r *routing.Rank) (out Rank) {
	out.Minutes = r.Minutes
	for i, s := range r.Share {
		out.Share[i] = round(s, 4)
	}
	return out
}

// Walk is the JSON form of a walk.
type Walk struct {
	Shape             string         `json:"shape" enum:"loop,there_and_back,way,longest_calm"`
	DurationS         float64        `json:"duration_s" doc:"Seconds at the dog's usual pace."`
	LengthM           float64        `json:"length_m"`
	ExpectedReactions float64        `json:"expected_reactions" doc:"Expected number of times the dog goes over threshold."`
	Strain            float64        `json:"strain" doc:"Beside the expected reactions and not in them: what moving traffic, wide crossings and the dark count, in the same unit. 0.1 is a minute on the carriageway of a main road."`
	TimesBest         float64        `json:"times_best" doc:"Expected reactions and strain over those of the first walk."`
	MainRoadS         float64        `json:"main_road_s" doc:"Seconds on or within 15 m of a main road."`
	SoftGroundS       float64        `json:"soft_ground_s" doc:"Seconds on or right beside grass, earth or wood."`
	Turns             int            `json:"turns" doc:"How often the walk turns about."`
	TailS             float64        `json:"tail_s" doc:"Seconds out on what is the way home as well, before the round; of a walk there and back all of the way out."`
	CalmChance        float64        `json:"calm_chance" minimum:"0" maximum:"1" doc:"Chance that the dog does not bark, lunge or freeze, with what is not known mixed in."`
	CalmLow           float64        `json:"calm_low" doc:"Lower end of its 80 % interval."`
	CalmHigh          float64        `json:"calm_high" doc:"Upper end of its 80 % interval."`
	Encounters        []Encounters   `json:"encounters" doc:"What is expected by kind, most reactions first."`
	Movers            []Contribution `json:"movers" doc:"What moves the answer most, at most three."`
	Passed            []Passed       `json:"passed" doc:"Fixed sources the walk comes near."`
	WatchPoints       []WatchPoint   `json:"watch_points" doc:"At most four places to be ready at, those that matter most, in walking order; on a visit and in an outing also where to stand and where to wait."`
	RepeatedS         float64        `json:"repeated_s" doc:"Seconds on streets already walked."`
	Laps              int            `json:"laps" doc:"How often the same round is walked; 1 is no lap."`
	Quality           Quality        `json:"quality"`
	CeilingS          float64        `json:"ceiling_s,omitempty" doc:"Of the longest calm walk: proved, no loop at least this long keeps the budget."`
	TreatsLow         int            `json:"treats_low" doc:"Pieces of food on an average walk like this: one every four seconds while something is nearer than the working distance,"`
	TreatsHigh        int            `json:"treats_high" doc:"and one every two seconds. A day with more meetings needs more."`
	ShortestGapS      float64        `json:"shortest_gap_s" doc:"Least expected time between encounters, in seconds."`
	LongestCalmS      float64        `json:"longest_calm_s" doc:"Longest stretch on calm ground, in seconds."`
	DefaultRoomShare  float64        `json:"default_room_share" doc:"Share of the walk whose room is a default of its street class, not measured."`
	StackedReactions  float64        `json:"stacked_reactions,omitempty" doc:"Expected reactions when arousal builds up; common practice, no published value."`
	Care              []string       `json:"care,omitempty" doc:"What the day asks for on this walk: a light in the dark, paws in heat and ice, livestock, fireworks."`
	Legs              []Leg          `json:"legs"`

	ground string // the same as a person is told it
}

// Encounters is what is expected of one kind.
type Encounters struct {
	Kind      string  `json:"kind" example:"dog_on_lead"`
	Category  string  `json:"category" example:"dogs"`
	Expected  float64 `json:"expected" doc:"Encounters in sight or hearing, however far off: tell them as seen, not as met. Inside is what comes near."`
	Low       float64 `json:"low" doc:"Lower end of the 80 % interval of the count."`
	High      float64 `json:"high" doc:"Upper end of the 80 % interval of the count."`
	Inside    float64 `json:"inside" doc:"Encounters nearer than the working distance."`
	InsideS   float64 `json:"inside_s" doc:"Seconds nearer than the working distance."`
	Reactions float64 `json:"reactions" doc:"Expected reactions to this kind."`
}

// Contribution is one source or stream and what it adds.
type Contribution struct {
	Name      string  `json:"name"`
	Kind      string  `json:"kind"`
	Reactions float64 `json:"reactions"`
}

// Passed is a fixed source that a walk comes near.
type Passed struct {
	Name     string  `json:"name"`
	Sort     string  `json:"sort" example:"dog_park"`
	NearestM float64 `json:"nearest_m"`
	AtS      float64 `json:"at_s" doc:"Seconds into the walk."`
	Side     string  `json:"side" enum:"left,right"`
	Active   float64 `json:"active" doc:"Probability that somebody is there then."`
	InSight  bool    `json:"in_sight"`
}

// WatchPoint is a place to be ready at.
type WatchPoint struct {
	What   string   `json:"what" enum:"source,blind_corner,pinch,crossing,school_bell,stand,hold"`
	Deed   string   `json:"deed" enum:"keep_left,keep_right,far_side,look_first,wait_through,wait_clear,swing_wide,stop_look,stand,hold" doc:"What to do there."`
	Also   []string `json:"also,omitempty" enum:"source,blind_corner,pinch,crossing,school_bell" doc:"What else lies within 60 m, most important first."`
	Name   string   `json:"name"`
	At     Position `json:"at"`
	AtS    float64  `json:"at_s"`
	FromM  float64  `json:"from_m" doc:"Metres into the walk."`
	Side   string   `json:"side,omitempty" enum:"left,right"`
	DistM  float64  `json:"distance_m,omitempty"`
	SightM float64  `json:"sight_m,omitempty"`
	RoomM  float64  `json:"room_m,omitempty"`

	NotBefore string `json:"not_before,omitempty" doc:"Of a hold in an outing: not to be left before, RFC 3339."`
}

// Quality says how good a walk is against the best that exists.
type Quality struct {
	Proved    bool    `json:"proved" doc:"No better walk exists in the model searched."`
	WithinPct float64 `json:"within_percent" doc:"A better one could save at most this much of the sum; -1 while nothing is proved."`
	Sum       float64 `json:"sum" doc:"The figure that the search made small: expected reactions, strain as the wish weighs it, and what turning about and ground walked twice add; 0 where it is not known."`
	Covers    string  `json:"covers,omitempty" doc:"What the proof is about, in words: which walks, which sum, and which walks are left out."`
}

// Leg is a run along one street.
type Leg struct {
	Name        string       `json:"name" doc:"Street name, or what the way is."`
	Turn        string       `json:"turn" enum:"start,straight,left,right,half_left,half_right,sharp_left,sharp_right,back"`
	StartS      float64      `json:"start_s"`
	Clock       string       `json:"clock" doc:"Local time at its beginning." example:"07:14"`
	DurationS   float64      `json:"duration_s"`
	LengthM     float64      `json:"length_m"`
	Reactions   float64      `json:"expected_reactions"`
	Strain      float64      `json:"strain"`
	DogRules    bool         `json:"dog_rules,omitempty" doc:"Dogs may be forbidden or bound on part of it: look at the sign."`
	Level       string       `json:"level" enum:"calm,some,tight,hard"`
	RoomLeftM   float64      `json:"room_left_m"`
	RoomRightM  float64      `json:"room_right_m"`
	LeastRoomM  float64      `json:"least_room_m" doc:"The least, along the leg, of the better side."`
	RoomDefault bool         `json:"room_default" doc:"Room is a default of the street's class, not measured."`
	Keep        string       `json:"keep,omitempty" enum:"left,right" doc:"The side with more room."`
	SightM      float64      `json:"sight_m"`
	LevelDB     float64      `json:"road_noise_db" doc:"Continuous road-traffic level, dB(A)."`
	WayOutS     float64      `json:"way_out_s" doc:"Seconds at a brisk pace to the nearest place with the room the dog needs; -1 where none is in reach."`
	WayOutSide  string       `json:"way_out_side,omitempty" enum:"left,right,ahead,back" doc:"left or right of the way, ahead or back along it."`
	WayOutRoomM float64      `json:"way_out_room_m" doc:"Room there, or here where none is in reach."`
	Cover       []CoverInfo  `json:"cover,omitempty" doc:"Where none is in reach: what there is to step behind at the middle of the leg, nearest first; sides as one walks."`
	Encounters  []Encounters `json:"encounters"`
	Geometry    LineString   `json:"geometry"`
	Edges       []int32      `json:"edges" doc:"Network edges walked, for breakdowns."`
}

// LineString is a GeoJSON geometry.
type LineString struct {
	Type        string     `json:"type" enum:"LineString"`
	Coordinates []Position `json:"coordinates"`
}

// In is the line on the plane of frame f.
func (l *LineString) In(f plane.Frame) plane.Polyline {
	out := make(plane.Polyline, len(l.Coordinates))
	for i, p := range l.Coordinates {
		out[i] = p.In(f)
	}
	return out
}

// NewPlan makes the JSON form of a plan drawn in frame f, told in words.
func NewPlan(p *routing.Plan, f plane.Frame, words briefing.Words) Plan {
	zone := p.Depart.Location()
	out := Plan{
		Depart: p.Depart.Format(time.RFC3339), TimeZone: p.Zone, Start: NewPosition(f, p.Snap.At), StartDistM: round(p.Snap.DistM, 1),
		Assumed: words.Assumptions(p.Assumed), Notes: []string{}, Attribution: Attribution, Caution: Caution(words),
	}
	for _, n := range p.Notes {
		out.Notes = append(out.Notes, words.Note(n))
	}
	if p.Ground != nil {
		rank := newRank(&p.Ground.Rank)
		out.Rank = &rank
	}
	if !p.MapTime.IsZero() {
		out.MapTime = p.MapTime.UTC().Format(time.RFC3339)
	}
	for i := range p.Walks {
		out.Walks = append(out.Walks, NewWalk(&p.Walks[i], f, p.Depart.In(zone), words))
	}
	return out
}

// NewWalk is the JSON form of one walk.
func NewWalk(w *routing.Walk, f plane.Frame, depart time.Time, words briefing.Words) Walk {
	out := Walk{
		Shape: string(w.Shape), DurationS: round(w.DurationS, 1), LengthM: round(w.LengthM, 1),
		ExpectedReactions: round(w.ExpectedReactions, 5), CalmChance: round(w.CalmChance, 4),
		CalmLow: round(w.CalmLow, 4), CalmHigh: round(w.CalmHigh, 4), Encounters: encounters(w.Kinds),
		RepeatedS: round(w.RepeatedS, 1), Laps: w.Laps,
		Strain: round(w.Strain, 5), TimesBest: round(w.TimesBest, 3), MainRoadS: round(w.MainRoadS, 1), SoftGroundS: round(w.SoftGroundS, 1), Turns: w.Turns, TailS: round(w.TailS, 1),
		Quality: Quality{Proved: w.Quality.Proved, WithinPct: round(w.Quality.WithinPct, 1), Sum: round(w.Quality.Sum, 5),
			Covers: words.Covers(w.Quality)},
		TreatsLow: w.TreatsLow, TreatsHigh: w.TreatsHigh, ShortestGapS: round(w.ShortestGapS, 0),
		LongestCalmS: round(w.LongestCalmS, 0), DefaultRoomShare: round(w.DefaultRoomShare, 3),
		StackedReactions: round(w.StackedReactions, 5), CeilingS: round(w.CeilingS, 0),
		ground: words.Ground(w),
		Legs:   []Leg{}, Movers: []Contribution{}, Passed: []Passed{}, WatchPoints: []WatchPoint{},
	}
	for _, n := range w.Care {
		out.Care = append(out.Care, words.Note(n))
	}
	for _, m := range w.Movers {
		out.Movers = append(out.Movers, Contribution{words.Met(m.Name, m.Kind), m.Kind.String(), round(m.Reactions, 5)})
	}
	for _, s := range w.Passed {
		out.Passed = append(out.Passed, Passed{s.Name, s.Sort, round(s.NearestM, 1), round(s.AtS, 0), s.Side, round(s.Active, 3), s.InSight})
	}
	for _, p := range w.Watch {
		q := WatchPoint{What: p.What, Deed: string(p.Deed), Also: p.Also, Name: words.Called(p.Name), At: NewPosition(f, p.At), AtS: round(p.AtS, 0), FromM: round(p.FromM, 0), Side: p.Side,
			DistM: round(p.DistM, 1), SightM: round(p.SightM, 0), RoomM: round(p.RoomM, 1)}
		if !p.NotBefore.IsZero() {
			q.NotBefore = p.NotBefore.Format(time.RFC3339)
		}
		out.WatchPoints = append(out.WatchPoints, q)
	}
	for i := range w.Legs {
		out.Legs = append(out.Legs, newLeg(&w.Legs[i], f, depart, words))
	}
	return out
}

func newLeg(l *routing.Leg, f plane.Frame, depart time.Time, words briefing.Words) Leg {
	out := Leg{
		Name: l.Name, Turn: string(l.Turn), StartS: round(l.StartS, 1), DurationS: round(l.DurationS, 1),
		Clock:   depart.Add(time.Duration(l.StartS * float64(time.Second))).Format("15:04"),
		LengthM: round(l.LengthM, 1), Reactions: round(l.Reactions, 6), Strain: round(l.Strain, 6), DogRules: l.DogRules, Level: l.Level.String(),
		RoomLeftM: round(l.RoomLeftM, 1), RoomRightM: round(l.RoomRightM, 1), LeastRoomM: round(l.LeastRoomM, 1),
		RoomDefault: l.RoomDefault, Keep: l.Keep, SightM: round(l.SightM, 0), LevelDB: round(l.LevelDB, 1),
		WayOutS: round(l.WayOutS, 0), WayOutSide: l.WayOutSide, WayOutRoomM: round(l.WayOutRoomM, 1), Encounters: encounters(l.Kinds),
		Geometry: newLineString(f, l.Line), Cover: newCover(f, l.Cover),
	}
	if out.Name == "" {
		out.Name = words.Class(l.Class)
	}
	for _, e := range l.Edges {
		out.Edges = append(out.Edges, e.Edge)
	}
	return out
}

func encounters(kinds []routing.KindOutlook) []Encounters {
	out := make([]Encounters, 0, len(kinds))
	for _, k := range kinds {
		out = append(out, Encounters{
			Kind: k.Kind.String(), Category: k.Kind.Category().String(), Expected: round(k.Expected, 4),
			Low: round(k.Low, 0), High: round(k.High, 0), Inside: round(k.Inside, 4), InsideS: round(k.InsideS, 1), Reactions: round(k.Reactions, 6),
		})
	}
	return out
}

func round(x float64, digits int) float64 {
	p := math.Pow10(digits)
	return math.Round(x*p) / p
}

func nonNil(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}
