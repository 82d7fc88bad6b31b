package hours

import (
	"errors"
	"reflect"
	"testing"
	"time"
)

// What the parser makes of each production of the grammar (OpenStreetMap wiki,
// Key:opening_hours/specification 0.7.2), looked at from inside.

func TestParsedSelectors(t *testing.T) {
	day := func(month time.Month, d int) dateSpec { return dateSpec{month: month, day: d} }
	cases := []struct {
		value string
		want  rule
	}{
		{"2026", rule{years: []yearRange{{2026, 2026, 1}}}},
		{"2026-2030/2,2035+", rule{years: []yearRange{{2026, 2030, 2}, {2035, 9999, 1}}}},
		{"week 3", rule{weeks: []weekRange{{3, 3, 1}}}},
		{"week 03-51/2,53", rule{weeks: []weekRange{{3, 51, 2}, {53, 53, 1}}}},
		{"Jan", rule{dates: []dateRange{{from: dateSpec{month: 1}, to: dateSpec{month: 1}}}}},
		{"Nov-Feb", rule{dates: []dateRange{{from: dateSpec{month: 11}, to: dateSpec{month: 2}}}}},
		{"Dec 24", rule{dates: []dateRange{{from: day(12, 24), to: day(12, 24)}}}},
		{"Dec 24-26", rule{dates: []dateRange{{from: day(12, 24), to: day(12, 26)}}}},
		{"Dec 24,31", rule{dates: []dateRange{{from: day(12, 24), to: day(12, 24)}, {from: day(12, 31), to: day(12, 31)}}}},
		{"Dec 24-Jan 2/3", rule{dates: []dateRange{{from: day(12, 24), to: day(1, 2), period: 3}}}},
		{"2026 Mar 5+", rule{dates: []dateRange{{
			from: dateSpec{year: 2026, month: 3, day: 5}, to: dateSpec{year: 2026, month: 3, day: 5}, openEnd: true}}}},
		{"Mar 5+", rule{dates: []dateRange{{from: day(3, 5), to: day(12, 31)}}}},
		{"easter -2 days-easter +1 day", rule{dates: []dateRange{{
			from: dateSpec{month: 3, easter: true, offset: -2}, to: dateSpec{month: 3, easter: true, offset: 1}}}}},
		{"Mar Su[-1]-Oct Su[1] -1 day", rule{dates: []dateRange{{
			from: dateSpec{month: 3, weekday: 6, nth: -1}, to: dateSpec{month: 10, weekday: 6, nth: 1, offset: -1}}}}},
		{"Mo", rule{days: [][]daySelector{{{from: 0, to: 0}}}}},
		{"Sa-Mo", rule{days: [][]daySelector{{{from: 5, to: 0}}}}},
		{"Th[1,3-4,-1] +2 days", rule{days: [][]daySelector{{{from: 3, to: 3, nth: []int{1, 3, 4, -1}, offset: 2}}}}},
		{"PH,Mo-Fr", rule{days: [][]daySelector{{{holiday: publicHoliday}, {from: 0, to: 4}}}}},
		{"SH Sa", rule{days: [][]daySelector{{{holiday: schoolHoliday}}, {{from: 5, to: 5}}}}},
		{"PH -1 day", rule{days: [][]daySelector{{{holiday: publicHoliday, offset: -1}}}}},
		{"Nov Th[4]", rule{dates: []dateRange{{from: dateSpec{month: 11}, to: dateSpec{month: 11}}},
			days: [][]daySelector{{{from: 3, to: 3, nth: []int{4}}}}}},
	}
	for _, tc := range cases {
		t.Run(tc.value, func(t *testing.T) {
			got := parsedRule(t, tc.value)
			tc.want.state, tc.want.wipes = Open, true
			if !reflect.DeepEqual(got, tc.want) {
				t.Errorf("got  %+v\nwant %+v", got, tc.want)
			}
		})
	}
}

func TestParsedSpans(t *testing.T) {
	cases := []struct {
		value string
		want  []span
	}{
		{"08:30-12:00", []span{{from: clockPoint{minute: 510}, to: clockPoint{minute: 720}}}},
		{"22:00-26:30", []span{{from: clockPoint{minute: 1320}, to: clockPoint{minute: 1590}}}},
		{"08:00+", []span{{from: clockPoint{minute: 480}, openEnd: true, noTo: true}}},
		{"08:00-10:00+", []span{{from: clockPoint{minute: 480}, to: clockPoint{minute: 600}, openEnd: true}}},
		{"dawn-dusk", []span{{from: clockPoint{event: dawn}, to: clockPoint{event: dusk}}}},
		{"(sunrise+01:30)-(sunset-00:15)", []span{{from: clockPoint{sunrise, 90}, to: clockPoint{sunset, -15}}}},
		{"08:00-12:00,sunset+", []span{{from: clockPoint{minute: 480}, to: clockPoint{minute: 720}},
			{from: clockPoint{event: sunset}, openEnd: true, noTo: true}}},
	}
	for _, tc := range cases {
		t.Run(tc.value, func(t *testing.T) {
			if got := parsedRule(t, tc.value); !reflect.DeepEqual(got.spans, tc.want) {
				t.Errorf("got  %+v\nwant %+v", got.spans, tc.want)
			}
		})
	}
}

// The rules of a value, how each meets those before it, and whether it clears
// what they said.
func TestParsedRules(t *testing.T) {
	type outline struct {
		sep   separator
		state State
		wipes bool
	}
	cases := []struct {
		value string
		want  []outline
	}{
		{"Mo 08:00-12:00; Tu off", []outline{{overrides, Open, true}, {overrides, Closed, false}}},
		{"Mo 08:00-12:00, Tu 10:00-11:00", []outline{{overrides, Open, true}, {adds, Open, false}}},
		{"Mo 08:00-12:00 || unknown", []outline{{overrides, Open, true}, {fallsBack, Unknown, false}}},
		{"Mo 08:00-12:00 || \"ring\"", []outline{{overrides, Open, true}, {fallsBack, Unknown, false}}},
		{"Mo 08:00-12:00; unknown", []outline{{overrides, Open, true}, {overrides, Unknown, false}}},
		{"08:00-12:00; 10:00-11:00 closed \"lunch\"", []outline{{overrides, Open, false}, {overrides, Closed, false}}},
		{"08:00-12:00; 14:00-15:00", []outline{{overrides, Open, false}, {overrides, Open, true}}},
		{";; Mo open ;;", []outline{{overrides, Open, true}}},
	}
	for _, tc := range cases {
		t.Run(tc.value, func(t *testing.T) {
			o, err := Parse(tc.value)
			if err != nil {
				t.Fatal(err)
			}
			var got []outline
			for _, r := range o.rules {
				got = append(got, outline{r.sep, r.state, r.wipes})
			}
			if !reflect.DeepEqual(got, tc.want) {
				t.Errorf("got %v, want %v", got, tc.want)
			}
		})
	}
}

// An error points at what was not understood and says what was expected.
func TestErrorsPoint(t *testing.T) {
	cases := []struct {
		value  string
		offset int
		reason string
	}{
		{"Mo-Fr 08:00", 11, "expected - or + after a time; points in time are not opening hours"},
		{"Mo-Fr 08:00-xx", 12, "expected hour from 0 to 48"},
		{"Mo-Fr 08:00-12:99", 15, "expected minute from 0 to 59"},
		{"Mo-Fr 8 am", 6, `unexpected "8"`},
		{"Mo-Fr 08:00-12:00 Sa", 20, "weekdays twice in one rule"},
		{"weekdays 08:00-12:00", 0, `unknown word "weekdays"`},
		{"Mo 10:00-12:00; \"ring", 16, "comment without closing quote"},
		{"Mo 10:00-12:00 § 3", 15, `unexpected character '§'`},
		{"Jan 32", 4, "expected day from 1 to 31"},
		{"Mo 1000-1600", 3, "year after weekdays, or hours without a colon"},
		{"", 0, "no rule"},
	}
	for _, tc := range cases {
		_, err := Parse(tc.value)
		bad := (*SyntaxError)(nil)
		if !errors.As(err, &bad) {
			t.Errorf("Parse(%q): %v", tc.value, err)
			continue
		}
		if bad.Reason != tc.reason || bad.Offset != tc.offset {
			t.Errorf("Parse(%q): at %d %q, want at %d %q", tc.value, bad.Offset, bad.Reason, tc.offset, tc.reason)
		}
	}
}

// Shares of whole weeks, worked by hand.
func TestOpenShareOfAWeek(t *testing.T) {
	c := testClock(t)
	cases := []struct {
		value         string
		monday        Date
		open, unknown float64 // hours
	}{
		{"24/7", NewDate(2026, 3, 2), 168, 0},
		{"off", NewDate(2026, 3, 2), 0, 0},
		{"Mo-Fr 08:00-12:00,13:00-17:30", NewDate(2026, 3, 2), 5 * 8.5, 0},
		{"Mo-Fr 08:00-18:00; Sa 09:00-13:00; We 08:00-12:00", NewDate(2026, 3, 2), 4*10 + 4 + 4, 0},
		{"Mo-Fr 08:00-18:00; PH off", NewDate(2026, 4, 13), 4 * 10, 0},       // Tuesday is a holiday
		{"Mo-Fr 08:00-18:00; SH 10:00-12:00", NewDate(2026, 5, 4), 7 * 2, 0}, // the whole week
		{"Fr,Sa 22:00-04:00", NewDate(2026, 3, 2), 12, 0},
		{"Su 22:00-04:00", NewDate(2026, 3, 2), 2 + 4, 0}, // with the end of the Sunday before
		{"Mo-Fr 09:00-12:00 || Mo 14:00-15:00 unknown", NewDate(2026, 3, 2), 15, 1},
		{"Mo 20:00+", NewDate(2026, 3, 2), 0, 10},
		{"Mo-Fr 08:00-18:00; 12:00-13:00 off", NewDate(2026, 3, 2), 45, 0},
		{"24/7", NewDate(2026, 3, 23), 167, 0},                         // the clocks go on
		{"Su 00:00-06:00", NewDate(2026, 3, 23), 5, 0},                 // and take an hour
		{"Su 00:00-06:00", NewDate(2026, 10, 19), 7, 0},                // or give one
		{"Mo-Su 09:00-17:00; Sa[1] off", NewDate(2026, 3, 2), 48, 0},   // 7 March
		{"week 10 Mo-Su 09:00-17:00", NewDate(2026, 3, 2), 56, 0},      // this week
		{"week 11 Mo-Su 09:00-17:00", NewDate(2026, 3, 2), 0, 0},       // the next one
		{"Mar 4-Mar 6 09:00-17:00", NewDate(2026, 3, 2), 24, 0},        // three days
		{"Mo-Su 09:00-17:00 \"ring\"", NewDate(2026, 3, 2), 0, 56},     // a comment alone
		{"Mo-Su 09:00-17:00; We unknown", NewDate(2026, 3, 2), 48, 24}, // and a day of it
	}
	for _, tc := range cases {
		t.Run(tc.value+" from "+tc.monday.String(), func(t *testing.T) {
			o, err := Parse(tc.value)
			if err != nil {
				t.Fatal(err)
			}
			from, to := tc.monday.In(c.Loc), (tc.monday + 7).In(c.Loc)
			got, hours := o.OpenShare(c, from, to), to.Sub(from).Hours()
			if d := got.Open*hours - tc.open; d > 1e-6 || d < -1e-6 {
				t.Errorf("open %g h, want %g", got.Open*hours, tc.open)
			}
			if d := got.Unknown*hours - tc.unknown; d > 1e-6 || d < -1e-6 {
				t.Errorf("unknown %g h, want %g", got.Unknown*hours, tc.unknown)
			}
		})
	}
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		if _, err := Parse("Mo-Fr 08:00-12:00,13:00-17:30; Sa 09:00-13:00; Jul-Aug off; PH off"); err != nil {
			b.Fatal(err)
		}
	}
}
