// Package knowledge is what each account has learnt about the place, ready for
// planning: factors from its walks, sources from its reports. It is derived once for
// each state of an account's rows and each map, not for each request, and holds with several
// servers on one database, as a mark in the database says whether it still stands.
//
// It hides how rows become what exposure/learning works on and back, where reported
// sources lie on the map, and what is kept for how long.
package knowledge

import (
	"context"
	"sync"
	"time"

	"wideberth/api/store"
	"wideberth/exposure"
	"wideberth/routing"
)

// Base knows what the accounts of a store have learnt about maps. Safe for concurrent
// use.
type Base struct {
	store  *store.Store
	now    func() time.Time
	kept   shelf
	mapped sync.Map // by planner: func() map[string][]int32, sources of its map by their OSM name
}

// New makes a base that knows nothing yet.
func New(m *store.Store, now func() time.Time) *Base {
	return &Base{store: m, now: now, kept: shelf{most: mostKeptBytes}}
}

// Drop forgets what is known about the map of a planner, which is about to be closed.
func (b *Base) Drop(p *routing.Planner) {
	b.mapped.Delete(p)
	b.kept.drop(p)
}

// sources are those of a planner's map by their OSM name.
func (b *Base) sources(p *routing.Planner) map[string][]int32 {
	list, _ := b.mapped.LoadOrStore(p, sync.OnceValue(func() map[string][]int32 {
		out := map[string][]int32{}
		f := p.Snapshot().Field
		for i := range int32(f.SourceCount()) {
			out[f.Source(i).OSM] = append(out[f.Source(i).OSM], i)
		}
		return out
	}))
	return list.(func() map[string][]int32)()
}

// Of is the planner p with what an account's walks and reports teach about the place,
// as of now. Both results belong together: factors name reported sources by their
// place in the planner's list. Where nothing was learnt the planner is the plain one
// and the factors are nil.
func (b *Base) Of(ctx context.Context, w store.Who, p *routing.Planner) (*routing.Planner, *exposure.Factors, error) {
	mark, err := b.store.Taught(ctx, w)
	if err != nil {
		return nil, nil, err
	}
	slot := b.kept.slot(of{w.Account, p})
	if err := slot.lock(ctx); err != nil {
		return nil, nil, err
	}
	defer b.kept.release(slot)
	if slot.known == nil || slot.known.mark != mark {
		l, err := b.store.Lessons(ctx, w)
		if err != nil {
			return nil, nil, err
		}
		if slot.known == nil || slot.known.mark != l.Mark { // else somebody was here while we waited
			if slot.known, err = b.learn(p, &l, slot.known); err != nil {
				slot.known = nil
				return nil, nil, err
			}
		}
	}
	return b.asOf(p, slot.known, b.now())
}
