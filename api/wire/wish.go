package wire

import (
	"fmt"
	"time"

	"wideberth/api/wire/dogfile"
	"wideberth/exposure/hours"
	"wideberth/exposure/strain"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/reach"
)

// LatLon is a place in degrees, WGS84.
type LatLon struct {
	Lat float64 `json:"lat" minimum:"-90" maximum:"90" example:"39.75"`
	Lon float64 `json:"lon" minimum:"-180" maximum:"180" example:"-75.55"`
}

// In is the place on the plane of frame f.
func (p LatLon) In(f plane.Frame) plane.Point { return f.Forward(p.Lon, p.Lat) }

// NewLatLon is a place of frame f in degrees, not rounded.
func NewLatLon(f plane.Frame, p plane.Point) LatLon {
	lon, lat := f.Inverse(p)
	return LatLon{Lat: lat, Lon: lon}
}

// WishBody is what a client asks a plan for.
type WishBody struct {
	Shape        string       `json:"shape,omitempty" enum:"calmest,loop,there_and_back,way,longest_calm" doc:"Form of the walk; loop is loops alone. Left out: way if there is a 'to', else the calmest of any form from the door and back."`
	From         LatLon       `json:"from"`
	To           *LatLon      `json:"to,omitempty" doc:"Where a way leads."`
	Minutes      *float64     `json:"minutes,omitempty" nullable:"false" doc:"Wished duration, 5 to 180; of a way the most it may take. Left out: 30, of a way twice the quickest." example:"30"`
	MaxReactions float64      `json:"max_expected_reactions,omitempty" doc:"Of the longest calm walk: what it may cost."`
	Depart       string       `json:"depart,omitempty" doc:"RFC 3339 with its zone; left out: now." example:"2026-11-25T07:10:00-05:00"`
	Dog          dogfile.File `json:"dog,omitempty,omitzero" doc:"The dog and its distances; left out: the stated defaults."`
	DogID        string       `json:"dog_id,omitempty" maxLength:"80" doc:"A kept dog, in place of dog."`
	Limits       LimitsBody   `json:"limits,omitempty,omitzero"`
	Walks        int          `json:"walks,omitempty" minimum:"0" maximum:"5" doc:"How many clearly different ones; left out: three."`
	Weather      *WeatherBody `json:"weather,omitempty" doc:"As somebody says it is: nobody is asked for it. Left out: as usual in the season."`
	Strain       string       `json:"strain,omitempty" enum:"none,usual,strict" doc:"What moving traffic, its noise, wide crossings and the dark count beside expected reactions: nothing, their usual price, or three times that. Left out: usual."`
	SoftGround   bool         `json:"soft_ground,omitempty" doc:"Rather on grass, earth and wood."`
	Away         bool         `json:"away,omitempty" doc:"Where nobody knows dog and handler: ground with rules of its own (works, schools, cemeteries) is kept off, service roads have a price."`
	Stacking     bool         `json:"stacking,omitempty" doc:"Also report expected reactions when arousal builds up."`
}

// Wish turns what was sent into what a planner understands; the dog, the departure and
// what is known of both are left to be filled in.
func (b *WishBody) Wish(f plane.Frame) routing.Wish {
	w := routing.Wish{
		Shape: b.shape(), From: b.From.In(f), MaxX: b.MaxReactions, Walks: b.Walks, Stacking: b.Stacking,
		Strain: strain.Setting(b.Strain), Soft: b.SoftGround, Away: b.Away, Limits: b.Limits.limits(f), Weather: b.Weather.Weather(),
	}
	if b.To != nil {
		to := b.To.In(f)
		w.To = &to
	}
	switch {
	case b.Minutes != nil:
		w.Minutes = *b.Minutes
	case w.Shape == routing.Calmest || w.Shape == routing.Loop || w.Shape == routing.ThereAndBack:
		w.Minutes = usualMinutes
	}
	return w
}

// ParseTime reads a time that somebody wrote, now where it is left out. The fault is
// told under pointer.
func ParseTime(pointer, text string, now time.Time, zone *time.Location) (time.Time, error) {
	if text == "" {
		return now.In(zone), nil
	}
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return t, fault.One(pointer, fmt.Sprintf("%q", text), "give a time with its zone, like 2026-11-25T07:10:00-05:00")
	}
	if t.Before(now.AddDate(-longPastYears, 0, 0)) {
		return t, fault.One(pointer, fmt.Sprintf("%q", text), fmt.Sprintf("is long past: give a time of the last %d years, or one to come", longPastYears))
	}
	return t.In(zone), nil
}

// longPastYears is how far back somebody may look at what a walk would have brought: a
// plan that was kept is told again by its own hour.
const longPastYears = 5

// shape is the one asked for, or what follows where none is named.
func (b *WishBody) shape() routing.Shape {
	switch {
	case b.Shape != "":
		return routing.Shape(b.Shape)
	case b.To != nil:
		return routing.Way
	}
	return routing.Calmest
}

// WeatherBody is the weather of the walk, as somebody says it.
type WeatherBody struct {
	TemperatureC *float64 `json:"temperature_c,omitempty" minimum:"-60" maximum:"60" doc:"Highest temperature of the day in degrees Celsius." example:"24"`
	Feel         string   `json:"feel,omitempty" enum:"hot,cold" doc:"For the season, where no temperature is given: taken as seven degrees off the usual."`
	Rain         string   `json:"rain,omitempty" enum:"none,light,heavy" doc:"Light from one millimetre in a day, heavy from ten." example:"light"`
}

// problems says what is wrong with the weather, under pointer.
func (b *WeatherBody) problems(pointer string) (wrong fault.Problems) {
	if b == nil {
		return nil
	}
	if t := b.TemperatureC; t != nil && !(*t >= hours.ColdestC && *t <= hours.HottestC) {
		wrong = append(wrong, fault.Problem{Pointer: pointer + "/temperature_c", Value: fault.Number(*t), Mend: "give the day's highest temperature in degrees Celsius, -60 to 60"})
	}
	if b.Feel != "" && b.Feel != "hot" && b.Feel != "cold" {
		wrong = append(wrong, fault.Problem{Pointer: pointer + "/feel", Value: b.Feel, Mend: "give hot or cold, or leave it out"})
	}
	if b.Rain != "" && b.Rain != "none" && b.Rain != "light" && b.Rain != "heavy" {
		wrong = append(wrong, fault.Problem{Pointer: pointer + "/rain", Value: b.Rain, Mend: "give none, light or heavy, or leave it out"})
	}
	return wrong
}

// Weather is what a planner understands; nothing said is the zero value.
func (b *WeatherBody) Weather() (w hours.Weather) {
	if b == nil {
		return w
	}
	if b.TemperatureC != nil {
		w.TmaxC, w.HasTmax = *b.TemperatureC, true
	}
	w.Feel = map[string]hours.Feel{"hot": hours.Hot, "cold": hours.Cold}[b.Feel]
	w.Rain = map[string]hours.Rain{"none": hours.NoRain, "light": hours.LightRain, "heavy": hours.HeavyRain}[b.Rain]
	return w
}

// LimitsBody is what a handler will not have.
type LimitsBody struct {
	NoSteps          bool       `json:"no_steps,omitempty"`
	LitOnly          bool       `json:"lit_only,omitempty" doc:"Only ways tagged as lit, while the sun is down."`
	PavedOnly        bool       `json:"paved_only,omitempty"`
	OffRoads         bool       `json:"off_roads,omitempty" doc:"No main road without a pavement."`
	CrossAtCrossings bool       `json:"cross_at_crossings,omitempty" doc:"Cross roads of four lanes and more only at mapped crossings and signals."`
	AnyGround        bool       `json:"any_ground,omitempty" doc:"Private drives, ways through buildings and the aisles of car parks too."`
	NeverNearer      []KeepBody `json:"never_nearer,omitempty" maxItems:"20"`
	AvoidWays        []string   `json:"avoid_ways,omitempty" maxItems:"50" doc:"Street names not to walk."`
	Avoid            []Circle   `json:"avoid,omitempty" maxItems:"20"`
	WithinM          float64    `json:"within_m,omitempty" doc:"Never farther from the start than this."`
	MaxLevelDB       float64    `json:"max_road_noise_db,omitempty" doc:"Continuous road noise, dB(A)."`
	MaxSlope         float64    `json:"max_slope,omitempty" doc:"Rise over run; needs a map imported with heights." example:"0.08"`
	InsideReaction   bool       `json:"inside_reaction_distance,omitempty" doc:"Walk inside the reaction distance of active sources all the same."`
}

// KeepBody is a distance to keep.
type KeepBody struct {
	From string  `json:"from" doc:"A sort of place (school), a kind or a category of trigger." example:"school"`
	M    float64 `json:"m" example:"60"`
}

// Circle is a place to stay away from.
type Circle struct {
	At      LatLon  `json:"at"`
	RadiusM float64 `json:"radius_m"`
}

// limits turns what was sent into what a planner understands.
func (b *LimitsBody) limits(f plane.Frame) reach.Limits {
	l := reach.Limits{
		NoSteps: b.NoSteps, LitOnly: b.LitOnly, PavedOnly: b.PavedOnly, OffRoads: b.OffRoads, CrossAtCrossings: b.CrossAtCrossings,
		AvoidWays: b.AvoidWays, WithinM: b.WithinM, MaxLevelDB: b.MaxLevelDB, MaxSlope: b.MaxSlope, InsideReaction: b.InsideReaction, AnyGround: b.AnyGround,
	}
	for _, k := range b.NeverNearer {
		l.NeverNearer = append(l.NeverNearer, reach.Keep(k))
	}
	for _, c := range b.Avoid {
		l.Avoid = append(l.Avoid, reach.Circle{At: c.At.In(f), RadiusM: c.RadiusM})
	}
	return l
}
