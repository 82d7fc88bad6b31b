package hours

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// In 2026 the clocks of the European Union change on 29 March and 25 October
// at 01:00 UTC (Directive 2000/84/EC: the last Sundays).
func TestDaysOfTheClockChange(t *testing.T) {
	c := testClock(t)
	cases := []struct {
		day  Date
		want time.Duration
	}{
		{NewDate(2026, 3, 28), 24 * time.Hour}, {NewDate(2026, 3, 29), 23 * time.Hour},
		{NewDate(2026, 3, 30), 24 * time.Hour}, {NewDate(2026, 10, 25), 25 * time.Hour},
	}
	for _, tc := range cases {
		if got := c.DayLength(tc.day); got != tc.want {
			t.Errorf("%v lasts %v, want %v", tc.day, got, tc.want)
		}
	}
}

// The hour that comes twice is the same hour of the week both times, the hour
// that is skipped comes never.
func TestHoursOfWeekAcrossTheClockChange(t *testing.T) {
	c := testClock(t)
	count := func(d Date) [24]int {
		var seen [24]int
		for at := d.In(c.Loc); at.Before((d + 1).In(c.Loc)); at = at.Add(30 * time.Minute) {
			m := c.At(at)
			if m.Date != d || m.HourOfWeek() != 6*24+m.Hour() {
				t.Fatalf("%v: date %v, hour of week %d", at, m.Date, m.HourOfWeek())
			}
			seen[m.Hour()]++
		}
		return seen
	}
	spring, autumn := count(NewDate(2026, 3, 29)), count(NewDate(2026, 10, 25))
	for h := range 24 {
		wantSpring, wantAutumn := 2, 2
		if h == 2 {
			wantSpring, wantAutumn = 0, 4
		}
		if spring[h] != wantSpring || autumn[h] != wantAutumn {
			t.Errorf("hour %d: %d half hours in spring and %d in autumn", h, spring[h], autumn[h])
		}
	}
}

func TestOpenHoursOnDaysOfTheClockChange(t *testing.T) {
	c := testClock(t)
	o, err := Parse("01:00-04:00")
	if err != nil {
		t.Fatal(err)
	}
	for day, wantHours := range map[Date]float64{
		NewDate(2026, 3, 28): 3, NewDate(2026, 3, 29): 2, NewDate(2026, 10, 25): 4,
	} {
		from, to := day.In(c.Loc), (day + 1).In(c.Loc)
		got := o.OpenShare(c, from, to).Open * to.Sub(from).Hours()
		if math.Abs(got-wantHours) > 1e-9 {
			t.Errorf("%v: open %g h, want %g", day, got, wantHours)
		}
	}
}

// Havana's clocks go on at midnight, so that 8 March 2026 has no 00:00.
func TestDayWithoutMidnight(t *testing.T) {
	loc, err := time.LoadLocation("America/Havana")
	if err != nil {
		t.Fatal(err)
	}
	day := NewDate(2026, 3, 8)
	start := day.In(loc)
	if DateOf(start) != day || start.Hour() != 1 || (&Clock{Loc: loc}).DayLength(day) != 23*time.Hour {
		t.Errorf("the day starts at %v", start)
	}
}

func TestMoment(t *testing.T) {
	c := testClock(t)
	m := c.At(time.Date(2026, 4, 14, 6, 5, 59, 0, time.UTC)) // a public holiday, Tuesday 08:05 there
	if m.Minute != 8*60+5 || m.HourOfWeek() != 24+8 || m.Day() != PublicHoliday || m.WorkingDay() {
		t.Errorf("%+v, hour of week %d, %v, working day %t", m, m.HourOfWeek(), m.Day(), m.WorkingDay())
	}
	if m := c.At(time.Date(2026, 4, 12, 22, 0, 0, 0, time.UTC)); m.HourOfWeek() != 0 || !m.WorkingDay() {
		t.Errorf("Monday 00:00: hour of week %d, working day %t", m.HourOfWeek(), m.WorkingDay())
	}
}

func TestZeroValuesAreUTC(t *testing.T) {
	var m Moment
	if m.Day() != PublicHoliday || m.Light() != Dark || m.HourOfWeek() != 3*24 { // Thursday 1 January
		t.Errorf("%v, %v, hour of week %d", m.Day(), m.Light(), m.HourOfWeek())
	}
	o, err := Parse("dawn-dusk")
	if err != nil {
		t.Fatal(err)
	}
	if got := o.At(m); got != Closed {
		t.Errorf("midnight between dawn and dusk: %v", got)
	}
}

// Light follows the times of TestSunSecondCase.
func TestLight(t *testing.T) {
	c := &Clock{Lat: 50.5, Lon: 30.5}
	for minute, want := range map[int]Light{
		3*60 + 59: Dark, 4*60 + 6: Twilight, 4*60 + 31: Twilight, 4*60 + 38: Daylight,
		15*60 + 43: Daylight, 15*60 + 50: Twilight, 16*60 + 16: Twilight, 16*60 + 23: Dark,
	} {
		m := c.At(time.Date(2013, 3, 5, 0, minute, 0, 0, time.UTC))
		if got := m.Light(); got != want {
			t.Errorf("%02d:%02d: %v, want %v", minute/60, minute%60, got, want)
		}
	}
}

func TestDatesAgainstTimePackage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Date(rapid.IntRange(-800000, 800000).Draw(t, "day"))
		if back := NewDate(d.civil()); back != d {
			t.Fatalf("%v came back as %v", d, back)
		}
		want := time.Unix(int64(d)*86400, 0).UTC()
		if d.Weekday() != want.Weekday() || d.String() != want.Format(time.DateOnly) || DateOf(want.Add(23*time.Hour)) != d {
			t.Fatalf("%v is not %v", d, want)
		}
	})
}

// Easter dates as printed in the tables of the Book of Common Prayer and in
// every diary.
func TestEaster(t *testing.T) {
	for year, want := range map[int]string{1961: "1961-04-02", 2000: "2000-04-23", 2008: "2008-03-23", 2011: "2011-04-24",
		2024: "2024-03-31", 2025: "2025-04-20", 2026: "2026-04-05", 2027: "2027-03-28", 2038: "2038-04-25"} {
		if got := easter(year).String(); got != want {
			t.Errorf("%d: %s, want %s", year, got, want)
		}
	}
}
