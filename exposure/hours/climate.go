package hours

import (
	"math"
	"time"
)

// What a month is like at a latitude, where nobody says what the weather is.

// bicycleMonths are the mean day of each month over that of the year, working and
// free days: medians over 54 counters in Baden-Wuerttemberg, 47.6 to 49.1 N, 2013 to
// 2024 without 2020 and 2021 (figures derived from counts of MobiData BW, NVBW).
// Each is 1 on average.
var bicycleMonths = [2][12]float64{
	{.565, .713, .888, .970, 1.163, 1.388, 1.478, 1.170, 1.204, 1.065, .826, .569},
	{.431, .608, .882, 1.056, 1.461, 1.426, 1.607, 1.192, 1.270, 1.013, .660, .394},
}

// bicyclesSteady is the latitude up to which bicycles have no season; it grows until
// bicyclesFull, holds about the counters and grows a little more from bicyclesHold to
// bicyclesNorth. In the tropics rain makes the season, not cold. Our assumption, but
// for 48 N.
const (
	bicyclesSteady = 25.0
	bicyclesFull   = 45.0
	bicyclesHold   = 50.0
	bicyclesNorth  = 55.0
	northern       = 1.1
)

// seasonStrength is 0 where months are alike, 1 where the counters stand: the
// exponent of the months' factors.
func seasonStrength(lat float64) float64 {
	lat = math.Abs(lat)
	switch {
	case lat <= bicyclesSteady:
		return 0
	case lat >= bicyclesNorth:
		return northern
	case lat >= bicyclesFull:
		return 1 + (northern-1)*max(0, lat-bicyclesHold)/(bicyclesNorth-bicyclesHold)
	}
	return (lat - bicyclesSteady) / (bicyclesFull - bicyclesSteady)
}

// normalTmax are mean daily maxima in degrees C by month at the counters' sites.
var normalTmax = [12]float64{4.1, 7.5, 10.7, 12.9, 17.3, 23.0, 24.8, 24.7, 20.4, 15.5, 8.5, 5.0}

// A rough climate from latitude alone; our assumption, to about 4 degrees in the
// west of Europe.
const (
	normalMeanC     = 14.5 // of normalTmax
	normalLat       = 48.6
	tropicsC        = 31.0
	tropicsLat      = 15.0
	coolerPerDegree = 0.49
	inlandSwing     = 1.35 // where winters come off a continent: eastern North America, eastern Asia
)

// swingingCountries have the colder winters of a continent's east.
var swingingCountries = map[string]bool{"US": true, "CA": true, "JP": true}

// usualTmax is the daily maximum in degrees C to be expected on a day of the year at
// a place.
func (m Moment) usualTmax() float64 {
	lat, _ := m.clock.position()
	swing := min(northern, max(0, (math.Abs(lat)-10)/(normalLat-10)))
	if swingingCountries[m.clock.country()] {
		swing *= inlandSwing
	}
	mean := tropicsC - coolerPerDegree*max(0, math.Abs(lat)-tropicsLat)
	return mean + swing*(m.overMonths(&normalTmax)-normalMeanC)
}

// overMonths reads a table by month for the day, straight between the middles of
// months, in the season of the place: half a year later in the south.
func (m Moment) overMonths(table *[12]float64) float64 {
	year, month, day := m.Date.civil()
	at := float64(month) - 1 + (float64(day)-.5)/float64(daysIn(year, month)) - .5
	if lat, _ := m.clock.position(); lat < 0 {
		at += 6
	}
	at = positiveMod(at, 12)
	i := int(at)
	return table[i] + (at-float64(i))*(table[(i+1)%12]-table[i])
}

// bicycleMonth is the month's factor of bicycles.
func (m Moment) bicycleMonth() float64 {
	lat, _ := m.clock.position()
	strength := seasonStrength(lat)
	if strength == 0 {
		return 1
	}
	table, mean := bicycleMonths[dayType(m)], 0.0
	for i, f := range table {
		table[i] = math.Pow(f, strength)
		mean += table[i] / 12
	}
	return m.overMonths(&table) / mean
}

func dayType(m Moment) int {
	if m.WorkingDay() {
		return 0
	}
	return 1
}

// Visitors in season: nights spent by tourists of a month over the year's mean. A
// third of those in the European Union lie in July and August (Eurostat, from
// memory); by month our assumption.
var visitorMonths = [12]float64{.55, .60, .70, .85, 1.00, 1.30, 1.80, 1.90, 1.20, .85, .60, .65}

// visitorMonth is the month's factor of people who stay the night.
func (m Moment) visitorMonth() float64 {
	lat, _ := m.clock.position()
	if seasonStrength(lat) == 0 {
		return 1
	}
	return m.overMonths(&visitorMonths)
}

// hourMid is the middle of an hour of the day.
func (c *Clock) hourMid(d Date, hour int) time.Time {
	year, month, day := d.civil()
	return time.Date(year, month, day, hour, 30, 0, 0, c.location())
}
