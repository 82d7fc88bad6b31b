package main

import "math"

// layPlaces fills the blocks that no house stands in.
func (t *town) layPlaces() {
	for _, f := range t.faces {
		switch f.use {
		case park:
			t.layPark(f)
		case school:
			t.laySchool(f)
		case square:
			t.laySquare(f)
		case churchyard:
			t.layChurch(f)
		case hospital:
			t.layHospital(f)
		case building:
			t.layBuildingSite(f)
		case fireStation:
			t.layFireStation(f)
		case sports:
			t.laySports(f)
		case yard:
			t.layStation(f)
		case green:
			t.layGreen(f)
		case retail:
			t.layRetail(f)
		case trainingUse:
			t.layTraining(f)
		case cemeteryUse:
			t.layRest(f, "landuse", "cemetery")
		case allotmentUse:
			t.layRest(f, "landuse", "allotments")
		default:
			t.layLand(f)
		}
	}
}

// fenced draws a barrier round a ring; what passes it finds opening.
func (t *town) fenced(ring []pt, k kind, opening tags) {
	l := t.add(k, append(append([]pt(nil), ring...), ring[0]), tags{"barrier": string(k)})
	l.opening = opening
}

// entry leads a footway from the nearest street through side i of a ring to
// the point goal inside it.
func (t *town) entry(ring []pt, i int, goal pt, g tags) {
	mid := ring[i].mix(ring[(i+1)%len(ring)], 0.5)
	from := t.attach(mid, 70)
	if from == mid {
		return
	}
	k := footway
	if g["highway"] == "service" {
		k = worksRoad
	}
	t.add(k, []pt{from, mid.mix(goal, 0.15), goal}, g)
}

// frontSide is the side of a ring whose middle is nearest to a walkable line.
func (t *town) frontSide(ring []pt) int {
	best, out := math.Inf(1), 0
	for i := range ring {
		a, b := ring[i], ring[(i+1)%len(ring)]
		mid := a.mix(b, 0.5)
		if d := t.attach(mid, 70).dist(mid); a.dist(b) > 25 && d > 0.1 && d < best {
			best, out = d, i
		}
	}
	return out
}

// slab is a rectangle of w by h metres round c, turned to along.
func slab(c, along pt, w, h float64) []pt {
	u, v := along.times(w/2), along.left().times(h/2)
	return []pt{c.sub(u).sub(v), c.add(u).sub(v), c.add(u).add(v), c.sub(u).add(v)}
}

func (t *town) layPark(f *face) {
	t.area(inset(f.ring, 6), "leisure", "park", "name", f.name, "dog", "leashed")
	pond, island := ellipse(pt{-56, 494}, 33, 19, 22), ellipse(pt{-54, 494}, 9, 6.5, 12)
	t.multis = append(t.multis, multi{outer: pond, inner: island, tags: tags{"natural": "water", "water": "pond", "name": "Kiln Pond"}})
	round := ellipse(pt{-54, 494}, 5.5, 4, 10)
	t.add(footpath, append(round, round[0]), ground.with("highway", "path"))
	field := []pt{{98, 522}, {172, 512}, {184, 598}, {104, 608}}
	t.area(field, "leisure", "dog_park", "name", "Dog field", "dog", "unleashed", "opening_hours", "06:00-22:00")
	t.fenced(field, fence, tags{"barrier": "gate", "locked": "no"})
	t.area(slab(pt{-228, 452}, pt{0.98, 0.2}, 38, 28), "leisure", "playground", "name", "Kiln Park playground")
	t.area(slab(pt{-70, 358}, pt{1, 0.02}, 92, 54), "leisure", "pitch", "sport", "soccer")
	t.area(slab(pt{120, 440}, pt{0.9, -0.4}, 26, 14), "leisure", "pitch", "sport", "basketball")
	t.area(slab(pt{5, 562}, pt{1, 0}, 10, 8), "building", "pavilion", "name", "Bandstand")
	t.spot(pt{-118, 486}, "amenity", "bench")
	t.spot(pt{62, 397}, "amenity", "waste_basket", "waste", "dog_excrement")
}

func (t *town) laySchool(f *face) {
	ring := inset(f.ring, 11)
	b := boxOf(ring)
	g := tags{"amenity": "school", "name": f.name, "opening_hours": "Mo-Fr 07:45-15:30; SH,PH off", "capacity": "420"}
	if f.name == "South Field School" {
		garden := slab(b.mid.add(b.along.times(b.long*0.33)), b.along, 22, 18)
		g = g.with("opening_hours", "Mo-Th 08:00-15:00; Fr 08:00-12:30; SH,PH off", "capacity", "260")
		t.multis = append(t.multis, multi{outer: ring, inner: garden, halves: true, tags: g})
		t.area(garden, "leisure", "garden", "access", "private")
	} else {
		t.areas = append(t.areas, area{ring, g})
	}
	t.fenced(ring, fence, tags{"barrier": "gate", "opening_hours": "Mo-Fr 07:30-16:00"})
	c := b.mid.sub(b.along.times(b.long * 0.14))
	v := b.along.left()
	t.area(uShape(c, b.along, math.Min(70, b.long*0.45), math.Min(52, b.short*0.42)), "building", "school", "building:levels", "2")
	t.area(slab(b.mid.add(b.along.times(b.long*0.3)).add(v.times(b.short*0.2)), b.along, b.long*0.22, b.short*0.3), "leisure", "pitch", "sport", "soccer", "access", "private")
	t.area(slab(b.mid.add(b.along.times(b.long*0.18)).sub(v.times(b.short*0.3)), b.along, 30, 20), "leisure", "playground", "access", "private")
	i := t.frontSide(ring)
	t.entry(ring, i, c.mix(ring[i].mix(ring[(i+1)%len(ring)], 0.5), 0.45), paved.with("highway", "footway", "access", "private"))
}

// uShape is a building round three sides of a yard.
func uShape(c, u pt, w, h float64) []pt {
	v := u.left()
	p := func(x, y float64) pt { return c.add(u.times(x * w / 2)).add(v.times(y * h / 2)) }
	return []pt{p(-1, -1), p(1, -1), p(1, 1), p(0.6, 1), p(0.6, -0.4), p(-0.6, -0.4), p(-0.6, 1), p(-1, 1)}
}

// laySquare makes an open place that one crosses on foot in any direction:
// short ways join its rim to the streets round it.
func (t *town) laySquare(f *face) {
	ring := inset(f.ring, 13)
	var rim []pt
	for i, p := range ring {
		q := ring[(i+1)%len(ring)]
		rim = append(rim, p)
		mid := p.mix(q, 0.5)
		if from := t.attach(mid, 30); p.dist(q) > 20 && from != mid {
			rim = append(rim, mid)
			t.add(pedestrian, []pt{from, mid}, tags{"highway": "pedestrian", "surface": "sett", "lit": "yes"})
		}
	}
	t.area(rim, "highway", "pedestrian", "area", "yes", "name", f.name, "surface", "sett", "lit", "yes")
	b := boxOf(ring)
	t.area(slab(b.mid, b.along, b.long*0.4, b.short*0.3), "amenity", "marketplace", "name", "Lamp Market", "opening_hours", "Tu,Sa 07:00-14:00")
	for i, name := range []string{"The Copper Pot", "Spindle and Crumb", "Cup and Candle"} {
		c := b.mid.add(b.along.times(b.long * (0.34 - 0.34*float64(i)))).add(b.along.left().times(b.short * 0.36))
		t.area(slab(c, b.along, 11, 6), "leisure", "outdoor_seating", "name", name)
		t.spot(c.add(b.along.left().times(5)), "amenity", []string{"cafe", "cafe", "pub"}[i], "name", name, "outdoor_seating", "yes", "opening_hours", []string{"Mo-Sa 07:30-18:00", "Tu-Su 09:00-17:00", "Mo-Su 11:00-23:00"}[i])
	}
}

func (t *town) layChurch(f *face) {
	ring := inset(f.ring, 8)
	b := boxOf(ring)
	t.area(ring, "landuse", "grass", "name", "Lamp Garden")
	c := b.mid.add(b.along.times(b.long * 0.1)).add(b.along.left().times(b.short * 0.12))
	t.area(slab(c, b.along, 38, 15), "building", "church", "amenity", "place_of_worship", "name", f.name)
	t.spot(c.sub(b.along.times(17)), "man_made", "tower", "tower:type", "bell_tower", "bells", "yes")
	t.area(slab(b.mid.add(b.along.times(b.long*0.38)), b.along, 16, 11), "building", "yes", "amenity", "community_centre", "name", "Lamp Hall")
	t.spot(b.mid.add(b.along.times(b.long*0.38)).add(b.along.left().times(3)), "amenity", "kindergarten", "name", "Little Lamps", "opening_hours", "Mo-Fr 07:30-16:30")
}

func (t *town) layHospital(f *face) {
	ring := inset(f.ring, 10)
	b := boxOf(ring)
	t.area(ring, "amenity", "hospital", "name", f.name, "emergency", "yes", "opening_hours", "24/7")
	c := b.mid.add(b.along.times(b.long * 0.08))
	t.area(uShape(c, b.along, math.Min(110, b.long*0.55), math.Min(60, b.short*0.45)), "building", "hospital", "building:levels", "4")
	t.area(slab(b.mid.sub(b.along.times(b.long*0.36)), b.along, 34, b.short*0.5), "amenity", "parking", "surface", "asphalt")
	i := t.frontSide(ring)
	t.entry(ring, i, c.mix(ring[i].mix(ring[(i+1)%len(ring)], 0.5), 0.5), paved.with("highway", "service", "service", "driveway"))
}

func (t *town) layBuildingSite(f *face) {
	ring := inset(f.ring, 9)
	b := boxOf(ring)
	t.area(ring, "landuse", "construction", "construction", "residential", "opening_hours", "Mo-Fr 07:00-17:00")
	t.fenced(ring, fence, tags{"barrier": "lift_gate", "access": "private", "locked": "yes"})
	for _, x := range []float64{-0.28, 0.02, 0.3} {
		t.area(slab(b.mid.add(b.along.times(x*b.long)).add(b.along.left().times(b.short*0.2)), b.along, 24, 13), "building", "construction")
	}
	i := t.frontSide(ring)
	mid := ring[i].mix(ring[(i+1)%len(ring)], 0.5)
	t.add(worksRoad, []pt{t.attach(mid, 45), mid.mix(b.mid, 0.3), b.mid.sub(b.along.left().times(b.short * 0.12))},
		tags{"highway": "construction", "construction": "residential"})
}

func (t *town) layFireStation(f *face) {
	ring := f.ground(9, 52)
	b := boxOf(ring)
	t.area(ring, "amenity", "fire_station", "name", "Lissen fire station")
	t.area(slab(b.mid, b.along, 42, 22), "building", "fire_station", "building:levels", "2")
	t.area(slab(b.mid.add(b.along.times(b.long*0.36)), b.along, 8, 8), "building", "yes", "man_made", "tower", "tower:type", "siren")
	i := t.frontSide(ring)
	t.entry(ring, i, b.mid.mix(ring[i].mix(ring[(i+1)%len(ring)], 0.5), 0.5), paved.with("highway", "service", "service", "driveway"))
}

func (t *town) laySports(f *face) {
	ring := inset(f.ring, 8)
	b := boxOf(ring)
	t.area(ring, "leisure", "sports_centre", "name", f.name, "opening_hours", "Mo-Su 08:00-21:00")
	n := math.Max(1, math.Min(3, math.Floor(b.long/75)))
	for i := range int(n) {
		x := (float64(i) - (n-1)/2) * b.long / (n + 0.6)
		t.area(slab(b.mid.add(b.along.times(x)).add(b.along.left().times(b.short*0.06)), b.along, b.long/(n+1.4), b.short*0.6), "leisure", "pitch", "sport", []string{"soccer", "tennis", "athletics"}[i%3])
	}
	hall := b.mid.sub(b.along.left().times(b.short * 0.38)).sub(b.along.times(b.long * 0.3))
	t.area(slab(hall, b.along, 30, 12), "building", "sports_hall", "building:levels", "1")
	i := t.frontSide(ring)
	t.entry(ring, i, b.mid, gravel.with("highway", "footway"))
}

func (t *town) layStation(f *face) {
	t.area(inset(f.ring, 9), "landuse", "railway")
	s, _ := project(smooth(railLine, 40), pt{345, -660})
	p, u := at(smooth(railLine, 40), s)
	n := u.left()
	t.add(rail, []pt{p.sub(u.times(260)), p.sub(u.times(190)).add(n.times(6)), p.add(u.times(150)).add(n.times(6)), p.add(u.times(220))}, tags{"railway": "rail", "service": "siding"})
	t.area(slab(p.add(n.times(22)).add(u.times(42)), u, 46, 11), "building", "train_station", "building:levels", "2")
	t.area(slab(p.add(n.times(12)), u, 130, 5), "railway", "platform", "public_transport", "platform")
	t.spot(p.add(n.times(8)), "railway", "station", "name", "Tannerswick", "public_transport", "station")
	t.add(footway, []pt{t.attach(pt{350, -622}, 30), p.add(n.times(14.6))}, paved.with("highway", "footway"))
	t.area(slab(pt{440, -615}, u, 60, 26), "amenity", "parking", "surface", "asphalt")
	skate := slab(pt{512, -600}, u, 36, 22)
	t.area(skate, "leisure", "pitch", "sport", "skateboard", "name", "Sidings skate spot")
	t.add(footway, []pt{t.attach(pt{512, -580}, 90), {512, -589}}, paved.with("highway", "footway"))
	t.spot(pt{380, -630}, "amenity", "bus_station", "name", "Station forecourt")
}

func (t *town) layGreen(f *face) {
	ring := inset(f.ring, 7)
	b := boxOf(ring)
	t.area(ring, "leisure", "park", "name", f.name)
	v := b.along.left()
	for _, k := range []float64{1, -1} {
		from, to := b.mid.sub(b.along.times(b.long*0.5)).add(v.times(k*b.short*0.3)), b.mid.add(b.along.times(b.long*0.5)).sub(v.times(k*b.short*0.3))
		t.add(footway, smooth([]pt{t.attach(from, 40), b.mid.add(v.times(k * 4)), t.attach(to, 40)}, 20), gravel.with("highway", "footway"))
	}
	c := b.mid.add(v.times(b.short * 0.28))
	if f.name == "Heath Green" {
		t.spot(c, "leisure", "playground", "name", "Heath Green playground")
		return
	}
	t.area(slab(c, b.along, 26, 18), "leisure", "playground", "name", f.name+" playground")
	t.area(slab(b.mid.sub(v.times(b.short*0.3)), b.along, 40, b.short*0.24), "leisure", "pitch", "sport", "multi")
}

func (t *town) layRetail(f *face) {
	ring := inset(f.ring, 8)
	b := boxOf(ring)
	t.area(ring, "landuse", "retail")
	t.area(slab(b.mid.add(b.along.left().times(b.short*0.2)), b.along, b.long*0.6, b.short*0.36), "building", "retail", "shop", "supermarket", "name", "The Granary", "opening_hours", "Mo-Sa 07:00-21:00")
	t.area(slab(b.mid.sub(b.along.left().times(b.short*0.24)), b.along, b.long*0.7, b.short*0.3), "amenity", "parking", "surface", "asphalt")
	t.spot(b.mid.add(b.along.times(b.long*0.4)), "shop", "pet", "name", "Basket and Bowl", "opening_hours", "Mo-Sa 09:00-18:00")
}

func (t *town) layTraining(f *face) {
	b := boxOf(inset(f.ring, 10))
	field := slab(b.mid, b.along, b.long*0.5, b.short*0.6)
	t.area(inset(f.ring, 10), "landuse", "grass")
	t.area(field, "amenity", "animal_training", "animal_training", "dog", "name", "Drove Road dog training field", "opening_hours", "Mo,We 17:00-20:00; Sa 09:00-13:00")
	t.fenced(field, fence, tags{"barrier": "gate", "access": "private"})
	i := t.frontSide(field)
	t.entry(field, i, b.mid, gravel.with("highway", "footway"))
	t.spot(b.mid.add(b.along.times(b.long*0.4)), "amenity", "veterinary", "name", "Drove Road animal clinic", "opening_hours", "Mo-Fr 08:00-18:00")
}

// layRest lays out a burial ground or allotments: a hedge, a path through.
func (t *town) layRest(f *face, k, v string) {
	ring := f.ground(9, 52)
	b := boxOf(ring)
	t.area(ring, k, v, "name", f.name)
	g := tags{"barrier": "gate"}
	dogs := tags{"highway": "footway", "dog": "no"}
	if v == "allotments" {
		g, dogs = g.with("access", "private", "locked", "yes"), tags{"highway": "footway"}
	}
	t.fenced(ring, hedge, g)
	from, to := b.mid.sub(b.along.times(b.long*0.5)), b.mid.add(b.along.times(b.long*0.5))
	from, to = t.attach(from, 45), t.attach(to, 45)
	if v == "allotments" {
		from, to = t.attachTo(b.mid, tertiary, 200), t.attachTo(b.mid, footpath, 200) // road and river bank
	}
	t.add(footway, []pt{from, b.mid, to}, gravel.with("highway", dogs["highway"], "dog", dogs["dog"]))
}

// ground is the face's ring drawn in from its streets by d metres, from the
// river by byRiver, from race and railway by what they need.
func (f *face) ground(d, byRiver float64) []pt {
	each := make([]float64, len(f.sides))
	for i, k := range f.sides {
		switch k {
		case river:
			each[i] = byRiver
		case race, rail:
			each[i] = math.Max(d, halfWidthM[k])
		default:
			each[i] = d
		}
	}
	if ring := insetBy(f.ring, each); ring != nil {
		return ring
	}
	return f.ring
}

// layLand tags open ground and gives fields their hedges.
func (t *town) layLand(f *face) {
	ring := f.ground(3, 15)
	if f.use.housing() {
		t.area(ring, "landuse", "residential")
	}
	switch f.use {
	case wood:
		clearing := ellipse(pt{-1130, 930}, 46, 34, 16)
		if inside(ring, clearing[0]) {
			t.multis = append(t.multis, multi{outer: ring, inner: clearing, tags: tags{"natural": "wood", "leaf_type": "broadleaved", "name": "Kiln Wood"}})
			return
		}
		t.area(ring, "natural", "wood", "leaf_type", "mixed")
	case meadow:
		t.area(ring, "landuse", "meadow")
	case industry:
		t.area(ring, "landuse", "industrial")
	case fields:
		t.area(ring, "landuse", t.pick("farmland", "farmland", "meadow"))
		t.hedgeRoads(f)
	}
}

// hedgeRoads draws a hedge along the sides of a field that lie at a road.
func (t *town) hedgeRoads(f *face) {
	ring, sides := f.ring, f.sides
	if areaOf(ring) < 0 {
		return
	}
	n := len(ring)
	first := 0
	for i := range sides {
		if sides[i].walkable() && !sides[(i+n-1)%n].walkable() {
			first = i
		}
	}
	var run []pt
	for k := range n + 1 {
		i := (first + k) % n
		if k < n && sides[i].walkable() {
			if run == nil {
				run = []pt{ring[i]}
			}
			run = append(run, ring[(i+1)%n])
			continue
		}
		if length := lengthOf(run); length > 60 {
			t.add(hedge, between(offset(run, 7), 8, length-12), tags{"barrier": "hedge"})
		}
		run = nil
	}
}
