package main

import "math/rand/v2"

// tags are written sorted by key.
type tags map[string]string

func (g tags) with(kv ...string) tags {
	out := make(tags, len(g)+len(kv)/2)
	for k, v := range g {
		out[k] = v
	}
	for i := 0; i+1 < len(kv); i += 2 {
		out[kv[i]] = kv[i+1]
	}
	return out
}

// line is one way to be: a street, a path, a barrier, a railway or water.
type line struct {
	at    []pt
	kind  kind
	tags  tags
	layer int // lines join each other on layer 0 only; others join at their ends

	// railOver makes the line a bridge above the railway instead of a crossing.
	railOver bool
	// opening is what a path finds where it passes this barrier.
	opening tags
	// doubled puts a second node at the place of the line's middle one.
	doubled bool
	// gap leaves a node out of the file though the way refers to it.
	gap bool
}

// area is a closed way: a building, a park, a pond.
type area struct {
	ring []pt
	tags tags
}

// multi is a multipolygon relation over rings; outer may come in two halves.
type multi struct {
	outer, inner []pt
	halves       bool
	tags         tags
}

type place struct {
	at   pt
	tags tags
}

type town struct {
	rng       *rand.Rand
	lines     []*line
	faces     []*face
	blocks    []*face
	landmarks []landmark
	junctions map[key]bool
	meetings  []pt // the junctions in the order of their making
	nodeTags  map[key]tags
	areas     []area
	multis    []multi
	places    []place
	houses    []*house
	houseGrid *grid
	lineGrid  *grid
	named     map[string]bool
	firsts    map[string]int
}

const seedHi, seedLo = 0x77696465, 0x62657274

func newTown() *town {
	t := &town{
		rng:       rand.New(rand.NewPCG(seedHi, seedLo)),
		junctions: map[key]bool{}, nodeTags: map[key]tags{},
		named: map[string]bool{}, firsts: map[string]int{},
		landmarks: landmarks,
	}
	rim := []pt{{-1420, -1300}, {1420, -1300}, {1420, 1300}, {-1420, 1300}}
	t.faces = []*face{{ring: rim, sides: []kind{edge, edge, edge, edge}}}
	return t
}

// build draws the whole town.
func build() *town {
	t := newTown()
	t.layWater()
	t.layRail()
	t.layMainRoads()
	for _, f := range t.faces {
		t.subdivide(f)
	}
	t.faces = t.blocks
	t.layBackLanes()
	t.layCloses()
	t.layPaths()
	t.layPlaces()
	t.bridge()
	t.layHouses()
	t.layPassages()
	t.layGardens()
	t.layFurniture()
	t.join(joins)
	return t
}

func (t *town) between(lo, hi float64) float64 { return lo + (hi-lo)*t.rng.Float64() }

func (t *town) chance(p float64) bool { return t.rng.Float64() < p }

func (t *town) pick(of ...string) string { return of[t.rng.IntN(len(of))] }

func (t *town) add(k kind, at []pt, g tags) *line {
	l := &line{at: at, kind: k, tags: g}
	t.lines = append(t.lines, l)
	return l
}

func (t *town) area(ring []pt, kv ...string) {
	t.areas = append(t.areas, area{ring, tags{}.with(kv...)})
}

func (t *town) spot(p pt, kv ...string) {
	t.places = append(t.places, place{p, tags{}.with(kv...)})
}

func (t *town) layWater() {
	w := smooth(riverLine, 30)
	t.add(river, w, tags{"waterway": "river", "name": "Lissen"})
	t.area(append(offset(w, 13), reversed(offset(w, -13))...), "natural", "water", "water", "river")
	r := smooth(raceLine, 25)
	t.add(race, r, tags{"waterway": "canal", "usage": "millrace", "name": "Mill race"})
	inner := between(r, 14, lengthOf(r)-14)
	t.area(append(offset(inner, 3.5), reversed(offset(inner, -3.5))...), "natural", "water", "water", "canal")
	t.cutFaces(w, river)
	t.cutFaces(r, race)
}

func (t *town) layRail() {
	l := smooth(railLine, 40)
	t.add(rail, l, tags{"railway": "rail", "gauge": "1435", "usage": "branch", "maxspeed": "80"})
	t.cutFaces(l, rail)
}

func (t *town) layMainRoads() {
	west, mid, east := smooth(bridgeRoadWest, 30), smooth(bridgeRoadMiddle, 30), smooth(bridgeRoadEast, 30)
	base := tags{"highway": "primary", "name": "Bridge Road", "surface": "asphalt", "lit": "yes", "maxspeed": "50"}
	t.add(primary, west, base.with("lanes", "2"))
	t.add(primary, east, base.with("lanes", "2", "sidewalk", "both"))
	north, south := carriageway(mid, 9), carriageway(mid, -9)
	dual := base.with("oneway", "yes", "lanes", "2", "sidewalk", "no", "dual_carriageway", "yes")
	t.add(primary, reversed(north), dual)
	t.add(primary, south, dual)
	whole := append(append(append([]pt(nil), west...), north[1:]...), east[1:]...)
	t.cutFaces(whole, primary)
	t.cutFaces(south, primary)
	t.landmarks = append(t.landmarks, landmark{pt{900, -110}, verge, "", 1e5})
	for _, r := range mainRoads {
		at := smooth(r.at, 30)
		at[0], at[len(at)-1] = t.attach(at[0], 45), t.attach(at[len(at)-1], 45)
		l := t.add(r.kind, at, t.streetTags(r.kind, r.name))
		l.railOver = r.name == "Eastmoor Road"
		t.named[r.name] = true
		t.cutFaces(append(at[:len(at):len(at)], r.on...), r.kind)
		t.junction(at[0])
		t.junction(at[len(at)-1])
	}
	t.renameWeirRoad()
	t.markJunctions()
}

func (t *town) renameWeirRoad() {
	for _, l := range t.lines {
		if l.tags["name"] == weirRoad {
			s, _ := project(l.at, renamedAt)
			t.add(l.kind, between(l.at, s, lengthOf(l.at)), t.streetTags(l.kind, weirRoadEast))
			t.named[weirRoadEast] = true
			l.at = between(l.at, 0, s)
			return
		}
	}
}

// markJunctions puts a point into both lines where main roads cross.
func (t *town) markJunctions() {
	t.join(kind.walkable)
	seen := map[key]int{}
	for _, l := range t.lines {
		for _, p := range l.at {
			if seen[p.key()]++; seen[p.key()] == 2 {
				t.junction(p)
			}
		}
	}
	// The faces were cut before: their rings need the same points.
	for _, f := range t.faces {
		f.adopt(t.junctions)
	}
}

func (t *town) junction(p pt) {
	if !t.junctions[p.key()] {
		t.junctions[p.key()] = true
		t.meetings = append(t.meetings, p)
	}
}

// adopt snaps ring points to junctions within a few centimetres.
func (f *face) adopt(j map[key]bool) {
	for i, p := range f.ring {
		for dx := -2.0; dx <= 2; dx++ {
			for dy := -2.0; dy <= 2; dy++ {
				if q := (pt{p.x + dx/100, p.y + dy/100}); j[q.key()] {
					f.ring[i] = pt{float64(q.key().x) / 100, float64(q.key().y) / 100}
				}
			}
		}
	}
}

// carriageway swings out to d metres beside the middle line and back again.
func carriageway(mid []pt, d float64) []pt {
	out := offset(mid, d)
	out[0], out[len(out)-1] = mid[0], mid[len(mid)-1]
	return out
}

// attach is the point of the nearest walkable line within reach, or p itself.
// An end of a line within 3 m draws the point onto it.
func (t *town) attach(p pt, reach float64) pt {
	best, out := reach, p
	for _, l := range t.lines {
		if !l.kind.walkable() || l.layer != 0 {
			continue
		}
		for i := 1; i < len(l.at); i++ {
			q, _ := nearestOn(p, l.at[i-1], l.at[i])
			d := q.dist(p)
			if d >= best {
				continue
			}
			best, out = d, q
			for _, e := range []pt{l.at[i-1], l.at[i]} {
				if e.dist(q) < 3 {
					out = e
				}
			}
		}
	}
	return out
}

// streetTags are what a mapper would have noted on a street of that kind.
func (t *town) streetTags(k kind, name string) tags {
	g := tags{"highway": string(k)}
	if name != "" {
		g["name"] = name
	}
	switch k {
	case primary, secondary:
		g = g.with("surface", "asphalt", "lit", "yes", "maxspeed", "50", "lanes", "2", "sidewalk", "both")
	case tertiary:
		g = g.with("surface", "asphalt", "maxspeed", "50", "sidewalk", t.pick("both", "both", "left", "right"))
		if t.chance(0.8) {
			g["lit"] = "yes"
		}
	case unclassified:
		g = g.with("surface", "asphalt", "maxspeed", "70", "sidewalk", "no", "lit", "no")
	case residential:
		g = g.with("surface", t.pick("asphalt", "asphalt", "asphalt", "paving_stones"), "maxspeed", "30")
		if s := t.pick("both", "both", "both", "both", "both", "left", "right", "no", ""); s != "" {
			g["sidewalk"] = s
		}
		if t.chance(0.85) {
			g["lit"] = "yes"
		}
		if t.chance(0.15) {
			g["width"] = t.pick("5", "5.5", "6", "4.8")
		}
	case living:
		g = g.with("surface", t.pick("sett", "paving_stones"), "lit", "yes", "maxspeed", "7")
	case worksRoad:
		g = g.with("surface", "concrete", "lit", "yes")
	}
	return g
}

// addStreet lays the street that parts a block. An end at the water, the
// railway or the rim stops short and is a dead end.
func (t *town) addStreet(way []pt, f *face, a, b crossing, k kind) {
	start, end := f.sides[a.side], f.sides[b.side]
	length := lengthOf(way)
	s0, s1 := 0.0, length
	if open(start) {
		s0 = 34
	} else if k == hedge {
		s0 = 6
	}
	if open(end) {
		s1 -= 34
	} else if k == hedge {
		s1 -= 6
	}
	if s1-s0 < 40 || (open(start) && open(end)) {
		return
	}
	if k == hedge {
		t.add(hedge, between(way, s0, s1), tags{"barrier": "hedge"})
		return
	}
	if k == residential && length > 520 {
		k = unclassified
	}
	at := way
	if s0 > 0 || s1 < length {
		at = between(way, s0, s1)
	}
	l := t.add(k, at, t.streetTags(k, t.nameFor(k)))
	if k == unclassified {
		l.tags = l.tags.with("maxspeed", "50", "sidewalk", "both", "lit", "yes")
	}
	if k == worksRoad && t.chance(0.35) {
		t.closeOff(l)
	}
	for i, p := range []pt{at[0], at[len(at)-1]} {
		if (i == 0 && s0 == 0) || (i == 1 && s1 == length) {
			t.junction(p)
			continue
		}
		t.nodeTags[p.key()] = tags{"highway": "turning_circle"}
		l.tags["noexit"] = "yes"
	}
}

// closeOff makes a works road private, with a barrier at its mouth.
func (t *town) closeOff(l *line) {
	l.tags["access"] = "private"
	l.at = insert(l.at, 14)
	p, _ := at(l.at, 14)
	t.nodeTags[p.key()] = tags{"barrier": "lift_gate", "access": "private"}
}

// open tells the sides where a street cannot end in a junction.
func open(k kind) bool { return !k.walkable() }

// layBackLanes gives deep terraced blocks a lane behind the gardens.
func (t *town) layBackLanes() {
	var out []*face
	for _, f := range t.faces {
		b := boxOf(f.ring)
		if f.use != terraces || b.short < 46 || b.short > 100 || b.long < 80 {
			out = append(out, f)
			continue
		}
		l := bowed(b.mid, b.along, b.long*2, 0)
		way, x, y, ok := t.place(f, l, b.mid, 18)
		if !ok || open(f.sides[x.side]) || open(f.sides[y.side]) {
			out = append(out, f)
			continue
		}
		g, h := f.divide(way, x, y, alley)
		out = append(out, g, h)
		lane := t.add(alley, way, tags{"highway": "service", "service": "alley", "surface": t.pick("sett", "concrete", "gravel"), "lit": "no"})
		if t.chance(0.12) {
			p, _ := at(way, 9)
			lane.at = insert(way, 9)
			t.nodeTags[p.key()] = tags{"barrier": "gate", "access": "private", "locked": "yes"}
		}
		if t.chance(0.3) {
			lane.tags["name"] = t.nameFor(alley)
		}
		t.junction(x.p)
		t.junction(y.p)
	}
	t.faces = out
}

// insert puts a point at s metres into a copy of l.
func insert(l []pt, s float64) []pt {
	p, _ := at(l, s)
	var out []pt
	var run float64
	for i, q := range l {
		if i > 0 {
			d := l[i-1].dist(q)
			if run < s && run+d >= s && p.dist(q) > 0.3 && p.dist(l[i-1]) > 0.3 {
				out = append(out, p)
			}
			run += d
		}
		out = append(out, q)
	}
	return out
}

// layCloses leads cul-de-sacs into blocks that are too deep for two rows.
func (t *town) layCloses() {
	for _, f := range t.faces {
		b := boxOf(f.ring)
		if (f.use != detached && f.use != semis && f.use != flats) || b.short < 92 || b.long < 105 {
			continue
		}
		for _, side := range []float64{1, -1} {
			if t.layClose(f, b, side) {
				break
			}
		}
	}
}

func (t *town) layClose(f *face, b box, side float64) bool {
	mid := b.mid.add(b.along.times(t.between(-0.1, 0.1) * b.long))
	across := b.along.left().times(side)
	way, x, y, ok := t.place(f, bowed(mid, across, b.short*2.5, 0.02), mid, 20)
	if !ok || open(f.sides[x.side]) || f.sides[x.side] == alley {
		return false
	}
	length := lengthOf(way)
	stop := length - 42
	if stop < 38 {
		return false
	}
	piece := between(way, 0, stop)
	end := piece[len(piece)-1]
	g := t.streetTags(residential, t.nameFor(residential, "Close", "Court", "Garth"))
	delete(g, "width")
	if t.chance(0.12) {
		g = g.with("access", "private")
		delete(g, "sidewalk")
	}
	l := t.add(residential, piece, g)
	t.junction(x.p)
	t.nodeTags[end.key()] = tags{"highway": "turning_circle"}
	// Every third close goes on as a footpath to the street behind.
	if !open(f.sides[y.side]) && t.chance(0.4) {
		way := between(way, stop, length)
		t.add(footway, way, tags{"highway": "footway", "surface": "asphalt", "lit": "no"})
		p, _ := at(way, 20)
		t.lines[len(t.lines)-1].at = insert(way, 20)
		t.nodeTags[p.key()] = tags{"barrier": "bollard"}
		return true
	}
	l.tags["noexit"] = "yes"
	return true
}
