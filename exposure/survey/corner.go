package survey

import (
	"context"
	"math"
	"slices"

	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

const (
	// cornerCapM is how far from a junction two parties are tried, in metres: half
	// the sight cap, since both are as far from it.
	cornerCapM  = SightCapM / 2
	cornerStepM = 1.0
	// straightOnCos is the cosine of the turn below which one goes straight on and
	// sight along the way is the measure, not the corner: 30 degrees.
	straightOnCos = 0.866
)

// Corner is a junction with two arms round whose corner parties see each other
// late.
type Corner struct {
	Vertex int32
	ArcA   int32   // the arms, as arcs that leave the vertex, ArcA < ArcB
	ArcB   int32   //
	SightM float32 // along the way from one to the other, when both are as far from the junction and first see each other
}

// corners finds the pairs of arms, not straight on, whose corner sight is below
// SightCapM, by vertex.
func corners(ctx context.Context, g *network.Graph, t *terrain, workers int) ([]Corner, error) {
	byVertex := make([][]Corner, len(g.Vertex))
	err := eachEdge(ctx, len(g.Vertex), workers, nil, func() func(int32) {
		l := looker{g: g, t: t}
		return func(v int32) { byVertex[v] = l.corners(v) }
	})
	return slices.Concat(byVertex...), err
}

// corners gives the corners of one vertex.
func (l *looker) corners(v int32) (out []Corner) {
	first, end := l.g.Star.First[v], l.g.Star.First[v+1]
	at := l.g.Vertex[v]
	if end-first < 2 || !l.t.lines.Any(plane.Box{Min: at, Max: at}.Grown(cornerCapM), stopsView) {
		return nil
	}
	for a := first; a < end; a++ {
		for b := a + 1; b < end; b++ {
			if l.heading(a).Dot(l.heading(b)) < -straightOnCos {
				continue
			}
			if m := l.cornerSightM(a, b); m < SightCapM {
				out = append(out, Corner{Vertex: v, ArcA: a, ArcB: b, SightM: float32(m)})
			}
		}
	}
	return out
}

// cornerSightM is twice the largest distance from the junction up to which parties
// on the two arms, equally far from it, see each other; infinite if that is more
// than cornerCapM or an arm ends before.
func (l *looker) cornerSightM(a, b int32) float64 {
	l.line, l.other = l.extend(l.line, a, cornerCapM), l.extend(l.other, b, cornerCapM)
	most := min(cornerCapM, l.line.LengthM(), l.other.LengthM())
	p, q := cursor{line: l.line}, cursor{line: l.other}
	for s := cornerStepM; s <= most; s += cornerStepM {
		x, _ := p.at(s)
		y, _ := q.at(s)
		if !l.t.lines.Visible(x, y, stopsView) {
			return 2 * l.narrow(s-cornerStepM, s)
		}
	}
	return math.Inf(1)
}

// narrow finds to a centimetre where the two arms stop seeing each other.
func (l *looker) narrow(seen, hidden float64) float64 {
	for hidden-seen > 0.01 {
		s := (seen + hidden) / 2
		if l.t.lines.Visible(l.line.At(s), l.other.At(s), stopsView) {
			seen = s
		} else {
			hidden = s
		}
	}
	return seen
}
