package change

import (
	"context"
	"maps"
	"math"
	"slices"

	"wideberth/osmdata"

	"github.com/paulmach/osm"
)

// Box is a part of the earth in degrees.
type Box struct{ West, South, East, North float64 }

// Touched says what changes come to on a map.
type Touched struct {
	Boxes   []Box // of each thing that matters and changed: where it was and where it is
	Made    int   // objects that the map did not have
	Changed int   // objects that it has otherwise
	Gone    int   // objects that it had
	Known   int   // versions that it has already, or newer ones
	Missing int   // deleted objects that it does not have
}

// nodeChange is what becomes of a node.
type nodeChange struct {
	stamp
	lon, lat int32 // 1e-7 degrees
	visible  bool
	wanted   bool
	tags     osm.Tags
	seen     bool // the map has it
	moved    bool // it lies elsewhere, is new or gone: what is drawn over it changes
}

// wayChange is what becomes of a way.
type wayChange struct {
	stamp
	refs    []int64
	tags    osm.Tags
	visible bool
	wanted  bool
	seen    bool
}

// relationChange is what becomes of a relation.
type relationChange struct {
	stamp
	members osm.Members
	tags    osm.Tags
	visible bool
	wanted  bool
	seen    bool
}

// shape is an area or line that changes: the ways or nodes of before and after.
type shape struct{ before, after []int64 }

// toucher goes through a map to find out what changes touch.
type toucher struct {
	picker    *osmdata.Picker
	all       bool // whatever the picker keeps counts, and every version of it
	out       Touched
	nodes     map[int64]*nodeChange
	ways      map[int64]*wayChange
	relations map[int64]*relationChange
	touched   map[int64]shape // ways that lie or run otherwise, their nodes
	lines     []shape         // of those, and of areas, what matters
	areas     []shape         // relations, their ways
	members   map[int64][]int64
	places    map[int64][2]int32
}

// Touched finds where a map changes, in the eyes of a picker: the places,
// before and after, of each object that changed, of ways over nodes that moved, and of
// areas made of such ways. What an object is beside its tags, nodes and members, as its
// version, does not count. Memory is some 200 bytes for each object of the set.
func (s *Set) Touched(ctx context.Context, src *Map, picker *osmdata.Picker) (*Touched, error) {
	return s.touch(ctx, src, &toucher{picker: picker})
}

// Differs finds, as Touched does, where a map that holds what a picker keeps is not as it
// was: by any version of it, bans of turns and boundaries of countries as well.
func (s *Set) Differs(ctx context.Context, src *Map, picker *osmdata.Picker) ([]Box, error) {
	t, err := s.touch(ctx, src, &toucher{picker: picker, all: true})
	if err != nil {
		return nil, err
	}
	return t.Boxes, nil
}

func (s *Set) touch(ctx context.Context, src *Map, t *toucher) (*Touched, error) {
	t.nodes, t.ways, t.relations = map[int64]*nodeChange{}, map[int64]*wayChange{}, map[int64]*relationChange{}
	t.touched, t.members, t.places = map[int64]shape{}, map[int64][]int64{}, map[int64][2]int32{}
	if err := t.take(s); err != nil {
		return nil, err
	}
	for _, pass := range []func(context.Context, *Map) error{t.oldNodes, t.oldWays, t.oldRelations, t.memberWays, t.findPlaces} {
		if err := pass(ctx, src); err != nil {
			return nil, err
		}
	}
	for _, l := range t.lines {
		t.box(l)
	}
	return &t.out, nil
}

// wanted tells whether an object matters at its place by its own tags: unless all counts,
// bans of turns and boundaries of countries do not.
func (t *toucher) wanted(o osm.Object) bool {
	switch o := o.(type) {
	case *osm.Node:
		return t.picker.Node(o.Tags)
	case *osm.Way:
		return t.picker.Way(o.Tags)
	case *osm.Relation:
		use := t.picker.Relation(o)
		return use&osmdata.UseArea != 0 || t.all && use != 0
	}
	return false
}

// take notes what becomes of each object.
func (t *toucher) take(s *Set) error {
	for o, err := range s.All() {
		if err != nil {
			return err
		}
		k, st, visible, _ := describe(o)
		w := visible && t.wanted(o)
		switch o := o.(type) {
		case *osm.Node:
			t.nodes[k.id] = &nodeChange{stamp: st, lon: fixed(o.Lon), lat: fixed(o.Lat), visible: visible, wanted: w, tags: o.Tags}
		case *osm.Way:
			t.ways[k.id] = &wayChange{stamp: st, refs: refs(o), tags: o.Tags, visible: visible, wanted: w}
		case *osm.Relation:
			t.relations[k.id] = &relationChange{stamp: st, members: o.Members, tags: o.Tags, visible: visible, wanted: w}
		}
	}
	return nil
}

func fixed(deg float64) int32 { return int32(math.Round(deg * 1e7)) }

func refs(w *osm.Way) []int64 {
	out := make([]int64, len(w.Nodes))
	for i := range w.Nodes {
		out[i] = int64(w.Nodes[i].ID)
	}
	return out
}

// count notes what a change does to an object that the map has, and tells whether it does
// anything.
func (t *toucher) count(old, now stamp, visible, same bool) bool {
	switch {
	case !now.after(old), visible && same && (!t.all || now == old):
		t.out.Known++
		return false
	case visible:
		t.out.Changed++
	default:
		t.out.Gone++
	}
	return true
}

// fresh notes an object that the map does not have, and tells whether it is there now.
func (t *toucher) fresh(visible bool) bool {
	if visible {
		t.out.Made++
	} else {
		t.out.Missing++
	}
	return visible
}

// oldNodes holds the nodes of the map against what becomes of them.
func (t *toucher) oldNodes(ctx context.Context, src *Map) error {
	if len(t.nodes) > 0 {
		for o, err := range src.nodesOf(ctx, slices.Sorted(maps.Keys(t.nodes))) {
			if err != nil {
				return err
			}
			n := o.(*osm.Node)
			id := int64(n.ID)
			c := t.nodes[id]
			_, st, _, _ := describe(n)
			lon, lat := fixed(n.Lon), fixed(n.Lat)
			c.seen = true
			c.moved = !c.visible || lon != c.lon || lat != c.lat
			t.places[id] = [2]int32{lon, lat}
			if !t.count(st, c.stamp, c.visible, !c.moved && slices.Equal(n.Tags, c.tags)) {
				// As if nothing had been said of it.
				c.lon, c.lat, c.visible, c.moved = lon, lat, true, false
				continue
			}
			if t.wanted(n) || c.wanted {
				t.lines = append(t.lines, shape{[]int64{id}, []int64{id}})
			}
		}
	}
	for id, c := range t.nodes {
		if !c.seen && t.fresh(c.visible) {
			c.moved = true
			if c.wanted {
				t.lines = append(t.lines, shape{after: []int64{id}})
			}
		}
	}
	return nil
}

// oldWays finds the ways of the map that change or run over nodes that do.
func (t *toucher) oldWays(ctx context.Context, src *Map) error {
	moved := false
	for _, c := range t.nodes {
		moved = moved || c.moved
	}
	touches := func(w *osm.Way) bool {
		for i := range w.Nodes {
			if c := t.nodes[int64(w.Nodes[i].ID)]; c != nil && c.moved {
				return true
			}
		}
		return false
	}
	if moved || len(t.ways) > 0 {
		seq := src.waysOf(ctx, slices.Sorted(maps.Keys(t.ways)))
		if moved { // whichever runs over one of those
			seq = src.ways(ctx, func(w *osm.Way) bool { return t.ways[int64(w.ID)] != nil || touches(w) })
		}
		for o, err := range seq {
			if err != nil {
				return err
			}
			t.oldWay(o.(*osm.Way), touches)
		}
	}
	for id, c := range t.ways {
		if !c.seen && t.fresh(c.visible) {
			t.touched[id] = shape{after: c.refs}
			if c.wanted {
				t.lines = append(t.lines, t.touched[id])
			}
		}
	}
	return nil
}

func (t *toucher) oldWay(w *osm.Way, touches func(*osm.Way) bool) {
	id := int64(w.ID)
	s := shape{before: refs(w)}
	s.after = s.before
	matters := t.wanted(w)
	if c := t.ways[id]; c != nil {
		c.seen = true
		_, st, _, _ := describe(w)
		if t.count(st, c.stamp, c.visible, slices.Equal(w.Tags, c.tags) && slices.Equal(s.before, c.refs)) {
			s.after = c.refs
			matters = matters || c.wanted
		} else if !touches(w) {
			return
		}
	}
	t.touched[id] = s
	if matters {
		t.lines = append(t.lines, s)
	}
}

// oldRelations finds the areas of the map that change or are made of ways that do.
func (t *toucher) oldRelations(ctx context.Context, src *Map) error {
	touches := func(r *osm.Relation) bool {
		for _, m := range r.Members {
			if _, ok := t.touched[m.Ref]; ok && m.Type == osm.TypeWay {
				return true
			}
			if c := t.nodes[m.Ref]; t.all && m.Type == osm.TypeNode && c != nil && c.moved {
				return true
			}
		}
		return false
	}
	if len(t.touched) > 0 || len(t.relations) > 0 || t.all {
		for o, err := range src.relations(ctx, func(r *osm.Relation) bool {
			return t.relations[int64(r.ID)] != nil || touches(r) && t.wanted(r)
		}) {
			if err != nil {
				return err
			}
			t.oldRelation(o.(*osm.Relation), touches)
		}
	}
	for _, c := range t.relations {
		if !c.seen && t.fresh(c.visible) && c.wanted {
			t.area(nil, c.members)
		}
	}
	return nil
}

func (t *toucher) oldRelation(r *osm.Relation, touches func(*osm.Relation) bool) {
	matters, after := t.wanted(r), r.Members
	if c := t.relations[int64(r.ID)]; c != nil {
		c.seen = true
		_, st, _, _ := describe(r)
		if t.count(st, c.stamp, c.visible, slices.Equal(r.Tags, c.tags) && sameMembers(r.Members, c.members)) {
			matters = matters || c.wanted
			after = c.members
		} else if !touches(r) {
			return
		}
	}
	if matters {
		t.area(r.Members, after)
	}
}

func sameMembers(a, b osm.Members) bool {
	return slices.EqualFunc(a, b, func(a, b osm.Member) bool { return a.Type == b.Type && a.Ref == b.Ref && a.Role == b.Role })
}

// area notes an area that changes, and that its ways are to be found.
func (t *toucher) area(before, after osm.Members) {
	ids := func(ms osm.Members) (out []int64) {
		for _, m := range ms {
			if m.Type == osm.TypeWay {
				out = append(out, m.Ref)
				if _, ok := t.touched[m.Ref]; !ok {
					t.members[m.Ref] = nil
				}
			}
		}
		return out
	}
	t.areas = append(t.areas, shape{ids(before), ids(after)})
	if t.all {
		t.lines = append(t.lines, shape{points(before), points(after)})
	}
}

// points are the nodes among members.
func points(ms osm.Members) (out []int64) {
	for _, m := range ms {
		if m.Type == osm.TypeNode {
			out = append(out, m.Ref)
		}
	}
	return out
}

// memberWays finds the other ways of areas that change, and makes of each area the nodes
// that it lay and lies among.
func (t *toucher) memberWays(ctx context.Context, src *Map) error {
	if len(t.members) > 0 {
		for o, err := range src.waysOf(ctx, slices.Sorted(maps.Keys(t.members))) {
			if err != nil {
				return err
			}
			w := o.(*osm.Way)
			t.members[int64(w.ID)] = refs(w)
		}
	}
	for _, a := range t.areas {
		var s shape
		for _, id := range a.before {
			if w, ok := t.touched[id]; ok {
				s.before = append(s.before, w.before...)
			} else {
				s.before = append(s.before, t.members[id]...)
			}
		}
		for _, id := range a.after {
			if w, ok := t.touched[id]; ok {
				s.after = append(s.after, w.after...)
			} else {
				s.after = append(s.after, t.members[id]...)
			}
		}
		t.lines = append(t.lines, s)
	}
	return nil
}

// findPlaces looks up where the nodes of the map lie that do not change themselves.
func (t *toucher) findPlaces(ctx context.Context, src *Map) error {
	want := map[int64]bool{}
	for _, l := range t.lines {
		for _, ids := range [][]int64{l.before, l.after} {
			for _, id := range ids {
				if t.nodes[id] == nil {
					want[id] = true
				}
			}
		}
	}
	if len(want) == 0 {
		return nil
	}
	for o, err := range src.nodesOf(ctx, slices.Sorted(maps.Keys(want))) {
		if err != nil {
			return err
		}
		n := o.(*osm.Node)
		t.places[int64(n.ID)] = [2]int32{fixed(n.Lon), fixed(n.Lat)}
	}
	return nil
}

// box adds the box of a shape; one without any known place has none.
func (t *toucher) box(l shape) {
	least, most := [2]int32{math.MaxInt32, math.MaxInt32}, [2]int32{math.MinInt32, math.MinInt32}
	add := func(p [2]int32) {
		for i := range p {
			least[i], most[i] = min(least[i], p[i]), max(most[i], p[i])
		}
	}
	for _, id := range l.before {
		if p, ok := t.places[id]; ok {
			add(p)
		}
	}
	for _, id := range l.after {
		if c := t.nodes[id]; c != nil {
			if c.visible {
				add([2]int32{c.lon, c.lat})
			}
		} else if p, ok := t.places[id]; ok {
			add(p)
		}
	}
	if least[0] <= most[0] {
		t.out.Boxes = append(t.out.Boxes, Box{float64(least[0]) / 1e7, float64(least[1]) / 1e7, float64(most[0]) / 1e7, float64(most[1]) / 1e7})
	}
}

// metresPerDegree is of latitude, on a sphere of the earth's mean radius.
const metresPerDegree = 6371008.8 * math.Pi / 180

// Grow makes boxes larger by a margin to each side.
func (b Box) Grow(marginM float64) Box {
	lat := marginM / metresPerDegree
	widest := min(89.9, max(math.Abs(b.South-lat), math.Abs(b.North+lat)))
	lon := lat / math.Cos(widest*math.Pi/180)
	return Box{max(-180, b.West-lon), max(-90, b.South-lat), min(180, b.East+lon), min(90, b.North+lat)}
}

// Meets tells whether two boxes have a place in common.
func (b Box) Meets(c Box) bool {
	return b.West <= c.East && c.West <= b.East && b.South <= c.North && c.South <= b.North
}

// Union is the least box that holds both.
func (b Box) Union(c Box) Box {
	return Box{min(b.West, c.West), min(b.South, c.South), max(b.East, c.East), max(b.North, c.North)}
}

// Merge grows boxes by a margin and makes one of those that then meet, again and again:
// what is left has no place in common. Sorted from west to east.
func Merge(boxes []Box, marginM float64) []Box {
	var out []Box
	for _, b := range boxes {
		out = append(out, b.Grow(marginM))
	}
	for again := true; again; {
		again = false
		slices.SortFunc(out, func(a, b Box) int { return compareBox(a, b) })
		kept := out[:0]
		for _, b := range out {
			i := slices.IndexFunc(kept, b.Meets)
			if i < 0 {
				kept = append(kept, b)
				continue
			}
			kept[i], again = kept[i].Union(b), true
		}
		out = kept
	}
	return out
}

func compareBox(a, b Box) int {
	for _, d := range []float64{a.West - b.West, a.South - b.South, a.East - b.East, a.North - b.North} {
		if d != 0 {
			return int(math.Copysign(1, d))
		}
	}
	return 0
}
