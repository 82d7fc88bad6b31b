package survey

import (
	"context"
	"maps"
	"slices"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/homes"
	"wideberth/routing/survey/trips"
)

// Walking trips: a country's legs on foot from homes to what draws them. All
// numbers here are our assumption but the legs (exposure.HabitsOf) and the mean
// length, which lies between British (0.9 miles) and American trips on foot.
const (
	walkSpeedMPS  = 1.34 // Weidmann 1993
	legM          = 1000.0
	walkZoneM     = 100.0 // a fifth of the distance at which pull falls to 1/e
	goOnShare     = 0.15  // of those who come to a place go on to another
	ridersAStop   = 100   // people a day who come by bus and walk on,
	ridersAtRail  = 1500  // and by train,
	ridersByHomes = 0.3   // but no more for each dwelling about than a tenth of its trips
	exerciseADay  = 0.1   // walks for their own sake, for each dwelling
	exerciseTourM = 40 * 60 * walkSpeedMPS
	fewPlacesPull = 0.4 // pull of places for each dwelling about, below which few places are mapped: a fifth of what is usual
)

// shopSorts make a shopping street.
var shopSorts = []string{"shop", "marketplace", "outdoor_seating"}

// walkCost is what a metre costs a walker who wants to get somewhere, 1 for a
// residential street. Pavements and paths of their own are a little better, main
// roads a little worse.
var walkCost = [osmdata.ClassCount]float64{osmdata.ClassOther: 1, osmdata.Motorway: 2, osmdata.Trunk: 1.3, osmdata.Primary: 1.1,
	osmdata.Secondary: 1.05, osmdata.Tertiary: 1, osmdata.Unclassified: 1, osmdata.Residential: 1, osmdata.LivingStreet: .95, osmdata.Service: 1,
	osmdata.Pedestrian: .9, osmdata.Track: 1.05, osmdata.Cycleway: 1, osmdata.Bridleway: 1.1, osmdata.Footway: .95, osmdata.Path: 1, osmdata.Steps: 1.5}

// people assigns school trips and walking trips.
func (a *assignment) people(ctx context.Context, x *osmdata.Extract) error {
	w, c := a.ground, a.census
	origin := make([]float64, len(w.g.Vertex))
	for v := range origin {
		origin[v] = schoolErrand.rate * c.Total(int32(v))
	}
	school, err := w.assign(ctx, &schoolErrand, w.destinations(x, &schoolErrand, a.parks), origin, a.workers, a.tick)
	if err != nil {
		return err
	}
	addTo(a.flows[exposure.SchoolTrips], school.passes)
	a.totals["trips to schools"] = school.trips
	a.totals["km on foot"] += school.metres / 1000
	legs := make([]float64, len(origin))
	for v := range legs {
		n := c.Total(int32(v))
		legs[v] = n * max(0, a.habits.FootLegs-schoolErrand.rate*school.legs[v])
		a.totals["legs on foot"] += legs[v]
	}
	if err := a.legs(ctx, x, legs); err != nil {
		return err
	}
	return a.exercise(ctx)
}

// legs sends the legs of homes to what draws them, and with them those who go on
// from place to place and who came by bus or train.
func (a *assignment) legs(ctx context.Context, x *osmdata.Extract, legs []float64) error {
	w := a.ground
	base := make([]float32, len(w.cost))
	for arc, long := range w.cost {
		e := w.g.ArcEdge[arc]
		f := walkCost[w.g.Class[e]]
		if w.g.Flags[e]&(osmdata.FlagPavement|osmdata.FlagCrossing) != 0 {
			f = walkCost[osmdata.Footway]
		}
		base[arc] = long * float32(f)
	}
	m := &trips.Gravity{G: w.g, Router: w.router, Costs: trips.Perturbed(w.g, base, trips.CostSets, a.seed), LambdaM: legM / 2, ZoneM: walkZoneM,
		Seed: a.seed, Workers: a.workers, Tick: a.tick}
	pull, places := a.pulls(x, w.g, a.census, onFoot)
	m.Pull = pull
	a.few = a.fewPlaces(places)
	m.Origin = a.withThoseWhoGoOn(legs, pull, places)
	riders := a.publicRiders(x)
	for _, v := range slices.Sorted(maps.Keys(riders)) { // sums round by their order, and one map gives one file
		m.Origin[v] += riders[v]
		a.totals["legs of riders"] += riders[v]
	}
	a.visitors(x, m.Origin)
	got, err := m.Assign(ctx, a.homes.Earth)
	if err != nil {
		return err
	}
	addTo(a.flows[exposure.WalkingTrips], got.Passes)
	a.totals["trips on foot"], a.totals["legs lost"] = got.Trips, got.Lost
	for e, n := range got.Passes {
		a.totals["km on foot"] += n * float64(w.g.LengthM[e]) / 1000
	}
	return nil
}

// withThoseWhoGoOn turns legs by home into legs by where they begin: a part of those
// who come to a place goes on to another. How many do is taken from what pulls in the
// block about each home; they begin again at the places there.
func (a *assignment) withThoseWhoGoOn(legs, pull, places []float64) []float64 {
	g := a.ground.g
	all, there, goOn := a.homes.Spread(g.Vertex, pull), a.homes.Spread(g.Vertex, places), a.homes.Spread(nil, nil)
	out := slices.Clone(legs)
	for v := range out {
		at := g.Vertex[v]
		if legs[v] == 0 || !a.homes.Land(at) {
			continue
		}
		p, _ := all.Block(at)
		if q, _ := there.Block(at); p > 0 && q > 0 {
			again := legs[v] * goOnShare * q / (p + goOnShare*q)
			out[v] -= again
			goOn.Add(at, again/q) // for each unit of pull
		}
	}
	for v := range out {
		if places[v] > 0 && a.homes.Land(g.Vertex[v]) {
			n, _ := goOn.Block(g.Vertex[v])
			out[v] += places[v] * n
		}
	}
	return out
}

// fewPlaces tells by vertex whether hardly anything but homes is mapped about it.
func (a *assignment) fewPlaces(places []float64) []bool {
	g := a.ground.g
	there := a.homes.Spread(g.Vertex, places)
	known := map[plane.Square]bool{}
	out := make([]bool, len(places))
	for v := range out {
		t := a.homes.Tile(g.Vertex[v])
		few, ok := known[t]
		if !ok {
			pull, km2 := there.Block(g.Vertex[v])
			few = pull < fewPlacesPull*a.homes.DwellingsPerKM2(g.Vertex[v])*km2
			few = few || pull == 0
			known[t] = few
		}
		out[v] = few
	}
	return out
}

// publicRiders are the people by vertex who come by bus or train and walk on.
func (a *assignment) publicRiders(x *osmdata.Extract) map[int32]float64 {
	out := map[int32]float64{}
	stops := a.homes.Spread(nil, nil)
	number := map[string]float64{"bus_stop": ridersAStop, "station": ridersAtRail}
	for i := range x.Features {
		if n := number[x.Features[i].As]; n > 0 {
			stops.Add(x.Features[i].Point, n)
		}
	}
	for i := range x.Features {
		ft := &x.Features[i]
		n := number[ft.As]
		if n == 0 {
			continue
		}
		place, err := a.ground.g.Snap(ft.Point, destSnapM)
		if err != nil {
			continue
		}
		n *= a.servedShare(stops, ft.Point)
		shared(a.ground.g, place, func(v int32, share float64) { out[v] += share * n })
	}
	return out
}

// servedShare is the share of the usual riders that the homes about allow.
func (a *assignment) servedShare(stops homes.Spread, at plane.Point) float64 {
	riders, km2 := stops.Block(at)
	if riders == 0 {
		return 0
	}
	return min(1, ridersByHomes*a.homes.DwellingsPerKM2(at)*km2/riders)
}

// exercise sends walks for their own sake as killed walks.
func (a *assignment) exercise(ctx context.Context) error {
	metres := make([]float64, len(a.ground.g.Vertex))
	for v := range metres {
		metres[v] = a.census.Total(int32(v)) * exerciseADay * exerciseTourM
		a.totals["km on foot"] += metres[v] / 1000
	}
	passes, err := a.ground.killedWalk(ctx, metres, a.ground.pleasure(), exerciseTourM/2, a.workers)
	addTo(a.flows[exposure.WalkingTrips], passes)
	return err
}
