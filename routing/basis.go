package routing

import (
	"math"
	"slices"

	"wideberth/exposure"
	"wideberth/exposure/hours"
)

// What levels rest on, told by category of trigger that the dog reacts to. Numbers as
// said.
const (
	BasisDogs       exposure.Assumed = "basis_dogs"    // so many in 100 households have one; never counted
	BasisPeople     exposure.Assumed = "basis_people"  // counted elsewhere, off by a factor of so much
	BasisWheels     exposure.Assumed = "basis_wheels"  // the same
	BasisTraffic    exposure.Assumed = "basis_traffic" // the same
	BasisGardens    exposure.Assumed = "basis_gardens" // so many hours of a day the dog of a home behind a fence is out
	BasisHere       exposure.Assumed = "basis_here"    // Of a category: counted on so much of the walk, a share
	BasisBorder     exposure.Assumed = "basis_border"  // most wheels and motors begin beyond the map's border
	BasisPlaces     exposure.Assumed = "basis_places"  // so many people by settlements, so many at homes
	BasisCountry    exposure.Assumed = "basis_country" // no figures for this country
	BasisSeason     exposure.Assumed = "basis_season"  // season as counted at 48 N, carried over
	BasisNoSeason   exposure.Assumed = "basis_no_season"
	BasisWeather    exposure.Assumed = "basis_weather" // weather as it was said
	basisCut                         = 0.5             // share of a walk near the border from which on it is said
	basisOff                         = 1.5             // factor between people and homes from which on it is said
	basisGardensOn                   = 0.1             // share of a walk past such fences from which on it is said
	basisCountedOn                   = 0.1             // share of a walk that was counted, from which on it is said
	basisCountedAll                  = 0.9             // and from which on nothing else is
)

// basisOf names what the levels of a category rest on.
var basisOf = map[exposure.Category]exposure.Assumed{exposure.Dogs: BasisDogs, exposure.People: BasisPeople,
	exposure.Wheels: BasisWheels, exposure.Traffic: BasisTraffic}

// basis tells what the levels rest on that matter to the dog of a wish, on the best
// walk of a plan.
func (p *Planner) basis(w *Wish, plan *Plan) []exposure.Assumption {
	var walk *Walk
	if len(plan.Walks) > 0 {
		walk = &plan.Walks[0]
	}
	return p.basisOn(&w.Dog, func(holds func(int32) bool) float64 { return p.shareOf(walk, holds) })
}

// BasisAt tells what the levels rest on that matter to a dog at an edge.
func (p *Planner) BasisAt(e int32, dog *exposure.Dog) []exposure.Assumption {
	return p.basisOn(dog, func(holds func(int32) bool) float64 {
		if holds(e) {
			return 1
		}
		return 0
	})
}

// basisOn tells what levels rest on, given the share of the ground on edges of which
// something holds.
func (p *Planner) basisOn(dog *exposure.Dog, share func(holds func(e int32) bool) float64) (out []exposure.Assumption) {
	f := p.land.Snap.Field
	minds := func(c exposure.Category) bool {
		return slices.ContainsFunc(c.Kinds(), func(k exposure.Kind) bool { return dog.Need(k).WorkingM > 0 })
	}
	for c := exposure.Dogs; c <= exposure.Traffic; c++ {
		if !minds(c) {
			continue
		}
		counted := share(func(e int32) bool { return f.Counted(e, c) })
		if counted >= basisCountedOn {
			out = append(out, exposure.Assumption{What: BasisHere, Of: c.String(), Numbers: []float64{counted}})
		}
		if counted >= basisCountedAll {
			continue
		}
		n := math.Round(100 * exposure.HabitsOf(p.land.Snap.Country).DogHomes)
		if c != exposure.Dogs {
			n = exposure.OffElsewhere(c)
		}
		out = append(out, exposure.Assumption{What: basisOf[c], Numbers: []float64{n}})
	}
	if reach := dog.Need(exposure.DogBehindFence).WorkingM; share(func(e int32) bool { return f.PassesGardens(e, reach) }) >= basisGardensOn {
		out = append(out, exposure.Assumption{What: BasisGardens, Numbers: []float64{exposure.GardenHours}})
	}
	if (minds(exposure.Wheels) || minds(exposure.Traffic)) && share(func(e int32) bool { return f.Marks[e]&exposure.CutCatchment != 0 }) >= basisCut {
		out = append(out, exposure.Assumption{What: BasisBorder})
	}
	return append(out, p.basisOfMap(len(out) > 0)...)
}

// basisOfMap is what holds for the whole map: its country, its homes and, for what
// moves, its seasons and weather.
func (p *Planner) basisOfMap(moves bool) (out []exposure.Assumption) {
	snap := p.land.Snap
	if exposure.HabitsOf(snap.Country).Country == "" {
		out = append(out, exposure.Assumption{What: BasisCountry})
	}
	said, housed := snap.Census["people that settlements say"], snap.Census["people at homes there"]
	if said > 0 && (housed*basisOff < said || said*basisOff < housed) {
		out = append(out, exposure.Assumption{What: BasisPlaces, Numbers: []float64{math.Round(said), math.Round(housed)}})
	}
	if !moves {
		return out
	}
	season := BasisSeason
	if !hours.HasSeasons(snap.Frame.Lat0) {
		season = BasisNoSeason
	}
	out = append(out, exposure.Assumption{What: season})
	if p.land.Clock.Weather.Said() {
		out = append(out, exposure.Assumption{What: BasisWeather})
	}
	return out
}

// shareOf is the share of a walk's length on edges of which something holds.
func (p *Planner) shareOf(walk *Walk, holds func(int32) bool) float64 {
	if walk == nil {
		return 0
	}
	some, all := 0.0, 0.0
	for i := range walk.Legs {
		for _, e := range walk.Legs[i].Edges {
			long := float64(p.land.Snap.Graph.LengthM[e.Edge])
			all += long
			if holds(e.Edge) {
				some += long
			}
		}
	}
	if all == 0 {
		return 0
	}
	return some / all
}
