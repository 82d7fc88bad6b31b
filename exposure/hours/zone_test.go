package hours

import (
	"math"
	"testing"
	"time"
)

// Places and their zones by the IANA time zone database; the last two lie close
// to a border, where whole tiles do not answer.
func TestZone(t *testing.T) {
	cases := []struct {
		place, zone string
		lat, lon    float64
	}{
		{"Wilmington, Delaware", "America/New_York", 39.745, -75.546},
		{"Andorra la Vella", "Europe/Andorra", 42.507, 1.522},
		{"Berlin", "Europe/Berlin", 52.52, 13.405},
		{"Kathmandu", "Asia/Kathmandu", 27.717, 85.324},
		{"Adelaide", "Australia/Adelaide", -34.928, 138.6},
		{"Phoenix, Arizona", "America/Phoenix", 33.448, -112.074},
		{"Reykjavik", "Atlantic/Reykjavik", 64.146, -21.942},
		{"London", "Europe/London", 51.507, -0.128},
		{"Madrid", "Europe/Madrid", 40.417, -3.704},
		{"Tokyo", "Asia/Tokyo", 35.689, 139.692},
		{"Delhi", "Asia/Kolkata", 28.614, 77.209},
		{"Sydney", "Australia/Sydney", -33.869, 151.209},
		{"Auckland", "Pacific/Auckland", -36.848, 174.763},
		{"Honolulu", "Pacific/Honolulu", 21.307, -157.858},
		{"Denver", "America/Denver", 39.739, -104.990},
		{"Chicago", "America/Chicago", 41.878, -87.630},
		{"São Paulo", "America/Sao_Paulo", -23.551, -46.633},
		{"Cape Town", "Africa/Johannesburg", -33.925, 18.424},
		{"Aachen", "Europe/Berlin", 50.776, 6.084}, {"Vaals", "Europe/Amsterdam", 50.770, 6.018},
	}
	for _, tc := range cases {
		loc, err := Zone(tc.lat, tc.lon)
		if err != nil || loc.String() != tc.zone {
			t.Errorf("%s: %v, %v, want %s", tc.place, loc, err, tc.zone)
		}
	}
}

func TestZoneAtSea(t *testing.T) {
	for lon, wantHours := range map[float64]int{-30: -2, -130: -9, 0: 0, 179: 12} {
		loc, err := Zone(-50, lon)
		if err != nil {
			t.Fatal(err)
		}
		if _, offset := time.Date(2026, 1, 1, 0, 0, 0, 0, loc).Zone(); offset != wantHours*3600 {
			t.Errorf("50° S %g°: %v is %d s ahead of UTC, want %d h", lon, loc, offset, wantHours)
		}
	}
}

func TestNauticalZone(t *testing.T) {
	for lon, want := range map[float64]string{0: "UTC+00", 7.4: "UTC+00", 7.6: "UTC+01", -75: "UTC-05", 180: "UTC+12", -180: "UTC-12"} {
		if got := nauticalZone(lon).String(); got != want {
			t.Errorf("%g°: %s, want %s", lon, got, want)
		}
	}
}

func TestZoneOffTheGlobe(t *testing.T) {
	for _, at := range [][2]float64{{91, 0}, {0, 181}, {math.NaN(), 0}, {0, math.NaN()}} {
		if _, err := Zone(at[0], at[1]); err == nil {
			t.Errorf("%v has a zone", at)
		}
	}
}
