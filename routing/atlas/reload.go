package atlas

import (
	"context"
	"errors"
	"fmt"
)

// ErrReloading says that the maps are being read anew already.
var ErrReloading = errors.New("the maps are being read anew already: wait for that to end")

// Change is what reading the maps anew found.
type Change struct {
	Tiles int `json:"tiles"` // that there are now
	New   int `json:"new"`   // of these, that were not there or were other files
	Gone  int `json:"gone"`  // that were there
}

// Reload reads anew what there is, and answers from that. Every new file is looked at, and
// those in whose place one is open are opened, before anything is changed: where one
// cannot be read nothing is, and the error says which. Views that are open keep what they
// have.
func (a *Atlas) Reload(ctx context.Context) (Change, error) {
	if !a.reloading.TryLock() {
		return Change{}, ErrReloading
	}
	defer a.reloading.Unlock()
	if a.paths == nil {
		return Change{Tiles: len(a.now.tiles)}, nil
	}
	next, err := a.read(ctx)
	if err != nil {
		return Change{}, fmt.Errorf("the maps stay as they were: %w", err)
	}
	before := a.now // nobody else changes it
	change := Change{Tiles: len(next.tiles)}
	v := &View{atlas: a, now: next, held: map[*Tile]*Sheet{}}
	defer v.Close()
	inUse := a.inUse()
	for _, t := range next.tiles {
		if before.files[t.id] {
			continue
		}
		change.New++
		if err = t.reads(); err == nil && (len(next.tiles) == 1 || meetsAny(t, inUse)) {
			_, err = v.open(ctx, t)
		}
		if err != nil {
			return Change{}, fmt.Errorf("the maps stay as they were: %w", err)
		}
	}
	for _, t := range before.tiles {
		if !next.files[t.id] {
			change.Gone++
		}
	}
	if change.New == 0 && change.Gone == 0 {
		return change, nil
	}
	a.turn(next)
	return change, nil
}

// turn makes an edition the one that new views see.
func (a *Atlas) turn(next *edition) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.now = next
	for id, s := range a.sheets {
		if !next.files[id] {
			a.putAway(s)
		}
		s.beside = nil
		a.weigh(s, -s.besideBytes)
	}
	for _, g := range a.gists {
		a.drop(g)
	}
	for id := range a.grounds {
		if !next.files[id] {
			delete(a.grounds, id)
		}
	}
	for id := range a.words {
		if !next.files[id] {
			delete(a.words, id)
		}
	}
}

// inUse are the tiles that are open.
func (a *Atlas) inUse() (out []*Tile) {
	a.mu.Lock()
	defer a.mu.Unlock()
	for _, s := range a.sheets {
		out = append(out, s.Tile)
	}
	return out
}

func meetsAny(t *Tile, others []*Tile) bool {
	for _, o := range others {
		if t.Core.Meets(o.Core) {
			return true
		}
	}
	return false
}
