package snapshot

import (
	"context"
	"sync"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/beside"
	"wideberth/routing/yard"
)

// GroundPlan is what the map shows besides the network: what blocks the way or
// the view, what the ground is, the roads that carry traffic, and doors. It is
// drawn under every map and asked whether one place can be seen from another.
// Not changed once made; may be shared between goroutines.
//
// Obstacles, Buildings and Grounds are how a plan is made. One that was opened has none of
// them: ask with AllObstacles, AllBuildings and AllGrounds, as of any plan.
type GroundPlan struct {
	Obstacles []osmdata.Obstacle
	Buildings []Footprint
	Grounds   []osmdata.Ground
	Roads     []Road
	Rails     []plane.Polyline
	Addresses []osmdata.Address
	Places    []Settlement
	CarParks  []CarPark // where a stranger may leave a car

	Covers []Cover // what one can step behind, by sort and place

	stored     *storedGround // of a plan that was opened
	once       sync.Once     // makes index when it is first asked for
	index      *plane.Index  // of the obstacles
	coverOnce  sync.Once     // makes coverOrder when it is first asked for
	coverOrder []int32       // the covers by row and column of their cells
}

// Footprint is a building as it is drawn.
type Footprint struct {
	Area   plane.Polygon
	Number string // house number, "" if not mapped
}

// Road is a road that carries motor traffic and may not be walked along.
type Road struct {
	Line  plane.Polyline
	Class osmdata.Class
	Name  string
}

// Settlement is a named town, village or quarter.
type Settlement struct {
	Name string
	At   plane.Point
	Kind SettlementKind
}

// SettlementKind is what a settlement is.
type SettlementKind uint8

// The kinds, by size; those from suburb on are what people name a place by.
const (
	Dwelling SettlementKind = iota // a farm, a lone house
	Neighbourhood
	Quarter
	Hamlet
	Suburb
	Village
	Town
	City
)

// settlementKinds are the kinds by the value of the place tag.
var settlementKinds = map[string]SettlementKind{"isolated_dwelling": Dwelling, "neighbourhood": Neighbourhood, "quarter": Quarter,
	"hamlet": Hamlet, "suburb": Suburb, "borough": Suburb, "village": Village, "town": Town, "city": City}

// CarPark is a place where a stranger may leave a car.
type CarPark struct {
	Name   string // may be empty
	At     plane.Point
	Public bool // tags say that anybody may; else nothing says who
}

// obstacleCellM is the grid of the obstacle index; measured best for short rays.
const obstacleCellM = 32

// newGroundPlan keeps of an extract what is drawn and looked through.
func newGroundPlan(x *osmdata.Extract) *GroundPlan {
	gp := &GroundPlan{Obstacles: x.Obstacles, Grounds: x.Grounds, Rails: x.Rails, Addresses: x.Addresses, Covers: coversOf(x)}
	for i := range x.Buildings {
		gp.Buildings = append(gp.Buildings, Footprint{x.Buildings[i].Area, x.Buildings[i].HouseNumber})
	}
	for i := range x.Streets {
		if s := &x.Streets[i]; s.Motor && !s.Foot {
			gp.Roads = append(gp.Roads, Road{s.Line, s.Class, s.Name})
		}
	}
	gp.CarParks = carParks(x)
	for _, f := range x.Places {
		if f.Name != "" {
			gp.Places = append(gp.Places, Settlement{f.Name, f.Point, settlementKinds[f.As]})
		}
	}
	return gp
}

// covered are values of the parking tag under a roof, where nobody begins a walk.
var covered = map[string]bool{"multi-storey": true, "underground": true, "rooftop": true, "garage_boxes": true, "carports": true, "sheds": true}

// carParks lists where a stranger may leave a car: what tags open to anybody, and what
// nothing is said of, unless it lies on ground of works, a school or shops, whose it
// is. Those for customers, members and changing to a train are left out. Source: the
// community's documentation of amenity=parking and Key:access; the ground is our
// assumption.
func carParks(x *osmdata.Extract) (out []CarPark) {
	theirs := beside.Precincts(x, osmdata.Retail)
	for i := range x.Features {
		f := &x.Features[i]
		if f.As != "parking" || covered[f.Tags["parking"]] || f.Tags["park_ride"] != "" && f.Tags["park_ride"] != "no" {
			continue
		}
		switch f.Tags["access"] {
		case "yes", "public", "permissive", "designated":
			out = append(out, CarPark{f.Name, f.Point, true})
		case "", "unknown":
			if !theirs(f.Point) {
				out = append(out, CarPark{f.Name, f.Point, false})
			}
		}
	}
	return out
}

// Index is the obstacles' segments, numbered by obstacle, with their Block as
// mask.
func (gp *GroundPlan) Index() *plane.Index {
	gp.once.Do(func() {
		if gp.stored != nil {
			gp.index = gp.stored.index()
			return
		}
		gp.index = obstacleIndex(gp.Obstacles)
	})
	return gp.index
}

// obstacleIndex makes the index of obstacles that rays run through.
func obstacleIndex(obstacles []osmdata.Obstacle) *plane.Index {
	var segs []plane.Segment
	for i := range obstacles {
		o := &obstacles[i]
		for j := 1; j < len(o.Line); j++ {
			segs = append(segs, plane.Segment{A: o.Line[j-1], B: o.Line[j], ID: int32(i), Mask: uint8(o.Blocks)})
		}
	}
	return plane.NewIndex(segs, obstacleCellM)
}

// Visible says whether nothing mapped stands between two places.
func (gp *GroundPlan) Visible(a, b plane.Point) bool {
	return gp.Index().Visible(a, b, uint8(osmdata.BlocksView))
}

// yards surveys the open ground round the places where a car is left. What lies about a
// place that is known is taken as it is: known gives it, nil where there is none.
func (gp *GroundPlan) yards(ctx context.Context, g *network.Graph, field *exposure.Field, known func(plane.Point) (*yard.Yard, bool)) ([]yard.Yard, error) {
	ground := yard.Ground{Network: g, Field: field, Areas: gp.AllGrounds(), Barriers: gp.Index()}
	for _, b := range gp.AllBuildings() {
		ground.Buildings = append(ground.Buildings, b.Area)
	}
	for i := range gp.Roads {
		ground.Roads = append(ground.Roads, gp.Roads[i].Line)
	}
	var cars []plane.Point
	for i := range gp.CarParks {
		cars = append(cars, gp.CarParks[i].At)
	}
	cars = append(cars, ground.Kerbs(cars)...)
	if known == nil {
		return ground.Survey(ctx, cars)
	}
	var asked []plane.Point
	for _, car := range cars {
		if _, ok := known(car); !ok {
			asked = append(asked, car)
		}
	}
	found, err := ground.Survey(ctx, asked)
	if err != nil {
		return nil, err
	}
	var out []yard.Yard
	for _, car := range cars {
		if y, ok := known(car); !ok && len(found) > 0 && found[0].Car == car {
			out, found = append(out, found[0]), found[1:]
		} else if ok && y != nil {
			out = append(out, *y)
		}
	}
	return out, nil
}
