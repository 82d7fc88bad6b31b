package change

import (
	"context"
	"errors"
	"iter"
	"math"
	"slices"

	"wideberth/osmdata"

	"github.com/paulmach/osm"
)

// Map is an extract, with changes laid over it or without, whose objects are gone through
// as often as need be.
type Map struct {
	e    *osmdata.Elements
	over *Set // nil for none
}

// Of makes a map of an extract, with changes laid over it unless the set is nil: see
// Set.Over. Both are in use as long as the map.
func Of(e *osmdata.Elements, over *Set) *Map { return &Map{e, over} }

// Objects gives all objects of the map, nodes, ways and then relations, each kind in the
// order of the file. After an error nothing comes.
func (m *Map) Objects(ctx context.Context) iter.Seq2[osm.Object, error] {
	return func(yield func(osm.Object, error) bool) {
		for _, seq := range []iter.Seq2[osm.Object, error]{
			m.nodes(ctx, func(*osm.Node) bool { return true }),
			m.ways(ctx, func(*osm.Way) bool { return true }),
			m.relations(ctx, func(*osm.Relation) bool { return true }),
		} {
			for o, err := range seq {
				if !yield(o, err) {
					return
				}
			}
		}
	}
}

// Wanted gives the objects of the map that a reading wants.
func (m *Map) Wanted(ctx context.Context) osmdata.Objects {
	return osmdata.Objects{
		Relations: func(want func(*osm.Relation) bool) iter.Seq2[osm.Object, error] { return m.relations(ctx, want) },
		Ways:      func(want func(*osm.Way) bool) iter.Seq2[osm.Object, error] { return m.ways(ctx, want) },
		Nodes:     func(want func(*osm.Node) bool) iter.Seq2[osm.Object, error] { return m.nodes(ctx, want) },
	}
}

// errEnough ends a pass whose reader wants no more.
var errEnough = errors.New("enough")

// passing makes a sequence of a pass.
func passing(pass func(take func(osm.Object) error) error) iter.Seq2[osm.Object, error] {
	return func(yield func(osm.Object, error) bool) {
		err := pass(func(o osm.Object) error {
			if !yield(o, nil) {
				return errEnough
			}
			return nil
		})
		if err != nil && !errors.Is(err, errEnough) {
			yield(nil, err)
		}
	}
}

// laid lays the changes of one kind over objects of the extract: those that are wanted, and
// all that a change names.
func (m *Map) laid(kind byte, old iter.Seq2[osm.Object, error], want func(osm.Object) bool) iter.Seq2[osm.Object, error] {
	if m.over == nil {
		return old
	}
	return func(yield func(osm.Object, error) bool) {
		for p, err := range pairs(old, m.over.allOf(kind)) {
			if err != nil {
				yield(nil, err)
				return
			}
			if o := p.newest(); o != nil && (p.b == nil || want(o)) && !yield(o, nil) {
				return
			}
		}
	}
}

// changed gives the ids of those objects of one kind that changes name, sorted.
func (m *Map) changed(kind byte) ([]int64, error) {
	if m.over == nil {
		return nil, nil
	}
	return m.over.ids(kind)
}

func among(ids []int64, id int64) bool {
	_, found := slices.BinarySearch(ids, id)
	return found
}

// failed is a sequence that is nothing but an error.
func failed(err error) iter.Seq2[osm.Object, error] {
	return func(yield func(osm.Object, error) bool) { yield(nil, err) }
}

// nodes gives those nodes that are wanted; so below. Want may be called by several
// goroutines at once.
func (m *Map) nodes(ctx context.Context, want func(*osm.Node) bool) iter.Seq2[osm.Object, error] {
	changed, err := m.changed(0)
	if err != nil {
		return failed(err)
	}
	old := passing(func(take func(osm.Object) error) error {
		return m.e.Nodes(ctx, func(n *osm.Node) bool { return want(n) || among(changed, int64(n.ID)) }, func(n *osm.Node) error { return take(n) })
	})
	return m.laid(0, old, func(o osm.Object) bool { return want(o.(*osm.Node)) })
}

// nodesOf gives the nodes with given ids, which are sorted; so below.
func (m *Map) nodesOf(ctx context.Context, ids []int64) iter.Seq2[osm.Object, error] {
	if len(ids) == 0 {
		return func(func(osm.Object, error) bool) {}
	}
	old := passing(func(take func(osm.Object) error) error {
		return m.e.NodesOf(ctx, ids, func(n *osm.Node) error { return take(n) })
	})
	return m.laid(0, old, func(o osm.Object) bool { return among(ids, int64(o.(*osm.Node).ID)) })
}

func (m *Map) ways(ctx context.Context, want func(*osm.Way) bool) iter.Seq2[osm.Object, error] {
	changed, err := m.changed(1)
	if err != nil {
		return failed(err)
	}
	old := passing(func(take func(osm.Object) error) error {
		return m.e.Ways(ctx, func(w *osm.Way) bool { return want(w) || among(changed, int64(w.ID)) }, func(w *osm.Way) error { return take(w) })
	})
	return m.laid(1, old, func(o osm.Object) bool { return want(o.(*osm.Way)) })
}

func (m *Map) waysOf(ctx context.Context, ids []int64) iter.Seq2[osm.Object, error] {
	if len(ids) == 0 {
		return func(func(osm.Object, error) bool) {}
	}
	old := passing(func(take func(osm.Object) error) error {
		return m.e.WaysOf(ctx, ids, func(w *osm.Way) error { return take(w) })
	})
	return m.laid(1, old, func(o osm.Object) bool { return among(ids, int64(o.(*osm.Way).ID)) })
}

func (m *Map) relations(ctx context.Context, want func(*osm.Relation) bool) iter.Seq2[osm.Object, error] {
	changed, err := m.changed(2)
	if err != nil {
		return failed(err)
	}
	old := passing(func(take func(osm.Object) error) error {
		return m.e.Relations(ctx, func(r *osm.Relation) bool { return want(r) || among(changed, int64(r.ID)) }, func(r *osm.Relation) error { return take(r) })
	})
	return m.laid(2, old, func(o osm.Object) bool { return want(o.(*osm.Relation)) })
}

// EachPart goes through the map in order, by the parts of its extract where that has any:
// those that nothing changed in as they stand in the file, of the others the objects. An
// error of part or object ends it.
func (m *Map) EachPart(ctx context.Context, part func(osmdata.Part) error, object func(osm.Object) error) error {
	each := func(seq iter.Seq2[osm.Object, error]) error {
		for o, err := range seq {
			if err == nil {
				err = object(o)
			}
			if err != nil {
				return err
			}
		}
		return nil
	}
	spans, ok := spansOf(m.e.Parts())
	if !ok || m.over == nil {
		return each(m.Objects(ctx))
	}
	due := newQueue(m.over.All())
	defer due.stop()
	none := func(func(osm.Object, error) bool) {}
	for i, s := range spans {
		// What is new and lies between two parts goes into the second, what lies behind all
		// of a kind into the last, so that a map does not fall into ever smaller parts.
		if err := each(over(none, due.until(key{s.first.kind, math.MinInt64}))); err != nil {
			return err
		}
		end := key{s.last.kind, s.last.id + 1}
		if i+1 == len(spans) || spans[i+1].first.kind != s.last.kind {
			end = key{s.last.kind + 1, math.MinInt64}
		}
		err := due.err
		switch {
		case err != nil:
		case due.before(end):
			err = each(over(s.part.Objects(ctx), due.until(end)))
		default:
			err = part(s.part)
		}
		if err != nil {
			return err
		}
	}
	return each(over(none, due.until(key{math.MaxUint8, math.MinInt64})))
}

// span is a part with its first and last object.
type span struct {
	part        osmdata.Part
	first, last key
}

// spansOf tells whether parts follow one another by kind and id.
func spansOf(parts []osmdata.Part) (out []span, ok bool) {
	for i, p := range parts {
		first, last, ok := p.Range()
		s := span{p, key{memberKind(first.Kind), first.ID}, key{memberKind(last.Kind), last.ID}}
		if !ok || i > 0 && s.first.compare(out[i-1].last) <= 0 {
			return nil, false
		}
		out = append(out, s)
	}
	return out, len(out) > 0
}

// queue is a sorted sequence that is taken piece by piece.
type queue struct {
	next func() (osm.Object, error, bool)
	stop func()
	due  osm.Object
	more bool
	err  error
}

func newQueue(seq iter.Seq2[osm.Object, error]) *queue {
	q := &queue{}
	q.next, q.stop = iter.Pull2(seq)
	q.step()
	return q
}

func (q *queue) step() {
	if q.due, q.err, q.more = q.next(); q.err != nil {
		q.more = false
	}
}

// before tells whether there is something before a key.
func (q *queue) before(end key) bool {
	if !q.more {
		return false
	}
	k, _ := keyOf(q.due)
	return k.kind < end.kind || k.kind == end.kind && k.id < end.id
}

// until gives what comes before a key, and an error of the sequence.
func (q *queue) until(end key) iter.Seq2[osm.Object, error] {
	return func(yield func(osm.Object, error) bool) {
		for q.before(end) {
			o := q.due
			q.step()
			if !yield(o, nil) {
				return
			}
		}
		if q.err != nil {
			yield(nil, q.err)
		}
	}
}
