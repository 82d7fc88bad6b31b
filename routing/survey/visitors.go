package survey

import (
	"strconv"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// People who stay the night where the map has lodging. Beds are our assumption where
// no tag says their number; about 45 in 100 are taken over a year (Eurostat, hotels of
// the European Union, from memory); legs on foot a visitor and day our assumption.
const (
	bedsTaken    = 0.45
	visitorLegs  = 3.0
	bedsARoom    = 2.0
	bedsAPitch   = 3.0
	mostBeds     = 2000.0
	resortShare  = 0.25 // beds for each inhabitant about, from which on those who walk there come and go with the season
	leastBeds    = 100.0
	winterResort = 3 // ski lifts about from which on nobody knows which season that is
)

// usualBeds by the tourism tag.
var usualBeds = map[string]float64{"hotel": 60, "motel": 60, "hostel": 60, "guest_house": 12, "apartment": 4, "chalet": 6,
	"alpine_hut": 40, "camp_site": 150, "caravan_site": 60}

// beds is how many sleep at most in a lodging.
func beds(ft *osmdata.Feature) float64 {
	for key, each := range map[string]float64{"beds": 1, "rooms": bedsARoom, "capacity": bedsAPitch} {
		if n, err := strconv.ParseFloat(ft.Tags[key], 64); err == nil && n > 0 {
			return min(mostBeds, n*each)
		}
	}
	return usualBeds[ft.Tags["tourism"]]
}

// visitors adds the legs of those who stay the night to where walks begin, and marks
// the vertices about which they are many.
func (a *assignment) visitors(x *osmdata.Extract, origin []float64) {
	nights, lifts := a.homes.Spread(nil, nil), a.homes.Spread(nil, nil)
	for i := range x.Features {
		ft := &x.Features[i]
		if ft.As == "ski_lift" {
			lifts.Add(ft.Point, 1)
		}
		if ft.As != "lodging" {
			continue
		}
		place, err := a.ground.g.Snap(ft.Point, destSnapM)
		if err != nil {
			continue
		}
		n := beds(ft)
		nights.Add(ft.Point, n)
		a.totals["beds"] += n
		shared(a.ground.g, place, func(v int32, share float64) {
			origin[v] += share * n * bedsTaken * visitorLegs
			a.totals["legs of visitors"] += share * n * bedsTaken * visitorLegs
		})
	}
	a.resort = make([]bool, len(origin))
	if len(nights.By) == 0 {
		return
	}
	known := map[plane.Square]bool{}
	for v := range a.resort {
		at := a.ground.g.Vertex[v]
		t := a.homes.Tile(at)
		many, ok := known[t]
		if !ok {
			n, km2 := nights.Block(at)
			up, _ := lifts.Block(at)
			many = n >= leastBeds && up < winterResort && n >= resortShare*a.homes.DwellingsPerKM2(at)*km2*a.habits.Persons
			known[t] = many
		}
		a.resort[v] = many
	}
}

// markResorts marks edges between vertices about which many stay the night.
func (a *assignment) markResorts(g *network.Graph, marks []exposure.Mark) {
	for e := range marks {
		if tail, head := g.Ends(int32(e)); a.resort[tail] && a.resort[head] {
			marks[e] |= exposure.Visitors
		}
	}
}
