package exposure

import (
	"sync"

	"wideberth/exposure/hours"
	"wideberth/exposure/strain"
	"wideberth/osmdata/plane"
)

// BinCount is the number of logarithmic distance bins in which passing streams
// are kept, from binMinM to BinMaxM.
const (
	BinCount = 10
	binMinM  = 1.5
	BinMaxM  = 150.0
)

// Bin is one distance bin of one pattern at one edge: how often a party of the
// pattern has its closest approach in it, and where in the bin on average.
// Both are a byte: rate on a log scale with twelve steps an octave (0 nothing),
// position linear in log distance.
type Bin struct{ Rate, Pos uint8 }

// Presence is what a source has of one kind.
type Presence struct {
	Kind    Kind
	Present float32 // expected number there at the busiest hour; 0 for a sound that comes in events
	PerDay  float32 // events on a working day; 0 for what stays
}

// Source is a fixed place with triggers: a dog park, a school ground, a yard.
type Source struct {
	OSM      string // "way/123", or "report/7" for one that people reported
	As       string // what it is, by the name of its rule: "dog_park", "school"
	Name     string
	Area     []plane.Polygon // where the triggers are; empty if only At is known
	At       plane.Point
	RadiusM  float32 // assumed extent round At where no area is mapped
	AreaM2   float32 // of Area, 0 where none is mapped
	Hours    string  // opening_hours as tagged, "" if not
	Capacity float32 // expected number present at the busiest hour, all kinds
	Assumed  bool    // capacity or extent is a default
	Activity hours.Activity
	Mix      []Presence
}

// Touch says that part of an edge lies in reach of a source: the share of the
// edge's length at about one distance.
type Touch struct {
	Source  int32
	DistM   float32 // to the nearest point of the source's area
	Share   float32 // of the edge's length, 0 to 1
	InSight bool
	Bare    bool    // in sight only while trees are bare
	DropDB  float32 // what buildings between take from a sound
}

// Side says what room there is off the line on one side of an edge.
type Side struct {
	LowM    float32 // the lower quartile along the edge
	LeastM  float32
	Default bool // nothing mapped there: a default of the street's class
}

// Mark is a fact about an edge: what its flows rest on, and how room counts there.
type Mark uint16

// The marks.
const (
	// HomesFromStreets says that no homes are mapped about the edge: dwellings
	// were spread along the streets.
	HomesFromStreets Mark = 1 << iota
	// FewPlaces says that hardly any destination of walking trips is mapped about
	// the edge: most people are spread as short tours.
	FewPlaces
	// MayCross says that the edge is a street with two sides that one may cross:
	// another party keeps to one side, and the handler takes the other.
	MayCross
	// CutCatchment says that the border of the map cuts off homes and places whose
	// wheels and motors would come by.
	CutCatchment
	// Indoors says that the edge leads through a building: a shopping passage, a hall.
	Indoors
	// DogRules says that dogs may be forbidden or bound there: a cemetery, a beach, a
	// reserve, a promenade.
	DogRules
	// Visitors says that many people stay the night about the edge, who come and go
	// with the season.
	Visitors
	// Precinct says that the edge is a way on ground of its own rules: of works, a
	// campus, a school, a hospital, a cemetery. Who does not belong there asks first.
	Precinct
	// Pasture says that livestock may stand on the way or beside it without a fence
	// between.
	Pasture
	// Loading says that the edge is a nameless service road along works or a large shop,
	// where lorries and cars come, load and turn.
	Loading
)

// Field is everything about the map that does not depend on a dog or an hour:
// flows, room, sight, sources, for every edge of one network. Immutable once
// built; may be shared between goroutines. Do not copy; see With.
//
// Slices are by edge unless said otherwise. Near, Left, Right and Touches are how a field
// is made; one that was opened from a file has none of them, and what it has is asked for
// with NearBins, Sides and TouchesOf, as of any field. Near, Left and Right that are put
// there hold in place of the file's.
type Field struct {
	OwnPerDay  [PatternCount][]float32       // passes a day of a fixed point, both directions together
	Near       [PatternCount][][BinCount]Bin // streams on other ways and dogs behind fences, closest approaches per second of walking at a daily flow profile share of 1
	Left       []Side                        // room, seen along the edge's geometry
	Right      []Side
	SightFwdM  []float32 // how far one sees ahead walking with the geometry, lower decile
	SightBackM []float32
	LevelDB    []float32   // continuous road-traffic level, dB(A), by day
	Place      []PlaceKind // what kind of place the edge runs through
	Marks      []Mark
	SoftShare  []float32          // share of the edge on or right beside grass, earth or wood
	TouchAt    []int32            // touches of edge e are Touches[TouchAt[e]:TouchAt[e+1]]
	Touches    []Touch            // of the map's sources; see TouchesOf
	Sources    []Source           // of the map; see Source
	Roadside   strain.Table       // traffic on and beside the way, crossings of wide roads
	Census     map[string]float64 // totals of what was assigned, and what was lost, by name
	Boards     float32            // boards and scooters for each bicycle; 0 for the usual number

	kept    *kept     // what of it lies in a file, nil for one that was made
	levels  Levels    // what counts make of the flows, nil for none
	over    *overlay  // sources beside the map's, nil for none
	parsed  sync.Once // guards opening
	opening []*hours.Opening
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

var placeNames = [PlaceKindCount]string{"open", "residential", "centre", "park", "woods", "industry"}

// String is the name of the kind of place, like "residential".
func (p PlaceKind) String() string { return placeNames[min(p, PlaceKindCount-1)] }

// EdgeCount is the number of edges.
func (f *Field) EdgeCount() int { return len(f.Place) }

// Present is the expected number of a kind at a source at a moment; 0 for sounds
// that come in events.
func (f *Field) Present(source int32, k Kind, m hours.Moment, fa *Factors) float64 {
	t, n := tempoAt(m), 0.0
	for _, p := range f.Source(source).Mix {
		if p.Kind == k {
			n += f.present(t, source, p)
		}
	}
	return n * fa.exists(source) * f.inUse(t, source)
}

// Passing is the rate (1/s) at which parties of a kind pass a fixed point of each
// edge at a moment, both directions together.
func (f *Field) Passing(edges []int32, k Kind, m hours.Moment, fa *Factors) []float64 {
	t, out := tempoAt(m), make([]float64, len(edges))
	for i := range shares {
		s := &shares[i]
		if s.kind != k {
			continue
		}
		flow := t.flow(s.pattern) / 3600 / max(1, kinds[k].Group)
		for j, e := range edges {
			out[j] += f.PerDay(s.pattern, e) * flow * f.part(s, f.Place[e]) * fa.of(k, f.Place[e], t.part).Mean *
				t.here(k, s.pattern, f.Place[e], f.Marks[e]&Visitors != 0)
		}
	}
	return out
}

// part is the share of a pattern's movers that are of a kind at a kind of place.
func (f *Field) part(s *share, p PlaceKind) float64 {
	if s.kind == BoardOrScooter && f.Boards > 0 {
		return BicyclesAmongWheels * float64(f.Boards)
	}
	return s.at(p)
}
