package routing_test

import (
	"context"
	"errors"
	"slices"
	"sync"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata/fault"
	"wideberth/routing"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// suburb is Berlin-Adlershof, where seasons are those that were counted. Map data ©
// OpenStreetMap contributors (ODbL 1.0).
var suburb = sync.OnceValues(func() (*snapshot.Snapshot, error) {
	return snapshot.Import(context.Background(), "../testdata/counts/adlershof.osm.pbf", snapshot.ImportOptions{})
})

func inSuburb(t *testing.T) (*routing.Planner, routing.Wish) {
	t.Helper()
	snap, err := suburb()
	if err != nil {
		t.Fatal(err)
	}
	p := plantest.On(t, snap)
	at := time.Date(2026, 7, 15, 17, 30, 0, 0, p.Zone())
	return p, routing.Wish{Shape: routing.ThereAndBack, From: p.Frame().Forward(13.5405, 52.4335), Minutes: 20, Walks: 1, Depart: at,
		Dog: exposure.Dog{ByCategory: map[exposure.Category]exposure.Need{exposure.Wheels: {WorkingM: 20, ReactionM: 8}}}}
}

// The map's country is found without being named, and its calendar is that of the
// country: on the third of October nobody works there.
func TestCountryOfTheMap(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	p, _ := inSuburb(t)
	if c := p.Snapshot().Country; c != "DE" {
		t.Errorf("country %q, want DE", c)
	}
	if p.Clock().At(time.Date(2028, 10, 3, 12, 0, 0, 0, p.Zone())).WorkingDay() {
		t.Error("3 October is a working day")
	}
	if town := plantest.Town(t); town.Snapshot().Country != "" {
		t.Errorf("the invented town lies in %q", town.Snapshot().Country)
	}
}

// A dog that chases bicycles meets at most half in January of what it meets in July on
// the same way, and in the rain less than on a dry day; in the dark of a winter
// evening less than by daylight at the same place.
func TestBicycleChaserThroughTheYear(t *testing.T) {
	p, w := inSuburb(t)
	plan, err := p.Plan(t.Context(), w)
	if err != nil {
		t.Fatal(err)
	}
	given := []routing.Given{plan.Walks[0].Given()}
	x := func(month time.Month, hour int, weather hours.Weather) float64 {
		v := w
		v.Depart, v.Weather = time.Date(2026, month, 15, hour, 30, 0, 0, p.Zone()), weather
		told, err := p.Tell(t.Context(), v, given)
		if err != nil {
			t.Fatal(err)
		}
		return told.Walks[0].ExpectedReactions
	}
	july := x(7, 12, hours.Weather{})
	if jan := x(1, 12, hours.Weather{}); !(jan > 0 && jan <= july/2) {
		t.Errorf("%.3f expected reactions in January, %.3f in July", jan, july)
	}
	dry, wet := x(7, 12, hours.Weather{Rain: hours.NoRain}), x(7, 12, hours.Weather{Rain: hours.HeavyRain})
	cold, hot := x(4, 12, hours.Weather{Feel: hours.Cold}), x(4, 12, hours.Weather{Feel: hours.Hot})
	if !(wet < dry && dry > july) || !(cold < hot) {
		t.Errorf("dry %.3f, usual %.3f, wet %.3f; cold April %.3f, hot %.3f", dry, july, wet, cold, hot)
	}
	noon, evening := x(12, 12, hours.Weather{}), x(12, 19, hours.Weather{})
	light, late := x(6, 12, hours.Weather{}), x(6, 19, hours.Weather{})
	if evening/noon >= late/light {
		t.Errorf("December evening over noon %.2f, June %.2f: the dark takes nothing", evening/noon, late/light)
	}
}

// Weather is held to what the earth has, and what is said of it is told.
func TestWeatherOfAWish(t *testing.T) {
	p, w := inSuburb(t)
	w.Weather = hours.Weather{HasTmax: true, TmaxC: 90}
	_, err := p.Plan(t.Context(), w)
	if wrong := (fault.Problems)(nil); !errors.As(err, &wrong) || wrong[0].Pointer != "/weather/temperature_c" {
		t.Errorf("90 degrees: %v", err)
	}
	says := func(weather hours.Weather) bool {
		w.Weather = weather
		plan, err := p.Plan(t.Context(), w)
		if err != nil {
			t.Fatal(err)
		}
		return slices.ContainsFunc(plan.Assumed, func(a exposure.Assumption) bool { return a.What == routing.BasisWeather })
	}
	if says(hours.Weather{}) || !says(hours.Weather{Feel: hours.Cold}) {
		t.Error("weather is told though nobody said it, or not told though somebody did")
	}
	if q := p.Under(hours.Weather{}); q != p {
		t.Error("no weather makes another planner")
	}
}

// What levels rest on is told by what the dog minds, and a country that nobody knows.
func TestBasisOfLevels(t *testing.T) {
	p, w := inSuburb(t)
	told := func(p *routing.Planner, w routing.Wish) (out []exposure.Assumed) {
		plan, err := p.Plan(t.Context(), w)
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range plan.Assumed {
			out = append(out, a.What)
		}
		return out
	}
	here := told(p, w)
	if !slices.Contains(here, routing.BasisWheels) || slices.Contains(here, routing.BasisDogs) || slices.Contains(here, routing.BasisCountry) {
		t.Errorf("for a dog that minds wheels in Germany: %v", here)
	}
	town := plantest.Town(t)
	there := told(town, routing.Wish{Shape: routing.Loop, From: maptest.Door(town.Frame()), Minutes: 20, Walks: 1, Depart: maptest.Morning, Dog: maptest.Kessa()})
	for _, want := range []exposure.Assumed{routing.BasisDogs, routing.BasisPeople, routing.BasisWheels, routing.BasisCountry, routing.BasisSeason} {
		if !slices.Contains(there, want) {
			t.Errorf("in a country nobody knows: no %s in %v", want, there)
		}
	}
	passes, field := map[bool]int32{false: -1, true: -1}, town.Snapshot().Field
	for e := range int32(field.EdgeCount()) {
		if near := field.PassesGardens(e, 20); near == field.PassesGardens(e, exposure.BinMaxM) { // well within, or none at all
			passes[near] = e
		}
	}
	minds := exposure.Dog{ByKind: map[exposure.Kind]exposure.Need{exposure.DogBehindFence: {WorkingM: 20, ReactionM: 8}}}
	for fenced, e := range passes {
		told := slices.ContainsFunc(town.BasisAt(e, &minds), func(a exposure.Assumption) bool { return a.What == routing.BasisGardens })
		if told != fenced || town.Explain(e, &minds, maptest.Morning, nil).HazardPerS > 0 != fenced {
			t.Errorf("edge %d passes fences %t, and it is told %t", e, fenced, told)
		}
	}
	snap := *town.Snapshot()
	snap.Frame.Lat0 = 5
	tropics := told(plantest.On(t, &snap), routing.Wish{Shape: routing.Loop, From: maptest.Door(town.Frame()), Minutes: 20, Walks: 1, Depart: maptest.Morning, Dog: maptest.Kessa()})
	if !slices.Contains(tropics, routing.BasisNoSeason) || slices.Contains(tropics, routing.BasisSeason) {
		t.Errorf("in the tropics: %v", tropics)
	}
}

// A terrace in January forbids nothing where terraces are shut then; in June it does,
// at the same place and hour.
func TestShutTerracesForbidNothing(t *testing.T) {
	p, w := inSuburb(t)
	w.Dog = exposure.Dog{ByCategory: map[exposure.Category]exposure.Need{exposure.People: {WorkingM: 30, ReactionM: 15}}}
	f := p.Snapshot().Field
	terraces, forbidden := 0, map[time.Month]int{}
	for i := range int32(f.SourceCount()) {
		s := f.Source(i)
		if s.As != "outdoor_seating" || terraces == 12 {
			continue
		}
		from, err := p.Land().Place(s.At)
		if err != nil {
			continue
		}
		terraces++
		r, err := p.Land().Around(from, nil, 600)
		if err != nil {
			t.Fatal(err)
		}
		for _, month := range []time.Month{1, 6} {
			at := time.Date(2026, month, 16, 13, 0, 0, 0, p.Zone())
			c := r.Price(r.SumsFor(&w.Dog), &w.Dog, at, nil, 600)
			barred, _ := r.Bars(&reach.Limits{NeverNearer: []reach.Keep{{From: "outdoor_seating", M: 40}}, InsideReaction: true, AnyGround: true}, reach.Asker{Dog: &w.Dog}, c)
			for _, b := range barred {
				if b {
					forbidden[month]++
				}
			}
		}
	}
	if terraces == 0 || forbidden[1] > 0 || forbidden[6] == 0 {
		t.Errorf("%d terraces: %d arcs are forbidden in January, %d in June", terraces, forbidden[1], forbidden[6])
	}
}
