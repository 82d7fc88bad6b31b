// Package week plans an outing that recurs on several days so that loads are fair over
// all of them. It hides how hours move from day to day and how what somebody has walked
// comes into the days after it.
package week

import (
	"context"
	"fmt"
	"slices"
	"time"

	"wideberth/osmdata/fault"
	"wideberth/routing"
	"wideberth/routing/outing"
)

// MostDays of one plan.
const MostDays = 7

// Week is the answer for all days.
type Week struct {
	Days  []Day
	Loads []outing.Load // of the people over all days, in the order of the wish; FirstMin and BreakMin are of no day
	Dogs  []Dog         // in the order of the wish
}

// Day is one of them.
type Day struct {
	Start     time.Time
	Timetable *outing.Timetable // nil where nobody comes, or every dog rests
}

// Dog is what one dog has of the week.
type Dog struct {
	Name       string
	Walks      int
	Rests      int // days off
	LeftIn     int // days on which no walk could be had
	WishedMin  float64
	GrantedMin float64
}

// Fairness is Jain's index of the loads of all days by hours.
func (w *Week) Fairness() float64 { return (&outing.Timetable{Loads: w.Loads}).Fairness() }

// Plan plans an outing for each of the days from one on, at the hours of its own; skip
// are days of the week without one. What people have walked counts on the days after.
// Faults are fault.Problems; days is 1 to MostDays.
func Plan(ctx context.Context, p *routing.Planner, o outing.Wish, days int, skip []time.Weekday) (*Week, error) {
	if days < 1 || days > MostDays {
		return nil, fault.One("/days", fmt.Sprint(days), fmt.Sprintf("give 1 to %d days", MostDays))
	}
	out := &Week{}
	for i := range o.People {
		out.Loads = append(out.Loads, outing.Load{Person: o.People[i].Name, FirstMin: -1})
	}
	for i := range o.Dogs {
		out.Dogs = append(out.Dogs, Dog{Name: o.Dogs[i].Dog.Name})
	}
	for n := range days {
		day := On(&o, n)
		if slices.Contains(skip, day.Start.Weekday()) {
			continue
		}
		for i := range day.People {
			day.People[i].WalkedMin += float64(out.Loads[i].WalkMin)
			day.People[i].ThereMin += float64(out.Loads[i].HoursMin)
		}
		var t *outing.Timetable
		if !day.Idle() {
			var err error
			if t, err = outing.Plan(ctx, p, day); err != nil {
				return nil, err
			}
		}
		out.Days = append(out.Days, Day{day.Start, t})
		out.count(&day, t)
	}
	if len(out.Days) == 0 {
		return nil, fault.One("/skip", fmt.Sprint(len(skip)), "every day is left out: let one be")
	}
	return out, nil
}

// count adds a day to the loads and to the dogs.
func (w *Week) count(o *outing.Wish, t *outing.Timetable) {
	if t == nil {
		for i := range w.Dogs {
			w.Dogs[i].Rests++
		}
		return
	}
	for _, l := range t.Loads {
		i := slices.IndexFunc(w.Loads, func(x outing.Load) bool { return x.Person == l.Person })
		w.Loads[i].HoursMin += l.HoursMin
		w.Loads[i].WalkMin += l.WalkMin
		w.Loads[i].Walks += l.Walks
	}
	for i := range w.Dogs {
		d := &w.Dogs[i]
		if slices.Contains(t.Resting, d.Name) {
			d.Rests++
			continue
		}
		d.WishedMin += o.Dogs[i].Minutes
		if k := slices.IndexFunc(t.Rows, func(r outing.Row) bool { return r.Dog == d.Name }); k >= 0 {
			d.Walks++
			d.GrantedMin += t.Rows[k].GrantedMin
		} else {
			d.LeftIn++
		}
	}
}

// On is an outing so many days later, at the same hours of the clock.
func On(o *outing.Wish, days int) outing.Wish {
	later := func(t time.Time) time.Time {
		if t.IsZero() {
			return t
		}
		return t.In(o.Start.Location()).AddDate(0, 0, days)
	}
	out := *o
	out.Start = later(o.Start)
	out.Dogs, out.People = slices.Clone(o.Dogs), slices.Clone(o.People)
	for i := range out.Dogs {
		out.Dogs[i].FinishBy = later(out.Dogs[i].FinishBy)
	}
	for i := range out.People {
		out.People[i].From, out.People[i].To = later(out.People[i].From), later(out.People[i].To)
	}
	if o.Heat != nil {
		out.Heat = &outing.Heat{MostMin: o.Heat.MostMin, From: later(o.Heat.From), To: later(o.Heat.To)}
	}
	return out
}
