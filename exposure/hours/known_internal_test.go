package hours

import (
	"math/rand/v2"
	"sync"
	"testing"
	"time"
)

// What is kept of days is what a look at the calendar gives, also when more days are
// asked for than are kept, and by several at once.
func TestKnownDays(t *testing.T) {
	c := CalendarOf("US")
	var wg sync.WaitGroup
	for g := range 4 {
		wg.Go(func() {
			r := rand.New(rand.NewPCG(1, uint64(g)))
			for range 3 * mostDays {
				d := DateOf(time.Date(2026, 1, 1+r.IntN(2*mostDays), 0, 0, 0, 0, time.UTC))
				if got, want := c.Day(d), c.day(d); got != want {
					t.Errorf("%v is kept as %v, looked up as %v", d, got, want)
				}
				if c.PublicHoliday(d) != (c.find(c.holidays, d) >= 0) {
					t.Errorf("%v: public holiday %v", d, c.PublicHoliday(d))
				}
			}
		})
	}
	wg.Wait()
	n := 0
	c.kinds.by.Range(func(any, any) bool { n++; return true })
	if n > mostDays+4 {
		t.Errorf("%d days are kept", n)
	}
}

// What is kept of seasons is what a moment gives by itself, whatever the minute, also
// when more hours are asked for than are kept, and by several at once.
func TestKnownSeasons(t *testing.T) {
	c := &Clock{Loc: time.FixedZone("", -5*3600), Lat: 39.75, Lon: -75.55, Country: "US"}
	var wg sync.WaitGroup
	for g := range 4 {
		wg.Go(func() {
			r := rand.New(rand.NewPCG(2, uint64(g)))
			for range mostHours {
				m := c.At(time.Date(2026, 1, 1, r.IntN(2*mostHours), r.IntN(60), 0, 0, time.UTC))
				if got, want := m.Season(), m.season(); *got != *want {
					t.Errorf("%v: kept %+v, anew %+v", m.Time, got, want)
					return
				}
			}
		})
	}
	wg.Wait()
	if n := len(c.seasons.by); n > mostHours {
		t.Errorf("%d hours are kept", n)
	}
	m := c.At(time.Date(2026, 7, 1, 12, 0, 0, 0, time.UTC))
	if wet := c.Under(Weather{Rain: HeavyRain}).At(m.Time); m.Season() == wet.Season() || *m.Season() == *wet.Season() {
		t.Error("rain changes nothing")
	}
	if (Moment{}).Season() == nil {
		t.Error("a moment without a clock has no season")
	}
}
