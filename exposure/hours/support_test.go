package hours

import (
	"sort"
	"time"
)

// Note gives the calendar's own remark on what it is.
func (c *Calendar) Note() string { return c.note }

// Name gives the name of the public holiday, school holiday or term that the
// day lies in, in this order, or "".
func (c *Calendar) Name(d Date) string {
	for _, list := range [][]namedDays{c.holidays, c.breaks, c.terms} {
		if i := c.find(list, d); i >= 0 {
			return list[i].name
		}
	}
	return ""
}

// HourOfWeek gives 0 to 167, counted from Monday 00:00 by the clock on the
// wall.
func (m Moment) HourOfWeek() int { return mondayFirst(m.Date.Weekday())*24 + m.Hour() }

// DayLength gives how long the civil day lasts: 24 h, but 23 or 25 where the
// clocks change.
func (c *Clock) DayLength(d Date) time.Duration {
	loc := c.location()
	return (d + 1).In(loc).Sub(d.In(loc))
}

// OpenShare gives the shares of the elapsed time between two instants. Hours
// that the clocks skip or repeat count as they pass. An empty or reversed
// stretch gives the state at from.
func (o *Opening) OpenShare(c *Clock, from, to time.Time) Share {
	if !from.Before(to) {
		return shareOf(o.At(c.At(from)), 1)
	}
	var total Share
	whole := to.Sub(from).Seconds()
	for from.Before(to) {
		next := o.nextChange(c, from)
		if next.After(to) {
			next = to
		}
		part := shareOf(o.At(c.At(from)), next.Sub(from).Seconds()/whole)
		total.Open += part.Open
		total.Unknown += part.Unknown
		from = next
	}
	return total
}

// Week gives At for each hour of a week without public holidays, from Monday
// 00:00; with school tells if it lies in term.
func (s *Shape) Week(school bool) [168]float64 {
	var week [168]float64
	for i := range week {
		busy := i/24 < 5 && (school || s.Rhythm == WorkingWeek)
		if busy {
			week[i] = s.Busy[i%24]
		} else {
			week[i] = s.FreeScale * s.Free[i%24]
		}
	}
	return week
}

// Share is how much of a stretch of time an opening_hours value is open and
// how much of it unknown, each 0 to 1 of the elapsed time.
type Share struct {
	Open, Unknown float64
}

func shareOf(s State, part float64) Share {
	switch s {
	case Open:
		return Share{Open: part}
	case Unknown:
		return Share{Unknown: part}
	}
	return Share{}
}

// nextChange gives the first instant after t at which the state can change:
// a border of a span, midnight, or a change of the clocks.
func (o *Opening) nextChange(c *Clock, t time.Time) time.Time {
	local := t.In(c.location())
	m := c.At(t)
	borders := o.borders(c, m.Date)
	at := sort.SearchInts(borders, m.Minute+1)
	within := time.Duration(local.Second())*time.Second + time.Duration(local.Nanosecond())
	next := t.Add(time.Duration(borders[at]-m.Minute)*time.Minute - within)
	if _, end := local.ZoneBounds(); !end.IsZero() && end.After(t) && end.Before(next) {
		return end
	}
	return next
}

// borders gives the minutes of a day at which some span starts or ends,
// ascending, the last one being midnight.
func (o *Opening) borders(c *Clock, d Date) []int {
	list := []int{minutesPerDay}
	for _, day := range []Date{d, d - 1} {
		sun, shift := o.events(c, day), int(d-day)*minutesPerDay
		for i := range o.rules {
			for _, s := range o.rules[i].spans {
				from, to, guess := s.minutes(sun)
				list = append(list, from-shift, to-shift, guess-shift)
			}
		}
	}
	sort.Ints(list)
	return list[:sort.SearchInts(list, minutesPerDay)+1]
}
