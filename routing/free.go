package routing

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"wideberth/exposure/hours"
	"wideberth/osmdata/fault"
)

// FreeHours are when a handler can go out: an hour is offered only if the walk begins
// and ends in them and, unless they say so, in daylight or on lit ways. The zero value
// is the usual.
type FreeHours struct {
	Spans []string // of the clock on the wall, like 06:00-22:00, over midnight too; nil for the usual
	Unlit bool     // also on unlit ways in the dark
}

// UsualFree is the span of who has said nothing: awake and dressed (our assumption).
const UsualFree = "06:00-22:00"

// daySpan is a span in minutes after midnight; to may lie after the next midnight.
type daySpan struct{ from, to int }

const dayMinutes = 24 * 60

// Check says what is wrong with the hours.
func (f FreeHours) Check() (wrong fault.Problems) {
	if f.Spans != nil && len(f.Spans) == 0 {
		return fault.Problems{{Pointer: "/free_hours", Value: "none", Mend: "without a free hour there is none to offer: give spans like " + UsualFree + ", or leave it out"}}
	}
	for i, text := range f.Spans {
		if _, err := parseSpan(text); err != nil {
			wrong = append(wrong, fault.Problem{Pointer: "/free_hours/spans/" + strconv.Itoa(i), Value: text, Mend: err.Error()})
		}
	}
	return wrong
}

// parseSpan reads 06:00-22:00, or 6-22.
func parseSpan(text string) (s daySpan, err error) {
	from, to, ok := strings.Cut(text, "-")
	if s.from, err = minuteOf(from); err == nil && ok {
		s.to, err = minuteOf(to)
	}
	switch {
	case err != nil || !ok || s.from == dayMinutes:
		return s, fmt.Errorf("give hours of the day like %s", UsualFree)
	case s.from == s.to:
		return s, fmt.Errorf("no time at all: give an end after the beginning, or 00:00-24:00 for all day")
	case s.to < s.from:
		s.to += dayMinutes
	}
	return s, nil
}

// minuteOf reads a time of the day, 0 to 24 hours.
func minuteOf(text string) (int, error) {
	hour, minute, _ := strings.Cut(strings.TrimSpace(text), ":")
	h, err := strconv.ParseUint(hour, 10, 8)
	m := uint64(0)
	if err == nil && minute != "" {
		m, err = strconv.ParseUint(minute, 10, 8)
	}
	if err != nil || m > 59 || 60*h+m > dayMinutes {
		return 0, fmt.Errorf("no time of the day: %s", text)
	}
	return int(60*h + m), nil
}

// spans are the hours in order, those that touch as one. Faults are left out: Check
// tells of them.
func (f FreeHours) spans() (out []daySpan) {
	if f.Spans == nil {
		f.Spans = []string{UsualFree}
	}
	for _, text := range f.Spans {
		if s, err := parseSpan(text); err == nil {
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(a, b daySpan) int { return a.from - b.from })
	joined := out[:0]
	for _, s := range out {
		if n := len(joined); n > 0 && s.from <= joined[n-1].to {
			joined[n-1].to = max(joined[n-1].to, s.to)
			continue
		}
		joined = append(joined, s)
	}
	return joined
}

// Hold says that so many minutes from a moment on lie in the hours.
func (f FreeHours) Hold(m hours.Moment, minutes float64) bool {
	for _, s := range f.spans() {
		if s.to-s.from >= dayMinutes {
			return true
		}
		for _, at := range [2]int{m.Minute, m.Minute + dayMinutes} {
			if s.from <= at && float64(at)+minutes <= float64(s.to) {
				return true
			}
		}
	}
	return false
}

// Longest is the longest of the spans in minutes.
func (f FreeHours) Longest() (most int) {
	for _, s := range f.spans() {
		most = max(most, s.to-s.from)
	}
	return most
}

// departures are the times within a day after a departure at which a walk of so many
// minutes lies in the free hours: the beginning of each span, and every whole hour.
func (p *Planner) departures(w *Wish) (out []time.Time) {
	clock := p.land.Clock
	day := w.Depart.In(clock.Loc)
	end := day.Add(24 * time.Hour)
	take := func(t time.Time) {
		if t.After(day) && !t.After(end) && w.Free.Hold(clock.At(t), w.Minutes) {
			out = append(out, t)
		}
	}
	for t := wholeHour(day).Add(time.Hour); !t.After(end); t = t.Add(time.Hour) {
		take(t)
	}
	for _, s := range w.Free.spans() {
		for d := range 2 {
			take(time.Date(day.Year(), day.Month(), day.Day()+d, 0, s.from, 0, 0, clock.Loc))
		}
	}
	slices.SortFunc(out, time.Time.Compare)
	return slices.CompactFunc(out, time.Time.Equal)
}

// wholeHour is the hour of the clock on the wall that a time lies in, which in some zones
// begins at a half of the world's.
func wholeHour(t time.Time) time.Time {
	past := time.Duration(t.Minute())*time.Minute + time.Duration(t.Second())*time.Second + time.Duration(t.Nanosecond())
	return t.Add(-past)
}

// Dark says that the sun is down at some time of a walk.
func (p *Planner) Dark(w *Wish) bool {
	_, maxS := w.window()
	for _, at := range [2]time.Time{w.Depart, w.Depart.Add(Seconds(maxS))} {
		if p.land.Clock.At(at).Light() != hours.Daylight {
			return true
		}
	}
	return false
}

// Offered is the wish as it holds for an hour that is offered: in the dark on lit ways
// alone, unless the free hours say otherwise.
func (p *Planner) Offered(w Wish) Wish {
	if !w.Free.Unlit && p.Dark(&w) {
		w.Limits.LitOnly = true
	}
	return w
}
