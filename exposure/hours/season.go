package hours

import (
	"math"
	"sync"
)

// Season is what the time of year, the light and the weather do to activities in the
// hour of a moment, as factors on Shape.At; the zero value is not usable, Moment.Season
// makes it. All are 1 where months are alike, the hour is as light as on average and
// nobody said anything of the weather.
type Season struct {
	People   [activityCount]float64 // factor on the number of people, vehicles or events
	Open     [activityCount]float64 // share of such places that are in use at all
	Parks    float64                // further factor on people in parks and woods
	Runners  float64                // further factor on runners
	InLeaf   bool                   // trees that shed their leaves have them
	Visitors float64                // people who stay the night, over the year's mean
	Doubt    [activityCount]float64 // variance of the logarithm of the factor, beside that of the level
}

// What is not known of a factor, as a standard deviation of its logarithm. One day of
// bicycles lies 0.25 about its month and weather, a single counter's winter 0.2 about
// the table (both counted); what we assume may be half of its logarithm off.
const (
	bicycleDaySD   = 0.25
	weatherUnknown = 0.2
	assumedPart    = 0.5
)

// Season gives the factors of a moment, which are those of its hour. A clock without a
// position has no seasons and no light: all are 1, unless something was said of the
// weather. What comes back is shared: do not change it.
func (m Moment) Season() *Season {
	if m.clock == nil {
		return m.season()
	}
	return m.clock.seasons.of(m)
}

// seasons keeps the factors of hours, as a plan asks for the same few again and again. It
// forgets all where it would hold more than mostHours.
type seasons struct {
	mu sync.Mutex // guards by
	by map[hourOf]*Season
}

type hourOf struct {
	date Date
	hour int
}

const mostHours = 60 * 24

func (k *seasons) of(m Moment) *Season {
	at := hourOf{m.Date, m.Hour()}
	k.mu.Lock()
	defer k.mu.Unlock()
	if s := k.by[at]; s != nil {
		return s
	}
	if k.by == nil || len(k.by) >= mostHours {
		k.by = map[hourOf]*Season{}
	}
	s := m.season()
	k.by[at] = s
	return s
}

func (m Moment) season() *Season {
	s := &Season{Parks: 1, Runners: 1, Visitors: 1}
	for a := range s.People {
		s.People[a], s.Open[a] = 1, 1
	}
	lat, lon := m.clock.position()
	if lat == 0 && lon == 0 && !m.clock.weather().Said() {
		return s
	}
	s.InLeaf = m.InLeaf()
	s.Visitors = m.visitorMonth()
	for a, o := range outdoorsOf {
		p := shapes[a].profile(m)
		s.People[a], s.Open[a] = o.factor(m, p)
		if o.assumed {
			off := assumedPart * math.Log(max(1e-3, s.People[a]*s.Open[a]))
			s.Doubt[a] = off * off
		}
	}
	s.People[Bicycles] = m.bicycles()
	if seasonStrength(lat) > 0 {
		s.Doubt[Bicycles] = bicycleDaySD * bicycleDaySD
		if !m.clock.weather().Said() {
			s.Doubt[Bicycles] += weatherUnknown * weatherUnknown
		}
	}
	p := shapes[People].profile(m)
	inParks, _ := parks.factor(m, p)
	running, _ := runners.factor(m, p)
	s.Parks, s.Runners = inParks/s.People[People], running/s.People[People]
	return s
}

// HasSeasons tells whether seasons are known at a latitude in degrees: in the tropics
// none is, since rain makes them there.
func HasSeasons(lat float64) bool { return seasonStrength(lat) > 0 }
