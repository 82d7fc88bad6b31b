package hours

import "math"

// Rain is what somebody says of the rain while they are out.
type Rain uint8

// How it rains: from one millimetre in a day it is light, from ten heavy.
const (
	RainUnsaid Rain = iota
	NoRain
	LightRain
	HeavyRain
)

// Weather is what somebody says of the weather of a day; nobody is asked for it. The
// zero value says nothing.
type Weather struct {
	TmaxC   float64 // highest temperature of the day in degrees C
	HasTmax bool
	Feel    Feel // read only where no temperature was said
	Rain    Rain
}

// Feel is the warmth of a day as people say it without a thermometer.
type Feel uint8

// How a day feels, for the season.
const (
	FeelUnsaid Feel = iota
	Cold
	Hot
)

// feelC is how far a day that people call hot or cold lies from the usual one, in
// degrees C: about one and a half standard deviations of daily maxima in middle
// latitudes. Our assumption.
const feelC = 7.0

// Said tells whether anything was said.
func (w Weather) Said() bool { return w.HasTmax || w.Feel != FeelUnsaid || w.Rain != RainUnsaid }

// Warmest and coldest days that are believed, in degrees C: a little beyond the
// records of the earth.
const (
	ColdestC = -60.0
	HottestC = 60.0
)

// Bicycles and the weather of the day, month removed: logarithm per degree C of the
// day's maximum up to 22, and the factor of a day with rain (1 mm, 10 mm) on its
// count. 75 counters in Baden-Wuerttemberg, 67,742 working and 27,768 weekend days of
// counters (figures derived from counts of MobiData BW, NVBW). Above 27 degrees less
// by the hour. Elsewhere the slope differs by up to two: half of it in Basel.
var (
	bicyclesPerC    = [2]float64{.0411, .0669}
	bicyclesInRain  = [2]float64{.79, .71}
	bicyclesInPour  = [2]float64{.64, .52}
	bicyclesHotPerC = -.0121
)

const (
	bicyclesWarmC  = 22.0
	bicyclesHotC   = 27.0
	wetDays        = 0.35 // share of days with 1 mm where the counters stand
	bicycleDarkWd  = 0.15 // share of riders that stays away in the dark on working evenings,
	bicycleDarkWe  = 0.30 // and on free ones: the same hour before and after the clocks change, ten years
	bicycleEvening = 12   // mornings on working days lose none
)

// tmax is the highest temperature of the day in degrees C, and whether anybody said
// it: as it was said, else as usual.
func (m Moment) tmax() (c float64, said bool) {
	switch w := m.clock.weather(); {
	case w.HasTmax:
		return w.TmaxC, true
	case w.Feel == Cold:
		return m.usualTmax() - feelC, true
	case w.Feel == Hot:
		return m.usualTmax() + feelC, true
	}
	return m.usualTmax(), false
}

// bicycles is the factor of bicycles for season, weather and light.
func (m Moment) bicycles() float64 {
	day := dayType(m)
	loss := [2]float64{bicycleDarkWd, bicycleDarkWe}[day]
	f := m.bicycleMonth() * m.inTheDark(loss, bicycleEvening)
	if tmaxC, said := m.tmax(); said {
		warm := min(tmaxC, bicyclesWarmC) - min(m.usualTmax(), bicyclesWarmC)
		f *= math.Exp(bicyclesPerC[day]*warm + bicyclesHotPerC*max(0, tmaxC-bicyclesHotC))
	}
	mean := 1 - wetDays + wetDays*bicyclesInRain[day]
	switch m.clock.weather().Rain {
	case NoRain:
		f /= mean
	case LightRain:
		f *= bicyclesInRain[day] / mean
	case HeavyRain:
		f *= bicyclesInPour[day] / mean
	}
	return f
}

// outdoors is what weather and light do to an activity: factors to a dry day of 18
// degrees C by the day's maximum, below 5, 10, 15, 25 and 30 degrees and above; in
// rain; and what stays away in the dark.
type outdoors struct {
	byTmax  [6]float64
	rain    float64
	dark    float64 // share lost
	crowds  bool    // what is lost in the dark is done at another hour
	levels  bool    // a mean over the year of the place is 1: flows, not places at their busiest
	isOpen  bool    // byTmax is how many of such places are in use at all, not how many people are there
	assumed bool
}

var tmaxSteps = [5]float64{5, 10, 15, 25, 30}

// Activities with a response to weather and light. Streets follow people counted in
// Basel, all others are our assumption. In hot weather owners walk less and shorter,
// in cold and rain hardly fewer of them (3,153 owners, Animals 11:3302, 2021; Norfolk
// accelerometers, JECH 71:905, 2017; both give shares of owners, not of minutes).
// People sit outdoors from about 10 to 13 degrees in the sun (after Gehl, from
// memory); parks lie between Zurich's leisure stations and leisure cyclists; daylight
// on paths raises walkers by 62 % (Uttley and Fotios 2017, J. Environ. Psychol.
// 53:1-10).
var (
	streets = outdoors{byTmax: [6]float64{.93, .96, .98, 1, .99, .92}, rain: .85, dark: .07, crowds: true, levels: true}
	parks   = outdoors{byTmax: [6]float64{.55, .70, .85, 1, 1.05, .90}, rain: .5, dark: .6, levels: true, assumed: true}
	runners = outdoors{byTmax: [6]float64{.85, .95, 1, 1, .85, .60}, rain: .7, dark: .25, levels: true, assumed: true}
	dogs    = outdoors{byTmax: [6]float64{.90, .95, 1, 1, .90, .75}, rain: .75, dark: .2, crowds: true, assumed: true}
	play    = outdoors{byTmax: [6]float64{.20, .45, .75, 1, 1, .60}, rain: .1, dark: .9, assumed: true}
	terrace = outdoors{byTmax: [6]float64{.05, .15, .50, 1, 1.1, 1}, rain: .15, dark: .2, isOpen: true, assumed: true}
	markets = outdoors{byTmax: [6]float64{.80, .90, 1, 1, 1, .90}, rain: .7, assumed: true}
	bathing = outdoors{byTmax: [6]float64{.02, .03, .08, .50, 1, 1}, rain: .1, dark: .9, assumed: true}
)

// outdoorsOf are the activities that weather and light change; all others go on.
var outdoorsOf = map[Activity]*outdoors{Dogs: &dogs, DogPark: &dogs, People: &streets, Playground: &play, SkateSpot: &play,
	Pitch: &play, Cafe: &terrace, Market: &markets, Beach: &bathing}

// at reads byTmax for a temperature, straight between the middles of the steps.
func (o *outdoors) at(tmaxC float64) float64 {
	const half = 2.5 // degrees C: of the outer steps
	middle := [6]float64{tmaxSteps[0] - half, 7.5, 12.5, 20, 27.5, tmaxSteps[4] + half}
	if tmaxC <= middle[0] {
		return o.byTmax[0]
	}
	for i := 1; i < len(middle); i++ {
		if tmaxC < middle[i] {
			t := (tmaxC - middle[i-1]) / (middle[i] - middle[i-1])
			return o.byTmax[i-1] + t*(o.byTmax[i]-o.byTmax[i-1])
		}
	}
	return o.byTmax[5]
}

// warmth is the factor of the temperature: as it was said, else as usual on such a
// day at the place; where months are alike and nothing was said, 1. Flows are held to
// a mean of 1 over the place's year, people in streets to 1 in usual weather.
func (o *outdoors) warmth(m Moment) float64 {
	tmaxC, said := m.tmax()
	if lat, _ := m.clock.position(); seasonStrength(lat) == 0 && !said {
		return 1
	}
	usual, now := o.at(m.usualTmax()), o.at(tmaxC)
	switch {
	case !o.levels && o.crowds && !said: // dogs: no count by month was found
		return 1
	case o.levels && !o.assumed:
		return now / usual
	case o.levels:
		return now / o.yearMean(m)
	}
	return now
}

// yearMean is the mean of usual days over the year of the place.
func (o *outdoors) yearMean(m Moment) float64 {
	year, _, _ := m.Date.Civil()
	sum := 0.0
	for month := 1; month <= 12; month++ {
		mid := m
		mid.Date = NewDate(year, 1, 1) + Date((month-1)*30+15)
		sum += o.at(mid.usualTmax()) / 12
	}
	return sum
}

// factor is what weather and light do to the number of people of an activity in the
// hour of a moment, and open how many of such places are in use at all.
func (o *outdoors) factor(m Moment, p *Profile) (people, open float64) {
	warm := o.warmth(m)
	if o.isOpen {
		open, people = min(1, warm), max(1, warm)
	} else {
		open, people = 1, warm
	}
	switch {
	case o.crowds:
		people *= m.crowded(o.dark, p)
	case o.levels:
		people *= m.inTheDark(o.dark, 0)
	default:
		people *= 1 - o.dark*m.clock.dark(m.Date)[m.Hour()]
	}
	if r := m.clock.weather().Rain; r == LightRain || r == HeavyRain {
		wet := o.rain
		if r == HeavyRain {
			wet *= o.rain
		}
		if o.isOpen {
			open *= wet
		} else {
			people *= wet
		}
	}
	return people, open
}
