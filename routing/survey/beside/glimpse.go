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

// joint is a place where pieces meet.
type joint struct {
	at   plane.Point
	arms []arm
	ways []plane.Point // unit vectors in which arms leave, each once
	edge int32         // of all its arms, -1 if they are of several
}

// arm is a piece at a joint.
type arm struct {
	out      plane.Point // unit vector in which it leaves
	flow     int32       // index into flows
	edge     int32
	way      int32 // index into ways: a street's arms in several networks are one way
	straight int32 // the way that goes on straightest from it
}

// arm is the piece as an arm that leaves in a direction.
func (p *streamPiece) arm(out plane.Point) arm { return arm{out: out, flow: p.flow, edge: p.edge} }

// leave notes that a line ends at a place.
func (s *Streams) leave(at plane.Point, a arm) {
	if s.ends == nil {
		s.ends = map[plane.Point]int32{}
	}
	i, ok := s.ends[at]
	if !ok {
		i = int32(len(s.joint))
		s.ends[at] = i
		s.joint = append(s.joint, joint{at: at})
	}
	s.joint[i].arms = append(s.joint[i].arms, a)
}

// bend notes that a line bends at a place, if it does so sharply enough.
func (s *Streams) bend(at plane.Point, in, out arm) {
	if in.out.Dot(out.out) > -bendCosine {
		s.joint = append(s.joint, joint{at: at, arms: []arm{in, out}, edge: -1})
	}
}

// sealJoints finds out where the arms of the joints go on to, and makes their
// index.
func (s *Streams) sealJoints() {
	points := make([]plane.Segment, len(s.joint))
	for i := range s.joint {
		j := &s.joint[i]
		j.settle()
		points[i] = plane.Segment{A: j.at, B: j.at}
		if len(j.ways) > 2 || len(j.ways) == 2 && j.ways[0].Dot(j.ways[1]) > -bendCosine {
			points[i].Mask = 1
		}
	}
	s.joints = plane.NewIndex(points, StreamCellM)
}

// settle finds the ways of the arms, the straightest for each, and whether all are of one
// edge.
func (j *joint) settle() {
	j.edge = j.arms[0].edge
	for a := range j.arms {
		m := &j.arms[a]
		if m.edge != j.edge {
			j.edge = -1
		}
		k := slices.IndexFunc(j.ways, func(w plane.Point) bool { return w.Dot(m.out) > 1-oneWay })
		if k < 0 {
			k = len(j.ways)
			j.ways = append(j.ways, m.out)
		}
		m.way = int32(k)
	}
	for a := range j.arms {
		least := math.Inf(1)
		for b := range j.ways {
			if c := j.arms[a].out.Dot(j.ways[b]); b != int(j.arms[a].way) && c < least {
				least, j.arms[a].straight = c, int32(b)
			}
		}
	}
}

// goesOn is the share of the parties that come in by arm a which leave by way b.
func (j *joint) goesOn(a, b int) float64 {
	switch {
	case len(j.ways) == 2:
		return 1
	case int(j.arms[a].straight) == b:
		return straightOn
	}
	return (1 - straightOn) / float64(len(j.ways)-2)
}

// mark is a place on another way.
type mark struct {
	at     plane.Point
	inside bool // within glimpseM
	seen   bool
}

// glimpses adds the parties that are nearest to the sample where they turn off, or
// where they come into sight or go out of it. weightM is the run that the sample
// stands for.
func (n *nearer) glimpses(s *sample, e int32, weightM float64, open bool) {
	for _, i := range n.turns {
		if j := &n.st.joint[i]; j.edge != e && within(s.At, j.at, glimpseM) {
			n.turnOff(s, j, weightM, open)
		}
	}
	if open {
		return
	}
	var before mark
	for _, k := range n.found {
		p := &n.st.pieces[k]
		if !p.goesOn {
			before = mark{}
		}
		runs := max(1, math.Round(p.lenM/markM))
		for i := range int(runs) {
			m := mark{at: p.a.Add(p.t.Mul((float64(i) + .5) * p.lenM / runs))}
			m.inside = within(s.At, m.at, glimpseM)
			m.seen = m.inside && n.t.lines.Visible(s.At, m.at, stopsView)
			if m.inside && before.inside && m.seen != before.seen {
				n.shadow(s, p, before, m, weightM)
			}
			before = m
		}
	}
}

// within tells whether two points are at most so far apart, without a root.
func within(a, b plane.Point, m float64) bool {
	d := a.Sub(b)
	return d.Dot(d) <= m*m
}

// turnOff adds the parties that come nearer until the joint and go away after it.
// They pass the joint at the rate of half the flow of the arm they come by.
func (n *nearer) turnOff(s *sample, j *joint, weightM float64, open bool) {
	r := j.at.Sub(s.At)
	d := r.NormM()
	nearing := exposure.StoredWalkerMPS * r.Dot(s.dir)
	for a := range j.arms {
		in := -r.Dot(j.arms[a].out)
		for _, sf := range n.st.flows[j.arms[a].flow] {
			if sf.speedMPS*in >= nearing {
				continue
			}
			away := 0.0
			for b := range j.ways {
				if b != int(j.arms[a].way) && sf.speedMPS*r.Dot(j.ways[b]) > nearing {
					away += j.goesOn(a, b)
				}
			}
			if away == 0 {
				continue
			}
			if !open && !n.t.lines.Visible(s.At, j.at, stopsView) {
				return
			}
			open = true
			n.count(sf, weightM*away, exposure.At(d))
		}
	}
}

// count adds parties of the streams of one speed, by the metres of the walk and how
// many there are for each of one direction.
func (n *nearer) count(sf speedFlow, weight float64, at exposure.Approach) {
	for _, f := range sf.of {
		n.bins[f.pattern].Add(weight*f.halfPS, at)
	}
}

// shadow adds the parties that are nearest where they pass the edge of what a
// corner hides, between two marks of a piece of which one is seen. With h the
// distance to the corner, D that to the way, and n the unit vector square to the
// line of sight, the shadow's edge moves along the way with unit direction t at
//
//	s = -(v.n) (D - h) / h / (t.n)
//
// while the walker moves at v, so that parties of speed u and flow q/2 pass it at
// the rate (q/2) |u - s| / u. From the geometry of similar triangles.
func (n *nearer) shadow(s *sample, p *streamPiece, from, to mark, weightM float64) {
	hidden, into := to, 1.0
	if to.seen {
		hidden, into = from, -1
	}
	hit, ok := n.t.lines.FirstHit(s.At, hidden.at, stopsView)
	if !ok {
		return
	}
	at := from.at.Add(to.at).Mul(.5)
	r := at.Sub(s.At)
	d := max(leastCornerM, r.NormM())
	v := s.dir.Mul(exposure.StoredWalkerMPS)
	square := plane.Point{X: -r.Y / d, Y: r.X / d}
	across := p.t.Dot(square)
	across = math.Copysign(max(math.Abs(across), leastAcross), across)
	h := max(leastCornerM, min(hit.DistM, d))
	seen := exposure.At(d)
	moves := -v.Dot(square) * (d - h) / h / across
	for _, sf := range n.st.flows[p.flow] {
		for _, u := range [2]float64{sf.speedMPS, -sf.speedMPS} {
			party := p.t.Mul(u)
			lost := (u-moves)*into > 0
			nearing := r.Dot(party.Sub(v)) < 0
			if lost == nearing && !n.seenAgain(s.At, v, at, party, lost) {
				n.count(sf, weightM*math.Abs(u-moves)/sf.speedMPS, seen)
			}
		}
	}
}

// seenAgain tells whether two that go straight on see each other again within the
// dead time, or have seen each other so short a time ago: then it is one encounter
// whose nearest moment is another.
func (n *nearer) seenAgain(a, va, b, vb plane.Point, later bool) bool {
	for k := 1; k*lookAgainS <= exposure.DeadTimeS; k++ {
		tau := float64(k) * lookAgainS
		if !later {
			tau = -tau
		}
		if n.t.lines.Visible(a.Add(va.Mul(tau)), b.Add(vb.Mul(tau)), stopsView) {
			return true
		}
	}
	return false
}
