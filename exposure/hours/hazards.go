package hours

import "time"

// SunDeg is how high the sun stands at the moment, in degrees; below 0 it is down.
func (m Moment) SunDeg() float64 {
	lat, lon := m.clock.position()
	return sunElevation(m.Time, lat, lon)
}

// Tmax is the highest temperature of the day in degrees C: as it was said, else as it
// usually is on such a day there; said tells which.
func (m Moment) Tmax() (c float64, said bool) { return m.tmax() }

// Wet says that somebody said it rains.
func (m Moment) Wet() bool {
	r := m.clock.weather().Rain
	return r == LightRain || r == HeavyRain
}

// fireworks are the days of a year on which fireworks are let off by country, as
// ranges of month and day; "" is everywhere. From memory; bans and local days differ.
var fireworks = map[string][][2][2]int{
	"":   {{{12, 31}, {1, 1}}},
	"DE": {{{12, 28}, {1, 1}}},
	"AT": {{{12, 29}, {1, 1}}},
	"NL": {{{12, 29}, {1, 1}}},
	"GB": {{{10, 31}, {11, 7}}, {{12, 31}, {1, 1}}},
	"US": {{{7, 1}, {7, 5}}, {{12, 31}, {1, 1}}},
	"CA": {{{7, 1}, {7, 1}}, {{12, 31}, {1, 1}}},
	"FR": {{{7, 13}, {7, 14}}, {{12, 31}, {1, 1}}},
	"CH": {{{7, 31}, {8, 1}}, {{12, 31}, {1, 1}}},
	"AU": {{{1, 26}, {1, 26}}, {{12, 31}, {1, 1}}},
}

// Fireworks says whether fireworks are usual on the day of the moment.
func (m Moment) Fireworks() bool {
	days, known := fireworks[m.clock.country()]
	if !known {
		days = fireworks[""]
	}
	_, month, day := m.Date.civil()
	at := [2]int{int(month), day}
	for _, d := range days {
		from, to := d[0], d[1]
		inside := !before(at, from) && !before(to, at)
		if before(to, from) { // over the turn of the year
			inside = !before(at, from) || !before(to, at)
		}
		if inside {
			return true
		}
	}
	return false
}

func before(a, b [2]int) bool { return a[0] < b[0] || a[0] == b[0] && a[1] < b[1] }

// Grazing says whether livestock is likely out on pasture: from spring to autumn where
// there are seasons, all year elsewhere. Our assumption.
func (m Moment) Grazing() bool {
	lat, _ := m.clock.position()
	if seasonStrength(lat) == 0 {
		return true
	}
	month := m.Time.In(m.clock.location()).Month()
	if lat < 0 {
		month = (month+5)%12 + 1
	}
	return month >= time.April && month <= time.October
}

// NewYear says that it is the first day of the year.
func (m Moment) NewYear() bool {
	_, month, day := m.Date.civil()
	return month == time.January && day == 1
}
