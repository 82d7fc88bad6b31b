package hours

import (
	"sync"
	"time"
)

// darkBelow is how deep the sun stands when it counts as dark for those who walk and
// ride: half of civil twilight.
const darkBelow depression = 3

// darkSamples is how often an hour is looked at.
const darkSamples = 6

// darkYear is the share of each hour that is dark over a year at 48.6 N, 9 E by the
// clock of Berlin: what the hour profiles have in them already. A test makes it
// anew.
var darkYear = Profile{1, 1, 1, 1, 1, .822, .565, .240, 0, 0, 0, 0, 0, 0, 0, 0, .026, .241, .372, .498, .636, .863, 1, 1}

// days keeps how dark the hours of some days are.
type days struct {
	mu sync.Mutex // guards by
	by map[Date]*Profile
}

const mostDays = 400

// dark is the share of each hour of a civil day, 0 to 1, in which the sun stands
// more than darkBelow under the horizon.
func (c *Clock) dark(d Date) *Profile {
	if c == nil {
		return (&Clock{}).darkOf(d)
	}
	c.days.mu.Lock()
	defer c.days.mu.Unlock()
	if p := c.days.by[d]; p != nil {
		return p
	}
	if c.days.by == nil || len(c.days.by) >= mostDays {
		c.days.by = map[Date]*Profile{}
	}
	p := c.darkOf(d)
	c.days.by[d] = p
	return p
}

func (c *Clock) darkOf(d Date) *Profile {
	lat, lon := c.position()
	var p Profile
	for hour := range p {
		middle := c.hourMid(d, hour)
		for i := range darkSamples {
			at := middle.Add(time.Duration((float64(i)+.5)/darkSamples*float64(time.Hour)) - 30*time.Minute)
			if depression(-sunElevation(at, lat, lon)) > darkBelow {
				p[hour] += 1. / darkSamples
			}
		}
	}
	return &p
}

// inTheDark is what is left of an activity in the hour of a moment, against an
// average year of it: 1 - loss x dark share, over the year's mean of that hour. Loss
// is the share that stays away when it is dark; from is the first hour of the day
// that it holds for.
func (m Moment) inTheDark(loss float64, from int) float64 {
	h := m.Hour()
	if loss == 0 || h < from {
		return 1
	}
	return (1 - loss*m.clock.dark(m.Date)[h]) / (1 - loss*darkYear[h])
}

// crowded is inTheDark for what is not given up in the dark but done at another hour
// of the day: the day's total over a profile stays.
func (m Moment) crowded(loss float64, p *Profile) float64 {
	if loss == 0 {
		return 1
	}
	dark, sum := m.clock.dark(m.Date), 0.0
	for h, share := range p {
		sum += share * (1 - loss*dark[h]) / (1 - loss*darkYear[h])
	}
	h := m.Hour()
	return (1 - loss*dark[h]) / (1 - loss*darkYear[h]) / sum
}
