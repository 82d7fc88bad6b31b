package routing

import (
	"cmp"
	"context"
	"math"
	"slices"

	"wideberth/osmdata"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/reach"
	"wideberth/routing/search/loop"
)

// QuietPlace is somewhere to drive to and the best loop from there.
type QuietPlace struct {
	Name  string
	At    plane.Point
	AwayM float64 // straight-line distance from where the drive begins
	Walk  Walk
}

// Bounds of a search for quiet places.
const (
	mostAwayM      = 30_000
	mostCandidates = 40   // whose loops are searched
	apartM         = 250  // candidates nearer to each other than this are one
	tasteM         = 300  // half the side of the box whose mean hazard ranks candidates
	accessM        = 60   // from the edge of open ground to a road with room to stop
	leastGroundM2  = 2e4  // open ground worth driving to
	kerbsideSlack  = 1000 // most outline points looked at per ground
)

// candidate is a place a car can stop at.
type candidate struct {
	name  string
	place network.Place
	taste float64 // mean hazard around it, expected reactions a second
}

// QuietPlaces ranks starts within a driving radius by the calmest walk that each offers
// at the wish's hour: car parks, and roadside access to parks, woods, cemeteries
// and industrial ground. It gives at most most of them, calmest first.
func (p *Planner) QuietPlaces(ctx context.Context, w Wish, awayM float64, most int) ([]QuietPlace, error) {
	p = p.Under(w.Weather)
	if w.Shape != Loop {
		w.Shape = Calmest
	}
	if err := p.Check(&w); err != nil {
		return nil, err
	}
	if !(awayM > 0 && awayM <= mostAwayM) {
		return nil, fault.Problems{{Pointer: "/away_m", Value: fault.Number(awayM), Mend: "give a distance of up to 30,000 m"}}
	}
	list := p.candidates(&w, awayM)
	found := make([]*QuietPlace, len(list))
	err := p.each(ctx, len(list), func(solver *loop.Solver, i int) error {
		at := w
		at.From = list[i].place.At
		q, err := p.ask(&at, list[i].place)
		if err != nil {
			return err
		}
		arcs, err := q.best(solver)
		if err != nil || arcs == nil {
			return err
		}
		found[i] = &QuietPlace{Name: list[i].name, At: at.From, AwayM: at.From.DistanceM(w.From), Walk: p.Build(&at, q.reach, q.prices, arcs)}
		return nil
	})
	if err != nil {
		return nil, err
	}
	var out []QuietPlace
	for _, f := range found {
		if f != nil {
			out = append(out, *f)
		}
	}
	slices.SortStableFunc(out, func(a, b QuietPlace) int {
		return cmp.Or(cmp.Compare(a.Walk.wear(&w), b.Walk.wear(&w)), cmp.Compare(a.AwayM, b.AwayM))
	})
	if len(out) == 0 {
		return nil, &reach.Infeasible{Reason: reach.NothingInRange, Field: "away_m", Short: awayM, Unit: "m"}
	}
	return out[:min(len(out), most)], nil
}

// candidates lists the most promising places to stop at, those with the calmest
// surroundings first.
func (p *Planner) candidates(w *Wish, awayM float64) []candidate {
	var all []candidate
	add := func(name string, at plane.Point) {
		if at.DistanceM(w.From) > awayM {
			return
		}
		place, err := p.land.Snap.Graph.Snap(at, accessM)
		if err != nil || slices.ContainsFunc(all, func(c candidate) bool { return c.place.At.DistanceM(place.At) < apartM }) {
			return
		}
		if street := p.land.Snap.Graph.Names[p.land.Snap.Graph.Parts[p.land.Snap.Graph.PartAt[place.Edge]].Name]; street != "" {
			name += ", " + street
		}
		all = append(all, candidate{name: name, place: place})
	}
	for _, c := range p.land.Snap.Ground.CarParks {
		add(cmp.Or(c.Name, "car park"), c.At)
	}
	for i := range p.land.Snap.Ground.Grounds {
		g := &p.land.Snap.Ground.Grounds[i]
		if at, ok := p.kerbside(g, w.From, awayM); ok {
			add(cmp.Or(g.Name, groundWord[g.Kind]), at)
		}
	}
	for i := range all {
		all[i].taste = p.taste(w, all[i].place.At)
	}
	slices.SortStableFunc(all, func(a, b candidate) int { return cmp.Compare(a.taste, b.taste) })
	return all[:min(len(all), mostCandidates)]
}

// groundWord says what open ground is where it has no name; other kinds are not
// driven to.
var groundWord = map[osmdata.GroundKind]string{osmdata.Park: "park", osmdata.Wood: "wood", osmdata.Cemetery: "cemetery", osmdata.Industrial: "industrial estate"}

// kerbside finds the point of a ground's outline nearest to the drive's beginning
// that lies at a road on which a car can stop.
func (p *Planner) kerbside(g *osmdata.Ground, from plane.Point, awayM float64) (best plane.Point, ok bool) {
	if groundWord[g.Kind] == "" || g.Area.Box().DistanceM(from) > awayM || g.Area.AreaM2() < leastGroundM2 {
		return best, false
	}
	bestM := math.Inf(1)
	step := 1 + len(g.Area.Outer)/kerbsideSlack
	for i := 0; i < len(g.Area.Outer); i += step {
		at := g.Area.Outer[i]
		if d := at.DistanceM(from); d < bestM {
			place, err := p.land.Snap.Graph.Snap(at, accessM)
			if err == nil && stoppable(p.land.Snap.Graph.Class[place.Edge]) {
				best, bestM, ok = place.At, d, true
			}
		}
	}
	return best, ok
}

// stoppable says that a car can usually be left at the side of such a street.
func stoppable(c osmdata.Class) bool {
	return c == osmdata.Residential || c == osmdata.Unclassified || c == osmdata.Tertiary || c == osmdata.Service || c == osmdata.LivingStreet
}

// taste is the mean hazard of the ways around a place.
func (p *Planner) taste(w *Wish, at plane.Point) float64 {
	edges := p.land.Snap.Graph.InBox(plane.Box{Min: at, Max: at}.Grown(tasteM))
	hazard := p.land.Snap.Field.Sums(&w.Dog, edges).Hazard(p.land.Clock.At(w.Depart), w.Factors, nil)
	sum, length := 0.0, 0.0
	for i, e := range edges {
		sum += float64(hazard[i] * p.land.Snap.Graph.LengthM[e])
		length += float64(p.land.Snap.Graph.LengthM[e])
	}
	return sum / max(length, 1)
}
