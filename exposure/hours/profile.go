package hours

import (
	"errors"
	"fmt"
	"math"
)

// Profile holds shares of a day's activity by hour, 0 to 23, by the clock on
// the wall. Steps, not a curve: between hours nothing is interpolated.
type Profile [24]float64

// errProfile is returned for shares that cannot be made to sum to 1.
var errProfile = errors.New("profile needs finite shares, none negative, with a sum above 0")

// normalise scales the shares so that they sum to 1.
func (p Profile) normalise() (Profile, error) {
	sum := 0.0
	for hour, share := range p {
		if !(share >= 0) || math.IsInf(share, 1) {
			return Profile{}, fmt.Errorf("hour %d has share %g: %w", hour, share, errProfile)
		}
		sum += share
	}
	if !(sum > 0) || math.IsInf(sum, 1) {
		return Profile{}, fmt.Errorf("the sum is %g: %w", sum, errProfile)
	}
	for hour := range p {
		p[hour] /= sum
	}
	return p, nil
}

// Rhythm says which days are alike for an activity.
type Rhythm uint8

const (
	// WorkingWeek parts Monday to Friday from weekends and public holidays.
	WorkingWeek Rhythm = iota
	// SchoolYear parts days with school from all others.
	SchoolYear
)

// Shape is how an activity is spread over hours and days.
type Shape struct {
	Name   string
	Rhythm Rhythm
	// Busy is the profile of working days, or of school days; Free that of
	// the other days. Each sums to 1.
	Busy, Free Profile
	// FreeScale is the total of a free day over that of a busy one, which is
	// the unit; 0 where nothing happens on free days.
	FreeScale float64
	// Source says where the numbers come from; Assumed that they are ours.
	Source  string
	Assumed bool

	later [latest][2]Profile // Busy and Free where people keep later hours, by lateness less one
}

// At gives the activity per hour at a moment, as a share of a busy day's
// total: multiply a busy day's count by it for a rate per hour.
func (s *Shape) At(m Moment) float64 {
	if s.busy(m) {
		return s.profile(m)[m.Hour()]
	}
	return s.FreeScale * s.profile(m)[m.Hour()]
}

// profile is that of the kind of day, and of the hours that people of the country
// keep.
func (s *Shape) profile(m Moment) *Profile {
	late := lateness[m.clock.country()]
	switch busy := s.busy(m); {
	case late > 0 && busy:
		return &s.later[late-1][0]
	case late > 0:
		return &s.later[late-1][1]
	case busy:
		return &s.Busy
	}
	return &s.Free
}

func (s *Shape) busy(m Moment) bool {
	if s.Rhythm == SchoolYear {
		return m.Day() == SchoolDay
	}
	return m.WorkingDay()
}

// Activity names a built-in Shape.
type Activity uint8

// Activities with a built-in Shape. Schoolyard is children outdoors at breaks
// and around the bell; SchoolTrips are the ways there and back; Shops are shops and
// practices whose customers come in all weathers.
const (
	Dogs Activity = iota
	People
	SchoolTrips
	Cars
	Bicycles
	Playground
	SkateSpot
	DogPark
	Schoolyard
	Cafe
	Market
	Pitch
	Construction
	ChurchBells
	Trains
	Shops
	Beach
	activityCount
)

// ShapeOf gives the built-in shape of an activity, its profiles normalised.
// The shape is shared: do not change it. It panics for a value that is none of
// the constants.
func ShapeOf(a Activity) *Shape { return shapes[a] }

// Activities lists all with a built-in shape.
func Activities() []Activity {
	list := make([]Activity, activityCount)
	for i := range list {
		list[i] = Activity(i)
	}
	return list
}

var shapes = loadShapes()

func loadShapes() [activityCount]*Shape {
	var out [activityCount]*Shape
	for a, s := range rawShapes {
		s.Busy, s.Free = mustNormalise(s.Name, s.Busy), mustNormalise(s.Name, s.Free)
		s.shiftLater(Activity(a))
		out[a] = &s
	}
	return out
}

// mustNormalise is for the built-in table only, which a test holds right.
func mustNormalise(name string, p Profile) Profile {
	p, err := p.normalise()
	if err != nil {
		panic(name + ": " + err.Error())
	}
	return p
}
