package hours

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// paintedWeek is the slow twin of Opening for values made of weekdays, spans,
// off and unknown: each rule paints the minutes of a week, night ends run into
// the next day, and the week is a ring.
type paintedWeek struct {
	own, tail [7 * minutesPerDay]paint
}

type paint struct {
	state State
	said  bool
}

type weekRule struct {
	days  [7]bool
	spans [][2]int // end may lie after midnight
	state State
	adds  bool
}

func (w *paintedWeek) apply(r weekRule) {
	for day, on := range r.days {
		if !on {
			continue
		}
		start := day * minutesPerDay
		next := (day + 1) % 7 * minutesPerDay
		if !r.adds && r.state != Closed {
			for m := range minutesPerDay {
				w.own[start+m] = paint{}
				w.tail[next+m] = paint{}
			}
		}
		for _, s := range r.spans {
			for m := s[0]; m < s[1]; m++ {
				if m < minutesPerDay {
					w.own[start+m] = paint{r.state, true}
				} else {
					w.tail[next+m-minutesPerDay] = paint{r.state, true}
				}
			}
		}
	}
}

func (w *paintedWeek) at(minute int) State {
	if w.own[minute].said {
		return w.own[minute].state
	}
	return w.tail[minute].state
}

var dayWords = []string{"Mo", "Tu", "We", "Th", "Fr", "Sa", "Su"}

func drawWeekRule(t *rapid.T, first bool) (weekRule, string) {
	var r weekRule
	from, to := rapid.IntRange(0, 6).Draw(t, "from day"), rapid.IntRange(0, 6).Draw(t, "to day")
	for d := from; ; d = (d + 1) % 7 {
		r.days[d] = true
		if d == to {
			break
		}
	}
	var spans []string
	for range rapid.IntRange(1, 3).Draw(t, "spans") {
		a := rapid.IntRange(0, minutesPerDay-1).Draw(t, "start")
		b := rapid.IntRange(0, minutesPerDay).Draw(t, "end")
		spans = append(spans, fmt.Sprintf("%02d:%02d-%02d:%02d", a/60, a%60, b/60, b%60))
		if b <= a {
			b += minutesPerDay
		}
		r.spans = append(r.spans, [2]int{a, b})
	}
	r.state = rapid.SampledFrom([]State{Open, Open, Closed, Unknown}).Draw(t, "state")
	r.adds = !first && rapid.Bool().Draw(t, "adds")
	text := dayWords[from] + "-" + dayWords[to] + " " + strings.Join(spans, ",")
	if r.state != Open {
		text += " " + r.state.String()
	}
	switch {
	case r.adds:
		text = ", " + text
	case !first:
		text = "; " + text
	}
	return r, text
}

func TestAgainstPaintedWeek(t *testing.T) {
	c := &Clock{}
	monday := NewDate(2026, time.March, 2).In(time.UTC)
	rapid.Check(t, func(t *rapid.T) {
		var week paintedWeek
		var text string
		for i := range rapid.IntRange(1, 4).Draw(t, "rules") {
			r, words := drawWeekRule(t, i == 0)
			week.apply(r)
			text += words
		}
		o, err := Parse(text)
		if err != nil {
			t.Fatal(err)
		}
		for minute := 0; minute < 7*minutesPerDay; minute += 7 {
			at := monday.Add(time.Duration(minute) * time.Minute)
			if got, want := o.At(c.At(at)), week.at(minute); got != want {
				t.Fatalf("%s at %v: got %v, painted %v", text, at, got, want)
			}
		}
	})
}

var shareValues = []string{
	"24/7", "off", "Mo-Fr 08:00-12:00,13:00-17:30", "Fr,Sa 22:00-04:00", "08:00+", "18:00+", "sunrise-sunset",
	"(dawn-00:30)-10:00,20:00-dusk unknown", "Mo-Fr 09:00-12:00 || \"by appointment\"", "22:00-06:00; Su off",
	"PH off; Sa[1] 10:00-12:00", "Mo-Fr 08:00-18:00; 12:00-13:00 off", "00:00-24:00; 01:00-03:00 off",
}

// The slow twin of OpenShare asks every minute.
func TestOpenShareAgainstMinutes(t *testing.T) {
	c := testClock(t)
	// late March and late October hold the changes of the clocks
	starts := []time.Time{
		time.Date(2026, 3, 27, 0, 0, 0, 0, c.Loc), time.Date(2026, 10, 24, 0, 0, 0, 0, c.Loc),
		time.Date(2026, 6, 12, 0, 0, 0, 0, c.Loc),
	}
	rapid.Check(t, func(t *rapid.T) {
		o, err := Parse(rapid.SampledFrom(shareValues).Draw(t, "value"))
		if err != nil {
			t.Fatal(err)
		}
		start := rapid.SampledFrom(starts).Draw(t, "start")
		from := start.Add(time.Duration(rapid.IntRange(0, 3*minutesPerDay).Draw(t, "from")) * time.Minute)
		minutes := rapid.IntRange(1, 2*minutesPerDay).Draw(t, "minutes")
		var want Share
		for i := range minutes {
			part := shareOf(o.At(c.At(from.Add(time.Duration(i)*time.Minute))), 1/float64(minutes))
			want.Open += part.Open
			want.Unknown += part.Unknown
		}
		got := o.OpenShare(c, from, from.Add(time.Duration(minutes)*time.Minute))
		if math.Abs(got.Open-want.Open) > 1e-9 || math.Abs(got.Unknown-want.Unknown) > 1e-9 {
			t.Fatalf("got %+v, minute by minute %+v", got, want)
		}
	})
}

func TestOpenShareOfNothingIsTheState(t *testing.T) {
	c := testClock(t)
	o, err := Parse("Mo-Fr 08:00-12:00")
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 3, 2, 9, 0, 0, 0, c.Loc)
	if got := o.OpenShare(c, at, at); got != (Share{Open: 1}) {
		t.Errorf("empty stretch: %+v", got)
	}
	if got := o.OpenShare(c, at, at.Add(-time.Hour)); got != (Share{Open: 1}) {
		t.Errorf("reversed stretch: %+v", got)
	}
}

// Seconds within a minute count in proportion.
func TestOpenShareWithSeconds(t *testing.T) {
	c := &Clock{}
	o, err := Parse("08:00-12:00")
	if err != nil {
		t.Fatal(err)
	}
	from := time.Date(2026, 3, 2, 7, 59, 30, 0, time.UTC)
	if got := o.OpenShare(c, from, from.Add(2*time.Minute)); math.Abs(got.Open-0.75) > 1e-9 {
		t.Errorf("open %g of two minutes from 07:59:30, want 0.75", got.Open)
	}
}

// A week later nothing changes, where neither dates, holidays, the sun nor nth
// weekdays matter.
func TestWeekShift(t *testing.T) {
	c := testClock(t)
	o, err := Parse("Mo-Fr 08:00-12:00,13:00-17:30; Sa 22:00-03:00; We unknown")
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		minute := rapid.IntRange(0, 300*minutesPerDay).Draw(t, "minute")
		at := time.Date(2026, 1, 5, 0, minute, 0, 0, c.Loc)
		later := time.Date(2026, 1, 12, 0, minute, 0, 0, c.Loc)
		if c.At(at).Minute != c.At(later).Minute { // one of them was skipped by the clocks
			t.Skip("no such hour on one of the days")
		}
		if o.At(c.At(at)) != o.At(c.At(later)) {
			t.Fatalf("%v and %v differ", at, later)
		}
	})
}

// FuzzParse looks for panics and for shares outside 0 to 1.
func FuzzParse(f *testing.F) {
	for _, value := range shareValues {
		f.Add(value)
	}
	for _, value := range []string{"2026 Mar Su[-1]-Oct Su[-1] -2 days: PH,SH Mo-Fr 10:00-12:00+ off \"x\"",
		"week 1-53/2,7 Jan 1-31/8,easter -2 days-easter +1 day 1000-9999/2", "Feb 29-Feb 29", "Dec 31-Jan 1+"} {
		f.Add(value)
	}
	c := &Clock{Lat: 71, Lon: 25}
	from := time.Date(2024, 2, 28, 20, 15, 10, 0, time.UTC)
	f.Fuzz(func(t *testing.T, value string) {
		o, err := Parse(value)
		if (o == nil) == (err == nil) {
			t.Fatal("neither value nor error, or both")
		}
		if err != nil {
			return
		}
		s := o.OpenShare(c, from, from.AddDate(0, 0, 3))
		if sum := s.Open + s.Unknown; s.Open < 0 || s.Unknown < 0 || sum > 1+1e-9 {
			t.Fatalf("%q: shares %+v", value, s)
		}
	})
}

func BenchmarkAt(b *testing.B) {
	o, err := Parse("Mo-Fr 08:00-12:00,13:00-17:30; Sa 09:00-13:00; Jul-Aug off; PH off")
	if err != nil {
		b.Fatal(err)
	}
	c := testClock(b)
	m := c.At(time.Date(2026, 3, 4, 10, 0, 0, 0, c.Loc))
	for b.Loop() {
		o.At(m)
	}
}
