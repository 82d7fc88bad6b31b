// Package osmdata reads an OpenStreetMap extract and says what is there: the
// streets, which of them a person with a dog may walk, the buildings, walls and
// water that give or take room and sight, the homes that people leave from, and
// whatever features its caller asked for by rule. It knows the map and no dogs.
package osmdata

import (
	"time"

	"wideberth/osmdata/plane"
)

// Class is the kind of street that a way's highway tag names.
type Class uint8

// The classes, from the busiest road to the narrowest path. Links take the
// class of their road.
const (
	ClassOther Class = iota
	Motorway
	Trunk
	Primary
	Secondary
	Tertiary
	Unclassified
	Residential
	LivingStreet
	Service
	Pedestrian
	Track
	Cycleway
	Bridleway
	Footway
	Path
	Steps
	ClassCount
)

// Main says whether streets of a class carry through traffic.
func (c Class) Main() bool { return c >= Motorway && c <= Tertiary }

// StreetFlags are yes-or-no facts of a street.
type StreetFlags uint32

// Facts of a street. Tri-state tags (lit) use two flags: known and yes.
const (
	FlagOneWay        StreetFlags = 1 << iota // motor traffic one way
	FlagLink                                  // a ramp between roads
	FlagBridge                                // bridge=*: no room off it
	FlagTunnel                                // tunnel, covered or building passage
	FlagCutting                               // cutting=yes or embankment without room
	FlagLitKnown                              // the lit tag is there
	FlagLit                                   // and says yes
	FlagSidewalk                              // pavement on at least one side, or separately mapped
	FlagNoSidewalk                            // sidewalk=no on a road
	FlagPavement                              // the way itself is a pavement (footway=sidewalk)
	FlagCrossing                              // the way itself is a crossing (footway=crossing)
	FlagUnpaved                               // surface other than paved
	FlagDogLeashed                            // dog=leashed
	FlagDogUnleash                            // dog=unleashed
	FlagBicycle                               // bicycles allowed or designated on a path
	FlagConditional                           // has conditional or seasonal access that is not evaluated
	FlagPermissive                            // open until the owner revokes
	FlagCustomers                             // reached only as destination: usable at the ends of a walk
	FlagOpenStart                             // the way goes on outside the extract before its first node
	FlagOpenEnd                               // and after its last
	FlagDriveway                              // service=driveway, parking_aisle and the like
	FlagAreaEdge                              // made from a pedestrian area: edge or crossing line
	FlagDiscouraged                           // foot=discouraged: legal, signed against
	FlagCycleTrack                            // a road with a cycle track beside it, drawn with it or apart
	FlagCycleLane                             // a road with a cycle lane on it
	FlagCycleBothWays                         // bicycles may ride against the one-way traffic
	FlagNoBicycle                             // bicycles may not ride here
	FlagPaved                                 // surface tagged as paved
	FlagDrive                                 // service=driveway without a tag that opens it to feet: somebody's ground
	FlagAisle                                 // service=parking_aisle
	FlagByLeave                               // cars only with leave: access private, permit, residents and the like
)

// Street is an interpreted way.
type Street struct {
	ID       int64          // OSM way id, or minus the relation id for area outlines
	Name     string         // name tag, "" where there is none
	Class    Class          //
	Flags    StreetFlags    //
	Foot     bool           // a handler with a dog may walk here
	Motor    bool           // carries motor traffic
	Nodes    []int64        // OSM node ids, one per point of Line
	Line     plane.Polyline // at least two points, no two consecutive at one place
	Lanes    float32        // 0 unknown
	SpeedMPS float32        // legal speed, 0 unknown
	WidthM   float32        // 0 unknown
	Layer    int8           // layer tag
}

// Barred are nodes that end a walk, or a drive, although streets meet there: of a
// walk a locked or private gate, a full-height turnstile. Network building does not
// pass them.
type Barred map[int64]bool

// Crossing is a node where a road can be crossed with help: a marked crossing or
// traffic signals.
type Crossing struct {
	Node int64 // OSM node id
	At   plane.Point
}

// Rule asks the reader for features. The first rule that matches a set of tags
// decides. Rules are called concurrently and must be pure.
type Rule struct {
	Key    string   // tag key
	Values []string // any of these values; empty means any value but "no"
	Also   []Match  // further tags that must match too
	As     string   // what the caller calls such a feature
}

// Match is one further condition of a Rule.
type Match struct {
	Key    string
	Values []string // empty means any value but "no"
}

// Feature is a place that a rule asked for, with the best geometry that the map
// has: Areas if it is mapped as an area, else Line, else Point.
type Feature struct {
	OSM   string            // "node/123", "way/123", "relation/123"
	As    string            // the As of the rule that matched
	Name  string            //
	Areas []plane.Polygon   //
	Line  plane.Polyline    //
	Point plane.Point       // a point of the feature (inside it where it is an area)
	Tags  map[string]string // all tags of the object
}

// Block is what an obstacle stops.
type Block uint8

// What an obstacle stops. A fence stops the way but not the view.
const (
	BlocksWay  Block = 1 << iota // nobody steps through or over it
	BlocksView                   // nobody sees through or over it
)

// ObstacleKind tells what an obstacle is, for drawing and for words.
type ObstacleKind uint8

// Kinds of obstacle.
const (
	BuildingWall ObstacleKind = iota
	Wall
	Fence
	Hedge
	WaterEdge
	Rail
	Cliff
	ObstacleKindCount
)

// Obstacle is a line or closed outline that gives or takes room and sight.
type Obstacle struct {
	Kind   ObstacleKind
	Blocks Block
	Line   plane.Polyline // closed outlines repeat their first point
}

// Building is a footprint and what is known of it.
type Building struct {
	OSM         string
	Area        plane.Polygon
	Use         string  // the building tag
	Levels      float32 // 0 unknown
	HouseNumber string  // addr:housenumber
	StreetName  string  // addr:street
}

// GroundKind is what the ground is, where the map says so.
type GroundKind uint8

// Kinds of ground.
const (
	Park GroundKind = iota
	Wood
	Grass
	Farmland
	Water
	Residentials // landuse=residential
	Industrial
	Retail
	Cemetery
	Sand
	GroundKindCount
)

// Ground is an area of one kind.
type Ground struct {
	Kind     GroundKind
	Name     string
	Area     plane.Polygon
	DogRules bool // where dogs are often forbidden or bound: cemetery, beach, reserve, or a dog tag says so
	Standing Standing
	Grazed   bool // livestock may stand there: a meadow, farmland that no crop is named on
}

// Standing says whether anybody may stay on an area for a while, as far as its tags tell.
type Standing uint8

// The answers.
const (
	StandingUnknown Standing = iota // grass, a wood: the map does not say whose it is
	StandingPublic                  // a park, a recreation ground, a common, a green, a pitch
	StandingNever                   // a garden, a golf course, a reserve, a cemetery, a field, a works, or not open to everybody
)

// Address is a house number at a place, for starting a walk from a door.
type Address struct {
	Street, Number string
	City, Postcode string // "" if not tagged
	At             plane.Point
}

// Extract is what was read. It is not changed after reading and may be shared.
type Extract struct {
	Frame     plane.Frame
	West      float64 // bounds of the data in degrees
	South     float64
	East      float64
	North     float64
	Timestamp time.Time // of the extract, zero if the file does not say
	Streets   []Street  // all highways that matter, walkable or not, sorted by ID
	Barred    Barred
	CarsEnd   Barred        // nodes that end a stranger's drive: bollards, locked or private gates
	StockEnds []plane.Point // stiles, kissing gates, cattle grids: what lets people pass and holds livestock
	TurnBans  []TurnBan     // in no order that matters
	Crossings []Crossing    // sorted by node id
	Features  []Feature     // sorted by OSM type and id
	Obstacles []Obstacle
	Buildings []Building
	Grounds   []Ground
	Rails     []plane.Polyline // railway lines, for trains as streams
	Addresses []Address
	Places    []Feature // place=* nodes, for naming the extract
	Countries Countries // of addresses and settlements
	Borders   Countries // of the boundaries of countries and their parts that run through it
	Report    *Report
}
