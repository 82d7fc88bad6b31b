package hours

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// The days of each selector against slow twins, which walk the calendar day by
// day with the time package and know nothing of ranges.

func parsedRule(t interface{ Fatal(...any) }, value string) rule {
	o, err := Parse(value)
	if err != nil {
		t.Fatal(err)
	}
	return o.rules[0]
}

var monthWords = []string{"", "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}

// ringOfDays gives the days of each year from one month and day to another, by
// stepping ahead from the start until the end is met.
func ringOfDays(fromMonth time.Month, fromDay int, toMonth time.Month, toDay int, years []int) map[Date]bool {
	on := map[Date]bool{}
	for _, year := range years {
		at := time.Date(year, fromMonth, fromDay, 0, 0, 0, 0, time.UTC)
		for {
			on[DateOf(at)] = true
			if at.Month() == toMonth && at.Day() == toDay {
				break
			}
			at = at.AddDate(0, 0, 1)
		}
	}
	return on
}

func TestDatesOfTheYearAgainstSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := rapid.IntRange(1, 28) // days that every month has
		month := rapid.IntRange(1, 12)
		fromMonth, toMonth := month.Draw(t, "from month"), month.Draw(t, "to month")
		fromDay, toDay := day.Draw(t, "from day"), day.Draw(t, "to day")
		if fromMonth == toMonth && fromDay == toDay {
			t.Skip("a single day has no range")
		}
		value := fmt.Sprintf("%s %02d-%s %02d", monthWords[fromMonth], fromDay, monthWords[toMonth], toDay)
		r := parsedRule(t, value)
		want := ringOfDays(time.Month(fromMonth), fromDay, time.Month(toMonth), toDay, []int{2022, 2023, 2024, 2025})
		for d := NewDate(2023, 6, 1); d < NewDate(2025, 1, 1); d++ {
			if got := r.covers(d, nil); got != want[d] {
				t.Fatalf("%s on %v: %t, stepping %t", value, d, got, want[d])
			}
		}
	})
}

func TestDatesWithYearsAgainstSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := NewDate(2023, 1, rapid.IntRange(1, 1000).Draw(t, "from"))
		to := from + Date(rapid.IntRange(1, 500).Draw(t, "days"))
		words := func(d Date) string {
			year, month, day := d.civil()
			return fmt.Sprintf("%d %s %d", year, monthWords[month], day)
		}
		value := words(from) + "-" + words(to)
		period := rapid.IntRange(1, 20).Draw(t, "period")
		if period > 1 {
			value += fmt.Sprintf("/%d", period)
		}
		r := parsedRule(t, value)
		left := 0 // days until the next one on
		for d := from - 40; d < to+40; d++ {
			want := false
			if d >= from && d <= to {
				want = left == 0
				left = (left + 1) % period
			}
			if got := r.covers(d, nil); got != want {
				t.Fatalf("%s on %v: %t, stepping %t", value, d, got, want)
			}
		}
	})
}

// countOfWeekday counts d's weekday in its month from the start, or from the
// end, by walking there.
func countOfWeekday(d Date, fromEnd bool) int {
	_, month, _ := d.civil()
	step, n := Date(-7), 0
	if fromEnd {
		step = 7
	}
	for at := d; ; at += step {
		if _, m, _ := at.civil(); m != month {
			return n
		}
		n++
	}
}

func TestNthWeekdaysAgainstCounting(t *testing.T) {
	for n := 1; n <= 5; n++ {
		for day, word := range dayWords {
			fromStart := parsedRule(t, fmt.Sprintf("%s[%d]", word, n))
			fromEnd := parsedRule(t, fmt.Sprintf("%s[-%d]", word, n))
			later := parsedRule(t, fmt.Sprintf("%s[%d] +3 days", word, n))
			for d := NewDate(2023, 11, 1); d < NewDate(2025, 2, 1); d++ {
				is := mondayFirst(d.Weekday()) == day
				wantStart, wantEnd := is && countOfWeekday(d, false) == n, is && countOfWeekday(d, true) == n
				if fromStart.covers(d, nil) != wantStart || fromEnd.covers(d, nil) != wantEnd || later.covers(d+3, nil) != wantStart {
					t.Fatalf("%s[%d] on %v: want %t from the start, %t from the end", word, n, d, wantStart, wantEnd)
				}
			}
		}
	}
}

// A month's nth weekday as the end of a range is the same day as alone.
func TestNthWeekdayInDates(t *testing.T) {
	for n := -4; n <= 4; n++ {
		if n == 0 {
			continue
		}
		for _, word := range dayWords {
			alone := parsedRule(t, fmt.Sprintf("May %s[%d]", word, n))
			ranged := parsedRule(t, fmt.Sprintf("May %s[%d]-Oct %s[%d]", word, n, word, n))
			for d := NewDate(2026, 4, 20); d < NewDate(2026, 6, 10); d++ {
				starts := ranged.covers(d, nil) && !ranged.covers(d-1, nil)
				if starts != alone.covers(d, nil) {
					t.Fatalf("%s[%d] on %v: alone %t, starting a range %t", word, n, d, alone.covers(d, nil), starts)
				}
			}
		}
	}
}

// ISO 8601: week 1 holds the year's first Thursday. The twin finds the
// Thursday of the day's week and counts Thursdays.
func TestWeeksAgainstThursdays(t *testing.T) {
	var weeks [54]rule
	for n := 1; n <= 53; n++ {
		weeks[n] = parsedRule(t, fmt.Sprintf("week %02d", n))
	}
	for d := NewDate(2019, 12, 1); d < NewDate(2027, 2, 1); d++ {
		thursday := d + Date(3-mondayFirst(d.Weekday()))
		year, _, _ := thursday.civil()
		want := int(thursday-NewDate(year, 1, 1))/7 + 1
		for n := 1; n <= 53; n++ {
			if got := weeks[n].covers(d, nil); got != (n == want) {
				t.Fatalf("%v lies in week %d, but week %d is %t", d, want, n, got)
			}
		}
	}
}

// Lists are the union of their parts, whatever the kind.
func TestListsAreUnions(t *testing.T) {
	lists := [][]string{
		{"Jan 5-20", "Mar", "Dec 24-Jan 2", "easter -2 days", "2026 May 3"},
		{"week 1-10/3", "week 20", "week 50-2"},
		{"Mo", "We-Th", "Sa[2]", "Fr[-1] +1 day"},
		{"2024", "2026-2030/2"},
	}
	prefix := []string{"", "week ", "", ""}
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.IntRange(0, len(lists)-1).Draw(t, "kind")
		first := rapid.SampledFrom(lists[kind]).Draw(t, "first")
		second := rapid.SampledFrom(lists[kind]).Draw(t, "second")
		both := parsedRule(t, first+","+second[len(prefix[kind]):])
		a, b := parsedRule(t, first), parsedRule(t, second)
		for d := NewDate(2025, 12, 1); d < NewDate(2027, 2, 1); d++ {
			if both.covers(d, nil) != (a.covers(d, nil) || b.covers(d, nil)) {
				t.Fatalf("%s,%s on %v", first, second, d)
			}
		}
	})
}

// Different selectors must all hold.
func TestSelectorsAreIntersections(t *testing.T) {
	parts := []string{"2026-2027", "Apr-Oct", "week 10-30/2", "Mo-Fr"}
	whole := parsedRule(t, "2026-2027 Apr-Oct week 10-30/2 Mo-Fr")
	for d := NewDate(2025, 6, 1); d < NewDate(2028, 6, 1); d++ {
		want := true
		for _, part := range parts {
			r := parsedRule(t, part)
			want = want && r.covers(d, nil)
		}
		if got := whole.covers(d, nil); got != want {
			t.Fatalf("%v: %t, the parts %t", d, got, want)
		}
	}
}

// goldenEaster is Easter by the rule of the prayer books: the Sunday after the
// first ecclesiastical full moon on or after 21 March, with the moon's age from
// golden number and epact (Gregorian reform, as in the Explanatory Supplement
// to the Astronomical Almanac).
func goldenEaster(year int) Date {
	golden := year%19 + 1
	century := year/100 + 1
	solar, lunar := 3*century/4-12, (8*century+5)/25-5
	epact := ((11*golden+20+lunar-solar)%30 + 30) % 30
	if epact == 25 && golden > 11 || epact == 24 {
		epact++
	}
	moon := 44 - epact
	if moon < 21 {
		moon += 30
	}
	d := NewDate(year, time.March, moon) + 1
	for d.Weekday() != time.Sunday {
		d++
	}
	return d
}

func TestEasterAgainstFullMoons(t *testing.T) {
	for year := 1583; year <= 4000; year++ {
		if got, want := easter(year), goldenEaster(year); got != want {
			t.Fatalf("%d: %v, by golden number and epact %v", year, got, want)
		}
	}
}
