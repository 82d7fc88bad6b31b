package trips

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
	"wideberth/routing/search"
	"wideberth/routing/survey/sketch"
)

// plainly is assign as its words say it: a tree over the whole network for each target,
// grown twice, and the exponential of each cost.
func (m *Gravity) plainly(t testing.TB) *Sent {
	t.Helper()
	z, err := m.zones(plane.NewEarth(plane.Frame{}))
	if err != nil {
		t.Fatal(err)
	}
	var targets []target
	for i, v := range z.roots {
		targets = append(targets, target{v, z.pull[i], -1})
	}
	for i := range m.Gates {
		targets = append(targets, target{m.Gates[i].Vertex, m.Gates[i].Pull, int32(i)})
	}
	tree := func(at *target, use func(tree *search.Tree, reversed bool)) {
		n := m.G.VertexNode[at.vertex]
		draw := mixedOf(n, n, 0, saltSet, m.Seed)
		reversed := draw>>32&1 == 0
		tree, err := m.Router.Reach([]search.Source{{Vertex: at.vertex}}, m.Costs[draw%uint64(len(m.Costs))], search.Span{Cutoff: reachLambdas * m.LambdaM, Reversed: reversed})
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
		return m.Gates[at.gate].Widen
	}
	pulls := make([]float64, len(m.Origin))
	for i := range targets {
		tree(&targets[i], func(tree *search.Tree, _ bool) {
			for _, v := range tree.Settled {
				pulls[v] += widen(&targets[i]) * targets[i].pull * math.Exp(-tree.Dist(v)/m.LambdaM)
			}
		})
	}
	out := &Sent{Passes: make([]float64, m.G.EdgeCount()), Arrived: make([]float64, len(m.Origin))}
	arrived := make([]float64, len(targets))
	for i := range targets {
		at := &targets[i]
		tree(at, func(tree *search.Tree, reversed bool) {
			for _, v := range tree.Settled {
				near := at.pull * math.Exp(-tree.Dist(v)/m.LambdaM)
				inside, outside := 0.0, 0.0
				if pulls[v] > 0 {
					inside = m.Origin[v] * near / pulls[v] * widen(at)
				}
				for g := range m.Gates {
					if m.Gates[g].Vertex != v || !m.passesThrough(int32(g), at.gate) {
						continue
					}
					if at.gate < 0 {
						outside += m.Gates[g].Origin * near / m.Gates[g].Plane * m.Gates[g].Widen
						out.Inward += m.Gates[g].Origin * near / m.Gates[g].Plane * m.Gates[g].Widen
					} else {
						outside += m.Gates[g].Origin * near / m.Gates[g].Plane
						out.Through += m.Gates[g].Origin * near / m.Gates[g].Plane
					}
				}
				out.Trips += inside
				if at.gate >= 0 {
					out.Outward += inside
				}
				arrived[i] += inside + outside
				for _, a := range tree.Path(nil, v) {
					out.Passes[m.G.ArcEdge[a]] += inside + outside
				}
			}
		})
	}
	for v, n := range m.Origin {
		if pulls[v] == 0 {
			out.Lost += n
		}
	}
	z.spread(m, out, arrived)
	return out
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
		for e := range want.Passes {
			near("edge", e, got.Passes[e], want.Passes[e])
		}
		for v := range want.Arrived {
			near("arrived at", v, got.Arrived[v], want.Arrived[v])
		}
		near("trips", 0, got.Trips, want.Trips)
		near("lost", 0, got.Lost, want.Lost)
		near("inward", 0, got.Inward, want.Inward)
		near("outward", 0, got.Outward, want.Outward)
		near("through", 0, got.Through, want.Through)
	})
}

// raggedTrips is an assignment on a ragged network, with gates anywhere and reaches from
// a house to the whole map.
func raggedTrips(t testing.TB, r *rand.Rand) *Gravity {
	t.Helper()
	g := sketch.Ragged(r).Net(t)
	router, err := search.NewRouter(&g.Star)
	if err != nil {
		t.Fatal(err)
	}
	base := make([]float32, g.Star.ArcCount())
	for a, e := range g.ArcEdge {
		base[a] = g.LengthM[e] * float32(1+r.IntN(2)*r.IntN(3))
	}
	m := &Gravity{G: g, Router: router, Costs: Perturbed(g, base, 1+r.IntN(3), r.Uint64()), LambdaM: 15 * math.Exp(3.5*r.Float64()),
		ZoneM: []float64{1, 150}[r.IntN(2)], Seed: r.Uint64() % 100, Workers: 1 + r.IntN(3), Tick: quiet,
		Origin: make([]float64, len(g.Vertex)), Pull: make([]float64, len(g.Vertex))}
	for v := range m.Origin {
		m.Origin[v], m.Pull[v] = float64(r.IntN(5)), float64(r.IntN(3)*r.IntN(30))
	}
	for range r.IntN(8) {
		turn := 2 * math.Pi * r.Float64()
		gt := Gate{Vertex: int32(r.IntN(len(g.Vertex))), Out: plane.Point{X: math.Cos(turn), Y: math.Sin(turn)},
			Pull: 50 * r.Float64(), Origin: 20 * r.Float64(), Plane: 1 + 99*r.Float64(), Widen: 1 + r.Float64()}
		if m.gateAt(gt.Vertex) < 0 {
			m.Gates = append(m.Gates, gt)
		}
	}
	return m
}

func (m *Gravity) gateAt(v int32) int {
	for g := range m.Gates {
		if m.Gates[g].Vertex == v {
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
		mesh := newMesh(m.G)
		seen := 0
		for v := range m.G.Vertex {
			seen += int(min(0, mesh.of[v])) + int(min(0, mesh.twigOf[v])) + 1
		}
		if seen != 0 || len(mesh.vertex)+len(mesh.twigs) != len(m.G.Vertex) {
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
		k := mesh.metric(m.Costs[0], true, reachLambdas*m.LambdaM)
		for i, tw := range mesh.twigs {
			if tw.end > int32(i)+2 {
				branching++
			}
			if m.Pull[tw.vertex] > 0 {
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
	m := trial(t, 9, 1, CostSets)
	m.Tick = func(int) { cancel() }
	if _, err := m.Assign(ctx, plane.NewEarth(plane.Frame{})); err == nil {
		t.Error("trips go on after the context ended")
	}
}

func BenchmarkTrips(b *testing.B) {
	m := trial(b, 40, 100, CostSets)
	m.Workers = 1
	for _, way := range []struct {
		name string
		run  func(testing.TB) *Sent
	}{{"mesh", m.run}, {"plain", m.plainly}} {
		b.Run(way.name, func(b *testing.B) {
			for b.Loop() {
				way.run(b)
			}
		})
	}
}
