package survey

import (
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/search"
	"wideberth/routing/survey/homes"
)

// What draws trips, in visits a day, so that sorts stand in the proportion of what
// they bring about: a dwelling 0.6 visitors, a shop 60, a school its pupils. All
// numbers are our assumption; only their proportions count, since each home keeps
// its trips. Work places stand in the map as buildings: f visitors and workers for
// each 50 m2 of floor.
const (
	pullOfDwelling = 0.6
	pullOfWork     = 0.8
	workM2         = 50.0
	workMost       = 400.0
	usualWorkFloor = 1.5 // levels of a building that does not say
)

// pullOf is the pull of a feature by its rule: by bicycle, and on foot.
var pullOf = map[string][2]float64{
	"shop":            {60, 60},
	"outdoor_seating": {40, 40},
	"marketplace":     {200, 200},
	"school":          {300, 0}, // pupils on foot are a pattern of their own
	"kindergarten":    {40, 0},
	"station":         {200, 600},
	"bus_stop":        {5, 60},
	"hospital":        {300, 300},
	"sports_centre":   {60, 40},
	"church":          {10, 10},
	"park":            {30, 30}, // for each hectare within the bounds of park.pull
	"dog_park":        {0, 0},   // dogs are a pattern of their own
	"playground":      {0, 15},
	"veterinary":      {10, 5},
}

// workPull is the pull of a square metre of floor by the building tag, in visitors
// for each workM2.
var workPull = map[string]float64{"office": 1.5, "commercial": 1.2, "retail": 1, "supermarket": 1, "industrial": .4, "warehouse": .15,
	"hospital": .6, "university": 1, "college": 1, "public": .6, "government": 1, "civic": .6, "hotel": .5}

// afoot and ahorse pick a column of pullOf.
type means int

const (
	byBicycle means = iota
	onFoot
)

// pulls are the pull of each vertex of a network, and of that the part that is no
// homes.
func (a *assignment) pulls(x *osmdata.Extract, g *network.Graph, c *homes.Census, how means) (all, places []float64) {
	all, places = make([]float64, len(g.Vertex)), make([]float64, len(g.Vertex))
	put := func(at plane.Point, pull float64) {
		if pull <= 0 {
			return
		}
		place, err := g.Snap(at, destSnapM)
		if err != nil {
			return
		}
		shared(g, place, func(v int32, share float64) { places[v] += share * pull })
	}
	for i := range x.Features {
		ft := &x.Features[i]
		pull := pullOf[ft.As][how]
		if ft.As != "park" {
			put(ft.Point, pull)
			continue
		}
		if p := parkOf(a.parks, i); p >= 0 && how == onFoot {
			addEntries(places, a.parks[p].entries, pull*a.parks[p].pull())
			continue
		}
		put(ft.Point, pull*hectaresPull(plane.AreaHa(ft.Areas)))
	}
	for i := range x.Buildings {
		if b := &x.Buildings[i]; workPull[b.Use] > 0 {
			floors := float64(b.Levels)
			if floors <= 0 {
				floors = usualWorkFloor
			}
			put(b.Area.Centroid(), pullOfWork*min(workMost, workPull[b.Use]*b.Area.AreaM2()*floors/workM2))
		}
	}
	for v := range all {
		all[v] = places[v] + pullOfDwelling*c.Total(int32(v))
	}
	return all, places
}

// shared gives the two ends of an edge their shares of something on it, by
// nearness.
func shared(g *network.Graph, place network.Place, give func(v int32, share float64)) {
	tail, head := g.Ends(place.Edge)
	toHead := place.AlongM / float64(g.LengthM[place.Edge])
	give(tail, 1-toHead)
	give(head, toHead)
}

func addEntries(to []float64, entries []search.Source, pull float64) {
	for _, s := range entries {
		to[s.Vertex] += pull / float64(len(entries))
	}
}
