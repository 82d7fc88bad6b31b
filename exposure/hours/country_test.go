package hours

import (
	"testing"
	"time"
)

// Every zone of the table is one of the IANA database, and stands with one country.
func TestCountryOfZone(t *testing.T) {
	seen := map[string]string{}
	for country, zones := range zonesOf {
		for _, zone := range zones {
			if _, err := time.LoadLocation(zone); err != nil {
				t.Errorf("%s of %s: %v", zone, country, err)
			}
			if other := seen[zone]; other != "" {
				t.Errorf("%s stands with %s and %s", zone, other, country)
			}
			seen[zone] = country
			if got := CountryOf(zone); got != country {
				t.Errorf("%s lies in %q, want %s", zone, got, country)
			}
		}
	}
	for _, zone := range []string{"", "UTC", "Asia/Kolkata", "Europe/Nowhere", "UTC-04"} {
		if got := CountryOf(zone); got != "" {
			t.Errorf("%q lies in %q", zone, got)
		}
	}
}

// Places whose country is plain lie in it by way of their time zone.
func TestCountryOfPlaces(t *testing.T) {
	for _, c := range []struct {
		lat, lon float64
		want     string
	}{{52.44, 13.55, "DE"}, {51.50, -0.09, "GB"}, {39.75, -75.55, "US"}, {42.51, 1.52, "AD"}, {52.09, 5.12, "NL"}, {55.68, 12.57, "DK"},
		{28.1, -15.4, "ES"}, {-37.81, 144.96, "AU"}, {0, -30, ""}} {
		zone, err := Zone(c.lat, c.lon)
		if err != nil {
			t.Fatal(err)
		}
		if got := CountryOf(zone.String()); got != c.want {
			t.Errorf("%g, %g in %s lies in %q, want %q", c.lat, c.lon, zone, got, c.want)
		}
	}
	for code, want := range map[string]string{"us": "US", " de ": "DE", "UK": "GB", "": ""} {
		if got := Country(code); got != want {
			t.Errorf("%q is %q, want %q", code, got, want)
		}
	}
}
