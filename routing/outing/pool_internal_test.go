package outing

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/outing/replay"
	"wideberth/routing/snapshot/maptest"
	"wideberth/testdata"
)

// townOuting is an outing of dogs of different tempers from the invented door.
func townOuting(t testing.TB, dogs int) (*routing.Planner, *Wish) {
	t.Helper()
	p, err := routing.NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	o := &Wish{Gate: p.Frame().Forward(testdata.DoorLon, testdata.DoorLat), Start: time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC), Minutes: 120}
	for i := range dogs {
		d := exposure.Dog{Name: fmt.Sprint("dog ", i), ByKind: map[exposure.Kind]exposure.Need{}, ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: 20 + 10*float64(i%4), ReactionM: 10}}}
		if i%2 == 1 {
			d.ByCategory[exposure.Traffic] = exposure.Need{WorkingM: 20, ReactionM: 8}
		}
		o.Dogs = append(o.Dogs, Dog{Dog: d, Minutes: []float64{30, 20, 25}[i%3]})
	}
	o.People = []Person{{Name: "Ada", Experience: Experienced}, {Name: "Sam"}, {Name: "Jo"}}
	return p, o
}

func townPool(t testing.TB, p *routing.Planner, o *Wish) (*ground, []poolLoop) {
	t.Helper()
	g, err := newGround(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	pool, err := g.pool(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return g, pool
}

// TestPool: every loop is a walk from the gate and back along the network, of a
// length that somebody wished for or a share of it, each once and both ways round.
func TestPool(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	p, o := townOuting(t, 6)
	g, pool := townPool(t, p, o)
	if len(pool) < 20 || len(pool) > 250 {
		t.Fatalf("%d loops", len(pool))
	}
	known := map[string]bool{}
	for i := range pool {
		l := &pool[i]
		if key := keyOf(l.arcs); known[key] {
			t.Errorf("loop %d is there twice", i)
		} else {
			known[key] = true
		}
		at, sum := g.reach.Door, 0.0
		for _, a := range l.arcs {
			if tail := g.reach.Star.Head[g.reach.Star.Twin[a]]; tail != at {
				t.Fatalf("loop %d jumps from %d to %d", i, at, tail)
			}
			at, sum = g.reach.Star.Head[a], sum+float64(g.timeS[a])
		}
		if at != g.reach.Door || math.Abs(sum-l.durationS) > 1e-6 || math.Abs(l.atS[len(l.atS)-1]-sum) > 1e-6 {
			t.Errorf("loop %d ends at %d after %.1f s, told %.1f", i, at, sum, l.durationS)
		}
		if !slices.ContainsFunc(o.durations(), func(d float64) bool { return l.durationS >= d*0.97-1 && l.durationS <= d*1.10+1 }) {
			t.Errorf("loop %d takes %.0f s, nobody wished for that: %v", i, l.durationS, o.durations())
		}
		if l.line[0].DistanceM(g.start.At) > 1 || len(l.line) != len(l.atS) || !slices.IsSorted(l.atS) {
			t.Errorf("loop %d: its line does not begin at the gate or its times run back", i)
		}
	}
	for i := range pool {
		back := g.turned(&pool[i])
		if !known[keyOf(back.arcs)] {
			t.Errorf("loop %d is there one way round only", i)
		}
	}
}

// TestPoolReactions: what a loop costs a dog is what the account of such a walk
// says, within what half hours of the clock give away.
func TestPoolReactions(t *testing.T) {
	p, o := townOuting(t, 4)
	g, pool := townPool(t, p, o)
	for i := 0; i < len(pool); i += 7 {
		for d := range o.Dogs {
			l := &pool[i]
			w := g.wish(d, o.Start.Add(30*time.Minute))
			c := g.reach.Price(g.sums[d], &w.Dog, w.Depart, w.Factors, l.durationS)
			want := p.Build(&w, g.reach, c, l.arcs).ExpectedReactions
			if got := l.x[d][1]; math.Abs(got-want) > 0.05*want+1e-6 {
				t.Errorf("loop %d, dog %d: %.5f in the pool, %.5f by the walk's account", i, d, got, want)
			}
		}
	}
}

// TestHolds: printed times fall on whole minutes, places lie off the gate, no leg
// between holds is longer than the spacing and its leeway.
func TestHolds(t *testing.T) {
	p, o := townOuting(t, 6)
	g, pool := townPool(t, p, o)
	with := 0
	for i := range pool {
		l := &pool[i]
		last := 0.0
		tr := tracer{line: l.line, atS: l.atS}
		for _, u := range l.holds {
			if minutes := u / slowPace / 60; math.Abs(minutes-math.Round(minutes)) > 1e-9 {
				t.Errorf("loop %d: hold %.2f minutes after the start", i, minutes)
			}
			if u-last > holdEveryS+3*holdLeeS || u <= last {
				t.Errorf("loop %d: hold at %.0f s after one at %.0f", i, u, last)
			}
			if d := tr.at(u).DistanceM(g.start.At); d < o.zoneM()+holdClearM {
				t.Errorf("loop %d: hold %.0f m from the gate", i, d)
			}
			last = u
		}
		if len(l.holds) > 0 {
			with++
		}
	}
	if with < len(pool)/2 {
		t.Errorf("%d of %d loops have a hold", with, len(pool))
	}
	o.Slack = Free
	if _, free := townPool(t, p, o); slices.ContainsFunc(free, func(l poolLoop) bool { return len(l.holds) > 0 }) {
		t.Error("a walk that never waits has holds")
	}
}

func TestDurations(t *testing.T) {
	for _, c := range []struct {
		wishes []float64
		want   []float64 // minutes
	}{
		{[]float64{30}, []float64{16.5, 21, 25.5, 30}},
		{[]float64{30, 30, 30}, []float64{16.5, 21, 25.5, 30}},
		{[]float64{20, 22}, []float64{11, 12.1, 14, 15.4, 17, 20, 22}},
		{[]float64{5}, []float64{5}},
	} {
		o := Wish{}
		for _, w := range c.wishes {
			o.Dogs = append(o.Dogs, Dog{Minutes: w})
		}
		got := o.durations()
		for i := range got {
			got[i] = math.Round(got[i]/6) / 10
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%v: %v, want %v", c.wishes, got, c.want)
		}
	}
}

// TestManyWishes: sixty dogs of sixty wishes get a bounded pool, in which each has
// a loop not longer than its wish and most of it.
func TestManyWishes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := Wish{}
		for _, m := range rapid.SliceOfN(rapid.Float64Range(routing.LeastMinutes, mostDogMinutes), 1, mostOutingDogs).Draw(t, "minutes") {
			o.Dogs = append(o.Dogs, Dog{Minutes: m})
		}
		all := o.durations()
		if len(all) > mostDurations {
			t.Fatalf("%d durations", len(all))
		}
		for i := range o.Dogs {
			wish := o.Dogs[i].Minutes * 60
			if !slices.ContainsFunc(all, func(d float64) bool { return d <= wish+1 && d >= 0.7*wish }) {
				t.Errorf("%g s are wished for, there are %v", wish, all)
			}
		}
	})
}

// TestViews: dogs of one temper need one weighting, dogs of two need more.
func TestViews(t *testing.T) {
	p, o := townOuting(t, 6)
	g, _ := townPool(t, p, o)
	if n := len(g.views()); n != poolViews {
		t.Errorf("%d weightings for dogs of two tempers", n)
	}
	for i := range o.Dogs {
		o.Dogs[i].Dog.ByCategory = o.Dogs[0].Dog.ByCategory
	}
	g, _ = townPool(t, p, o)
	for i, v := range g.views() {
		if d := gapOf(v, g.views()[0]); d > 1e-3*float64(len(v)) {
			t.Errorf("weighting %d differs by %.4f although all dogs are alike", i, d)
		}
	}
	if m := normed([]float32{0, 0}); m[0] != 0 || math.IsNaN(float64(m[0])) {
		t.Errorf("no hazard at all: %v", m)
	}
}

// TestLimitsOfOneDog: what a limit forbids a dog it does not walk, and others may.
func TestLimitsOfOneDog(t *testing.T) {
	p, o := townOuting(t, 3)
	g, pool := townPool(t, p, o)
	banned := pool[0].arcs[len(pool[0].arcs)/2]
	g.barredFor[1] = make([]bool, len(g.timeS))
	g.barredFor[1][banned] = true
	if g.allowed(&pool[0], 1) || !g.allowed(&pool[0], 0) && g.barredFor[0] == nil {
		t.Error("a loop over a forbidden arc is allowed, or forbidden to another dog")
	}
	o.Limits.WithinM = 250
	_, near := townPool(t, p, o)
	for i := range near {
		for _, q := range near[i].line {
			if d := q.DistanceM(o.Gate); d > 400 {
				t.Fatalf("loop %d strays %.0f m from the gate, the limit is 250 and an edge", i, d)
			}
		}
	}
}

// TestManyGates: whatever the gate, the dogs and the slack, the replay finds no
// broken rule. It is the check that the whole rests on.
func TestManyGates(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p, _ := townOuting(t, 1)
	gates := 6
	if os.Getenv("WIDEBERTH_SLOW") == "" {
		t.Log("six gates; WIDEBERTH_SLOW=1 replays at fifty, which takes minutes")
	} else {
		gates = 50
	}
	rng := rand.New(rand.NewPCG(19, 3))
	edges, _ := p.EdgesIn(p.Land().Snap.Bounds, 1<<30)
	walked := 0
	for i := range gates {
		_, o := townOuting(t, 4+rng.IntN(6))
		line := p.Land().Snap.Graph.EdgeLine(edges[rng.IntN(len(edges))])
		o.Gate, o.Slack, o.Work, o.Seed = line.At(line.LengthM()/2), []Slack{Holds, Printed, Free}[i%3], 5_000, uint64(i)
		for d := range o.Dogs {
			w := 10 + 90*rng.Float64()
			o.Dogs[d].Dog.ByCategory = map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: w, ReactionM: w / 2}}
			o.Dogs[d].Minutes = 10 + math.Floor(25*rng.Float64())
		}
		tt, err := Plan(context.Background(), p, *o)
		if err != nil {
			continue // no walk from there
		}
		walked += len(tt.Rows)
		walks, rules := tt.Replay()
		r, err := replay.Check(context.Background(), walks, rules, 30, uint64(i))
		if err != nil {
			t.Fatal(err)
		}
		if !r.Kept() {
			t.Errorf("gate %d (%s): %+v, %g s with two in the zone %v", i, o.Slack, r.Worst(), r.ZoneS, r.ZonePair)
		}
	}
	if walked < 2*gates {
		t.Errorf("%d walks at %d gates: too few to show anything", walked, gates)
	}
}
