//go:build unix

package errand

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"syscall"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// doorsOfTowns are doors in towns that have a street near.
func doorsOfTowns(t *testing.T, p *routing.Planner) []plane.Point {
	return slices.DeleteFunc(maptest.TownDoors(t, p.Frame()), func(at plane.Point) bool {
		_, err := p.Land().Place(at)
		return err != nil
	})
}

// figureErrand is a Wednesday in December at a quarter past eight, with a dog that
// works from 38 m of dogs and from 25 m of children.
func figureErrand(p *routing.Planner, at plane.Point) Errand {
	dog := exposure.Dog{Name: "Kessa", SpeedMPS: 1.2, ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: 38, ReactionM: 15}},
		ByKind: map[exposure.Kind]exposure.Need{exposure.Child: {WorkingM: 25, ReactionM: 10}}}
	return Errand{Wish: routing.Wish{Shape: routing.Calmest, From: at, Minutes: 30, Dog: dog, Depart: time.Date(2026, 12, 2, 8, 15, 0, 0, p.Zone()), Walks: 1}, DriveMinutes: UsualDriveMinutes}
}

// processorMS is the processor's time of this process so far in milliseconds: on a
// machine that others use too it says more than the clock.
func processorMS(t *testing.T) float64 {
	t.Helper()
	var used syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &used); err != nil {
		t.Fatal(err)
	}
	return float64(used.Utime.Nano()+used.Stime.Nano()) / 1e6
}

// TestFiguresWhere prints how long the answer takes at the doors of the towns beside a
// plan of the same doors in the same run, what is gained, and that no two places of
// an answer are called alike.
func TestFiguresWhere(t *testing.T) {
	maptest.Figures(t)
	p, err := routing.NewPlanner(maptest.Delaware(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	finder := New(p)
	finder.spots()
	var wholeMS, usedMS, planMS, reached, doorX, doorS, laterRatio, carX, carS, carRatio []float64
	for i, at := range doorsOfTowns(t, p) {
		e := figureErrand(p, at)
		planned := time.Now()
		_, err := p.Plan(t.Context(), e.Wish)
		if errors.As(err, new(*reach.Infeasible)) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		planMS = append(planMS, time.Since(planned).Seconds()*1000)
		used := processorMS(t)
		begin := time.Now()
		c, err := finder.Where(t.Context(), p, e)
		if err != nil {
			t.Fatal(err)
		}
		if i > 0 { // the first grows the memory
			wholeMS = append(wholeMS, time.Since(begin).Seconds()*1000)
			usedMS = append(usedMS, processorMS(t)-used)
		}
		reached = append(reached, float64(c.InReach))
		later, car := 1.0, math.NaN()
		for k := range c.Options {
			o := &c.Options[k]
			switch o.Kind {
			case DoorNow:
				doorX, doorS = append(doorX, o.Walk().ExpectedReactions), append(doorS, o.Walk().Strain)
			case DoorLater:
				later = 1 - o.Saves.Share
			case ByCar:
				if math.IsNaN(car) {
					car = 1 - o.Saves.Share
					carX, carS = append(carX, o.Walk().ExpectedReactions), append(carS, o.Walk().Strain)
				}
			}
		}
		laterRatio = append(laterRatio, later)
		if !math.IsNaN(car) {
			carRatio = append(carRatio, car)
		}
	}
	q := maptest.Quantile
	fmt.Printf("  where, %d doors, a drive of 15 minutes: %.0f ms at the median, p95 %.0f (a plan of one walk %.0f and %.0f in the same run)\n", len(wholeMS), q(wholeMS, .5), q(wholeMS, .95), q(planMS, .5), q(planMS, .95))
	fmt.Printf("  of processor time: %.0f ms at the median, p95 %.0f, shared by all cores\n", q(usedMS, .5), q(usedMS, .95))
	fmt.Printf("  places in reach: %.0f (%.0f to %.0f)\n", q(reached, .5), q(reached, 0), q(reached, 1))
	fmt.Printf("  %-34s %8s %8s %8s\n", "medians", "X", "strain", "to now")
	fmt.Printf("  %-34s %8.3f %8.3f %8.2f\n", "the door now", q(doorX, .5), q(doorS, .5), 1.)
	fmt.Printf("  %-34s %8s %8s %8.2f\n", "the door at its best free hour", "", "", q(laterRatio, .5))
	fmt.Printf("  %-34s %8.3f %8.3f %8.2f\n", fmt.Sprintf("the best place by car (%d doors)", len(carRatio)), q(carX, .5), q(carS, .5), q(carRatio, .5))
}

// TestFiguresGreedyOrder plans every place in reach of twenty doors in full and says how
// much is lost by looking lightly at the first eight or two dozen of the greedy order and
// planning in full what looks best of these.
func TestFiguresGreedyOrder(t *testing.T) {
	maptest.Figures(t)
	p, err := routing.NewPlanner(maptest.Delaware(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	q := &finding{p, p.Land(), New(p).spots}
	lost := map[int][]float64{8: nil, lookedAt: nil}
	var ranks []float64
	doors := 0
	for i, at := range doorsOfTowns(t, p) {
		if i%2 == 1 || doors == 20 {
			continue
		}
		e := figureErrand(p, at)
		c := &Choices{}
		stops, err := q.drives(&e, c, e.Depart)
		if err != nil {
			t.Fatal(err)
		}
		if len(stops) == 0 {
			continue
		}
		if err := q.promising(t.Context(), &e, stops); err != nil {
			t.Fatal(err)
		}
		sums := make([]float64, len(stops))
		err = parallel.For(t.Context(), len(stops), func(k int) (err error) {
			sums[k] = math.Inf(1)
			if stops[k].walk, err = p.Glance(t.Context(), &stops[k].wish, stops[k].spot.Start); err != nil || stops[k].walk == nil {
				return err
			}
			plan, err := p.One(t.Context(), &stops[k].wish, stops[k].spot.Start)
			if err == nil && stops[k].walk.ServiceS <= mostAsked*stops[k].walk.DurationS {
				sums[k] = plan.Walks[0].Wear(&stops[k].wish)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
		best := slices.Min(sums)
		if math.IsInf(best, 1) {
			continue
		}
		doors++
		ranks = append(ranks, float64(slices.Index(sums, best)+1))
		for n := range lost {
			answered := math.Inf(1)
			for _, k := range keep(slices.Clone(stops[:min(n, len(stops))]), usualSpots, nil) {
				for i := range stops {
					if stops[i].spot == k.spot {
						answered = min(answered, sums[i])
					}
				}
			}
			lost[n] = append(lost[n], answered-best)
		}
	}
	for _, n := range []int{8, lookedAt} {
		found := 0
		for _, l := range lost[n] {
			if l <= 0 {
				found++
			}
		}
		fmt.Printf("  %d places looked at: the best of all found at %d of %d doors, at most %.3f lost\n", n, found, doors, slices.Max(lost[n]))
	}
	fmt.Printf("  rank of the best place: %.0f at the median, %.0f at worst\n", maptest.Quantile(ranks, .5), slices.Max(ranks))
	for i, l := range lost[lookedAt] {
		if l > 0.02 {
			t.Errorf("door %d: %.3f lost by looking at %d places", i, l, lookedAt)
		}
	}
}
