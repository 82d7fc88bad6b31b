package osmdata

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"github.com/paulmach/osm"
)

// rawWay is a way as the file has it. Tags are nil if only a relation wants it.
type rawWay struct {
	id   int64
	tags osm.Tags
	refs []int64
	at   []int32 // beside refs: index of the node, -1 if it has no place; once all are in
}

// closed tells whether the way ends where it began and has room for an area.
func (w *rawWay) closed() bool {
	return len(w.refs) >= 4 && w.refs[0] == w.refs[len(w.refs)-1]
}

// area tells whether the way is an area by its tags, by the community's list of
// polygon features.
func (w *rawWay) area() bool {
	if !w.closed() {
		return false
	}
	// The library looks at the ids and at the tags of a whole way; four nodes do.
	nodes := make(osm.WayNodes, 4)
	return (&osm.Way{Tags: w.tags, Nodes: nodes}).Polygon()
}

// rawRelation is a multipolygon as the file has it, with its way members.
type rawRelation struct {
	id      int64
	tags    osm.Tags
	members []member
}

type member struct {
	way   int64
	inner bool
}

// rawNode is a node whose tags say something to us.
type rawNode struct {
	id       int64
	tags     osm.Tags
	lon, lat int32 // 1e-7 degrees
}

// harvest is what the passes over a file bring in: ways and relations that are
// wanted for their tags, the ways that those relations need, and the places of the
// nodes on them. It is used by one goroutine; only wantNode, wantWay and needs may
// be called by several at once, once what they look at is finished.
type harvest struct {
	picker    picker
	report    *Report
	rels      []rawRelation
	turns     []TurnBan
	borders   Countries
	ways      []rawWay
	nodes     []rawNode
	wanted    []int64 // ids of ways that relations want, sorted once finished
	needed    []int64 // ids of nodes that ways need, sorted once finished
	ids       []int64 // of nodes with a place, sorted once finished
	lons      []int32 // 1e-7 degrees, beside ids
	lats      []int32
	bounds    *osm.Bounds
	timestamp time.Time
}

func newHarvest(rules []Rule) *harvest {
	return &harvest{picker: newPicker(rules), report: newReport()}
}

func (h *harvest) addBounds(b *osm.Bounds) {
	if !(b.MinLat < b.MaxLat && b.MinLon < b.MaxLon && validDegrees(b.MinLon, b.MinLat) && validDegrees(b.MaxLon, b.MaxLat)) {
		h.report.Note(oddBounds, "bounds")
		return
	}
	if h.bounds == nil {
		c := *b
		h.bounds = &c
		return
	}
	h.bounds.MinLat, h.bounds.MaxLat = min(h.bounds.MinLat, b.MinLat), max(h.bounds.MaxLat, b.MaxLat)
	h.bounds.MinLon, h.bounds.MaxLon = min(h.bounds.MinLon, b.MinLon), max(h.bounds.MaxLon, b.MaxLon)
}

// wantRelation tells whether a relation is a multipolygon of a wanted kind, bans a
// turn, or says of which country it is the boundary.
func (h *harvest) wantRelation(r *osm.Relation) bool { return h.picker.relation(r) != 0 }

func (h *harvest) addRelation(r *osm.Relation) {
	use := h.picker.relation(r)
	if use&UseBan != 0 {
		h.turns = append(h.turns, h.turnBans(r, banValue(r.Tags))...)
	}
	if use&UseBorder != 0 {
		h.borders.count(bordered(r.Tags))
	}
	if use&UseArea == 0 {
		return
	}
	raw := rawRelation{id: int64(r.ID), tags: h.tidy(r.Tags, "relation", int64(r.ID))}
	for _, m := range r.Members {
		if m.Type == osm.TypeWay {
			raw.members = append(raw.members, member{m.Ref, m.Role == "inner"})
			h.wanted = append(h.wanted, m.Ref)
		}
	}
	h.rels = append(h.rels, raw)
}

// tidy makes the values of tags plain and no longer than a value may be.
func (h *harvest) tidy(tags osm.Tags, kind string, id int64) osm.Tags {
	for i := range tags {
		v := Plain(tags[i].Value)
		if len(v) > maxValue {
			if r := []rune(v); len(r) > maxValue {
				v = string(r[:maxValue])
				h.report.Note(oddLong, object(kind, id))
			}
		}
		tags[i].Value = v
	}
	return tags
}

// finishRelations makes needsWay ready.
func (h *harvest) finishRelations() {
	slices.Sort(h.wanted)
	h.wanted = slices.Clip(slices.Compact(h.wanted))
	slices.SortStableFunc(h.rels, func(a, b rawRelation) int { return cmp.Compare(a.id, b.id) })
	h.rels = lastOfEach(h.rels, func(r *rawRelation) int64 { return r.id }, func(id int64) {
		h.report.Note(oddDuplicate, object("relation", id))
	})
}

// wantWay tells whether a way is wanted for its tags or by a relation. Pure once
// finishRelations was called.
func (h *harvest) wantWay(w *osm.Way) bool {
	if h.picker.facets(w.Tags) != 0 {
		return true
	}
	_, found := slices.BinarySearch(h.wanted, int64(w.ID))
	return found
}

// addWay takes in any way; keepMembers later drops those that nobody wants.
func (h *harvest) addWay(w *osm.Way) {
	raw := rawWay{id: int64(w.ID), refs: make([]int64, len(w.Nodes))}
	for i := range w.Nodes {
		raw.refs[i] = int64(w.Nodes[i].ID)
	}
	if h.picker.facets(w.Tags) != 0 {
		raw.tags = h.tidy(w.Tags, "way", int64(w.ID))
	}
	h.ways = append(h.ways, raw)
}

// keepMembers drops ways that neither tags nor relations want, sorts the rest by
// id, and notes which nodes they need.
func (h *harvest) keepMembers() {
	h.ways = slices.DeleteFunc(h.ways, func(w rawWay) bool {
		_, found := slices.BinarySearch(h.wanted, w.id)
		return w.tags == nil && !found
	})
	slices.SortStableFunc(h.ways, func(a, b rawWay) int { return cmp.Compare(a.id, b.id) })
	h.ways = slices.Clip(lastOfEach(h.ways, func(w *rawWay) int64 { return w.id }, func(id int64) {
		h.report.Note(oddDuplicate, object("way", id))
	}))
	total := 0
	for i := range h.ways {
		total += len(h.ways[i].refs)
	}
	h.needed = make([]int64, 0, total)
	for i := range h.ways {
		h.needed = append(h.needed, h.ways[i].refs...)
	}
	slices.Sort(h.needed)
	h.needed = slices.Clone(slices.Compact(h.needed))
}

// needs tells whether a way runs over the node. Pure once keepMembers was called.
func (h *harvest) needs(id int64) bool {
	_, found := slices.BinarySearch(h.needed, id)
	return found
}

// addNode takes in the place of a node, and its tags if they say something to us.
func (h *harvest) addNode(n *osm.Node) {
	if !validDegrees(n.Lon, n.Lat) {
		h.report.Note(oddPlace, object("node", int64(n.ID)))
		return
	}
	lon, lat := int32(math.Round(n.Lon*1e7)), int32(math.Round(n.Lat*1e7))
	h.ids, h.lons, h.lats = append(h.ids, int64(n.ID)), append(h.lons, lon), append(h.lats, lat)
	if h.picker.node(n.Tags) {
		h.nodes = append(h.nodes, rawNode{int64(n.ID), h.tidy(n.Tags, "node", int64(n.ID)), lon, lat})
	}
}

// wantNode tells whether a node is wanted for its tags or by a way. Pure.
func (h *harvest) wantNode(n *osm.Node) bool {
	return h.picker.node(n.Tags) || h.needs(int64(n.ID))
}

// finishNodes sorts the nodes by id; of two with one id the later in the file counts.
func (h *harvest) finishNodes() {
	h.needed, h.wanted = nil, nil
	slices.SortStableFunc(h.nodes, func(a, b rawNode) int { return cmp.Compare(a.id, b.id) })
	h.nodes = lastOfEach(h.nodes, func(n *rawNode) int64 { return n.id }, func(int64) {})
	sorted := true
	for i := 1; i < len(h.ids) && sorted; i++ {
		sorted = h.ids[i-1] < h.ids[i]
	}
	if sorted {
		return
	}
	type place struct {
		id       int64
		lon, lat int32
	}
	all := make([]place, len(h.ids))
	for i, id := range h.ids {
		all[i] = place{id, h.lons[i], h.lats[i]}
	}
	slices.SortStableFunc(all, func(a, b place) int { return cmp.Compare(a.id, b.id) })
	all = lastOfEach(all, func(p *place) int64 { return p.id }, func(id int64) {
		h.report.Note(oddDuplicate, object("node", id))
	})
	h.ids, h.lons, h.lats = h.ids[:len(all)], h.lons[:len(all)], h.lats[:len(all)]
	for i, p := range all {
		h.ids[i], h.lons[i], h.lats[i] = p.id, p.lon, p.lat
	}
}

// lastOfEach keeps the last of every run of equal ids in a sorted slice.
func lastOfEach[T any](s []T, id func(*T) int64, dropped func(int64)) []T {
	n := 0
	for i := range s {
		if i+1 < len(s) && id(&s[i]) == id(&s[i+1]) {
			dropped(id(&s[i]))
			continue
		}
		s[n] = s[i]
		n++
	}
	clear(s[n:])
	return s[:n]
}

func validDegrees(lon, lat float64) bool {
	return lon >= -180 && lon <= 180 && lat >= -90 && lat <= 90
}

func object(kind string, id int64) string { return fmt.Sprintf("%s/%d", kind, id) }
