package survey

import (
	"context"
	"math"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/routing/search"
)

// Walking trips. 0.9 legs for each dwelling and day: 12.5 % of people walk for
// transport on a day (ATUS 2003-05), two or three legs each. What finds no mapped
// destination goes as short tours, so that the total holds whatever is mapped:
// destinations are missing from maps far more than homes. The rest is our
// assumption.
const (
	walkSpeedMPS  = 1.34 // Weidmann 1993
	legsADay      = 0.9  // of transport, for each dwelling
	restTourM     = 12 * 60 * walkSpeedMPS
	exerciseADay  = 0.1 // walks for their own sake, for each dwelling
	exerciseTourM = 40 * 60 * walkSpeedMPS
	stopArrivals  = 150 // a day, who go on from a stop to shops
	reachLambdas  = 4   // trips beyond so many mean distances are left out
	destSnapM     = 200
	fewPlacesLegs = 0.3       // assigned legs a dwelling and day below which few places are mapped
	centreShops   = 2         // shops on an edge that make it a shopping street
	centreFloor   = 60 / .068 // people a day there: 60 an hour at 14 h
)

// errand is a purpose of walking trips: rate S/(S+K) legs a dwelling and day, with
// S the sum of attraction exp(-d/lambda) over the destinations.
type errand struct {
	name    string
	as      []string // rules of its destinations
	rate    float64  // legs a dwelling and day if everything were near
	lambdaM float64
	outside float64 // K: the pull of everything that is not on foot
	pattern exposure.Pattern
	stops   bool // people who come by stop go there too
}

var errands = []errand{
	{"shops", []string{"shop", "marketplace", "outdoor_seating"}, .45, 350, 2, exposure.WalkingTrips, true},
	{"stops", []string{"bus_stop", "station"}, .35, 250, 1, exposure.WalkingTrips, false},
	{"schools", []string{"school", "kindergarten"}, .25, 500, .7, exposure.SchoolTrips, false},
	{"parks", []string{"park"}, .15, 400, 1, exposure.WalkingTrips, false},
}

// parkErrand takes dogs to parks: the share of dog walks offered to them.
var parkErrand = errand{name: "dog parks and parks", as: []string{"park", "dog_park"}, rate: .35, lambdaM: 500, outside: 1}

// destination is a place that trips go to, as vertices with the metres from each
// to the place, and the edge that those lie on.
type destination struct {
	from  []search.Source
	edge  int32 // -1 where the vertices are entries
	pull  float64
	park  int32 // index of the park, -1 for others
	plain bool  // a stop, whose arrivals go on to shops
}

// destinations finds the places of an errand on the network.
func (w *ground) destinations(x *osmdata.Extract, er *errand, parks []park) []destination {
	var out []destination
	for i := range x.Features {
		ft := &x.Features[i]
		if !contains(er.as, ft.As) {
			continue
		}
		if p := parkOf(parks, i); p >= 0 {
			out = append(out, destination{from: parks[p].entries, edge: -1, pull: parks[p].pull(), park: int32(p)})
			continue
		}
		place, err := w.g.Snap(ft.Point, destSnapM)
		if err != nil {
			continue
		}
		tail, head := ends(w.g, place.Edge)
		out = append(out, destination{edge: place.Edge, pull: 1, park: -1, plain: ft.As == "bus_stop" || ft.As == "station",
			from: []search.Source{{Vertex: tail, Offset: place.AlongM}, {Vertex: head, Offset: max(0, float64(w.g.LengthM[place.Edge])-place.AlongM)}}})
	}
	return out
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// assigned is what came of an errand.
type assigned struct {
	passes []float64 // by edge
	legs   []float64 // by vertex: legs a day for each unit of origin
	visits []float64 // by destination, a day
	trips  float64
	metres float64 // trips times their lengths
}

// assign sends trips from vertices to the destinations of an errand: origin holds
// how many a day would go from each vertex if everything were near. Two rounds of
// least-distance trees from the destinations, of which there are few: the first
// sums up what pulls at each vertex, the second loads the trips down the tree.
func (w *ground) assign(ctx context.Context, er *errand, dests []destination, origin []float64, workers int, tick func(int)) (*assigned, error) {
	nv, ne := len(w.g.Vertex), w.g.EdgeCount()
	span := search.Span{Cutoff: reachLambdas * er.lambdaM}
	pull, err := gathered(ctx, len(dests), workers, nv, tick, func(sum tallies) func(int32) {
		return func(i int32) {
			tree, err := w.router.Reach(dests[i].from, w.cost, span)
			if err != nil {
				return // lengths and vertices are sound
			}
			defer tree.Release()
			for _, v := range tree.Settled {
				sum.add(v, dests[i].pull*math.Exp(-tree.Dist(v)/er.lambdaM))
			}
		}
	})
	if err != nil {
		return nil, err
	}
	s := pull.passes()
	sums, err := gathered(ctx, len(dests), workers, ne+len(dests), tick, func(sum tallies) func(int32) {
		l := &loader{w: w, er: er, origin: origin, pull: s, load: make([]float64, nv), sum: sum}
		return func(i int32) { l.send(&dests[i], i, span) }
	})
	if err != nil {
		return nil, err
	}
	all := sums.passes()
	out := &assigned{passes: all[:ne], visits: all[ne:], legs: make([]float64, nv)}
	for v := range out.legs {
		out.legs[v] = s[v] / (s[v] + er.outside)
	}
	for _, n := range out.visits {
		out.trips += n
	}
	for e, n := range out.passes {
		out.metres += n * float64(w.g.LengthM[e])
	}
	return out, nil
}

// loader is one worker's scratch for loading trees.
type loader struct {
	w      *ground
	er     *errand
	origin []float64
	pull   []float64
	load   []float64 // by vertex, zero between destinations
	sum    tallies   // by edge, then by destination
}

// send loads the trips to destination i on its tree, farthest vertex first.
func (l *loader) send(d *destination, i int32, span search.Span) {
	tree, err := l.w.router.Reach(d.from, l.w.cost, span)
	if err != nil {
		return // lengths and vertices are sound
	}
	defer tree.Release()
	visits := 0.0
	for _, v := range tree.Settled {
		trips := l.origin[v] * d.pull * math.Exp(-tree.Dist(v)/l.er.lambdaM) / (l.pull[v] + l.er.outside)
		l.load[v] += trips
		visits += trips
	}
	for k := len(tree.Settled) - 1; k >= 0; k-- {
		v := tree.Settled[k]
		trips := l.load[v]
		l.load[v] = 0
		if a := tree.Arc(v); a >= 0 {
			l.sum.add(l.w.g.ArcEdge[a], trips)
			l.load[l.w.g.Star.Head[l.w.g.Star.Twin[a]]] += trips
			continue
		}
		if d.edge >= 0 { // the last metres, along the edge that the place lies on
			l.sum.add(d.edge, trips*tree.Dist(v)/float64(l.w.g.LengthM[d.edge]))
		}
	}
	l.sum.add(int32(l.w.g.EdgeCount())+i, visits)
}

// people assigns walking trips and school trips: passes a day by edge for both
// patterns, and the legs that found a destination by vertex.
func (a *assignment) people(ctx context.Context, x *osmdata.Extract) error {
	w, c := a.ground, a.census
	nv := len(w.g.Vertex)
	found := make([]float64, nv) // legs a dwelling and day that found a place
	var stops []destination
	for i := range errands {
		er := &errands[i]
		dests := w.destinations(x, er, a.parks)
		if er.name == "stops" {
			stops = dests
		}
		a.dests = append(a.dests, dests)
	}
	for i := range errands {
		er := &errands[i]
		origin := make([]float64, nv)
		for v := range origin {
			origin[v] = er.rate * c.total(int32(v))
		}
		if er.stops {
			addArrivals(origin, stops)
		}
		got, err := w.assign(ctx, er, a.dests[i], origin, a.workers, a.tick)
		if err != nil {
			return err
		}
		addTo(a.flows[er.pattern], got.passes)
		a.totals["trips to "+er.name] = got.trips
		for v := range found {
			found[v] += er.rate * got.legs[v]
		}
	}
	a.found = found
	return a.rest(ctx)
}

// addArrivals lets those who come by stop set out to the shops.
func addArrivals(origin []float64, stops []destination) {
	for _, d := range stops {
		if d.plain && len(d.from) == 2 {
			long := d.from[0].Offset + d.from[1].Offset
			share := .5
			if long > 0 {
				share = 1 - d.from[0].Offset/long
			}
			origin[d.from[0].Vertex] += stopArrivals * share
			origin[d.from[1].Vertex] += stopArrivals * (1 - share)
		}
	}
}

// rest sends the legs that found no place as short tours, and the walks for their
// own sake, both as killed walks.
func (a *assignment) rest(ctx context.Context) error {
	nv := len(a.found)
	short, long := make([]float64, nv), make([]float64, nv)
	for v := range short {
		n := a.census.total(int32(v))
		legs := n * max(0, legsADay-a.found[v])
		short[v] = legs * restTourM
		long[v] = n * exerciseADay * exerciseTourM
		a.totals["legs as short tours"] += legs
		a.totals["legs to places"] += n * min(legsADay, a.found[v])
	}
	weight := a.ground.pleasure()
	for _, walk := range []struct {
		metres []float64
		tourM  float64
	}{{short, restTourM}, {long, exerciseTourM}} {
		passes, err := a.ground.killedWalk(ctx, walk.metres, weight, walk.tourM/2, a.workers)
		if err != nil {
			return err
		}
		addTo(a.flows[exposure.WalkingTrips], passes)
	}
	return nil
}

func addTo(sum, more []float64) {
	for i, x := range more {
		sum[i] += x
	}
}
