package outing

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"wideberth/osmdata/fault"
	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"
	"wideberth/routing"
)

// HoldPoint is what a watch point is where a walk of an outing waits for its
// printed time.
const HoldPoint = "hold"

// Retold plans the walks of a timetable's rows again for telling and drawing them:
// same lines, same minutes, in the order of the rows. A timetable that was kept
// carries lines and times only; this gives its walks their legs back. Rows that are
// damaged, name no dog of the outing, or whose line is not on this map (it was
// imported anew since) are fault.Problems.
func Retold(ctx context.Context, p *routing.Planner, o Wish, rows []Row) ([]*routing.Plan, error) {
	if err := o.Check(); err != nil {
		return nil, err
	}
	var dogs []Dog
	for i := range rows {
		d := o.dogNamed(rows[i].Dog)
		if d < 0 || !rows[i].sound() {
			return nil, rowProblem(i, rows[i].Dog, "name a dog of the outing, with its walk as it was answered")
		}
		dogs = append(dogs, o.Dogs[d])
	}
	o.Dogs = dogs
	g, err := newGround(ctx, p, &o)
	if err != nil {
		return nil, err
	}
	plans := make([]*routing.Plan, len(rows))
	err = parallel.For(ctx, len(rows), func(i int) error {
		if l, ok := g.found(rows[i].Line); ok {
			plans[i] = g.told(i, l, rows[i].Leave.In(p.Land().Clock.Loc), rows[i].Holds)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	for i, plan := range plans {
		if plan == nil {
			return nil, rowProblem(i, rows[i].Dog, "this walk does not begin at the gate or is not on this map: plan the outing again")
		}
	}
	return plans, nil
}

func rowProblem(i int, dog, mend string) error {
	return fault.Problems{{Pointer: fmt.Sprintf("/rows/%d", i), Value: dog, Mend: mend}}
}

// found follows a drawn line along the streets from the gate.
func (g *ground) found(line plane.Polyline) (*poolLoop, bool) {
	l := &poolLoop{shape: routing.Loop}
	star := &g.reach.Star
	for at, v := 0, g.reach.Door; at < len(line)-1; {
		best, end := int32(-1), at
		for a := star.First[v]; a < star.First[v+1]; a++ {
			if n := follows(g.p.Land().LineOf(g.reach.Piece[a].Directed), line[at:]); n > 0 && at+n > end {
				best, end = a, at+n
			}
		}
		if best < 0 {
			return nil, false
		}
		l.arcs = append(l.arcs, best)
		at, v = end, star.Head[best]
	}
	if g.retraced(l.arcs) {
		l.shape = routing.ThereAndBack
	}
	g.draw(l)
	return l, true
}

// follows is how many points of a line a piece of street walks on, 0 if it goes
// another way.
func follows(part, line plane.Polyline) int {
	if len(part) > len(line) {
		return 0
	}
	for i, q := range part {
		if q.DistanceM(line[i]) > sameLineM {
			return 0
		}
	}
	return len(part) - 1
}

// retraced says that the way back is the way out.
func (g *ground) retraced(arcs []int32) bool {
	n := len(arcs)
	for i := range n / 2 {
		if g.reach.Star.Twin[arcs[i]] != arcs[n-1-i] {
			return false
		}
	}
	return n > 0
}

// told makes the whole account of one dog's walk, the holds among its watch points.
func (g *ground) told(dog int, l *poolLoop, leave time.Time, holds []Hold) *routing.Plan {
	w := g.wish(dog, leave)
	c := g.reach.Price(g.sums[dog], &w.Dog, w.Depart, w.Factors, l.durationS)
	walk := g.p.Build(&w, g.reach, c, l.arcs)
	walk.Shape, walk.Quality.Checking = l.shape, false
	addHolds(&walk, holds)
	return g.p.Answer(&w, g.start, []routing.Walk{walk})
}

// addHolds puts the places to wait at among the watch points.
func addHolds(w *routing.Walk, holds []Hold) {
	for _, h := range holds {
		q := routing.WatchPoint{What: HoldPoint, Deed: routing.DeedHold, At: h.At, AtS: h.ProgressS, NotBefore: h.NotBefore, FromM: metresAt(w, h.ProgressS)}
		for i := range w.Legs {
			if l := &w.Legs[i]; l.StartS <= h.ProgressS {
				q.Name = cmp.Or(l.Name, l.Class)
			}
		}
		w.Watch = append(w.Watch, q)
	}
	slices.SortStableFunc(w.Watch, func(a, b routing.WatchPoint) int { return cmp.Compare(a.FromM, b.FromM) })
}

// metresAt is how far into the walk one is after so many seconds at its pace.
func metresAt(w *routing.Walk, s float64) (m float64) {
	for i := range w.Legs {
		for j := range w.Legs[i].Edges {
			e := &w.Legs[i].Edges[j]
			end := w.DurationS
			switch {
			case j+1 < len(w.Legs[i].Edges):
				end = w.Legs[i].Edges[j+1].StartS
			case i+1 < len(w.Legs):
				end = w.Legs[i+1].StartS
			}
			if s >= e.StartS {
				m = e.FromM + e.LengthM*math.Min(1, (s-e.StartS)/math.Max(end-e.StartS, 1e-9))
			}
		}
	}
	return m
}
