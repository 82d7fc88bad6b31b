package survey

import (
	"context"
	"math"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/sketch"
)

func surveyed(t testing.TB, k *sketch.Map, workers int) *assignment {
	t.Helper()
	a, _, err := assignAll(context.Background(), &k.X, k.Net(t), Options{Workers: workers}, &progress{})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// Trips times their lengths are what lies on the edges, and no more trips go than
// set out.
func TestErrandsConserveTrips(t *testing.T) {
	k := sketch.SmallTown(9)
	g := k.Net(t)
	w := groundOf(t, g)
	origin := make([]float64, len(g.Vertex))
	total := 0.0
	for v := range origin {
		origin[v] = 3
		total += 3
	}
	for _, er := range [...]*errand{&schoolErrand, &parkErrand} {
		dests := w.destinations(&k.X, er, w.findParks(&k.X))
		if len(dests) == 0 {
			t.Fatalf("no destinations for %s", er.name)
		}
		got, err := w.assign(context.Background(), er, dests, origin, 2, quiet)
		if err != nil {
			t.Fatal(err)
		}
		want, trips := metresByHand(w, er, dests, origin)
		if !about(got.metres, want, 1e-6) || !about(got.trips, trips, 1e-6) {
			t.Errorf("%s: %.4f trips over %.2f m, by hand %.4f over %.2f", er.name, got.trips, got.metres, trips, want)
		}
		if got.trips >= total {
			t.Errorf("%s: %g trips of %g", er.name, got.trips, total)
		}
		legs := 0.0
		for v, x := range got.legs {
			legs += origin[v] * x
		}
		if !about(legs, got.trips, 1e-6) {
			t.Errorf("%s: legs by home %g, trips %g", er.name, legs, got.trips)
		}
	}
}

// metresByHand is the slow twin: distances by relaxing all edges until nothing
// changes, trips one pair after the other.
func metresByHand(w *ground, er *errand, dests []destination, origin []float64) (metres, trips float64) {
	dist := make([][]float64, len(dests))
	pull := make([]float64, len(origin))
	for i, d := range dests {
		dist[i] = make([]float64, len(origin))
		for v := range dist[i] {
			dist[i][v] = math.Inf(1)
		}
		for _, s := range d.from {
			dist[i][s.Vertex] = min(dist[i][s.Vertex], s.Offset)
		}
		for changed := true; changed; {
			changed = false
			for e := range int32(w.g.EdgeCount()) {
				tail, head := w.g.Ends(e)
				long := float64(w.g.LengthM[e])
				if dist[i][tail]+long < dist[i][head] {
					dist[i][head], changed = dist[i][tail]+long, true
				}
				if dist[i][head]+long < dist[i][tail] {
					dist[i][tail], changed = dist[i][head]+long, true
				}
			}
		}
		for v, m := range dist[i] {
			if m <= errandLambdas*er.lambdaM {
				pull[v] += d.pull * math.Exp(-m/er.lambdaM)
			}
		}
	}
	for i, d := range dests {
		for v, m := range dist[i] {
			if m <= errandLambdas*er.lambdaM {
				n := origin[v] * d.pull * math.Exp(-m/er.lambdaM) / (pull[v] + er.outside)
				trips += n
				metres += n * m
			}
		}
	}
	return metres, trips
}

// The legs of a dwelling hold whatever is mapped: with places more of them lead to
// those.
func TestLegsHoldWhateverIsMapped(t *testing.T) {
	bare, full := sketch.Suburb(9, 6), sketch.SmallTown(9)
	for name, k := range map[string]*sketch.Map{"no places": bare, "places": full} {
		a := surveyed(t, k, 2)
		dwellings := a.totals["dwellings in houses"] + a.totals["dwellings in flats"]
		got := a.totals["legs on foot"] + a.totals["trips to schools"]
		if !about(got, a.habits.FootLegs*dwellings, 1e-9) {
			t.Errorf("%s: %g legs from %g dwellings", name, got, dwellings)
		}
		if sent := a.totals["trips on foot"]; !about(sent, a.totals["legs on foot"]+a.totals["legs of riders"]+a.totals["legs of visitors"], 1e-6) {
			t.Errorf("%s: %g of %g legs were walked, %g lost", name, sent, a.totals["legs on foot"], a.totals["legs lost"])
		}
		if (name == "places") != (a.totals["legs of riders"] > 0) {
			t.Errorf("%s: %g legs of riders", name, a.totals["legs of riders"])
		}
	}
}

// School trips go to schools alone, and near them.
func TestSchoolTripsLeadToSchools(t *testing.T) {
	k := sketch.SmallTown(9)
	a := surveyed(t, k, 2)
	g := a.ground.g
	near, far := 0.0, 0.0
	for e, n := range a.flows[exposure.SchoolTrips] {
		d := g.EdgeLine(int32(e)).At(float64(g.LengthM[e]) / 2).DistanceM(plane.Point{X: 600, Y: 600})
		switch {
		case d < 150:
			near = max(near, n)
		case d > 500:
			far = max(far, n)
		}
	}
	if near <= 3*far {
		t.Errorf("%g school trips a day near the school, %g far off", near, far)
	}
}

// There is no floor: two shops on a divided road far from any home have no crowd,
// and a street of shops among homes has one.
func TestShopsAloneDrawNoCrowd(t *testing.T) {
	k := sketch.SmallTown(6)
	lane := k.Street(osmdata.Primary, sketch.Line(9000, 0, 9400, 0))
	k.Street(osmdata.Primary, sketch.Line(9000, 12, 9400, 12))
	sketch.Place(k, "shop", 9100, -5)
	sketch.Place(k, "shop", 9200, -5)
	for range 6 {
		sketch.Place(k, "shop", 60, 0)
	}
	a := surveyed(t, k, 1)
	busiest, middle := 0.0, 0.0
	for e, n := range a.flows[exposure.WalkingTrips] {
		if a.shops[e] > 2 {
			busiest = max(busiest, n)
			if a.ground.place[e] != exposure.PlaceCentre {
				t.Errorf("edge %d with %d shops is no centre", e, a.shops[e])
			}
		}
		middle += n / float64(len(a.flows[exposure.WalkingTrips]))
	}
	if n := a.flows[exposure.WalkingTrips][sketch.EdgeOf(t, a.ground.g, lane)]; n > 1 || busiest < 1.3*middle {
		t.Errorf("%g people a day on the road, %g on the street of shops, %g on the mean street", n, busiest, middle)
	}
}

// Where hardly anything but homes is mapped the field says so.
func TestFewPlaces(t *testing.T) {
	k := sketch.SmallTown(9)
	for range 3 {
		sketch.Place(k, "shop", 300, 130)
	}
	bare, full := surveyed(t, sketch.Suburb(9, 6), 1), surveyed(t, k, 1)
	for v, few := range bare.few {
		if !few {
			t.Fatalf("without places: enough at vertex %d", v)
		}
	}
	for v, few := range full.few {
		if few {
			t.Fatalf("with places: few at vertex %d", v)
		}
	}
}

func TestParks(t *testing.T) {
	k := sketch.SmallTown(9)
	for i := range 4 { // ways inside
		y := 250 + 40*float64(i)
		k.Street(osmdata.Path, sketch.Line(480, y, 660, y))
		k.Street(osmdata.Path, sketch.Line(480, y, 480, y+40))
	}
	g := k.Net(t)
	w := groundOf(t, g)
	parks := w.findParks(&k.X)
	if len(parks) != 1 || len(parks[0].inside) == 0 || !about(parks[0].ha, 4, 1e-9) || !parks[0].parking {
		t.Fatalf("parks %+v", parks)
	}
	a := &assignment{ground: w, totals: map[string]float64{}}
	for i := range a.flows {
		a.flows[i] = make([]float64, g.EdgeCount())
	}
	p := &parks[0]
	a.inPark(p, 1e6)
	if got, most := passMetres(g, a.flows[exposure.DogWalks]), parkDogsPerHa*4*min(parkInsideM, parkLaps*p.insideM); !about(got, most, 1e-9) {
		t.Errorf("%g dog metres in the park, want the cap, %g", got, most)
	}
	for e := range a.flows[exposure.DogWalks] {
		if (a.flows[exposure.DogWalks][e] > 0) != (indexOf(p.inside, int32(e)) >= 0) {
			t.Errorf("edge %d: dogs where no park is, or none inside", e)
		}
	}
	if got := p.pull(); got != 4 {
		t.Errorf("pull %g", got)
	}
}

func indexOf(list []int32, x int32) int {
	for i, y := range list {
		if x == y {
			return i
		}
	}
	return -1
}

// More is walked by dogs in a park that is mapped than where there is none.
func TestParksDrawDogs(t *testing.T) {
	with, without := sketch.SmallTown(9), sketch.Suburb(9, 6)
	dogs := func(k *sketch.Map) (inside, all float64) {
		k.Street(osmdata.Path, sketch.Line(480, 250, 660, 420))
		a := surveyed(t, k, 2)
		g := a.ground.g
		for e, n := range a.flows[exposure.DogWalks] {
			all += n * float64(g.LengthM[e])
			if at := g.EdgeLine(int32(e)).At(float64(g.LengthM[e]) / 2); at.X > 470 && at.X < 670 && at.Y > 230 && at.Y < 430 {
				inside += n * float64(g.LengthM[e])
			}
		}
		return inside, all
	}
	a, _ := dogs(with)
	b, all := dogs(without)
	if a <= b {
		t.Errorf("%g dog metres with the park, %g without, of %g", a, b, all)
	}
}

// Everything on the ground is the same for any number of workers.
func TestFlowsForAnyNumberOfWorkers(t *testing.T) {
	one, eight := surveyed(t, sketch.SmallTown(8), 1), surveyed(t, sketch.SmallTown(8), 8)
	for p := range one.flows {
		for e := range one.flows[p] {
			if one.flows[p][e] != eight.flows[p][e] {
				t.Fatalf("%s on edge %d: %v and %v", exposure.Pattern(p), e, one.flows[p][e], eight.flows[p][e])
			}
		}
	}
}
