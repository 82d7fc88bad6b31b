package twin

import (
	"math"
	"slices"
	"sort"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
)

const (
	walkerMPS = 1.2
	rangeM    = 150.0 // nobody looks farther
	mergeS    = 20.0  // out of sight for less than that is one contact
	sideMPS   = 1.0   // how fast the handler gets off the line
	backAgain = 1.5   // times as far as its nearest: a party that comes back from there counts anew
)

// contact is one party in sight, from when it comes into sight until it has been
// out of it for mergeS, or has gone off to half as far again as its nearest and
// comes back: what the dog makes of it is decided once, by how near it came.
type contact struct {
	atS  float64 // second of the walk when it was nearest
	dM   float64
	size int
	own  bool // it was passed on the walker's own way
}

// meeting follows one walker and one party.
type meeting struct {
	w     *world
	roomM []float64 // by edge: how far the handler gets off the line there
	out   []contact
	pass  int // passings on the own way

	again float64 // a party that has gone so many times as far as its nearest and comes back counts anew; +Inf never

	size     int
	seen     bool
	lastSeen float64 // seconds
	since    float64 // in sight without a break since
	best     contact
	bestPass contact
	parted   bool    // it has gone off again
	high     float64 // metres: as far as that
}

// runner is a place on a track that moves on.
type runner struct {
	tr *track
	i  int // run
}

func startAt(tr *track, t float64) runner {
	i := sort.SearchFloat64s(tr.clock, t) - 1
	return runner{tr, max(0, min(i, len(tr.clock)-2))}
}

// at is the place at a second not before the last one asked for.
func (r *runner) at(t float64) plane.Point {
	for r.i+2 < len(r.tr.clock) && r.tr.clock[r.i+1] <= t {
		r.i++
	}
	k := (t - r.tr.clock[r.i]) / (r.tr.clock[r.i+1] - r.tr.clock[r.i])
	a, b := r.tr.at[r.i], r.tr.at[r.i+1]
	return a.Add(b.Sub(a).Mul(k))
}

// until is when the run ends.
func (r *runner) until() float64 { return r.tr.clock[r.i+1] }

// follow takes walker and party through the time that both are out. The party sets
// out at startS of the walk. In each step both run straight.
func (m *meeting) follow(walk, party *track, startS, partyMPS float64, size int) {
	t, end := max(0, startS), min(walk.seconds(), startS+party.seconds())
	if t >= end {
		return
	}
	m.size, m.lastSeen, m.seen = size, math.Inf(-1), false
	m.clear()
	a, b := startAt(walk, t), startAt(party, t-startS)
	p, q := a.at(t), b.at(t-startS)
	closing := walkerMPS + partyMPS
	for t < end {
		d := p.DistanceM(q)
		if d > rangeM+1 {
			m.lose(t)
			t = min(end, t+(d-rangeM)/closing)
			p, q = a.at(t), b.at(t-startS)
			m.seen = false
			continue
		}
		if !m.seen && t == max(0, startS) {
			m.look(t, p, q)
		}
		next := min(end, t+2.4/closing, a.until(), b.until()+startS)
		if next <= t { // a run ends here: go on to the next
			next = math.Nextafter(t, math.Inf(1))
		}
		same := a.tr.edge[a.i] == b.tr.edge[b.i]
		run := a.tr.edge[a.i]
		p2, q2 := walkEnd(&a, next), walkEnd(&b, next-startS)
		m.step(t, next, p, q, p2, q2, same, run)
		a.at(next)
		b.at(next - startS)
		t, p, q = next, p2, q2
	}
	m.flush()
}

// walkEnd is the place at the end of a step within the present run.
func walkEnd(r *runner, t float64) plane.Point {
	k := min(1, (t-r.tr.clock[r.i])/(r.tr.clock[r.i+1]-r.tr.clock[r.i]))
	a, b := r.tr.at[r.i], r.tr.at[r.i+1]
	return a.Add(b.Sub(a).Mul(k))
}

// look notes a place in sight.
func (m *meeting) look(t float64, p, q plane.Point) {
	d := p.DistanceM(q)
	if d > rangeM || !m.w.sees(p, q) {
		m.seen = false
		return
	}
	if t-m.lastSeen > mergeS {
		m.flush()
	}
	if !m.seen {
		m.since = t
	}
	m.seen, m.lastSeen = true, t
	m.near(t, d)
}

// near notes a distance in sight.
func (m *meeting) near(t, d float64) {
	if d > m.again*min(m.best.dM, m.bestPass.dM) && t-m.best.atS > mergeS {
		m.parted = true
	}
	if m.parted {
		if m.high = max(m.high, d); d < m.high/m.again {
			m.flush()
		}
	}
	if !m.parted && d < m.best.dM {
		m.best = contact{t, d, m.size, false}
	}
}

// step notes what happens on the way from one place to the next.
func (m *meeting) step(t, next float64, p, q, p2, q2 plane.Point, same bool, edge int32) {
	before := m.seen
	r, w := q.Sub(p), q2.Sub(p2).Sub(q.Sub(p))
	k := -1.0
	if ww := w.Dot(w); ww > 0 {
		k = -r.Dot(w) / ww
	}
	m.look(next, p2, q2)
	if k < 0 || k >= 1 {
		return
	}
	d, at := r.Add(w.Mul(k)).NormM(), t+k*(next-t)
	if same && d < 1e-6 {
		m.pass++
		gained := min(m.roomM[edge], sideMPS*(at-m.since))
		if m.seen && gained < m.bestPass.dM {
			m.bestPass = contact{at, gained, m.size, true}
		}
	}
	if before && m.seen {
		m.near(at, d)
	}
}

// lose ends a contact that has been out of sight for long enough.
func (m *meeting) lose(t float64) {
	if t-m.lastSeen > mergeS {
		m.flush()
	}
}

// flush closes a contact. A party that was passed on the own way came as near as
// the handler let it.
func (m *meeting) flush() {
	switch {
	case !math.IsInf(m.bestPass.dM, 1):
		m.out = append(m.out, m.bestPass)
	case !math.IsInf(m.best.dM, 1):
		m.out = append(m.out, m.best)
	}
	m.clear()
}

func (m *meeting) clear() {
	m.best.dM, m.bestPass.dM = math.Inf(1), math.Inf(1)
	m.parted, m.high = false, 0
}

// reactions is the expected number of reactions to contacts in order of time, and
// the chance that there is none: a contact has its chance unless there was a
// reaction within the dead time before it. Exact for the contacts given: at most
// one reaction falls into a dead time, so their chances add.
func reactions(cs []contact, need exposure.Need) (n, calm float64) {
	chance := make([]float64, len(cs))
	lo, dead := 0, 0.0
	calm = 1
	for i, c := range cs {
		for lo < i && cs[lo].atS <= c.atS-exposure.DeadTimeS {
			dead -= chance[lo]
			lo++
		}
		p := 1 - math.Pow(1-need.P(c.dM), float64(c.size))
		chance[i] = p * (1 - dead)
		dead += chance[i]
		n += chance[i]
		calm *= 1 - p
	}
	return n, calm
}

func byTime(cs []contact) {
	slices.SortFunc(cs, func(a, b contact) int {
		switch {
		case a.atS < b.atS:
			return -1
		case a.atS > b.atS:
			return 1
		}
		return 0
	})
}
