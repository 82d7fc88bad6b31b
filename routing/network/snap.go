package network

import (
	"fmt"

	"wideberth/osmdata/plane"
)

// SnapLimitM is how far in metres the start of a walk may lie from the network:
// beyond it, the walk to the first way would be a walk of its own.
const SnapLimitM = 300

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
// it returns a *TooFarError. Of equally near places that of the first edge wins. Calls
// may be concurrent.
func (g *Graph) Snap(p plane.Point, maxM float64) (Place, error) {
	place, ok := g.Near(p, maxM)
	if !ok {
		nearest, _ := g.Near(p, plane.Far)
		return Place{}, &TooFarError{DistM: nearest.DistM, LimitM: maxM, At: nearest.At}
	}
	return place, nil
}

// Near is Snap for many places of which some may lie anywhere: false if no way is
// near enough, and nobody looks how far the nearest is.
func (g *Graph) Near(p plane.Point, maxM float64) (Place, bool) {
	best := Place{Edge: -1}
	var line plane.Polyline
	g.index().Nearest(p, maxM, func(e int32, limitM float64) float64 {
		line = g.AppendLine(line[:0], e)
		along := 0.0
		for k := 1; k < len(line); k++ {
			at, _ := plane.NearestOnSegment(p, line[k-1], line[k])
			if d := p.DistanceM(at); d < limitM || d == limitM && (best.Edge < 0 || e < best.Edge) {
				best, limitM = Place{Edge: e, AlongM: along + line[k-1].DistanceM(at), DistM: d, At: at}, d
			}
			along += line[k-1].DistanceM(line[k])
		}
		return limitM
	})
	if best.Edge < 0 {
		return Place{}, false
	}
	best.AlongM = min(best.AlongM, float64(g.LengthM[best.Edge]))
	return best, true
}

// index is the boxes of the edges; a graph that was built makes them when they are first
// asked for.
func (g *Graph) index() *plane.Boxes {
	g.boxesOnce.Do(func() {
		if g.boxes == nil {
			g.boxes = plane.NewBoxes(g.EdgeCount(), func(dst []plane.Point, e int32) []plane.Point { return g.AppendLine(dst, e) })
		}
	})
	return g.boxes
}

// InBox lists the edges that have a part in a box, ascending. Calls may be concurrent.
func (g *Graph) InBox(box plane.Box) []int32 {
	var edges []int32
	var line plane.Polyline
	g.index().InBox(box, func(e int32) {
		if line = g.AppendLine(line[:0], e); line.Meets(box) {
			edges = append(edges, e)
		}
	})
	return edges
}
