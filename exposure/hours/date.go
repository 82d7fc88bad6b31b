// Package hours is everything about clock and calendar: the opening_hours
// grammar of OpenStreetMap, school terms and public holidays, sunrise and
// twilight, time zones, and how the day's activity is spread over its hours.
// It knows no map and no dogs.
package hours

import "time"

// Date is a civil day, counted in days since 1970-01-01. The zero value is
// that day. Dates compare and subtract as integers.
type Date int

const minutesPerDay = 24 * 60

// NewDate gives the civil day of the proleptic Gregorian calendar. Values
// outside their usual range carry over, as in time.Date.
func NewDate(year int, month time.Month, day int) Date {
	const secondsPerDay = 24 * 60 * 60
	seconds := time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix()
	return Date(floorDiv(int(seconds), secondsPerDay))
}

// DateOf gives the civil day that t's own location has at t.
func DateOf(t time.Time) Date { return NewDate(t.Date()) }

// civil gives year, month and day of the month.
func (d Date) civil() (int, time.Month, int) { return d.utc().Date() }

// Weekday gives the day of the week.
func (d Date) Weekday() time.Weekday { return d.utc().Weekday() }

// String gives the day as 2006-01-02 (ISO 8601).
func (d Date) String() string { return d.utc().Format(time.DateOnly) }

// In gives the first instant of the day in a place: midnight, or where the
// clocks jump over midnight, the first instant after the jump.
func (d Date) In(loc *time.Location) time.Time {
	year, month, day := d.civil()
	start := time.Date(year, month, day, 0, 0, 0, 0, loc)
	for DateOf(start) < d { // midnight was skipped and time.Date went back
		_, next := start.ZoneBounds()
		start = next
	}
	return start
}

func (d Date) utc() time.Time { return time.Date(1970, 1, 1+int(d), 0, 0, 0, 0, time.UTC) }

// mondayFirst numbers the week as OSM does: Monday 0 to Sunday 6.
func mondayFirst(day time.Weekday) int { return (int(day) + 6) % 7 }

func daysIn(year int, month time.Month) int {
	return int(NewDate(year, month+1, 1) - NewDate(year, month, 1))
}

// easter gives Easter Sunday of the Gregorian calendar by the anonymous
// algorithm of 1876 (Meeus, Astronomical Algorithms, 2nd ed. 1998, ch. 8).
// Years before 1583 give the proleptic date.
func easter(year int) Date {
	a, b, c := year%19, year/100, year%100
	d, e := b/4, b%4
	f := (b + 8) / 25
	g := (b - f + 1) / 3
	h := (19*a + b - d - g + 15) % 30
	i, k := c/4, c%4
	l := (32 + 2*e + 2*i - h - k) % 7
	m := (a + 11*h + 22*l) / 451
	n := h + l - 7*m + 114
	return NewDate(year, time.Month(n/31), n%31+1)
}

func floorDiv(a, b int) int {
	q := a / b
	if a%b != 0 && (a < 0) != (b < 0) {
		q--
	}
	return q
}
