// Package tagvalue reads what is written in the tags of a map: speeds, widths, lanes,
// levels, layers. It hides their units, words and national codes, and what is no believable
// value.
package tagvalue

import (
	"math"
	"strconv"
	"strings"
)

// Bounds of believable values. Beyond them a tag is read as unknown and counted:
// they catch slips of the pen ("maxspeed=3000"), not judgements (our assumption).
const (
	maxSpeedKMH = 250 // no street is signed higher
	maxWidthM   = 150 // the widest squares and dual carriageways
	maxLanes    = 20
)

// Unit conversions: the international mile, foot and inch of 1959, and the
// nautical mile of 1929.
const (
	metresPerFoot = 0.3048
	metresPerInch = 0.0254
	kmhPerMPH     = 1.609344
	kmhPerKnot    = 1.852
	mpsPerKMH     = 1 / 3.6
)

// Speeds behind words: the map's documentation gives "walk" no number, courts read
// it as 4 to 15 km/h; "none" is Germany's advisory speed for roads without a limit.
const (
	walkKMH    = 7
	noLimitKMH = 130
)

// nationalKMH are the limits in km/h behind the map's national codes, by the part
// after the country (common practice, from memory; the exceptions below come first).
var nationalKMH = map[string]float64{
	"urban": 50, "rural": 90, "trunk": 100, "motorway": 120, "living_street": 20, "walk": walkKMH,
	"pedestrian_zone": walkKMH, "bicycle_road": 30, "school": 30, "zone:20": 20, "zone:30": 30, "zone20": 20, "zone30": 30,
}

// nationalException are national codes whose limit differs from nationalKMH
// (from memory).
var nationalException = map[string]float64{
	"DE:rural": 100, "DE:living_street": walkKMH, "DE:motorway": noLimitKMH, "AT:rural": 100, "AT:motorway": 130,
	"FR:rural": 80, "FR:motorway": 130, "CH:rural": 80, "NL:rural": 80, "NL:motorway": 130, "IT:motorway": 130,
	"NL:living_street": 15, "GB:nsl_single": 60 * kmhPerMPH, "GB:nsl_dual": 70 * kmhPerMPH, "GB:motorway": 70 * kmhPerMPH,
	"GB:nsl_restricted": 30 * kmhPerMPH, "UK:nsl_single": 60 * kmhPerMPH, "UK:nsl_dual": 70 * kmhPerMPH,
	"UK:motorway": 70 * kmhPerMPH, "GB:zone20": 20 * kmhPerMPH, "GB:zone30": 30 * kmhPerMPH,
}

// Speed reads a maxspeed tag: km/h where there is no unit, mph, knots, the words
// walk and none, national codes like "GB:nsl_single". Of several values (";") the
// largest counts, for that is what drives there. Signs that change and the
// empty tag are known but have no number: 0 and true. It gives metres per second.
func Speed(v string) (mps float64, ok bool) {
	best, ok := 0.0, false
	for part := range strings.SplitSeq(v, ";") {
		kmh, known := speedKMH(strings.TrimSpace(part))
		ok = ok || known
		best = max(best, kmh)
	}
	return best * mpsPerKMH, ok
}

func speedKMH(v string) (kmh float64, ok bool) {
	switch v {
	case "", "signals", "variable", "implicit", "default":
		return 0, true
	case "walk":
		return walkKMH, true
	case "none":
		return noLimitKMH, true
	}
	if country, code, is := strings.Cut(v, ":"); is && len(country) == 2 {
		if kmh, ok = nationalException[v]; !ok {
			kmh, ok = nationalKMH[code]
		}
		return kmh, ok
	}
	number, unit := splitUnit(v)
	x, ok := parseNumber(number)
	switch unit {
	case "", "km/h", "kmh", "kph":
	case "mph":
		x *= kmhPerMPH
	case "knots":
		x *= kmhPerKnot
	default:
		return 0, false
	}
	return within(x, maxSpeedKMH, ok)
}

// Width reads a width in metres, with m, ft, ' and " as units.
func Width(v string) (widthM float64, ok bool) {
	v = strings.TrimSpace(v)
	if feet, inches, is := strings.Cut(v, "'"); is {
		return feetAndInches(feet, inches)
	}
	number, unit := splitUnit(v)
	x, ok := parseNumber(number)
	switch unit {
	case "", "m", "meter", "meters", "metre", "metres":
	case "ft", "feet", "foot":
		x *= metresPerFoot
	case "\"", "in":
		x *= metresPerInch
	case "cm":
		x /= 100
	default:
		return 0, false
	}
	return within(x, maxWidthM, ok)
}

func feetAndInches(feet, inches string) (float64, bool) {
	f, ok := parseNumber(strings.TrimSpace(feet))
	if !ok {
		return 0, false
	}
	i := 0.0
	if inches = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(inches), "\"")); inches != "" {
		if i, ok = parseNumber(inches); !ok || i >= 12 {
			return 0, false
		}
	}
	return within(f*metresPerFoot+i*metresPerInch, maxWidthM, true)
}

// Lanes reads a number of lanes; of several values the largest.
func Lanes(v string) (lanes float64, ok bool) {
	for part := range strings.SplitSeq(v, ";") {
		if x, good := parseNumber(strings.TrimSpace(part)); good && x > 0 && x <= maxLanes {
			lanes, ok = max(lanes, x), true
		}
	}
	return lanes, ok
}

// Levels reads building:levels and layer-like small numbers.
func Levels(v string) (levels float64, ok bool) {
	const tallest = 200 // storeys; the tallest building has 163
	x, ok := parseNumber(strings.TrimSpace(v))
	return within(x, tallest, ok)
}

// Layer reads a layer tag: a whole number, by convention -5 to 5; more is cut
// off there. Levels like "0.5" round towards the ground.
func Layer(v string) (layer int8, ok bool) {
	x, err := strconv.ParseFloat(strings.TrimSpace(v), 64)
	if err != nil || math.IsNaN(x) {
		return 0, v == ""
	}
	return int8(max(-5, min(5, math.Trunc(x)))), true
}

// splitUnit parts "30 mph" and "30mph" into number and unit.
func splitUnit(v string) (number, unit string) {
	i := strings.IndexFunc(v, func(r rune) bool { return (r < '0' || r > '9') && r != '.' && r != ',' })
	if i < 0 {
		return v, ""
	}
	return v[:i], strings.ToLower(strings.TrimSpace(v[i:]))
}

// parseNumber reads a plain decimal number, with a comma for the point if need be.
func parseNumber(v string) (float64, bool) {
	const longest = 12 // digits; longer ones are no measurements
	if v == "" || len(v) > longest {
		return 0, false
	}
	for _, r := range v {
		if (r < '0' || r > '9') && r != '.' && r != ',' {
			return 0, false
		}
	}
	x, err := strconv.ParseFloat(strings.Replace(v, ",", ".", 1), 64)
	return x, err == nil
}

// within refuses what is not above 0 and at most top.
func within(x, top float64, ok bool) (float64, bool) {
	if !ok || !(x > 0) || x > top {
		return 0, false
	}
	return x, true
}
