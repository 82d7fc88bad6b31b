package search

import "math"

// drop bounds how much cheaper an arc can become at one change of the clock, over
// the corridor's arcs that can be entered on both sides of it.
type drop struct {
	at      float64 // the instant, seconds after setting out
	most    float64 // largest fall of one arc's cost
	perTime float64 // largest fall of one arc's cost per second of its time
}

// drops fills the bounds for every change of the clock within the limit.
func (c *corridor) drops(q *Timed, nodes nodes) {
	c.falls = c.falls[:0]
	if len(q.ChangeS) == 0 {
		return
	}
	limit := slackOf(q.LimitS)
	for _, at := range q.ChangeS {
		c.falls = append(c.falls, drop{at: at})
	}
	for v := range len(c.verts) - 1 {
		from := nodes.of(c.verts[v].vertex).distF
		for a := c.verts[v].first; a < c.verts[v+1].first; a++ {
			l := &c.arcs[a]
			late := limit - c.verts[l.other].timeLeft - float64(l.time)
			for k := range c.falls {
				f := &c.falls[k]
				if from >= f.at || late < f.at {
					continue
				}
				fall := float64(q.Cost[k][l.arc]) - float64(q.Cost[k+1][l.arc])
				if fall > 0 {
					f.most = max(f.most, fall)
					f.perTime = max(f.perTime, fall/float64(l.time))
				}
			}
		}
	}
}

// regret is the most that a walk can lose by being at a vertex early rather than
// late and going on the same way.
//
// Going on the same way, the early walk pays an older price only for the arcs it
// enters less than late-early before a change: they take less than late-early in
// all, but for the last, which may straddle the change. So the loss at each change
// still to come is at most perTime*(late-early) + most.
func (c *corridor) regret(early, late float64) float64 {
	if early == late {
		return 0
	}
	lost := 0.0
	for k := range c.falls {
		if f := &c.falls[k]; f.at > early && f.most > 0 {
			lost += f.most + f.perTime*(late-early)
		}
	}
	return lost
}

// clocked is front, or with first set only its cheapest member, where costs change
// with the clock. A label that comes later may then meet a lower price, so an
// earlier and cheaper one dominates it only when it is cheaper by the most that
// being early can lose. Costs left are lower bounds over the hours at which an arc
// can be entered, so labels still leave the queue in rising order at each vertex.
//
// Paths here may pass a vertex again: a turn round a quiet block until the street
// ahead has emptied is a way like another.
func (l *labelling) clocked(q *Timed, first bool) bool {
	for !l.q.Empty() {
		if l.spent() {
			return false
		}
		i := EntryID(l.q.Pop())
		b := l.labels[i]
		v := &l.verts[b.at]
		if l.beaten(b.time+v.timeLeft, b.cost+v.costLeft) || l.dominated(v, b.time, b.cost) {
			continue
		}
		if b.at == l.to {
			l.found = append(l.found, finding{label: i, arc: -1})
			l.lastTime, l.lastCost = b.time, b.cost
			if first {
				return true
			}
			continue
		}
		l.labels[i].next, v.list = v.list, i
		for a := v.first; a < l.verts[b.at+1].first; a++ {
			arc := &l.arcs[a]
			w := &l.verts[arc.other]
			time, cost := b.time+float64(arc.time), b.cost+q.costAt(arc.arc, b.time)
			least := cost + w.costLeft
			if !(least < math.Inf(1)) || time+w.timeLeft > l.limit || l.beaten(time+w.timeLeft, least) || l.dominated(w, time, cost) {
				continue
			}
			l.push(label{time: time, cost: cost, at: arc.other, parent: i, arc: a, next: -1}, least)
		}
	}
	return true
}

// dominated says that an accepted label at a place is as good as a new one
// whatever follows.
func (l *labelling) dominated(v *place, time, cost float64) bool {
	for i := v.list; i >= 0; i = l.labels[i].next {
		l.steps++
		other := &l.labels[i]
		if other.time <= time && other.cost <= cost && other.cost+l.regret(other.time, time) <= cost {
			return true
		}
	}
	return false
}
