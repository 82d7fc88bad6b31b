package hours

import (
	"testing"
	"time"
)

// Every country that has time zones of its own has a calendar, with ten days of
// holiday at least and school on most working days.
func TestCalendarsOfCountries(t *testing.T) {
	for country := range zonesOf {
		c := CalendarOf(country)
		if c == DefaultCalendar() {
			t.Errorf("%s has no calendar", country)
			continue
		}
		holidays, school, off := 0, 0, 0
		for d := NewDate(2026, 1, 1); d < NewDate(2027, 1, 1); d++ {
			switch c.Day(d) {
			case PublicHoliday:
				holidays++
			case SchoolDay:
				school++
			case SchoolHoliday:
				off++
			}
		}
		if holidays < 5 || holidays > 17 || school < 165 || school > 225 || off < 60 {
			t.Errorf("%s: %d holidays, %d days of school, %d of school holidays", country, holidays, school, off)
		}
	}
	if CalendarOf("XX") != DefaultCalendar() || CalendarOf("") != DefaultCalendar() {
		t.Error("an unknown country has a calendar of its own")
	}
	if CalendarOf("de") != CalendarOf("DE") {
		t.Error("small letters make another country")
	}
}

// Some days that everybody there knows, from memory.
func TestKnownHolidays(t *testing.T) {
	for _, c := range []struct {
		country string
		date    Date
		want    DayKind
	}{
		{"DE", NewDate(2026, 10, 3), PublicHoliday}, {"DE", NewDate(2026, 4, 3), PublicHoliday}, {"DE", NewDate(2026, 5, 14), PublicHoliday},
		{"DE", NewDate(2026, 8, 4), SchoolHoliday}, {"DE", NewDate(2026, 11, 4), SchoolDay},
		{"US", NewDate(2026, 11, 26), PublicHoliday}, {"US", NewDate(2026, 5, 25), PublicHoliday}, {"US", NewDate(2026, 7, 14), SchoolHoliday}, {"US", NewDate(2026, 9, 15), SchoolDay},
		{"GB", NewDate(2026, 8, 31), PublicHoliday}, {"GB", NewDate(2026, 5, 4), PublicHoliday}, {"GB", NewDate(2026, 7, 1), SchoolDay},
		{"FR", NewDate(2026, 7, 14), PublicHoliday}, {"AU", NewDate(2026, 1, 14), SchoolHoliday}, {"AU", NewDate(2026, 7, 22), SchoolDay},
		{"NL", NewDate(2026, 4, 27), PublicHoliday}, {"JP", NewDate(2026, 5, 5), PublicHoliday}, {"SE", NewDate(2026, 6, 19), PublicHoliday},
	} {
		if got := CalendarOf(c.country).Day(c.date); got != c.want {
			t.Errorf("%s, %s: %s, want %s", c.country, c.date, got, c.want)
		}
	}
	if CalendarOf("DE").Name(NewDate(2026, time.April, 3)) != "Good Friday" {
		t.Error("Good Friday has no name")
	}
}
