package survey

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"sort"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"

	"wideberth/exposure"
	"wideberth/exposure/hours"
	"wideberth/osmdata"
	"wideberth/osmdata/flatfile"
	"wideberth/routing/network"
	"wideberth/routing/survey/sketch"
)

// deciles are the 10, 50 and 90 % points of a flow over the edges of a class, by
// length.
func deciles(g *network.Graph, flow func(e int32) float64, pick func(e int32) bool) [3]float64 {
	type edge struct{ q, m float64 }
	var all []edge
	total := 0.0
	for e := range int32(g.EdgeCount()) {
		if pick(e) {
			all = append(all, edge{flow(e), float64(g.LengthM[e])})
			total += float64(g.LengthM[e])
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i].q < all[j].q })
	var out [3]float64
	at, k := 0.0, 0
	for _, x := range all {
		for at += x.m; k < 3 && at >= [3]float64{.1, .5, .9}[k]*total; k++ {
			out[k] = x.q
		}
	}
	return out
}

// limits is what a figure of a whole state must lie between.
type limits struct {
	name      string
	got       float64
	low, high float64
	source    string
}

func (l limits) check(t *testing.T) {
	t.Helper()
	t.Logf("%-44s %12.2f   (%g to %g, %s)", l.name, l.got, l.low, l.high, l.source)
	if !(l.got >= l.low && l.got <= l.high) {
		t.Errorf("%s: %g lies outside %g to %g (%s)", l.name, l.got, l.low, l.high, l.source)
	}
}

// Levels on a real state: what is published in that order, what a measured
// prototype found, and that the two ways to spread dogs agree there.
func TestStateFlows(t *testing.T) {
	x, g := sketch.State(t, "delaware-latest.osm.pbf")
	begun := time.Now()
	a, _, err := assignAll(context.Background(), x, g, Options{Workers: 1}, &progress{})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("flows in %.1f s on one worker", time.Since(begun).Seconds())
	for _, k := range sortedNames(a.totals) {
		t.Logf("  %-24s %.0f", k, a.totals[k])
	}
	f := a.field(g)
	on := func(c osmdata.Class, p exposure.Pattern, share float64) [3]float64 {
		return deciles(g, func(e int32) float64 { return float64(f.OwnPerDay[p][e]) * share }, func(e int32) bool { return g.Class[e] == c })
	}
	dogs, people := on(osmdata.Residential, exposure.DogWalks, .085), on(osmdata.Residential, exposure.WalkingTrips, .075)
	cars, collector := on(osmdata.Residential, exposure.CarTraffic, 1), on(osmdata.Tertiary, exposure.CarTraffic, 1)
	homes := a.totals["dwellings in houses"] + a.totals["dwellings in flats"]
	const local = "FHWA 2013, local roads 15 to 400 rural, 80 to 700 urban; from memory"
	for _, l := range []limits{
		{"dwellings", homes, 400e3, 520e3, "about 450,000 housing units; from memory"},
		{"share of dwellings lost", a.totals["dwellings lost"] / homes, 0, .04, "our bound"},
		{"dogs/h at 8, residential, 10 %", dogs[0], .5, 1.7, "prototype 1.0"},
		{"dogs/h at 8, residential, median", dogs[1], 1, 2.6, "prototype 1.7"},
		{"dogs/h at 8, residential, 90 %", dogs[2], 1.9, 4.5, "prototype 3.0"},
		{"people/h at 8, residential, median", people[1], 1.5, 30, "prototype 2.5; common practice 5 to 30"},
		{"AADT, residential, 10 %", cars[0], 15, 100, local},
		{"AADT, residential, median", cars[1], 40, 400, local},
		{"AADT, residential, 90 %", cars[2], 200, 900, local},
		{"AADT, tertiary, median", collector[1], 300, 6300, "FHWA 2013, collectors; from memory"},
		{"million vehicle km a day", a.totals["vehicle km"] / 1e6, 30, 55, "about ten billion vehicle-miles a year, 45; from memory"},
	} {
		l.check(t)
	}
	stateTwin(t, a)
}

// stateTwin compares tours with the killed walk on the state.
func stateTwin(t *testing.T, a *assignment) {
	w := a.ground
	metres, want := make([]float64, len(w.g.Vertex)), 0.0
	for v := range metres {
		metres[v] = 500 * a.census.Houses[v]
		want += metres[v]
	}
	weight := w.pleasure()
	tours, err := w.tours(context.Background(), metres, weight, toursPerHome, 2, quiet)
	if err != nil {
		t.Fatal(err)
	}
	killed, err := w.killedWalk(context.Background(), metres, weight, dogWalkS*1.1/2, 2)
	if err != nil {
		t.Fatal(err)
	}
	limits{"tours: share of metres walked", passMetres(w.g, tours) / want, 1 - 1e-6, 1 + 1e-6, "conservation"}.check(t)
	limits{"rank correlation of tours and killed walk", rankCorrelation(tours, killed), .75, 1, "prototype 0.83 to 0.91"}.check(t)
}

// rankCorrelation is Spearman's.
func rankCorrelation(a, b []float64) float64 {
	return stat.Correlation(ranks(a), ranks(b), nil)
}

func ranks(xs []float64) []float64 {
	order := make([]int, len(xs))
	for i := range order {
		order[i] = i
	}
	sort.Slice(order, func(i, j int) bool { return xs[order[i]] < xs[order[j]] })
	out := make([]float64, len(xs))
	for r := 0; r < len(order); {
		end := r
		for end < len(order) && xs[order[end]] == xs[order[r]] {
			end++
		}
		for k := r; k < end; k++ {
			out[order[k]] = float64(r+end-1) / 2
		}
		r = end
	}
	return out
}

// The whole field of the state: its cost, its size, and the expected reactions in
// half an hour on its residential streets.
func TestStateField(t *testing.T) {
	x, g := sketch.State(t, "delaware-latest.osm.pbf")
	begun := time.Now()
	f := survey(t, x, g, 2)
	t.Logf("field of %d edges in %.1f s on two workers, %d sources, %d touches", g.EdgeCount(), time.Since(begun).Seconds(), len(f.Sources), len(f.Touches))
	path := filepath.Join(t.TempDir(), "field")
	w, err := flatfile.Create(path, [8]byte{'s', 't', 'a', 't', 'e', 't', 's', 't'}, 1)
	if err != nil {
		t.Fatal(err)
	}
	f.Encode(w, "")
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	zone, err := time.LoadLocation("America/New_York")
	if err != nil {
		t.Fatal(err)
	}
	clock := &hours.Clock{Loc: zone, Lat: 39.2, Lon: -75.5}
	dog := &exposure.Dog{ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: 40, ReactionM: 20}}}
	h := f.Sums(dog, nil).Hazard(clock.At(time.Date(2026, 11, 4, 17, 15, 0, 0, zone)), nil, nil)
	q := deciles(g, func(e int32) float64 { return float64(h[e]) * 1800 }, func(e int32) bool { return g.Class[e] == osmdata.Residential })
	timeSums(t, f, clock)
	for _, l := range []limits{
		{"MB written", float64(info.Size()) / 1e6, 5, 60, "our bound"},
		{"X in 30 min at 17 h, W 40 m, residential", q[1], .4, 2, "prototype 0.9 on random loops"},
		{"the same, 10 %", q[0], .1, 1, "something to gain everywhere"},
	} {
		l.check(t)
	}
}

// timeSums tells what a dog that reacts to everything costs on 5,000 edges about
// one place: the least of several runs, since the machine may be busy.
func timeSums(t *testing.T, f *exposure.Field, clock *hours.Clock) {
	dog := &exposure.Dog{ByKind: map[exposure.Kind]exposure.Need{}}
	for k := range exposure.KindCount {
		dog.ByKind[k] = k.Info().Default
	}
	edges := make([]int32, 5000) // edges stand along a curve that fills the map: neighbours are near
	for i := range edges {
		edges[i] = int32(f.EdgeCount()/2 + i)
	}
	sums, week := math.Inf(1), math.Inf(1)
	monday := time.Date(2026, 11, 2, 0, 30, 0, 0, clock.Loc)
	for range 15 {
		begun := time.Now()
		s := f.Sums(dog, edges)
		sums = min(sums, time.Since(begun).Seconds())
		begun = time.Now()
		var out []float32
		for h := range 168 {
			out = s.Hazard(clock.At(monday.Add(time.Duration(h)*time.Hour)), nil, out)
		}
		week = min(week, time.Since(begun).Seconds())
	}
	t.Logf("5,000 edges, all kinds: sums %.2f ms, a week by hours %.1f ms", sums*1e3, week*1e3)
}

func sortedNames(m map[string]float64) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
