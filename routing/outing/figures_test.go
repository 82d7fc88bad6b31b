package outing_test

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/outing"
	"wideberth/routing/plantest"
	"wideberth/routing/snapshot/maptest"
)

// shelterAt is a made-up outing from a gate: needs of 20 to 60 m from dogs, a third
// of them traffic as well, wishes of 20 to 40 minutes, a tenth with a bite history.
func shelterAt(p *routing.Planner, gate plane.Point, dogs, people int, hours float64, seed uint64) outing.Wish {
	rng := rand.New(rand.NewPCG(seed, 5))
	o := outing.Wish{Gate: gate, Start: time.Date(2026, 11, 25, 9, 0, 0, 0, p.Zone()), Minutes: 60 * hours}
	for i := range dogs {
		d := apart(fmt.Sprintf("dog %d", i+1), 20+10*float64(rng.IntN(5)))
		if rng.IntN(3) == 0 {
			d.ByCategory[exposure.Traffic] = exposure.Need{WorkingM: 15, ReactionM: 6}
		}
		o.Dogs = append(o.Dogs, outing.Dog{Dog: d, Minutes: []float64{20, 30, 30, 40}[rng.IntN(4)], Experience: outing.Experience(rng.IntN(6) / 3), Bite: i%10 == 9})
	}
	for i := range people {
		o.People = append(o.People, outing.Person{Name: fmt.Sprintf("person %d", i+1), Experience: outing.Experience(i % 3)})
	}
	return o
}

// outingFigures is what a row of the table shows.
type outingFigures struct {
	all, broken     int
	served, granted []float64
	ratio, solo     []float64 // X a minute against the dogs alone: in the pool, and each by the loop planner
	took            []float64
	margin          []float64
	first, last     []float64 // minutes: the first dog out, the last person's first walk
	loads, jain     []float64 // largest over smallest load by hours, Jain's index
	hour            []float64 // dogs that start in the first hour
}

// day notes how the outing is for people.
func (f *outingFigures) day(tt *outing.Timetable) {
	first, last, hour := 1e9, 0.0, 0.0
	least, most := 1e9, 0.0
	for i := range tt.Rows {
		first = min(first, float64(tt.Rows[i].StartMin))
		if tt.Rows[i].StartMin < 60 {
			hour++
		}
	}
	for _, l := range tt.Loads {
		at := float64(l.FirstMin)
		if l.FirstMin < 0 {
			at = tt.Minutes
		}
		last = max(last, at)
		share := float64(l.WalkMin) / float64(l.HoursMin)
		least, most = min(least, share), max(most, share)
	}
	f.first, f.last, f.hour = append(f.first, first), append(f.last, last), append(f.hour, hour)
	f.loads, f.jain = append(f.loads, most/max(least, 1e-3)), append(f.jain, tt.Fairness())
}

func (f *outingFigures) add(t *testing.T, p *routing.Planner, o outing.Wish) {
	begin := time.Now()
	tt, err := outing.Plan(context.Background(), p, o)
	f.took = append(f.took, time.Since(begin).Seconds())
	if err != nil {
		t.Log(err)
		f.served, f.granted = append(f.served, 0), append(f.granted, 0)
		return
	}
	if len(tt.Unserved) == 0 {
		f.all++
	} else {
		t.Logf("%d of %d served: %s", len(tt.Rows), len(o.Dogs), tt.Shortage.Cause)
	}
	f.served = append(f.served, float64(len(tt.Rows))/float64(len(o.Dogs)))
	f.granted = append(f.granted, tt.GrantedMin/tt.WishedMin)
	f.ratio = append(f.ratio, tt.PerMinute/tt.AlonePerMin)
	if alone := soloRate(p, &o, tt); alone > 0 {
		f.solo = append(f.solo, tt.PerMinute/alone)
	}
	f.day(tt)
	report := replayed(t, tt, 300)
	if !report.Kept() {
		t.Errorf("the replay breaks a rule: %+v, %g s with two in the zone", report.Worst(), report.ZoneS)
		f.broken++
	}
	if w := report.Worst(); w != nil {
		f.margin = append(f.margin, w.MarginM())
	}
}

// soloRate is X a minute of the same dogs, each sent alone at its own start on the
// best loop of its whole wish that the loop planner finds.
func soloRate(p *routing.Planner, o *outing.Wish, tt *outing.Timetable) float64 {
	x, minutes := 0.0, 0.0
	for i := range tt.Rows {
		r := &tt.Rows[i]
		for _, d := range o.Dogs {
			if d.Dog.Name != r.Dog {
				continue
			}
			plan, err := p.Plan(context.Background(), routing.Wish{Shape: routing.Loop, From: o.Gate, Minutes: d.Minutes, Depart: r.Leave, Dog: d.Dog, Walks: 1})
			if err != nil {
				continue
			}
			w := &plan.Walks[0]
			walked := r.ProgressS[len(r.ProgressS)-1] / 60
			x += w.ExpectedReactions / (w.DurationS / 60) * walked
			minutes += walked
		}
	}
	if minutes == 0 {
		return 0
	}
	return x / minutes
}

// TestFiguresOutings plans outings at twelve gates of a city.
func TestFiguresOutings(t *testing.T) {
	maptest.Figures(t)
	p := plantest.On(t, maptest.Delaware(t))
	gates := maptest.Doors(p.Snapshot(), 12, 41)
	for _, c := range []struct {
		dogs, people int
		hours        float64
	}{{12, 4, 3}, {30, 8, 4}} {
		for _, slack := range []outing.Slack{outing.Holds, outing.Printed, outing.Free} {
			var f outingFigures
			for i, gate := range gates {
				o := shelterAt(p, gate, c.dogs, c.people, c.hours, uint64(i))
				o.Slack = slack
				f.add(t, p, o)
			}
			fmt.Printf("  outings, %2d dogs, %d people, %.0f h, %-7s: all served at %2d of %d gates, served %.2f, minutes granted %.2f; X a minute against alone: median %.2f, p90 %.2f (each by the loop planner at its own start: %.2f, %.2f, most %.2f); %.2f s median, %.2f most; replays that broke a rule %d, least margin %.1f m\n",
				c.dogs, c.people, c.hours, slack, f.all, len(gates), maptest.Quantile(f.served, .5), maptest.Quantile(f.granted, .5), maptest.Quantile(f.ratio, .5), maptest.Quantile(f.ratio, .9),
				maptest.Quantile(f.solo, .5), maptest.Quantile(f.solo, .9), maptest.Quantile(f.solo, 1), maptest.Quantile(f.took, .5), maptest.Quantile(f.took, 1), f.broken, maptest.Quantile(f.margin, 0))
		}
	}
}

// TestFiguresDay re-plans the same outings an hour on.
func TestFiguresDay(t *testing.T) {
	maptest.Figures(t)
	p := plantest.On(t, maptest.Delaware(t))
	for _, c := range []struct {
		dogs, people int
		hours        float64
	}{{12, 4, 3}, {30, 8, 4}} {
		late, gone, changedLate, changedGone := 0, 0, 0, 0
		var took []float64
		gates := maptest.Doors(p.Snapshot(), 9, 41)
		for i, gate := range gates {
			o := shelterAt(p, gate, c.dogs, c.people, c.hours, uint64(i))
			tt, err := outing.Plan(context.Background(), p, o)
			if err != nil {
				continue
			}
			now := o.Start.Add(time.Hour)
			day := outing.Day{Now: now, Before: tt.Rows, Late: []outing.Late{{Person: "person 2", Minutes: 10}}}
			begin := time.Now()
			after, err := outing.Replan(context.Background(), p, o, day)
			if err != nil {
				t.Fatal(err)
			}
			took = append(took, time.Since(begin).Seconds())
			changedLate += len(after.Changed)
			if len(after.Unserved) <= len(tt.Unserved) {
				late++
			}
			day.Gone = []string{"person 4"}
			if after, err = outing.Replan(context.Background(), p, o, day); err != nil {
				t.Fatal(err)
			}
			changedGone += len(after.Changed)
			if len(after.Unserved) <= len(tt.Unserved) {
				gone++
			}
		}
		fmt.Printf("  on the day, %2d dogs: one person 10 min late, nobody dropped at %d of %d gates, %.1f walks changed; one gone as well, %d of %d, %.1f changed; %.2f s median\n",
			c.dogs, late, len(gates), float64(changedLate)/float64(len(gates)), gone, len(gates), float64(changedGone)/float64(len(gates)), maptest.Quantile(took, .5))
	}
}

// BenchmarkOuting plans twelve dogs with four people in three hours.
func BenchmarkOuting(b *testing.B) {
	p := plantest.On(b, maptest.Delaware(b))
	gates := maptest.Doors(p.Snapshot(), 12, 41)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		if _, err := outing.Plan(context.Background(), p, shelterAt(p, gates[i%len(gates)], 12, 4, 3, uint64(i%len(gates)))); err != nil {
			b.Log(err)
		}
	}
}

// TestFiguresShelterDay holds the rules of the day against a timetable without them.
func TestFiguresShelterDay(t *testing.T) {
	maptest.Figures(t)
	p := plantest.On(t, maptest.Delaware(t))
	gates := maptest.Doors(p.Snapshot(), 12, 41)
	for _, c := range []struct {
		dogs, people int
		hours        float64
	}{{12, 4, 3}, {30, 8, 4}} {
		for _, rule := range []struct {
			name string
			set  func(o *outing.Wish)
		}{
			{"none of the rules, 5 minutes", func(o *outing.Wish) {
				o.TurnMin, o.Waiting, o.AnyLoads, o.NoBreaks = 5, outing.WaitNone, true, true
			}},
			{"turnaround 10, waiting, fair loads, breaks", func(o *outing.Wish) {}},
		} {
			var f outingFigures
			for i, gate := range gates {
				o := shelterAt(p, gate, c.dogs, c.people, c.hours, uint64(i))
				rule.set(&o)
				f.add(t, p, o)
			}
			q := maptest.Quantile
			fmt.Printf("  outings, %2d dogs, %d people, %.0f h, %s: all served at %d of %d gates, minutes granted %.2f, X a minute against alone %.2f (p90 %.2f); first dog out after %.0f min (median), last person's first walk after %.0f; in the first hour %.1f dogs; largest over smallest load %.2f (most %.2f), Jain %.3f; %.2f s median, %.2f most; least margin %.1f m\n",
				c.dogs, c.people, c.hours, rule.name, f.all, len(gates), q(f.granted, .5), q(f.ratio, .5), q(f.ratio, .9), q(f.first, .5), q(f.last, .5), q(f.hour, .5), q(f.loads, .5), q(f.loads, 1), q(f.jain, .5), q(f.took, .5), q(f.took, 1), q(f.margin, 0))
		}
	}
}

// TestFiguresHouse plans the same outings with every rule of the house in use: two pairs, a
// dog with two people, two rows of four, one dog last on its ground, one that rests.
func TestFiguresHouse(t *testing.T) {
	maptest.Figures(t)
	p := plantest.On(t, maptest.Delaware(t))
	gates := maptest.Doors(p.Snapshot(), 12, 41)
	for _, c := range []struct {
		dogs, people int
		hours        float64
	}{{12, 4, 3}, {30, 8, 4}} {
		var f outingFigures
		for i, gate := range gates {
			o := shelterAt(p, gate, c.dogs, c.people, c.hours, uint64(i))
			o.Dogs[0].With, o.Dogs[2].With = o.Dogs[1].Dog.Name, o.Dogs[3].Dog.Name
			o.Dogs[4].People = 2
			for k := range 8 {
				o.Dogs[k].Row = string(rune('A' + k%2))
			}
			o.Dogs[10].Apart = outing.ApartLast
			o.Dogs[11].Rest = []time.Weekday{o.Start.Weekday()}
			f.add(t, p, o)
		}
		q := maptest.Quantile
		fmt.Printf("  outings with rules of the house, %2d dogs, %d people, %.0f h: all served at %d of %d gates, minutes granted %.2f, X a minute against alone %.2f (p90 %.2f); first dog out after %.0f min (median), last person's first walk after %.0f; largest over smallest load %.2f, Jain %.3f; %.2f s median, %.2f most; replays that broke a rule %d, least margin %.1f m\n",
			c.dogs, c.people, c.hours, f.all, len(gates), q(f.granted, .5), q(f.ratio, .5), q(f.ratio, .9), q(f.first, .5), q(f.last, .5), q(f.loads, .5), q(f.jain, .5), q(f.took, .5), q(f.took, 1), f.broken, q(f.margin, 0))
	}
}
