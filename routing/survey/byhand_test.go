package survey

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/homes"
	"wideberth/routing/survey/sketch"
)

// TestWhatDrawsByHand: what each sort of place and building pulls at the ends of the one
// street that it stands on, by bicycle and on foot.
func TestWhatDrawsByHand(t *testing.T) {
	building := func(use string, side float64, levels float32) func(k *sketch.Map) {
		return func(k *sketch.Map) {
			k.X.Buildings = append(k.X.Buildings, osmdata.Building{Use: use, Levels: levels, Area: sketch.Footprint(100-side/2, 20, side)})
		}
	}
	place := func(as string, x, y float64) func(k *sketch.Map) {
		return func(k *sketch.Map) { sketch.Place(k, as, x, y) }
	}
	for what, c := range map[string]struct {
		draw    func(k *sketch.Map)
		bicycle [2]float64 // at the west end and at the east end
		foot    [2]float64
	}{
		"nothing":                     {func(*sketch.Map) {}, [2]float64{}, [2]float64{}},
		"a shop in the middle":        {place("shop", 100, 5), [2]float64{30, 30}, [2]float64{30, 30}},
		"a shop at a quarter":         {place("shop", 50, 5), [2]float64{45, 15}, [2]float64{45, 15}},
		"a school":                    {place("school", 200, 30), [2]float64{0, 300}, [2]float64{}},
		"a playground":                {place("playground", 0, 5), [2]float64{}, [2]float64{15, 0}},
		"a bus stop":                  {place("bus_stop", 100, 3), [2]float64{2.5, 2.5}, [2]float64{30, 30}},
		"a dog park":                  {place("dog_park", 100, 3), [2]float64{}, [2]float64{}},
		"what nobody goes to":         {place("bench", 100, 3), [2]float64{}, [2]float64{}},
		"a shop too far off":          {place("shop", 100, 201), [2]float64{}, [2]float64{}},
		"an office of two floors":     {building("office", 10, 2), [2]float64{2.4, 2.4}, [2]float64{2.4, 2.4}}, // 0.8 x 1.5 x 100 m2 x 2 / 50
		"an office that does not say": {building("office", 10, 0), [2]float64{1.8, 1.8}, [2]float64{1.8, 1.8}},
		"a huge one":                  {building("office", 150, 20), [2]float64{160, 160}, [2]float64{160, 160}}, // 0.8 x 400
		"a house":                     {building("house", 10, 2), [2]float64{}, [2]float64{}},
		"a small park":                {func(k *sketch.Map) { sketch.Area(k, "park", 95, 10, 10) }, [2]float64{3, 3}, [2]float64{3, 3}}, // 30 x 0.2 ha at least
		"a park of one hectare":       {func(k *sketch.Map) { sketch.Area(k, "park", 50, 10, 100) }, [2]float64{15, 15}, [2]float64{15, 15}},
		"a park of nine":              {func(k *sketch.Map) { sketch.Area(k, "park", -50, 10, 300) }, [2]float64{60, 60}, [2]float64{60, 60}}, // four at most
	} {
		k := sketch.New()
		k.Street(osmdata.Residential, sketch.Line(0, 0, 200, 0))
		c.draw(k)
		g := k.Net(t)
		west := slices.IndexFunc(g.Vertex, func(p plane.Point) bool { return p.NormM() < 1 })
		a := &assignment{ground: groundOf(t, g)}
		census := &homes.Census{Houses: []float64{10, 0}, Flats: []float64{5, 20}}
		for how, want := range map[means][2]float64{byBicycle: c.bicycle, onFoot: c.foot} {
			all, places := a.pulls(&k.X, g, census, how)
			if got := [2]float64{places[west], places[1-west]}; !about(got[0]+1, want[0]+1, 1e-5) || !about(got[1]+1, want[1]+1, 1e-5) {
				t.Errorf("%s (%d): %v, want %v", what, how, got, want)
			}
			for v := range all {
				if homesThere := census.Total(int32(v)); !about(all[v], places[v]+0.6*homesThere, 1e-9) {
					t.Errorf("%s: all %g, places %g, %g homes", what, all[v], places[v], homesThere)
				}
			}
		}
	}
}

// TestParksByHand: which areas are parks, how many hectares, which have visitors by car.
func TestParksByHand(t *testing.T) {
	for what, c := range map[string]struct {
		as      string
		side    float64
		carAtM  float64 // from its eastern edge; 0 for none
		path    bool
		found   bool
		parking bool
	}{
		"without ways":           {"park", 200, 0, false, false, false},
		"with a way":             {"park", 200, 0, true, true, false},
		"a dog park":             {"dog_park", 60, 0, true, true, false},
		"a school ground":        {"school", 200, 0, true, false, false},
		"with a car park":        {"park", 200, 149, true, true, true},
		"with one too far off":   {"park", 200, 151, true, true, false},
		"too small for cars":     {"park", 140, 20, true, true, false}, // 1.96 ha
		"just large enough":      {"park", 142, 20, true, true, true},
		"a dog park with a lane": {"dog_park", 142, 20, true, true, true},
	} {
		k := sketch.New()
		k.Street(osmdata.Residential, sketch.Line(-300, -50, 600, -50))
		if c.path {
			k.Street(osmdata.Path, sketch.Line(10, 20, 50, 20))
		}
		sketch.Place(k, "shop", 0, 0)
		sketch.Area(k, c.as, 0, 0, c.side)
		if c.carAtM > 0 {
			sketch.Place(k, "parking", c.side+c.carAtM, c.side/2)
		}
		parks := groundOf(t, k.Net(t)).findParks(&k.X)
		if len(parks) != map[bool]int{true: 1}[c.found] {
			t.Errorf("%s: %d parks", what, len(parks))
			continue
		}
		if !c.found {
			continue
		}
		if p := &parks[0]; p.feature != 1 || !about(p.ha, c.side*c.side/1e4, 1e-9) || len(p.inside) != 1 || !about(p.insideM, 40, 1e-4) || len(p.entries) != 2 || p.parking != c.parking {
			t.Errorf("%s: %+v", what, *p)
		}
		if parkOf(parks, 1) != 0 || parkOf(parks, 0) != -1 || parkOf(parks, 2) != -1 || parkOf(nil, 1) != -1 {
			t.Errorf("%s: parks are not found by their features", what)
		}
	}
	for ha, want := range map[float64]float64{0: 0.2, 0.1: 0.2, 0.2: 0.2, 1: 1, 3.9: 3.9, 4: 4, 50: 4} {
		if got := hectaresPull(ha); got != want {
			t.Errorf("%g ha pull like %g, want %g", ha, got, want)
		}
	}
}

// TestVisitsInsideAPark: 800 m a visit but no more than twice round, twenty visits a
// hectare at most, and those who come by car.
func TestVisitsInsideAPark(t *testing.T) {
	for _, c := range []struct {
		p             park
		dogs          float64
		dogM, peopleM float64
	}{
		{park{ha: 1, inside: []int32{0, 1}, insideM: 1000}, 5, 5 * 800, 0},
		{park{ha: 1, inside: []int32{0, 1}, insideM: 300}, 5, 5 * 600, 0},
		{park{ha: 1, inside: []int32{0, 1}, insideM: 1000}, 50, 20 * 800, 0},
		{park{ha: 0.05, inside: []int32{1}, insideM: 1000}, 50, 4 * 800, 0},
		{park{ha: 3, inside: []int32{0, 1}, insideM: 1000, parking: true}, 5, 15 * 800, 40 * 800},
		{park{ha: 3, inside: []int32{0, 1}, insideM: 1000, parking: true}, 55, 60 * 800, 40 * 800},
	} {
		a := &assignment{totals: map[string]float64{}}
		for i := range a.flows {
			a.flows[i] = make([]float64, 3)
		}
		a.inPark(&c.p, c.dogs)
		for _, e := range c.p.inside {
			if dogs, people := a.flows[exposure.DogWalks][e]*c.p.insideM, a.flows[exposure.WalkingTrips][e]*c.p.insideM; !about(dogs, c.dogM, 1e-9) || !about(people+1, c.peopleM+1, 1e-9) {
				t.Errorf("%+v with %g dogs: %g and %g m, want %g and %g", c.p, c.dogs, dogs, people, c.dogM, c.peopleM)
			}
		}
		if a.flows[exposure.DogWalks][2] != 0 || (a.totals["dogs by car to parks"] == 10) != c.p.parking {
			t.Errorf("%+v: outside %g, by car %g", c.p, a.flows[exposure.DogWalks][2], a.totals["dogs by car to parks"])
		}
	}
}

// TestPartingPairByPair: what comes to a vertex by one arc parts among the others by their
// weights, back only where there is no other, and nobody is lost.
func TestPartingPairByPair(t *testing.T) {
	rng := rand.New(rand.NewPCG(17, 2))
	for seed := range uint64(4) {
		g := sketch.Suburb(5, seed).Net(t)
		w := groundOf(t, g)
		weight := make([]float64, g.EdgeCount())
		for e := range weight {
			weight[e] = 0.2 + rng.Float64()
		}
		star := &g.Star
		n := star.ArcCount()
		flow, keep, next, want := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
		came, left := 0.0, 0.0
		for a := range flow {
			flow[a], keep[a] = rng.ExpFloat64(), 0.3+0.7*rng.Float64()
			came += flow[a] * keep[a]
			v, twin := star.Head[a], star.Twin[a]
			total := 0.0
			for b := star.First[v]; b < star.First[v+1]; b++ {
				if b != twin {
					total += weight[g.ArcEdge[b]]
				}
			}
			if total == 0 {
				want[twin] += flow[a] * keep[a]
			}
			for b := star.First[v]; b < star.First[v+1]; b++ {
				if b != twin {
					want[b] += flow[a] * keep[a] * weight[g.ArcEdge[b]] / total
				}
			}
		}
		wander := newWander(star, w.bends(weight, keep), make([]float64, n))
		for v := range int32(len(g.Vertex)) {
			copy(wander.sum, flow)
			wander.pass(v, nil)
			copy(next[star.First[v]:star.First[v+1]], wander.sum[star.First[v]:star.First[v+1]])
		}
		for a := range next {
			left += next[a]
			if math.Abs(next[a]-want[a]) > 1e-9 {
				t.Fatalf("seed %d: arc %d gets %.9g, want %.9g", seed, a, next[a], want[a])
			}
		}
		if !about(left, came, 1e-9) {
			t.Errorf("seed %d: %g came, %g went on", seed, came, left)
		}
	}
}

// TestRoadPiecesBySmallSteps: what a straight piece of road gives at a place is the sum of
// its points' shares 1/(2 pi r2), as of a line of sources that know nothing of each other.
func TestRoadPiecesBySmallSteps(t *testing.T) {
	rng := rand.New(rand.NewPCG(18, 2))
	at := func() plane.Point { return plane.Point{X: 200 * rng.Float64(), Y: 200 * rng.Float64()} }
	tried := 0
	for tried < 60 {
		p, a, b := at(), at(), at()
		dir := unitOf(a, b)
		if math.Abs(dir.Cross(p.Sub(a))) < levelBesideM || a.DistanceM(b) < 1 {
			continue
		}
		tried++
		const steps = 20000
		sum, long := 0.0, a.DistanceM(b)
		for i := range steps {
			q := a.Add(b.Sub(a).Mul((float64(i) + .5) / steps))
			r := q.DistanceM(p)
			sum += long / steps / (2 * math.Pi * r * r)
		}
		if got := heardFrom(p, a, b); !about(got, sum, 1e-4) {
			t.Errorf("from %v to %v at %v: %.6g, want %.6g", a, b, p, got, sum)
		}
		if there, back := heardFrom(p, a, b), heardFrom(p, b, a); !about(there, back, 1e-9) {
			t.Errorf("%g one way, %g the other", there, back)
		}
	}
}
