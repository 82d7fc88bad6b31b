package exposure

import (
	"math"
	"slices"

	"wideberth/exposure/hours"
)

// patternActivity is the activity whose hours a pattern follows.
var patternActivity = [PatternCount]hours.Activity{DogWalks: hours.Dogs, WalkingTrips: hours.People,
	SchoolTrips: hours.SchoolTrips, WheelTrips: hours.Bicycles, CarTraffic: hours.Cars,
	HeavyTraffic: hours.Cars, TrainTraffic: hours.Trains, GardenDogs: hours.Dogs}

// openFloor is the least activity, as a share of the busiest hour's, of a place
// that is tagged as open. Our assumption.
const openFloor = 0.3

// busiest is the share of the day in the busiest hour of a busy day, by activity.
var busiest = func() []float64 {
	out := make([]float64, len(hours.Activities()))
	for i, a := range hours.Activities() {
		for _, s := range hours.ShapeOf(a).Busy {
			out[i] = max(out[i], s)
		}
	}
	return out
}()

// DayPart is a part of the day, for factors learnt from logs.
type DayPart uint8

// The parts of the day.
const (
	Morning DayPart = iota // 05:00 to 10:00
	Midday                 // 10:00 to 16:00
	Evening                // 16:00 to 21:00
	Night                  // 21:00 to 05:00
	DayPartCount
)

var dayPartNames = [DayPartCount]string{"morning", "midday", "evening", "night"}

// String is the name of the part of the day, like "morning".
func (p DayPart) String() string { return dayPartNames[min(p, DayPartCount-1)] }

// PartOf is the part of the day that an hour, 0 to 23, belongs to.
func PartOf(hour int) DayPart {
	switch {
	case hour < 5 || hour >= 21:
		return Night
	case hour < 10:
		return Morning
	case hour < 16:
		return Midday
	}
	return Evening
}

// Factor multiplies a rate by what walks on the ground taught: its mean, and the
// Gamma shape of the doubt that is left. The zero value is nothing learnt.
type Factor struct{ Mean, Shape float64 }

// Cell is what a factor is learnt for.
type Cell struct {
	Kind  Kind
	Place PlaceKind
	Part  DayPart
}

// ParseCell finds a cell by the names of its parts; false if one is no longer in
// use.
func ParseCell(kind, place, part string) (Cell, bool) {
	k, err := ParseKind(kind)
	p, d := slices.Index(placeNames[:], place), slices.Index(dayPartNames[:], part)
	return Cell{k, PlaceKind(max(0, p)), DayPart(max(0, d))}, err == nil && p >= 0 && d >= 0
}

// Factors are learnt from logs and reports. Nil is nothing learnt. Not changed
// while in use.
type Factors struct {
	Walks int // that Cells rest on
	Cells map[Cell]Factor
	There map[int32]float64 // probability that a source exists at all, for those that people spoke of; others are taken as there
}

// of gives the mean and shape for a cell; shape 0 where nothing is learnt.
func (fa *Factors) of(k Kind, p PlaceKind, part DayPart) Factor {
	if fa == nil {
		return Factor{Mean: 1}
	}
	if f, ok := fa.Cells[Cell{k, p, part}]; ok && f.Shape > 0 {
		return f
	}
	return Factor{Mean: 1}
}

// exists is the probability that a source is there at all. It goes with the
// chance of meeting somebody, not with the number present: half a school is as
// good as a whole one, a school that is there in one case of two is not.
func (fa *Factors) exists(i int32) float64 {
	if fa == nil {
		return 1
	}
	if x, ok := fa.There[i]; ok {
		return x
	}
	return 1
}

// tempo is how busy everything is at one moment.
type tempo struct {
	moment hours.Moment
	perDay []float64 // by activity: share of a busy day in this hour, in its season
	season *hours.Season
	part   DayPart
}

func tempoAt(m hours.Moment) *tempo {
	t := &tempo{moment: m, perDay: make([]float64, len(busiest)), part: PartOf(m.Hour()), season: m.Season()}
	for a := range t.perDay {
		t.perDay[a] = hours.ShapeOf(hours.Activity(a)).At(m) * t.season.People[a]
	}
	return t
}

// at is the tempo of a moment, made from that of another where both lie in one hour.
func (t *tempo) at(m hours.Moment) *tempo {
	if t == nil || t.moment.Date != m.Date || t.moment.Hour() != m.Hour() {
		return tempoAt(m)
	}
	now := *t
	now.moment = m
	return &now
}

// flow is the part of a day's flow that comes in this hour, anywhere.
func (t *tempo) flow(p Pattern) float64 { return t.perDay[patternActivity[p]] }

// visitorPart is the part of the walkers where many stay the night that are visitors,
// over the year; our assumption.
const visitorPart = 0.5

// here is what flow is multiplied by for a kind at a kind of place; visitors says that
// many who walk there stay the night.
func (t *tempo) here(k Kind, p Pattern, place PlaceKind, visitors bool) float64 {
	if p != WalkingTrips {
		return 1
	}
	f := 1.0
	switch {
	case k == Runner:
		f = t.season.Runners
	case place == PlacePark || place == PlaceWoods:
		f = t.season.Parks
	}
	if visitors {
		f *= 1 + visitorPart*(t.season.Visitors-1)
	}
	return f
}

// doubt widens a Gamma shape by what is not known of the season, the light and the
// weather of an activity: variances of logarithms add.
func (t *tempo) doubt(shape float64, a hours.Activity) float64 {
	return 1 / (1/shape + t.season.Doubt[a])
}

// level is a source's activity at the moment, 1 in the busiest hour of a busy
// day. Opening hours that say closed make it 0.
func (f *Field) level(t *tempo, source int32) float64 {
	s := f.Source(source)
	level := t.perDay[s.Activity] / busiest[s.Activity]
	o := f.openings(source)
	if o == nil {
		return level
	}
	switch o.At(t.moment) {
	case hours.Closed:
		return 0
	case hours.Open:
		return max(level, openFloor*min(1, t.season.People[s.Activity]))
	}
	return level
}

// present is the expected number of a kind at a source at the moment.
func (f *Field) present(t *tempo, source int32, p Presence) float64 {
	return float64(p.Present) * f.level(t, source)
}

// eventsPerS is the rate (1/s) of a source's sound events at the moment.
func (f *Field) eventsPerS(t *tempo, source int32, p Presence) float64 {
	s := f.Source(source)
	return float64(p.PerDay) * t.perDay[s.Activity] / 3600
}

// atLeastOne is the chance that at least one is there where n are expected,
// p = 1 - exp(-n), for independent comings and goings (Poisson).
func atLeastOne(n float64) float64 { return -math.Expm1(-n) }

// Active is the probability that some trigger the dog reacts to is at a source
// at the moment; sounds in events count as the chance of one within a minute.
func (f *Field) Active(source int32, d *Dog, m hours.Moment, fa *Factors) float64 {
	t := tempoAt(m)
	n := 0.0
	for _, p := range f.Source(source).Mix {
		if d.Need(p.Kind).WorkingM == 0 {
			continue
		}
		n += f.present(t, source, p) + 60*f.eventsPerS(t, source, p)
	}
	return fa.exists(source) * f.inUse(t, source) * atLeastOne(n)
}

// inUse is the probability that a source of its sort is in use at all in the season
// and weather: most terraces are shut in winter, whatever their size.
func (f *Field) inUse(t *tempo, source int32) float64 {
	return t.season.Open[f.Source(source).Activity]
}

// NeedAt is the dog's need with the largest reaction distance among the kinds at
// a source; the zero Need where it reacts to none of them.
func (f *Field) NeedAt(source int32, d *Dog) Need {
	var most Need
	for _, p := range f.Source(source).Mix {
		if n := d.Need(p.Kind); n.ReactionM > most.ReactionM {
			most = n
		}
	}
	return most
}

// stillActivity is the activity of kinds that no pattern carries.
var stillActivity = map[Kind]hours.Activity{ChildrenNoise: hours.Playground,
	Construction: hours.Construction, Bells: hours.ChurchBells, Siren: hours.Cars}

// ActivityOf is the activity whose hours a kind follows where nothing else is
// known: that of the pattern that carries most of it.
func ActivityOf(k Kind) hours.Activity {
	if a, ok := stillActivity[k]; ok {
		return a
	}
	best, part := hours.People, 0.0
	for i := range shares {
		if s := &shares[i]; s.kind == k && s.part > part {
			best, part = patternActivity[s.pattern], s.part
		}
	}
	return best
}
