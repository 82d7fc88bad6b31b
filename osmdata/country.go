package osmdata

import (
	"strings"

	"github.com/paulmach/osm"
)

// Countries counts the addresses and settlements of an extract that name a country, by
// its ISO 3166-1 code of two letters.
type Countries map[string]int

// countryKeys name a country on addresses and settlements.
var countryKeys = [...]string{"addr:country", "is_in:country_code", "ISO3166-1:alpha2", "country_code_iso3166_1_alpha_2"}

// borderKeys name a country on the relation of its boundary, or of a part of it, as a
// code of ISO 3166-1, or of ISO 3166-2, which begins with that. Source: the community's
// documentation of Key:ISO3166-1 and Key:ISO3166-2.
var borderKeys = [...]string{"ISO3166-1:alpha2", "ISO3166-1", "country_code_iso3166_1_alpha_2", "ISO3166-2"}

// add counts what tags name.
func (c *Countries) add(tags osm.Tags) {
	for _, key := range countryKeys {
		if code := countryCode(tags.Find(key)); code != "" {
			c.count(code)
			return
		}
	}
}

func (c *Countries) count(code string) {
	if *c == nil {
		*c = Countries{}
	}
	(*c)[code]++
}

// countryCode is a code of two letters in capitals, "" for any other text.
func countryCode(text string) string {
	code := strings.ToUpper(strings.TrimSpace(text))
	if len(code) != 2 || code[0] < 'A' || code[0] > 'Z' || code[1] < 'A' || code[1] > 'Z' {
		return ""
	}
	return code
}

// bordered is the country whose boundary, or a part's, a relation with these tags is; ""
// for none.
func bordered(tags osm.Tags) string {
	if tags.Find("boundary") != "administrative" {
		return ""
	}
	for _, key := range borderKeys {
		text := tags.Find(key)
		if key == "ISO3166-2" {
			text, _, _ = strings.Cut(text, "-")
		}
		if code := countryCode(text); code != "" {
			return code
		}
	}
	return ""
}

// Alone is the one country that is named, "" if none or several are.
func (c Countries) Alone() string {
	if len(c) != 1 {
		return ""
	}
	for code := range c {
		return code
	}
	return ""
}

func (c *Countries) merge(more Countries) {
	if *c == nil {
		*c = more
		return
	}
	for code, n := range more {
		(*c)[code] += n
	}
}

// Most is the country that more than half of them name, "" if none.
func (c Countries) Most() string {
	all := 0
	for _, n := range c {
		all += n
	}
	for code, n := range c {
		if 2*n > all {
			return code
		}
	}
	return ""
}
