package osmdata

import (
	"cmp"
	"slices"

	"wideberth/osmdata/plane"
)

// idRing is a closed line of node ids; the first is not repeated.
type idRing []int64

// closed gives the ring with its first node repeated.
func (r idRing) closed() []int64 { return append(r[:len(r):len(r)], r[0]) }

// joinRings joins ways end to end into rings. What does not close comes back as
// open chains. A way that is given twice counts once.
//
// The greedy choice takes the first way in id order that goes on; where more than
// two ways meet, a chain closes as soon as it can, so that rings which touch in a
// point come apart there.
func joinRings(ways []*rawWay) (rings []idRing, open [][]int64) {
	ways = slices.Clone(ways)
	slices.SortStableFunc(ways, func(a, b *rawWay) int { return cmp.Compare(a.id, b.id) })
	ways = slices.CompactFunc(ways, func(a, b *rawWay) bool { return a.id == b.id })
	at := map[int64][]int{} // ways by the nodes at their ends
	used := make([]bool, len(ways))
	for i, w := range ways {
		switch n := len(w.refs); {
		case n < 2:
			used[i] = true
		case w.refs[0] == w.refs[n-1]:
			used[i] = true
			rings = append(rings, idRing(w.refs[:n-1]))
		default:
			at[w.refs[0]] = append(at[w.refs[0]], i)
			at[w.refs[n-1]] = append(at[w.refs[n-1]], i)
		}
	}
	for i, w := range ways {
		if used[i] {
			continue
		}
		used[i] = true
		chain, closed := extend(slices.Clone(w.refs), ways, at, used)
		if closed {
			rings = append(rings, idRing(chain[:len(chain)-1]))
			continue
		}
		// The other end may go on as well.
		slices.Reverse(chain)
		chain, _ = extend(chain, ways, at, used)
		open = append(open, chain)
	}
	return rings, open
}

// extend lengthens a chain at its end until it closes or nothing goes on.
func extend(chain []int64, ways []*rawWay, at map[int64][]int, used []bool) ([]int64, bool) {
	for chain[0] != chain[len(chain)-1] {
		end := chain[len(chain)-1]
		next := -1
		for _, i := range at[end] {
			if !used[i] && (next < 0 || ends(ways[i], end) == chain[0]) {
				next = i
			}
		}
		if next < 0 {
			return chain, false
		}
		used[next] = true
		refs := ways[next].refs
		if refs[0] != end {
			refs = slices.Clone(refs)
			slices.Reverse(refs)
		}
		chain = append(chain, refs[1:]...)
	}
	return chain, true
}

// ends is the node at the end of a way that begins at the node from.
func ends(w *rawWay, from int64) int64 {
	if w.refs[0] == from {
		return w.refs[len(w.refs)-1]
	}
	return w.refs[0]
}

// leastAreaM2 is the area under which a ring is a slip of the pen (our assumption:
// coordinates are exact to about a centimetre).
const leastAreaM2 = 0.01

// ring places a ring of nodes on the plane, anticlockwise if outer, else clockwise.
// Nodes without a place are left out; a ring without area is nil.
func (b *builder) ring(ids idRing, outer bool) plane.Ring {
	r := make(plane.Ring, 0, len(ids))
	for _, id := range ids {
		p, ok := b.place(id)
		if ok && (len(r) == 0 || r[len(r)-1] != p) {
			r = append(r, p)
		}
	}
	for len(r) > 1 && r[0] == r[len(r)-1] {
		r = r[:len(r)-1]
	}
	area := 0.0
	if len(r) >= 3 {
		area = r.AreaM2()
	}
	if area < leastAreaM2 && area > -leastAreaM2 {
		return nil
	}
	if area > 0 != outer {
		slices.Reverse(r)
	}
	return r
}

// shape is a multipolygon put together: polygons, and for each of their rings the
// node ids.
type shape struct {
	polygons []plane.Polygon
	rings    [][]idRing // beside polygons: the outer ring, then the holes
	broken   [][]int64  // chains that did not close
}

// shapeOf puts a relation together. Every hole goes to the smallest outer ring
// that holds it.
func (b *builder) shapeOf(rel *rawRelation) shape {
	obj := object("relation", rel.id)
	var outers, inners []*rawWay
	for _, m := range rel.members {
		w := b.way(m.way)
		switch {
		case w == nil:
			b.note(oddMember, obj)
		case m.inner:
			inners = append(inners, w)
		default:
			outers = append(outers, w)
		}
	}
	var s shape
	rings, open := joinRings(outers)
	holes, openHoles := joinRings(inners)
	s.broken = append(open, openHoles...)
	for range s.broken {
		b.note(oddUnclosed, obj)
	}
	var areas []float64
	for _, ids := range rings {
		r := b.ring(ids, true)
		if r == nil {
			b.note(oddNoArea, obj)
			continue
		}
		s.polygons = append(s.polygons, plane.Polygon{Outer: r})
		s.rings = append(s.rings, []idRing{ids})
		areas = append(areas, r.AreaM2())
	}
	for _, ids := range holes {
		b.cutHole(&s, areas, ids, obj)
	}
	return s
}

// cutHole gives a hole to the smallest outer ring that holds it.
func (b *builder) cutHole(s *shape, areas []float64, ids idRing, obj string) {
	r := b.ring(ids, false)
	if r == nil {
		b.note(oddNoArea, obj)
		return
	}
	inside := plane.Polygon{Outer: r}.Inside()
	best := -1
	for i := range s.polygons {
		if (best < 0 || areas[i] < areas[best]) && s.polygons[i].Outer.Contains(inside) {
			best = i
		}
	}
	if best < 0 {
		b.note(oddLoneHole, obj)
		return
	}
	s.polygons[best].Holes = append(s.polygons[best].Holes, r)
	s.rings[best] = append(s.rings[best], ids)
}
