package search

import (
	"errors"
	"math"
	"slices"
)

// label is a partial path: where it ends, what it has taken so far, and how it
// got there.
type label struct {
	time, cost float64
	at         int32 // corridor vertex
	parent     int32 // label before, or -1
	arc        int32 // corridor arc from there, or -1
	next       int32 // next accepted label at the same vertex, where costs change with the clock
}

// finding is a complete path: a label, one arc on when arc >= 0, and from there the
// tail of least cost.
type finding struct {
	label int32
	arc   int32
}

// labelling is a label-setting search in a corridor, in rising order of cost so
// far plus least cost left. Labels therefore reach each vertex in rising order of
// cost, so that one number per vertex, the least time accepted there, decides
// whether a label is dominated; the last path found prunes by time left.
//
// Source: the bi-objective best-first search of Hernandez Ulloa, Yeoh, Baier,
// Zhang, Suazo and Koenig 2020, "A simple and fast bi-objective search algorithm"
// (ICAPS 30:143-151); closing a label with the tail of least cost is from Ahmadi,
// Tack, Harabor and Kilby 2021, "Bi-objective search with bi-directional A*" (ESA).
// Both from memory.
type labelling struct {
	*corridor
	labels []label
	q      Queue
	limit  float64
	most   int
	work   *Work
	steps  int   // partial paths looked at since the work was last told
	stop   error // why it ended early

	found    []finding
	lastTime float64 // time of the last path found
	lastCost float64 // and its cost
	ceiling  float64 // cost of the best path known, when only the cheapest is wanted
}

// start clears the store and queues the empty path at the start.
func (l *labelling) start(c *corridor, limit float64, most int, work *Work) {
	l.corridor, l.limit, l.most = c, limit, most
	l.work, l.steps, l.stop = work, 0, nil
	l.labels, l.found = l.labels[:0], l.found[:0]
	l.lastTime, l.lastCost, l.ceiling = math.Inf(1), math.Inf(-1), math.Inf(1)
	l.q.Reset()
	l.push(label{at: c.from, parent: -1, arc: -1, next: -1}, c.verts[c.from].costLeft)
}

// spent says that the work allowed has run out: that of partial paths kept, or of
// those looked at, or that the search was given up.
func (l *labelling) spent() bool {
	if len(l.labels) > l.most {
		return true
	}
	l.stop = l.work.Spend(1 + l.steps)
	l.steps = 0
	return l.stop != nil
}

// givenUp says that the context ended the search.
func (l *labelling) givenUp() bool { return l.stop != nil && !errors.Is(l.stop, ErrWork) }

func (l *labelling) push(b label, key float64) {
	l.q.Push(Pack(key, int32(len(l.labels))))
	l.labels = append(l.labels, b)
}

// cheapest finds the least cost within the limit. It returns a lower bound on
// that cost: the cost itself unless the work ran out.
func (l *labelling) cheapest(q *Timed) float64 {
	if len(q.ChangeS) > 0 {
		if l.clocked(q, true) {
			l.ceiling = l.lastCost
			return l.ceiling
		}
		return l.q.floor()
	}
	if root := &l.verts[l.from]; root.tailTime <= l.limit {
		l.found = append(l.found, finding{label: 0, arc: -1})
		l.ceiling = root.costLeft
		return l.ceiling
	}
	for !l.q.Empty() && l.q.floor() < l.ceiling {
		if l.spent() {
			return l.q.floor()
		}
		i := EntryID(l.q.Pop())
		b := l.labels[i]
		v := &l.verts[b.at]
		if b.time >= v.leastTime && b.cost >= v.atCost {
			continue
		}
		v.leastTime, v.atCost = b.time, b.cost
		l.extend(i, &b)
	}
	return l.ceiling
}

// extend pushes the labels one arc on, or closes them where the tail of least
// cost fits the limit: no other path on from there can be cheaper.
func (l *labelling) extend(i int32, b *label) {
	for a := l.verts[b.at].first; a < l.verts[b.at+1].first; a++ {
		arc := &l.arcs[a]
		w := &l.verts[arc.other]
		time, cost := b.time+float64(arc.time), b.cost+float64(arc.cost)
		least := cost + w.costLeft
		if time+w.timeLeft > l.limit || least >= l.ceiling || (time >= w.leastTime && cost >= w.atCost) {
			continue
		}
		if time+w.tailTime <= l.limit {
			l.ceiling = least
			l.found = append(l.found[:0], finding{label: i, arc: a})
			continue
		}
		l.push(label{time: time, cost: cost, at: arc.other, parent: i, arc: a}, least)
	}
}

// front finds every trade between time and cost within the limit. It returns
// false when the work ran out; what was found then is the calm end of the front.
func (l *labelling) front() bool {
	for !l.q.Empty() {
		if l.spent() {
			return false
		}
		i := EntryID(l.q.Pop())
		b := l.labels[i]
		v := &l.verts[b.at]
		least := b.cost + v.costLeft
		if (b.time >= v.leastTime && b.cost >= v.atCost) || l.beaten(b.time+v.timeLeft, least) {
			continue
		}
		v.leastTime, v.atCost = b.time, b.cost
		if whole := b.time + v.tailTime; whole <= l.limit && !l.beaten(whole, least) {
			l.found = append(l.found, finding{label: i, arc: -1})
			l.lastTime, l.lastCost = whole, least
			if v.tailTime == v.timeLeft {
				continue // the tail is fastest as well: nothing on from here adds a trade
			}
		}
		l.spread(i, &b)
	}
	return true
}

// beaten says that the last path found is no slower and no dearer.
func (l *labelling) beaten(time, cost float64) bool {
	return time >= l.lastTime && cost >= l.lastCost
}

// spread pushes the labels one arc on that can still add to the front.
func (l *labelling) spread(i int32, b *label) {
	for a := l.verts[b.at].first; a < l.verts[b.at+1].first; a++ {
		arc := &l.arcs[a]
		w := &l.verts[arc.other]
		time, cost := b.time+float64(arc.time), b.cost+float64(arc.cost)
		least := cost + w.costLeft
		if time+w.timeLeft > l.limit || (time >= w.leastTime && cost >= w.atCost) || l.beaten(time+w.timeLeft, least) {
			continue
		}
		l.push(label{time: time, cost: cost, at: arc.other, parent: i, arc: a}, least)
	}
}

// trace appends the arcs of a finding, in the whole graph's numbers.
func (l *labelling) trace(arcs []int32, f finding) []int32 {
	start := len(arcs)
	end := l.labels[f.label].at
	if f.arc >= 0 {
		arcs = append(arcs, l.arcs[f.arc].arc)
		end = l.arcs[f.arc].other
	}
	for i := f.label; l.labels[i].parent >= 0; i = l.labels[i].parent {
		arcs = append(arcs, l.arcs[l.labels[i].arc].arc)
	}
	slices.Reverse(arcs[start:])
	for a := l.verts[end].tail; a >= 0; a = l.verts[end].tail {
		arcs = append(arcs, l.arcs[a].arc)
		end = l.arcs[a].other
	}
	return arcs
}
