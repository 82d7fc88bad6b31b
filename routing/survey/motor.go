package survey

import (
	"context"
	"math"
	"slices"

	"wideberth/osmdata"
	"wideberth/osmdata/parallel"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/search"
	"wideberth/routing/survey/beside"
	"wideberth/routing/survey/homes"
	"wideberth/routing/survey/trips"
)

// Motor traffic as vehicles a day, both directions together (AADT). Main roads have
// values by class and by how thick homes lie about them; what serves homes is
// assigned.

// classRow is the traffic of the main classes, motorway to tertiary, where so many
// dwellings lie on a km2.
type classRow struct {
	dwellingsPerKM2 float64
	aadt            [5]float64
}

// classRows: the arithmetic middles of the ranges of FHWA's functional classes
// (Highway Functional Classification 2013, tables 3-5 and 3-6, from memory), rural
// and urban, mapped to OSM's by us; in dense towns collectors and distributors by
// the German guideline RASt 06 (collector 400 to 800 vehicles an hour at the peak,
// local shopping street 400 to 1,800, connecting road 800 to 2,600; from memory), a
// day taken as ten and a half peaks, our assumption. Where the rows stand is our
// assumption.
var classRows = [...]classRow{
	{30, [5]float64{23000, 11000, 5200, 3700, 1000}},
	{600, [5]float64{80000, 34000, 17000, 8500, 3700}},
	{2000, [5]float64{80000, 34000, 18000, 11500, 6300}},
}

// classAADT is the traffic of a main class at a density of homes: straight lines
// between the rows, both in logarithms; beyond the ends the end's.
func classAADT(c osmdata.Class, perKM2 float64) float64 {
	if !isMain(c, osmdata.Tertiary) {
		return 0
	}
	i := int(c - osmdata.Motorway)
	last := len(classRows) - 1
	if perKM2 <= classRows[0].dwellingsPerKM2 {
		return classRows[0].aadt[i]
	}
	for k := range last {
		lo, hi := &classRows[k], &classRows[k+1]
		if perKM2 < hi.dwellingsPerKM2 {
			share := math.Log(perKM2/lo.dwellingsPerKM2) / math.Log(hi.dwellingsPerKM2/lo.dwellingsPerKM2)
			return lo.aadt[i] * math.Pow(hi.aadt[i]/lo.aadt[i], share)
		}
	}
	return classRows[last].aadt[i]
}

// throughAADT is traffic on local streets that serves none of their homes; our
// assumption.
var throughAADT = [osmdata.ClassCount]float64{osmdata.Unclassified: 150, osmdata.Residential: 50, osmdata.LivingStreet: 10,
	osmdata.Service: 5, osmdata.Pedestrian: 1, osmdata.Track: 2}

// usualLanes are the lanes, both directions together, that classRows are for.
var usualLanes = [osmdata.ClassCount]float64{osmdata.Motorway: 4, osmdata.Trunk: 3, osmdata.Primary: 2, osmdata.Secondary: 2}

// driveMPS is the usual speed by class for the shortest way out of a
// neighbourhood, in m/s; our assumption.
var driveMPS = [osmdata.ClassCount]float64{osmdata.ClassOther: 5, osmdata.Motorway: 29, osmdata.Trunk: 25, osmdata.Primary: 18,
	osmdata.Secondary: 16, osmdata.Tertiary: 14, osmdata.Unclassified: 13, osmdata.Residential: 9, osmdata.LivingStreet: 4,
	osmdata.Service: 5, osmdata.Pedestrian: 2, osmdata.Track: 4, osmdata.Cycleway: 3, osmdata.Bridleway: 3, osmdata.Footway: 3,
	osmdata.Path: 3, osmdata.Steps: 1}

// heavyShare is the share of lorries and buses by class; our assumption.
var heavyShare = [osmdata.ClassCount]float64{osmdata.Motorway: .15, osmdata.Trunk: .10, osmdata.Primary: .07,
	osmdata.Secondary: .05, osmdata.Tertiary: .04}

// Constants of the assignment, our assumption but for the trips: about eight
// vehicle trips a dwelling and day is common in US travel surveys.
const (
	otherHeavy    = .02
	vehicleTrips  = 8.0
	localDraws    = 4
	exitDraws     = 16
	exitSpreadS   = 180.0  // exits of a neighbourhood differ by up to this much, by draw
	exitSquareM   = 1000.0 // and are alike within squares of this side
	drawLow       = 0.7    // travel times vary by this much between draws
	drawHigh      = 1.3
	linkShare     = 0.2 // of the class value on ramps
	lanesLeast    = 0.6
	lanesMost     = 2.5
	tertiaryOwn   = 0.5  // of the class value: what a tertiary road carries from end to end
	tertiaryMost  = 2.0  // times the class value
	junctionFloor = 10.0 // vehicles a day that an arm may carry beyond the others
	settledAADT   = 0.5  // a violation smaller than this is settled
)

// traffic is motor traffic on its own network.
type traffic struct {
	g      *network.Graph
	router *search.Router
	homes  *homes.Homes
	starts []float64 // vehicle trips that start or end at each vertex, a day
	aadt   []float64 // by edge
	frame  plane.Frame
	lost   float64 // trips from homes that no main road is reached from
	seed   uint64
}

// drivable is what may be driven on, nil where that is nothing.
func drivable(x *osmdata.Extract) (*network.Graph, error) {
	return netOf(x, nil, func(s *osmdata.Street) bool { return s.Motor })
}

// newTraffic assigns motor traffic on what may be driven on; nil where that is nothing.
func newTraffic(ctx context.Context, x *osmdata.Extract, g *network.Graph, h *homes.Homes, seed uint64, workers int) (*traffic, error) {
	if g == nil {
		return nil, nil
	}
	router, err := search.NewRouter(&g.Star)
	if err != nil {
		return nil, err
	}
	t := &traffic{g: g, router: router, homes: h, aadt: make([]float64, g.EdgeCount()), frame: x.Frame, seed: seed}
	c := h.Settle(x, g)
	t.starts = make([]float64, len(g.Vertex))
	for v := range t.starts {
		t.starts[v] = vehicleTrips * c.Total(int32(v))
	}
	if err := t.assign(ctx, workers); err != nil {
		return nil, err
	}
	t.settle()
	return t, nil
}

// assign gives each edge its traffic before junctions are looked at. Homes leave to
// the roads that lead on (local, to tertiary and above) and through those to the
// roads between quarters (upper, to secondary and above). If all left by the
// nearest exit, the traffic of a road between two exits would fall to nothing where
// their catchments meet; so exits differ by chance.
func (t *traffic) assign(ctx context.Context, workers int) error {
	local, lost, err := t.catchment(ctx, osmdata.Tertiary, localDraws, 0, workers)
	if err != nil {
		return err
	}
	t.lost = lost
	upper, _, err := t.catchment(ctx, osmdata.Secondary, exitDraws, exitSpreadS, workers)
	if err != nil {
		return err
	}
	for e := range t.aadt {
		switch c := t.g.Class[e]; {
		case isMain(c, osmdata.Secondary):
			t.aadt[e] = t.byClass(int32(e))
		case c == osmdata.Tertiary:
			q := t.byClass(int32(e))
			t.aadt[e] = min(tertiaryMost*q, tertiaryOwn*q+upper[e])
		default:
			t.aadt[e] = local[e] + throughAADT[c]
		}
	}
	return nil
}

// isMain tells whether a class is at least as important as another.
func isMain(c, least osmdata.Class) bool { return c >= osmdata.Motorway && c <= least }

// byClass is the class value, by lanes; each carriageway of a dual road is one way
// and has half.
func (t *traffic) byClass(e int32) float64 {
	c, flags := t.g.Class[e], t.g.Flags[e]
	q := classAADT(c, t.homes.DwellingsPerKM2(t.g.EdgeLine(e).At(float64(t.g.LengthM[e])/2)))
	oneWay := flags&osmdata.FlagOneWay != 0
	if lanes := float64(t.g.Parts[t.g.PartAt[e]].Lanes()); lanes > 0 && usualLanes[c] > 0 {
		usual := usualLanes[c]
		if oneWay {
			usual /= 2
		}
		q *= min(lanesMost, max(lanesLeast, lanes/usual))
	}
	if oneWay {
		q /= 2
	}
	if flags&osmdata.FlagLink != 0 {
		q *= linkShare
	}
	return q
}

// catchment loads the trips of homes down least-time trees to the nearest junction
// with a street of class least or above, the mean of several draws of travel
// times, and of what it takes beyond each exit, up to spreadS seconds: vehicles a
// day by edge, and the trips that no such junction is reached from.
func (t *traffic) catchment(ctx context.Context, least osmdata.Class, draws int, spreadS float64, workers int) (out []float64, lost float64, err error) {
	g := t.g
	roots, barred := t.exits(least)
	delays := t.delays(roots, draws)
	of := make([]drawn, draws)
	err = parallel.With(ctx, workers, draws, func() func(int) error {
		cost, load, from := make([]float32, g.Star.ArcCount()), make([]float64, len(g.Vertex)), slices.Clone(roots)
		return func(draw int) error {
			for e := range int32(g.EdgeCount()) {
				tail, head := g.Ends(e)
				s := float32(float64(g.LengthM[e]) / t.frame.Scale(g.Vertex[tail]) / driveMPS[g.Class[e]] *
					(drawLow + (drawHigh-drawLow)*trips.Chance(g.VertexNode[tail], g.VertexNode[head], draw, trips.SaltDrive, t.seed)))
				a := g.EdgeArc[e]
				cost[a], cost[g.Star.Twin[a]] = s, s
			}
			for i := range from {
				from[i].Offset = spreadS * delays[i][draw]
			}
			tree, err := t.router.Reach(from, cost, search.Span{Cutoff: math.Inf(1), Barred: barred})
			if err != nil {
				return err
			}
			of[draw].perDay = make([]float64, g.EdgeCount())
			of[draw].lost = t.down(tree, load, of[draw].perDay, 1/float64(draws)) / float64(draws)
			tree.Release()
			return nil
		}
	})
	out = make([]float64, g.EdgeCount())
	for draw := range of { // in order, so that the sum is the same for any number of workers
		for e, q := range of[draw].perDay {
			out[e] += q
		}
		lost += of[draw].lost
	}
	return out, lost, err
}

// drawn is what one draw of travel times brings.
type drawn struct {
	perDay []float64 // by edge
	lost   float64
}

// exits are the junctions with a street of a class or above, and the arcs of those
// streets.
func (t *traffic) exits(least osmdata.Class) (roots []search.Source, barred []bool) {
	g := t.g
	barred = make([]bool, g.Star.ArcCount())
	seen := make([]bool, len(g.Vertex))
	for e := range int32(g.EdgeCount()) {
		if !isMain(g.Class[e], least) {
			continue
		}
		a := g.EdgeArc[e]
		barred[a], barred[g.Star.Twin[a]] = true, true
		for _, v := range [2]int32{g.Star.Head[a], g.Star.Head[g.Star.Twin[a]]} {
			if !seen[v] {
				seen[v] = true
				roots = append(roots, search.Source{Vertex: v})
			}
		}
	}
	return roots, barred
}

// delays are what each exit's draws are, from 0 to 1, by its square of exitSquareM:
// every exit has each part of the range once, in an order of its own (Latin
// hypercube; McKay, Beckman and Conover 1979, Technometrics 21:239-245), so that few
// draws are enough.
func (t *traffic) delays(roots []search.Source, draws int) [][]float64 {
	known := map[plane.Square][]float64{}
	out := make([][]float64, len(roots))
	for i := range roots {
		at := t.homes.Earth.Square(t.g.Vertex[roots[i].Vertex], exitSquareM)
		if known[at] == nil {
			known[at] = make([]float64, draws)
			for draw, rank := range trips.Shuffled(int64(at.Row)<<32^int64(at.Col), draws, t.seed) {
				known[at][draw] = (float64(rank) + .5) / float64(draws)
			}
		}
		out[i] = known[at]
	}
	return out
}

// down loads one tree, farthest vertex first, with a share of the trips, and gives
// what it does not reach.
func (t *traffic) down(tree *search.Tree, load, out []float64, share float64) (lost float64) {
	copy(load, t.starts)
	for k := len(tree.Settled) - 1; k >= 0; k-- {
		v := tree.Settled[k]
		if a := tree.Arc(v); a >= 0 {
			out[t.g.ArcEdge[a]] += load[v] * share
			load[t.g.Star.Head[t.g.Star.Twin[a]]] += load[v]
		}
		load[v] = 0
	}
	for _, x := range load {
		lost += x
	}
	return lost
}

// settle makes every junction sound: no arm carries more than the other arms
// together plus what starts there. An arm that does is lowered and both its ends
// are looked at again; flows only fall, so it ends. A dead end then has what it
// serves. An end of a larger road is no dead end: the road goes on outside the
// extract.
func (t *traffic) settle() {
	g := t.g
	queue, queued := make([]int32, 0, len(g.Vertex)), make([]bool, len(g.Vertex))
	for v := range g.Vertex {
		queue, queued[v] = append(queue, int32(v)), true
	}
	for len(queue) > 0 {
		v := queue[len(queue)-1]
		queue, queued[v] = queue[:len(queue)-1], false
		e, most := t.overloaded(v)
		if e < 0 {
			continue
		}
		t.aadt[e] = most
		tail, head := g.Ends(e)
		for _, w := range [2]int32{tail, head} {
			if !queued[w] {
				queue, queued[w] = append(queue, w), true
			}
		}
	}
}

// overloaded finds the arm at a vertex that carries more than it can, and how much
// it can; -1 if all is well.
func (t *traffic) overloaded(v int32) (edge int32, most float64) {
	g := t.g
	lo, hi := g.Star.First[v], g.Star.First[v+1]
	if hi-lo == 0 || hi-lo == 1 && t.open(g.ArcEdge[lo]) {
		return -1, 0
	}
	sum, largest := 0.0, lo
	for a := lo; a < hi; a++ {
		q := t.aadt[g.ArcEdge[a]]
		sum += q
		if q > t.aadt[g.ArcEdge[largest]] {
			largest = a
		}
	}
	e := g.ArcEdge[largest]
	most = sum - t.aadt[e] + t.starts[v] + junctionFloor
	if t.aadt[e] <= most+settledAADT {
		return -1, 0
	}
	return e, most
}

// open tells whether an edge that ends at a vertex of its own goes on outside.
func (t *traffic) open(e int32) bool {
	return t.g.OpenEdge[e] || isMain(t.g.Class[e], osmdata.Tertiary)
}

// carry brings the traffic to another graph of the same streets: vehicles a day by
// edge, cars and heavy vehicles apart.
func (t *traffic) carry(g *network.Graph) (cars, heavies []float32) {
	flows := newByWay(t.g, t.aadt)
	all := flows.carryTo(g, func(p *network.Part) float64 {
		if heavyShare[p.Class] > 0 {
			return heavyShare[p.Class]
		}
		return otherHeavy
	})
	cars, heavies = make([]float32, g.EdgeCount()), make([]float32, g.EdgeCount())
	for e := range cars {
		cars[e], heavies[e] = float32(all[e][0]-all[e][1]), float32(all[e][1])
	}
	return cars, heavies
}

// driven is the traffic as the ground is measured by it, nil where nothing is driven.
func (t *traffic) driven() *beside.Driven {
	if t == nil {
		return nil
	}
	return &beside.Driven{Streets: t.g, PerDay: t.aadt}
}
