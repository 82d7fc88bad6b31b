package briefing

import (
	"embed"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"wideberth/exposure"
	"wideberth/routing"
)

// Units are how distances are told.
type Units uint8

// The units. US comes with American words.
const (
	Metric Units = iota
	US
)

// Lengths of what distances are told in, in metres.
const (
	MetresPerFoot = 0.3048
	metresPerMile = 1609.344
	CarM          = 5 // a parked car with its gap: the ruler that stands on every street
	mostCars      = 20
	leastCars     = 2
	kmFromM       = 1000 // lengths of walks from here on are told in kilometres
	mileFromFt    = 1000
)

// thin is the space between a number and its unit; it does not break.
const thin = "\u202f"

//go:embed text/*.json
var textFiles embed.FS

// texts holds every string, whole, by language and key. To add a language add a
// file.
var texts = map[Units]map[string]string{Metric: readTexts("en-GB"), US: readTexts("en-GB", "en-US")}

// readTexts reads languages one over the other. The files are part of the program,
// so one that cannot be read is a broken build, which the tests meet first.
func readTexts(langs ...string) map[string]string {
	all := map[string]string{}
	for _, lang := range langs {
		text, err := textFiles.ReadFile("text/" + lang + ".json")
		if err == nil {
			err = json.Unmarshal(text, &all)
		}
		if err != nil {
			panic(fmt.Sprintf("text of %s: %v", lang, err))
		}
	}
	return all
}

// Words tells numbers and plans in one language, one system of units and one way
// to tell the hour. The zero value is British English, metric, 24 hours. Rounding
// happens here, in display, and nowhere else.
type Words struct {
	Units      Units
	TwelveHour bool
}

// say gives a text with its named places filled in: pairs of name and value.
func (w Words) Say(key string, pairs ...string) string {
	s, ok := texts[w.Units][key]
	if !ok {
		return key
	}
	if len(pairs) == 0 {
		return s
	}
	places := make([]string, len(pairs))
	for i, p := range pairs {
		if places[i] = p; i%2 == 0 {
			places[i] = "{" + p + "}"
		}
	}
	return strings.NewReplacer(places...).Replace(s)
}

// has says whether a text exists.
func (w Words) has(key string) bool { _, ok := texts[w.Units][key]; return ok }

func Sentence(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// number writes a whole number with commas between thousands.
func Number(x float64) string {
	s := strconv.FormatFloat(math.Round(math.Abs(x)), 'f', 0, 64)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

func (w Words) unit(key, n string) string {
	return strings.Replace(w.Say(key, "n", n), " ", thin, 1)
}

func toStep(x, step float64) float64 { return math.Round(x/step) * step }

// Distance tells metres: to 1 m under 20, to 5 m under 100, to 10 m above; in feet
// to 5 under 100, to 10 under 400, to 50 above.
func (w Words) Distance(m float64) string {
	m = max(0, m)
	if w.Units == US {
		switch ft := m / MetresPerFoot; {
		case ft < 100:
			return w.unit("unit.ft", Number(toStep(ft, 5)))
		case ft < 400:
			return w.unit("unit.ft", Number(toStep(ft, 10)))
		default:
			return w.unit("unit.ft", Number(toStep(ft, 50)))
		}
	}
	switch {
	case m < 20:
		return w.unit("unit.m", Number(m))
	case m < 100:
		return w.unit("unit.m", Number(toStep(m, 5)))
	}
	return w.unit("unit.m", Number(toStep(m, 10)))
}

// Own tells one of the dog's own distances, to 1 m or 1 ft.
func (w Words) Own(m float64) string {
	if w.Units == US {
		return w.unit("unit.ft", Number(m/MetresPerFoot))
	}
	return w.unit("unit.m", Number(m))
}

// Far tells the length of a walk or leg: from 1 km in kilometres, from 1,000 ft in
// miles, with one decimal.
func (w Words) Far(m float64) string {
	if w.Units == US {
		if m/MetresPerFoot >= mileFromFt {
			return w.unit("unit.mi", strconv.FormatFloat(m/metresPerMile, 'f', 1, 64))
		}
		return w.Distance(m)
	}
	if m >= kmFromM-5 {
		return w.unit("unit.km", strconv.FormatFloat(m/1000, 'f', 1, 64))
	}
	return w.Distance(m)
}

// Cars tells a distance in parked cars, "" below two and above twenty.
func (w Words) Cars(m float64) string {
	n := m / CarM
	if n < leastCars || n > mostCars {
		return ""
	}
	return w.unit("unit.cars", Number(n))
}

// Minutes tells a duration in whole minutes: "29 min".
func (w Words) Minutes(s float64) string { return w.unit("unit.min", Number(s/60)) }

// minutes tells it with the word written out.
func (w Words) MinutesSpelt(s float64) string {
	if math.Round(s/60) == 1 {
		return w.Say("unit.minute")
	}
	return w.Say("unit.minutes", "n", Number(s/60))
}

// Seconds tells a short duration, to 5 s under a minute and in minutes from a
// minute and a half.
func (w Words) Seconds(s float64) string {
	if s >= 90 {
		return w.MinutesSpelt(s)
	}
	return w.Say("unit.seconds", "n", Number(max(5, toStep(s, 5))))
}

// Clock tells the hour, as people there do.
func (w Words) Clock(t time.Time) string {
	if !w.TwelveHour {
		return t.Format("15:04")
	}
	key := "clock.am"
	if t.Hour() >= 12 {
		key = "clock.pm"
	}
	return w.Say(key, "clock", t.Format("3:04"))
}

// Day tells a day: "Wed 25 November".
func (w Words) Day(t time.Time) string {
	return w.Say("date.day", "weekday", w.Say("weekday.short."+strconv.Itoa(int(t.Weekday()))),
		"day", strconv.Itoa(t.Day()), "month", w.Say("month."+strconv.Itoa(int(t.Month()))))
}

// Date tells a date: "20 November 2026".
func (w Words) Date(t time.Time) string {
	return w.Say("date", "day", strconv.Itoa(t.Day()), "month", w.Say("month."+strconv.Itoa(int(t.Month()))), "year", strconv.Itoa(t.Year()))
}

// Dog is the dog's name, "your dog" where it has none.
func (w Words) Dog(d *exposure.Dog) string {
	if name := strings.TrimSpace(d.Name); name != "" {
		return name
	}
	return w.Say("dog.unnamed")
}

// mostNameRunes is where a name is cut on a plate or in a title; lists hold it
// whole.
const MostNameRunes = 40

func Clip(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return strings.TrimRight(string(r[:most-1]), " ") + "…"
	}
	return s
}

// The chance below and above which whole walks of ten say too much: never "0 of
// 10" and never "10 of 10".
const (
	fewBelow = 0.05
	mostFrom = 0.95
)

// Tenths is a chance as whole walks of ten, 0 where they are fewer than one and 10
// where they are more than nine.
func Tenths(p float64) int {
	switch {
	case p < fewBelow:
		return 0
	case p >= mostFrom:
		return 10
	}
	return min(9, max(1, int(math.Round(10*p))))
}

func (w Words) chance(p float64, some, most, few string) string {
	switch n := Tenths(p); n {
	case 0:
		return w.Say(few)
	case 10:
		return w.Say(most)
	default:
		return w.Say(some, "n", strconv.Itoa(n))
	}
}

// Answer tells the chance of a calm walk: "7 of 10 walks like this stay calm".
func (w Words) Answer(p float64) string {
	return w.chance(p, "answer.some", "answer.most", "answer.few")
}

// Of tells a chance for a table: "7 of 10".
func (w Words) Of(p float64) string { return w.chance(p, "of.some", "of.most", "of.few") }

// Range tells an 80 % interval of a chance: "could be 5 to 8".
func (w Words) Range(low, high float64) string {
	if Tenths(low) == Tenths(high) {
		return w.Say("range.same")
	}
	end := func(p float64) string {
		switch n := Tenths(p); n {
		case 0:
			return w.Say("range.few")
		case 10:
			return w.Say("range.most")
		default:
			return strconv.Itoa(n)
		}
	}
	return w.Say("range", "low", end(low), "high", end(high))
}

// CalmMeans says what calm is, once a view.
func (w Words) CalmMeans() string { return w.Say("calm.means") }

// Level tells ground for readers: "tight, level 3 of 4".
func (w Words) Level(l routing.Level) string {
	return w.Say("level.of", "level", w.Say("level."+l.String()), "n", strconv.Itoa(int(l)+1))
}

// Treats tells what to carry: "25 to 40 treats", to 5 from ten on.
func (w Words) Treats(low, high int) string {
	lo, hi := roundTreats(low), roundTreats(high)
	if lo == hi {
		return w.Say("treats.one", "high", strconv.Itoa(hi))
	}
	return w.Say("treats", "low", strconv.Itoa(lo), "high", strconv.Itoa(hi))
}

// roundTreats is the handful that is counted out: no fewer than expected.
func roundTreats(n int) int {
	if n > 10 {
		return (n + 4) / 5 * 5
	}
	return n
}

// MapDate says how old the map is.
func (w Words) MapDate(t time.Time) string {
	if t.IsZero() {
		return w.Say("map.undated")
	}
	return w.Say("map.of", "date", w.Date(t))
}
