package osmdata

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"github.com/paulmach/osm"

	"wideberth/osmdata/plane"
)

// builder turns a harvest into an extract.
type builder struct {
	h       *harvest
	x       *Extract
	streets streetReader
	at      []plane.Point        // places of h.ids
	same    map[int64]int64      // node ids that stand for the same place as a smaller one
	covered map[int64][]osm.Tags // outer ways whose relations say what they are, with what those say
	squares []square
}

// interpret makes the extract. Relations go first, because a relation that could
// be put together speaks for its outer ways.
func interpret(ctx context.Context, h *harvest, foot [ClassCount]bool) (*Extract, error) {
	b := &builder{
		h: h, x: &Extract{Barred: Barred{}, CarsEnd: Barred{}, Report: h.report, Timestamp: h.timestamp},
		streets: streetReader{foot, h.report}, same: map[int64]int64{}, covered: map[int64][]osm.Tags{},
	}
	if err := b.frame(ctx); err != nil {
		return nil, err
	}
	b.mergeSamePlaces()
	for i := range h.rels {
		b.relation(&h.rels[i])
	}
	if err := b.allWays(ctx); err != nil {
		return nil, err
	}
	for i := range h.nodes {
		b.node(&h.nodes[i])
	}
	b.x.TurnBans, b.x.Borders = b.h.turns, b.h.borders
	for i := range b.x.TurnBans {
		b.x.TurnBans[i].Via = b.root(b.x.TurnBans[i].Via)
	}
	b.joinSquares()
	b.finish()
	if b.x.Report.Read["walkable streets"] == 0 {
		return nil, ErrNothingToWalk
	}
	if km := lengthKM(b.x.Streets); km > mostStreetsKM {
		return nil, fmt.Errorf("%w: %.0f km, and at most %d km are taken", ErrTooLong, km, mostStreetsKM)
	}
	return b.x, nil
}

// lengthKM is how long streets are together.
func lengthKM(streets []Street) (km float64) {
	for i := range streets {
		km += streets[i].Line.LengthM() / 1000
	}
	return km
}

func (b *builder) note(kind, obj string) { b.x.Report.Note(kind, obj) }

// allWays takes in the ways, by pieces in parallel, each into an extract and report
// of its own, joined in order so that the outcome does not depend on the pieces.
func (b *builder) allWays(ctx context.Context) error {
	var parts [maxPieces]*builder
	err := inParallel(ctx, len(b.h.ways), func(piece, from, to int) {
		c := *b
		c.squares = nil
		c.x = &Extract{Report: newReport()}
		c.streets.report = c.x.Report
		for i := from; i < to && (i%1024 != 0 || ctx.Err() == nil); i++ {
			c.wayTags(&c.h.ways[i])
		}
		parts[piece] = &c
	})
	for _, c := range parts {
		if c == nil {
			continue
		}
		b.squares = append(b.squares, c.squares...)
		b.x.Streets = append(b.x.Streets, c.x.Streets...)
		b.x.Features = append(b.x.Features, c.x.Features...)
		b.x.Obstacles = append(b.x.Obstacles, c.x.Obstacles...)
		b.x.Buildings = append(b.x.Buildings, c.x.Buildings...)
		b.x.Grounds = append(b.x.Grounds, c.x.Grounds...)
		b.x.Rails = append(b.x.Rails, c.x.Rails...)
		b.x.Addresses = append(b.x.Addresses, c.x.Addresses...)
		b.x.Countries.merge(c.x.Countries)
		b.x.Report.add(c.x.Report)
	}
	return cmp.Or(err, ctx.Err())
}

// way finds a way by id, nil if the file does not have it.
func (b *builder) way(id int64) *rawWay {
	i, ok := slices.BinarySearchFunc(b.h.ways, id, func(w rawWay, id int64) int { return cmp.Compare(w.id, id) })
	if !ok {
		return nil
	}
	return &b.h.ways[i]
}

// relation takes in a multipolygon and notes which ways it speaks for.
func (b *builder) relation(rel *rawRelation) {
	obj := object("relation", rel.id)
	f := b.h.picker.facets(rel.tags)
	s := b.shapeOf(rel)
	if len(s.polygons) > 0 {
		for _, m := range rel.members {
			if !m.inner {
				b.covered[m.way] = append(b.covered[m.way], rel.tags)
			}
		}
	}
	b.area(obj, rel.tags, f, &s)
	if f&asFeature != 0 && len(s.polygons) > 0 {
		b.feature(obj, rel.tags, Feature{Areas: s.polygons, Point: s.polygons[0].Inside()})
	}
	if f&asStreet != 0 {
		b.square("relation", rel.id, rel.tags, &s)
	}
}

// wayTags takes in everything that a way's own tags make of it.
func (b *builder) wayTags(w *rawWay) {
	f := b.h.picker.facets(w.tags)
	if f == 0 {
		return
	}
	obj := object("way", w.id)
	area := w.area()
	for _, tags := range b.covered[w.id] {
		f &^= b.spokenFor(w.tags, tags)
	}
	var s shape
	if area && f != 0 {
		if r := b.ring(w.refs[:len(w.refs)-1], true); r != nil {
			s = shape{polygons: []plane.Polygon{{Outer: r}}, rings: [][]idRing{{w.refs[:len(w.refs)-1]}}}
		} else {
			b.note(oddNoArea, obj)
		}
		b.area(obj, w.tags, f, &s)
	} else if f&asAddress != 0 {
		if l := b.lines(w.at); len(l) > 0 {
			b.address(w.tags, l[0].At(l[0].LengthM()/2))
		}
	}
	if f&asStreet != 0 {
		if area && w.tags.Find("area") == "yes" {
			b.square("way", w.id, w.tags, &s)
		} else {
			b.street(w, obj)
		}
	}
	if o, ok := obstacleOf(w.tags); ok && f&asObstacle != 0 {
		b.obstacle(o, w.at)
	}
	if f&asRail != 0 {
		b.rail(w.tags, w.at)
	}
	if f&asFeature != 0 {
		b.wayFeature(w, obj, &s)
	}
}

// spokenFor are the facets of an outer way that its relation has as well, so that
// a building or park with holes is not taken in a second time without them.
func (b *builder) spokenFor(way, rel osm.Tags) facet {
	var f facet
	if yes(rel.Find("building")) {
		f |= asBuilding
	}
	if g, ok := groundOf(rel); ok {
		if h, too := groundOf(way); too && g == h {
			f |= asGround
		}
	}
	p := &b.h.picker
	if i := p.rule(rel); i >= 0 && i == p.rule(way) {
		f |= asFeature
	}
	if h := rel.Find("highway"); h != "" && h == way.Find("highway") && way.Find("area") == "yes" {
		f |= asStreet
	}
	return f
}

// street takes in a way as one street, or as several where its nodes are missing.
func (b *builder) street(w *rawWay, obj string) {
	s, reverse, ok := b.streets.read(w.id, "way", w.tags)
	if !ok {
		return
	}
	if reverse {
		slices.Reverse(w.at)
	}
	parts, missing, gaps := b.runs(w.at)
	for range missing {
		b.note(oddMissingNode, obj)
	}
	for range gaps {
		b.note(oddGap, obj)
	}
	if len(parts) == 0 {
		b.note(oddShort, obj)
	}
	for _, r := range parts {
		t := s
		t.Nodes, t.Line = r.nodes, r.line
		if r.start || b.outside(r.nodes[0]) {
			t.Flags |= FlagOpenStart
		}
		if r.end || b.outside(r.nodes[len(r.nodes)-1]) {
			t.Flags |= FlagOpenEnd
		}
		if t.Flags&(FlagOpenStart|FlagOpenEnd) != 0 {
			b.note(oddCut, obj)
		}
		b.x.Streets = append(b.x.Streets, t)
	}
}

// node takes in everything that a node's tags make of it.
func (b *builder) node(n *rawNode) {
	f := b.h.picker.facets(n.tags)
	obj := object("node", n.id)
	at, ok := b.place(n.id)
	if !ok {
		return
	}
	if f&asBarrier != 0 && bars(n.tags, func(k string) { b.note(k, obj) }) {
		b.x.Barred[b.root(n.id)] = true
	}
	if f&asBarrier != 0 && stopsCars(n.tags) {
		b.x.CarsEnd[b.root(n.id)] = true
	}
	if f&asBarrier != 0 && stockEnds[n.tags.Find("barrier")] {
		b.x.StockEnds = append(b.x.StockEnds, at)
	}
	if f&asBarrier != 0 && conditional(n.tags) {
		b.note(oddConditional, obj)
	}
	if f&asCrossing != 0 && helpsAcross(n.tags) {
		b.x.Crossings = append(b.x.Crossings, Crossing{Node: b.root(n.id), At: at})
	}
	if f&asAddress != 0 {
		b.address(n.tags, at)
	}
	if f&asPlace != 0 {
		b.x.Countries.add(n.tags)
		b.x.Places = append(b.x.Places, Feature{
			OSM: obj, As: n.tags.Find("place"), Name: n.tags.Find("name"), Point: at, Tags: n.tags.Map(),
		})
	}
	if f&asFeature != 0 {
		b.feature(obj, n.tags, Feature{Point: at})
	}
}

// wayFeature takes in a feature with the best geometry that the way has.
func (b *builder) wayFeature(w *rawWay, obj string, s *shape) {
	if len(s.polygons) > 0 {
		b.feature(obj, w.tags, Feature{Areas: s.polygons, Point: s.polygons[0].Inside()})
		return
	}
	lines := b.lines(w.at)
	if len(lines) == 0 {
		b.note(oddShort, obj)
		return
	}
	longest := slices.MaxFunc(lines, func(a, b plane.Polyline) int { return cmp.Compare(a.LengthM(), b.LengthM()) })
	b.feature(obj, w.tags, Feature{Line: longest, Point: longest.At(longest.LengthM() / 2)})
}

// feature adds a feature whose geometry is set.
func (b *builder) feature(obj string, tags osm.Tags, f Feature) {
	p := &b.h.picker
	f.OSM, f.As, f.Name, f.Tags = obj, p.rules[p.rule(tags)].As, tags.Find("name"), tags.Map()
	b.x.Features = append(b.x.Features, f)
}

// finish sorts and counts. Relations, ways and nodes came each in order of id.
func (b *builder) finish() {
	x := b.x
	slices.SortStableFunc(x.Features, func(a, b Feature) int { return cmp.Compare(rank(a.OSM), rank(b.OSM)) })
	slices.SortStableFunc(x.Streets, func(a, b Street) int { return cmp.Compare(a.ID, b.ID) })
	walkable := 0
	for i := range x.Streets {
		if x.Streets[i].Foot {
			walkable++
		}
	}
	x.Report.Read = map[string]int{
		"streets": len(x.Streets), "walkable streets": walkable, "barred nodes": len(x.Barred), "features": len(x.Features),
		"obstacles": len(x.Obstacles), "buildings": len(x.Buildings), "grounds": len(x.Grounds), "rails": len(x.Rails),
		"addresses": len(x.Addresses), "crossings": len(x.Crossings), "places": len(x.Places), "nodes": len(b.h.ids), "ways": len(b.h.ways),
		"multipolygons": len(b.h.rels), "turn bans": len(x.TurnBans),
	}
}

// rank puts nodes before ways before relations.
func rank(obj string) int {
	return strings.IndexByte("nwr", obj[0])
}
