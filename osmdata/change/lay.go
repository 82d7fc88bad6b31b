// Package change reads files that say what changed in a map (OsmChange), makes of several
// of them the newest version of each object, lays that over an extract, finds what two
// extracts differ in, and says which places that touches. It hides versions, the order of
// files and blocks, and how more than fits in memory is sorted.
package change

import (
	"errors"
	"fmt"
	"iter"
	"slices"

	"github.com/paulmach/osm"
)

// ErrUnsorted says that the objects of an extract do not stand in order, which laying
// changes over it wants.
var ErrUnsorted = errors.New("the objects of the extract do not stand in the order of kind and id: fetch one that is sorted, as those of the usual servers are")

// Over lays the changes over the objects of an extract, which must be sorted by kind and
// id, each once; the result is, too. An object of the extract stays where it is newer
// than the change; what was deleted is left out; what a way or relation refers to need
// not be there. This is what osmium-tool's apply-changes writes.
func (s *Set) Over(old iter.Seq2[osm.Object, error]) iter.Seq2[osm.Object, error] {
	return over(old, s.All())
}

// allOf gives the objects of one kind.
func (s *Set) allOf(kind byte) iter.Seq2[osm.Object, error] {
	return func(yield func(osm.Object, error) bool) {
		for o, err := range s.All() {
			if err == nil {
				k, _ := keyOf(o)
				if k.kind < kind {
					continue
				}
				if k.kind > kind {
					return
				}
			}
			if !yield(o, err) {
				return
			}
		}
	}
}

// ids gives the ids of the objects of one kind, sorted by number.
func (s *Set) ids(kind byte) (out []int64, err error) {
	for o, err := range s.allOf(kind) {
		if err != nil {
			return nil, err
		}
		k, _ := keyOf(o)
		out = append(out, k.id)
	}
	slices.Sort(out)
	return out, nil
}

func over(old, changes iter.Seq2[osm.Object, error]) iter.Seq2[osm.Object, error] {
	return func(yield func(osm.Object, error) bool) {
		for p, err := range pairs(old, changes) {
			if err != nil {
				yield(nil, err)
				return
			}
			if o := p.newest(); o != nil && !yield(o, nil) {
				return
			}
		}
	}
}

// pair is an object in two sorted sequences, nil in one that does not have it.
type pair struct{ a, b osm.Object }

// newest is what an object of an extract and a change of it come to, nil where it is gone.
func (p pair) newest() osm.Object {
	if p.b == nil {
		return p.a
	}
	_, now, visible, _ := describe(p.b)
	switch _, was, _, _ := describe(p.a); {
	case p.a != nil && !now.after(was): // the extract is newer
		return p.a
	case visible:
		return p.b
	}
	return nil
}

// pairs goes through two sequences that are sorted by kind and id. The first need not be:
// then the error is ErrUnsorted.
func pairs(a, b iter.Seq2[osm.Object, error]) iter.Seq2[pair, error] {
	return func(yield func(pair, error) bool) {
		next, stop := iter.Pull2(sorted(b))
		defer stop()
		right, rightErr, more := next()
		var at key
		if more && rightErr == nil {
			at, _ = keyOf(right)
		}
		step := func() {
			if right, rightErr, more = next(); more && rightErr == nil {
				at, _ = keyOf(right)
			}
		}
		for left, err := range sorted(a) {
			if err != nil {
				yield(pair{}, err)
				return
			}
			k, _ := keyOf(left)
			for ; more && rightErr == nil && at.compare(k) < 0; step() {
				if !yield(pair{nil, right}, nil) {
					return
				}
			}
			if more && rightErr != nil {
				break
			}
			p := pair{left, nil}
			if more && at == k {
				p.b = right
				step()
			}
			if !yield(p, nil) {
				return
			}
		}
		for ; more; step() {
			if !yield(pair{nil, right}, rightErr) || rightErr != nil {
				return
			}
		}
	}
}

// sorted gives a sequence on as long as it is in order, and without what is no object of
// a map.
func sorted(seq iter.Seq2[osm.Object, error]) iter.Seq2[osm.Object, error] {
	return func(yield func(osm.Object, error) bool) {
		var last key
		first := true
		for o, err := range seq {
			if err != nil {
				yield(nil, err)
				return
			}
			k, ok := keyOf(o)
			if !ok {
				continue
			}
			if !first && k.compare(last) <= 0 {
				yield(nil, fmt.Errorf("%w (%s after %s)", ErrUnsorted, k, last))
				return
			}
			if first, last = false, k; !yield(o, nil) {
				return
			}
		}
	}
}

// String names an object as everybody does: node/12.
func (k key) String() string {
	return fmt.Sprintf("%s/%d", memberKinds[k.kind], k.id)
}

// AddDifference adds what has to be laid over one extract to make another of it, both
// sorted by kind and id. Versions are passed over: what stands in the new extract counts.
func (s *Set) AddDifference(old, now iter.Seq2[osm.Object, error]) error {
	for p, err := range pairs(old, now) {
		if err != nil {
			return err
		}
		if p.a != nil && p.b != nil && same(p.a, p.b) {
			continue
		}
		if err := s.Add(successor(p)); err != nil {
			return err
		}
	}
	return nil
}

// same tells whether two versions of an object say the same.
func same(a, b osm.Object) bool {
	switch a := a.(type) {
	case *osm.Node:
		b := b.(*osm.Node)
		return fixed(a.Lon) == fixed(b.Lon) && fixed(a.Lat) == fixed(b.Lat) && slices.Equal(a.Tags, b.Tags)
	case *osm.Way:
		b := b.(*osm.Way)
		return slices.Equal(refs(a), refs(b)) && slices.Equal(a.Tags, b.Tags)
	case *osm.Relation:
		b := b.(*osm.Relation)
		return sameMembers(a.Members, b.Members) && slices.Equal(a.Tags, b.Tags)
	}
	return false
}

// successor is the object of the new extract, or the mark that it is gone, as a version
// that counts.
func successor(p pair) osm.Object {
	_, was, _, _ := describe(p.a)
	switch o := p.b.(type) {
	case *osm.Node:
		o.Version, o.Visible = max(o.Version, was.version+1), true
		return o
	case *osm.Way:
		o.Version, o.Visible = max(o.Version, was.version+1), true
		return o
	case *osm.Relation:
		o.Version, o.Visible = max(o.Version, was.version+1), true
		return o
	}
	switch o := p.a.(type) {
	case *osm.Node:
		return &osm.Node{ID: o.ID, Version: was.version + 1}
	case *osm.Way:
		return &osm.Way{ID: o.ID, Version: was.version + 1}
	case *osm.Relation:
		return &osm.Relation{ID: o.ID, Version: was.version + 1}
	}
	return nil
}
