package survey

import (
	"context"
	"slices"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/search"
	"wideberth/routing/survey/beside"
)

// Parks draw dogs that random tours from the door would not bring there. All
// numbers are our assumption.
const (
	parkInsideM      = 800 // walked inside on a visit
	parkLaps         = 2   // but at most so often round the ways inside
	parkDogsPerHa    = 20  // visits a day and hectare that a park takes at most
	parkMostPull     = 4   // hectares beyond which a park pulls no more
	parkLeastPullHa  = 0.2 //
	parkCarHa        = 2   // with a car park, parks from this size have visitors who come by car
	parkCarDogs      = 10  // visits a day with a dog
	parkCarPeople    = 40  // and without
	parkParkingNearM = 150.
	parkCellM        = 500.
)

// park is a park with its ways.
type park struct {
	feature int // index into the extract's features
	ha      float64
	inside  []int32 // edges
	insideM float64
	entries []search.Source // vertices of the edges inside
	parking bool
}

// pull is how strongly a park draws: its hectares, within bounds.
func (p *park) pull() float64 { return hectaresPull(p.ha) }

func hectaresPull(ha float64) float64 { return min(parkMostPull, max(parkLeastPullHa, ha)) }

// findParks lists the parks that have ways inside.
func (w *ground) findParks(x *osmdata.Extract) []park {
	var out []park
	var cars []plane.Segment
	for i := range x.Features {
		if at := x.Features[i].Point; x.Features[i].As == "parking" {
			cars = append(cars, plane.Segment{A: at, B: at, Mask: 1})
		}
	}
	parkings := plane.NewIndex(cars, parkCellM)
	for i := range x.Features {
		ft := &x.Features[i]
		if ft.As != "park" && ft.As != "dog_park" || len(ft.Areas) == 0 {
			continue
		}
		p := park{feature: i}
		for _, g := range ft.Areas {
			p.ha += g.AreaM2() / 1e4
			w.addInside(&p, g)
		}
		if len(p.inside) == 0 {
			continue
		}
		p.parking = p.ha >= parkCarHa && anyNear(ft.Areas, parkings)
		out = append(out, p)
	}
	return out
}

// addInside adds the edges whose middle lies in an area.
func (w *ground) addInside(p *park, g plane.Polygon) {
	for _, e := range w.g.InBox(g.Box()) {
		if !g.Holds(w.g.EdgeLine(e).At(float64(w.g.LengthM[e])/2), beside.OnBorderM) {
			continue
		}
		p.inside = append(p.inside, e)
		p.insideM += float64(w.g.LengthM[e])
		tail, head := w.g.Ends(e)
		p.entries = append(p.entries, search.Source{Vertex: tail}, search.Source{Vertex: head})
	}
}

// anyNear tells whether a car park lies within parkParkingNearM of an area.
func anyNear(areas []plane.Polygon, parkings *plane.Index) bool {
	for _, g := range areas {
		for _, i := range parkings.InBox(g.Box().Grown(parkParkingNearM), 1, nil) {
			if g.DistanceM(parkings.Segment(i).A) <= parkParkingNearM {
				return true
			}
		}
	}
	return false
}

// parkOf finds the park of a feature, -1 if it is none; parks stand in the order of
// features.
func parkOf(parks []park, feature int) int {
	i, ok := slices.BinarySearchFunc(parks, feature, func(p park, f int) int { return p.feature - f })
	if !ok {
		return -1
	}
	return i
}

// dogs assigns dog walks: a share to parks, the rest as closed tours from the
// door. The walks of each dwelling hold, and the metres of those that are tours.
func (a *assignment) dogs(ctx context.Context, x *osmdata.Extract) error {
	w := a.ground
	metres := make([]float64, len(w.g.Vertex))
	dwellings := make([]float64, len(metres)) // with a dog
	for v := range metres {
		dwellings[v] = a.habits.DogHomes * (a.census.Houses[v] + dogsInFlats*a.census.Flats[v])
		metres[v] = dwellings[v] * dogWalksADay * dogWalkS * exposure.DogWalks.SpeedMPS()
		a.totals["dog metres"] += metres[v]
	}
	if err := a.dogsToParks(ctx, x, dwellings, metres); err != nil {
		return err
	}
	weight := w.pleasure()
	tours, err := w.tours(ctx, metres, weight, toursPerHome, a.workers, a.tick)
	if err != nil {
		return err
	}
	control, err := w.killedWalk(ctx, metres, weight, dogWalkS*exposure.DogWalks.SpeedMPS()/2, a.workers)
	if err != nil {
		return err
	}
	const all = toursPerHome + controlTours
	for e := range tours {
		a.flows[exposure.DogWalks][e] += (toursPerHome*tours[e] + controlTours*control[e]) / all
	}
	return nil
}

// dogsToParks sends dogs to parks and takes their metres from what is left for
// tours.
func (a *assignment) dogsToParks(ctx context.Context, x *osmdata.Extract, dwellings, metres []float64) error {
	w := a.ground
	dests := w.destinations(x, &parkErrand, a.parks)
	origin := make([]float64, len(dwellings))
	for v := range origin {
		origin[v] = parkErrand.rate * dogWalksADay * dwellings[v]
	}
	got, err := w.assign(ctx, &parkErrand, dests, origin, a.workers, a.tick)
	if err != nil {
		return err
	}
	for v := range metres { // the walks that went to a park are not tours from the door
		metres[v] *= 1 - parkErrand.rate*got.legs[v]
	}
	flow := a.flows[exposure.DogWalks]
	for e, n := range got.passes {
		flow[e] += 2 * n // there and back
	}
	for i, d := range dests {
		if d.park >= 0 {
			a.inPark(&a.parks[d.park], got.visits[i])
		}
	}
	a.totals["dog walks to parks"] = got.trips
	return nil
}

// inPark walks the visitors of a park about inside it, those who come by car too.
func (a *assignment) inPark(p *park, dogs float64) {
	people := 0.0
	if p.parking {
		dogs += parkCarDogs
		people = parkCarPeople
		a.totals["dogs by car to parks"] += parkCarDogs
	}
	dogs = min(dogs, parkDogsPerHa*max(p.ha, parkLeastPullHa))
	walked := min(parkInsideM, parkLaps*p.insideM)
	for _, e := range p.inside {
		a.flows[exposure.DogWalks][e] += dogs * walked / p.insideM
		a.flows[exposure.WalkingTrips][e] += people * walked / p.insideM
	}
}
