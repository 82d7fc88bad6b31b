package snapshot

import (
	"testing"

	"wideberth/osmdata"
)

// What is named goes first, then boundaries of one country, then most addresses, then the
// time zone.
func TestCountryOf(t *testing.T) {
	const zone = "Europe/Berlin"
	one, two := osmdata.Countries{"CH": 2}, osmdata.Countries{"CH": 2, "FR": 1}
	for _, c := range []struct {
		name               string
		borders, addresses osmdata.Countries
		zone, want         string
		from               Known
	}{
		{"uk", one, one, zone, "GB", ByName},
		{"", one, osmdata.Countries{"AT": 9}, zone, "CH", ByBorder},
		{"", two, osmdata.Countries{"AT": 9}, zone, "AT", ByAddresses},
		{"", two, osmdata.Countries{"AT": 1, "CH": 1}, zone, "DE", ByZone},
		{"", nil, nil, "Etc/UTC", "", ""},
	} {
		code, from := countryOf(&osmdata.Extract{Borders: c.borders, Countries: c.addresses}, c.name, c.zone)
		if code != c.want || from != c.from {
			t.Errorf("named %q, borders %v, addresses %v, zone %s: %q by %q, want %q by %q", c.name, c.borders, c.addresses, c.zone, code, from, c.want, c.from)
		}
	}
}
