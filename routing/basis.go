package routing

import (
	"math"

	"wideberth/exposure"
	"wideberth/exposure/hours"
)

// What levels rest on, told by category of trigger that the dog reacts to. Numbers as
// said.
const (
	BasisDogs      exposure.Assumed = "basis_dogs"    // so many in 100 households have one; never counted
	BasisPeople    exposure.Assumed = "basis_people"  // counted elsewhere, off by a factor of so much
	BasisWheels    exposure.Assumed = "basis_wheels"  // the same
	BasisTraffic   exposure.Assumed = "basis_traffic" // the same
	BasisHere      exposure.Assumed = "basis_here"    // Of a category: counted on so much of the walk, a share
	BasisBorder    exposure.Assumed = "basis_border"  // most wheels and motors begin beyond the map's border
	BasisPlaces    exposure.Assumed = "basis_places"  // so many people by settlements, so many at homes
	BasisCountry   exposure.Assumed = "basis_country" // no figures for this country
	BasisSeason    exposure.Assumed = "basis_season"  // season as counted at 48 N, carried over
	BasisNoSeason  exposure.Assumed = "basis_no_season"
	BasisWeather   exposure.Assumed = "basis_weather" // weather as it was said
	basisCut                        = 0.5             // share of a walk near the border from which on it is said
	basisOff                        = 1.5             // factor between people and homes from which on it is said
	basisCountedOn                  = 0.1             // share of a walk that was counted, from which on it is said
)

// basisOf names what the levels of a category rest on.
var basisOf = map[exposure.Category]exposure.Assumed{exposure.Dogs: BasisDogs, exposure.People: BasisPeople,
	exposure.Wheels: BasisWheels, exposure.Traffic: BasisTraffic}

// basis tells what the levels rest on that matter to the dog of a wish, on the best
// walk of a plan.
func (p *Planner) basis(w *Wish, plan *Plan) (out []exposure.Assumption) {
	minds := func(c exposure.Category) bool {
		for _, k := range c.Kinds() {
			if w.Dog.Need(k).WorkingM > 0 {
				return true
			}
		}
		return false
	}
	var walk *Walk
	if len(plan.Walks) > 0 {
		walk = &plan.Walks[0]
	}
	for c := exposure.Dogs; c <= exposure.Traffic; c++ {
		if !minds(c) {
			continue
		}
		if share := p.markedOn(walk, exposure.CountedMark(c)); share >= basisCountedOn {
			out = append(out, exposure.Assumption{What: BasisHere, Of: c.String(), Numbers: []float64{share}})
		}
		n := math.Round(100 * exposure.HabitsOf(p.land.Snap.Country).DogHomes)
		if c != exposure.Dogs {
			n = exposure.OffElsewhere(c)
		}
		out = append(out, exposure.Assumption{What: basisOf[c], Numbers: []float64{n}})
	}
	if (minds(exposure.Wheels) || minds(exposure.Traffic)) && p.markedOn(walk, exposure.CutCatchment) >= basisCut {
		out = append(out, exposure.Assumption{What: BasisBorder})
	}
	return append(out, p.basisOfMap(w)...)
}

// basisOfMap is what holds for the whole map: its country, its homes, its seasons.
func (p *Planner) basisOfMap(w *Wish) (out []exposure.Assumption) {
	snap := p.land.Snap
	if exposure.HabitsOf(snap.Country).Country == "" {
		out = append(out, exposure.Assumption{What: BasisCountry})
	}
	said, housed := snap.Census["people that settlements say"], snap.Census["people at homes there"]
	if said > 0 && (housed*basisOff < said || said*basisOff < housed) {
		out = append(out, exposure.Assumption{What: BasisPlaces, Numbers: []float64{math.Round(said), math.Round(housed)}})
	}
	season := BasisSeason
	if !hours.HasSeasons(snap.Frame.Lat0) {
		season = BasisNoSeason
	}
	out = append(out, exposure.Assumption{What: season})
	if w.Weather.Said() {
		out = append(out, exposure.Assumption{What: BasisWeather})
	}
	return out
}

// markedOn is the share of a walk's length on edges with a mark.
func (p *Planner) markedOn(walk *Walk, mark exposure.Mark) float64 {
	if walk == nil || mark == 0 {
		return 0
	}
	marked, all := 0.0, 0.0
	for i := range walk.Legs {
		for _, e := range walk.Legs[i].Edges {
			long := float64(p.land.Snap.Graph.LengthM[e.Edge])
			all += long
			if p.land.Snap.Field.Marks[e.Edge]&mark != 0 {
				marked += long
			}
		}
	}
	if all == 0 {
		return 0
	}
	return marked / all
}
