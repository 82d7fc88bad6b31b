package routing_test

import (
	"math"
	"os"
	"slices"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/plantest"
	"wideberth/routing/snapshot/maptest"
)

// at is a clock on the Monday that hours are compared on.
func rankHour(p *routing.Planner, clock string) time.Time {
	t, err := time.ParseInLocation("2006-01-02 15:04", "2026-11-30 "+clock, p.Zone())
	if err != nil {
		panic(err)
	}
	return t
}

// TestRankTellsStreetsApart asks of the ground round a door what the steps are for: in
// the morning and the evening none swallows the others, and a quiet night is calm.
func TestRankTellsStreetsApart(t *testing.T) {
	holdRank(t, plantest.Town(t), map[string]plane.Point{"town": maptest.Door(plantest.Town(t).Frame())})
}

// TestRankOnRealGround does so in the middle of a city, in a suburb and in a village.
func TestRankOnRealGround(t *testing.T) {
	if os.Getenv("WIDEBERTH_SLOW") == "" {
		t.Skip("set WIDEBERTH_SLOW")
	}
	p := plantest.On(t, maptest.Delaware(t))
	f := p.Frame()
	holdRank(t, p, map[string]plane.Point{
		"grid":    f.Forward(-75.5476, 39.7459),
		"suburb":  f.Forward(-75.5012, 39.8020),
		"village": f.Forward(-75.6044, 38.7426),
	})
}

func holdRank(t *testing.T, p *routing.Planner, places map[string]plane.Point) {
	t.Helper()
	ladder := []float64{5, 6, 7, 8, 9, 10, 12, 14, 16, 18, 20, 22, 25, 28, 32, 36, 40, 45, 50, 55, 60, 70, 80, 90, 100, 120, 150, 180, 210, 240, 300}
	dog := maptest.Kessa()
	for name, at := range places {
		for _, clock := range []string{"08:10", "13:00", "21:00", "02:00"} {
			begin := time.Now()
			r := p.Ranked(at, &dog, rankHour(p, clock), nil)
			t.Logf("%-8s %s: %.0f %% of %d ways in %d runs, bounds %v minutes, %v", name, clock, []float64{100 * r.Share[0], 100 * r.Share[1], 100 * r.Share[2], 100 * r.Share[3]}, len(r.Edges), len(r.Runs()), r.Minutes, time.Since(begin).Round(time.Millisecond))
			c := r.Minutes
			if !(c[0] > c[1] && c[1] > c[2]) || c[0] < 20 || c[0] > 300 || c[1] < 10 || c[1] > 150 || c[2] < 5 || c[2] > 80 {
				t.Errorf("%s %s: bounds %v", name, clock, c)
			}
			for _, m := range c {
				if !slices.Contains(ladder, m) {
					t.Errorf("%s %s: %g is no rung", name, clock, m)
				}
			}
			if sum := r.Share[0] + r.Share[1] + r.Share[2] + r.Share[3]; math.Abs(sum-1) > 1e-9 {
				t.Errorf("%s %s: shares add to %g", name, clock, sum)
			}
			switch clock {
			case "08:10":
				if slices.Min(r.Share[:]) < 0.15 || slices.Max(r.Share[:]) > 0.40 {
					t.Errorf("%s %s: shares %.2f, want each 0.15 to 0.40", name, clock, r.Share)
				}
			case "02:00":
				if r.Share[0] < 0.88 { // real ground has 0.93 and more; the invented town has a pub at its door
					t.Errorf("%s at night: %.2f is calm", name, r.Share[0])
				}
			}
			holdRuns(t, r)
		}
	}
}

// holdRuns holds the runs against the edges they are made of.
func holdRuns(t *testing.T, r *routing.Ranked) {
	t.Helper()
	seen := make([]bool, len(r.Edges))
	for _, run := range r.Runs() {
		for _, on := range run.Edges {
			e := &r.Edges[on.Line]
			if seen[on.Line] || e.Step != run.Step || e.Role != run.Role || e.Step != r.Step(e.HazardPerS) {
				t.Fatalf("edge %d of step %d in a run of step %d, or twice", e.Edge, e.Step, run.Step)
			}
			seen[on.Line] = true
		}
	}
	if slices.Contains(seen, false) {
		t.Fatal("an edge is in no run")
	}
}

// TestRankOfCalmDog gives a dog that reacts to nothing: all ground is calm.
func TestRankOfCalmDog(t *testing.T) {
	p := plantest.Town(t)
	r := p.Ranked(maptest.Door(p.Frame()), &exposure.Dog{Name: "Oro"}, rankHour(p, "08:10"), nil)
	if math.Abs(r.Share[0]-1) > 1e-9 || r.Minutes != [3]float64{300, 150, 80} {
		t.Errorf("shares %v, bounds %v", r.Share, r.Minutes)
	}
	// Far from every street there is nothing to compare, and nothing is claimed.
	far := p.Ranked(plane.Point{X: 1e6, Y: 1e6}, &exposure.Dog{Name: "Oro"}, rankHour(p, "08:10"), nil)
	if far.Share != [4]float64{} || len(far.Edges) != 0 || far.Minutes != [3]float64{20, 10, 5} {
		t.Errorf("far from the map: %v %v", far.Share, far.Minutes)
	}
}
