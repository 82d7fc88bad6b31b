package hours

import (
	"errors"
	"math"
	"time"
)

// Clock is the time of one place: its zone, its calendar and, for the sun and the
// seasons, its position and country; and what somebody said of the weather there. The
// zero value is UTC at 0° N 0° E with the default calendar. Do not change it once in
// use; then it is safe for concurrent use.
type Clock struct {
	Loc      *time.Location // nil: UTC
	Calendar *Calendar      // nil: DefaultCalendar
	Lat, Lon float64        // degrees
	Country  string         // ISO 3166-1 code, "" if not known
	Weather  Weather        // the zero value says nothing

	days    days
	seasons seasons
}

// Under is the clock with what somebody says of the weather.
func (c *Clock) Under(w Weather) *Clock {
	return &Clock{Loc: c.Loc, Calendar: c.Calendar, Lat: c.Lat, Lon: c.Lon, Country: c.Country, Weather: w}
}

// Moment is an instant as the place sees it. Clock.At makes it; the zero value
// is the midnight that began 1970.
type Moment struct {
	Date   Date
	Minute int // 0 to 1439, after midnight by the clock on the wall
	Time   time.Time
	clock  *Clock
}

// At gives the moment of an instant.
func (c *Clock) At(t time.Time) Moment {
	local := t.In(c.location())
	return Moment{DateOf(local), local.Hour()*60 + local.Minute(), t, c}
}

// Hour gives the hour of the day, 0 to 23, by the clock on the wall.
func (m Moment) Hour() int { return m.Minute / 60 }

// Day gives the kind of day.
func (m Moment) Day() DayKind { return m.clock.calendar().Day(m.Date) }

// WorkingDay tells if it is Monday to Friday and no public holiday.
func (m Moment) WorkingDay() bool {
	const saturday = 5
	return mondayFirst(m.Date.Weekday()) < saturday && !m.clock.calendar().PublicHoliday(m.Date)
}

// Light says how light it is outdoors.
type Light uint8

// Daylight while any of the sun is up, Twilight until it is 6° down (civil
// twilight), then Dark.
const (
	Dark Light = iota
	Twilight
	Daylight
)

// String gives the light in words.
func (l Light) String() string {
	switch l {
	case Daylight:
		return "daylight"
	case Twilight:
		return "twilight"
	}
	return "dark"
}

// Light gives how light it is at the moment, by the sun's height there.
func (m Moment) Light() Light {
	lat, lon := m.clock.position()
	switch down := depression(-sunElevation(m.Time, lat, lon)); {
	case down <= Horizon:
		return Daylight
	case down <= civilTwilight:
		return Twilight
	}
	return Dark
}

// Sun gives when the sun crosses a depression on a civil day; see
// sunCrossings.
func (c *Clock) Sun(d Date, below depression) (rise, set time.Time, err error) {
	lat, lon := c.position()
	rise, set, err = sunCrossings(c.noon(d), lat, lon, below)
	if err != nil {
		return rise, set, err
	}
	return rise.In(c.location()), set.In(c.location()), nil
}

func (c *Clock) noon(d Date) time.Time {
	year, month, day := d.civil()
	return time.Date(year, month, day, 12, 0, 0, 0, c.location())
}

// events gives the wall-clock minutes of the sun's events. A sun that never
// sets makes the whole day lie between its rise and set; one that never rises
// makes both noon, with nothing between.
func (c *Clock) events(d Date) eventMinutes {
	var m eventMinutes
	m[sunrise], m[sunset] = c.eventPair(d, Horizon)
	m[dawn], m[dusk] = c.eventPair(d, civilTwilight)
	return m
}

func (c *Clock) eventPair(d Date, below depression) (up, down int) {
	rise, set, err := c.Sun(d, below)
	switch {
	case errors.Is(err, errNeverRises):
		return minutesPerDay / 2, minutesPerDay / 2
	case err != nil:
		return 0, minutesPerDay
	}
	return c.wallMinute(d, rise), c.wallMinute(d, set)
}

// wallMinute counts from the day's midnight and may leave the day.
func (c *Clock) wallMinute(d Date, t time.Time) int {
	days := int(DateOf(t) - d)
	seconds := float64(t.Hour()*3600 + t.Minute()*60 + t.Second())
	return days*minutesPerDay + int(math.Round(seconds/60))
}

func (c *Clock) location() *time.Location {
	if c == nil || c.Loc == nil {
		return time.UTC
	}
	return c.Loc
}

func (c *Clock) calendar() *Calendar {
	if c == nil || c.Calendar == nil {
		return DefaultCalendar()
	}
	return c.Calendar
}

func (c *Clock) country() string {
	if c == nil {
		return ""
	}
	return c.Country
}

func (c *Clock) weather() Weather {
	if c == nil {
		return Weather{}
	}
	return c.Weather
}

func (c *Clock) position() (lat, lon float64) {
	if c == nil {
		return 0, 0
	}
	return c.Lat, c.Lon
}
