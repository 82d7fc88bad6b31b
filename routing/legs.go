package routing

import (
	"math"

	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/reach"
)

// stretch is a run along one part of one edge in walking direction: what legs
// are made of.
type stretch struct {
	reach.Piece
	part    *network.Part
	startS  float64 // since departure
	enterS  float64 // when the arc that it lies on is entered
	timeS   float64
	startM  float64
	lengthM float64
	hazard  float64 // expected reactions a second
	strain  float64 // of the whole stretch
	line    plane.Polyline
}

// stretches cuts a walk at the borders of the parts of its edges.
func (p *Planner) stretches(r *reach.Reach, t *trace) []stretch {
	var out []stretch
	gone := 0.0
	for i, a := range t.arcs {
		c := r.Piece[a]
		perM := t.timeS[i] / math.Max(float64(c.LengthM), 1e-6)
		s := t.enterS[i]
		for _, cut := range p.land.Parts(c) {
			lengthM := math.Abs(float64(cut.ToM - cut.FromM))
			out = append(out, stretch{
				Piece: cut.Piece, part: cut.Part, startS: s, enterS: t.enterS[i], timeS: lengthM * perM, startM: gone, lengthM: lengthM,
				hazard: float64(t.hazard[i]), strain: t.strain[i] * lengthM / math.Max(float64(c.LengthM), 1e-6), line: p.land.LineOf(cut.Directed),
			})
			s += lengthM * perM
			gone += lengthM
		}
	}
	return out
}
