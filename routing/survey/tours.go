package survey

import (
	"cmp"
	"context"
	"math"
	"math/rand/v2"
	"slices"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/search"
	"wideberth/routing/survey/trips"
)

// Dog walks. 0.25 walks of 30 min for each American dwelling and day, 7.5
// dog-minutes: the published high route (15.0; 44.6 % of households, 1.2 walks of
// 28 min, Richards et al. 2014) lies at the 89 % and the low one (about 1.8, from a
// time-use diary) at the 13 % point of a Gamma of shape 1.5 about it. Other countries
// have as many walks a dog (Britain: 44 % of owners at least two a day, 6 % none, a
// survey of 3,000) and their own dogs (exposure.HabitsOf). In flats half as many, our
// assumption. The form of a walk is our assumption too.
const (
	dogWalksADay   = 0.25 / 0.446 // for each household with a dog
	dogWalkS       = 30 * 60
	dogsInFlats    = 0.5
	tourShape      = 3    // Gamma shape of a tour's length
	tourMostM      = 5000 // longest tour
	tourReachM     = 2600 // longest way home
	toursPerHome   = 12   // explicit tours for each home junction
	controlTours   = 3    // the killed walk counts like so many of them
	tourTolerance  = 1.05 // of the wished length
	tourHomeAgain  = 0.7  // of the wished length: back at the door after it ends the tour
	usedAgain      = 0.15 // weight of an edge walked before
	straightOnGain = 0.7  // ln weight between straight on and a right angle
)

// ground is the walkable network with what assignment needs of it.
type ground struct {
	g      *network.Graph
	router *search.Router
	cost   []float32 // metres on the ground by arc, whatever frame they are drawn in: thresholds decide by them
	place  []exposure.PlaceKind
	out    []plane.Point // by arc: unit direction in which it leaves its tail
	in     []plane.Point // by arc: and in which it comes to its head
	order  []int32       // arcs by tail in an order that the rest of the map does not change
}

func newGround(g *network.Graph, f plane.Frame, place []exposure.PlaceKind) (*ground, error) {
	router, err := search.NewRouter(&g.Star)
	if err != nil {
		return nil, err
	}
	n := g.Star.ArcCount()
	w := &ground{g: g, router: router, cost: make([]float32, n), place: place,
		out: make([]plane.Point, n), in: make([]plane.Point, n)}
	for e := range int32(g.EdgeCount()) {
		a := g.EdgeArc[e]
		b := g.Star.Twin[a]
		line := g.EdgeLine(e)
		long := float64(g.LengthM[e]) / f.Scale(line.At(float64(g.LengthM[e])/2))
		w.cost[a], w.cost[b] = float32(long), float32(long)
		first, last := unitOf(line[0], line[1]), unitOf(line[len(line)-2], line[len(line)-1])
		w.out[a], w.in[a] = first, last
		w.out[b], w.in[b] = last.Mul(-1), first.Mul(-1)
	}
	w.sortArcs()
	return w, nil
}

// sortArcs puts the arcs at each vertex in the order of the OSM nodes they lead
// to, then of length and direction: the same in a part of a map and in the whole.
func (w *ground) sortArcs() {
	star := &w.g.Star
	w.order = make([]int32, star.ArcCount())
	for a := range w.order {
		w.order[a] = int32(a)
	}
	for v := range w.g.Vertex {
		slices.SortFunc(w.order[star.First[v]:star.First[v+1]], func(a, b int32) int {
			return cmp.Or(cmp.Compare(w.g.VertexNode[star.Head[a]], w.g.VertexNode[star.Head[b]]), cmp.Compare(w.cost[a], w.cost[b]),
				cmp.Compare(w.out[a].X, w.out[b].X), cmp.Compare(w.out[a].Y, w.out[b].Y))
		})
	}
}

func unitOf(a, b plane.Point) plane.Point {
	d := b.Sub(a)
	if n := d.NormM(); n > 0 {
		return d.Mul(1 / n)
	}
	return plane.Point{}
}

// attractive is how much walkers for pleasure like a street, 1 for a residential
// one; our assumption.
var attractive = [osmdata.ClassCount]float64{osmdata.ClassOther: .5, osmdata.Motorway: .05, osmdata.Trunk: .1,
	osmdata.Primary: .2, osmdata.Secondary: .3, osmdata.Tertiary: .6, osmdata.Unclassified: .8, osmdata.Residential: 1,
	osmdata.LivingStreet: 1.2, osmdata.Service: .5, osmdata.Pedestrian: 1.2, osmdata.Track: 1.5, osmdata.Cycleway: 1.3,
	osmdata.Bridleway: 1.2, osmdata.Footway: 1.5, osmdata.Path: 1.5, osmdata.Steps: .6}

// parkGain multiplies the attractiveness of ways in parks and woods.
const parkGain = 3

// pleasure is the attractiveness of each edge for walkers.
func (w *ground) pleasure() []float64 {
	out := make([]float64, w.g.EdgeCount())
	for e := range out {
		out[e] = attractive[w.g.Class[e]]
		if w.g.Flags[e]&(osmdata.FlagPavement|osmdata.FlagCrossing) != 0 {
			out[e] = 1
		}
		if w.place[e] == exposure.PlacePark || w.place[e] == exposure.PlaceWoods {
			out[e] *= parkGain
		}
	}
	return out
}

// tours spreads metres a day from home junctions as closed random walks along
// the network: passes by edge. The passes times their lengths add up to the
// metres, whatever the ground; homes without any edge are lost, and counted.
//
// Each junction has random numbers of its own, from its OSM node, so that a part
// of a map has the same tours as the whole.
func (w *ground) tours(ctx context.Context, metres, weight []float64, perHome int, workers int, tick func(int)) ([]float64, error) {
	k := w.homeward()
	sum, err := trips.Gathered(ctx, k.Feet(), workers, w.g.EdgeCount(), tick, func(sum trips.Tallies) func(n int32) {
		t := newTourist(w, weight, k)
		visit := func(v int32) {
			if metres[v] > 0 {
				t.visit(v, metres[v], perHome, sum)
			}
		}
		return func(foot int32) {
			for v := range k.Doors(foot) {
				visit(v)
			}
		}
	})
	if err != nil {
		return nil, err
	}
	return sum.Passes(), nil
}

// homeward lays out the ways home of tours.
func (w *ground) homeward() *trips.Metric { return trips.NewMetric(w.g, w.cost, tourReachM) }

// tourist is one worker's scratch.
type tourist struct {
	w      *ground
	weight []float64
	used   []uint32 // by edge: the number of the tour that walked it last
	tour   uint32
	edges  []int32
	arcs   []int32
	odds   []float64
	all    [][]int32
	home   *trips.Homeward
	rand   *rand.Rand
}

func newTourist(w *ground, weight []float64, k *trips.Metric) *tourist {
	return &tourist{w: w, weight: weight, home: trips.NewHomeward(k), used: make([]uint32, w.g.EdgeCount())}
}

// visit makes the tours of one home junction.
func (t *tourist) visit(v int32, metres float64, n int, sum trips.Tallies) {
	seed := uint64(t.w.g.VertexNode[v])
	t.rand = rand.New(rand.NewPCG(seed, 0x746f757273))
	t.home.Leave(v)
	t.all = t.all[:0]
	for range n {
		if edges := t.walk(v); len(edges) > 0 {
			t.all = append(t.all, append([]int32(nil), edges...))
		}
	}
	if len(t.all) == 0 {
		t.all = append(t.all, t.toAndFro(v))
	}
	for _, edges := range t.all {
		length := 0.0
		for _, e := range edges {
			length += float64(t.w.g.LengthM[e])
		}
		for _, e := range edges {
			sum.Add(e, metres/float64(len(t.all))/length)
		}
	}
}

// toAndFro is the walk of those for whom no tour fits: along the first edge and
// back.
func (t *tourist) toAndFro(v int32) []int32 {
	first := t.w.g.Star.First[v]
	if first == t.w.g.Star.First[v+1] {
		return nil
	}
	e := t.w.g.ArcEdge[t.w.order[first]]
	return []int32{e, e}
}

// walk makes one tour: the edges in order, none if nothing fits.
func (t *tourist) walk(v int32) []int32 {
	length := 0.0
	for range tourShape {
		length -= math.Log(1 - t.rand.Float64())
	}
	length = min(tourMostM, length/tourShape*dogWalkS*exposure.DogWalks.SpeedMPS())
	t.home.Within(tourTolerance * length / 2) // whoever is farther off cannot be home in time
	t.tour++
	t.edges = t.edges[:0]
	at, walked, last := v, 0.0, int32(-1)
	for {
		a := t.choose(at, last, walked, length)
		if a < 0 {
			break
		}
		at, walked, last = t.take(a), walked+float64(t.w.cost[a]), a
		if at == v && walked >= tourHomeAgain*length {
			return t.edges
		}
	}
	for at != v {
		at = t.take(t.w.g.Star.Twin[t.home.Arc(at)])
	}
	return t.edges
}

// take walks an arc and gives the vertex it leads to.
func (t *tourist) take(a int32) int32 {
	e := t.w.g.ArcEdge[a]
	t.edges = append(t.edges, e)
	t.used[e] = t.tour
	return t.w.g.Star.Head[a]
}

// choose draws the next arc out of a vertex, -1 if none fits: never an about-turn,
// and only where the way home stays within the wished length.
func (t *tourist) choose(at, last int32, walked, length float64) int32 {
	star := &t.w.g.Star
	t.arcs, t.odds = t.arcs[:0], t.odds[:0]
	home, total := t.home.DistM(at), 0.0
	for _, a := range t.w.order[star.First[at]:star.First[at+1]] {
		long := float64(t.w.cost[a])
		dist := t.home.DistM(star.Head[a])
		if last >= 0 && a == star.Twin[last] || walked+long+dist > tourTolerance*length {
			continue
		}
		e := t.w.g.ArcEdge[a]
		odds := t.weight[e]
		if t.used[e] == t.tour {
			odds *= usedAgain
		}
		gain := 0.0
		if last >= 0 {
			gain = straightOnGain * t.w.in[last].Dot(t.w.out[a])
		}
		if walked >= length/2 && long > 0 {
			gain += (home - dist) / long
		}
		odds *= math.Exp(gain)
		total += odds
		t.arcs, t.odds = append(t.arcs, a), append(t.odds, odds)
	}
	return t.draw(total)
}

func (t *tourist) draw(total float64) int32 {
	x := t.rand.Float64() * total
	for i, odds := range t.odds {
		if x -= odds; x < 0 {
			return t.arcs[i]
		}
	}
	if len(t.arcs) == 0 || total == 0 {
		return -1
	}
	return t.arcs[len(t.arcs)-1]
}
