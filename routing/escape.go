package routing

import (
	"math"
	"math/bits"

	"wideberth/osmdata/plane"
)

// escape is the search for a way out on one net.
type escape struct {
	p         *Planner
	net       *wayNet
	threat    Threat
	start     plane.Point
	needM     float64
	presentM  float64
	scenarios []scenario

	pace   float64
	floorM float64 // distance that must not be fallen below
	labels []escapeLabel
	at     [][]int32 // by vertex: its labels
	bySec  [wayOutHorizonS + 1][]int32
}

// escapeLabel is a partial way out. Sets are bits by scenario.
type escapeLabel struct {
	vertex, parent int32
	arc            int32
	atS            float64
	alive, done    uint8
	hiddenS        [mostScenarios]uint8 // seconds out of sight, up to now
	nearestM       float64
}

// best tries to keep as much of the present distance as can be kept.
func (e *escape) best(pace float64) WayOut {
	e.pace = pace
	for _, kept := range keptShares {
		e.floorM = kept * e.presentM
		if out, ok := e.search(); ok {
			out.Kept = kept
			return out
		}
	}
	// Nothing reaches the distance: stand as far aside as the ground allows.
	e.floorM = 0
	e.reset()
	root := e.root()
	out := e.result(root, 0, 0)
	out.Means, out.Seconds, out.Kept = StepAside, wayOutHorizonS, 0
	if a, ok := e.farthestAside(root); ok {
		out.Aside, out.AsideM, out.NearestM = a.side, a.m, a.nearestM
		out.Kept = a.nearestM / math.Max(e.presentM, 1e-9)
	}
	return out
}

func (e *escape) reset() {
	e.labels = e.labels[:0]
	if e.at == nil {
		e.at = make([][]int32, len(e.net.at))
	}
	for v := range e.at {
		e.at[v] = e.at[v][:0]
	}
	for i := range e.bySec {
		e.bySec[i] = e.bySec[i][:0]
	}
}

func (e *escape) root() *escapeLabel {
	l := escapeLabel{parent: -1, arc: -1, alive: uint8(1<<len(e.scenarios) - 1), nearestM: e.presentM}
	e.labels = append(e.labels, l)
	return &e.labels[0]
}

// search looks for the quickest way out that keeps the floor, by label setting in
// order of time.
func (e *escape) search() (WayOut, bool) {
	e.reset()
	root := *e.root()
	e.look(&root, e.start, 0, 0)
	e.labels[0] = root
	if e.chance(root.alive&root.done) >= wayOutCertain {
		return e.result(&e.labels[0], 0, 0), true
	}
	e.bySec[0] = append(e.bySec[0], 0)
	var best WayOut
	found := false
	for s := range e.bySec {
		for k := 0; k < len(e.bySec[s]); k++ {
			i := e.bySec[s][k]
			if e.chance(e.labels[i].alive&e.labels[i].done) >= wayOutCertain {
				if !found || e.labels[i].atS < best.Seconds {
					return e.result(&e.labels[i], 0, 0), true
				}
				return best, true
			}
			if found && e.labels[i].atS >= best.Seconds {
				return best, true
			}
			if e.labels[i].atS <= asideUntilS {
				if out, ok := e.asides(i); ok && (!found || out.Seconds < best.Seconds) {
					best, found = out, true
				}
			}
			e.expand(i)
		}
	}
	return best, found
}

// expand walks every arc out of a label's vertex.
func (e *escape) expand(i int32) {
	v := e.labels[i].vertex
	for a := e.net.first[v]; a < e.net.first[v+1]; a++ {
		l := e.labels[i]
		l.parent, l.arc = i, a
		from, to := e.net.at[v], e.net.at[e.net.head[a]]
		took := from.DistanceM(to) / e.pace
		end := l.atS + took
		if end > wayOutHorizonS {
			continue
		}
		for s := math.Min(substepS, took); ; s = math.Min(s+substepS, took) {
			e.look(&l, from.Add(to.Sub(from).Mul(s/math.Max(took, 1e-9))), l.atS+s, math.Min(substepS, took))
			if s >= took || l.alive == 0 {
				break
			}
		}
		l.vertex, l.atS = e.net.head[a], end
		if e.chance(l.alive) >= wayOutCertain && !e.dominated(&l) {
			e.add(&l)
		}
	}
}

func (e *escape) add(l *escapeLabel) {
	i := int32(len(e.labels))
	e.labels = append(e.labels, *l)
	e.at[l.vertex] = append(e.at[l.vertex], i)
	e.bySec[int(l.atS)] = append(e.bySec[int(l.atS)], i)
}

func (e *escape) dominated(l *escapeLabel) bool {
	for _, j := range e.at[l.vertex] {
		o := &e.labels[j]
		if o.atS <= l.atS && o.alive&l.alive == l.alive && o.done&l.done == l.done {
			return true
		}
	}
	return len(e.at[l.vertex]) >= labelsPerNode
}

// look updates a label for being at a place at a time, sinceS after the last look.
func (e *escape) look(l *escapeLabel, me plane.Point, atS, sinceS float64) {
	sec := min(int(math.Round(atS)), wayOutHorizonS)
	for i := range e.scenarios {
		bit := uint8(1) << i
		if l.alive&bit == 0 || l.done&bit != 0 {
			continue
		}
		other := e.scenarios[i].at[sec]
		d := me.DistanceM(other)
		if d >= e.needM {
			l.done |= bit
			continue
		}
		if !e.p.snap.Ground.Visible(me, other) {
			if l.hiddenS[i] += uint8(math.Ceil(sinceS)); l.hiddenS[i] >= hiddenForS {
				l.done |= bit
			}
			continue
		}
		l.hiddenS[i] = 0
		l.nearestM = math.Min(l.nearestM, d)
		if d < e.floorM-1e-9 {
			l.alive &^= bit
		}
	}
}

func (e *escape) chance(set uint8) (sum float64) {
	all := 0.0
	for i := range e.scenarios {
		all += e.scenarios[i].chance
		if set&(1<<i) != 0 {
			sum += e.scenarios[i].chance
		}
	}
	return sum / math.Max(all, 1e-9)
}

// aside is a step off the line and what comes of waiting there.
type aside struct {
	side     string
	m        float64
	nearestM float64
	l        escapeLabel
}

// asides tries both sides at a label's vertex.
func (e *escape) asides(i int32) (best WayOut, found bool) {
	for _, side := range [2]string{"left", "right"} {
		a, ok := e.step(&e.labels[i], side)
		if !ok || e.chance(a.l.alive&a.l.done) < wayOutCertain {
			continue
		}
		if !found || a.l.atS < best.Seconds {
			out := e.result(&e.labels[i], a.l.atS, a.m)
			out.Aside, out.NearestM, out.Seconds, out.Chance = side, a.l.nearestM, a.l.atS, e.chance(a.l.alive&a.l.done)
			out.Means = StepAside
			best, found = out, true
		}
	}
	return best, found
}

// step walks aside from a label's vertex and waits.
func (e *escape) step(l *escapeLabel, side string) (aside, bool) {
	v := l.vertex
	if e.net.first[v] == e.net.first[v+1] {
		return aside{}, false
	}
	arc := e.net.first[v]
	if l.arc >= 0 {
		arc = l.arc
	}
	f := e.p.snap.Field
	room := f.Left[e.net.edge[arc]].LowM
	if (side == "right") == e.net.with[arc] {
		room = f.Right[e.net.edge[arc]].LowM
	}
	m := math.Min(float64(room), mostAsideM)
	d := e.net.at[e.net.head[arc]].Sub(e.net.at[v])
	if l.arc >= 0 {
		d = e.net.at[v].Sub(e.net.at[e.labels[l.parent].vertex])
	}
	if m < 1 || d.NormM() == 0 {
		return aside{}, false
	}
	n := plane.Point{X: -d.Y, Y: d.X}.Mul(1 / d.NormM())
	if side == "right" {
		n = n.Mul(-1)
	}
	out := aside{side: side, m: m, l: *l}
	for t := l.atS + substepS; t <= wayOutHorizonS && out.l.alive != 0; t += substepS {
		gone := math.Min(m, (t-l.atS)*sideStepMPS)
		e.look(&out.l, e.net.at[v].Add(n.Mul(gone)), t, substepS)
		out.l.atS = t
		if e.chance(out.l.alive&out.l.done) >= wayOutCertain {
			break
		}
	}
	out.nearestM = out.l.nearestM
	return out, true
}

// farthestAside is the side that keeps the threat farthest off.
func (e *escape) farthestAside(l *escapeLabel) (best aside, ok bool) {
	for _, side := range [2]string{"left", "right"} {
		if a, can := e.step(l, side); can && (!ok || a.nearestM > best.nearestM) {
			best, ok = a, true
		}
	}
	return best, ok
}

// result tells a label as a way out.
func (e *escape) result(l *escapeLabel, seconds, asideM float64) WayOut {
	out := WayOut{PaceMPS: e.pace, PresentM: e.presentM, NearestM: l.nearestM, Seconds: l.atS, AsideM: asideM, Chance: e.chance(l.alive & l.done)}
	out.Seconds = math.Max(out.Seconds, seconds)
	for k := l; ; k = &e.labels[k.parent] {
		out.Line = append(plane.Polyline{e.net.at[k.vertex]}, out.Line...)
		if k.parent < 0 {
			break
		}
	}
	end := out.Line[len(out.Line)-1]
	likely := 0
	for i := range e.scenarios {
		if e.scenarios[i].chance > e.scenarios[likely].chance {
			likely = i
		}
	}
	other := e.scenarios[likely].at[min(int(out.Seconds), wayOutHorizonS)]
	out.EndsM, out.Hidden = end.DistanceM(other), !e.p.snap.Ground.Visible(end, other)
	out.Turn, out.Means = e.told(out.Line, out.Hidden)
	if bits.OnesCount8(l.done) > 0 && len(out.Line) == 1 && asideM == 0 {
		out.Means, out.Turn = Stay, TurnStraight
	}
	return out
}

// told names the first move of a way, for somebody who faces the threat, and what
// the way rests on.
func (e *escape) told(line plane.Polyline, hidden bool) (Turn, Means) {
	if len(line) < 2 {
		return TurnStraight, StepAside
	}
	facing := e.threat.At.Sub(e.start)
	first := line[1].Sub(line[0])
	turn := turnAngle(math.Atan2(facing.Y, facing.X), math.Atan2(first.Y, first.X))
	last := line[len(line)-1].Sub(line[len(line)-2])
	bend := math.Abs(turnAngle(math.Atan2(first.Y, first.X), math.Atan2(last.Y, last.X)))
	means := GoBack
	switch {
	case hidden && (bend > math.Pi/4 || math.Abs(turn) < 3*math.Pi/4):
		means = SideStreet
	case math.Abs(turn) < math.Pi/3:
		means = WalkOn
	}
	switch {
	case math.Abs(turn) > 3*math.Pi/4:
		return TurnBack, means
	case turn > math.Pi/4:
		return TurnLeft, means
	case turn < -math.Pi/4:
		return TurnRight, means
	}
	return TurnStraight, means
}
