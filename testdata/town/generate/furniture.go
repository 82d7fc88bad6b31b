package main

import "math"

// layPassages leads footways through the ground floor of a few terraces, from
// the street to the lane behind.
func (t *town) layPassages() {
	done := 0
	for i, h := range t.houses {
		if done == 4 {
			break
		}
		if h.style == nil || h.style.tag != "terrace" || i%37 != 5 {
			continue
		}
		mid := (h.s0 + h.s1) / 2
		p, u := at(h.street.at, mid)
		n := u.left()
		if !h.left {
			n = n.times(-1)
		}
		front, back := p.add(n.times(h.front-0.4)), p.add(n.times(h.front+h.depth+0.6))
		end := t.attachTo(back, alley, 26)
		if end == back || t.blocked(p, back, h) || t.blocked(back, end, nil) {
			continue
		}
		g := paved.with("highway", "footway", "lit", "no")
		t.add(footway, []pt{p, front}, g)
		t.add(footway, []pt{front, back}, g.with("tunnel", "building_passage", "covered", "yes"))
		t.add(footway, []pt{back, end}, g)
		done++
	}
	t.indexLines()
}

// blocked tells whether a house other than own stands between a and b.
func (t *town) blocked(a, b pt, own *house) bool {
	for _, id := range t.houseGrid.near(1, a, b) {
		if h := t.houses[id]; h != own && ringToSegment(h.ring, a, b) < 0.3 {
			return true
		}
	}
	return false
}

// attachTo is attach for lines of one kind.
func (t *town) attachTo(p pt, k kind, reach float64) pt {
	best, out := reach, p
	for _, l := range t.lines {
		if l.kind != k {
			continue
		}
		s, d := project(l.at, p)
		if d < best {
			best = d
			out, _ = at(l.at, s)
		}
	}
	return out
}

// layFurniture adds what stands beside and on the streets.
func (t *town) layFurniture() {
	t.spot(pt{225, 10}, "place", "town", "name", "Tannerswick", "population", "14200", "timezone", "Etc/GMT")
	t.spot(pt{1318, -322}, "amenity", "animal_boarding", "animal_boarding", "dog", "name", "Drove kennels")
	t.area(slab(pt{1325, -330}, pt{0.9, 0.43}, 24, 10), "building", "farm_auxiliary")
	t.spot(pt{-330, 262}, "leisure", "playground", "name", "Race Walk playground")
	t.spot(pt{760, 330}, "amenity", "kindergarten", "name", "Eastmoor kindergarten", "opening_hours", "Mo-Fr 07:00-17:00")
	for _, l := range t.lines {
		if (l.kind == tertiary || l.kind == secondary) && l.layer == 0 {
			t.layStops(l)
		}
	}
	t.signal("Bridge Road", pt{65, -130})
	t.signal("Bridge Road", pt{330, -175})
	t.signal("Top Field Lane", pt{225, 640})
	// Posts that keep cars out of the mill race path and a private drive.
	t.gate("Race Walk", 20, tags{"barrier": "bollard"})
	t.gate("Fuller's Bridge", 60, tags{"barrier": "cycle_barrier"})
	t.gate("Holm Path", 300, tags{"barrier": "kissing_gate"})
	t.gate("The Ropewalk", 150, tags{"barrier": "swing_gate"})
}

// layStops puts a bus stop on each side every 380 m.
func (t *town) layStops(l *line) {
	n := lengthOf(l.at)
	for s := 180.0; s < n-60; s += 380 {
		for _, side := range []float64{5.5, -5.5} {
			p, u := at(l.at, math.Min(n, s+side*3))
			t.spot(p.add(u.left().times(side)), "highway", "bus_stop", "public_transport", "platform", "bus", "yes")
		}
	}
}

// signal marks the point of the named street nearest to p as having lights.
func (t *town) signal(name string, p pt) {
	best := math.Inf(1)
	var k key
	for _, l := range t.lines {
		if l.tags["name"] != name {
			continue
		}
		for _, q := range l.at {
			if d := q.dist(p); d < best {
				best, k = d, q.key()
			}
		}
	}
	t.nodeTags[k] = tags{"highway": "traffic_signals", "traffic_signals:sound": "yes"}
}

// gate puts a tagged point s metres along the first line of that name.
func (t *town) gate(name string, s float64, g tags) {
	for _, l := range t.lines {
		if l.tags["name"] == name && lengthOf(l.at) > s {
			l.at = insert(l.at, s)
			p, _ := at(l.at, s)
			t.nodeTags[p.key()] = g
			return
		}
	}
}
