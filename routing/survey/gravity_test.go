package survey

import (
	"context"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/search"
	"wideberth/routing/survey/sketch"
)

// trial is a gravity assignment on the grid of a suburb, with homes that differ and
// places here and there.
func trial(t testing.TB, n int, zoneM float64, sets int) *gravity {
	t.Helper()
	g := sketch.Suburb(n, 6).Net(t)
	router, err := search.NewRouter(&g.Star)
	if err != nil {
		t.Fatal(err)
	}
	base := make([]float32, g.Star.ArcCount())
	for a, e := range g.ArcEdge {
		base[a] = g.LengthM[e]
		if e%7 == 0 && a%2 == 0 {
			base[a] *= 3 // dear in one direction
		}
	}
	m := &gravity{g: g, router: router, lambdaM: 400, zoneM: zoneM, workers: 2, tick: quiet,
		origin: make([]float64, len(g.Vertex)), pull: make([]float64, len(g.Vertex))}
	m.costs = [][]float32{base}
	if sets > 1 {
		m.costs = perturbed(g, base, sets, 0)
	}
	for v := range m.origin {
		m.origin[v] = float64(1 + v%5)
		m.pull[v] = float64(v % 3)
		if v%17 == 0 {
			m.pull[v] = 60
		}
	}
	return m
}

func (m *gravity) run(t testing.TB) *sent {
	t.Helper()
	out, err := m.assign(context.Background(), plane.NewEarth(plane.Frame{}))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func total(xs []float64) (sum float64) {
	for _, x := range xs {
		sum += x
	}
	return sum
}

// Every home's trips are made, and arrive.
func TestTripsAreConserved(t *testing.T) {
	for _, zoneM := range []float64{1, 300, 20000} {
		m := trial(t, 10, zoneM, costSets)
		got := m.run(t)
		if want := total(m.origin); !about(got.trips+got.lost, want, 1e-6) || got.trips < .97*want {
			t.Errorf("zones of %g m: %.6f trips and %.6f lost of %.6f", zoneM, got.trips, got.lost, want)
		}
		if arrived := total(got.arrived); !about(arrived, got.trips, 1e-6) {
			t.Errorf("zones of %g m: %.6f arrived of %.6f", zoneM, arrived, got.trips)
		}
	}
}

// The slow twin: costs of all pairs by relaxing, trips one pair after the other,
// each walked along its path.
func TestTripsAgainstAllPairs(t *testing.T) {
	m := trial(t, 6, 1, 1)
	got := m.run(t)
	want := make([]float64, m.g.EdgeCount())
	cost, next := allPairs(m)
	pulls := make([]float64, len(m.origin))
	for r, pull := range m.pull {
		for v := range m.origin {
			if c := cost[r][v]; c <= reachLambdas*m.lambdaM {
				pulls[v] += pull * math.Exp(-c/m.lambdaM)
			}
		}
	}
	for r, pull := range m.pull {
		for v := range m.origin {
			c := cost[r][v]
			if pull == 0 || c > reachLambdas*m.lambdaM {
				continue
			}
			trips := m.origin[v] * pull * math.Exp(-c/m.lambdaM) / pulls[v]
			for at := int32(v); at != int32(r); {
				a := next[r][at]
				want[m.g.ArcEdge[a]] += trips
				at = m.g.Star.Head[a]
			}
		}
	}
	for e := range want {
		if !about(got.passes[e]+1e-6, want[e]+1e-6, 1e-5) {
			t.Errorf("edge %d: %.6f trips, pair by pair %.6f", e, got.passes[e], want[e])
		}
	}
}

// allPairs gives by destination and vertex the cost of the way between them, from
// the vertex or to it as the destination's draw says, and the arc towards the
// destination along that way.
func allPairs(m *gravity) (cost [][]float64, next [][]int32) {
	n := len(m.origin)
	cost, next = make([][]float64, n), make([][]int32, n)
	for r := range n {
		node := m.g.VertexNode[r]
		towards := mixedOf(node, node, 0, saltSet, m.seed)>>32&1 == 0
		cost[r], next[r] = make([]float64, n), make([]int32, n)
		for v := range n {
			cost[r][v] = math.Inf(1)
		}
		cost[r][r] = 0
		for changed := true; changed; {
			changed = false
			for a := range int32(m.g.Star.ArcCount()) {
				from, to := m.g.Star.Head[m.g.Star.Twin[a]], m.g.Star.Head[a]
				c := float64(m.costs[0][a])
				if !towards {
					c = float64(m.costs[0][m.g.Star.Twin[a]])
				}
				if cost[r][to]+c < cost[r][from]-1e-9 {
					cost[r][from], next[r][from], changed = cost[r][to]+c, a, true
				}
			}
		}
	}
	return cost, next
}

// Larger zones see the same streets as busy.
func TestZonesStandForTheirPlaces(t *testing.T) {
	all, few := trial(t, 14, 1, costSets), trial(t, 14, 120, costSets)
	a, b := all.run(t), few.run(t)
	if rho := stat.Correlation(a.passes, b.passes, nil); rho < .85 {
		t.Errorf("correlation %.3f between %d roots and zones of 120 m", rho, len(all.pull))
	}
	z, err := few.zones(plane.NewEarth(plane.Frame{}))
	if err != nil {
		t.Fatal(err)
	}
	if len(z.roots) > 150 || len(z.roots) < 60 || !about(total(z.pull), total(few.pull), 1e-9) {
		t.Errorf("%d roots that pull %g of %g", len(z.roots), total(z.pull), total(few.pull))
	}
}

// The number of workers changes nothing, to the last bit, and another seed does.
func TestTripsForAnyNumberOfWorkers(t *testing.T) {
	one, eight, other := trial(t, 9, 150, costSets), trial(t, 9, 150, costSets), trial(t, 9, 150, costSets)
	one.workers, eight.workers, other.seed = 1, 8, 1
	other.costs = perturbed(other.g, other.costs[0], costSets, 1)
	a, b, c := one.run(t), eight.run(t), other.run(t)
	same := 0
	for e := range a.passes {
		if a.passes[e] != b.passes[e] {
			t.Fatalf("edge %d: %v with one worker, %v with eight", e, a.passes[e], b.passes[e])
		}
		if a.passes[e] == c.passes[e] {
			same++
		}
	}
	if same > len(a.passes)/2 {
		t.Errorf("another seed changes %d of %d edges", len(a.passes)-same, len(a.passes))
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := one.assign(ctx, plane.NewEarth(plane.Frame{})); err == nil {
		t.Error("trips go on after the context ended")
	}
}

// Homes that nothing draws are lost, and counted.
func TestTripsFromWhereNothingDraws(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 0, 200, 0))
	k.Street(osmdata.Residential, sketch.Line(9000, 0, 9200, 0))
	g := k.Net(t)
	router, err := search.NewRouter(&g.Star)
	if err != nil {
		t.Fatal(err)
	}
	cost := make([]float32, g.Star.ArcCount())
	for a, e := range g.ArcEdge {
		cost[a] = g.LengthM[e]
	}
	m := &gravity{g: g, router: router, costs: [][]float32{cost}, lambdaM: 300, zoneM: 50, workers: 1, tick: quiet,
		origin: []float64{5, 5, 5, 5}, pull: make([]float64, 4)}
	for v, p := range g.Vertex {
		if p.X == 0 {
			m.pull[v] = 1
		}
	}
	if got := m.run(t); !about(got.trips, 10, 1e-9) || !about(got.lost, 10, 1e-9) {
		t.Errorf("%g trips, %g lost", got.trips, got.lost)
	}
	m.pull = make([]float64, 4)
	if got := m.run(t); got.trips != 0 || got.lost != 20 || total(got.passes) != 0 {
		t.Errorf("nothing draws: %+v", got)
	}
}

// evenTown is a square of streets 250 m apart, with homes along all of them and a
// shop at every fourth corner, cut out of endless ground.
func evenTown(sideM float64) *sketch.Map {
	const step = 250
	k := sketch.New()
	n := int(sideM / step)
	for i := range n + 1 {
		for j := range n + 1 {
			x, y := step*float64(i), step*float64(j)
			if i < n && j > 0 && j < n {
				k.Street(osmdata.Residential, sketch.Line(x, y, x+step, y))
			}
			if j < n && i > 0 && i < n {
				k.Street(osmdata.Residential, sketch.Line(x, y, x, y+step))
			}
			if i%2 == 1 && j%2 == 1 {
				sketch.Place(k, "shop", x+5, y)
			}
		}
	}
	return k
}

// On even ground as much is ridden inside a map as its people ride, however small
// the map is: who comes in makes up for who goes out.
func TestBorderOnEvenGround(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	sides := []float64{2000, 5000, 10000}
	middle := make([]float64, len(sides))
	for i, side := range sides {
		a := surveyed(t, evenTown(side), 2)
		inside, residents := a.totals["bicycle km"], a.totals["bicycle km of residents"]
		t.Logf("%5.0f m: %.0f km ridden inside, %.0f by residents, %d gates", side, inside, residents, len(a.riders.gates))
		if !about(inside, residents, .15) {
			t.Errorf("%g m: %.0f km ridden inside, %.0f by residents", side, inside, residents)
		}
		middle[i] = busiestNear(a, plane.Point{X: side / 2, Y: side / 2})
	}
	for i := range sides[:2] {
		if !about(middle[i], middle[2], .2) {
			t.Errorf("in the middle of %g m %.1f wheels a day, of %g m %.1f", sides[i], middle[i], sides[2], middle[2])
		}
	}
}

// busiestNear is the mean flow of wheels within 600 m of a place, by length.
func busiestNear(a *assignment, at plane.Point) float64 {
	sum, metres := 0.0, 0.0
	g := a.ground.g
	for e, q := range a.flows[exposure.WheelTrips] {
		if g.EdgeLine(int32(e)).At(float64(g.LengthM[e])/2).DistanceM(at) < 600 {
			sum += q * float64(g.LengthM[e])
			metres += float64(g.LengthM[e])
		}
	}
	return sum / metres
}

// Ends inside the map are no gates; ends at its border and of main roads are.
func TestGates(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 0, 2000, 0, 2000, 2000, 0, 2000, 0, 0))
	k.Street(osmdata.Residential, sketch.Line(2000, 0, 2060, 0))                                // at the border
	k.Street(osmdata.Residential, sketch.Line(0, 0, 700, 700))                                  // a cul-de-sac
	k.Street(osmdata.Tertiary, sketch.Line(2000, 2000, 900, 900))                               // a main road that ends inside
	k.Street(osmdata.Residential, sketch.Line(0, 2000, 800, 1300)).Flags |= osmdata.FlagOpenEnd // cut, by its flag
	g := k.Net(t)
	gates, weight := findGates(g, plane.HullOf(g.Vertex))
	found := map[plane.Point]float64{}
	for i := range gates {
		found[g.Vertex[gates[i].vertex]] = weight[i]
	}
	want := map[plane.Point]float64{{X: 2060}: 1, {X: 900, Y: 900}: 3, {X: 800, Y: 1300}: 1}
	if len(found) != len(want) {
		t.Errorf("gates %v", found)
	}
	for at, w := range want {
		if found[at] != w {
			t.Errorf("the gate at %v weighs %g, want %g", at, found[at], w)
		}
	}
	for i := range gates {
		if g.Vertex[gates[i].vertex].X == 2060 && !about(gates[i].out.X, 1, 1e-9) {
			t.Errorf("the way leaves towards %v", gates[i].out)
		}
	}
	m := gravity{gates: []gate{{out: plane.Point{X: 1}}, {out: plane.Point{X: -1}}, {out: plane.Point{X: .9, Y: math.Sqrt(1 - .81)}}}}
	if !m.passes(0, 1) || m.passes(0, 2) || m.passes(0, 0) || !m.passes(0, -1) {
		t.Error("the wrong gates are joined through the map")
	}
}
