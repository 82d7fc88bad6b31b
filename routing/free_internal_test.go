package routing

import (
	"strings"
	"testing"
	"time"

	"wideberth/exposure/hours"
	"wideberth/routing/snapshot/maptest"
)

func TestFreeHours(t *testing.T) {
	day := func(hour, minute int) hours.Moment {
		return (&hours.Clock{}).At(time.Date(2026, 12, 2, hour, minute, 0, 0, time.UTC))
	}
	for _, c := range []struct {
		spans   []string
		hour    int
		minute  int
		minutes float64
		want    bool
	}{
		{nil, 6, 0, 30, true}, {nil, 5, 59, 30, false}, {nil, 21, 30, 30, true}, {nil, 21, 31, 30, false}, {nil, 2, 0, 30, false},
		{[]string{"22:00-06:00"}, 23, 30, 60, true},  // over midnight
		{[]string{"22:00-06:00"}, 5, 0, 60, true},    // after it
		{[]string{"22:00-06:00"}, 5, 30, 60, false},  // not home in time
		{[]string{"22:00-06:00"}, 12, 0, 10, false},  //
		{[]string{"6-8", "8-9:30"}, 7, 45, 60, true}, // spans that touch are one
		{[]string{"6-8", "9-10"}, 7, 45, 60, false},  // those that do not are two
		{[]string{"00:00-24:00"}, 23, 50, 60, true},  // all day has no end
	} {
		if got := (FreeHours{Spans: c.spans}).Hold(day(c.hour, c.minute), c.minutes); got != c.want {
			t.Errorf("%v hold %02d:%02d and %g minutes: %v", c.spans, c.hour, c.minute, c.minutes, got)
		}
	}
	for text, mend := range map[string]string{"": "give hours", "8": "give hours", "8-": "give hours", "25-26": "give hours", "08:60-09:00": "give hours",
		"08:00-08:00": "no time at all", "24:00-06:00": "give hours", "-1-5": "give hours", "8h-9h": "give hours"} {
		wrong := (FreeHours{Spans: []string{"06:00-07:00", text}}).Check()
		if len(wrong) != 1 || wrong[0].Pointer != "/free_hours/spans/1" || !strings.Contains(wrong[0].Mend, mend) {
			t.Errorf("%q: %v", text, wrong)
		}
	}
	if wrong := (FreeHours{Spans: []string{}}).Check(); len(wrong) != 1 || wrong[0].Value != "none" || !strings.Contains(wrong[0].Mend, UsualFree) {
		t.Errorf("free hours of none: %v", wrong)
	}
}

// Departures lie in the free hours of the next day, on whole hours and where a span
// begins, also on the days when clocks change and in zones that are half an hour off.
func TestDepartures(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	p, err := NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, zone := range []string{"Europe/London", "Asia/Kolkata", "Etc/GMT"} {
		loc, err := time.LoadLocation(zone)
		if err != nil {
			t.Fatal(err)
		}
		land := *p.land
		land.Clock = &hours.Clock{Loc: loc, Lat: 47, Lon: -7}
		q := p.on(&land)
		for _, from := range []time.Time{time.Date(2026, 10, 24, 12, 20, 0, 0, loc), time.Date(2027, 3, 27, 23, 50, 0, 0, loc), time.Date(2026, 7, 1, 7, 10, 0, 0, loc)} {
			w := Wish{Minutes: 30, Depart: from, Free: FreeHours{Spans: []string{"07:15-09:00", "17:00-22:00"}}}
			list := q.departures(&w)
			if len(list) < 6 {
				t.Errorf("%s, %v: %d departures", zone, from, len(list))
			}
			for i, at := range list {
				local := at.In(loc)
				if !at.After(from) || at.Sub(from) > 24*time.Hour || !w.Free.Hold(land.Clock.At(at), 30) || i > 0 && !at.After(list[i-1]) {
					t.Errorf("%s: leaving at %v is offered at %v", zone, local, from)
				}
				if m := local.Minute(); m != 0 && !(m == 15 && local.Hour() == 7) {
					t.Errorf("%s: %v is neither a whole hour nor the beginning of a span", zone, local)
				}
			}
		}
	}
}

// The week's best hours keep to the free ones, and to those with light or lamps.
func TestWeekKeepsToFreeHours(t *testing.T) {
	p, err := NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, free := range map[string]FreeHours{"usual": {}, "evenings": {Spans: []string{"17:00-23:00"}}, "nights": {Spans: []string{"22:00-05:00"}, Unlit: true}} {
		w := Wish{Shape: Loop, From: maptest.Door(p.Frame()), Minutes: 15, Dog: maptest.Kessa(), Depart: maptest.Morning, Free: free}
		list, err := p.Week(t.Context(), w, 24)
		if err != nil {
			t.Fatal(err)
		}
		best := BestWindows(list, 3)
		if name == "nights" && len(best) == 0 {
			t.Errorf("%s: no hour is offered", name)
		}
		for _, i := range best {
			m := p.Clock().At(list[i].Depart)
			if !free.Hold(m, 15) {
				t.Errorf("%s: %v is offered", name, list[i].Depart)
			}
			if at := w; !free.Unlit && m.Light() == hours.Dark {
				at.Depart, at.Limits.LitOnly = list[i].Depart, true
				if _, err := p.Plan(t.Context(), at); err != nil {
					t.Errorf("%s: %v is offered in the dark and has no lit walk: %v", name, list[i].Depart, err)
				}
			}
		}
		for i := range list {
			if list[i].Free && !list[i].Found {
				t.Errorf("%s: hour %d is offered without a walk", name, i)
			}
		}
	}
}
