package hours

import (
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// almanacSun is a twin that shares nothing with the program: the algorithm of
// the US Naval Observatory's Almanac for Computers 1990, as set out with a
// worked example at edwilliams.org/sunrise_sunset_algorithm.htm. It gives hours
// UTC after the start of the given day, not brought into 0 to 24, and false
// where the sun does not cross.
func almanacSun(dayOfYear int, lat, lon float64, below float64, rising bool) (float64, bool) {
	lngHour := lon / 15
	t := float64(dayOfYear) + (18-lngHour)/24
	if rising {
		t = float64(dayOfYear) + (6-lngHour)/24
	}
	anomaly := 0.9856*t - 3.289
	long := positiveMod(anomaly+1.916*sinDeg(anomaly)+0.020*sinDeg(2*anomaly)+282.634, 360)
	ascension := positiveMod(degrees(math.Atan(0.91764*math.Tan(radians(long)))), 360)
	ascension += math.Floor(long/90)*90 - math.Floor(ascension/90)*90 // same quadrant
	sinDec := 0.39782 * sinDeg(long)
	cosDec := math.Cos(math.Asin(sinDec))
	cosHour := (cosDeg(90+below) - sinDec*sinDeg(lat)) / (cosDec * cosDeg(lat))
	if cosHour > 1 || cosHour < -1 {
		return 0, false
	}
	hour := degrees(math.Acos(cosHour))
	if rising {
		hour = 360 - hour
	}
	local := hour/15 + ascension/15 - 0.06571*t - 6.622
	return local - lngHour, true
}

// The worked example's own intermediate result: local rise at 5.4414 h.
func TestAlmanacTwin(t *testing.T) {
	utc, ok := almanacSun(176, 40.9, -74.3, 50.0/60, true)
	if local := positiveMod(utc-4, 24); !ok || math.Abs(local-5.4414) > 0.001 {
		t.Errorf("local rise %.4f h, want 5.4414", local)
	}
}

// Within 3 minutes from 50° S to 50° N: the almanac's own figure for its
// algorithm is about a minute at moderate latitudes.
func TestCrossingsAgainstAlmanac(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lat, lon := rapid.Float64Range(-50, 50).Draw(t, "lat"), rapid.Float64Range(-179, 179).Draw(t, "lon")
		day := NewDate(rapid.IntRange(1990, 2030).Draw(t, "year"), 1, rapid.IntRange(1, 365).Draw(t, "day"))
		below := rapid.SampledFrom([]depression{Horizon, civilTwilight}).Draw(t, "below")
		year, _, _ := day.civil()
		noon := day.In(time.UTC).Add(12*time.Hour - fromMinutes(4*lon))
		rise, set, err := sunCrossings(noon, lat, lon, below)
		if err != nil {
			t.Fatal(err)
		}
		for _, rising := range []bool{true, false} {
			got := set
			if rising {
				got = rise
			}
			hours, ok := almanacSun(int(day-NewDate(year, 1, 1))+1, lat, lon, float64(below), rising)
			if !ok {
				t.Fatal("the almanac has no crossing")
			}
			apart := positiveMod(got.Sub(day.In(time.UTC)).Hours()-hours+12, 24) - 12
			if math.Abs(apart) > 3.0/60 {
				t.Fatalf("rising %t: %v, %.1f minutes from the almanac", rising, got, apart*60)
			}
		}
	})
}

// Light is what the crossings say, all through the day.
func TestLightAgreesWithCrossings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := &Clock{Lat: rapid.Float64Range(-45, 45).Draw(t, "lat"), Lon: rapid.Float64Range(-15, 15).Draw(t, "lon")}
		day := NewDate(2026, 1, rapid.IntRange(1, 365).Draw(t, "day"))
		rise, set, err := c.Sun(day, Horizon)
		dawn, dusk, errTwilight := c.Sun(day, civilTwilight)
		if err != nil || errTwilight != nil {
			t.Fatal(err, errTwilight)
		}
		at := day.In(time.UTC).Add(time.Duration(rapid.IntRange(0, minutesPerDay-1).Draw(t, "minute")) * time.Minute)
		for _, edge := range []time.Time{rise, set, dawn, dusk} {
			if at.Sub(edge).Abs() < time.Minute {
				t.Skip("on the edge")
			}
		}
		want := Dark
		switch {
		case at.After(rise) && at.Before(set):
			want = Daylight
		case at.After(dawn) && at.Before(dusk):
			want = Twilight
		}
		if got := c.At(at).Light(); got != want {
			t.Fatalf("%v: %v, by the crossings %v", at, got, want)
		}
	})
}

// Where the civil day lies far from the sun's own, as on islands that keep the
// date of the other side, the sun still rises and sets on the civil day.
func TestSunOnTheCivilDay(t *testing.T) {
	loc, err := time.LoadLocation("Pacific/Kiritimati") // UTC+14 at 157° W
	if err != nil {
		t.Fatal(err)
	}
	c := &Clock{Loc: loc, Lat: 1.87, Lon: -157.4}
	for d := NewDate(2026, 1, 1); d < NewDate(2027, 1, 1); d += 9 {
		rise, set, err := c.Sun(d, Horizon)
		if err != nil {
			t.Fatal(err)
		}
		if DateOf(rise) != d || DateOf(set) != d || rise.Hour() < 5 || rise.Hour() > 7 {
			t.Errorf("%v: from %v to %v", d, rise, set)
		}
	}
}
