package exposure

import (
	"wideberth/osmdata/plane"
)

// BinCount is the number of logarithmic distance bins in which passing streams
// are kept, from BinMinM to BinMaxM.
const (
	BinCount = 10
	BinMinM  = 1.5
	BinMaxM  = 150.0
)

// Bin is one distance bin of one pattern at one edge: how often a party of the
// pattern has its closest approach in it, and where in the bin on average.
// Both are a byte: rate on a log scale with twelve steps an octave (0 nothing),
// position linear in log distance.
type Bin struct{ Rate, Pos uint8 }

// Source is a fixed place with triggers: a dog park, a school ground, a yard.
type Source struct {
	OSM      string // "way/123", or "report/7" for one that people reported
	As       string // what it is, by the name of its rule: "dog_park", "school"
	Name     string
	Area     []plane.Polygon // where the triggers are; empty if only At is known
	At       plane.Point
	RadiusM  float32 // assumed extent round At where no area is mapped
	Hours    string  // opening_hours as tagged, "" if not
	Capacity float32 // expected number present at the busiest hour, all kinds
	Assumed  bool    // capacity or extent is a default
}

// Touch says that part of an edge lies in reach of a source: the share of the
// edge's length at about one distance.
type Touch struct {
	Source  int32
	DistM   float32 // to the nearest point of the source's area
	Share   float32 // of the edge's length, 0 to 1
	InSight bool
	DropDB  float32 // what buildings between take from a sound
}

// Side says what room there is off the line on one side of an edge.
type Side struct {
	LowM    float32 // the lower quartile along the edge
	LeastM  float32
	Default bool // nothing mapped there: a default of the street's class
}

// Field is everything about the map that does not depend on a dog or an hour:
// flows, room, sight, sources, for every edge of one network. Immutable once
// built; may be shared between goroutines.
//
// Slices are by edge unless said otherwise.
type Field struct {
	OwnPerDay  [PatternCount][]float32       // passes a day of a fixed point, both directions together
	Near       [PatternCount][][BinCount]Bin // streams on other ways, closest approaches per second of walking at a daily flow profile share of 1
	Left       []Side                        // room, seen along the edge's geometry
	Right      []Side
	SightFwdM  []float32 // how far one sees ahead walking with the geometry, lower decile
	SightBackM []float32
	LevelDB    []float32   // continuous road-traffic level, dB(A), by day
	Place      []PlaceKind // what kind of place the edge runs through
	TouchAt    []int32     // touches of edge e are Touches[TouchAt[e]:TouchAt[e+1]]
	Touches    []Touch
	Sources    []Source
}

// PlaceKind is the kind of surroundings, for factors learnt from logs.
type PlaceKind uint8

// The kinds of place.
const (
	PlaceOpen PlaceKind = iota
	PlaceResidential
	PlaceCentre
	PlacePark
	PlaceWoods
	PlaceIndustry
	PlaceKindCount
)
