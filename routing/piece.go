package routing

import (
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

type partPiece struct {
	piece
	part *network.Part
}

// parts cuts a piece of an edge where the edge's parts change, in walking order.
func (land *Land) parts(c piece) []partPiece {
	g := land.Snap.Graph
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
func (land *Land) lineOf(c piece) plane.Polyline {
	full := land.Snap.Graph.EdgeLine(c.edge)
	lo, hi := min(c.fromM, c.toM), max(c.fromM, c.toM)
	line := full.Cut(float64(lo), float64(hi))
	if c.against() {
		line = line.Reversed()
	}
	return line
}
