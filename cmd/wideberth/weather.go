package main

import (
	"strconv"

	"wideberth/exposure/hours"
)

// weatherFlags are what somebody may say of the weather.
type weatherFlags struct {
	Temperature *float64 `placeholder:"CELSIUS" help:"Highest temperature of the day, as you say it is; left out: as usual in the season."`
	Feel        string   `enum:",hot,cold" default:"" placeholder:"hot|cold" help:"How warm it is for the season, where no temperature is given."`
	Rain        string   `enum:",none,light,heavy" default:"" placeholder:"none|light|heavy" help:"Rain, as you say it is: light from one millimetre in a day, heavy from ten; left out: as usual."`
}

func (f *weatherFlags) weather() (w hours.Weather) {
	if f.Temperature != nil {
		w.TmaxC, w.HasTmax = *f.Temperature, true
	}
	w.Feel = map[string]hours.Feel{"hot": hours.Hot, "cold": hours.Cold}[f.Feel]
	w.Rain = map[string]hours.Rain{"none": hours.NoRain, "light": hours.LightRain, "heavy": hours.HeavyRain}[f.Rain]
	return w
}

// checkWeather refuses temperatures that no place on earth has.
func (f *weatherFlags) checkWeather() error {
	if t := f.Temperature; t != nil && !(*t >= hours.ColdestC && *t <= hours.HottestC) {
		return wrong("temperature", strconv.FormatFloat(*t, 'g', -1, 64), "give the day's highest temperature in degrees Celsius, -60 to 60")
	}
	return nil
}
