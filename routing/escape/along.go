package escape

import (
	"context"
	"math"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/reach"
)

// Side is where a threat is, for somebody who faces along the walk.
type Side string

// The sides.
const (
	SideAhead  Side = "ahead"
	SideLeft   Side = "left"
	SideRight  Side = "right"
	SideBehind Side = "behind"
)

// turned is what each side is from the direction of the walk, in radians
// counter-clockwise.
var turned = []struct {
	side Side
	rad  float64
}{{SideAhead, 0}, {SideLeft, math.Pi / 2}, {SideRight, -math.Pi / 2}, {SideBehind, math.Pi}}

// OutAlong is the way out at one place of a walk from a threat on one side, with
// its moves in the words of somebody who faces along the walk until told to turn.
type OutAlong struct {
	AtM   float64 // along the walk
	Side  Side
	First Move // what to do at once
	Then  Move // MoveLeft, MoveRight, or "": the next turn, seen as one walks then
	ThenM float64
	Out   WayOut // at a brisk pace
	Aid   *Aid   // what helps besides, seen along the walk; the same for all sides of a place
}

// Move is one move of a way out.
type Move string

// The moves.
const (
	MoveOn         Move = "ahead"
	MoveBack       Move = "back"
	MoveLeft       Move = "left"
	MoveRight      Move = "right"
	MoveAsideLeft  Move = "aside_left"
	MoveAsideRight Move = "aside_right"
	MoveNone       Move = "stay"
)

// What is asked along a walk, our assumptions: a place every AlongStepM, which a
// handler passes in half a minute; a threat that walks towards the handler and is
// seen for the first time, at the distance at which the dog still works or as far
// off as one sees; a turn of the way is what turns by more than 50 degrees.
const (
	AlongStepM   = 40
	alongSpeed   = 1.4
	alongMostM   = 100
	alongLeastM  = 6
	alongUnsureM = 5
	turnRad      = 50 * math.Pi / 180
	headingM     = 12
)

// WaysOutAlong answers ahead of time what to do when something turns up on a walk:
// for a place every AlongStepM and each side. It is made to be kept by who walks
// without a network. Canceled by ctx.
func WaysOutAlong(ctx context.Context, land *reach.Land, walk plane.Polyline, kind exposure.Kind, dog *exposure.Dog) ([]OutAlong, error) {
	var out []OutAlong
	longM := walk.LengthM()
	for m := 0.0; m < longM; m += AlongStepM {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		at, ahead := walk.At(m), walk.DirectionAt(m+0.1)
		n, start, err := netAt(land, at)
		if err != nil {
			return nil, err
		}
		place, err := land.Place(at)
		if err != nil {
			return nil, err
		}
		aid := aidAt(land, place, ahead)
		aid.Do = deedsFor(kind, &aid)
		for _, t := range turned {
			threat := Threat{At: firstSeen(land, walk, m, ahead, t.side, t.rad, dog.Need(kind).WorkingM), SpeedMPS: alongSpeed, Kind: kind}
			o := OutAlong{AtM: m, Side: t.side, Aid: &aid}
			if pace := math.Max(briskMPS, dog.PaceMPS()); threat.looseDog() {
				here := aid
				here.Cover = awayFrom(aid.Cover, start, threat.At)
				o.Out = here.outrun(start, threat, pace)
			} else {
				o.Out = newFlight(land, n, start, threat, dog).best(pace)
			}
			o.First, o.Then, o.ThenM = moves(&o.Out, ahead)
			out = append(out, o)
		}
	}
	return out, nil
}

// firstSeen is where a threat on one side comes into sight: on the walk itself
// ahead and behind, straight off to the sides.
func firstSeen(land *reach.Land, walk plane.Polyline, m float64, ahead plane.Point, side Side, rad, needM float64) plane.Point {
	at, longM := walk.At(m), walk.LengthM()
	place := func(d float64) plane.Point {
		switch {
		case side == SideAhead && m+d <= longM:
			return walk.At(m + d)
		case side == SideBehind && m-d >= 0:
			return walk.At(m - d)
		}
		return at.Add(rotated(ahead, rad).Mul(d))
	}
	for d := math.Min(alongMostM, math.Max(needM, 2*alongLeastM)); d > alongLeastM; d -= alongUnsureM {
		if q := place(d); land.Snap.Ground.Visible(at, q) {
			return q
		}
	}
	return place(alongLeastM)
}

func rotated(v plane.Point, rad float64) plane.Point {
	s, c := math.Sincos(rad)
	return plane.Point{X: c*v.X - s*v.Y, Y: s*v.X + c*v.Y}
}

// moves tells a way out to somebody who faces a direction: the first move, then
// the first turn on the way as one walks.
func moves(w *WayOut, facing plane.Point) (first, then Move, thenM float64) {
	longM := w.Line.LengthM()
	if longM < leastAsideM {
		return stepAside(w, facing), "", 0
	}
	heading := w.Line.At(math.Min(longM, headingM)).Sub(w.Line[0])
	first = moveTo(facing, heading)
	for m := headingM / 2.0; m < longM; m += headingM / 4.0 {
		d := w.Line.DirectionAt(m)
		if a := math.Atan2(heading.Cross(d), heading.Dot(d)); math.Abs(a) > turnRad && math.Abs(a) < math.Pi-turnRad/2 {
			return first, moveTo(heading, d), m
		}
	}
	return first, "", 0
}

// stepAside is a step off the line, seen along the walk.
func stepAside(w *WayOut, facing plane.Point) Move {
	if w.Aside == "" || len(w.Line) == 0 || w.Stand.DistanceM(w.Line[0]) < leastAsideM {
		return MoveNone
	}
	if facing.Cross(w.Stand.Sub(w.Line[0])) > 0 {
		return MoveAsideLeft
	}
	return MoveAsideRight
}

// moveTo is the direction of a move for somebody who faces another.
func moveTo(facing, d plane.Point) Move {
	switch a := math.Atan2(facing.Cross(d), facing.Dot(d)); {
	case math.Abs(a) <= math.Pi/4:
		return MoveOn
	case math.Abs(a) >= 3*math.Pi/4:
		return MoveBack
	case a > 0:
		return MoveLeft
	}
	return MoveRight
}
