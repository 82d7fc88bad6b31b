package routing_test

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"testing"

	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/plantest"
)

// TestForemost: of watch points in any order those stay that matter most, none within
// 60 m of another, and what is put together is told. Sources and bells go before what
// is narrow, that before blind corners, those before crossings.
func TestForemost(t *testing.T) {
	order := map[string]int{"source": 0, "school_bell": 0, "pinch": 1, "blind_corner": 2, "crossing": 3}
	whats := []string{"source", "school_bell", "pinch", "blind_corner", "crossing"}
	rng := rand.New(rand.NewPCG(7, 13))
	for range 500 {
		all := make([]routing.WatchPoint, rng.IntN(30))
		for i := range all {
			all[i] = routing.WatchPoint{What: whats[rng.IntN(len(whats))], FromM: float64(i) * 40, At: plane.Point{X: rng.Float64() * 600, Y: rng.Float64() * 600}}
		}
		got := routing.Foremost(all)
		if len(got) > routing.MostWatch || len(all) > 0 && len(got) == 0 {
			t.Fatalf("%d of %d", len(got), len(all))
		}
		if !slices.IsSortedFunc(got, func(a, b routing.WatchPoint) int { return cmp.Compare(a.FromM, b.FromM) }) {
			t.Fatal("not in walking order")
		}
		least := 0
		for i := range got {
			least = max(least, order[got[i].What])
			for j := range i {
				if got[i].At.DistanceM(got[j].At) <= 60 {
					t.Fatal("two within 60 m")
				}
			}
			if slices.Contains(got[i].Also, got[i].What) {
				t.Fatalf("%s, also %v", got[i].What, got[i].Also)
			}
		}
		for _, q := range all {
			near := slices.IndexFunc(got, func(k routing.WatchPoint) bool { return k.At.DistanceM(q.At) <= 60 })
			switch {
			case near < 0 && (len(got) < routing.MostWatch || order[q.What] < least):
				t.Fatalf("%s is left out, %d are told, the least is %d", q.What, len(got), least)
			case near >= 0 && !slices.ContainsFunc(got, func(k routing.WatchPoint) bool {
				return k.At.DistanceM(q.At) <= 60 && (k.What == q.What || slices.Contains(k.Also, q.What))
			}):
				t.Fatalf("%s lies beside one told and is not told", q.What)
			}
		}
	}
}

// TestWatchPointsHaveDeeds: on real walks each watch point says what to do, fit to what
// it is and to the side it is on.
func TestWatchPointsHaveDeeds(t *testing.T) {
	p := plantest.Town(t)
	deeds := map[routing.Deed]int{}
	for _, at := range stateDoors(p, 30) {
		plan, ok := plansOf(t, p, figureWish(p, at))
		if !ok {
			continue
		}
		for i := range plan.Walks {
			w := &plan.Walks[i]
			if len(w.Watch) > routing.MostWatch {
				t.Errorf("%d watch points", len(w.Watch))
			}
			narrow := map[string]int{}
			for _, q := range w.Watch {
				if q.What == "pinch" {
					if narrow[q.Name]++; narrow[q.Name] > 1 {
						t.Errorf("%s is narrow twice", q.Name)
					}
				}
				deeds[q.Deed]++
				want := map[string][]routing.Deed{"source": {routing.DeedKeepLeft, routing.DeedKeepRight, routing.DeedLookFirst}, "school_bell": {routing.DeedWaitThrough},
					"pinch": {routing.DeedWaitClear}, "blind_corner": {routing.DeedSwingWide}, "crossing": {routing.DeedStopLook}}[q.What]
				if !slices.Contains(want, q.Deed) || q.Deed == routing.DeedKeepLeft && q.Side != "right" || q.Deed == routing.DeedKeepRight && q.Side != "left" {
					t.Errorf("%s on the %s: %s", q.What, q.Side, q.Deed)
				}
			}
		}
	}
	if len(deeds) < 4 {
		t.Errorf("too few sorts of watch points to tell: %v", deeds)
	}
}
