package network

import (
	"math"

	"wideberth/osmdata/plane"
)

// Turn is how a leg begins.
type Turn string

// The turns, seen from the leg before.
const (
	TurnStart      Turn = "start"
	TurnStraight   Turn = "straight"
	TurnLeft       Turn = "left"
	TurnRight      Turn = "right"
	TurnHalfLeft   Turn = "half_left"
	TurnHalfRight  Turn = "half_right"
	TurnSharpLeft  Turn = "sharp_left"
	TurnSharpRight Turn = "sharp_right"
	TurnBack       Turn = "back"
)

// TurnOf names the change of direction from one line into the next.
func TurnOf(before, after plane.Polyline) Turn {
	angle := TurnAngle(Heading(before, true), Heading(after, false))
	size, left := math.Abs(angle), angle > 0
	pick := func(l, r Turn) Turn {
		if left {
			return l
		}
		return r
	}
	switch {
	case size < 25*math.Pi/180:
		return TurnStraight
	case size < 55*math.Pi/180:
		return pick(TurnHalfLeft, TurnHalfRight)
	case size < 125*math.Pi/180:
		return pick(TurnLeft, TurnRight)
	case size < 170*math.Pi/180:
		return pick(TurnSharpLeft, TurnSharpRight)
	}
	return TurnBack
}

// headingRunM is the run over which a line's direction at its end is taken, so
// that a kink at the kerb does not make a turn.
const headingRunM = 12

// Heading is the direction of a line at its end or beginning, in radians
// anticlockwise from east.
func Heading(l plane.Polyline, atEnd bool) float64 {
	n := l.LengthM()
	if atEnd {
		l = l.Cut(math.Max(0, n-headingRunM), n)
	} else {
		l = l.Cut(0, math.Min(n, headingRunM))
	}
	d := l[len(l)-1].Sub(l[0])
	return math.Atan2(d.Y, d.X)
}

// TurnAngle is the angle from one heading to another, positive to the left.
func TurnAngle(from, to float64) float64 { return math.Remainder(to-from, 2*math.Pi) }

// TurnBetween names the change of direction from the end of one line into the
// beginning of the next.
func TurnBetween(before, after plane.Polyline) Turn { return TurnOf(before, after) }
