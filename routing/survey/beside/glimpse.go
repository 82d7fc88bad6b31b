package beside

import (
	"math"
	"slices"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
)

// Not every party is nearest where it would be if both went straight on. It turns
// off at a junction, or goes behind a house, and has been nearest at that moment;
// or it comes from there and is nearest when it appears. Among houses that is most
// of what is met beyond 30 m. Both have a local rate, and both add up over
// streams, so that more movers never make less of it.
const (
	// glimpseM is how far in metres such parties count: looking for them as far as
	// streams would add 0.8 to 2.2 % to X for a working distance of 80 m.
	glimpseM = 110.0
	// markM is the spacing of the places on other ways that are looked at.
	markM = 10.0
	// straightOn is the share of the parties at a junction that go on along the
	// straightest arm; the others take any other arm alike. Our assumption, of the
	// values tried (1/2, 3/4, 4/5) one that simulated tours and trips agree with.
	straightOn = 0.75
	// bendCosine is the cosine of the least bend that counts, about 14 degrees.
	bendCosine = 0.97
	// oneWay is how far the cosine of two arms may lie from 1 where they are one way.
	oneWay = 1e-6
	// leastAcross bounds from below the cosine between a way and the square to the
	// line of sight: a shadow that runs along a way would pass it at once.
	leastAcross = 0.1
	// leastCornerM is the least distance in metres to the corner that hides.
	leastCornerM = 1.0
	// lookAgainS is the spacing in seconds of the looks of seenAgain.
	lookAgainS = 5.0
)

// joint is a place where lanes meet.
type joint struct {
	at    plane.Point
	edge  int32  // of all its lanes, -1 if they are of several
	paces uint32 // of all its ways
	ways  []way
	each  float64 // the share of the parties that turn off into each way but the straightest
}

// way is a direction in which lanes leave a joint: a street's in several networks are one.
type way struct {
	out      plane.Point // unit vector
	flow     int32       // of all its lanes together, index into flows
	straight int32       // the way that goes on straightest from it
	paces    uint32
}

// arm is a lane at a joint.
type arm struct {
	out   plane.Point // unit vector in which it leaves
	joint int32
	flow  int32 // index into flows
	edge  int32
}

// arm notes that a lane leaves a joint in a direction.
func (s *Streams) arm(joint int32, l *lane, out plane.Point) {
	s.arms = append(s.arms, arm{out, joint, l.flow, l.edge})
}

// leave notes that a lane leaves the end of its line.
func (s *Streams) leave(at plane.Point, l *lane, out plane.Point) {
	if s.ends == nil {
		s.ends = map[plane.Point]int32{}
	}
	i, known := s.ends[at]
	if !known {
		i = int32(len(s.joint))
		s.ends[at] = i
		s.joint = append(s.joint, joint{at: at})
	}
	s.arm(i, l, out)
}

// bend notes that a line bends at a place, if it does so sharply enough.
func (s *Streams) bend(at plane.Point, l *lane, back, on plane.Point) {
	if back.Dot(on) > -bendCosine {
		i := int32(len(s.joint))
		s.joint = append(s.joint, joint{at: at})
		s.arm(i, l, back)
		s.arm(i, l, on)
	}
}

// sealJoints finds out where the ways of the joints go on to, and makes their index.
func (s *Streams) sealJoints() {
	points := make([]plane.Segment, len(s.joint))
	at, of := grouped(len(s.joint), len(s.arms), func(i int32) int32 { return s.arms[i].joint })
	for i := range s.joint {
		j := &s.joint[i]
		s.settle(j, of[at[i]:at[i+1]])
		points[i] = plane.Segment{A: j.at, B: j.at}
		if len(j.ways) > 2 || len(j.ways) == 2 && j.ways[0].out.Dot(j.ways[1].out) > -bendCosine {
			points[i].Mask = 1
		}
	}
	s.joints = plane.NewIndex(points, StreamCellM)
	s.arms, s.ends = nil, nil
}

// settle finds the ways of a joint's arms, the straightest for each, and whether all are
// of one edge.
func (s *Streams) settle(j *joint, arms []int32) {
	j.edge = s.arms[arms[0]].edge
	var flows [][]int32
	for _, i := range arms {
		a := &s.arms[i]
		if a.edge != j.edge {
			j.edge = -1
		}
		k := slices.IndexFunc(j.ways, func(w way) bool { return w.out.Dot(a.out) > 1-oneWay })
		if k < 0 {
			k = len(j.ways)
			j.ways = append(j.ways, way{out: a.out})
			flows = append(flows, nil)
		}
		flows[k] = append(flows[k], a.flow)
	}
	j.each = (1 - straightOn) / float64(max(1, len(j.ways)-2))
	for a := range j.ways {
		w, least := &j.ways[a], math.Inf(1)
		w.flow = s.sum(flows[a])
		w.paces = s.flows[w.flow].paces
		j.paces |= w.paces
		for b := range j.ways {
			if c := w.out.Dot(j.ways[b].out); b != a && c < least {
				least, w.straight = c, int32(b)
			}
		}
	}
}

// away is the share of the parties that come in by one way which leave by some of the
// others: how many there are, and whether the straightest is among them.
func (j *joint) away(others int, straight bool) float64 {
	switch {
	case len(j.ways) == 2:
		return float64(others)
	case straight:
		return straightOn + float64(others-1)*j.each
	}
	return float64(others) * j.each
}

// sight is what is known of a mark.
type sight uint8

const (
	beyond sight = iota // farther than glimpseM
	outOfSight
	inSight
)

// link is where a lane goes on from another: the marks on both sides of the point are
// neighbours as those of one strip are.
type link struct {
	from, to         int32 // indexes into near
	fromHead, toTail bool  // the marks are the first of from, the last of to
	flow             int32
}

// link lists the links among the strips in reach, if there is anything to hide behind.
func (n *nearer) link() {
	n.links = n.links[:0]
	if len(n.walls) == 0 {
		return
	}
	for to := range n.near {
		for _, k := range n.st.lanesOf(n.near[to].strip) {
			l := &n.st.lanes[k]
			if !l.goesOn {
				continue
			}
			before := &n.st.lanes[k-1]
			if from := n.nearOf[before.strip]; from >= 0 && !n.own.is(l) && !n.own.is(before) {
				n.links = append(n.links, link{from, int32(to), before.back, l.back, l.flow})
			}
		}
	}
}

// turn is a joint in reach of a run of samples.
type turn struct {
	at    plane.Point
	joint *joint
}

// turn lists the joints about a box, but for those of one edge itself.
func (n *nearer) turn(e int32, box plane.Box) {
	n.joints, n.turns = n.st.joints.InBox(box, 1, n.joints[:0]), n.turns[:0]
	for _, i := range n.joints {
		if j := &n.st.joint[i]; j.edge != e {
			n.turns = append(n.turns, turn{j.at, j})
		}
	}
}

// glimpsedM is the run that a sample stands for when glimpses are looked for.
func glimpsedM(run []sample, i int) float64 {
	if i+1 < len(run) {
		return run[i].WeightM + run[i+1].WeightM
	}
	return run[i].WeightM
}

// glimpses adds the parties that are nearest to the sample, where the eye is, where
// they turn off, or where they come into sight or go out of it. weightM is the run
// that the sample stands for.
func (n *nearer) glimpses(s *sample, weightM float64) {
	for i := range n.turns {
		if t := &n.turns[i]; within(s.At, t.at, glimpseM) {
			n.turnOff(s, t.joint, weightM)
		}
	}
	if n.eye.NearestM2() > glimpseM*glimpseM {
		return
	}
	for k := range n.near {
		p := &n.near[k]
		p.head, p.tail = beyond, beyond
		if r, reachM := p.mid.Sub(s.At), glimpseM+p.halfM; r.Dot(r) <= reachM*reachM {
			n.lookAlong(s, p, r, weightM)
		}
	}
	for i := range n.links {
		l := &n.links[i]
		from, to := &n.near[l.from], &n.near[l.to]
		a, b := from.tail, to.head
		if l.fromHead {
			a = from.head
		}
		if l.toTail {
			b = to.tail
		}
		if a != beyond && b != beyond && a != b {
			n.shadowOf(s, l, b == inSight, weightM)
		}
	}
}

// shadowOf adds the parties of a link's lane.
func (n *nearer) shadowOf(s *sample, l *link, second bool, weightM float64) {
	from, to := &n.near[l.from], &n.near[l.to]
	at := from.mark(float64(from.marks-1), from.spacingM())
	if l.fromHead {
		at = from.mark(0, from.spacingM())
	}
	t, next := to.t, to.mark(0, to.spacingM())
	if l.toTail {
		t, next = t.Mul(-1), to.mark(float64(to.marks-1), to.spacingM())
	}
	n.shadow(s, t, at, next, second, &n.st.flows[l.flow], weightM)
}

// spacingM is that of the marks of a strip, in metres.
func (p *nearby) spacingM() float64 { return 2 * p.halfM / float64(p.marks) }

// mark is the i-th of the marks.
func (p *nearby) mark(i, spacingM float64) plane.Point {
	return p.mid.Add(p.t.Mul((i+.5)*spacingM - p.halfM))
}

// lookAlong looks at the marks of a strip, whose middle lies r from the sample, one after
// the other.
func (n *nearer) lookAlong(s *sample, p *nearby, r plane.Point, weightM float64) {
	along := r.Dot(p.t)
	// The marks within glimpseM are neighbours: which they may be.
	half2 := glimpseM*glimpseM + along*along - r.Dot(r)
	if !(half2 > -1) {
		return
	}
	half := math.Sqrt(max(0, half2)) + 1e-3
	count, spacingM := float64(p.marks), p.spacingM()
	lo := max(0, math.Ceil((p.halfM-along-half)/spacingM-.5))
	hi := min(count-1, math.Floor((p.halfM-along+half)/spacingM-.5))
	before, last := beyond, plane.Point{}
	for i := lo; i <= hi; i++ {
		at, is := p.mark(i, spacingM), beyond
		if within(s.At, at, glimpseM) {
			is = outOfSight
			if n.eye.Sees(at) {
				is = inSight
			}
			if before != beyond && is != before {
				n.shadow(s, p.t, last, at, is == inSight, p.flow, weightM)
			}
		}
		if i == 0 {
			p.head = is
		}
		if i == count-1 {
			p.tail = is
		}
		before, last = is, at
	}
}

// within tells whether two points are at most so far apart, without a root.
func within(a, b plane.Point, m float64) bool {
	d := a.Sub(b)
	return d.Dot(d) <= m*m
}

// turnOff adds the parties that come nearer until the joint and go away after it.
// They pass the joint at the rate of half the flow of the arm they come by.
func (n *nearer) turnOff(s *sample, j *joint, weightM float64) {
	r := j.at.Sub(s.At)
	nearing := exposure.StoredWalkerMPS * r.Dot(s.dir)
	n.dots = n.dots[:0]
	most := math.Inf(-1)
	for a := range j.ways {
		out := r.Dot(j.ways[a].out)
		n.dots, most = append(n.dots, out), max(most, out)
	}
	looked, at := false, exposure.Approach{}
	for m := j.paces; m != 0; m &= m - 1 {
		k := first(m)
		u := paces[k].speedMPS
		if u*most <= nearing {
			continue
		}
		leaving := 0
		for _, out := range n.dots {
			if u*out > nearing {
				leaving++
			}
		}
		for a := range j.ways {
			w, out := &j.ways[a], u*n.dots[a]
			if w.paces>>k&1 == 0 || -out >= nearing {
				continue
			}
			others := leaving
			if out > nearing {
				others--
			}
			if others == 0 {
				continue
			}
			if !looked {
				if !n.eye.Sees(j.at) {
					return
				}
				looked, at = true, exposure.AtSquare(r.Dot(r))
			}
			n.count(&paces[k], &n.st.flows[w.flow], weightM*j.away(others, u*n.dots[w.straight] > nearing), at)
		}
	}
}

// shadow adds the parties of a flow that are nearest where they pass the edge of what a
// corner hides, between two neighbouring marks of which the first or the second is
// seen, on a way along the unit vector t. With h the
// distance to the corner, D that to the way, and n the unit vector square to the
// line of sight, the shadow's edge moves along the way with unit direction t at
//
//	s = -(v.n) (D - h) / h / (t.n)
//
// while the walker moves at v, so that parties of speed u and flow q/2 pass it at
// the rate (q/2) |u - s| / u. From the geometry of similar triangles.
func (n *nearer) shadow(s *sample, t, from, to plane.Point, second bool, f *flow, weightM float64) {
	hidden, into := to, 1.0
	if second {
		hidden, into = from, -1
	}
	hit, ok := n.t.lines.FirstHit(s.At, hidden, stopsView)
	if !ok {
		return
	}
	at := from.Add(to).Mul(.5)
	r := at.Sub(s.At)
	d := max(leastCornerM, r.NormM())
	v := s.dir.Mul(exposure.StoredWalkerMPS)
	square := plane.Point{X: -r.Y / d, Y: r.X / d}
	across := t.Dot(square)
	across = math.Copysign(max(math.Abs(across), leastAcross), across)
	h := max(leastCornerM, min(hit.DistM, d))
	nearest := exposure.At(d)
	moves := -v.Dot(square) * (d - h) / h / across
	for m := f.paces; m != 0; m &= m - 1 {
		pace := &paces[first(m)]
		for _, u := range [2]float64{pace.speedMPS, -pace.speedMPS} {
			party := t.Mul(u)
			lost := (u-moves)*into > 0
			nearing := r.Dot(party.Sub(v)) < 0
			if lost == nearing && !n.seenAgain(s.At, v, at, party, lost, hit.Segment) {
				n.count(pace, f, weightM*math.Abs(u-moves)/pace.speedMPS, nearest)
			}
		}
	}
}

// seenAgain tells whether two that go straight on see each other again within the
// dead time, or have seen each other so short a time ago: then it is one encounter
// whose nearest moment is another. What hides them now is tried first.
func (n *nearer) seenAgain(a, va, b, vb plane.Point, later bool, hides int32) bool {
	for k := 1; k*lookAgainS <= exposure.DeadTimeS; k++ {
		tau := float64(k) * lookAgainS
		if !later {
			tau = -tau
		}
		from, to := a.Add(va.Mul(tau)), b.Add(vb.Mul(tau))
		if !n.t.lines.Meets(hides, from, to) && n.t.lines.Visible(from, to, stopsView) {
			return true
		}
	}
	return false
}
