package routing

import (
	"math"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// stretch is a run along one part of one edge in walking direction: what legs
// are made of.
type stretch struct {
	piece
	part    *network.Part
	startS  float64 // since departure
	timeS   float64
	startM  float64
	lengthM float64
	hazard  float64 // expected reactions a second
	line    plane.Polyline
}

// stretches cuts a walk at the borders of the parts of its edges.
func (p *Planner) stretches(r *reach, t *trace) []stretch {
	var out []stretch
	gone := 0.0
	for i, a := range t.arcs {
		c := r.piece[a]
		perM := t.timeS[i] / math.Max(float64(c.lengthM), 1e-6)
		s := t.enterS[i]
		for _, cut := range p.parts(c) {
			lengthM := math.Abs(float64(cut.toM - cut.fromM))
			out = append(out, stretch{
				piece: cut.piece, part: cut.part, startS: s, timeS: lengthM * perM, startM: gone, lengthM: lengthM,
				hazard: float64(t.hazard[i]), line: p.lineOf(cut.piece),
			})
			s += lengthM * perM
			gone += lengthM
		}
	}
	return out
}

type partPiece struct {
	piece
	part *network.Part
}

// parts cuts a piece of an edge where the edge's parts change, in walking order.
func (p *Planner) parts(c piece) []partPiece {
	g := p.snap.Graph
	lo, hi := min(c.fromM, c.toM), max(c.fromM, c.toM)
	first, last := g.PartAt[c.edge], g.PartAt[c.edge+1]
	var out []partPiece
	for k := first; k < last; k++ {
		begin, end := g.Parts[k].FromM, g.LengthM[c.edge]
		if k+1 < last {
			end = g.Parts[k+1].FromM
		}
		begin, end = max(begin, lo), min(end, hi)
		if end <= begin {
			continue
		}
		q := c
		q.fromM, q.toM = begin, end
		if c.against() {
			q.fromM, q.toM = end, begin
		}
		out = append(out, partPiece{q, &g.Parts[k]})
	}
	if c.against() {
		for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
			out[i], out[j] = out[j], out[i]
		}
	}
	return out
}

// lineOf is the geometry of a piece in walking direction.
func (p *Planner) lineOf(c piece) plane.Polyline {
	full := p.snap.Graph.EdgeLine(c.edge)
	lo, hi := min(c.fromM, c.toM), max(c.fromM, c.toM)
	line := full.Cut(float64(lo), float64(hi))
	if c.against() {
		line = line.Reversed()
	}
	return line
}

// classWord says what a way is where it has no name.
func classWord(part *network.Part) string {
	switch {
	case part.Flags&osmdata.FlagCrossing != 0:
		return "crossing"
	case part.Flags&osmdata.FlagPavement != 0:
		return "pavement"
	case part.Flags&osmdata.FlagTunnel != 0:
		return "passage"
	case part.Flags&osmdata.FlagDriveway != 0:
		return "drive"
	}
	switch part.Class {
	case osmdata.Steps:
		return "steps"
	case osmdata.Track:
		return "track"
	case osmdata.Cycleway:
		return "cycle path"
	case osmdata.Bridleway:
		return "bridleway"
	case osmdata.Footway, osmdata.Path:
		return "footpath"
	case osmdata.Pedestrian:
		return "pedestrian street"
	case osmdata.Service:
		return "service road"
	}
	return "street"
}

// turnOf names the change of direction from one line into the next.
func turnOf(before, after plane.Polyline) Turn {
	angle := turnAngle(heading(before, true), heading(after, false))
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

// heading is the direction of a line at its end or beginning, in radians
// anticlockwise from east.
func heading(l plane.Polyline, atEnd bool) float64 {
	n := l.LengthM()
	if atEnd {
		l = l.Cut(math.Max(0, n-headingRunM), n)
	} else {
		l = l.Cut(0, math.Min(n, headingRunM))
	}
	d := l[len(l)-1].Sub(l[0])
	return math.Atan2(d.Y, d.X)
}

// turnAngle is the angle from one heading to another, positive to the left.
func turnAngle(from, to float64) float64 { return math.Remainder(to-from, 2*math.Pi) }

// TurnBetween names the change of direction from the end of one line into the
// beginning of the next.
func TurnBetween(before, after plane.Polyline) Turn { return turnOf(before, after) }
