package escape

import (
	"math"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot"
)

// Cover is something near to step behind, seen by somebody who faces a direction.
type Cover struct {
	snapshot.Cover
	DistM float64
	Side  Move // MoveOn, MoveBack, MoveLeft or MoveRight
}

// Aid is what helps at a place besides a way to walk.
type Aid struct {
	Do    []AidDeed
	Cover []Cover // at most mostCover, nearest first, of different sorts; empty where the map has none near
	Side  Move    // MoveLeft or MoveRight: the side with more room; "" where there is none on either
	SideM float64 // the room there, negative where there is none on either side
}

// AidDeed is something to do at once. All are common practice.
type AidDeed string

// The deeds, in the order to do them.
const (
	FoodOnTheGround  AidDeed = "food_on_the_ground" // between oneself and a loose dog
	SomethingBetween AidDeed = "something_between"  // the first of the cover
	CallOut          AidDeed = "call_out"           // to whoever is with the dog
	StepOff          AidDeed = "step_off"           // to the side, and let it pass
)

// What is near enough to be of use, our assumptions: a quarter of a minute away, of
// each sort the nearest.
const (
	coverReachM = 25
	mostCover   = 3
	coverSlackM = 1.5 // a gate stands in its fence, a door in its wall
)

// AidFrom says what helps against a threat besides walking. Nothing outruns a loose dog:
// there it is all there is.
func AidFrom(land *reach.Land, at plane.Point, threat Threat) (Aid, error) {
	place, err := land.Place(at)
	if err != nil {
		return Aid{}, err
	}
	facing := threat.At.Sub(place.At)
	aid := aidAt(land, place, facing)
	aid.Cover = awayFrom(aid.Cover, place.At, threat.At)
	aid.Do = deedsFor(threat.Kind, &aid)
	return aid, nil
}

// aidAt is what helps at a place, seen by somebody who faces a direction.
func aidAt(land *reach.Land, place network.Place, facing plane.Point) Aid {
	aid := Aid{Cover: CoverAbout(land, place.At, facing)}
	edge := place.Edge
	b := land.Snap.Field.Sides(edge, false)
	left, right := float64(b.Left.LowM), float64(b.Right.LowM)
	if along := land.Snap.Graph.EdgeLine(edge).DirectionAt(place.AlongM); facing.Dot(along) < 0 {
		left, right = right, left
	}
	aid.Side, aid.SideM = MoveLeft, left
	if right > left {
		aid.Side, aid.SideM = MoveRight, right
	}
	if aid.SideM = math.Min(aid.SideM, MostAsideM); aid.SideM < leastAsideM {
		aid.Side, aid.SideM = "", -1
	}
	return aid
}

// deedsFor are what to do about a kind, in order.
func deedsFor(kind exposure.Kind, aid *Aid) []AidDeed {
	switch {
	case kind == exposure.DogOffLead && len(aid.Cover) > 0:
		return []AidDeed{FoodOnTheGround, SomethingBetween, CallOut}
	case kind == exposure.DogOffLead:
		return []AidDeed{FoodOnTheGround, CallOut}
	case (kind.Category() == exposure.Wheels || kind.Category() == exposure.Traffic) && aid.SideM > 0:
		return []AidDeed{StepOff}
	}
	return nil
}

// CoverAbout lists what there is to step behind near a place, nothing in the way, the
// nearest of each sort, seen by somebody who faces a direction.
func CoverAbout(land *reach.Land, at, facing plane.Point) (out []Cover) {
	g := land.Snap.Ground
	var seen [snapshot.CoverKindCount]bool
	for _, i := range g.CoverNear(at, coverReachM) {
		c := g.Covers[i]
		if seen[c.Kind] || len(out) == mostCover || !open(g, at, c.At) {
			continue
		}
		seen[c.Kind] = true
		out = append(out, Cover{c, c.At.DistanceM(at), moveTo(facing, c.At.Sub(at))})
	}
	return out
}

// open says whether one can walk straight up to a place.
func open(g *snapshot.GroundPlan, from, to plane.Point) bool {
	d := to.Sub(from)
	if d.NormM() <= coverSlackM {
		return true
	}
	return g.Index().Visible(from, to.Sub(d.Mul(coverSlackM/d.NormM())), uint8(osmdata.BlocksWay))
}

// awayFrom keeps the cover that one reaches without walking up to the threat.
func awayFrom(all []Cover, at, threat plane.Point) (out []Cover) {
	for _, c := range all {
		if c.At.DistanceM(threat) >= wayOutCertain*at.DistanceM(threat) {
			out = append(out, c)
		}
	}
	return out
}

// outrun is what there is instead of a way out from a loose dog that comes, at a pace:
// to the nearest cover, else to stand.
func (a *Aid) outrun(from plane.Point, threat Threat, pace float64) WayOut {
	present := from.DistanceM(threat.At)
	out := WayOut{PaceMPS: pace, Means: Stand, Turn: network.TurnStraight, Line: plane.Polyline{from}, Stand: from, Seconds: NoneInReach, PresentM: present, EndsM: present}
	if len(a.Cover) > 0 {
		c := &a.Cover[0]
		out.Means, out.Line, out.Stand, out.Seconds = Between, plane.Polyline{from, c.At}, c.At, c.DistM/pace
		out.EndsM = c.At.DistanceM(threat.At)
		out.Turn = map[Move]network.Turn{MoveOn: network.TurnStraight, MoveBack: network.TurnBack, MoveLeft: network.TurnLeft, MoveRight: network.TurnRight}[c.Side]
	}
	return out
}

// looseDog says whether a threat is a dog that comes and that nothing outruns.
func (t *Threat) looseDog() bool { return t.Kind == exposure.DogOffLead && t.SpeedMPS > 0 }
