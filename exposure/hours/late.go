package hours

// latest is the number of steps of later hours that are known.
const latest = 2

// lateness is how late the day of a country runs, by ISO 3166-1 code: 1 an hour later
// from noon on, 2 two hours. In Spain the main meal is taken about 14:30 and dinner
// about 21:30, in Italy, Greece and Portugal an hour before, in the north two hours or
// more before (Harmonised European Time Use Surveys, from memory); how much of a
// street's life follows is our assumption.
var lateness = map[string]int{"ES": 2, "AD": 2, "IT": 1, "GR": 1, "PT": 1, "MT": 1, "CY": 1, "HR": 1, "AR": 2, "CL": 1, "UY": 2}

// keepsHours are the activities that follow people's meals and evenings. Traffic,
// schools, markets, building sites and bells keep their own.
var keepsHours = map[Activity]bool{Dogs: true, People: true, Bicycles: true, Playground: true, SkateSpot: true, DogPark: true,
	Cafe: true, Pitch: true, Beach: true, Shops: true}

// The hours between which the day is drawn out: mornings are alike, evenings are late.
const (
	drawnFrom = 10.0
	drawnTo   = 15.0
	dayEnds   = 26.0 // two at night
)

// shiftLater fills in the later profiles of an activity.
func (s *Shape) shiftLater(a Activity) {
	for step := range latest {
		s.later[step] = [2]Profile{s.Busy, s.Free}
		if keepsHours[a] {
			s.later[step] = [2]Profile{laterBy(&s.Busy, float64(step+1)), laterBy(&s.Free, float64(step+1))}
		}
	}
}

// laterBy draws a profile's day out: what happened at hour t happens shift(t) later,
// nothing before drawnFrom, all of it from drawnTo on, less again towards the end of
// the night. Shares are moved, so that the day's total stays.
func laterBy(p *Profile, by float64) (out Profile) {
	const pieces = 60
	for hour, share := range p {
		for i := range pieces {
			t := float64(hour) + (float64(i)+.5)/pieces
			if t < 4 { // the small hours belong to the night before
				t += 24
			}
			to := positiveMod(t+by*drawnOut(t), 24)
			out[int(to)] += share / pieces
		}
	}
	return out
}

// drawnOut is the part of the shift that holds at an hour.
func drawnOut(t float64) float64 {
	const night = 22.0
	switch {
	case t <= drawnFrom || t >= dayEnds:
		return 0
	case t < drawnTo:
		return (t - drawnFrom) / (drawnTo - drawnFrom)
	case t > night:
		return (dayEnds - t) / (dayEnds - night)
	}
	return 1
}
