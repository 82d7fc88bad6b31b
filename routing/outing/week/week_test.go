package week_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/routing/outing"
	"wideberth/routing/outing/week"
	"wideberth/routing/plantest"
	"wideberth/routing/snapshot/maptest"
)

// monday is when the weeks of these tests begin.
var monday = time.Date(2026, 11, 23, 9, 0, 0, 0, time.UTC)

func kennel(t testing.TB) outing.Wish {
	o := outing.Wish{Gate: maptest.Door(plantest.Town(t).Frame()), Start: monday, Minutes: 120, Work: 1500}
	for i, name := range []string{"Bram", "Oro", "Tilly"} {
		o.Dogs = append(o.Dogs, outing.Dog{Minutes: 15 + 5*float64(i), Dog: exposure.Dog{Name: name, ByKind: map[exposure.Kind]exposure.Need{},
			ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: 20, ReactionM: 10}}}})
	}
	o.People = []outing.Person{{Name: "Ada"}, {Name: "Sam"}}
	return o
}

// TestWeek: three dogs for two people are fair over two days as they cannot be on one;
// days off and who does not come hold; the sums are those of the days.
func TestWeek(t *testing.T) {
	p := plantest.Town(t)
	o := kennel(t)
	o.Dogs[1].Rest = []time.Weekday{time.Tuesday}
	o.People[1].Rest = []time.Weekday{time.Wednesday}
	w, err := week.Plan(context.Background(), p, o, 4, []time.Weekday{time.Thursday})
	if err != nil || len(w.Days) != 3 {
		t.Fatalf("%d days, %v", len(w.Days), err)
	}
	walked, there := map[string]int{}, map[string]int{}
	dogs := map[string]int{}
	for n, d := range w.Days {
		if !d.Start.Equal(monday.AddDate(0, 0, n)) || !d.Timetable.Start.Equal(d.Start) {
			t.Errorf("day %d begins at %v", n, d.Start)
		}
		for _, l := range d.Timetable.Loads {
			walked[l.Person] += l.WalkMin
			there[l.Person] += l.HoursMin
		}
		for _, r := range d.Timetable.Rows {
			dogs[r.Dog]++
		}
	}
	if tt := w.Days[1].Timetable; !slices.Equal(tt.Resting, []string{"Oro"}) {
		t.Errorf("on Tuesday %v rest", tt.Resting)
	}
	if tt := w.Days[2].Timetable; len(tt.Loads) != 1 || tt.Loads[0].Person != "Ada" {
		t.Errorf("on Wednesday %+v are there", tt.Loads)
	}
	for _, l := range w.Loads {
		if l.WalkMin != walked[l.Person] || l.HoursMin != there[l.Person] || l.WalkMin == 0 {
			t.Errorf("%+v, the days say %d of %d minutes", l, walked[l.Person], there[l.Person])
		}
	}
	for _, d := range w.Dogs {
		if rests := map[string]int{"Oro": 1}[d.Name]; d.Walks != dogs[d.Name] || d.Rests != rests || d.Walks+d.Rests+d.LeftIn != 3 || d.GrantedMin > d.WishedMin {
			t.Errorf("%+v, the days have %d walks", d, dogs[d.Name])
		}
	}
}

// TestEarlierDaysCount: who has walked all of Monday walks less on Tuesday than who has
// not, and the index of both days is better than with Monday forgotten.
func TestEarlierDaysCount(t *testing.T) {
	p := plantest.Town(t)
	o := kennel(t)
	share := func(before float64) float64 {
		o.People[0].WalkedMin, o.People[0].ThereMin, o.People[1].ThereMin = before, 120, 120
		tt, err := outing.Plan(context.Background(), p, o)
		if err != nil {
			t.Fatal(err)
		}
		return float64(tt.Loads[0].WalkMin) / float64(tt.Loads[0].WalkMin+tt.Loads[1].WalkMin)
	}
	fresh, tired := share(0), share(80)
	if tired >= fresh || tired > 0.34 {
		t.Errorf("Ada walks %.2f of the minutes, after 80 minutes on the day before %.2f", fresh, tired)
	}
}

// TestOn: hours of the clock stay, over the change to summer time too (EU directive
// 2000/84/EC: the last Sunday in March).
func TestOn(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Skip(err)
	}
	at := time.Date(2026, 3, 28, 9, 0, 0, 0, berlin)
	o := outing.Wish{Start: at, Dogs: []outing.Dog{{FinishBy: at.Add(time.Hour).UTC()}}, People: []outing.Person{{From: at}}, Heat: &outing.Heat{From: at.Add(2 * time.Hour)}}
	next := week.On(&o, 1)
	for what, c := range map[string][2]time.Time{"start": {next.Start, at}, "finish": {next.Dogs[0].FinishBy, at.Add(time.Hour)}, "from": {next.People[0].From, at}, "heat": {next.Heat.From, at.Add(2 * time.Hour)}} {
		if got := c[0].In(berlin); got.Day() != 29 || got.Hour() != c[1].Hour() {
			t.Errorf("%s: %v, a day before %v", what, got, c[1])
		}
	}
	if math.Abs(next.Start.Sub(at).Hours()-23) > 1e-9 {
		t.Errorf("the day has %g hours", next.Start.Sub(at).Hours())
	}
	if !next.People[0].To.IsZero() || !next.Heat.To.IsZero() || !o.People[0].From.Equal(at) {
		t.Error("what was not said is said, or the first day has changed")
	}
}

// TestFaults: days out of range, none left, and whatever is wrong with the outing.
func TestFaults(t *testing.T) {
	p := plantest.Town(t)
	all := []time.Weekday{0, 1, 2, 3, 4, 5, 6}
	for _, c := range []struct {
		days int
		skip []time.Weekday
		at   string
	}{{0, nil, "/days"}, {8, nil, "/days"}, {7, all, "/skip"}} {
		var wrong fault.Problems
		if _, err := week.Plan(context.Background(), p, kennel(t), c.days, c.skip); !errors.As(err, &wrong) || wrong[0].Pointer != c.at {
			t.Errorf("%d days: %v", c.days, err)
		}
	}
	o := kennel(t)
	o.Minutes = 1
	if _, err := week.Plan(context.Background(), p, o, 2, nil); err == nil {
		t.Error("an outing of a minute passes")
	}
	o = kennel(t)
	for i := range o.People {
		o.People[i].Rest = []time.Weekday{time.Monday}
	}
	w, err := week.Plan(context.Background(), p, o, 1, nil)
	if err != nil || w.Days[0].Timetable != nil || w.Dogs[0].Rests != 1 || w.Fairness() != 1 {
		t.Errorf("nobody comes: %+v, %v", w, err)
	}
}

// Monday's outing a day later, at the same hour of the clock.
func ExampleOn() {
	o := outing.Wish{Start: monday}
	next := week.On(&o, 1)
	fmt.Println(next.Start.Format("Mon 15:04"))
	// Output: Tue 09:00
}
