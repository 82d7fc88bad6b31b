package hours

import (
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestDefaultCalendar(t *testing.T) {
	c := DefaultCalendar()
	if !strings.Contains(c.Note(), "Assumed") {
		t.Errorf("the note %q does not say that it is assumed", c.Note())
	}
	cases := []struct {
		day  Date
		want DayKind
		name string
	}{
		{NewDate(2026, 1, 1), PublicHoliday, "New Year's Day"}, {NewDate(2026, 12, 25), PublicHoliday, "Christmas Day"},
		{NewDate(2026, 1, 2), SchoolHoliday, "winter break"}, {NewDate(2026, 1, 5), SchoolDay, ""},
		{NewDate(2026, 1, 10), TermWeekend, ""}, {NewDate(2026, 7, 4), SchoolHoliday, "summer break"},
		{NewDate(2026, 6, 30), SchoolDay, ""}, {NewDate(2026, 9, 1), SchoolDay, ""},
		{NewDate(2026, 12, 21), SchoolDay, ""}, {NewDate(2026, 12, 22), SchoolHoliday, "winter break"},
	}
	for _, tc := range cases {
		if got := c.Day(tc.day); got != tc.want || c.Name(tc.day) != tc.name {
			t.Errorf("%v is a %v (%q), want %v (%q)", tc.day, got, c.Name(tc.day), tc.want, tc.name)
		}
	}
}

// Holidays that move: fourth Thursday of November (5 U.S.C. 6103), Good Friday
// and Easter Monday.
func TestMovingHolidays(t *testing.T) {
	c, err := readCalendar(strings.NewReader(`{"publicHolidays": [
		{"name": "Thanksgiving", "days": "Nov Th[4]"}, {"name": "Good Friday", "days": "easter -2 days"},
		{"name": "Easter Monday", "days": "easter +1 day"}]}`))
	if err != nil {
		t.Fatal(err)
	}
	for day, want := range map[Date]string{
		NewDate(2026, 11, 26): "Thanksgiving", NewDate(2027, 11, 25): "Thanksgiving", NewDate(2026, 11, 19): "",
		NewDate(2026, 4, 3): "Good Friday", NewDate(2026, 4, 6): "Easter Monday", NewDate(2026, 4, 5): "",
	} {
		if got := c.Name(day); got != want {
			t.Errorf("%v: %q, want %q", day, got, want)
		}
	}
}

func TestTerms(t *testing.T) {
	c, err := readCalendar(strings.NewReader(`{"schoolDays": "Mo-Th,Sa", "schoolTerms": [
		{"name": "autumn", "days": "2026 Sep 7-2026 Dec 18"}],
		"schoolHolidays": [{"name": "half term", "days": "2026 Oct 26-30"}]}`))
	if err != nil {
		t.Fatal(err)
	}
	for day, want := range map[Date]DayKind{
		NewDate(2026, 9, 7): SchoolDay, NewDate(2026, 9, 11): TermWeekend, NewDate(2026, 9, 12): SchoolDay,
		NewDate(2026, 10, 28): SchoolHoliday, NewDate(2026, 10, 31): SchoolDay, NewDate(2026, 12, 19): SchoolHoliday,
		NewDate(2027, 9, 7): SchoolHoliday,
	} {
		if got := c.Day(day); got != want {
			t.Errorf("%v is a %v, want %v", day, got, want)
		}
	}
}

func TestCalendarErrorsNameTheField(t *testing.T) {
	cases := []struct{ name, file, want string }{
		{"not JSON", `{`, "JSON"},
		{"unknown field", `{"holidays": []}`, "holidays"},
		{"bad date", `{"publicHolidays": [{"name": "x", "days": "Jan 1"}, {"name": "y", "days": "Foo 1"}]}`, `publicHolidays[1] "y"`},
		{"with hours", `{"schoolHolidays": [{"name": "x", "days": "Jan 1 10:00-12:00"}]}`, `schoolHolidays[0] "x"`},
		{"several rules", `{"schoolTerms": [{"name": "x", "days": "Jan; Feb"}]}`, "schoolTerms[0]"},
		{"off", `{"schoolDays": "Mo off"}`, "schoolDays"},
		{"always", `{"schoolDays": "24/7"}`, "schoolDays"},
		{"speaks of holidays", `{"publicHolidays": [{"name": "x", "days": "PH"}]}`, "PH"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			_, err := readCalendar(strings.NewReader(tc.file))
			if err == nil || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("got %v, want it to name %s", err, tc.want)
			}
		})
	}
	var bad *SyntaxError
	if _, err := readCalendar(strings.NewReader(`{"schoolDays": "Xx"}`)); !errors.As(err, &bad) {
		t.Errorf("%v does not wrap the syntax error", err)
	}
	if _, err := readCalendar(strings.NewReader(strings.Repeat(" ", maxCalendarBytes+1))); !errors.Is(err, errCalendarTooLong) {
		t.Errorf("over the limit: %v", err)
	}
}

// PH and SH of the grammar agree with the kinds of day.
func TestDayKindsAgreeWithTheGrammar(t *testing.T) {
	clock := testClock(t)
	ph, errPH := Parse("PH")
	sh, errSH := Parse("SH")
	if errPH != nil || errSH != nil {
		t.Fatal(errPH, errSH)
	}
	rapid.Check(t, func(t *rapid.T) {
		d := NewDate(2026, time.January, rapid.IntRange(1, 365).Draw(t, "day"))
		m := clock.At(d.In(clock.Loc).Add(10 * time.Hour))
		isPH, isSH := ph.At(m) == Open, sh.At(m) == Open
		if isPH != (m.Day() == PublicHoliday) || (isSH && !isPH) != (m.Day() == SchoolHoliday) {
			t.Fatalf("%v: PH %t, SH %t, but a %v", d, isPH, isSH, m.Day())
		}
	})
}

func FuzzReadCalendar(f *testing.F) {
	f.Add(string(defaultCalendarJSON))
	f.Add(`{"schoolTerms": [{"name": "", "days": "2026 Feb 29-Mar 1"}], "schoolDays": "Mo[1]"}`)
	f.Fuzz(func(t *testing.T, file string) {
		c, err := readCalendar(strings.NewReader(file))
		if err != nil {
			return
		}
		for d := NewDate(2024, 2, 25); d < NewDate(2024, 3, 5); d++ {
			if c.Day(d) > PublicHoliday {
				t.Fatalf("no such kind: %v", c.Day(d))
			}
		}
	})
}
