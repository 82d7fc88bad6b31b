package survey

import (
	"math"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/homes"
	"wideberth/routing/survey/sketch"
)

// wheelsOf is what bicycles use of a sketch.
func wheelsOf(t testing.TB, k *sketch.Map) *wheels {
	t.Helper()
	g, err := ridable(&k.X)
	if err != nil {
		t.Fatal(err)
	}
	w, err := newWheels(&k.X, g, homes.Find(&k.X, 2, nil))
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// twoQuarters are homes in the west and shops in the east, joined by two ways of one
// length: the first along y = 300, the second along y = -300.
func twoQuarters(first, second osmdata.Class) (k *sketch.Map, a, b *osmdata.Street) {
	k = sketch.New()
	for i := range 6 {
		x := -100 * float64(i)
		k.Street(osmdata.Residential, sketch.Line(x, 0, x-100, 0))
		k.Street(osmdata.Residential, sketch.Line(x-100, 0, x-100, 250))
		sketch.Place(k, "shop", 1510+20*float64(i), 5)
	}
	k.Street(first, sketch.Line(0, 0, 0, 300, 1500, 300, 1500, 0))
	k.Street(second, sketch.Line(0, 0, 0, -300, 1500, -300, 1500, 0))
	k.Street(osmdata.Residential, sketch.Line(1500, 0, 1700, 0))
	n := len(k.X.Streets)
	return k, &k.X.Streets[n-3], &k.X.Streets[n-2]
}

// ridden is the wheel trips a day on a street, on the riders' own network.
func ridden(t testing.TB, a *assignment, s *osmdata.Street) float64 {
	t.Helper()
	return a.riders.flow[sketch.EdgeOf(t, a.riders.g, s)]
}

// What riders choose between two ways of one length.
func TestRidersChoose(t *testing.T) {
	for _, c := range []struct {
		name        string
		worse       osmdata.Class
		better      osmdata.Class
		worseFlags  osmdata.StreetFlags
		betterFlags osmdata.StreetFlags
		least       float64 // times as many on the better way
	}{
		{"a cycleway beside a primary road", osmdata.Primary, osmdata.Cycleway, 0, 0, 3},
		{"a quiet street beside a secondary road", osmdata.Secondary, osmdata.Residential, 0, 0, 1.3},
		{"a primary road with a track", osmdata.Primary, osmdata.Primary, 0, osmdata.FlagCycleTrack, 3},
		{"a primary road with a lane", osmdata.Primary, osmdata.Primary, 0, osmdata.FlagCycleLane, 2},
		{"a paved track", osmdata.Track, osmdata.Track, osmdata.FlagUnpaved, 0, 2},
		{"a path open to bicycles", osmdata.Path, osmdata.Path, 0, osmdata.FlagBicycle, 5},
	} {
		k, a, b := twoQuarters(c.worse, c.better)
		a.Flags, b.Flags = c.worseFlags, c.betterFlags
		got := surveyed(t, k, 2)
		if worse, better := ridden(t, got, a), ridden(t, got, b); better < c.least*worse {
			t.Errorf("%s: %.1f on it, %.1f on the other", c.name, better, worse)
		}
	}
}

// Junctions cost: 30 m each in small streets, 10 m along through streets, and where
// a footpath joins is none.
func TestJunctionsCostRiders(t *testing.T) {
	for class, each := range map[osmdata.Class]float64{osmdata.Unclassified: rideJunctionM, osmdata.Tertiary: rideThroughM} {
		k := sketch.New()
		for i := range 11 {
			x := 100 * float64(i)
			k.Street(class, sketch.Line(x, 0, x+100, 0))
			if i > 0 {
				k.Street(osmdata.Footway, sketch.Line(x, 0, x, -60))
				k.Street(osmdata.Unclassified, sketch.Line(x, 0, x, 60))
			}
		}
		w := wheelsOf(t, k)
		cost, sum := w.costs(nil), 0.0
		for e := range int32(w.g.EdgeCount()) {
			if w.g.Class[e] == class && w.g.EdgeLine(e)[0].Y == 0 && w.g.EdgeLine(e)[1].Y == 0 {
				sum += float64(cost[w.g.EdgeArc[e]])
			}
		}
		if want := 1100*rideCost[class] + 10*each; !about(sum, want, 1e-5) {
			t.Errorf("class %d: %g, want %g", class, sum, want)
		}
	}
}

// Nobody rides against one-way traffic for long, unless it is allowed; half of the
// trips then come back another way.
func TestRidersAndOneWayStreets(t *testing.T) {
	for _, c := range []struct {
		flags         osmdata.StreetFlags
		along, agains float64
	}{
		{0, 1, 1}, {osmdata.FlagOneWay, 1, rideAgainst}, {osmdata.FlagOneWay | osmdata.FlagCycleBothWays, 1, 1},
	} {
		p := network.Part{Class: osmdata.Residential, Flags: c.flags}
		if a, b := rideFactors(&p); a != c.along || b != c.agains {
			t.Errorf("flags %b: %g and %g", c.flags, a, b)
		}
		p.Run = 1
		if a, b := rideFactors(&p); a != c.agains || b != c.along {
			t.Errorf("flags %b, drawn the other way: %g and %g", c.flags, a, b)
		}
	}
}

// Climbs: Broach, Dill and Gliebe 2012, from memory: 37 % more at 2 to 4 %, 120 %
// more at 4 to 6 %, 320 % more beyond.
func TestClimbFactor(t *testing.T) {
	for slope, want := range map[float64]float64{-.1: 1, 0: 1, .019: 1, .03: 1.37, .05: 2.2, .08: 4.2} {
		if got := climbFactor(slope); got != want {
			t.Errorf("slope %g costs %g, want %g", slope, got, want)
		}
	}
	k, a, b := twoQuarters(osmdata.Residential, osmdata.Residential)
	w := wheelsOf(t, k)
	cost := w.costs(func(l plane.Polyline) (float64, float64) {
		if l.Box().Max.Y > 250 && l.Box().Max.X > 100 {
			return 2.2, 1 // a hill in the north, up along the line
		}
		return 1, 1
	})
	g := w.g
	hill, flat := sketch.EdgeOf(t, g, a), sketch.EdgeOf(t, g, b)
	up, down := cost[g.EdgeArc[hill]], cost[g.Star.Twin[g.EdgeArc[hill]]]
	if level := cost[g.EdgeArc[flat]]; up < 2*level || math.Abs(float64(down-level)) > 1 {
		t.Errorf("up the hill %g, down %g, level %g", up, down, level)
	}
}

// Who rides where.
func TestRides(t *testing.T) {
	for _, c := range []struct {
		s    osmdata.Street
		want bool
	}{
		{osmdata.Street{Class: osmdata.Motorway, Motor: true}, false},
		{osmdata.Street{Class: osmdata.Primary, Motor: true}, true},
		{osmdata.Street{Class: osmdata.Residential, Motor: true, Flags: osmdata.FlagNoBicycle}, false},
		{osmdata.Street{Class: osmdata.Footway, Foot: true}, true},
		{osmdata.Street{Class: osmdata.Footway, Foot: true, Flags: osmdata.FlagPavement}, false},
		{osmdata.Street{Class: osmdata.Cycleway, Flags: osmdata.FlagBicycle}, true},
		{osmdata.Street{Class: osmdata.Path}, false},
	} {
		if got := rides(&c.s); got != c.want {
			t.Errorf("%+v: %v", c.s, got)
		}
	}
}

// What is ridden on streets that are walked is on the walkable network, what is
// ridden elsewhere is met from it; together it is all.
func TestWheelsOnBothNetworks(t *testing.T) {
	k, _, b := twoQuarters(osmdata.Residential, osmdata.Cycleway)
	b.Foot, b.Flags = false, osmdata.FlagBicycle
	a := surveyed(t, k, 2)
	walk, own := 0.0, 0.0
	for e, q := range a.flows[exposure.WheelTrips] {
		walk += q * float64(a.ground.g.LengthM[e])
	}
	for e, q := range a.riders.besides(a.ground.g) {
		own += float64(q) * float64(a.riders.g.LengthM[e])
	}
	all := a.totals["bicycle km"] * 1000 / exposure.BicyclesAmongWheels
	if !about(walk+own, all, 1e-3) || own < .1*all {
		t.Errorf("%.0f m on walkable ways, %.0f m on others, of %.0f", walk, own, all)
	}
}

// How much people ride by density of homes: German metropolises 1.36, villages 0.55
// of the mean (MiD 2023, 15 and 6 % of trips against 11).
func TestRidingByDensity(t *testing.T) {
	for perKM2, want := range map[float64]float64{2000: 1.36, 570: 1, 50: .55} {
		if got := riding(perKM2); !about(got, want, .02) {
			t.Errorf("%g dwellings a km2: %g, want %g", perKM2, got, want)
		}
	}
	if riding(0) != rideLeast || riding(1e6) != rideMost {
		t.Error("no bounds")
	}
}
