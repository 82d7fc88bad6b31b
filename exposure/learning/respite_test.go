package learning_test

import (
	"testing"
	"time"
	_ "time/tzdata"

	"wideberth/exposure/learning"
)

// TestRespite: once or twice over threshold yesterday, or earlier today, asks for distance,
// three times or a bite for a day of rest; what lies longer ago, or is still to come, asks
// for nothing. Days are those of the place, also where the clocks change: in New York the
// first of November 2026 has 25 hours (IANA time zone database).
func TestRespite(t *testing.T) {
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	at := func(day, hour int) time.Time { return time.Date(2026, 11, day, hour, 0, 0, 0, zone) }
	bark := func(day, hour int) learning.Over { return learning.Over{At: at(day, hour)} }
	for name, c := range map[string]struct {
		overs      []learning.Over
		at         time.Time
		ok, rest   bool
		times, day int
	}{
		"nothing":                   {nil, at(2, 10), false, false, 0, 2},
		"yesterday once":            {[]learning.Over{bark(1, 0)}, at(2, 10), true, false, 1, 2},
		"the day before":            {[]learning.Over{bark(0, 23)}, at(2, 0), false, false, 0, 2},
		"yesterday and today":       {[]learning.Over{bark(1, 9), bark(2, 8)}, at(2, 10), true, false, 2, 2},
		"later today":               {[]learning.Over{bark(2, 12)}, at(2, 10), false, false, 0, 2},
		"three times":               {[]learning.Over{bark(1, 9), bark(1, 10), bark(1, 11)}, at(2, 10), true, true, 3, 2},
		"three times over two days": {[]learning.Over{bark(0, 9), bark(0, 10), bark(1, 11)}, at(2, 10), true, false, 1, 2},
		"a bite":                    {[]learning.Over{{At: at(1, 9), Harm: true}}, at(2, 10), true, true, 1, 2},
		"said in another zone":      {[]learning.Over{{At: at(1, 0).UTC()}}, at(2, 23), true, false, 1, 2},
	} {
		r, ok := learning.RespiteAt(c.overs, c.at)
		if ok != c.ok || r.Rest != c.rest || r.Times != c.times || !r.Day.Equal(at(c.day, 0)) {
			t.Errorf("%s: %+v, %v", name, r, ok)
		}
	}
}
