// Package beside measures what lies beside the edges of a network and ahead of them:
// room to each side, sight along the way, what passes on other ways in reach, fixed
// sources, soft ground and kinds of place. Of what moves it knows the flows that it is
// given; who makes them is survey's.
package beside

import (
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// What stops steps and view, as masks of the terrain's index.
const (
	stopsWay  = uint8(osmdata.BlocksWay)
	stopsView = uint8(osmdata.BlocksView)
	stopsCars = uint8(4) // the centre line of a road that must not be crossed to get out of the way
)

// terrainCellM is the cell of the terrain's index: short rays among houses are
// fastest at 16 to 32 m, and 32 m takes a quarter of the memory.
const terrainCellM = 32

// Terrain is what gives or takes room and sight.
type Terrain struct {
	lines *plane.Index // obstacles and major roads; of a road the ID is an index into halfM
	halfM []float64    // half the width of the carriageway
	green *raster      // public green ground
	frame plane.Frame
	veils veils // what hides without stopping a step

	// Measured says which edges of the network are measured, nil for all; the others'
	// rows stay empty.
	Measured []bool
}

// measures tells whether an edge is to be measured.
func (t *Terrain) measures(e int32) bool { return t.Measured == nil || t.Measured[e] }

// Driven is what is driven on streets.
type Driven struct {
	Streets *network.Graph
	PerDay  []float64 // vehicles by edge
}

// NewTerrain lays out what an extract says of obstacles, major roads and ground.
// motor is what is driven, nil for nothing: busy streets are not crossed either.
func NewTerrain(x *osmdata.Extract, motor *Driven) *Terrain {
	earth := plane.NewEarth(x.Frame)
	t := &Terrain{green: newRasterOn(earth), frame: x.Frame}
	var segs []plane.Segment
	add := func(l plane.Polyline, id int32, mask uint8) {
		for k := 1; k < len(l); k++ {
			segs = append(segs, plane.Segment{A: l[k-1], B: l[k], ID: id, Mask: mask})
		}
	}
	for i := range x.Obstacles {
		add(x.Obstacles[i].Line, -1, uint8(x.Obstacles[i].Blocks))
	}
	for i := range x.Streets {
		// One passes under a bridge and over a tunnel.
		s := &x.Streets[i]
		if s.Motor && major(s.Class) && s.Flags&(osmdata.FlagBridge|osmdata.FlagTunnel) == 0 {
			add(s.Line, int32(len(t.halfM)), stopsCars)
			t.halfM = append(t.halfM, halfWidthM(s.Class, s.Flags, s.WidthM, s.Lanes))
		}
	}
	if motor != nil {
		for e := range int32(motor.Streets.EdgeCount()) {
			p := &motor.Streets.Parts[motor.Streets.PartAt[e]]
			if motor.PerDay[e] >= MovingPerDay && !major(p.Class) && p.Flags&(osmdata.FlagBridge|osmdata.FlagTunnel) == 0 {
				add(motor.Streets.EdgeLine(e), int32(len(t.halfM)), stopsCars)
				t.halfM = append(t.halfM, halfWidthM(p.Class, p.Flags, p.WidthM(), p.Lanes()))
			}
		}
	}
	t.lines = plane.NewIndex(segs, terrainCellM)
	for i := range x.Grounds {
		switch x.Grounds[i].Kind {
		case osmdata.Park, osmdata.Wood, osmdata.Grass, osmdata.Sand:
			t.green.fill(x.Grounds[i].Area)
		}
	}
	t.veils = newVeils(x, earth)
	return t
}

// Sees tells whether nothing that stops the view stands between two points.
func (t *Terrain) Sees(a, b plane.Point) bool { return t.lines.Visible(a, b, stopsView) }

// Stands tells whether anything that stops the view stands in a box.
func (t *Terrain) Stands(b plane.Box) bool { return t.lines.Any(b, stopsView) }

// MovingPerDay is the vehicles a day from which on nobody crosses a street to get out of
// another's way, whatever its class: about one every quarter of a minute by day (our
// assumption).
const MovingPerDay = 3000

// major tells whether a street carries so much traffic that nobody crosses it to
// get out of another's way.
func major(c osmdata.Class) bool { return c >= osmdata.Motorway && c <= osmdata.Secondary }

// laneM is the width of a lane in metres, in the middle of the 3.0 to 3.65 m that
// design guides give.
const laneM = 3.3

// halfWidthM is half the width of a street's carriageway in metres: as tagged, or
// by its lanes, or by the usual lanes of its class. One-way streets of the upper
// classes are one side of a dual road.
func halfWidthM(c osmdata.Class, f osmdata.StreetFlags, widthM, lanes float32) float64 {
	switch {
	case widthM > 0:
		return float64(widthM) / 2
	case lanes > 0:
		return float64(lanes) * laneM / 2
	case c > osmdata.LivingStreet || c == osmdata.ClassOther:
		return 0
	case (c == osmdata.Motorway || c == osmdata.Trunk) && f&osmdata.FlagLink == 0 || f&osmdata.FlagOneWay == 0:
		return laneM
	}
	return laneM / 2
}
