package routing

import (
	"context"
	"slices"
	"sync"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/parking"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot"
)

// Planner plans walks on one map. Safe for concurrent use.
type Planner struct {
	land  *reach.Land
	spots func() []parking.Spot // where a car can be left on the map
}

// NewPlanner makes a planner; calendar nil takes that of the country.
func NewPlanner(snap *snapshot.Snapshot, calendar *hours.Calendar) (*Planner, error) {
	land, err := reach.NewLand(snap, calendar)
	if err != nil {
		return nil, err
	}
	return &Planner{land, sync.OnceValue(func() []parking.Spot { return parking.Find(snap) })}, nil
}

// on is a planner of another view of the same map.
func (p *Planner) on(land *reach.Land) *Planner { return &Planner{land, p.spots} }

// Land is the map that is planned on.
func (p *Planner) Land() *reach.Land { return p.land }

// Frame is the frame that places are given in.
func (p *Planner) Frame() plane.Frame { return p.land.Snap.Frame }

// Zone is the time zone of the place.
func (p *Planner) Zone() *time.Location { return p.land.Clock.Loc }

// Snapshot is what is planned on.
func (p *Planner) Snapshot() *snapshot.Snapshot { return p.land.Snap }

// Clock is the time of the place.
func (p *Planner) Clock() *hours.Clock { return p.land.Clock }

// Plan answers a wish, best walk first. Faults of the wish are
// fault.Problems; what cannot be had is an *Infeasible.
func (p *Planner) Plan(ctx context.Context, w Wish) (*Plan, error) {
	p = p.Under(w.Weather)
	if err := w.Check(); err != nil {
		return nil, err
	}
	if err := p.checkKeeps(&w); err != nil {
		return nil, err
	}
	start, err := p.land.Place(w.From)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	p.land.CountSearch()
	var walks []Walk
	switch w.Shape {
	case Calmest, Loop:
		walks, err = p.closed(ctx, &w, start)
	case ThereAndBack:
		walks, err = p.thereAndBack(ctx, &w, start)
	case Way:
		walks, err = p.way(ctx, &w, start)
	case LongestCalm:
		walks, err = p.longest(ctx, &w, start)
	}
	if err != nil {
		return nil, err
	}
	return p.Answer(&w, start, walks), nil
}

// plan puts walks together with what stands behind them.
func (p *Planner) Answer(w *Wish, start network.Place, walks []Walk) *Plan {
	plan := &Plan{Walks: walks, Depart: w.Depart.In(p.land.Clock.Loc), Zone: p.land.Snap.Zone, MapTime: p.land.Snap.MapTime, Snap: Snapping{start.At, start.DistM},
		Ground: p.Ranked(start.At, &w.Dog, w.Depart, w.Factors)}
	withCovers(w, walks)
	for i := range walks {
		walks[i].TimesBest = timesBest(w, &walks[i], &walks[0])
	}
	plan.Assumed = p.assumed(w, plan)
	plan.Notes = notes(w, plan)
	return plan
}

// checkKeeps refuses distances to keep from things that nobody knows.
func (p *Planner) checkKeeps(w *Wish) error {
	var wrong fault.Problems
	for i := range w.Limits.NeverNearer {
		k := &w.Limits.NeverNearer[i]
		_, err := exposure.ParseCategory(k.From)
		if err == nil || slices.ContainsFunc(exposure.Rules(), func(r osmdata.Rule) bool { return r.As == k.From }) {
			continue
		}
		if _, err := exposure.ParseKind(k.From); err != nil {
			wrong = append(wrong, fault.Problem{Pointer: "/limits/never_nearer/" + fault.Number(float64(i)) + "/from", Value: k.From, Mend: err.Error()})
		}
	}
	if len(wrong) > 0 {
		return wrong
	}
	return nil
}
