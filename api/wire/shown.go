package wire

// HandOutBody asks for a walk on paper.
type HandOutBody struct {
	Shown
	Walk   int         `json:"walk,omitempty" minimum:"0" maximum:"4" doc:"Which walk of the plan, counted from 0."`
	Paper  string      `json:"paper,omitempty" enum:"a4,letter" doc:"Left out: A4."`
	Units  string      `json:"units,omitempty" enum:"metric,us"`
	From   string      `json:"from,omitempty" maxLength:"200" doc:"What the start is called; left out: its street."`
	Driver string      `json:"driver,omitempty" enum:"fear,frustration,excitement" doc:"What drives the dog, for the advice only."`
	Calmer *CalmerHour `json:"calmer,omitempty" doc:"An hour with calmer walks, as a week told it; printed beside the answer."`
}

// CalmerHour is an hour of a week as it was told.
type CalmerHour struct {
	Depart     string  `json:"depart" doc:"RFC 3339." example:"2026-11-25T21:00:00-05:00"`
	CalmChance float64 `json:"calm_chance" minimum:"0" maximum:"1"`
}

// PictureBody asks for the picture of a walk.
type PictureBody struct {
	Shown
	Walk     int     `json:"walk,omitempty" minimum:"0" maximum:"4" doc:"Which walk of the plan, counted from 0."`
	What     string  `json:"what,omitempty" enum:"map,strip" doc:"The map, or the walk unrolled; left out: the map."`
	Theme    string  `json:"theme,omitempty" enum:"light,dark,print"`
	Units    string  `json:"units,omitempty" enum:"metric,us"`
	WidthPX  float64 `json:"width_px,omitempty" minimum:"100" maximum:"3000" doc:"CSS pixels; left out: 800."`
	HeightPX float64 `json:"height_px,omitempty" minimum:"100" maximum:"3000" doc:"CSS pixels; left out: 600."`
	Wider    float64 `json:"wider,omitempty" minimum:"0.1" maximum:"20" doc:"How much more ground than the walk needs."`
}
