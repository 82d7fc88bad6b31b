package hours

import (
	"testing"
	"time"
)

// TestFireworks: the days of a country, over the turn of the year too.
func TestFireworks(t *testing.T) {
	for _, c := range []struct {
		country, day string
		want         bool
	}{
		{"US", "2026-07-04", true}, {"US", "2026-07-06", false}, {"GB", "2026-11-05", true}, {"US", "2026-11-05", false},
		{"DE", "2026-12-28", true}, {"DE", "2027-01-01", true}, {"DE", "2027-01-02", false}, {"", "2026-12-31", true}, {"JP", "2026-12-30", false},
	} {
		day, err := time.Parse(time.DateOnly, c.day)
		if err != nil {
			t.Fatal(err)
		}
		if got := (&Clock{Country: c.country}).At(day.Add(12 * time.Hour)).Fireworks(); got != c.want {
			t.Errorf("%s %s: %v", c.country, c.day, got)
		}
	}
}

// TestGrazing: summer on both halves of the earth.
func TestGrazing(t *testing.T) {
	january, july := time.Date(2026, 1, 15, 12, 0, 0, 0, time.UTC), time.Date(2026, 7, 15, 12, 0, 0, 0, time.UTC)
	for lat, want := range map[float64][2]bool{48: {false, true}, -38: {true, false}, 2: {true, true}} {
		c := &Clock{Lat: lat}
		if got := [2]bool{c.At(january).Grazing(), c.At(july).Grazing()}; got != want {
			t.Errorf("at %g: January and July %v, want %v", lat, got, want)
		}
	}
}

// TestKnownCountry: codes that stand for a country, and two that do not.
func TestKnownCountry(t *testing.T) {
	for code, want := range map[string]bool{"US": true, "GB": true, "AD": true, "ZW": true, "QQ": false, "XX": false, "": false, "S ": false, "USA": false} {
		if KnownCountry(code) != want {
			t.Errorf("%q: %v", code, !want)
		}
	}
	for code := range zonesOf {
		if !KnownCountry(code) {
			t.Errorf("%s has time zones and is no country", code)
		}
	}
}

// TestSunDeg: at noon on the equinox at the equator the sun stands overhead.
func TestSunDeg(t *testing.T) {
	c := &Clock{}
	if got := c.At(time.Date(2026, 3, 20, 12, 7, 0, 0, time.UTC)).SunDeg(); got < 88 {
		t.Errorf("%.1f degrees", got)
	}
}
