package survey

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/search"
	"wideberth/routing/survey/sketch"
)

// plainly is assign as its words say it: a tree over the whole network for each target,
// grown twice, and the exponential of each cost.
func (m *gravity) plainly(t testing.TB) *sent {
	t.Helper()
	z, err := m.zones(plane.NewEarth(plane.Frame{}))
	if err != nil {
		t.Fatal(err)
	}
	var targets []target
	for i, v := range z.roots {
		targets = append(targets, target{v, z.pull[i], -1})
	}
	for i := range m.gates {
		targets = append(targets, target{m.gates[i].vertex, m.gates[i].pull, int32(i)})
	}
	tree := func(at *target, use func(tree *search.Tree, reversed bool)) {
		n := m.g.VertexNode[at.vertex]
		draw := mixedOf(n, n, 0, saltSet, m.seed)
		reversed := draw>>32&1 == 0
		tree, err := m.router.Reach([]search.Source{{Vertex: at.vertex}}, m.costs[draw%uint64(len(m.costs))], search.Span{Cutoff: reachLambdas * m.lambdaM, Reversed: reversed})
		if err != nil {
			t.Fatal(err)
		}
		use(tree, reversed)
		tree.Release()
	}
	widen := func(at *target) float64 {
		if at.gate < 0 {
			return 1
		}
		return m.gates[at.gate].widen
	}
	pulls := make([]float64, len(m.origin))
	for i := range targets {
		tree(&targets[i], func(tree *search.Tree, _ bool) {
			for _, v := range tree.Settled {
				pulls[v] += widen(&targets[i]) * targets[i].pull * math.Exp(-tree.Dist(v)/m.lambdaM)
			}
		})
	}
	out := &sent{passes: make([]float64, m.g.EdgeCount()), arrived: make([]float64, len(m.origin))}
	arrived := make([]float64, len(targets))
	for i := range targets {
		at := &targets[i]
		tree(at, func(tree *search.Tree, reversed bool) {
			for _, v := range tree.Settled {
				near := at.pull * math.Exp(-tree.Dist(v)/m.lambdaM)
				inside, outside := 0.0, 0.0
				if pulls[v] > 0 {
					inside = m.origin[v] * near / pulls[v] * widen(at)
				}
				for g := range m.gates {
					if m.gates[g].vertex != v || !m.passes(int32(g), at.gate) {
						continue
					}
					if at.gate < 0 {
						outside += m.gates[g].origin * near / m.gates[g].plane * m.gates[g].widen
						out.inward += m.gates[g].origin * near / m.gates[g].plane * m.gates[g].widen
					} else {
						outside += m.gates[g].origin * near / m.gates[g].plane
						out.through += m.gates[g].origin * near / m.gates[g].plane
					}
				}
				out.trips += inside
				if at.gate >= 0 {
					out.outward += inside
				}
				arrived[i] += inside + outside
				for _, a := range tree.Path(nil, v) {
					out.passes[m.g.ArcEdge[a]] += inside + outside
				}
			}
		})
	}
	for v, n := range m.origin {
		if pulls[v] == 0 {
			out.lost += n
		}
	}
	z.spread(m, out, arrived)
	return out
}

// ragged is a network of blocks with gaps, cul-de-sacs that branch, a square on which
// many streets meet, and pieces that hang together with nothing.
func ragged(t testing.TB, r *rand.Rand) *network.Graph {
	k := sketch.New()
	n := 3 + r.IntN(5)
	at := func(i, j int) (x, y float64) {
		return 130*float64(i) + float64(37*i*j%50), 110*float64(j) + float64(53*i*(j+2)%40)
	}
	street := func(x0, y0, x1, y1 float64) { k.Street(osmdata.Residential, sketch.Line(x0, y0, x1, y1)) }
	keep := .4 + .6*r.Float64()
	for i := range n {
		for j := range n {
			x, y := at(i, j)
			if i+1 < n && r.Float64() < keep {
				x1, y1 := at(i+1, j)
				street(x, y, x1, y1)
			}
			if j+1 < n && r.Float64() < keep {
				x1, y1 := at(i, j+1)
				street(x, y, x1, y1)
			}
			for depth := r.IntN(4); depth > 0; depth-- { // a cul-de-sac that branches
				x1, y1 := x+20+30*r.Float64(), y+20+30*r.Float64()
				street(x, y, x1, y1)
				street(x, y, x+15*r.Float64(), y-30-20*r.Float64())
				x, y = x1, y1
			}
		}
	}
	for range r.IntN(20) { // more streets at one place than a byte has bits
		x, y := at(r.IntN(n), r.IntN(n))
		street(55, 47, x, y)
	}
	street(9000, 0, 9100, 0)
	street(9100, 0, 9100, 70+100*r.Float64())
	return k.Net(t)
}

// TestTripsAgainstThePlainWay: trees without dead ends, used again from bits, send the
// trips that whole trees do.
func TestTripsAgainstThePlainWay(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(rt, "seed"), 1))
		m := raggedTrips(t, r)
		got, want := m.run(t), m.plainly(t)
		near := func(what string, i int, a, b float64) {
			if math.Abs(a-b) > 1e-6*(1+math.Abs(b)) {
				rt.Fatalf("%s %d: %.9f, the plain way %.9f", what, i, a, b)
			}
		}
		for e := range want.passes {
			near("edge", e, got.passes[e], want.passes[e])
		}
		for v := range want.arrived {
			near("arrived at", v, got.arrived[v], want.arrived[v])
		}
		near("trips", 0, got.trips, want.trips)
		near("lost", 0, got.lost, want.lost)
		near("inward", 0, got.inward, want.inward)
		near("outward", 0, got.outward, want.outward)
		near("through", 0, got.through, want.through)
	})
}

// raggedTrips is an assignment on a ragged network, with gates anywhere and reaches from
// a house to the whole map.
func raggedTrips(t testing.TB, r *rand.Rand) *gravity {
	t.Helper()
	g := ragged(t, r)
	router, err := search.NewRouter(&g.Star)
	if err != nil {
		t.Fatal(err)
	}
	base := make([]float32, g.Star.ArcCount())
	for a, e := range g.ArcEdge {
		base[a] = g.LengthM[e] * float32(1+r.IntN(2)*r.IntN(3))
	}
	m := &gravity{g: g, router: router, costs: perturbed(g, base, 1+r.IntN(3), r.Uint64()), lambdaM: 15 * math.Exp(3.5*r.Float64()),
		zoneM: []float64{1, 150}[r.IntN(2)], seed: r.Uint64() % 100, workers: 1 + r.IntN(3), tick: quiet,
		origin: make([]float64, len(g.Vertex)), pull: make([]float64, len(g.Vertex))}
	for v := range m.origin {
		m.origin[v], m.pull[v] = float64(r.IntN(5)), float64(r.IntN(3)*r.IntN(30))
	}
	for range r.IntN(8) {
		turn := 2 * math.Pi * r.Float64()
		gt := gate{vertex: int32(r.IntN(len(g.Vertex))), out: plane.Point{X: math.Cos(turn), Y: math.Sin(turn)},
			pull: 50 * r.Float64(), origin: 20 * r.Float64(), plane: 1 + 99*r.Float64(), widen: 1 + r.Float64()}
		if m.gateAt(gt.vertex) < 0 {
			m.gates = append(m.gates, gt)
		}
	}
	return m
}

func (m *gravity) gateAt(v int32) int {
	for g := range m.gates {
		if m.gates[g].vertex == v {
			return g
		}
	}
	return -1
}

// TestRaggedNetworksHaveItAll: what the property above is shown on has dead ends that
// branch, junctions of more than eight links, a piece that is nothing but dead end,
// targets and gates on dead ends, and reaches that end inside them.
func TestRaggedNetworksHaveItAll(t *testing.T) {
	var branching, wide, alone, onTwig, gateOnTwig, cut int
	for seed := range uint64(40) {
		m := raggedTrips(t, rand.New(rand.NewPCG(seed, 1)))
		mesh := newMesh(m.g)
		seen := 0
		for v := range m.g.Vertex {
			seen += int(min(0, mesh.of[v])) + int(min(0, mesh.twigOf[v])) + 1
		}
		if seen != 0 || len(mesh.vertex)+len(mesh.twigs) != len(m.g.Vertex) {
			t.Fatalf("seed %d: vertices stand in the mesh and on a dead end, or nowhere", seed)
		}
		for n := range mesh.vertex {
			if mesh.hubs[n+1].link-mesh.hubs[n].link > 8 {
				wide++
			}
			if mesh.hubs[n+1].link == mesh.hubs[n].link && mesh.twigAt[n+1] > mesh.twigAt[n] {
				alone++
			}
		}
		k := mesh.metric(m.costs[0], true, reachLambdas*m.lambdaM)
		for i, tw := range mesh.twigs {
			if tw.end > int32(i)+2 {
				branching++
			}
			if m.pull[tw.vertex] > 0 {
				onTwig++
			}
			if m.gateAt(tw.vertex) >= 0 {
				gateOnTwig++
			}
			if k.leave[i] > k.reach {
				cut++
			}
		}
	}
	if min(branching, wide, alone, onTwig, gateOnTwig, cut) == 0 {
		t.Errorf("%d branching, %d wide, %d alone, %d targets and %d gates on twigs, %d cut", branching, wide, alone, onTwig, gateOnTwig, cut)
	}
}

// TestFade holds the table against the exponential.
func TestFade(t *testing.T) {
	f := newFade(370, reachLambdas)
	for x := 0.0; x <= reachLambdas*370; x += .37 {
		if got, want := f.of(x), math.Exp(-x/370); math.Abs(got-want) > 1e-11 {
			t.Fatalf("at %g %.15f, want %.15f", x, got, want)
		}
	}
	if f.of(reachLambdas*370) == 0 || f.of(reachLambdas*370+1e-6) != 0 {
		t.Error("the table does not end at the reach")
	}
}

// TestSendingStops: an assignment whose context ended says so.
func TestSendingStops(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	m := trial(t, 9, 1, costSets)
	m.tick = func(int) { cancel() }
	if _, err := m.assign(ctx, plane.NewEarth(plane.Frame{})); err == nil {
		t.Error("trips go on after the context ended")
	}
}

func BenchmarkTrips(b *testing.B) {
	m := trial(b, 40, 100, costSets)
	m.workers = 1
	for _, way := range []struct {
		name string
		run  func(testing.TB) *sent
	}{{"mesh", m.run}, {"plain", m.plainly}} {
		b.Run(way.name, func(b *testing.B) {
			for b.Loop() {
				way.run(b)
			}
		})
	}
}
