// Package track says where and when somebody walked, as steps that exposure can be
// added up along: a recorded track matched to the streets, or the legs of a plan. It
// hides which street a point belongs to, what is a pause and what is no walking, and
// how time is shared out.
package track

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// Point is where somebody was, in the plane of the map, and when; the zero time is
// not known.
type Point struct {
	At   plane.Point
	When time.Time
}

// mostPauseS is the longest gap in seconds between two points that is taken as
// walking: beyond it the device was off, or somebody sat down. Our assumption.
const mostPauseS = 120

// Match puts a recorded track on the network: each stretch between two timed points
// counts on the street nearest to its beginning, if one is within
// network.SnapLimitM. What was spent on an edge in one hour of UTC is one step, at the
// middle of that hour; steps are in the order of hours, then edges. Nil where too few
// points have times or lie on the map.
func Match(g *network.Graph, c *hours.Clock, points []Point) []exposure.Step {
	type cell struct {
		edge int32
		hour time.Time
	}
	spent := map[cell]float64{}
	for i := 0; i+1 < len(points); i++ {
		a, b := points[i], points[i+1]
		seconds := b.When.Sub(a.When).Seconds()
		if a.When.IsZero() || b.When.IsZero() || seconds <= 0 || seconds > mostPauseS {
			continue
		}
		if place, ok := g.Near(a.At, network.SnapLimitM); ok {
			spent[cell{place.Edge, a.When.Truncate(time.Hour)}] += seconds
		}
	}
	var steps []exposure.Step
	for _, k := range slices.SortedFunc(maps.Keys(spent), func(a, b cell) int {
		return cmp.Or(a.hour.Compare(b.hour), cmp.Compare(a.edge, b.edge))
	}) {
		steps = append(steps, exposure.Step{Edge: k.edge, Seconds: spent[k], At: c.At(k.hour.Add(30 * time.Minute))})
	}
	return steps
}

// Along appends some seconds at a moment on a run of edges, shared out by their
// length. Numbers that are no edges of the network are passed over, as are all where
// the rest has no length.
func Along(dst []exposure.Step, g *network.Graph, edges []int32, seconds float64, at hours.Moment) []exposure.Step {
	known := func(e int32) bool { return e >= 0 && int(e) < len(g.LengthM) }
	whole := 0.0
	for _, e := range edges {
		if known(e) {
			whole += float64(g.LengthM[e])
		}
	}
	for _, e := range edges {
		if known(e) && whole > 0 {
			dst = append(dst, exposure.Step{Edge: e, Seconds: seconds * float64(g.LengthM[e]) / whole, At: at})
		}
	}
	return dst
}
