package trips

import (
	"context"
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/search"
	"wideberth/routing/survey/sketch"
)

// trial is a gravity assignment on the grid of a suburb, with homes that differ and
// places here and there.
func trial(t testing.TB, n int, zoneM float64, sets int) *Gravity {
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
	m := &Gravity{G: g, Router: router, LambdaM: 400, ZoneM: zoneM, Workers: 2, Tick: quiet,
		Origin: make([]float64, len(g.Vertex)), Pull: make([]float64, len(g.Vertex))}
	m.Costs = [][]float32{base}
	if sets > 1 {
		m.Costs = Perturbed(g, base, sets, 0)
	}
	for v := range m.Origin {
		m.Origin[v] = float64(1 + v%5)
		m.Pull[v] = float64(v % 3)
		if v%17 == 0 {
			m.Pull[v] = 60
		}
	}
	return m
}

func (m *Gravity) run(t testing.TB) *Sent {
	t.Helper()
	out, err := m.Assign(context.Background(), plane.NewEarth(plane.Frame{}))
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func quiet(int) {}

func total(xs []float64) (sum float64) {
	for _, x := range xs {
		sum += x
	}
	return sum
}

// Every home's trips are made, and arrive.
func TestTripsAreConserved(t *testing.T) {
	for _, zoneM := range []float64{1, 300, 20000} {
		m := trial(t, 10, zoneM, CostSets)
		got := m.run(t)
		if want := total(m.Origin); !about(got.Trips+got.Lost, want, 1e-6) || got.Trips < .97*want {
			t.Errorf("zones of %g m: %.6f trips and %.6f lost of %.6f", zoneM, got.Trips, got.Lost, want)
		}
		if arrived := total(got.Arrived); !about(arrived, got.Trips, 1e-6) {
			t.Errorf("zones of %g m: %.6f arrived of %.6f", zoneM, arrived, got.Trips)
		}
	}
}

// The slow twin: costs of all pairs by relaxing, trips one pair after the other,
// each walked along its path.
func TestTripsAgainstAllPairs(t *testing.T) {
	m := trial(t, 6, 1, 1)
	got := m.run(t)
	want := make([]float64, m.G.EdgeCount())
	cost, next := allPairs(m)
	pulls := make([]float64, len(m.Origin))
	for r, pull := range m.Pull {
		for v := range m.Origin {
			if c := cost[r][v]; c <= reachLambdas*m.LambdaM {
				pulls[v] += pull * math.Exp(-c/m.LambdaM)
			}
		}
	}
	for r, pull := range m.Pull {
		for v := range m.Origin {
			c := cost[r][v]
			if pull == 0 || c > reachLambdas*m.LambdaM {
				continue
			}
			trips := m.Origin[v] * pull * math.Exp(-c/m.LambdaM) / pulls[v]
			for at := int32(v); at != int32(r); {
				a := next[r][at]
				want[m.G.ArcEdge[a]] += trips
				at = m.G.Star.Head[a]
			}
		}
	}
	for e := range want {
		if !about(got.Passes[e]+1e-6, want[e]+1e-6, 1e-5) {
			t.Errorf("edge %d: %.6f trips, pair by pair %.6f", e, got.Passes[e], want[e])
		}
	}
}

// allPairs gives by destination and vertex the cost of the way between them, from
// the vertex or to it as the destination's draw says, and the arc towards the
// destination along that way.
func allPairs(m *Gravity) (cost [][]float64, next [][]int32) {
	n := len(m.Origin)
	cost, next = make([][]float64, n), make([][]int32, n)
	for r := range n {
		node := m.G.VertexNode[r]
		towards := mixedOf(node, node, 0, saltSet, m.Seed)>>32&1 == 0
		cost[r], next[r] = make([]float64, n), make([]int32, n)
		for v := range n {
			cost[r][v] = math.Inf(1)
		}
		cost[r][r] = 0
		for changed := true; changed; {
			changed = false
			for a := range int32(m.G.Star.ArcCount()) {
				from, to := m.G.Star.Head[m.G.Star.Twin[a]], m.G.Star.Head[a]
				c := float64(m.Costs[0][a])
				if !towards {
					c = float64(m.Costs[0][m.G.Star.Twin[a]])
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
	all, few := trial(t, 14, 1, CostSets), trial(t, 14, 120, CostSets)
	a, b := all.run(t), few.run(t)
	if rho := stat.Correlation(a.Passes, b.Passes, nil); rho < .85 {
		t.Errorf("correlation %.3f between %d roots and zones of 120 m", rho, len(all.Pull))
	}
	z, err := few.zones(plane.NewEarth(plane.Frame{}))
	if err != nil {
		t.Fatal(err)
	}
	if len(z.roots) > 150 || len(z.roots) < 60 || !about(total(z.pull), total(few.Pull), 1e-9) {
		t.Errorf("%d roots that pull %g of %g", len(z.roots), total(z.pull), total(few.Pull))
	}
}

// The number of workers changes nothing, to the last bit, and another seed does.
func TestTripsForAnyNumberOfWorkers(t *testing.T) {
	one, eight, other := trial(t, 9, 150, CostSets), trial(t, 9, 150, CostSets), trial(t, 9, 150, CostSets)
	one.Workers, eight.Workers, other.Seed = 1, 8, 1
	other.Costs = Perturbed(other.G, other.Costs[0], CostSets, 1)
	a, b, c := one.run(t), eight.run(t), other.run(t)
	same := 0
	for e := range a.Passes {
		if a.Passes[e] != b.Passes[e] {
			t.Fatalf("edge %d: %v with one worker, %v with eight", e, a.Passes[e], b.Passes[e])
		}
		if a.Passes[e] == c.Passes[e] {
			same++
		}
	}
	if same > len(a.Passes)/2 {
		t.Errorf("another seed changes %d of %d edges", len(a.Passes)-same, len(a.Passes))
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := one.Assign(ctx, plane.NewEarth(plane.Frame{})); err == nil {
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
	m := &Gravity{G: g, Router: router, Costs: [][]float32{cost}, LambdaM: 300, ZoneM: 50, Workers: 1, Tick: quiet,
		Origin: []float64{5, 5, 5, 5}, Pull: make([]float64, 4)}
	for v, p := range g.Vertex {
		if p.X == 0 {
			m.Pull[v] = 1
		}
	}
	if got := m.run(t); !about(got.Trips, 10, 1e-9) || !about(got.Lost, 10, 1e-9) {
		t.Errorf("%g trips, %g lost", got.Trips, got.Lost)
	}
	m.Pull = make([]float64, 4)
	if got := m.run(t); got.Trips != 0 || got.Lost != 20 || total(got.Passes) != 0 {
		t.Errorf("nothing draws: %+v", got)
	}
}

// TestGatesThroughTheMap: nobody comes in by one gate to leave by one whose way leads into
// the same land.
func TestGatesThroughTheMap(t *testing.T) {
	m := Gravity{Gates: []Gate{{Out: plane.Point{X: 1}}, {Out: plane.Point{X: -1}}, {Out: plane.Point{X: .9, Y: math.Sqrt(1 - .81)}}}}
	if !m.passesThrough(0, 1) || m.passesThrough(0, 2) || m.passesThrough(0, 0) || !m.passesThrough(0, -1) {
		t.Error("the wrong gates are joined through the map")
	}
}
