package routing

import (
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/escape"
	"wideberth/routing/network"
	"wideberth/routing/reach"
)

// Plan is the answer to a wish: walks, best first, and what stands behind them.
type Plan struct {
	Walks   []Walk
	Depart  time.Time
	Zone    string                // name of the time zone that hours are told in
	Assumed []exposure.Assumption // what was assumed, most important first
	MapTime time.Time             // of the extract, zero if unknown
	Notes   []Note                // what else a handler must know: laps, a start inside a distance
	Snap    Snapping              // where the walk begins
	Ground  *Ranked               // the streets about it, compared for the dog and the hour
}

// Snapping says where a wished place was put on the network.
type Snapping struct {
	At    plane.Point
	DistM float64 // from the wished place
}

// Walk is one walk with everything it is expected to bring.
type Walk struct {
	Shape                 Shape
	Legs                  []Leg
	Course                reach.Course
	Line                  plane.Polyline
	DurationS             float64
	LengthM               float64
	ExpectedReactions     float64        // X
	Strain                float64        // beside X and never in it: moving traffic, wide crossings and the dark, at their price in expected reactions
	MainRoadS             float64        // seconds on or within 15 m of a main road
	SoftGroundS           float64        // seconds on or right beside grass, earth or wood
	ServiceS              float64        // seconds on service roads, but for what is beside soft ground
	Turns                 int            // how often it turns about
	TailS                 float64        // seconds out on what is the way home as well, before the round
	TimesBest             float64        // X and strain over those of the first walk of the plan; 1 for that
	CalmChance            float64        // that nobody barks, lunges or freezes, doubt mixed in
	CalmLow, CalmHigh     float64        // 80 % interval
	Kinds                 []KindOutlook  // every kind the dog reacts to or is met, most X first
	Movers                []Contribution // what moves the answer most, at most three
	Passed                []Passed
	Watch                 []WatchPoint
	RepeatedS             float64 // seconds on streets walked before
	Laps                  int     // 1, or how often the same round is walked
	Quality               Quality
	CeilingS              float64 // of the longest calm walk: proved, no loop at least this long keeps the budget; 0 otherwise
	TreatsLow, TreatsHigh int
	ShortestGapS          float64 // least expected time between encounters
	LongestCalmS          float64 // longest stretch at the calm level
	DefaultRoomShare      float64 // share of the walk whose room is a default, not measured
	StackedReactions      float64 // X with arousal that builds up, 0 if not asked for
	Care                  []Note  // what the day asks for on it: light, paws, livestock, fireworks
}

// KindOutlook is what is expected of one kind on a walk.
type KindOutlook struct {
	Kind      exposure.Kind
	Expected  float64 // encounters in sight or hearing, whatever the distance
	Low, High float64 // 80 % interval of that count
	Inside    float64 // encounters nearer than the working distance
	InsideS   float64 // seconds of them
	Reactions float64 // X of this kind
}

// Leg is a run along one street.
type Leg struct {
	Name                  string
	Class                 string // what it is where it has no name: "footpath", "steps"
	Turn                  network.Turn
	Line                  plane.Polyline
	StartS                float64 // since departure
	DurationS             float64
	LengthM               float64
	Reactions             float64      // X of the leg
	Strain                float64      // of the leg
	DogRules              bool         // dogs may be forbidden or bound on part of it
	Ground                reach.Ground // ground on it that walks keep off where they can
	Level                 Level
	RoomLeftM, RoomRightM float64 // lower quartile of the room to each side, walking
	LeastRoomM            float64 // the least of the better side
	RoomDefault           bool
	Keep                  string  // "left" or "right": the side with more room, "" if alike
	SightM                float64 // how far ahead one sees, lower decile
	LevelDB               float64 // continuous road noise
	Kinds                 []KindOutlook
	WayOutS               float64        // seconds at a brisk pace from its middle to the nearest place with the room needed, or with clearly more within a minute; negative where there is none
	WayOutSide            string         // "left", "right", "ahead", "back"
	WayOutRoomM           float64        // the room there
	Cover                 []escape.Cover // what there is to step behind at its middle, nearest first, as one walks
	Edges                 []LegEdge
}

// LegEdge is one edge of the network within a leg, for breakdowns.
type LegEdge struct {
	Edge      int32
	StartS    float64
	Against   bool // walked against the edge's geometry
	Reactions float64
	Level     Level
	FromM     float64 // metres into the walk
	LengthM   float64
}

// Level is how hard ground is, in four steps of expected reactions in ten
// minutes of walking on it.
type Level uint8

// The levels.
const (
	Calm  Level = iota // under 1 in 30
	Some               // up to 1 in 10
	Tight              // up to 4 in 10
	Hard
)

// LevelLimits are the expected reactions in ten minutes at which Some, Tight and
// Hard begin. Steps of about three; our assumption, looked at on real ground.
var LevelLimits = [3]float64{0.033, 0.1, 0.4}

// String names the level.
func (l Level) String() string { return [...]string{"calm", "some", "tight", "hard"}[l] }

// levelSpanS is the ten minutes that levels are told for.
const levelSpanS = 600

// LevelOf gives the level of ground with the hazard of expected reactions a second.
func LevelOf(hazardPerS float64) Level {
	x10 := hazardPerS * levelSpanS
	for i, lim := range LevelLimits {
		if x10 < lim {
			return Level(i)
		}
	}
	return Hard
}

// Passed is a fixed source that a walk comes near.
type Passed struct {
	Source   int32 // index into the field's sources
	Name     string
	Sort     string
	NearestM float64
	AtS      float64 // when
	FromM    float64 // metres into the walk
	Side     string  // "left" or "right"
	Active   float64 // probability that somebody is there then
	InSight  bool
	Need     exposure.Need // the largest of its kinds
}

// WatchPoint is a place to be ready at, and what to do there.
type WatchPoint struct {
	What   string   // "source", "blind_corner", "pinch", "crossing", "school_bell"; StandPoint in a training visit, HoldPoint in an outing
	Deed   Deed     // what to do
	Also   []string // what else lies within 60 m, as What, most important first
	Name   string   // of the source or street
	At     plane.Point
	AtS    float64
	FromM  float64
	Side   string // "left", "right" or ""
	DistM  float64
	SightM float64
	RoomM  float64

	NotBefore time.Time // of a HoldPoint: when it may be left

	weight float64 // among watch points of one sort, most first
}

// Deed is what to do at a watch point; the list is closed. All are common practice.
type Deed string

// The deeds.
const (
	DeedKeepLeft    Deed = "keep_left"    // it is on the right
	DeedKeepRight   Deed = "keep_right"   // it is on the left
	DeedFarSide     Deed = "far_side"     // it is on either side
	DeedLookFirst   Deed = "look_first"   // it lies on the walk: look, go round if it is busy
	DeedWaitThrough Deed = "wait_through" // children at bell time: until they are through
	DeedWaitClear   Deed = "wait_clear"   // narrow: until it is clear, then walk through
	DeedSwingWide   Deed = "swing_wide"   // blind corner: wide, look, then go
	DeedStopLook    Deed = "stop_look"    // crossing: stop, look both ways, then go
	DeedStand       Deed = "stand"        // a training visit: feed, wait for the turn back
	DeedHold        Deed = "hold"         // an outing: not on before NotBefore
)

// Quality says how good a walk is against the best that exists.
type Quality struct {
	Proved    bool    // no better one exists in the model searched
	WithinPct float64 // at most this much could be gained, in per cent of Sum; negative while nothing is proved
	LowerX    float64 // bound on the searched cost
	Checking  bool    // a proof can still be asked for
	Sum       float64 // the figure that the search made small: X, strain as the wish weighs it, and what turns and ground walked twice add; 0 where that is not known
	Covers    Covered // what a proof is about
	Work      int     // spent on the certificate, in partial walks; 0 where there was none
}

// Contribution is one source or stream and what it adds to a walk.
type Contribution struct {
	Name      string // "dogs walked on Tanner Row", "Dog field"
	Kind      exposure.Kind
	Reactions float64
}
