package hours

import (
	"errors"
	"math"
	"time"
)

// depression is how far the sun's centre stands below the horizon, in degrees.
type depression float64

// Depressions in use. 0.833 is 34' of refraction and 16' of the sun's radius,
// the 90°50' zenith of the almanacs; 6 is civil twilight (US Naval
// Observatory, Almanac for Computers, 1990).
const (
	Horizon       depression = 50.0 / 60
	civilTwilight depression = 6
)

// The sun stays on one side of the asked depression all day.
var (
	errNeverRises = errors.New("the sun never rises that day")
	errNeverSets  = errors.New("the sun never sets that day")
)

// sunPosition gives declination (degrees, -23.5 to 23.5) and the equation of
// time (minutes by which true noon comes before mean noon, -15 to 17).
//
// Meeus, Astronomical Algorithms (2nd ed. 1998), ch. 25 and 28, in the form of
// NOAA's solar calculation spreadsheet, whose stated error is under a minute
// between 72° N and S for 1800 to 2100. T is the time in Julian centuries from
// 2000-01-01 12:00; L the mean longitude, M the mean anomaly, e the orbit's
// eccentricity, lambda the apparent longitude, eps the obliquity.
func sunPosition(t time.Time) (declinationDeg, equationMin float64) {
	const julianUnixEpoch, j2000, daysPerCentury = 2440587.5, 2451545.0, 36525
	julian := float64(t.Unix())/86400 + julianUnixEpoch
	T := (julian - j2000) / daysPerCentury
	L := math.Mod(280.46646+T*(36000.76983+T*0.0003032), 360)
	M := 357.52911 + T*(35999.05029-0.0001537*T)
	e := 0.016708634 - T*(0.000042037+0.0000001267*T)
	centre := sinDeg(M)*(1.914602-T*(0.004817+0.000014*T)) +
		sinDeg(2*M)*(0.019993-0.000101*T) + sinDeg(3*M)*0.000289
	node := 125.04 - 1934.136*T
	lambda := L + centre - 0.00569 - 0.00478*sinDeg(node)
	eps := 23 + (26+(21.448-T*(46.815+T*(0.00059-T*0.001813)))/60)/60 + 0.00256*cosDeg(node)
	y := math.Tan(radians(eps/2)) * math.Tan(radians(eps/2))
	equation := y*sinDeg(2*L) - 2*e*sinDeg(M) + 4*e*y*sinDeg(M)*cosDeg(2*L) -
		y*y/2*sinDeg(4*L) - 5*e*e/4*sinDeg(2*M)
	const minutesPerDegree = 4
	return degrees(math.Asin(sinDeg(eps) * sinDeg(lambda))), minutesPerDegree * degrees(equation)
}

// sunElevation gives the height of the sun's centre above the horizon in
// degrees, -90 to 90, without refraction.
func sunElevation(t time.Time, latDeg, lonDeg float64) float64 {
	declination, equation := sunPosition(t)
	hourAngle := trueSolarMinutes(t, lonDeg, equation)/4 - 180
	return degrees(math.Asin(clampUnit(sinDeg(latDeg)*sinDeg(declination) +
		cosDeg(latDeg)*cosDeg(declination)*cosDeg(hourAngle))))
}

// trueSolarMinutes is the minute of the sundial's day, 720 at noon.
func trueSolarMinutes(t time.Time, lonDeg, equationMin float64) float64 {
	utc := t.UTC()
	minutes := float64(utc.Hour()*60+utc.Minute()) + float64(utc.Second())/60
	return positiveMod(minutes+equationMin+4*lonDeg, minutesPerDay)
}

// sunCrossings gives when the sun rises above and sinks below a depression on
// the solar day whose noon is nearest to the instant given: pass the place's
// civil noon. If it does not cross that day the error is errNeverRises or
// errNeverSets. Latitude -90 to 90, longitude -180 to 180.
//
// cos H = (-sin(depression) - sin(lat) sin(dec)) / (cos(lat) cos(dec)); the
// crossings lie H / (15 degrees per hour) from noon. Refined with the sun's
// place at the crossing itself.
func sunCrossings(noon time.Time, latDeg, lonDeg float64, below depression) (rise, set time.Time, err error) {
	transit := noon
	for range 2 {
		_, equation := sunPosition(transit)
		off := trueSolarMinutes(transit, lonDeg, equation) - minutesPerDay/2
		transit = transit.Add(-fromMinutes(off))
	}
	if rise, err = crossing(transit, -1, latDeg, below); err != nil {
		return rise, set, err
	}
	set, err = crossing(transit, 1, latDeg, below)
	return rise, set, err
}

func crossing(transit time.Time, side, latDeg float64, below depression) (time.Time, error) {
	_, atTransit := sunPosition(transit)
	t := transit
	const refinements = 3 // the second moves the crossing by seconds
	for range refinements {
		declination, equation := sunPosition(t)
		cosine := (-sinDeg(float64(below)) - sinDeg(latDeg)*sinDeg(declination)) /
			(cosDeg(latDeg) * cosDeg(declination))
		switch {
		case cosine > 1:
			return time.Time{}, errNeverRises
		case cosine < -1:
			return time.Time{}, errNeverSets
		}
		const minutesPerDegree = 4
		minutes := side*minutesPerDegree*degrees(math.Acos(cosine)) - (equation - atTransit)
		t = transit.Add(fromMinutes(minutes))
	}
	return t, nil
}

func fromMinutes(m float64) time.Duration { return time.Duration(m * float64(time.Minute)) }

func positiveMod(x, m float64) float64 { return x - m*math.Floor(x/m) }

func clampUnit(x float64) float64 { return min(max(x, -1), 1) }

func radians(deg float64) float64 { return deg * math.Pi / 180 }
func degrees(rad float64) float64 { return rad * 180 / math.Pi }
func sinDeg(deg float64) float64  { return math.Sin(radians(deg)) }
func cosDeg(deg float64) float64  { return math.Cos(radians(deg)) }
