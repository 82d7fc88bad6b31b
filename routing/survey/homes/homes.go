// Package homes finds out where people live: dwellings in buildings and along streets,
// held against what settlements say of their people, put on a network, and how thick they
// lie on the ground. It hides which of its sources holds where.
package homes

import (
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// Where people live. Two sources, chosen tile by tile, since nearly every extract
// is mixed: buildings where they are mapped, else the length of the streets. Held
// against two real places the numbers came within 6 % of their households in a
// measured prototype. All constants are our assumption.
const (
	tileM              = 500.0
	leastBuildingsKM   = 10.0 // buildings for each km of weighted street that make a tile count as mapped
	dwellingsPerKM     = 50.0 // of residential street
	streetPieceM       = 50.0 // streets are counted in pieces of this length, from the way's first node
	homeSnapM          = 100.0
	homeToNetworkM     = 150.0
	livableShare       = 0.75 // of a building's floors
	dwellingM2         = 85.0
	terraceM2          = 60.0 // of ground for each house of a terrace
	shedM2             = 40.0 // below it a building without a use is no home
	houseM2            = 250.0
	usualFlatLevels    = 3.0
	usualLevels        = 2.0
	halfOfUnknownHomes = 0.5 // of large buildings without a use
)

// streetWeight is how much of a street's length counts as lined with homes.
func streetWeight(s *osmdata.Street) float64 {
	if s.Flags&(osmdata.FlagPavement|osmdata.FlagCrossing|osmdata.FlagLink|osmdata.FlagTunnel|osmdata.FlagBridge|osmdata.FlagDriveway) != 0 {
		return 0
	}
	switch s.Class {
	case osmdata.Residential, osmdata.LivingStreet:
		return 1
	case osmdata.Unclassified:
		return 0.3
	case osmdata.Tertiary:
		return 0.2
	}
	return 0
}

// fronted tells whether buildings stand along a street: what homes snap to. Never
// a pavement beside a street, or half of a street's people would be on one of
// three parallel lines.
func fronted(s *osmdata.Street) bool {
	const not = osmdata.FlagPavement | osmdata.FlagCrossing | osmdata.FlagLink | osmdata.FlagTunnel | osmdata.FlagDriveway | osmdata.FlagAreaEdge
	return s.Flags&not == 0 && s.Class >= osmdata.Primary && s.Class <= osmdata.Pedestrian
}

// home is a number of dwellings at a place on a street.
type home struct {
	street        int32 // index into the extract's streets
	alongM        float64
	at            plane.Point
	houses, flats float64
	built         plane.Point // the middle of its building; of homes along a street their place there
}

// dwellings tells how many homes a building holds, in houses or in flats.
func dwellings(b *osmdata.Building) (houses, flats float64) {
	area := b.Area.AreaM2()
	levels := float64(b.Levels)
	switch b.Use {
	case "house", "detached", "semidetached_house", "bungalow", "farm", "static_caravan", "cabin", "villa":
		return 1, 0
	case "terrace":
		return max(1, area/terraceM2), 0
	case "apartments", "residential", "dormitory":
		if levels <= 0 {
			levels = usualFlatLevels
		}
		return 0, area * levels * livableShare / dwellingM2
	case "yes":
		switch {
		case area < shedM2:
			return 0, 0
		case area < houseM2:
			return 1, 0
		}
		if levels <= 0 {
			levels = usualLevels
		}
		return 0, area * levels * halfOfUnknownHomes * livableShare / dwellingM2
	}
	return 0, 0
}

// Homes is what is known of where people live.
type Homes struct {
	list       []home
	Earth      *plane.Earth
	Border     plane.Hull            // of the streets of the whole map
	byBuilding map[plane.Square]bool // squares of tileM whose homes come from buildings
	Lost       float64               // dwellings of buildings too far from any street
	fromStreet int                   // the first so many of list were spread along streets
	people     people                // that settlements in the map say, against the homes
	density                          // of dwellings
}

// Find lists the homes of an extract, held against what the settlements of the whole
// map say of their people where a household has so many persons; nil takes the extract
// for the whole.
func Find(x *osmdata.Extract, persons float64, whole *Whole) *Homes {
	h := list(x)
	if whole == nil {
		share := h.share(x, persons, nil)
		g := &Gatherer{}
		g.Add(&share)
		whole = g.Whole()
	}
	h.hold(x, whole)
	h.density = h.newDensity(x)
	return h
}

// list lists the homes of an extract.
func list(x *osmdata.Extract) *Homes {
	h := &Homes{byBuilding: map[plane.Square]bool{}, Earth: plane.NewEarth(x.Frame)}
	pieces := streetPieces(x)
	km, count := map[plane.Square]float64{}, map[plane.Square]float64{}
	tiles := make([]plane.Square, len(pieces))
	for i, p := range pieces {
		tiles[i] = h.Tile(p.at)
		km[tiles[i]] += p.houses / dwellingsPerKM
	}
	for i := range x.Buildings {
		if houses, flats := dwellings(&x.Buildings[i]); houses+flats > 0 {
			count[h.Tile(x.Buildings[i].Area.Centroid())]++
		}
	}
	for t, n := range count {
		h.byBuilding[t] = n >= leastBuildingsKM*km[t]
	}
	for i, p := range pieces {
		if !h.byBuilding[tiles[i]] {
			h.list = append(h.list, p)
		}
	}
	h.fromStreet = len(h.list)
	h.addBuildings(x)
	return h
}

// Apart are the same homes for somebody who asks beside others: what was asked for
// before is remembered without a lock.
func (h *Homes) Apart() *Homes {
	own := *h
	own.Earth, own.perKM2 = h.Earth.Apart(), map[plane.Square]float64{}
	return &own
}

// Tile is the square of tileM that a place lies in.
func (h *Homes) Tile(p plane.Point) plane.Square { return h.Earth.Square(p, tileM) }

// Mapped tells whether the homes about a place come from buildings.
func (h *Homes) Mapped(p plane.Point) bool { return h.byBuilding[h.Tile(p)] }

// Count adds to totals how many dwellings come from buildings, and how homes and the
// people that settlements say agree.
func (h *Homes) Count(totals map[string]float64) {
	for i := range h.list {
		if h.byBuilding[h.Tile(h.list[i].at)] {
			totals["dwellings by building"] += h.list[i].houses + h.list[i].flats
		}
	}
	totals["people that settlements say"], totals["people at homes there"] = h.people.said, h.people.housed
	totals["dwellings to fit the people"] = h.people.added
}

// streetPieces spreads homes along the streets.
func streetPieces(x *osmdata.Extract) []home {
	var out []home
	for i := range x.Streets {
		s := &x.Streets[i]
		w := streetWeight(s)
		if w == 0 {
			continue
		}
		length := s.Line.LengthM()
		for from := 0.0; from < length; from += streetPieceM {
			to := min(length, from+streetPieceM)
			mid := (from + to) / 2
			at := s.Line.At(mid)
			out = append(out, home{int32(i), mid, at, w * (to - from) / 1000 * dwellingsPerKM, 0, at})
		}
	}
	return out
}

// addBuildings puts the homes of buildings on the nearest street.
func (h *Homes) addBuildings(x *osmdata.Extract) {
	const cellM = 64
	var segs []plane.Segment
	for i := range x.Streets {
		if !fronted(&x.Streets[i]) {
			continue
		}
		line := x.Streets[i].Line
		for k := 1; k < len(line); k++ {
			segs = append(segs, plane.Segment{A: line[k-1], B: line[k], ID: int32(i), Mask: 1})
		}
	}
	index := plane.NewIndex(segs, cellM)
	for i := range x.Buildings {
		houses, flats := dwellings(&x.Buildings[i])
		at := x.Buildings[i].Area.Centroid()
		if houses+flats == 0 || !h.byBuilding[h.Tile(at)] {
			continue
		}
		hit, ok := index.Nearest(at, homeSnapM, 1)
		if !ok {
			h.Lost += houses + flats
			continue
		}
		_, along, _ := x.Streets[hit.ID].Line.Nearest(hit.At)
		h.list = append(h.list, home{hit.ID, along, hit.At, houses, flats, at})
	}
}

// locator finds places on streets in a graph.
type locator struct {
	g     *network.Graph
	parts *network.WayParts
}

func newLocator(g *network.Graph) *locator { return &locator{g, g.WayParts()} }

// run is a part of an edge and the stretch of its way that it covers.
type run struct {
	edge         int32
	fromM        float64 // from the edge's beginning
	loM, hiM     float64 // along the way
	againstStart bool    // the edge runs against the way
}

// run is that of the k-th of the graph's parts by way.
func (l *locator) run(k int32) run {
	e, i := l.parts.Edge[k], l.parts.Part[k]
	p, to := &l.g.Parts[i], float64(l.g.LengthM[e])
	if i+1 < l.g.PartAt[e+1] {
		to = float64(l.g.Parts[i+1].FromM)
	}
	r := run{edge: e, fromM: float64(p.FromM), againstStart: p.Reverse()}
	r.loM, r.hiM = float64(p.StreetM), float64(p.StreetM)+to-r.fromM
	if p.Reverse() {
		r.loM, r.hiM = float64(p.StreetM)-to+r.fromM, float64(p.StreetM)
	}
	return r
}

// slackM is how far beside its stretch of a way a place may lie, for rounding.
const slackM = 0.5

// find gives the edge at a place along a way, and where on the edge.
func (l *locator) find(way int64, alongM float64) (edge int32, onM float64, ok bool) {
	from, to := l.parts.Of(way)
	for k := from; k < to; k++ {
		r := l.run(k)
		if alongM < r.loM-slackM || alongM > r.hiM+slackM {
			continue
		}
		on := r.fromM + alongM - r.loM
		if r.againstStart {
			on = r.fromM + r.hiM - alongM
		}
		return r.edge, min(max(on, 0), float64(l.g.LengthM[r.edge])), true
	}
	return 0, 0, false
}

// Census is the dwellings at the vertices of a graph.
type Census struct {
	Houses, Flats []float64
	Lost          float64 // dwellings without an edge near
}

// Total is the number of dwellings at a vertex.
func (c *Census) Total(v int32) float64 { return c.Houses[v] + c.Flats[v] }

// Settle puts the homes on a graph: on the edge of their own street, else on the
// nearest one, shared between its two ends by nearness.
func (h *Homes) Settle(x *osmdata.Extract, g *network.Graph) *Census {
	l := newLocator(g)
	n := len(l.g.Vertex)
	c := &Census{Houses: make([]float64, n), Flats: make([]float64, n)}
	for i := range h.list {
		hm := &h.list[i]
		edge, on, ok := l.find(x.Streets[hm.street].ID, hm.alongM)
		if !ok {
			place, err := l.g.Snap(hm.at, homeToNetworkM)
			if err != nil {
				c.Lost += hm.houses + hm.flats
				continue
			}
			edge, on = place.Edge, place.AlongM
		}
		tail, head := l.g.Ends(edge)
		toHead := on / float64(l.g.LengthM[edge])
		if tail == head {
			toHead = 1
		}
		c.add(head, toHead, hm)
		if tail != head {
			c.add(tail, 1-toHead, hm)
		}
	}
	return c
}

// add puts a share of a home at a vertex.
func (c *Census) add(v int32, share float64, hm *home) {
	c.Houses[v] += share * hm.houses
	c.Flats[v] += share * hm.flats
}
