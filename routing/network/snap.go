package network

import (
	"fmt"
	"slices"
	"sort"

	"wideberth/osmdata/plane"
)

// SnapLimitM is how far in metres the start of a walk may lie from the network:
// beyond it, the walk to the first way would be a walk of its own.
const SnapLimitM = 300

// snapCellM is the width of the cells of the index that Snap uses.
const snapCellM = 64

// Place is a place on the network.
type Place struct {
	Edge   int32
	AlongM float64     // from the edge's beginning, along its geometry
	DistM  float64     // from the point that was asked for
	At     plane.Point // on the edge
}

// TooFarError says that no way is near enough.
type TooFarError struct {
	DistM  float64     // to the nearest way
	LimitM float64     // that was asked for
	At     plane.Point // the nearest place of the network
}

func (e *TooFarError) Error() string {
	return fmt.Sprintf("the nearest way is %.0f m away, the limit is %.0f m", e.DistM, e.LimitM)
}

// Snap finds the place of the network nearest to p, at most maxM metres away, else
// it returns a *TooFarError. The first call builds the index; calls may be
// concurrent.
func (g *Graph) Snap(p plane.Point, maxM float64) (Place, error) {
	place, ok := g.Near(p, maxM)
	if !ok {
		h, _ := g.index.Nearest(p, plane.Far, 1)
		return Place{}, &TooFarError{DistM: h.DistM, LimitM: maxM, At: h.At}
	}
	return place, nil
}

// Near is Snap for many places of which some may lie anywhere: false if no way is
// near enough, and nobody looks how far the nearest is.
func (g *Graph) Near(p plane.Point, maxM float64) (Place, bool) {
	g.indexOnce.Do(g.buildIndex)
	h, ok := g.index.Nearest(p, maxM, 1)
	if !ok {
		return Place{}, false
	}
	return g.place(h), true
}

// place turns a hit, whose ID is the point of Line that the piece begins at, into a
// place.
func (g *Graph) place(h plane.Hit) Place {
	e := int32(sort.Search(g.EdgeCount(), func(e int) bool { return g.LineAt[e+1] > h.ID }))
	run := plane.Polyline(g.Line[g.LineAt[e] : h.ID+1])
	along := run.LengthM() + run[len(run)-1].DistanceM(h.At)
	return Place{Edge: e, AlongM: min(along, float64(g.LengthM[e])), DistM: h.DistM, At: h.At}
}

// buildIndex makes the index of all straight pieces.
func (g *Graph) buildIndex() {
	segs := make([]plane.Segment, 0, len(g.Line))
	for e := range g.EdgeArc {
		for k := g.LineAt[e]; k < g.LineAt[e+1]-1; k++ {
			segs = append(segs, plane.Segment{A: g.Line[k], B: g.Line[k+1], ID: k, Mask: 1})
		}
	}
	g.index = plane.NewIndex(segs, snapCellM)
}

// InBox lists the edges that have a part in a box, ascending. The first call
// builds the index; calls may be concurrent.
func (g *Graph) InBox(box plane.Box) []int32 {
	g.indexOnce.Do(g.buildIndex)
	var edges []int32
	for _, i := range g.index.InBox(box, 1, nil) {
		k := g.index.Segment(i).ID
		edges = append(edges, int32(sort.Search(g.EdgeCount(), func(e int) bool { return g.LineAt[e+1] > k })))
	}
	slices.Sort(edges)
	return slices.Compact(edges)
}
