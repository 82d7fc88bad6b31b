package atlas

import (
	"container/list"
	"context"
	"reflect"
	"sync"
)

// gistKey tells what was made of tiles apart. It may depend on which tiles lie round one.
type gistKey struct {
	of  reflect.Type
	now *edition
	id  string
}

// gist is something that was made of a tile and outlives its being open.
type gist struct {
	key   gistKey
	made  func() (any, error)
	bytes int64
	at    *list.Element // in the order; nil once it was dropped
}

// gistShare is the part of Options.MemoryBytes that gists may take.
const gistShare = 8

// Gist is what was made of a tile of the type T: the tile is opened for it when it is first
// asked for, by however many, and may be closed again, so nothing in it may be the
// sheet's. It counts with the bytes that it says it takes, and those not asked for longest
// are dropped when together they take more than an eighth of Options.MemoryBytes, or the
// maps are changed. Errors are those of opening.
func Gist[T any](ctx context.Context, v *View, t *Tile, first func(*Sheet) (value T, bytes int64)) (T, error) {
	a, key := v.atlas, gistKey{reflect.TypeFor[T](), v.now, t.id}
	a.mu.Lock()
	g := a.gists[key]
	if g == nil {
		ctx := context.WithoutCancel(ctx) // others wait for it
		g = &gist{key: key}
		g.made = sync.OnceValues(func() (any, error) {
			s, err := a.open(ctx, t)
			if err != nil {
				return nil, err
			}
			defer a.release(s)
			value, bytes := first(s)
			a.took(g, withGarbage*bytes)
			return value, nil
		})
		g.at = a.recent.PushFront(g)
		a.gists[key] = g
	} else {
		a.recent.MoveToFront(g.at)
	}
	a.mu.Unlock()
	there := false
	defer func() {
		if !there { // the next who asks tries again, also after a panic
			a.mu.Lock()
			defer a.mu.Unlock()
			a.drop(g)
		}
	}()
	value, err := g.made()
	if err != nil {
		var none T
		return none, err
	}
	there = true
	return value.(T), nil
}

// Gists visits the gists of tiles one after the other, as View.Each does their sheets: a
// tile that cannot be opened is told to missing. The error is the context's.
func Gists[T any](ctx context.Context, v *View, tiles []*Tile, first func(*Sheet) (value T, bytes int64), visit func(*Tile, T), missing func(error)) error {
	for _, t := range tiles {
		if err := ctx.Err(); err != nil {
			return err
		}
		if value, err := Gist(ctx, v, t, first); err != nil {
			missing(err)
		} else {
			visit(t, value)
		}
	}
	return nil
}

// took counts a gist that was made, and makes room for it.
func (a *Atlas) took(g *gist, bytes int64) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if g.at == nil {
		return // the maps were changed meanwhile
	}
	if g.key.now != a.now {
		a.drop(g)
		return
	}
	g.bytes = bytes
	a.gistsB, a.bytes = a.gistsB+bytes, a.bytes+bytes
	if a.opt.MemoryBytes == 0 {
		return
	}
	for at := a.recent.Back(); at != nil && a.gistsB > a.opt.MemoryBytes/gistShare; {
		old, before := at.Value.(*gist), at.Prev()
		if old != g && old.bytes > 0 {
			a.drop(old)
		}
		at = before
	}
	a.trim(nil)
}

// drop forgets a gist; a.mu is held.
func (a *Atlas) drop(g *gist) {
	if g.at == nil {
		return
	}
	a.recent.Remove(g.at)
	g.at = nil
	delete(a.gists, g.key)
	a.gistsB, a.bytes = a.gistsB-g.bytes, a.bytes-g.bytes
}
