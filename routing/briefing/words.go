package briefing

import (
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/briefing/message"
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

// Words tells numbers and plans in one language, one system of units and one way
// to tell the hour. The zero value is British English, metric, 24 hours. Rounding
// happens here, in display, and nowhere else.
type Words struct {
	Units      Units
	TwelveHour bool
}

// Lang is the language tag of the texts (BCP 47).
func (w Words) Lang() string {
	if w.Units == US {
		return "en-US"
	}
	return "en-GB"
}

// Sentence is a text with a capital at its beginning.
func Sentence(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[n:]
}

// Speed tells a pace, in miles an hour to a tenth for whoever reads feet.
func (w Words) Speed(mps float64) string {
	if w.Units == US {
		return w.Say("unit.mph", "n", toStep(mps*3600/metresPerMile, 0.1))
	}
	return w.Say("unit.mps", "n", mps)
}

func toStep(x, step float64) float64 { return math.Round(x/step) * step }

// Distance tells metres: to 1 m under 20, to 5 m under 100, to 10 m above; in feet
// to 5 under 100, to 10 under 400, to 50 above.
func (w Words) Distance(m float64) string {
	m = max(0, m)
	if w.Units == US {
		switch ft := m / MetresPerFoot; {
		case ft < 100:
			return w.Say("unit.ft", "n", toStep(ft, 5))
		case ft < 400:
			return w.Say("unit.ft", "n", toStep(ft, 10))
		default:
			return w.Say("unit.ft", "n", toStep(ft, 50))
		}
	}
	switch {
	case m < 20:
		return w.Say("unit.m", "n", math.Round(m))
	case m < 100:
		return w.Say("unit.m", "n", toStep(m, 5))
	}
	return w.Say("unit.m", "n", toStep(m, 10))
}

// Own tells one of the dog's own distances, to 1 m or 1 ft.
func (w Words) Own(m float64) string {
	if w.Units == US {
		return w.Say("unit.ft", "n", math.Round(m/MetresPerFoot))
	}
	return w.Say("unit.m", "n", math.Round(m))
}

// Far tells the length of a walk or leg: from 1 km in kilometres, from 1,000 ft in
// miles, with one decimal.
func (w Words) Far(m float64) string {
	if w.Units == US {
		if m/MetresPerFoot >= mileFromFt {
			return w.Say("unit.mi", "n", message.Fixed(m/metresPerMile, 1))
		}
		return w.Distance(m)
	}
	if m >= kmFromM-5 {
		return w.Say("unit.km", "n", message.Fixed(m/1000, 1))
	}
	return w.Distance(m)
}

// Cars tells a distance in parked cars, "" below two and above twenty.
func (w Words) Cars(m float64) string {
	n := m / CarM
	if n < leastCars || n > mostCars {
		return ""
	}
	return w.Say("unit.cars", "n", math.Round(n))
}

// wholeMinutes is a duration as it is counted, in minutes: at least one.
func wholeMinutes(s float64) float64 { return max(1, math.Round(s/60)) }

// Minutes tells a duration in whole minutes: "29 min".
func (w Words) Minutes(s float64) string { return w.Say("unit.min", "n", wholeMinutes(s)) }

// into tells how far into a walk something is: "17 min", "0 min" at its beginning.
func (w Words) into(s float64) string { return w.Say("unit.min", "n", math.Round(s/60)) }

// MinutesSpelt tells it with the word written out.
func (w Words) MinutesSpelt(s float64) string { return w.Say("unit.minutes", "n", wholeMinutes(s)) }

// seconds tells a short duration, to 5 s under a minute and in minutes from a
// minute and a half.
func (w Words) seconds(s float64) string {
	if s >= 90 {
		return w.MinutesSpelt(s)
	}
	return w.Say("unit.seconds", "n", max(5, toStep(s, 5)))
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

// hour tells an hour of a day: "Wed 07:10".
func (w Words) hour(t time.Time) string {
	return w.Say("date.hour", "weekday", w.Say("weekday.short."+strconv.Itoa(int(t.Weekday()))), "clock", w.Clock(t))
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
		return w.Say(some, "n", n)
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
func (w Words) CalmMeans() string { return w.Say("answer.calm") }

// level tells ground for readers: "tight, level 3 of 4".
func (w Words) level(l routing.Level) string {
	return w.Say("level.of", "level", w.Say("level."+l.String()), "n", int(l)+1)
}

// Treats tells what to carry: "25 to 40 treats", to 5 from ten on.
func (w Words) Treats(low, high int) string {
	lo, hi := roundTreats(low), roundTreats(high)
	if lo == hi {
		return w.Say("treats.same", "high", hi)
	}
	return w.Say("treats", "low", lo, "high", hi)
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
		return w.Say("sure.undated")
	}
	return w.Say("sure.mapdate", "date", w.Date(t))
}
