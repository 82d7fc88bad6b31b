package change

import (
	"context"
	"errors"
	"iter"

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
		for _, seq := range []iter.Seq2[osm.Object, error]{m.nodes(ctx, nil), m.ways(ctx, nil), m.relations(ctx, nil)} {
			for o, err := range seq {
				if !yield(o, err) {
					return
				}
			}
		}
	}
}

// errEnough ends a pass whose reader wants no more.
var errEnough = errors.New("enough")

// passing makes a sequence of a pass over one kind, of what keep lets through.
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

// laid lays the changes of one kind over objects of the extract, of which those may be
// missing that keep does not want and no change names.
func (m *Map) laid(kind byte, old iter.Seq2[osm.Object, error], keep func(osm.Object) bool) iter.Seq2[osm.Object, error] {
	return func(yield func(osm.Object, error) bool) {
		for o, err := range m.over.overKind(kind, old) {
			if err == nil && !keep(o) {
				continue
			}
			if !yield(o, err) {
				return
			}
		}
	}
}

// nodes gives those nodes that keep lets through, nil for all; so below. Keep may be
// called by several goroutines at once.
func (m *Map) nodes(ctx context.Context, keep func(*osm.Node) bool) iter.Seq2[osm.Object, error] {
	all := passing(func(take func(osm.Object) error) error {
		return m.e.Nodes(ctx, func(n *osm.Node) error {
			if m.over == nil && keep != nil && !keep(n) {
				return nil
			}
			return take(n)
		})
	})
	if m.over == nil {
		return all
	}
	return m.laid(0, all, func(o osm.Object) bool { return keep == nil || keep(o.(*osm.Node)) })
}

func (m *Map) ways(ctx context.Context, keep func(*osm.Way) bool) iter.Seq2[osm.Object, error] {
	want := func(w *osm.Way) bool { return m.over != nil || keep == nil || keep(w) }
	all := passing(func(take func(osm.Object) error) error {
		return m.e.Ways(ctx, want, func(w *osm.Way) error { return take(w) })
	})
	if m.over == nil {
		return all
	}
	return m.laid(1, all, func(o osm.Object) bool { return keep == nil || keep(o.(*osm.Way)) })
}

func (m *Map) relations(ctx context.Context, keep func(*osm.Relation) bool) iter.Seq2[osm.Object, error] {
	want := func(r *osm.Relation) bool { return m.over != nil || keep == nil || keep(r) }
	all := passing(func(take func(osm.Object) error) error {
		return m.e.Relations(ctx, want, func(r *osm.Relation) error { return take(r) })
	})
	if m.over == nil {
		return all
	}
	return m.laid(2, all, func(o osm.Object) bool { return keep == nil || keep(o.(*osm.Relation)) })
}
