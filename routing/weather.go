package routing

import (
	"wideberth/exposure/hours"
	"wideberth/osmdata/fault"
)

// Under is a planner that takes the weather as it was said. It shares everything else
// with p.
func (p *Planner) Under(w hours.Weather) *Planner {
	if w == p.land.Clock.Weather {
		return p
	}
	land := *p.land
	land.Clock = p.land.Clock.Under(w)
	return p.on(&land)
}

// checkWeather refuses temperatures that no place on earth has.
func checkWeather(w hours.Weather) (wrong fault.Problems) {
	if w.HasTmax && !(w.TmaxC >= hours.ColdestC && w.TmaxC <= hours.HottestC) {
		wrong = append(wrong, fault.Problem{Pointer: "/weather/temperature_c", Value: fault.Number(w.TmaxC), Mend: "give the day's highest temperature in degrees Celsius, -60 to 60"})
	}
	return wrong
}
