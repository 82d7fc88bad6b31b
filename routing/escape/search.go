package escape

import (
	"math"
	"math/bits"
	"slices"

	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/reach"
)

// flight is the search for a way out on one net.
type flight struct {
	land      *reach.Land
	net       *Net
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
	alive, done    uint16                 // the floor was never broken; it is clear of the threat
	clearS         [mostScenarios]float32 // since when it is clear, never if it is not
	nearestM       float64
}

// best tries to keep as much of the present distance as can be kept. What keeps
// more keeps less too, so the shares are halved, after the largest, which mostly
// works.
func (e *flight) best(pace float64) WayOut {
	e.pace = pace
	best, found := e.keeping(keptShares[0])
	lo, hi := 1, len(keptShares)
	for !found && lo < hi {
		mid := (lo + hi) / 2
		if out, ok := e.keeping(keptShares[mid]); ok {
			best, hi = out, mid
		} else {
			lo = mid + 1
		}
	}
	if !found && best.Means == "" {
		return e.lastResort()
	}
	return best
}

// keeping looks for a way out that keeps a share of the present distance.
func (e *flight) keeping(share float64) (WayOut, bool) {
	e.floorM = share * e.presentM
	out, ok := e.search()
	out.Kept = share
	return out, ok
}

// lastResort is what to do where nothing reaches the distance: stand where the
// threat passes farthest off.
func (e *flight) lastResort() WayOut {
	e.floorM = 0
	e.reset()
	root := e.root()
	best := e.step(root, "")
	for _, side := range [2]string{"left", "right"} {
		if a := e.step(root, side); a.l.nearestM > best.l.nearestM {
			best = a
		}
	}
	out := e.result(root, &best)
	out.Means, out.Seconds, out.Kept = StepAside, NoneInReach, best.l.nearestM/math.Max(e.presentM, 1e-9)
	return out
}

// never is the time of what has not happened.
const never = math.MaxFloat32

func (e *flight) reset() {
	e.labels = e.labels[:0]
	if e.at == nil {
		e.at = make([][]int32, len(e.net.At))
	}
	for v := range e.at {
		e.at[v] = e.at[v][:0]
	}
	for i := range e.bySec {
		e.bySec[i] = e.bySec[i][:0]
	}
}

func (e *flight) root() *escapeLabel {
	l := escapeLabel{parent: -1, arc: -1, alive: uint16(1<<len(e.scenarios) - 1), nearestM: e.presentM}
	for i := range l.clearS {
		l.clearS[i] = never
	}
	e.labels = append(e.labels, l)
	return &e.labels[0]
}

// search looks for the quickest way out that keeps the floor, by label setting in
// order of time.
func (e *flight) search() (WayOut, bool) {
	e.reset()
	e.look(e.root(), e.start, e.start, 0, 0)
	e.bySec[0] = append(e.bySec[0], 0)
	var best WayOut
	found := false
	for s := range e.bySec {
		for k := 0; k < len(e.bySec[s]); k++ {
			i := e.bySec[s][k]
			l := &e.labels[i]
			if found && l.atS >= best.Seconds {
				return best, true
			}
			if e.accepts(l) {
				return e.result(l, &aside{l: *l}), true
			}
			if l.atS <= asideUntilS && e.threat.SpeedMPS > 0 || l.parent < 0 {
				if out, ok := e.asides(l); ok && (!found || out.Seconds < best.Seconds) {
					best, found = out, true
				}
			}
			e.expand(i)
		}
	}
	return best, found
}

func (e *flight) accepts(l *escapeLabel) bool { return e.chance(l.alive&l.done) >= wayOutCertain }

// expand walks every arc out of a label's vertex.
func (e *flight) expand(i int32) {
	v := e.labels[i].vertex
	for a := e.net.First[v]; a < e.net.First[v+1]; a++ {
		l := e.labels[i]
		l.parent, l.arc, l.vertex = i, a, e.net.Head[a]
		from, to := e.net.At[v], e.net.At[l.vertex]
		took := from.DistanceM(to) / e.pace
		if l.atS += took; l.atS > wayOutHorizonS || e.closesIn(to, l.atS) {
			continue
		}
		e.pass(&l, from, to, l.atS-took, took)
		if e.chance(l.alive) >= wayOutCertain && !e.dominated(&l) {
			e.add(&l)
		}
	}
}

// closesIn says that a way begins by walking up to the threat, whatever share of
// the distance may be lost later.
func (e *flight) closesIn(to plane.Point, atS float64) bool {
	return atS <= firstMoveS && to.DistanceM(e.threat.At) < wayOutCertain*e.presentM
}

// pass walks a label straight from one place to another, looking on the way.
func (e *flight) pass(l *escapeLabel, from, to plane.Point, fromS, took float64) {
	n := max(1, int(math.Ceil(took/substepS)))
	at, s := from, fromS
	for k := 1; k <= n && l.alive != 0; k++ {
		share := float64(k) / float64(n)
		next, nextS := from.Add(to.Sub(from).Mul(share)), fromS+took*share
		e.look(l, at, next, s, nextS)
		at, s = next, nextS
	}
}

func (e *flight) add(l *escapeLabel) {
	i := int32(len(e.labels))
	e.labels = append(e.labels, *l)
	e.at[l.vertex] = append(e.at[l.vertex], i)
	e.bySec[int(l.atS)] = append(e.bySec[int(l.atS)], i)
}

func (e *flight) dominated(l *escapeLabel) bool {
	for _, j := range e.at[l.vertex] {
		o := &e.labels[j]
		if o.atS <= l.atS && o.alive&l.alive == l.alive && o.done&l.done == l.done {
			return true
		}
	}
	return len(e.at[l.vertex]) >= labelsPerNode
}

// look updates a label for walking straight from one place to another: how near
// the threat came, and whether it is clear at the end. Of a threat that stands,
// clear is done with; of one that moves it must last.
func (e *flight) look(l *escapeLabel, from, to plane.Point, fromS, toS float64) {
	e.near(l, from, to, fromS, toS)
	for set := l.alive; set != 0; set &= set - 1 {
		i := bits.TrailingZeros16(set)
		if !e.clear(to, e.scenarios[i].where(toS)) {
			l.clearS[i] = never
			l.done &^= 1 << i
			continue
		}
		l.clearS[i] = min(l.clearS[i], float32(toS))
		if e.threat.SpeedMPS <= 0 || toS-float64(l.clearS[i]) >= clearForS {
			l.done |= 1 << i
		}
	}
}

// near updates a label for how near the threat comes to who walks straight from
// one place to another.
func (e *flight) near(l *escapeLabel, from, to plane.Point, fromS, toS float64) {
	for set := l.alive; set != 0; set &= set - 1 {
		i := bits.TrailingZeros16(set)
		m := e.scenarios[i].nearestM(from, to, fromS, toS)
		l.nearestM = math.Min(l.nearestM, m)
		if m < e.floorM-1e-9 {
			l.alive &^= 1 << i
		}
	}
}

func (e *flight) chance(set uint16) (sum float64) {
	all := 0.0
	for i := range e.scenarios {
		all += e.scenarios[i].Chance
		if set&(1<<i) != 0 {
			sum += e.scenarios[i].Chance
		}
	}
	return sum / math.Max(all, 1e-9)
}

// clearedS is when the last of what is done became clear.
func (l *escapeLabel) clearedS() (s float64) {
	for set := l.alive & l.done; set != 0; set &= set - 1 {
		s = math.Max(s, float64(l.clearS[bits.TrailingZeros16(set)]))
	}
	return s
}

// aside is a step off the line, or none, and what comes of waiting there.
type aside struct {
	side string // "" stands on the line
	m    float64
	off  plane.Point // from the line to there
	l    escapeLabel
}

// asides tries standing still and both sides at a label's vertex.
func (e *flight) asides(l *escapeLabel) (best WayOut, found bool) {
	for _, side := range [3]string{"", "left", "right"} {
		a := e.step(l, side)
		if side != "" && a.m == 0 || !e.accepts(&a.l) {
			continue
		}
		if !found || a.l.clearedS() < best.Seconds {
			best, found = e.result(l, &a), true
		}
	}
	return best, found
}

// step walks aside from a label's vertex and waits to the end: what passes must
// not come back.
func (e *flight) step(l *escapeLabel, side string) aside {
	out := aside{side: side, l: *l}
	if side != "" {
		out.m, out.off = e.roomAside(l, side)
	}
	line := e.net.At[l.vertex]
	place := func(s float64) plane.Point {
		return line.Add(out.off.Mul(math.Min(1, (s-l.atS)*sideStepMPS/math.Max(out.m, 1e-9))))
	}
	for s := l.atS; s < wayOutHorizonS && e.chance(out.l.alive) >= wayOutCertain; s += substepS {
		next := math.Min(s+substepS, wayOutHorizonS)
		e.near(&out.l, place(s), place(next), s, next)
	}
	out.l.atS = wayOutHorizonS
	if e.chance(out.l.alive) < wayOutCertain {
		return out
	}
	for set := out.l.alive; set != 0; set &= set - 1 {
		i := bits.TrailingZeros16(set)
		since := e.clearSince(i, place, l.atS)
		out.l.clearS[i], out.l.done = float32(since), out.l.done&^(1<<i)
		if wayOutHorizonS-since >= clearForS {
			out.l.done |= 1 << i
		}
	}
	return out
}

// clearSince looks back from the end at a scenario for since when who waits is
// clear of the threat.
func (e *flight) clearSince(i int, place func(s float64) plane.Point, fromS float64) float64 {
	since := float64(never)
	for s := float64(wayOutHorizonS); s >= fromS; s -= substepS {
		if !e.clear(place(s), e.scenarios[i].where(s)) {
			break
		}
		since = s
	}
	return since
}

// clear says that the threat is as far off as needed or out of sight.
func (e *flight) clear(me, other plane.Point) bool {
	return me.DistanceM(other) >= e.needM-1e-9 || !e.land.Snap.Ground.Visible(me, other)
}

// roomAside is how far one gets off the line on a side, and the way there. Sides
// are as one walks; before the first step, as one faces the threat.
func (e *flight) roomAside(l *escapeLabel, side string) (m float64, off plane.Point) {
	v := l.vertex
	arc := l.arc
	if arc < 0 {
		arc = e.facing(v)
	}
	if arc < 0 {
		return 0, off
	}
	b := e.land.Snap.Field.Sides(e.net.Edge[arc], false)
	room := b.Left.LowM
	if (side == "right") == e.net.With[arc] {
		room = b.Right.LowM
	}
	d := e.net.At[e.net.Head[arc]].Sub(e.net.At[v])
	if l.arc >= 0 {
		d = e.net.At[v].Sub(e.net.At[e.labels[l.parent].vertex])
	}
	if m = math.Min(float64(room), MostAsideM); m < leastAsideM || d.NormM() == 0 {
		return 0, off
	}
	off = plane.Point{X: -d.Y, Y: d.X}.Mul(m / d.NormM())
	if side == "right" {
		off = off.Mul(-1)
	}
	return m, off
}

// facing is the arc out of a vertex that leads most towards the threat, -1 for none.
func (e *flight) facing(v int32) (best int32) {
	best, most := int32(-1), math.Inf(-1)
	toward := e.threat.At.Sub(e.net.At[v])
	for a := e.net.First[v]; a < e.net.First[v+1]; a++ {
		d := e.net.At[e.net.Head[a]].Sub(e.net.At[v])
		if x := d.Dot(toward) / math.Max(d.NormM(), 1e-9); x > most {
			best, most = a, x
		}
	}
	return best
}

// result tells a way: a label walked to, and what is done there.
func (e *flight) result(l *escapeLabel, a *aside) WayOut {
	out := WayOut{PaceMPS: e.pace, PresentM: e.presentM, NearestM: a.l.nearestM, Seconds: a.l.clearedS(),
		Aside: a.side, AsideM: a.m, Chance: e.chance(a.l.alive & a.l.done)}
	for k := l; ; k = &e.labels[k.parent] {
		out.Line = append(out.Line, e.net.At[k.vertex])
		if k.parent < 0 {
			break
		}
	}
	slices.Reverse(out.Line)
	out.Stand = e.net.At[l.vertex].Add(a.off)
	likely := 0
	for i := range e.scenarios {
		if e.scenarios[i].Chance > e.scenarios[likely].Chance {
			likely = i
		}
	}
	other := e.scenarios[likely].where(a.l.atS)
	out.EndsM, out.Hidden = out.Stand.DistanceM(other), !e.land.Snap.Ground.Visible(out.Stand, other)
	out.Turn, out.Means = e.told(out.Line, out.Hidden)
	switch {
	case a.side != "":
		out.Means = StepAside
	case len(out.Line) == 1:
		out.Means, out.Turn = Stay, network.TurnStraight
	}
	return out
}

// told names the first move of a way, for somebody who faces the threat, and what
// the way rests on.
func (e *flight) told(line plane.Polyline, hidden bool) (network.Turn, Means) {
	if len(line) < 2 {
		return network.TurnStraight, StepAside
	}
	facing := e.threat.At.Sub(e.start)
	first := line[1].Sub(line[0])
	turn := network.TurnAngle(math.Atan2(facing.Y, facing.X), math.Atan2(first.Y, first.X))
	last := line[len(line)-1].Sub(line[len(line)-2])
	bend := math.Abs(network.TurnAngle(math.Atan2(first.Y, first.X), math.Atan2(last.Y, last.X)))
	means := GoBack
	switch {
	case hidden && (bend > math.Pi/4 || math.Abs(turn) < 3*math.Pi/4):
		means = SideStreet
	case math.Abs(turn) < math.Pi/3:
		means = WalkOn
	}
	switch {
	case math.Abs(turn) > 3*math.Pi/4:
		return network.TurnBack, means
	case turn > math.Pi/4:
		return network.TurnLeft, means
	case turn < -math.Pi/4:
		return network.TurnRight, means
	}
	return network.TurnStraight, means
}
