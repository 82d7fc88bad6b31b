package reach

import (
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

type partPiece struct {
	Piece
	Part *network.Part
}

// Parts cuts a piece of an edge where the edge's parts change, in walking order.
func (land *Land) Parts(c Piece) []partPiece {
	g := land.Snap.Graph
	lo, hi := min(c.FromM, c.ToM), max(c.FromM, c.ToM)
	first, last := g.PartAt[c.Edge], g.PartAt[c.Edge+1]
	var out []partPiece
	for k := first; k < last; k++ {
		begin, end := g.Parts[k].FromM, g.LengthM[c.Edge]
		if k+1 < last {
			end = g.Parts[k+1].FromM
		}
		begin, end = max(begin, lo), min(end, hi)
		if end <= begin {
			continue
		}
		q := c
		q.FromM, q.ToM = begin, end
		if c.Against() {
			q.FromM, q.ToM = end, begin
		}
		out = append(out, partPiece{q, &g.Parts[k]})
	}
	if c.Against() {
		for i, j := 0, len(out)-1; i < j; i, j = i+1, j-1 {
			out[i], out[j] = out[j], out[i]
		}
	}
	return out
}

// LineOf is the geometry of a piece in walking direction.
func (land *Land) LineOf(c Directed) plane.Polyline {
	full := land.Snap.Graph.EdgeLine(c.Edge)
	lo, hi := min(c.FromM, c.ToM), max(c.FromM, c.ToM)
	line := full
	if lo > 0 || hi < land.Snap.Graph.LengthM[c.Edge] { // a whole edge ends at its vertices to the last bit
		line = full.Cut(float64(lo), float64(hi))
	}
	if c.Against() {
		line = line.Reversed()
	}
	return line
}
