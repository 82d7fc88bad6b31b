package routing

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot"
)

// Planner plans walks on one map. Safe for concurrent use.
type Planner struct {
	land *reach.Land
}

// NewPlanner makes a planner; calendar nil takes that of the country.
func NewPlanner(snap *snapshot.Snapshot, calendar *hours.Calendar) (*Planner, error) {
	land, err := reach.NewLand(snap, calendar)
	if err != nil {
		return nil, err
	}
	return &Planner{land}, nil
}

// on is a planner of another view of the same map.
func (p *Planner) on(land *reach.Land) *Planner { return &Planner{land} }

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

// Bytes is about how much memory the planner takes beside its map's file: what is derived
// from the map at opening, and one search's scratch.
func (p *Planner) Bytes() int64 { return p.land.Bytes() }

// Plan answers a wish, best walk first. Faults of the wish are
// fault.Problems; what cannot be had is an *Infeasible.
func (p *Planner) Plan(ctx context.Context, w Wish) (*Plan, error) {
	p = p.Under(w.Weather)
	if err := p.Check(&w); err != nil {
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
	return p.besideGround(ctx, &w, start, func() ([]Walk, error) {
		switch w.Shape {
		case ThereAndBack:
			return p.thereAndBack(ctx, &w, start)
		case Way:
			return p.way(ctx, &w, start)
		case LongestCalm:
			return p.longest(ctx, &w, start)
		}
		return p.closed(ctx, &w, start)
	})
}

// besideGround is Answer for walks that are found while the streets about the start are
// compared.
func (p *Planner) besideGround(ctx context.Context, w *Wish, start network.Place, find func() ([]Walk, error)) (*Plan, error) {
	var walks []Walk
	var ground *Ranked
	err := parallel.Do(ctx, func() (err error) {
		walks, err = find()
		return err
	}, func() error {
		ground = p.ground(w, start)
		return nil
	})
	if err != nil {
		return nil, err
	}
	return p.answer(w, start, walks, ground), nil
}

// Answer puts walks together with what stands behind them: assumptions, notes, the streets
// about the start.
func (p *Planner) Answer(w *Wish, start network.Place, walks []Walk) *Plan {
	return p.answer(w, start, walks, p.ground(w, start))
}

// ground is the streets about the start of a wish, compared.
func (p *Planner) ground(w *Wish, start network.Place) *Ranked {
	return p.Ranked(start.At, &w.Dog, w.Depart, w.Factors)
}

func (p *Planner) answer(w *Wish, start network.Place, walks []Walk, ground *Ranked) *Plan {
	plan := &Plan{Walks: walks, Depart: w.Depart.In(p.land.Clock.Loc), Zone: p.land.Snap.Zone, MapTime: p.land.Snap.MapTime, Snap: Snapping{start.At, start.DistM},
		Ground: ground}
	withCovers(w, walks)
	for i := range walks {
		walks[i].TimesBest = timesBest(w, &walks[i], &walks[0])
	}
	plan.Assumed = p.assumed(w, plan)
	plan.Notes = notes(w, plan)
	return plan
}

// Check says everything that is wrong with a wish on this map: what Wish.Check finds,
// and what the map does not know. Nil if nothing is.
func (p *Planner) Check(w *Wish) error {
	var wrong fault.Problems
	if err := w.Check(); err != nil && !errors.As(err, &wrong) {
		return err
	}
	wrong = append(wrong, p.checkKeeps(&w.Limits)...)
	wrong = append(wrong, p.checkStreets(w.From, w.Limits.AvoidWays)...)
	if w.Limits.MaxSlope != 0 && p.land.Snap.Slopes == nil {
		wrong = append(wrong, fault.Problem{Pointer: "/limits/max_slope", Value: fault.Number(w.Limits.MaxSlope), Mend: "this map has no heights, so nothing would keep it: leave it out, or import the map with heights"})
	}
	return wrong.Err()
}

// checkKeeps refuses distances to keep from things that nobody knows.
func (p *Planner) checkKeeps(l *reach.Limits) (wrong fault.Problems) {
	for i := range l.NeverNearer {
		k := &l.NeverNearer[i]
		if strings.TrimSpace(k.From) == "" || slices.ContainsFunc(exposure.Rules(), func(r osmdata.Rule) bool { return r.As == k.From }) {
			continue // an empty one is told of already
		}
		if _, err := exposure.ParseKinds(k.From); err != nil {
			wrong = append(wrong, fault.Problem{Pointer: "/limits/never_nearer/" + fault.Number(float64(i)) + "/from", Value: k.From,
				Mend: err.Error() + "; or a sort of place: " + strings.Join(placeSorts(), ", ")})
		}
	}
	return wrong
}

// placeSorts are the sorts of place that one can keep away from.
func placeSorts() (out []string) {
	for _, r := range exposure.Rules() {
		if !slices.Contains(out, r.As) {
			out = append(out, r.As)
		}
	}
	slices.Sort(out)
	return out
}

// checkStreets refuses names that no street of the map has: nothing would be avoided.
// What may have been meant is looked for about the start.
func (p *Planner) checkStreets(from plane.Point, avoid []string) (wrong fault.Problems) {
	for i, name := range avoid {
		if p.land.HasStreet(name) {
			continue
		}
		mend := "no street on this map has that name"
		if near := fault.Nearest(name, p.streetsAbout(from)); len(near) > 0 && len(near) <= mostNear {
			mend += ": did you mean " + strings.Join(near, ", ") + "?"
		}
		wrong = append(wrong, fault.Problem{Pointer: fmt.Sprintf("/limits/avoid_ways/%d", i), Value: fmt.Sprintf("%q", name), Mend: mend})
	}
	return wrong
}

// mostNear is how many names fault.Nearest gives where some resemble what was asked.
const mostNear = 3

// streetsAboutM is how far from a start, in metres along each axis, streets are that a
// walk from there may want to avoid (our assumption).
const streetsAboutM = 4000

// streetsAbout are the names of the streets about a place, but for the empty one.
func (p *Planner) streetsAbout(at plane.Point) (names []string) {
	g, seen := p.land.Snap.Graph, map[int32]bool{0: true}
	for _, e := range g.InBox(plane.Box{Min: at, Max: at}.Grown(streetsAboutM)) {
		for _, part := range g.Parts[g.PartAt[e]:g.PartAt[e+1]] {
			if !seen[part.Name] {
				seen[part.Name] = true
				names = append(names, g.Names[part.Name])
			}
		}
	}
	return names
}
