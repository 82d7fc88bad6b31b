package beside

import (
	"context"
	"math"

	"wideberth/osmdata/parallel"

	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

const (
	// sightCapM is the farthest that sight along a way counts, in metres: beyond it
	// another walker is seen early enough for anything.
	SightCapM = 150.0
	// sightStepM is the spacing of the places ahead that are looked at.
	sightStepM = 5.0
	// straightM is how far a way may stray from a straight line and still count as
	// straight: if its far end is seen then all of it is.
	straightM = 0.5
)

// Sight measures how far one sees the way ahead, walking each edge with its
// geometry and against it: the lower decile over its samples, by length. It looks
// At places along the edge and its straightest continuation up to sightCapM and
// stops at the first that is hidden. A way that ends is seen to its end and counts
// as sightCapM.
func Sight(ctx context.Context, g *network.Graph, t *Terrain, workers int, tick func(int)) (fwd, back []float32, err error) {
	fwd, back = make([]float32, g.EdgeCount()), make([]float32, g.EdgeCount())
	err = parallel.EachIndex(ctx, g.EdgeCount(), workers, tick, func() func(int32) {
		l := looker{g: g, t: t, s: t.Sampler(g)}
		return func(e int32) {
			if t.measures(e) {
				fwd[e], back[e] = l.edge(e)
			}
		}
	})
	return fwd, back, err
}

// looker is one worker's scratch.
type looker struct {
	g          *network.Graph
	t          *Terrain
	s          Sampler
	line       plane.Polyline // the edge with what continues it
	ahead      []plane.Point
	seen, back []weighted
}

// edge measures one edge.
func (l *looker) edge(e int32) (fwd, back float32) {
	if !l.t.lines.Any(l.g.EdgeLine(e).Box().Grown(SightCapM), stopsView) {
		return SightCapM, SightCapM
	}
	all := l.s.Samples(e)
	length := float64(l.g.LengthM[e])
	l.line = l.extend(l.line, l.g.EdgeArc[e])
	l.seen = l.seen[:0]
	for i := range all {
		l.seen = append(l.seen, weighted{l.from(all[i].alongM), all[i].WeightM})
	}
	l.line = l.extend(l.line, l.g.Star.Twin[l.g.EdgeArc[e]])
	l.back = l.back[:0]
	for i := len(all) - 1; i >= 0; i-- {
		l.back = append(l.back, weighted{l.from(length - all[i].alongM), all[i].WeightM})
	}
	return float32(quantile(l.seen, 0.1)), float32(quantile(l.back, 0.1))
}

// extend puts the line of the arc and its straightest continuation, as far as
// SightCapM beyond its end, into line, which is overwritten.
func (l *looker) extend(line plane.Polyline, arc int32) plane.Polyline {
	line = append(line[:0], l.arcLine(arc)...)
	for left := SightCapM; left > 0; {
		next := l.straightest(arc)
		if next < 0 {
			break
		}
		line = append(line, l.arcLine(next)[1:]...)
		left -= float64(l.g.LengthM[l.g.ArcEdge[next]])
		arc = next
	}
	return line
}

// arcLine is the geometry of an edge in the direction of the arc.
func (l *looker) arcLine(arc int32) plane.Polyline {
	e := l.g.ArcEdge[arc]
	if l.g.EdgeArc[e] == arc {
		return l.g.EdgeLine(e)
	}
	return l.g.EdgeLine(e).Reversed()
}

// headingM is how far from a junction the heading of an arm is taken: drawn ways
// often turn in the last metres.
const headingM = 10.0

// heading is the direction in which an arc leaves its tail.
func (l *looker) heading(arc int32) plane.Point {
	e := l.g.ArcEdge[arc]
	line := l.g.EdgeLine(e)
	a, b := line[0], line.At(headingM)
	if l.g.EdgeArc[e] != arc {
		a, b = line[len(line)-1], line.At(float64(l.g.LengthM[e])-headingM)
	}
	if d := a.DistanceM(b); d > 0 {
		return b.Sub(a).Mul(1 / d)
	}
	return plane.Point{}
}

// straightest is the arc that goes on most nearly straight from the head of arc,
// -1 where the way ends.
func (l *looker) straightest(arc int32) int32 {
	twin := l.g.Star.Twin[arc]
	came := l.heading(twin)
	best, least := int32(-1), math.Inf(1)
	v := l.g.Star.Head[arc]
	for a := l.g.Star.First[v]; a < l.g.Star.First[v+1]; a++ {
		if a == twin {
			continue
		}
		if turn := came.Dot(l.heading(a)); turn < least {
			best, least = a, turn
		}
	}
	return best
}

// from is the sight in metres at a place along the extended line.
func (l *looker) from(alongM float64) float64 {
	c := cursor{line: l.line}
	eye, _ := c.at(alongM)
	end := l.line.LengthM()
	l.ahead = l.ahead[:0]
	for d := sightStepM; d <= SightCapM && alongM+d <= end; d += sightStepM {
		p, _ := c.at(alongM + d)
		l.ahead = append(l.ahead, p)
	}
	return l.march(eye)
}

// march is how far the places ahead are seen without a gap, in metres: to the
// middle of the step that ends at the first hidden one.
func (l *looker) march(eye plane.Point) float64 {
	first := l.straightRun(eye)
	if first > 0 && !l.t.lines.Visible(eye, l.ahead[first-1], stopsView) {
		first = 0
	}
	for i := first; i < len(l.ahead); i++ {
		if !l.t.lines.Visible(eye, l.ahead[i], stopsView) {
			return (float64(i) + 0.5) * sightStepM
		}
	}
	return SightCapM
}

// straightRun is the number of places ahead that lie on one straight line with the
// eye.
func (l *looker) straightRun(eye plane.Point) int {
	n := 0
	for n < len(l.ahead) && l.chordHolds(eye, n) {
		n++
	}
	return n
}

// chordHolds tells whether the places before the n-th stray at most straightM from
// the straight line to it. Looking at every fourth is enough at this spacing.
func (l *looker) chordHolds(eye plane.Point, n int) bool {
	to := l.ahead[n]
	for i := n - 1; i >= 0; i -= 4 {
		q, _ := plane.NearestOnSegment(l.ahead[i], eye, to)
		if l.ahead[i].DistanceM(q) > straightM {
			return false
		}
	}
	return true
}
