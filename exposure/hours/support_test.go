package hours

import "time"

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
