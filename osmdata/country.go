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

// add counts what tags name.
func (c *Countries) add(tags osm.Tags) {
	for _, key := range countryKeys {
		code := strings.ToUpper(strings.TrimSpace(tags.Find(key)))
		if len(code) != 2 || code[0] < 'A' || code[0] > 'Z' || code[1] < 'A' || code[1] > 'Z' {
			continue
		}
		if *c == nil {
			*c = Countries{}
		}
		(*c)[code]++
		return
	}
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
