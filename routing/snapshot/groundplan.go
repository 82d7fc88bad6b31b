package snapshot

import (
	"sync"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// GroundPlan is what the map shows besides the network: what blocks the way or
// the view, what the ground is, the roads that carry traffic, and doors. It is
// drawn under every map and asked whether one place can be seen from another.
// Not changed once made; may be shared between goroutines.
type GroundPlan struct {
	Obstacles []osmdata.Obstacle
	Buildings []Footprint
	Grounds   []osmdata.Ground
	Roads     []Road
	Rails     []plane.Polyline
	Addresses []osmdata.Address
	Places    []Settlement
	CarParks  []Settlement // where one can leave a car; the name may be empty

	Covers []Cover // what one can step behind, by sort and place

	once      sync.Once    // makes index when it is first asked for
	index     *plane.Index // of the obstacles
	coverOnce sync.Once    // makes coverAt when it is first asked for
	coverAt   map[coverCell][]int32
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
	for i := range x.Features {
		if f := &x.Features[i]; f.As == "parking" && f.Tags["access"] != "private" {
			gp.CarParks = append(gp.CarParks, Settlement{f.Name, f.Point})
		}
	}
	for _, f := range x.Places {
		if f.Name != "" {
			gp.Places = append(gp.Places, Settlement{f.Name, f.Point})
		}
	}
	return gp
}

// Index is the obstacles' segments, numbered by obstacle, with their Block as
// mask.
func (gp *GroundPlan) Index() *plane.Index {
	gp.once.Do(func() { gp.index = obstacleIndex(gp.Obstacles) })
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
