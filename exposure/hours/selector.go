package hours

import "time"

// yearRange is "2020", "2020-2030/2" or "2020+".
type yearRange struct {
	from, to, step int
}

func (y yearRange) covers(d Date) bool {
	year, _, _ := d.civil()
	return y.from <= year && year <= y.to && (year-y.from)%y.step == 0
}

// weekRange is "week 1-53/2" in ISO 8601 week numbers; from > to runs over the
// turn of the year.
type weekRange struct {
	from, to, step int
}

func (w weekRange) covers(d Date) bool {
	_, week := d.utc().ISOWeek()
	switch {
	case w.from <= w.to:
		return w.from <= week && week <= w.to && (week-w.from)%w.step == 0
	case week >= w.from:
		return (week-w.from)%w.step == 0
	}
	// The count goes on from the old year, taken with 52 weeks.
	const weeksPerYear = 52
	return week <= w.to && (week+weeksPerYear-w.from)%w.step == 0
}

// daySelector is a range of weekdays, an nth weekday of the month, or a kind
// of holiday, each perhaps moved by some days.
type daySelector struct {
	holiday  holiday
	from, to int   // Monday 0 to Sunday 6, to may be before from
	nth      []int // 1 to 5 from the start, -1 to -5 from the end; empty: all
	offset   int   // days
}

type holiday uint8

const (
	noHoliday holiday = iota
	publicHoliday
	schoolHoliday
)

func (s daySelector) covers(d Date, cal *Calendar) bool {
	d -= Date(s.offset)
	switch s.holiday {
	case publicHoliday:
		return cal.PublicHoliday(d)
	case schoolHoliday:
		return cal.SchoolHoliday(d)
	}
	day := mondayFirst(d.Weekday())
	if (day-s.from+7)%7 > (s.to-s.from+7)%7 {
		return false
	}
	return holdsAny(s.nth, func(n int) bool { return isNth(d, n) })
}

// isNth tells if d is the nth of its weekday in its month.
func isNth(d Date, n int) bool {
	year, month, day := d.civil()
	if n > 0 {
		return (day-1)/7+1 == n
	}
	return (daysIn(year, month)-day)/7+1 == -n
}

// dateRange is a stretch of the year or of the years; the period counts days.
type dateRange struct {
	from, to dateSpec
	openEnd  bool // "2020 Jan 5+"
	period   int
}

// dateSpec is one end of a dateRange: a month, a day of it, an nth weekday of
// it or Easter Sunday, of one year or of each (year 0).
type dateSpec struct {
	year, day int
	month     time.Month
	easter    bool
	nth       int // with weekday; 0: none
	weekday   int // Monday 0
	offset    int // days
}

// covers tries the range that starts in the day's year and the one that began
// the year before and runs over its turn.
func (r dateRange) covers(d Date) bool {
	year, _, _ := d.civil()
	if r.from.year != 0 {
		return r.coversFrom(d, r.from.year)
	}
	return r.coversFrom(d, year) || r.coversFrom(d, year-1) || r.coversFrom(d, year+1)
}

func (r dateRange) coversFrom(d Date, year int) bool {
	first, exists := r.from.first(year)
	single := r.from == r.to
	if single && !exists || d < first {
		return false
	}
	if !r.openEnd && d > r.lastFrom(first, year) {
		return false
	}
	return r.period == 0 || int(d-first)%r.period == 0
}

func (r dateRange) lastFrom(first Date, year int) Date {
	if r.to.year != 0 {
		return r.to.last(r.to.year)
	}
	if last := r.to.last(year); last >= first {
		return last
	}
	return r.to.last(year + 1)
}

// first gives the first day meant. A day that the year lacks (29 February)
// gives the next one and false.
func (s dateSpec) first(year int) (Date, bool) {
	exists := s.day <= daysIn(year, s.month) || s.easter
	return s.moved(year, max(s.day, 1)), exists
}

// last gives the last day meant; a day that the year lacks gives the one
// before.
func (s dateSpec) last(year int) Date {
	day := s.day
	if day == 0 || day > daysIn(year, s.month) {
		day = daysIn(year, s.month)
	}
	return s.moved(year, day)
}

func (s dateSpec) moved(year, day int) Date {
	d := NewDate(year, s.month, day)
	switch {
	case s.easter:
		d = easter(year)
	case s.nth != 0:
		d = nthWeekday(year, s.month, s.weekday, s.nth)
	}
	return d + Date(s.offset)
}

// nthWeekday may run into the next month where the month has no fifth one.
func nthWeekday(year int, month time.Month, weekday, n int) Date {
	if n < 0 {
		last := NewDate(year, month, daysIn(year, month))
		back := (mondayFirst(last.Weekday()) - weekday + 7) % 7
		return last - Date(back+7*(-n-1))
	}
	first := NewDate(year, month, 1)
	ahead := (weekday - mondayFirst(first.Weekday()) + 7) % 7
	return first + Date(ahead+7*(n-1))
}

// event is a moment of the sun's day.
type event uint8

const (
	noEvent event = iota
	dawn
	sunrise
	sunset
	dusk
	eventCount
)

// eventMinutes are the wall-clock minutes after midnight of each event.
type eventMinutes [eventCount]int

// clockPoint is a time of day: minutes after midnight, or after an event.
type clockPoint struct {
	event  event
	minute int
}

func (p clockPoint) at(sun eventMinutes) int { return sun[p.event] + p.minute }

// span is a stretch of the day; it may end after midnight.
type span struct {
	from, to clockPoint
	openEnd  bool
	noTo     bool // "08:00+": nothing but an open end
}

// minutes gives start, end, and end of the guess where the end is open.
func (s span) minutes(sun eventMinutes) (from, to, guess int) {
	from = s.from.at(sun)
	if s.noTo {
		return from, from, guessEnd(from)
	}
	to = s.to.at(sun)
	// Two events at the same minute are a sun that stays down (or up): what
	// lies between in the order of the day is then empty.
	empty := to == from && s.from.event < s.to.event
	if to <= from && !empty {
		to += minutesPerDay
	}
	if !s.openEnd {
		return from, to, to
	}
	return from, to, guessEnd(to)
}

// guessEnd gives the end of an open end as the reference evaluator of the
// opening_hours specification guesses it.
func guessEnd(minute int) int {
	switch {
	case minute >= 22*60:
		return minute + 8*60
	case minute >= 17*60:
		return minute + 10*60
	}
	return minutesPerDay
}

func (s span) at(minute int, state State, sun eventMinutes) (State, bool) {
	from, to, guess := s.minutes(sun)
	switch {
	case minute < from || minute >= guess:
		return Closed, false
	case minute < to:
		return state, true
	case state == Open:
		return Unknown, true
	}
	return state, true
}
