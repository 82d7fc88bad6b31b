package survey

import (
	"context"
	"math"

	"wideberth/osmdata"
	"wideberth/routing/search"
	"wideberth/routing/survey/trips"
)

// An errand sends a share of something to mapped places and keeps the rest where it
// was: pupils to schools, dogs to parks.
const (
	errandLambdas = 4 // trips beyond so many mean distances are left out
	destSnapM     = 200
)

// errand is a purpose of trips: rate S/(S+K) a dwelling and day, with S the sum of
// attraction exp(-d/lambda) over the destinations.
type errand struct {
	name    string
	as      []string // rules of its destinations
	rate    float64  // a dwelling and day if everything were near
	lambdaM float64
	outside float64 // K: the pull of everything that is not on foot
}

// schoolErrand takes children to school. All numbers are our assumption.
var schoolErrand = errand{"schools", []string{"school", "kindergarten"}, .25, 500, .7}

// parkErrand takes dogs to parks: the share of dog walks offered to them.
var parkErrand = errand{name: "dog parks and parks", as: []string{"park", "dog_park"}, rate: .35, lambdaM: 500, outside: 1}

// destination is a place that trips go to, as vertices with the metres from each
// to the place, and the edge that those lie on.
type destination struct {
	from []search.Source
	edge int32 // -1 where the vertices are entries
	pull float64
	park int32 // index of the park, -1 for others
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
		tail, head := w.g.Ends(place.Edge)
		out = append(out, destination{edge: place.Edge, pull: 1, park: -1,
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
	span := search.Span{Cutoff: errandLambdas * er.lambdaM}
	pull, err := trips.Gathered(ctx, len(dests), workers, nv, tick, func(sum trips.Tallies) func(int32) {
		return func(i int32) {
			tree, err := w.router.Reach(dests[i].from, w.cost, span)
			if err != nil {
				return // lengths and vertices are sound
			}
			defer tree.Release()
			for _, v := range tree.Settled {
				sum.Add(v, dests[i].pull*math.Exp(-tree.Dist(v)/er.lambdaM))
			}
		}
	})
	if err != nil {
		return nil, err
	}
	s := pull.Passes()
	sums, err := trips.Gathered(ctx, len(dests), workers, ne+len(dests), tick, func(sum trips.Tallies) func(int32) {
		l := &loader{w: w, er: er, origin: origin, pull: s, load: make([]float64, nv), sum: sum}
		return func(i int32) { l.send(&dests[i], i, span) }
	})
	if err != nil {
		return nil, err
	}
	all := sums.Passes()
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
	load   []float64     // by vertex, zero between destinations
	sum    trips.Tallies // by edge, then by destination
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
			l.sum.Add(l.w.g.ArcEdge[a], trips)
			l.load[l.w.g.Star.Head[l.w.g.Star.Twin[a]]] += trips
			continue
		}
		if d.edge >= 0 { // the last metres, along the edge that the place lies on
			l.sum.Add(d.edge, trips*tree.Dist(v)/float64(l.w.g.LengthM[d.edge]))
		}
	}
	l.sum.Add(int32(l.w.g.EdgeCount())+i, visits)
}

func addTo(sum, more []float64) {
	for i, x := range more {
		sum[i] += x
	}
}
