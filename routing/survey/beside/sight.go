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
	g       *network.Graph
	t       *Terrain
	s       Sampler
	line    plane.Polyline // the edge with what continues it
	lengthM float64        // of that
	views   []view         // from the samples along it
	ahead   []plane.Point  // of all views
	walls   plane.Eye
	seen    []weighted
}

// view is what is looked at from a place along the line.
type view struct {
	eye      plane.Point
	from, to int     // the places ahead are those of looker.ahead
	sure     int     // so many of them are known to be in sight
	weightM  float64 // length that the place stands for
	sightM   float64
}

// sightShare is the share of an edge that has no more sight than it is said to have.
const sightShare = 0.1

// edge measures one edge.
func (l *looker) edge(e int32) (fwd, back float32) {
	if !l.t.lines.Any(l.g.EdgeLine(e).Box().Grown(SightCapM), stopsView) {
		return SightCapM, SightCapM
	}
	all := l.s.Samples(e)
	length := float64(l.g.LengthM[e])
	l.begin(l.g.EdgeArc[e])
	c := cursor{line: l.line}
	for i := range all {
		l.add(&c, all[i].alongM, all[i].WeightM)
	}
	fwd = float32(l.decile())
	l.begin(l.g.Star.Twin[l.g.EdgeArc[e]])
	c = cursor{line: l.line}
	for i := len(all) - 1; i >= 0; i-- {
		l.add(&c, length-all[i].alongM, all[i].WeightM)
	}
	return fwd, float32(l.decile())
}

// begin lays out the line of an arc, with no views yet.
func (l *looker) begin(arc int32) {
	l.line = l.extend(l.line, arc)
	l.lengthM = l.line.LengthM()
	l.views, l.ahead = l.views[:0], l.ahead[:0]
}

// decile is the lower decile of the sight from all views, by length.
func (l *looker) decile() float64 {
	l.march(sightShare)
	l.seen = l.seen[:0]
	for i := range l.views {
		l.seen = append(l.seen, weighted{l.views[i].sightM, l.views[i].weightM})
	}
	return quantile(l.seen, sightShare)
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

// add adds the view from a place along the extended line, to which the cursor goes on.
func (l *looker) add(c *cursor, alongM, weightM float64) {
	eye, _ := c.at(alongM)
	v := view{eye: eye, from: len(l.ahead), weightM: weightM, sightM: SightCapM}
	far, straight := *c, 0
	for d := sightStepM; d <= SightCapM && alongM+d <= l.lengthM; d += sightStepM {
		p, _ := far.at(alongM + d)
		if far.i == c.i {
			straight++ // on the piece that the eye is on
		}
		l.ahead = append(l.ahead, p)
	}
	v.to = len(l.ahead)
	if !l.t.lines.Any(plane.Polyline(l.ahead[v.from:]).Box().With(eye), stopsView) {
		l.ahead, v.to = l.ahead[:v.from], v.from
	}
	v.sure = l.straightRun(&v, straight)
	if v.sure > 0 && !l.t.lines.Visible(eye, l.ahead[v.from+v.sure-1], stopsView) {
		v.sure = 0
	}
	l.views = append(l.views, v)
}

// march finds how far the places ahead are seen without a gap from each view, in metres:
// to the middle of the step that ends at the first hidden one. Once so much of the length
// has less than what is looked at, the rest has more and is left at SightCapM. The first
// steps are looked at from all views in turn, which is enough where much stands in the way.
func (l *looker) march(share float64) {
	all, less := 0.0, 0.0
	for i := range l.views {
		all += l.views[i].weightM
	}
	enough := share * all * (1 + 1e-9) // sums of the same lengths in another order are as good
	for k := 0; k < stepsInTurn && less < enough; k++ {
		for i := range l.views {
			v := &l.views[i]
			if v.sightM == SightCapM && k >= v.sure && v.from+k < v.to && !l.t.lines.Visible(v.eye, l.ahead[v.from+k], stopsView) {
				v.hide(k)
				less += v.weightM
			}
		}
	}
	for i := range l.views {
		if v := &l.views[i]; less < enough && v.sightM == SightCapM {
			l.rest(v)
		}
	}
}

// stepsInTurn is how many steps are looked at from all views in turn.
const stepsInTurn = 4

// hide says that the k-th place ahead is the first that is hidden.
func (v *view) hide(k int) { v.sightM = (float64(k) + 0.5) * sightStepM }

// rest looks at all places ahead that are left, with what stands about them put up once.
func (l *looker) rest(v *view) {
	first := max(stepsInTurn, v.sure)
	if v.from+first >= v.to {
		return
	}
	about := plane.Polyline(l.ahead[v.from+first : v.to]).Box().With(v.eye)
	l.walls.Open(v.eye, 2*SightCapM)
	for listed := range l.t.lines.Listed(about, stopsView) {
		for _, i := range listed {
			if w := l.t.lines.Segment(i); w.Mask&stopsView != 0 && (plane.Polyline{w.A, w.B}).Box().Intersects(about) {
				l.walls.Wall(w.A, w.B)
			}
		}
	}
	for k := first; v.from+k < v.to; k++ {
		if !l.walls.Sees(l.ahead[v.from+k]) {
			v.hide(k)
			return
		}
	}
}

// straightRun is the number of places ahead that lie on one straight line with the
// eye; the first so many are known to.
func (l *looker) straightRun(v *view, known int) int {
	n := min(known, v.to-v.from)
	for v.from+n < v.to && chordHolds(v.eye, l.ahead[v.from:v.from+n+1]) {
		n++
	}
	return n
}

// chordHolds tells whether places stray at most straightM from the straight line to the
// last of them. Looking at every fourth is enough at this spacing.
func chordHolds(eye plane.Point, ahead []plane.Point) bool {
	to := ahead[len(ahead)-1]
	for i := len(ahead) - 2; i >= 0; i -= 4 {
		q, _ := plane.NearestOnSegment(ahead[i], eye, to)
		if ahead[i].DistanceM(q) > straightM {
			return false
		}
	}
	return true
}
