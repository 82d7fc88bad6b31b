package hours

import (
	"errors"
	"math"
	"strconv"
	"testing"
	"time"

	"pgregory.net/rapid"
)

const sunTolerance = 2 * time.Minute

func near(t *testing.T, what string, got, want time.Time, tolerance time.Duration) {
	t.Helper()
	if d := got.Sub(want).Abs(); d > tolerance {
		t.Errorf("%s: %v, want %v within %v", what, got.UTC(), want.UTC(), tolerance)
	}
}

// Wayne NJ, 40.9 N 74.3 W, 25 June 1990, zenith 90°50': sunrise 5:26 EDT by
// the US Naval Observatory's Almanac for Computers 1990
// (edwilliams.org/sunrise_sunset_example.htm); sunset, dawn and dusk worked by
// hand with the same algorithm.
func TestSunAlmanacExample(t *testing.T) {
	edt := time.FixedZone("EDT", -4*3600)
	c := &Clock{Loc: edt, Lat: 40.9, Lon: -74.3}
	day := NewDate(1990, time.June, 25)
	clock := func(hour, minute int) time.Time { return time.Date(1990, 6, 25, hour, minute, 0, 0, edt) }
	rise, set, err := c.Sun(day, Horizon)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "sunrise", rise, clock(5, 26), sunTolerance)
	near(t, "sunset", set, clock(20, 33), sunTolerance)
	dawn, dusk, err := c.Sun(day, civilTwilight)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "civil dawn", dawn, clock(4, 53), sunTolerance)
	near(t, "civil dusk", dusk, clock(21, 7), sunTolerance)
}

// 50.5 N 30.5 E, 5 March 2013, from the tests of the public repository
// mourner/suncalc.
func TestSunSecondCase(t *testing.T) {
	c := &Clock{Lat: 50.5, Lon: 30.5}
	day := NewDate(2013, time.March, 5)
	utc := func(hour, minute, second int) time.Time {
		return time.Date(2013, 3, 5, hour, minute, second, 0, time.UTC)
	}
	rise, set, err := c.Sun(day, Horizon)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "sunrise", rise, utc(4, 34, 56), sunTolerance)
	near(t, "sunset", set, utc(15, 46, 57), sunTolerance)
	dawn, dusk, err := c.Sun(day, civilTwilight)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "civil dawn", dawn, utc(4, 2, 17), sunTolerance)
	near(t, "civil dusk", dusk, utc(16, 19, 36), sunTolerance)
}

func TestSunAgainstSuncalc(t *testing.T) {
	rows := readCSV(t, "sun_oracle.csv")
	if len(rows) != 60 {
		t.Fatalf("%d rows, want 60", len(rows))
	}
	for _, row := range rows {
		lat, errLat := strconv.ParseFloat(row[0], 64)
		lon, errLon := strconv.ParseFloat(row[1], 64)
		day, errDay := time.Parse(time.DateOnly, row[2])
		if err := errors.Join(errLat, errLon, errDay); err != nil {
			t.Fatal(err)
		}
		noon := day.Add(12*time.Hour - time.Duration(lon/15*float64(time.Hour)))
		compareCrossings(t, row, 4, 5, noon, lat, lon, Horizon)
		compareCrossings(t, row, 3, 6, noon, lat, lon, civilTwilight)
	}
}

func compareCrossings(t *testing.T, row []string, up, down int, noon time.Time, lat, lon float64, below depression) {
	t.Helper()
	rise, set, err := sunCrossings(noon, lat, lon, below)
	if row[up] == "" {
		if err == nil {
			t.Errorf("%v: rise %v, want none", row, rise)
		}
		return
	}
	if err != nil {
		t.Errorf("%v: %v", row, err)
		return
	}
	for column, got := range map[int]time.Time{up: rise, down: set} {
		want, err := time.Parse(time.RFC3339, row[column])
		if err != nil {
			t.Fatal(err)
		}
		near(t, row[0]+" "+row[1]+" "+row[2], got, want, sunTolerance)
	}
}

// Tromsø lies north of the polar circle; civil twilight still comes in its
// midwinter.
func TestPolarDays(t *testing.T) {
	c := &Clock{Lat: 69.65, Lon: 18.96}
	if _, _, err := c.Sun(NewDate(2026, time.June, 21), Horizon); !errors.Is(err, errNeverSets) {
		t.Errorf("midsummer: %v", err)
	}
	if _, _, err := c.Sun(NewDate(2026, time.December, 21), Horizon); !errors.Is(err, errNeverRises) {
		t.Errorf("midwinter: %v", err)
	}
	if _, _, err := c.Sun(NewDate(2026, time.December, 21), civilTwilight); err != nil {
		t.Errorf("midwinter twilight: %v", err)
	}
	for _, pole := range []float64{90, -90} {
		if _, _, err := (&Clock{Lat: pole}).Sun(NewDate(2026, time.June, 21), Horizon); err == nil {
			t.Errorf("at the pole the sun crosses the horizon")
		}
	}
}

func TestOpeningInPolarDays(t *testing.T) {
	c := &Clock{Lat: 69.65, Lon: 18.96}
	cases := []struct {
		value, local string
		want         State
	}{
		{"sunrise-sunset", "2026-06-21 00:30", Open}, {"sunset-sunrise", "2026-06-21 00:30", Closed},
		{"sunrise-sunset", "2026-12-21 12:00", Closed}, {"sunset-sunrise", "2026-12-21 12:00", Open},
		{"sunset-sunrise", "2026-12-21 11:00", Open}, {"dawn-dusk", "2026-12-21 10:30", Open},
	}
	for _, tc := range cases {
		if got := stateAt(t, c, tc.value, tc.local); got != tc.want {
			t.Errorf("%s at %s: got %v, want %v", tc.value, tc.local, got, tc.want)
		}
	}
}

// At the crossings the elevation is what was asked for, and between them it is
// higher: crossings and elevation are worked out on different ways.
func TestCrossingsLieAtTheirElevation(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lat, lon := rapid.Float64Range(-65, 65).Draw(t, "lat"), rapid.Float64Range(-180, 180).Draw(t, "lon")
		noon := time.Date(2026, 1, rapid.IntRange(1, 3650).Draw(t, "day"), rapid.IntRange(0, 23).Draw(t, "hour"), 0, 0, 0, time.UTC)
		below := rapid.SampledFrom([]depression{Horizon, civilTwilight}).Draw(t, "below")
		rise, set, err := sunCrossings(noon, lat, lon, below)
		if err != nil {
			return // midnight twilight, tested above
		}
		for _, at := range []time.Time{rise, set} {
			if got := sunElevation(at, lat, lon); math.Abs(got+float64(below)) > 0.02 {
				t.Fatalf("elevation %g at the crossing of -%g", got, below)
			}
		}
		middle := rise.Add(set.Sub(rise) / 2)
		if d := middle.Sub(noon).Abs(); d > 12*time.Hour+10*time.Minute {
			t.Fatalf("solar noon %v is not the nearest to %v", middle, noon)
		}
		if sunElevation(middle, lat, lon) <= -float64(below) {
			t.Fatal("the sun is down between rise and set")
		}
	})
}

// Solstices and equinoxes of 2026 by the almanac: declination 0 on 20 March
// 14:46 UTC, 23.44° on 21 June 08:24 UTC.
func TestDeclinationAtTheSeasons(t *testing.T) {
	if got, _ := sunPosition(time.Date(2026, 3, 20, 14, 46, 0, 0, time.UTC)); math.Abs(got) > 0.01 {
		t.Errorf("equinox: declination %g", got)
	}
	if got, _ := sunPosition(time.Date(2026, 6, 21, 8, 24, 0, 0, time.UTC)); math.Abs(got-23.44) > 0.01 {
		t.Errorf("solstice: declination %g", got)
	}
}
