package survey

import (
	"errors"
	"hash/fnv"
	"math"

	"wideberth/osmdata"
	"wideberth/routing/network"
	"wideberth/routing/search"
)

// Motor traffic as vehicles a day, both directions together (AADT). The values by
// class are the middles of the ranges of FHWA's functional classes (Highway
// Functional Classification 2013, tables 3-5 and 3-6, from memory), mapped to OSM's
// by us; what serves homes is assigned.
var classAADT = [osmdata.ClassCount]float64{osmdata.Motorway: 50000, osmdata.Trunk: 15000, osmdata.Primary: 10000,
	osmdata.Secondary: 6000, osmdata.Tertiary: 2500}

// throughAADT is traffic on local streets that serves none of their homes; our
// assumption.
var throughAADT = [osmdata.ClassCount]float64{osmdata.Unclassified: 150, osmdata.Residential: 50, osmdata.LivingStreet: 10,
	osmdata.Service: 5, osmdata.Pedestrian: 1, osmdata.Track: 2}

// usualLanes are the lanes, both directions together, that classAADT is for.
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
	otherHeavy     = .02
	vehicleTrips   = 8.0
	catchmentDraws = 4
	drawLow        = 0.7 // travel times vary by this much between draws
	drawHigh       = 1.3
	linkShare      = 0.2 // of the class value on ramps
	lanesLeast     = 0.6
	lanesMost      = 2.5
	tertiaryFloor  = 300.0
	tertiaryMost   = 6000.0
	junctionFloor  = 10.0 // vehicles a day that an arm may carry beyond the others
	settledAADT    = 0.5  // a violation smaller than this is settled
)

// traffic is motor traffic on its own network.
type traffic struct {
	g      *network.Graph
	router *search.Router
	starts []float64 // vehicle trips that start or end at each vertex, a day
	aadt   []float64 // by edge
	lost   float64   // trips from homes that no main road is reached from
}

// newTraffic assigns motor traffic; nil where nothing may be driven on.
func newTraffic(x *osmdata.Extract, h *homes) (*traffic, error) {
	g, _, err := network.Build(x.Streets, nil, network.Options{Use: func(s *osmdata.Street) bool { return s.Motor }, MinIslandM: -1})
	if errors.Is(err, network.ErrNoStreets) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	router, err := search.NewRouter(&g.Star)
	if err != nil {
		return nil, err
	}
	t := &traffic{g: g, router: router, aadt: make([]float64, g.EdgeCount())}
	c := h.settle(x, newLocator(g))
	t.starts = make([]float64, len(g.Vertex))
	for v := range t.starts {
		t.starts[v] = vehicleTrips * c.total(int32(v))
	}
	if err := t.assign(); err != nil {
		return nil, err
	}
	t.settle()
	return t, nil
}

// assign gives each edge its traffic before junctions are looked at.
func (t *traffic) assign() error {
	local, lost, err := t.catchment(osmdata.Tertiary)
	if err != nil {
		return err
	}
	t.lost = lost
	upper, _, err := t.catchment(osmdata.Secondary)
	if err != nil {
		return err
	}
	for e := range t.aadt {
		switch c := t.g.Class[e]; {
		case isMain(c, osmdata.Secondary):
			t.aadt[e] = t.byClass(int32(e))
		case c == osmdata.Tertiary:
			t.aadt[e] = min(tertiaryMost, max(t.byClass(int32(e))/2, upper[e]+tertiaryFloor))
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
	q := classAADT[c]
	oneWay := flags&osmdata.FlagOneWay != 0
	if lanes := float64(t.g.Parts[t.g.PartAt[e]].Lanes); lanes > 0 && usualLanes[c] > 0 {
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
// times: vehicles a day by edge, and the trips that no such junction is reached
// from.
func (t *traffic) catchment(least osmdata.Class) (out []float64, lost float64, err error) {
	g := t.g
	out = make([]float64, g.EdgeCount())
	cost, barred := make([]float32, g.Star.ArcCount()), make([]bool, g.Star.ArcCount())
	var roots []search.Source
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
	load := make([]float64, len(g.Vertex))
	for draw := range catchmentDraws {
		for e := range int32(g.EdgeCount()) {
			s := float32(float64(g.LengthM[e]) / driveMPS[g.Class[e]] * (drawLow + (drawHigh-drawLow)*t.chance(e, draw)))
			a := g.EdgeArc[e]
			cost[a], cost[g.Star.Twin[a]] = s, s
		}
		tree, err := t.router.Reach(roots, cost, search.Span{Cutoff: math.Inf(1), Barred: barred})
		if err != nil {
			return nil, 0, err
		}
		lost += t.down(tree, load, out) / catchmentDraws
		tree.Release()
	}
	return out, lost, nil
}

// down loads one tree, farthest vertex first, and gives what it does not reach.
func (t *traffic) down(tree *search.Tree, load, out []float64) (lost float64) {
	copy(load, t.starts)
	for k := len(tree.Settled) - 1; k >= 0; k-- {
		v := tree.Settled[k]
		if a := tree.Arc(v); a >= 0 {
			out[t.g.ArcEdge[a]] += load[v] / catchmentDraws
			load[t.g.Star.Head[t.g.Star.Twin[a]]] += load[v]
		}
		load[v] = 0
	}
	for _, x := range load {
		lost += x
	}
	return lost
}

// chance is a number from 0 to 1 of an edge's own, by its ways and the draw, so
// that a part of a map draws as the whole does.
func (t *traffic) chance(e int32, draw int) float64 {
	p := &t.g.Parts[t.g.PartAt[e]]
	h := fnv.New64a()
	var key [13]byte
	for i := range 8 {
		key[i] = byte(uint64(p.Street) >> (8 * i))
	}
	for i := range 4 {
		key[8+i] = byte(int32(p.StreetM) >> (8 * i))
	}
	key[12] = byte(draw)
	h.Write(key[:])
	return float64(h.Sum64()>>11) / (1 << 53)
}

// settle makes every junction sound: no arm carries more than the other arms
// together plus what starts there. An arm that does is lowered and both its ends
// are looked at again; flows only fall, so it ends. A dead end then has what it
// serves. An end of a larger road is no dead end: the road goes on outside the
// extract.
func (t *traffic) settle() {
	g := t.g
	queue, queued := make([]int32, len(g.Vertex)), make([]bool, len(g.Vertex))
	for v := range queue {
		queue[v], queued[v] = int32(v), true
	}
	for len(queue) > 0 {
		v := queue[len(queue)-1]
		queue, queued[v] = queue[:len(queue)-1], false
		e, most := t.overloaded(v)
		if e < 0 {
			continue
		}
		t.aadt[e] = most
		tail, head := ends(g, e)
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

// byWay finds traffic by place along OSM ways.
type byWay map[int64][]wayRun

type wayRun struct {
	loM, hiM float64
	aadt     float64
}

func (t *traffic) byWay() byWay {
	out := make(byWay, len(t.g.Parts))
	for way, runs := range newLocator(t.g).runs {
		for _, r := range runs {
			out[way] = append(out[way], wayRun{r.loM, r.hiM, t.aadt[r.edge]})
		}
	}
	return out
}

// carry brings the traffic to another graph of the same streets: vehicles a day by
// edge, the mean over its parts by length; cars and heavy vehicles apart.
func (b byWay) carry(g *network.Graph) (cars, heavies []float32) {
	cars, heavies = make([]float32, g.EdgeCount()), make([]float32, g.EdgeCount())
	for e := range int32(g.EdgeCount()) {
		long := float64(g.LengthM[e])
		for i := g.PartAt[e]; i < g.PartAt[e+1]; i++ {
			p, to := &g.Parts[i], long
			if i+1 < g.PartAt[e+1] {
				to = float64(g.Parts[i+1].FromM)
			}
			q := b.mean(p.Street, p, to) * (to - float64(p.FromM)) / long
			heavy := otherHeavy
			if heavyShare[p.Class] > 0 {
				heavy = heavyShare[p.Class]
			}
			cars[e] += float32(q * (1 - heavy))
			heavies[e] += float32(q * heavy)
		}
	}
	return cars, heavies
}

// mean is the traffic on the run of a way that a part covers, by length.
func (b byWay) mean(way int64, p *network.Part, toM float64) float64 {
	lo, hi := onWay(p, float64(p.FromM), toM)
	sum, covered := 0.0, 0.0
	for _, r := range b[way] {
		if over := min(hi, r.hiM) - max(lo, r.loM); over > 0 {
			sum += over * r.aadt
			covered += over
		}
	}
	if covered == 0 {
		return 0
	}
	return sum / covered
}
