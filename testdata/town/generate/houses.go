package main

import (
	"fmt"
	"math"
)

// house is one building with the street it fronts.
type house struct {
	ring   []pt
	tags   tags
	street *line
	left   bool
	s0, s1 float64 // its plot along the street, metres
	front  float64 // street middle to front wall, metres
	depth  float64
	style  *style
}

// style is one way of building along a street. Ranges are drawn evenly.
type style struct {
	tag            string
	widthM, depthM [2]float64
	gapM           [2]float64 // between two rows, or between two houses
	inRow          [2]int     // houses that share walls
	frontM         float64    // front garden, from the street's free width
	gardenM        float64
	levels         []string
	fence          kind
}

var styles = map[use]*style{
	terraces: {"terrace", [2]float64{5.6, 6.6}, [2]float64{8, 9.5}, [2]float64{3, 5}, [2]int{4, 9}, 3, 13, []string{"2", "2", "2", "3"}, wall},
	centre:   {"yes", [2]float64{7, 12}, [2]float64{10, 14}, [2]float64{3, 9}, [2]int{3, 8}, 1.5, 0, []string{"3", "3", "4", "2"}, wall},
	semis:    {"semidetached_house", [2]float64{7, 8}, [2]float64{8, 9.5}, [2]float64{6, 7}, [2]int{2, 2}, 5, 15, []string{"2"}, fence},
	detached: {"detached", [2]float64{10, 13}, [2]float64{8.5, 11}, [2]float64{6, 9}, [2]int{1, 1}, 7, 16, []string{"1", "2", "2"}, fence},
	flats:    {"apartments", [2]float64{26, 44}, [2]float64{12, 14}, [2]float64{16, 26}, [2]int{1, 1}, 9, 0, []string{"4", "5", "6", "8"}, fence},
	industry: {"industrial", [2]float64{26, 60}, [2]float64{24, 46}, [2]float64{12, 24}, [2]int{1, 1}, 9, 0, []string{"1", "1", "2"}, fence},
}

func (t *town) layHouses() {
	t.indexLines()
	t.houseGrid = newGrid(30)
	// The buildings of the places stand already: the houses keep off them.
	kept := t.areas[:0]
	for _, a := range t.areas {
		if a.tags["building"] == "" {
			kept = append(kept, a)
			continue
		}
		t.houses = append(t.houses, &house{ring: a.ring, tags: a.tags})
	}
	t.areas = kept
	for i, h := range t.houses {
		t.houseGrid.put(i, h.ring...)
	}
	for _, l := range t.lines {
		switch l.kind {
		case tertiary, unclassified, residential, living, worksRoad, secondary, primary:
			if l.layer == 0 {
				t.row(l, true)
				t.row(l, false)
			}
		}
	}
	t.numberHouses()
}

// indexLines lets keepsClear find the lines near a house.
func (t *town) indexLines() {
	t.lineGrid = newGrid(40)
	for li, l := range t.lines {
		for i := 0; i+1 < len(l.at); i++ {
			t.lineGrid.put(li<<12|i, l.at[i], l.at[i+1])
		}
	}
}

// row builds along one side of a street.
func (t *town) row(l *line, left bool) {
	sign := -1.0
	if left {
		sign = 1
	}
	length := lengthOf(l.at)
	for s := 6.0; s < length-6; {
		p, dir := at(l.at, s+4)
		st := t.styleAt(p.add(dir.left().times(sign * 24)))
		if st == nil {
			s += 6
			continue
		}
		n := st.inRow[0] + t.rng.IntN(st.inRow[1]-st.inRow[0]+1)
		depth := t.between(st.depthM[0], st.depthM[1])
		levels := st.levels[t.rng.IntN(len(st.levels))]
		built := 0
		var last *house
		for range n {
			w := t.between(st.widthM[0], st.widthM[1])
			h := t.raiseHouse(l, st, sign, s, w, depth, last)
			if h == nil {
				break
			}
			h.tags["building:levels"] = levels
			last, s = h, s+w
			built++
		}
		if built == 0 {
			s += 3
			continue
		}
		s += t.between(st.gapM[0], st.gapM[1])
	}
}

func (t *town) styleAt(p pt) *style {
	f := t.faceAt(p)
	if f == nil {
		return nil
	}
	return styles[f.use]
}

// raiseHouse builds one house from s to s+w along the street, unless it would
// stand in the way of something. A house in a row shares the last one's wall.
func (t *town) raiseHouse(l *line, st *style, sign, s, w, depth float64, last *house) *house {
	front := halfWidthM[l.kind] + st.frontM
	if l.tags["sidewalk"] == "separate" {
		front += 7
	}
	if s+w > lengthOf(l.at)-4 {
		return nil
	}
	p0, d0 := at(l.at, s)
	p1, d1 := at(l.at, s+w)
	if d0.dot(d1) < 0.9 {
		return nil
	}
	u := p1.sub(p0).unit()
	n := u.left().times(sign)
	a, b := p0.add(n.times(front)), p1.add(n.times(front))
	c, d := b.add(n.times(depth)), a.add(n.times(depth))
	if last != nil {
		// Both ends of the shared wall are the neighbour's corners.
		a, d = last.ring[1], last.ring[2]
		if d.dist(a) < 1 || b.sub(a).dot(u) < 3 || c.sub(d).dot(u) < 3 {
			return nil
		}
	}
	ring := []pt{a, b, c, d}
	if !t.keepsClear(ring, last) {
		return nil
	}
	h := &house{ring: ring, tags: tags{"building": st.tag}, street: l, left: sign > 0, s0: s, s1: s + w, front: front, depth: depth, style: st}
	t.dress(h, st)
	t.houseGrid.put(len(t.houses), ring...)
	t.houses = append(t.houses, h)
	return h
}

// dress gives some houses a wing, a shop or another use.
func (t *town) dress(h *house, st *style) {
	if st.tag == "detached" && t.chance(0.35) {
		a, b, c, d := h.ring[0], h.ring[1], h.ring[2], h.ring[3]
		h.ring = []pt{a, b, b.mix(c, 0.55), b.mix(c, 0.55).add(a.sub(b).times(0.45)), c.mix(d, 0.45), d}
	}
	if st.tag == "yes" && t.chance(0.35) {
		h.tags["building"] = "retail"
		h.tags["shop"] = t.pick("bakery", "butcher", "greengrocer", "books", "hardware", "clothes", "hairdresser", "florist", "pet")
	}
	if st.tag == "industrial" && t.chance(0.3) {
		h.tags["building"] = "warehouse"
	}
}

const houseGapM = 2.4

// keepsClear tells whether a ring keeps away from lines, water, other houses
// and ground that is not for housing.
func (t *town) keepsClear(ring []pt, last *house) bool {
	mine := t.faceAt(centroid(ring))
	if mine == nil || styles[mine.use] == nil {
		return false
	}
	for _, p := range ring {
		if math.Abs(p.x) > 1345 || math.Abs(p.y) > 1195 || !inside(mine.ring, p) {
			return false
		}
	}
	for _, id := range t.lineGrid.near(20, ring...) {
		l, i := t.lines[id>>12], id&(1<<12-1)
		if ringToSegment(ring, l.at[i], l.at[i+1]) < halfWidthM[l.kind]+1.2 {
			return false
		}
	}
	for _, id := range t.houseGrid.near(houseGapM, ring...) {
		h := t.houses[id]
		if h != last && ringsApart(h.ring, ring) < houseGapM {
			return false
		}
		if h == last && overlaps(h.ring, ring) {
			return false
		}
	}
	for _, a := range t.areas {
		if a.tags["natural"] == "" && a.tags["leisure"] == "" && a.tags["amenity"] == "" {
			continue
		}
		if inside(a.ring, ring[0]) || inside(a.ring, ring[2]) {
			return false
		}
	}
	return true
}

func ringToSegment(ring []pt, a, b pt) float64 {
	if inside(ring, a) {
		return 0
	}
	best := math.Inf(1)
	for i := range ring {
		best = math.Min(best, segmentsApart(ring[i], ring[(i+1)%len(ring)], a, b))
	}
	return best
}

// overlaps tells whether two rings that share a wall overlap: a point of one,
// drawn a hand's breadth to its middle, lies in the other.
func overlaps(r, q []pt) bool {
	test := func(r, q []pt) bool {
		c := centroid(q)
		for _, p := range q {
			if inside(r, p.mix(c, 0.02)) {
				return true
			}
		}
		return inside(r, c)
	}
	return test(r, q) || test(q, r)
}

// numberHouses gives odd numbers to the left side of a street and even ones to
// the right, from its start.
func (t *town) numberHouses() {
	next := map[string][2]int{}
	for _, h := range t.houses {
		if h.street == nil || h.style.tag == "industrial" {
			continue
		}
		name := h.street.tags["name"]
		if name == "" {
			continue
		}
		n := next[name]
		number := 2*n[0] + 1
		if h.left {
			n[0]++
		} else {
			number = 2*n[1] + 2
			n[1]++
		}
		next[name] = n
		h.tags["addr:street"], h.tags["addr:housenumber"] = name, fmt.Sprint(number)
	}
}

// layGardens draws the fences, hedges and walls between and behind the houses.
func (t *town) layGardens() {
	barriers := newGrid(30)
	var drawn [][2]pt
	var last *house
	kindOf := wall
	var outline []pt
	flush := func() {
		if len(outline) > 1 {
			g := tags{"barrier": string(kindOf)}
			if kindOf == wall {
				g["height"] = "1.8"
			}
			t.add(kindOf, outline, g)
		}
		outline = nil
	}
	for _, h := range t.houses {
		if h.style == nil || h.style.gardenM == 0 {
			continue
		}
		joined := last != nil && last.street == h.street && last.left == h.left && h.s0-last.s1 < 9.5
		if !joined {
			flush()
			kindOf = h.style.fence
			if r := t.rng.Float64(); kindOf == fence && r < 0.35 {
				kindOf = hedge
			}
		}
		outline = t.garden(h, outline, func(a, b pt) bool { return t.mayFence(a, b, barriers, &drawn) })
		last = h
		if outline == nil {
			last = nil
		}
	}
	flush()
}

// garden adds the fence of one house to an outline: up the near side, along
// the back and down the far side. Where something is in the way it ends.
func (t *town) garden(h *house, outline []pt, may func(a, b pt) bool) []pt {
	sign := -1.0
	if h.left {
		sign = 1
	}
	gap := 0.0
	if h.style.inRow[1] < 4 {
		gap = math.Min(h.style.gapM[0]/2, 3)
	}
	corner := func(s, d float64) pt {
		p, u := at(h.street.at, s)
		return p.add(u.left().times(sign * d))
	}
	near, far := h.s0-gap, h.s1+gap
	for _, share := range []float64{1, 0.7, 0.45} {
		back := h.front + h.depth + h.style.gardenM*share
		a, b := corner(near, back), corner(far, back)
		foot, side := corner(near, h.front+h.depth+0.4), corner(far, h.front+h.depth+0.4)
		if len(outline) > 0 {
			// The neighbour's last corner is the first of this garden.
			if n := len(outline); outline[n-1].dist(foot) < 2.5 {
				foot = outline[n-1]
			}
		}
		if !may(foot, a) || !may(a, b) || !may(b, side) {
			continue
		}
		if len(outline) > 0 && outline[len(outline)-1].dist(foot) > 2.5 {
			t.add(h.style.fence, outline, tags{"barrier": string(h.style.fence)})
			outline = nil
		}
		return append(outline, foot, a, b, side)
	}
	if len(outline) > 1 {
		t.add(h.style.fence, outline, tags{"barrier": string(h.style.fence)})
	}
	return nil
}

// mayFence tells whether a fence from a to b crosses nothing that one can walk
// along, no house and no earlier fence; if so it is remembered.
func (t *town) mayFence(a, b pt, barriers *grid, drawn *[][2]pt) bool {
	for _, id := range t.lineGrid.near(12, a, b) {
		l, i := t.lines[id>>12], id&(1<<12-1)
		if segmentsApart(a, b, l.at[i], l.at[i+1]) < halfWidthM[l.kind]+0.3 {
			return false
		}
	}
	for _, id := range t.houseGrid.near(1, a, b) {
		if ringToSegment(t.houses[id].ring, a, b) < 0.3 {
			return false
		}
	}
	inner, outer := a.mix(b, 0.04), a.mix(b, 0.96)
	for _, id := range barriers.near(1, a, b) {
		if _, _, _, ok := meet(inner, outer, (*drawn)[id][0], (*drawn)[id][1]); ok {
			return false
		}
	}
	barriers.put(len(*drawn), a, b)
	*drawn = append(*drawn, [2]pt{a, b})
	return true
}
