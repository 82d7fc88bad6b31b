package routing

import (
	"math"

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
		for _, cut := range p.land.parts(c) {
			lengthM := math.Abs(float64(cut.toM - cut.fromM))
			out = append(out, stretch{
				piece: cut.piece, part: cut.part, startS: s, timeS: lengthM * perM, startM: gone, lengthM: lengthM,
				hazard: float64(t.hazard[i]), line: p.land.lineOf(cut.piece),
			})
			s += lengthM * perM
			gone += lengthM
		}
	}
	return out
}
