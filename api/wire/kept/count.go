package kept

import (
	"time"

	"wideberth/exposure"
)

// CountInput is what somebody counted by hand.
type CountInput struct {
	Key string `json:"key,omitempty" maxLength:"80" doc:"Chosen by the client: what is sent twice under one key is kept once."`
	Counted
}

// Count is a count as it is kept.
type Count struct {
	ID string `json:"id"`
	Counted
	Own     bool      `json:"own" doc:"The asker counted."`
	Created time.Time `json:"created"`
}

// Counted is what was counted at one place of a street, both directions together.
type Counted struct {
	Lat     float64   `json:"lat" minimum:"-90" maximum:"90" doc:"Where, in degrees, within 25 m of the street." example:"39.7501"`
	Lon     float64   `json:"lon" minimum:"-180" maximum:"180" example:"-75.5502"`
	Start   time.Time `json:"start" doc:"When it began, with its zone." example:"2026-11-25T07:10:00-05:00"`
	Minutes float64   `json:"minutes" minimum:"1" maximum:"1440" example:"10"`
	Dogs    *float64  `json:"dogs,omitempty" minimum:"0" doc:"Left out: not counted. So with the next three." example:"2"`
	People  *float64  `json:"people,omitempty" minimum:"0" doc:"On foot and without a dog." example:"14"`
	Wheels  *float64  `json:"wheels,omitempty" minimum:"0" doc:"Bicycles, scooters and boards." example:"3"`
	Traffic *float64  `json:"traffic,omitempty" minimum:"0" doc:"Motor vehicles." example:"41"`
}

// Model is the count as the levels are bound by.
func (c *Counted) Model() exposure.Count { return exposure.Count(*c) }
