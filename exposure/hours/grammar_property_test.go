package hours

import (
	"errors"
	"strings"
	"testing"
	"time"
	"unicode"

	"pgregory.net/rapid"
)

// grammarValues are whole values of every part of the grammar, for properties
// that hold whatever the value.
var grammarValues = append([]string{
	"Mo-We 10:00-18:00; Th,Fr 16:00-23:00; PH off", "Apr-Oct Mo-Fr 08:00-20:00; Nov-Mar Mo-Fr 09:00-17:00",
	"Sa[1,3] 10:00-12:00,14:00-26:00", "week 1-53/2 Mo-Fr 10:00-18:00; SH off", "2026 Mar 3-2026 Apr 5 10:00-18:00",
	"easter -2 days-easter +1 day off; Mo-Su 09:00-21:00", "Mar Su[-1]-Oct Su[-1] (dawn-00:30)-dusk",
	"Mo-Fr 08:00-12:00, Sa 10:00-11:00 unknown || \"by appointment\"", "24/7; Mo 03:00-05:00 off",
	"SH Mo-Fr 10:00-16:00; PH -1 day 10:00-12:00", "Dec 24,26,31 10:00-14:00 open \"short\"",
}, shareValues...)

func drawMoment(t *rapid.T, c *Clock) Moment {
	minute := rapid.IntRange(0, 366*minutesPerDay).Draw(t, "minute of 2026")
	return c.At(time.Date(2026, 1, 1, 0, 0, 0, 0, c.Loc).Add(time.Duration(minute) * time.Minute))
}

func mustParse(t *rapid.T, value string) *Opening {
	o, err := Parse(value)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// respelled changes what a writer may change: case, blanks where blanks are,
// and the dash.
func respelled(t *rapid.T, value string) string {
	var out strings.Builder
	quoted := false
	for _, r := range value {
		quoted = quoted != (r == '"')
		switch {
		case quoted:
			out.WriteRune(r)
		case r == ' ':
			out.WriteString(strings.Repeat(" ", rapid.IntRange(1, 3).Draw(t, "blanks")))
		case r == '-' && rapid.Bool().Draw(t, "dash"):
			out.WriteRune('–')
		case rapid.Bool().Draw(t, "upper"):
			out.WriteRune(unicode.ToUpper(r))
		default:
			out.WriteRune(unicode.ToLower(r))
		}
	}
	return out.String()
}

func TestSpellingDoesNotMatter(t *testing.T) {
	c := testClock(t)
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.SampledFrom(grammarValues).Draw(t, "value")
		other := respelled(t, value)
		m := drawMoment(t, c)
		if a, b := mustParse(t, value).At(m), mustParse(t, other).At(m); a != b {
			t.Fatalf("%q is %v, %q is %v", value, a, other, b)
		}
	})
}

// What a further rule does to a value, whatever the value: a dateless off
// closes all, the night before too; further hours for all days open all; a
// fallback leaves nothing closed and touches nothing else; the same value
// again changes nothing.
func TestFurtherRules(t *testing.T) {
	c := testClock(t)
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.SampledFrom(grammarValues).Draw(t, "value")
		m := drawMoment(t, c)
		was := mustParse(t, value).At(m)
		if got := mustParse(t, value+"; off").At(m); got != Closed {
			t.Fatalf("%s; off: %v", value, got)
		}
		if got := mustParse(t, value+"; 00:00-24:00").At(m); got != Open {
			t.Fatalf("%s; 00:00-24:00: %v", value, got)
		}
		if got := mustParse(t, value+", Mo-Su 00:00-24:00").At(m); got != Open {
			t.Fatalf("%s, Mo-Su 00:00-24:00: %v", value, got)
		}
		want := was
		if was == Closed {
			want = Unknown
		}
		if got := mustParse(t, value+" || unknown").At(m); got != want {
			t.Fatalf("%s || unknown: %v, without %v", value, got, was)
		}
		if got := mustParse(t, value+"; ").At(m); got != was {
			t.Fatalf("%s with a trailing semicolon: %v, without %v", value, got, was)
		}
	})
}

// A closed rule for other days changes nothing on this one.
func TestOffElsewhereChangesNothing(t *testing.T) {
	c := testClock(t)
	rapid.Check(t, func(t *rapid.T) {
		value := rapid.SampledFrom(grammarValues).Draw(t, "value")
		m := drawMoment(t, c)
		for _, d := range []Date{m.Date - 1, m.Date} { // the night before counts too
			if _, month, _ := d.civil(); month == time.August {
				t.Skip("in August")
			}
		}
		if strings.Contains(value, "||") {
			t.Skip("closes the fallback, not what it falls back from")
		}
		if a, b := mustParse(t, value).At(m), mustParse(t, value+"; Aug off").At(m); a != b {
			t.Fatalf("%s: %v, with Aug off %v", value, a, b)
		}
	})
}

// Shares of two halves make the share of the whole.
func TestOpenShareAddsUp(t *testing.T) {
	c := testClock(t)
	rapid.Check(t, func(t *rapid.T) {
		o := mustParse(t, rapid.SampledFrom(grammarValues).Draw(t, "value"))
		from := drawMoment(t, c).Time
		first := time.Duration(rapid.IntRange(1, 200_000).Draw(t, "first")) * time.Second
		second := time.Duration(rapid.IntRange(1, 200_000).Draw(t, "second")) * time.Second
		a, b := o.OpenShare(c, from, from.Add(first)), o.OpenShare(c, from.Add(first), from.Add(first+second))
		whole := o.OpenShare(c, from, from.Add(first+second))
		part := first.Seconds() / (first + second).Seconds()
		if d := a.Open*part + b.Open*(1-part) - whole.Open; d > 1e-9 || d < -1e-9 {
			t.Fatalf("%+v and %+v make %+v", a, b, whole)
		}
		if d := a.Unknown*part + b.Unknown*(1-part) - whole.Unknown; d > 1e-9 || d < -1e-9 {
			t.Fatalf("%+v and %+v make %+v", a, b, whole)
		}
	})
}

// Cutting any value anywhere gives a value or an error, never a panic, and the
// error points into what was given.
func TestCutValues(t *testing.T) {
	for _, value := range grammarValues {
		for end := range len(value) {
			_, err := Parse(value[:end])
			if bad := (*SyntaxError)(nil); err != nil && (!errors.As(err, &bad) || bad.Offset > end || bad.Offset < 0) {
				t.Errorf("Parse(%q): %#v", value[:end], err)
			}
		}
	}
}
