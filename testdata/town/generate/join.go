package main

import (
	"math"
	"sort"
)

// grid finds things by the cells that their boxes touch.
type grid struct {
	cellM float64
	cells map[[2]int][]int
}

func newGrid(cellM float64) *grid { return &grid{cellM, map[[2]int][]int{}} }

func (g *grid) each(pad float64, pts []pt, do func(cell [2]int)) {
	lo, hi := pts[0], pts[0]
	for _, p := range pts {
		lo = pt{math.Min(lo.x, p.x), math.Min(lo.y, p.y)}
		hi = pt{math.Max(hi.x, p.x), math.Max(hi.y, p.y)}
	}
	at := func(v float64) int { return int(math.Floor(v / g.cellM)) }
	for x := at(lo.x - pad); x <= at(hi.x+pad); x++ {
		for y := at(lo.y - pad); y <= at(hi.y+pad); y++ {
			do([2]int{x, y})
		}
	}
}

func (g *grid) put(id int, pts ...pt) {
	g.each(0, pts, func(c [2]int) { g.cells[c] = append(g.cells[c], id) })
}

// near lists the ids within pad metres of the points' box, each once, ascending.
func (g *grid) near(pad float64, pts ...pt) []int {
	seen := map[int]bool{}
	g.each(pad, pts, func(c [2]int) {
		for _, id := range g.cells[c] {
			seen[id] = true
		}
	})
	out := make([]int, 0, len(seen))
	for id := range seen {
		out = append(out, id)
	}
	sort.Ints(out)
	return out
}

// segment is piece i of line l.
type segment struct{ l, i int }

// join gives lines that cross or touch on the ground a common point. Before
// the bridges and subways are built, keep must leave out the railway.
func (t *town) join(keep func(kind) bool) {
	segs, g := t.segments(func(l *line) bool { return l.layer == 0 && keep(l.kind) })
	cuts := map[segment][]pt{}
	for i, s := range segs {
		a, b := t.ends(s)
		for _, j := range g.near(0.5, a, b) {
			if j > i {
				t.joinPair(s, segs[j], cuts)
			}
		}
	}
	for li, l := range t.lines {
		l.at = rebuilt(l.at, li, cuts)
	}
}

func joins(k kind) bool { return k.walkable() || k.barrier() || k == rail || k == ferry }

func (t *town) segments(keep func(*line) bool) ([]segment, *grid) {
	var segs []segment
	g := newGrid(40)
	for li, l := range t.lines {
		if !keep(l) {
			continue
		}
		for i := 0; i+1 < len(l.at); i++ {
			g.put(len(segs), l.at[i], l.at[i+1])
			segs = append(segs, segment{li, i})
		}
	}
	return segs, g
}

func (t *town) ends(s segment) (pt, pt) {
	l := t.lines[s.l]
	return l.at[s.i], l.at[s.i+1]
}

const touchM = 0.35

// joinPair notes the common point of two segments, if they have one.
func (t *town) joinPair(s, r segment, cuts map[segment][]pt) {
	a, b := t.ends(s)
	c, d := t.ends(r)
	if s.l == r.l && (s.i-r.i == 1 || r.i-s.i == 1) {
		return
	}
	touched := false
	for _, p := range []pt{a, b} {
		if q, _ := nearestOn(p, c, d); q.dist(p) < touchM {
			cuts[r] = append(cuts[r], p)
			touched = true
		}
	}
	for _, p := range []pt{c, d} {
		if q, _ := nearestOn(p, a, b); q.dist(p) < touchM {
			cuts[s] = append(cuts[s], p)
			touched = true
		}
	}
	if touched {
		return
	}
	if p, _, _, ok := meet(a, b, c, d); ok {
		p = pt{math.Round(p.x*100) / 100, math.Round(p.y*100) / 100}
		cuts[s], cuts[r] = append(cuts[s], p), append(cuts[r], p)
		t.markMeeting(p, t.lines[s.l], t.lines[r.l])
	}
}

// markMeeting tags the node where unlike lines cross.
func (t *town) markMeeting(p pt, a, b *line) {
	if a.kind.barrier() || (a.kind == rail && b.kind.walkable()) || b.kind == sidewalk {
		a, b = b, a
	}
	_, tagged := t.nodeTags[p.key()]
	switch {
	case tagged:
	case b.kind.barrier() && a.kind.walkable():
		t.nodeTags[p.key()] = opening(p, a, b)
	case b.kind == rail && (a.kind == footpath || a.kind == footway || a.kind == track):
		t.nodeTags[p.key()] = tags{"railway": "crossing"}
	case b.kind == rail && a.kind.walkable():
		t.nodeTags[p.key()] = tags{"railway": "level_crossing", "crossing:barrier": "half", "crossing:bell": "yes"}
	case a.kind == sidewalk && b.kind.walkable() && b.kind != footway && b.kind != sidewalk:
		t.nodeTags[p.key()] = tags{"highway": "crossing", "crossing": "unmarked"}
	}
}

// opening is what lets a path through a barrier.
func opening(p pt, path, barrier *line) tags {
	if barrier.opening != nil {
		return barrier.opening
	}
	n := (p.key().x/100 + p.key().y/100) & 3
	switch {
	case path.kind == footpath && barrier.kind == hedge:
		return []tags{{"barrier": "stile"}, {"barrier": "stile", "dog_gate": "yes"}, {"barrier": "kissing_gate"}, {"barrier": "gate"}}[n]
	case path.kind == footway:
		return []tags{{"barrier": "gate"}, {"barrier": "entrance"}, {"barrier": "swing_gate"}, {"barrier": "cycle_barrier"}}[n]
	}
	if path.kind == track {
		return tags{"barrier": "gate"}
	}
	return nil // a road goes through a gap
}

// rebuilt is a line with its cuts in place. A cut within touchM of a point of
// the line takes that point's place, so that both lines meet in one.
func rebuilt(l []pt, li int, cuts map[segment][]pt) []pt {
	var out []pt
	push := func(p pt) {
		if n := len(out); n == 0 || out[n-1].key() != p.key() {
			out = append(out, p)
		}
	}
	for i, p := range l {
		push(p)
		if i+1 == len(l) {
			break
		}
		here := cuts[segment{li, i}]
		sort.SliceStable(here, func(x, y int) bool { return here[x].dist(p) < here[y].dist(p) })
		for _, q := range here {
			if q.dist(p) > touchM && q.dist(l[i+1]) > touchM {
				push(q)
			} else if q.dist(p) <= touchM && i > 0 && q.key() != p.key() {
				out[len(out)-1] = q
			} else if q.dist(l[i+1]) <= touchM && i+2 < len(l) {
				push(q)
			}
		}
	}
	return out
}

// bridge lifts walkable lines and rails over the water, and roads over the
// railway where the plan says so.
func (t *town) bridge() {
	var out []*line
	for _, l := range t.lines {
		if l.layer != 0 || !(l.kind.walkable() || l.kind == rail) {
			out = append(out, l)
			continue
		}
		out = append(out, t.bridged(l)...)
	}
	t.lines = out
}

func (t *town) bridged(l *line) []*line {
	var spans [][2]float64
	for _, w := range t.lines {
		half := halfWidthM[w.kind] + 5
		switch {
		case w.kind == river || w.kind == race:
		case w.kind == rail && l.railOver:
			half = 26
		default:
			continue
		}
		for _, s := range crossingsAt(l.at, w.at) {
			spans = append(spans, [2]float64{s - half, s + half})
		}
	}
	sort.Slice(spans, func(i, j int) bool { return spans[i][0] < spans[j][0] })
	return l.raise(spans, 1, "bridge", "yes")
}

// raise cuts a line into pieces; those in the spans get a layer and a tag.
func (l *line) raise(spans [][2]float64, layer int, k, v string) []*line {
	var out []*line
	length, done := lengthOf(l.at), 0.0
	add := func(s0, s1 float64) *line {
		if s1-s0 < 0.5 {
			return &line{}
		}
		c := *l
		c.at, c.tags = between(l.at, s0, s1), l.tags.with()
		out = append(out, &c)
		return &c
	}
	for _, s := range spans {
		a, b := math.Max(done, s[0]), math.Min(length, s[1])
		add(done, a)
		if p := add(a, b); p.at != nil {
			p.layer = layer
			p.tags = p.tags.with(k, v, "layer", map[int]string{1: "1", -1: "-1"}[layer])
		}
		done = b
	}
	add(done, length)
	return out
}

// crossingsAt lists the metres along l where it crosses w.
func crossingsAt(l, w []pt) []float64 {
	var out []float64
	var run float64
	for i := 1; i < len(l); i++ {
		d := l[i-1].dist(l[i])
		for j := 1; j < len(w); j++ {
			if _, t, _, ok := meet(l[i-1], l[i], w[j-1], w[j]); ok {
				out = append(out, run+t*d)
			}
		}
		run += d
	}
	return ascending(out)
}
