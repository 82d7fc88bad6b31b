package homes

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// Homes against people. Where a map has few or no buildings, homes are spread along
// streets, which makes too few of them in a dense town. Settlements and boundaries
// that say how many people live in them mend that: homes spread along streets are
// scaled to fit; homes in mapped buildings are left, and the answer says how far
// both lie apart. All numbers are our assumption.
const (
	scaleLeast   = 0.5 // homes along streets are changed by no more than this,
	scaleMost    = 4.0 // or this
	scaleSlack   = 1.2 // nor at all where people and homes agree within this
	townPerKM2   = 2000.0
	townSpread   = 1.3 // a settlement reaches so much farther than a disc of townPerKM2
	leastPeople  = 100
	mostPeople   = 5e7
	wholeInside  = 0.9 // share of a settlement without a boundary that must lie in the map's hull
	discSamples  = 64
	leastOwnArea = 1e4 // m2
)

// Settlement is ground with a known number of people. Places are longitude and latitude
// in degrees.
type Settlement struct {
	OSM     string
	People  float64
	Persons float64    // a household
	AreaM2  float64    //
	Area    []Line     // rings: an outer one, its holes, the next outer one; none: a disc
	Outer   []bool     // by ring
	At      [2]float64 // the middle of the disc
	ReachM  float64    // its radius
	Factor  float64    // of the homes along its streets

	// Of a settlement of the whole map: people that it says and people at homes there, where
	// no inner one says so, and dwellings added.
	Said, Housed, Added float64
}

// Held is how many dwellings lie in one and the same settlements, named by their OSM
// objects.
type Held struct {
	In           []string
	Fixed, Loose float64 // in mapped buildings, along streets
}

// Share is what the homes of a part of a map tell of the whole.
type Share struct {
	Border      Line // the hull of its streets
	Settlements []Settlement
	Held        []Held
	Homes       Box // about all of its homes, its core's or not
}

// Whole is what all parts of a map told: the border of its streets, and how homes along
// streets are changed in its settlements, the innermost first.
type Whole struct {
	Border      Line
	Settlements []Settlement
}

// Totals are the people that settlements say, the people at homes there, and the dwellings
// that were added.
func (w *Whole) Totals() (said, housed, added float64) {
	for i := range w.Settlements {
		s := &w.Settlements[i]
		said, housed, added = said+s.Said, housed+s.Housed, added+s.Added
	}
	return said, housed, added
}

// shape is a settlement on the plane.
type shape struct {
	area   []plane.Polygon // none: a disc
	at     plane.Point
	reachM float64
}

func (s *Settlement) shape(f plane.Frame) shape {
	out := shape{at: f.Forward(s.At[0], s.At[1]), reachM: s.ReachM}
	for i, ring := range s.Area {
		r := make(plane.Ring, len(ring))
		for k, p := range ring {
			r[k] = f.Forward(p[0], p[1])
		}
		if s.Outer[i] {
			out.area = append(out.area, plane.Polygon{Outer: r})
		} else {
			last := &out.area[len(out.area)-1]
			last.Holes = append(last.Holes, r)
		}
	}
	return out
}

// holds tells whether a place lies in the settlement.
func (s *shape) holds(p plane.Point) bool {
	if len(s.area) == 0 {
		return s.at.DistanceM(p) <= s.reachM
	}
	return slices.ContainsFunc(s.area, func(g plane.Polygon) bool { return g.Contains(p) })
}

func (s *shape) box() plane.Box {
	if len(s.area) == 0 {
		return plane.Box{Min: s.at, Max: s.at}.Grown(s.reachM)
	}
	box := plane.EmptyBox()
	for _, g := range s.area {
		box = box.Union(g.Box())
	}
	return box
}

// settlements lists what an extract has.
func settlements(x *osmdata.Extract, persons float64) (out []Settlement) {
	for i := range x.Features {
		ft := &x.Features[i]
		if ft.As != exposure.Settlement {
			continue
		}
		n, ok := peopleOf(ft.Tags["population"])
		if !ok {
			continue
		}
		s := Settlement{OSM: ft.OSM, People: n, Persons: persons, Factor: 1}
		s.At[0], s.At[1] = x.Frame.Inverse(ft.Point)
		if s.AreaM2 = 1e4 * plane.AreaHa(ft.Areas); s.AreaM2 >= leastOwnArea {
			for _, g := range ft.Areas {
				for k, r := range append([]plane.Ring{g.Outer}, g.Holes...) {
					s.Area, s.Outer = append(s.Area, degrees(x.Frame, r)), append(s.Outer, k == 0)
				}
			}
		} else {
			s.AreaM2 = n / townPerKM2 * 1e6
			s.ReachM = townSpread * math.Sqrt(s.AreaM2/math.Pi)
		}
		out = append(out, s)
	}
	return out
}

func degrees(f plane.Frame, list []plane.Point) Line {
	out := make(Line, len(list))
	for i, p := range list {
		out[i][0], out[i][1] = f.Inverse(p)
	}
	return out
}

func onPlane(f plane.Frame, list Line) []plane.Point {
	out := make([]plane.Point, len(list))
	for i, p := range list {
		out[i] = f.Forward(p[0], p[1])
	}
	return out
}

// ShareOf is what an extract tells of the whole map that it is a part of, where a
// household has so many persons. Of homes and streets only those count that lie in its
// core, of which no other part's has any; nil takes all.
func ShareOf(x *osmdata.Extract, persons float64, core func(lonDeg, latDeg float64) bool) Share {
	return list(x).share(x, persons, core)
}

func (h *Homes) share(x *osmdata.Extract, persons float64, core func(lonDeg, latDeg float64) bool) Share {
	inside := func(p plane.Point) bool { return core == nil || core(h.Earth.Degrees(p)) }
	var ends []plane.Point
	for i := range x.Streets {
		l := x.Streets[i].Line
		for _, p := range []plane.Point{l[0], l[len(l)-1]} {
			if inside(p) {
				ends = append(ends, p)
			}
		}
	}
	out := Share{Border: degrees(x.Frame, plane.HullOf(ends)), Settlements: settlements(x, persons)}
	for i := range h.list {
		out.Homes = out.Homes.with(h.Earth.Degrees(h.list[i].at))
	}
	if persons <= 0 || len(out.Settlements) == 0 {
		return out
	}
	index := h.points()
	in := make([][]string, len(h.list)) // by home: the settlements that have it
	for i := range out.Settlements {
		s := out.Settlements[i].shape(x.Frame)
		for _, k := range index.InBox(s.box(), 1, nil) {
			if at := h.list[k].at; s.holds(at) && inside(at) {
				in[k] = append(in[k], out.Settlements[i].OSM)
			}
		}
	}
	row := map[string]int{}
	for k, names := range in {
		if len(names) == 0 {
			continue
		}
		key := strings.Join(names, " ")
		r, ok := row[key]
		if !ok {
			r = len(out.Held)
			row[key] = r
			out.Held = append(out.Held, Held{In: names})
		}
		if n := h.list[k].houses + h.list[k].flats; k < h.fromStreet {
			out.Held[r].Loose += n
		} else {
			out.Held[r].Fixed += n
		}
	}
	return out
}

// points is an index of the homes.
func (h *Homes) points() *plane.Index {
	points := make([]plane.Segment, len(h.list))
	for i := range h.list {
		points[i] = plane.Segment{A: h.list[i].at, B: h.list[i].at, ID: int32(i), Mask: 1}
	}
	return plane.NewIndex(points, tileM)
}

// Gatherer puts the shares of all parts of a map together, one after the other: outlines
// that several of them tell are kept once. The zero value is good.
type Gatherer struct {
	border      Line
	settlements []Settlement
	at          map[string]int // index into settlements
	held        []Held
}

// Add adds a share.
func (g *Gatherer) Add(s *Share) {
	if g.at == nil {
		g.at = map[string]int{}
	}
	g.border = append(g.border, s.Border...)
	g.held = append(g.held, s.Held...)
	for _, s := range s.Settlements {
		k, ok := g.at[s.OSM]
		switch {
		case !ok:
			g.at[s.OSM] = len(g.settlements)
			g.settlements = append(g.settlements, s)
		case len(s.Area) > 0 && (len(g.settlements[k].Area) == 0 || s.AreaM2 > g.settlements[k].AreaM2): // a part may have a piece of it
			g.settlements[k] = s
		}
	}
}

// Whole is what all that was added comes to.
func (g *Gatherer) Whole() *Whole {
	out := &Whole{}
	if len(g.border) == 0 {
		return out
	}
	f := plane.NewFrame(g.border[0][0], g.border[0][1])
	hull := plane.HullOf(onPlane(f, g.border))
	out.Border = degrees(f, hull)
	out.Settlements = known(g.settlements, f, hull)
	rank := map[string]int{}
	for i := range out.Settlements {
		rank[out.Settlements[i].OSM] = i
	}
	rows := make([][]Held, len(out.Settlements)) // by settlement: what lies in it
	owner := make([][]int, len(rows))            // beside rows: the innermost that has it
	for _, h := range g.held {
		first := len(rows)
		for _, name := range h.In {
			if r, ok := rank[name]; ok {
				first = min(first, r)
			}
		}
		for _, name := range h.In {
			if r, ok := rank[name]; ok {
				rows[r], owner[r] = append(rows[r], h), append(owner[r], first)
			}
		}
	}
	for i := range out.Settlements {
		out.fit(i, rows[i], owner[i])
	}
	return out
}

// known lists the settlements that count, innermost first: smallest first, bounded ones
// before discs. What a larger one has beyond those inside it is its own.
func known(all []Settlement, f plane.Frame, hull plane.Hull) []Settlement {
	out := slices.DeleteFunc(slices.Clone(all), func(s Settlement) bool {
		on := s.shape(f)
		return len(s.Area) == 0 && !on.liesIn(hull)
	})
	slices.SortFunc(out, func(a, b Settlement) int {
		return cmp.Or(cmp.Compare(bitOf(len(a.Area) == 0), bitOf(len(b.Area) == 0)), cmp.Compare(a.AreaM2, b.AreaM2), cmp.Compare(a.OSM, b.OSM))
	})
	return out
}

// fit scales the homes along streets of one settlement that no inner one has.
func (w *Whole) fit(i int, rows []Held, owner []int) {
	s := &w.Settlements[i]
	var fixed, loose, before float64
	own := false
	for k, h := range rows {
		if owner[k] < i {
			before += h.Fixed + w.Settlements[owner[k]].Factor*h.Loose
			continue
		}
		own = true
		fixed, loose = fixed+h.Fixed, loose+h.Loose
	}
	people := s.People / s.Persons
	s.Factor = 1
	if all := before + fixed + loose; loose > 0 && (people > scaleSlack*all || people*scaleSlack < all) {
		s.Factor = min(scaleMost, max(scaleLeast, (people-before-fixed)/loose))
	}
	s.Added = (s.Factor - 1) * loose
	if own && before == 0 { // innermost ones, so that nobody is told of twice
		s.Said, s.Housed = s.People, s.Persons*(fixed+s.Factor*loose)
	}
}

func bitOf(b bool) int {
	if b {
		return 1
	}
	return 0
}

// liesIn tells whether a hull has about all of a settlement without a boundary.
func (s *shape) liesIn(h plane.Hull) bool {
	if len(h) < 3 {
		return false
	}
	inside, ring := 0, plane.Ring(h)
	for i := range discSamples { // on a sunflower's spiral, even over the disc
		r, phi := s.reachM*math.Sqrt((float64(i)+.5)/discSamples), float64(i)*math.Pi*(3-math.Sqrt(5))
		if ring.Contains(s.at.Add(plane.Point{X: r * math.Cos(phi), Y: r * math.Sin(phi)})) {
			inside++
		}
	}
	return float64(inside) >= wholeInside*discSamples
}

// peopleOf reads a population tag: 12345, 12,345 or 12 345.
func peopleOf(text string) (float64, bool) {
	n, err := strconv.ParseFloat(strings.NewReplacer(",", "", " ", "", "'", "").Replace(text), 64)
	return n, err == nil && n >= leastPeople && n <= mostPeople
}

// hold scales the homes spread along streets as the whole map says.
func (h *Homes) hold(x *osmdata.Extract, w *Whole) {
	h.Border = onPlane(x.Frame, w.Border)
	h.people.said, h.people.housed, h.people.added = w.Totals()
	if len(w.Settlements) == 0 {
		return
	}
	index := h.points()
	done := make([]bool, len(h.list))
	var bounds plane.Box
	for i := range h.list {
		if bounds = bounds.With(h.list[i].at); i == 0 {
			bounds = plane.Box{Min: h.list[0].at, Max: h.list[0].at}
		}
	}
	for k := range w.Settlements {
		s := w.Settlements[k].shape(x.Frame)
		if !s.box().Intersects(bounds) {
			continue
		}
		for _, i := range index.InBox(s.box(), 1, nil) {
			if hm := &h.list[i]; !done[i] && s.holds(hm.at) {
				done[i] = true
				if int(i) < h.fromStreet {
					hm.houses *= w.Settlements[k].Factor
					hm.flats *= w.Settlements[k].Factor
				}
			}
		}
	}
}

// people is what settlements say against the homes there, over all that were held.
type people struct {
	said, housed float64 // after scaling
	added        float64 // dwellings
}
