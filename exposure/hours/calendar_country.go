package hours

import (
	_ "embed" // the calendars of countries
	"encoding/json"
	"fmt"
	"strings"
	"sync"
)

// countryDays is how a country's calendar is written down: public holidays as short
// words (feastWords, or month and day), and those and school holidays that need more
// words in the opening_hours grammar.
type countryDays struct {
	Holidays string   `json:"holidays"`
	Own      []string `json:"own"`
	Breaks   []string `json:"breaks"`
}

// feastWords are holidays that many countries have.
var feastWords = map[string]namedText{
	"1":  {"New Year's Day", "Jan 1"},
	"6":  {"Epiphany", "Jan 6"},
	"MT": {"Maundy Thursday", "easter -3 days"},
	"GF": {"Good Friday", "easter -2 days"},
	"EM": {"Easter Monday", "easter +1 day"},
	"AS": {"Ascension Day", "easter +39 days"},
	"WM": {"Whit Monday", "easter +50 days"},
	"CC": {"Corpus Christi", "easter +60 days"},
	"X":  {"Christmas Day", "Dec 25"},
	"Y":  {"second day of Christmas", "Dec 26"},
}

var monthNames = [12]string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}

//go:embed calendars.json
var calendarsJSON []byte

var countryCalendars = sync.OnceValue(func() map[string]*Calendar {
	var all map[string]countryDays
	if err := json.Unmarshal(calendarsJSON, &all); err != nil {
		panic(err) // the embedded file is wrong: a test holds it right
	}
	out := make(map[string]*Calendar, len(all))
	for country, days := range all {
		c, err := days.calendar(country)
		if err != nil {
			panic(fmt.Sprintf("calendar of %s: %v", country, err))
		}
		out[country] = c
	}
	return out
})

// CalendarOf gives the calendar of a country by its ISO 3166-1 code: national public
// holidays, and school holidays as they are usual there; both from memory, and school
// holidays differ by region and year. Where none is known it is the default one.
func CalendarOf(country string) *Calendar {
	if c := countryCalendars()[Country(country)]; c != nil {
		return c
	}
	return DefaultCalendar()
}

func (d *countryDays) calendar(country string) (*Calendar, error) {
	f := calendarFile{SchoolDays: "Mo-Fr", Note: "Assumed calendar of " + country +
		": national holidays, school holidays as they usually are there. Replace it with the region's own."}
	for _, word := range strings.Fields(d.Holidays) {
		if feast, ok := feastWords[word]; ok {
			f.PublicHolidays = append(f.PublicHolidays, feast)
			continue
		}
		var month, day int
		if n, err := fmt.Sscanf(word, "%2d%2d", &month, &day); n != 2 || err != nil || month < 1 || month > 12 {
			return nil, fmt.Errorf("%q is no holiday", word)
		}
		f.PublicHolidays = append(f.PublicHolidays, namedText{"public holiday", fmt.Sprintf("%s %d", monthNames[month-1], day)})
	}
	for _, days := range d.Own {
		f.PublicHolidays = append(f.PublicHolidays, namedText{"public holiday", days})
	}
	for _, days := range d.Breaks {
		f.SchoolHolidays = append(f.SchoolHolidays, namedText{"school holidays", days})
	}
	return f.calendar()
}
