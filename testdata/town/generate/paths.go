package main

// Paths, tracks and pavements drawn by hand over the finished streets. Ends
// within reach of a street or an earlier path are drawn onto it.

type drawnPath struct {
	kind kind
	name string
	at   []pt
	tags tags
}

var (
	gravel  = tags{"surface": "fine_gravel", "lit": "no"}
	ground  = tags{"surface": "ground", "lit": "no"}
	paved   = tags{"surface": "asphalt", "lit": "yes"}
	compact = tags{"surface": "compacted", "lit": "no"}
)

var handPaths = []drawnPath{
	// Kiln Park.
	{footway, "", []pt{{-262, 560}, {-190, 530}, {-120, 480}, {-30, 445}, {60, 400}, {150, 385}}, paved},
	{footway, "", []pt{{-200, 310}, {-185, 380}, {-120, 480}, {-95, 560}, {-110, 632}}, paved},
	{footway, "", []pt{{40, 312}, {45, 360}, {60, 400}, {80, 480}, {60, 560}, {50, 645}}, gravel},
	{footway, "", []pt{{-268, 400}, {-225, 395}, {-185, 380}}, gravel},
	// Two ways round the pond, parting and meeting at the same two points.
	{footway, "", []pt{{-120, 480}, {-98, 512}, {-60, 528}, {-18, 516}, {0, 484}, {-30, 445}}, gravel},
	{footway, "", []pt{{80, 480}, {120, 500}, {160, 470}, {178, 440}}, gravel},
	{footpath, "", []pt{{-190, 530}, {-170, 585}, {-95, 590}, {-10, 600}, {60, 560}}, ground},
	// The race and the river.
	{footway, "Race Walk", []pt{{-570, 912}, {-566, 850}, {-545, 790}, {-425, 660}, {-402, 600}, {-384, 420}, {-408, 205}, {-368, 0}, {-388, -200}, {-378, -380}, {-408, -520}, {-416, -612}}, compact.with("width", "2.5")},
	{footpath, "Holm Path", []pt{{-622, 780}, {-560, 700}, {-490, 560}, {-480, 420}, {-520, 200}, {-450, 20}, {-470, -160}, {-470, -190}}, ground},
	{footway, "Fuller's Bridge", []pt{{-720, 318}, {-660, 330}, {-590, 335}, {-490, 330}, {-420, 332}, {-390, 332}}, compact},
	{footway, "", []pt{{-372, 128}, {-396, 130}}, paved},
	{footway, "", []pt{{98, 572}, {132, 566}}, gravel},
	{footway, "", []pt{{62, 545}, {98, 572}}, gravel},
	{footway, "", []pt{{-450, 20}, {-410, 40}, {-372, 38}}, compact},
	{footpath, "River Path", []pt{{-702, 1180}, {-680, 1070}, {-742, 800}, {-640, 600}, {-600, 525}, {-652, 230}, {-538, -60}, {-600, -330}, {-470, -620}, {-520, -880}, {-372, -1120}, {-340, -1330}}, compact},
	{footpath, "", []pt{{-385, -185}, {-440, -330}, {-446, -450}, {-416, -490}, {-398, -500}}, ground},
	{footpath, "Lissen Bank", []pt{{-416, -612}, {-388, -640}, {-440, -880}, {-395, -985}, {-290, -1120}, {-262, -1330}}, ground},
	{footpath, "", []pt{{-742, 800}, {-800, 790}, {-876, 770}}, ground},
	// The wood and its tracks.
	{track, "", []pt{{-905, 990}, {-980, 960}, {-1080, 1000}, {-1180, 960}, {-1290, 1010}, {-1450, 980}}, ground.with("tracktype", "grade3")},
	{track, "", []pt{{-1080, 1000}, {-1060, 880}, {-1120, 780}, {-1090, 690}, {-1100, 600}}, ground.with("tracktype", "grade4")},
	{footpath, "", []pt{{-880, 800}, {-960, 820}, {-1060, 880}, {-1180, 860}, {-1250, 780}, {-1260, 690}, {-1240, 588}}, ground},
	{footpath, "", []pt{{-980, 960}, {-1000, 1060}, {-1100, 1120}, {-1200, 1090}, {-1180, 960}}, ground},
	{footpath, "", []pt{{-960, 820}, {-985, 740}, {-1010, 590}}, ground},
	// Fields.
	{track, "Clay Track", []pt{{480, 1040}, {520, 1120}, {500, 1220}, {560, 1330}}, ground.with("tracktype", "grade2")},
	{footpath, "", []pt{{205, 1080}, {330, 1110}, {520, 1120}, {700, 1110}, {745, 1120}}, ground},
	{track, "", []pt{{-100, 965}, {-130, 1080}, {-60, 1200}, {-80, 1330}}, ground.with("tracktype", "grade3")},
	{footpath, "", []pt{{-560, 925}, {-480, 1010}, {-330, 1060}, {-130, 1080}, {40, 1060}, {200, 1080}}, ground},
	{track, "", []pt{{450, -1015}, {470, -1120}, {420, -1220}, {440, -1330}}, ground.with("tracktype", "grade2")},
	{footpath, "", []pt{{36, -1100}, {200, -1130}, {470, -1120}, {700, -1150}, {895, -1120}}, ground},
	{footpath, "", []pt{{-300, -1100}, {-180, -1080}, {36, -1100}}, ground},
	{track, "", []pt{{1195, 300}, {1280, 310}, {1450, 280}}, ground.with("tracktype", "grade2")},
	{footpath, "", []pt{{1212, -112}, {1270, -220}, {1290, -420}, {1240, -560}, {1160, -610}}, ground},
	{footpath, "", []pt{{1160, -610}, {1172, -680}, {1210, -800}, {1250, -965}}, ground},
	{track, "", []pt{{-822, -1050}, {-960, -1030}, {-1150, -1060}, {-1300, -990}, {-1450, -1010}}, ground.with("tracktype", "grade3")},
	{footpath, "", []pt{{-1275, 250}, {-1340, 260}, {-1450, 230}}, ground},
	// Towpath of no return: a summer path under water in winter.
	{footpath, "Withy Path", []pt{{-620, -1000}, {-560, -1010}, {-470, -960}}, ground.with("foot:conditional", "no @ (Nov-Mar)", "seasonal", "summer")},
	{footpath, "", []pt{{-825, -1050}, {-720, -1040}, {-620, -1000}, {-600, -900}, {-520, -880}}, ground},
	// Under the railway, the way to school.
	{footway, "", []pt{{560, -560}, {575, -640}, {560, -720}, {545, -790}, {520, -880}, {505, -1005}}, paved},
	// An old ropewalk for people on foot only, closed to the rest.
	{footway, "The Ropewalk", []pt{{-380, -330}, {-300, -345}, {-160, -350}, {20, -352}}, paved.with("access", "no", "foot", "yes")},
	// Where dogs may not go.
	{footway, "Lamp Garden Walk", []pt{{75, 60}, {130, 76}, {190, 110}}, paved.with("dog", "no")},
	{cycleway, "", []pt{{690, 160}, {860, 190}, {1000, 170}, {1195, 190}}, paved.with("foot", "designated", "bicycle", "designated", "segregated", "no")},
}

func (t *town) layPaths() {
	for _, d := range handPaths {
		at := smooth(d.at, 22)
		at[0], at[len(at)-1] = t.attach(at[0], 40), t.attach(at[len(at)-1], 40)
		g := d.tags.with("highway", string(d.kind))
		if d.name != "" {
			g["name"] = d.name
		}
		t.add(d.kind, at, g)
	}
	t.join(kind.walkable)
	t.layOverAndUnder()
	t.laySidewalks()
	t.layOddities()
	t.joinDeadEnds()
}

// joinDeadEnds leads a footpath from a street that stops at the water or the
// railway to the path that runs there.
func (t *town) joinDeadEnds() {
	for _, l := range append([]*line(nil), t.lines...) {
		if l.kind != residential || l.tags["noexit"] == "" {
			continue
		}
		way := l.at
		if t.nodeTags[way[0].key()]["highway"] == "turning_circle" {
			way = reversed(way)
		}
		end := way[len(way)-1]
		ahead := end.sub(way[len(way)-2])
		for _, q := range t.lines {
			if q.kind != footway && q.kind != footpath || q.layer != 0 {
				continue
			}
			s, d := project(q.at, end)
			if p, _ := at(q.at, s); d > 5 && d < 45 && p.sub(end).dot(ahead) > 0 && t.chance(0.8) {
				t.add(footway, []pt{end, p}, paved.with("highway", "footway"))
				delete(l.tags, "noexit")
				break
			}
		}
	}
}

// layOverAndUnder builds the footbridge above Bridge Road's two carriageways,
// with a flight of steps at each end, and the subway under the railway.
func (t *town) layOverAndUnder() {
	north, south := t.attach(pt{905, 10}, 90), t.attach(pt{890, -235}, 120)
	a, b := pt{902, -78}, pt{898, -145}
	g := paved.with("name", "Moor Bridge")
	t.add(footway, []pt{north, {904, -50}}, g.with("highway", "footway"))
	t.add(steps, []pt{{904, -50}, a}, g.with("highway", "steps", "step_count", "32", "incline", "up", "handrail", "yes"))
	over := t.add(footway, []pt{a, b}, g.with("highway", "footway", "bridge", "yes", "layer", "1"))
	over.layer = 1
	t.add(steps, []pt{{896, -172}, b}, g.with("highway", "steps", "step_count", "32", "incline", "up", "handrail", "yes"))
	t.add(footway, []pt{{896, -172}, south}, g.with("highway", "footway"))
	var out []*line
	for _, l := range t.lines {
		s := crossingsAt(l.at, smooth(railLine, 40))
		if l.kind == footway && len(s) == 1 && l.tags["lit"] == "yes" {
			out = append(out, l.raise([][2]float64{{s[0] - 12, s[0] + 12}}, -1, "tunnel", "yes")...)
			continue
		}
		out = append(out, l)
	}
	t.lines = out
}

// laySidewalks maps the pavements of Bridge Road through the centre as ways of
// their own, with crossings between them.
func (t *town) laySidewalks() {
	var road *line
	for _, l := range t.lines {
		if l.tags["name"] == "Bridge Road" && l.tags["oneway"] == "" && l.at[0].x < 0 {
			road = l
		}
	}
	s0, _ := project(road.at, pt{-330, -180})
	s1, _ := project(road.at, pt{495, -162})
	p0, _ := at(road.at, s0)
	p1, _ := at(road.at, s1)
	for _, d := range []float64{8.5, -8.5} {
		side := offset(between(road.at, s0+9, s1-9), d)
		side = append(append([]pt{p0}, side...), p1)
		t.add(sidewalk, side, paved.with("highway", "footway", "footway", "sidewalk", "surface", "paving_stones"))
	}
	for i, x := range []float64{-210, -40, 118, 300, 430} {
		s, _ := project(road.at, pt{x, -150})
		p, u := at(road.at, s)
		n := u.left()
		t.add(footway, []pt{p.add(n.times(8.5)), p, p.add(n.times(-8.5))}, paved.with("highway", "footway", "footway", "crossing"))
		t.nodeTags[p.key()] = tags{"highway": "crossing", "crossing": []string{"zebra", "traffic_signals"}[i%2], "tactile_paving": "yes"}
	}
	var out []*line
	for _, l := range t.lines {
		if l != road {
			out = append(out, l)
			continue
		}
		a, b, c := *l, *l, *l
		a.at, b.at, c.at = between(l.at, 0, s0), between(l.at, s0, s1), between(l.at, s1, lengthOf(l.at))
		a.tags = l.tags.with("sidewalk", "both")
		b.tags = l.tags.with("sidewalk", "separate")
		c.tags = l.tags.with("sidewalk", "left")
		out = append(out, &a, &b, &c)
	}
	t.lines = out
}

// layOddities adds what every real extract has somewhere: a fragment joined to
// nothing, a ring joined to nothing, two nodes at one place, a missing node.
func (t *town) layOddities() {
	t.add(footpath, []pt{{-1010, -1140}, {-975, -1120}, {-950, -1128}}, ground.with("highway", "path"))
	ring := ellipse(pt{-1330, 1120}, 34, 26, 18)
	ring[0] = pt{-1296, 1120}
	t.add(track, append(ring, ring[0]), ground.with("highway", "track", "note", "training ring"))
	for _, l := range t.lines {
		l.doubled = l.tags["name"] == "Holm Path"
	}
	t.add(track, []pt{t.attach(pt{1235, 80}, 40), {1262, 86}, {1280, 84}, {1302, 78}, {1330, 92}},
		ground.with("highway", "track", "name", "Plough Track")).gap = true
	t.add(ferry, []pt{{-552, -1000}, {-505, -985}, {-450, -965}, {-412, -945}}, tags{"route": "ferry", "name": "Withy Ferry", "foot": "yes", "dog": "yes"})
}
