package reach_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/reach"
	"wideberth/routing/search"
)

// metres is the slow twin of what is in reach: the way from a place to every vertex of
// the network, by relaxing the arcs of whatever changed until nothing does.
func metres(land *reach.Land, at network.Place) []float64 {
	g := land.Snap.Graph
	d := make([]float64, len(g.Vertex))
	for v := range d {
		d[v] = math.Inf(1)
	}
	var todo []int32
	for _, s := range land.Ends(at) {
		d[s.Vertex] = min(d[s.Vertex], s.Offset)
		todo = append(todo, s.Vertex)
	}
	for ; len(todo) > 0; todo = todo[1:] {
		v := todo[0]
		for a := g.Star.First[v]; a < g.Star.First[v+1]; a++ {
			if to := d[v] + float64(g.LengthM[g.ArcEdge[a]]); to < d[g.Star.Head[a]]-1e-9 {
				d[g.Star.Head[a]] = to
				todo = append(todo, g.Star.Head[a])
			}
		}
	}
	return d
}

// TestReachAgainstAllWays: from places drawn by chance, with a goal and without, an edge
// is in the reach exactly if a walk within the budget can use it: out to one end, along
// it, and from the other home or on to the goal; edges that carry a place are there in
// any case. What is cut out is sound: arcs lie on the ground that they say, the parts of
// an edge make the whole of it, and a piece walked back is its twin.
func TestReachAgainstAllWays(t *testing.T) {
	const seed = 12
	rng := rand.New(rand.NewPCG(seed, 1))
	land := town(t)
	g := land.Snap.Graph
	place := func() network.Place {
		for {
			v := g.Vertex[rng.IntN(len(g.Vertex))]
			if at, err := land.Place(v.Add(plane.Point{X: 20 * rng.NormFloat64(), Y: 20 * rng.NormFloat64()})); err == nil {
				return at
			}
		}
	}
	in, out := 0, 0
	for i := range 24 {
		from, budget := place(), 200+1800*rng.Float64()
		var goal *network.Place
		if i%2 == 1 {
			to := place()
			goal = &to
		}
		r, err := land.Around(from, goal, budget)
		if err != nil {
			t.Fatal(err)
		}
		du, back, cut := metres(land, from), metres(land, from), budget/2
		if goal != nil {
			back, cut = metres(land, *goal), budget
		}
		for e := range int32(g.EdgeCount()) {
			if e == from.Edge || goal != nil && e == goal.Edge {
				continue
			}
			a := g.EdgeArc[e]
			head, tail := g.Star.Head[a], g.Star.Head[g.Star.Twin[a]]
			least := min(du[tail]+back[head], du[head]+back[tail]) + float64(g.LengthM[e])
			if math.Abs(least-budget) < 0.01 {
				continue // hangs on rounding
			}
			// A walk there and home that uses both ends may have one of them beyond half
			// of its budget: then it walks the edge both ways, and it is not for loops.
			if goal == nil && max(du[tail], du[head]) > cut {
				continue
			}
			_, has := slices.BinarySearch(r.Edges, e)
			if has != (least <= budget) {
				t.Errorf("seed %d, place %d: edge %d takes %.1f m of %.1f m, in reach: %v", seed, i, e, least, budget, has)
			}
			if has {
				in++
			} else {
				out++
			}
		}
		sound(t, r)
	}
	if in < 300 || out < 300 {
		t.Errorf("%d edges in reach and %d out of it: too much alike", in, out)
	}
}

// TestNobodyStandsNowhere: put on any vertex of the network, with a budget that no edge fits
// into, a reach has the edges there, whole, and no others; with one that some fit into, it
// has exactly these, as before.
func TestNobodyStandsNowhere(t *testing.T) {
	land := town(t)
	g := land.Snap.Graph
	for v := int32(0); v < int32(len(g.Vertex)); v += 7 {
		var own []int32
		shortest := math.Inf(1)
		for a := g.Star.First[v]; a < g.Star.First[v+1]; a++ {
			own = append(own, g.ArcEdge[a])
			shortest = min(shortest, float64(g.LengthM[g.ArcEdge[a]]))
		}
		slices.Sort(own)
		own = slices.Compact(own)
		at := network.Place{Edge: own[0], At: g.Vertex[v]}
		if a := g.EdgeArc[own[0]]; g.Star.Head[a] == v {
			at.AlongM = float64(g.LengthM[own[0]])
		}
		r, err := land.Around(at, nil, 1.5*shortest)
		if err != nil {
			t.Fatal(err)
		}
		if r.Home[r.Door] != v || !slices.Equal(r.Edges, own) {
			t.Errorf("vertex %d: edges %v, want %v", v, r.Edges, own)
		}
		sound(t, r)
		if r, err = land.Around(at, nil, 2*shortest+0.1); err != nil || len(r.Edges) == 0 {
			t.Fatal(err)
		}
		for _, e := range r.Edges {
			if float64(g.LengthM[e]) > shortest+0.1 {
				t.Errorf("vertex %d: edge %d of %.1f m is in a reach of %.1f m", v, e, g.LengthM[e], shortest)
			}
		}
	}
}

// TestBegunWays: every edge of which a part is so near is there, whole, and no other.
func TestBegunWays(t *testing.T) {
	land := town(t)
	g := land.Snap.Graph
	const seed = 3
	rng := rand.New(rand.NewPCG(seed, 2))
	part := 0
	for i := range 12 {
		from, err := land.Place(g.Vertex[rng.IntN(len(g.Vertex))].Add(plane.Point{X: 15, Y: 7}))
		if err != nil {
			t.Fatal(err)
		}
		far := 60 + 600*rng.Float64()
		r, err := land.Begun(from, far)
		if err != nil {
			t.Fatal(err)
		}
		d := metres(land, from)
		for e := range int32(g.EdgeCount()) {
			a := g.EdgeArc[e]
			near, other := d[g.Star.Head[a]], d[g.Star.Head[g.Star.Twin[a]]]
			near, other = min(near, other), max(near, other)
			if e == from.Edge || math.Abs(near-far) < 0.01 {
				continue
			}
			if _, has := slices.BinarySearch(r.Edges, e); has != (near <= far) {
				t.Errorf("seed %d, place %d: edge %d begins at %.1f m of %.1f m, there: %v", seed, i, e, near, far, has)
			} else if has && other > far {
				part++
			}
		}
		sound(t, r)
	}
	if part < 20 {
		t.Errorf("only %d edges are there in part", part)
	}
}

// sound walks what a reach promises of itself.
func sound(t *testing.T, r *reach.Reach) {
	t.Helper()
	if err := r.Star.Check(); err != nil {
		t.Fatal(err)
	}
	g := r.Land.Snap.Graph
	walked := make([]float64, len(r.Edges))
	for a := range int32(r.Star.ArcCount()) {
		p, back := &r.Piece[a], &r.Piece[r.Star.Twin[a]]
		if r.Edges[p.Slot] != p.Edge {
			t.Fatalf("arc %d lies on edge %d, its slot on %d", a, p.Edge, r.Edges[p.Slot])
		}
		if p.Edge != back.Edge || p.FromM != back.ToM || p.ToM != back.FromM {
			t.Fatalf("arc %d is %+v, walked back %+v", a, p.Directed, back.Directed)
		}
		if m := math.Abs(float64(p.ToM - p.FromM)); math.Abs(m-float64(p.LengthM)) > 1e-3 {
			t.Fatalf("arc %d of %.3f m runs from %.3f to %.3f m", a, p.LengthM, p.FromM, p.ToM)
		}
		walked[p.Slot] += float64(p.LengthM) / 2
		if at := r.Home[r.Star.Head[a]]; at >= 0 {
			line := r.Land.LineOf(p.Directed)
			if d := line[len(line)-1].DistanceM(g.Vertex[at]); d > reach.JoinM {
				t.Fatalf("arc %d ends %.2f m off its vertex", a, d)
			}
		}
	}
	for slot, e := range r.Edges {
		if whole := float64(g.LengthM[e]); math.Abs(walked[slot]-whole) > 0.01 {
			t.Fatalf("the parts of edge %d make %.2f m of %.2f m", e, walked[slot], whole)
		}
	}
	// Times by pace: metres over metres a second on level ground.
	for a, s := range r.TimesS(1.25) {
		if want := float64(r.Piece[a].LengthM) / 1.25; math.Abs(float64(s)-want) > 1e-3*max(1, want) {
			t.Fatalf("arc %d of %.2f m takes %.3f s, want %.3f s", a, r.Piece[a].LengthM, s, want)
		}
	}
}

// TestPlacesOfAReach: door and goal are vertices of their own on the ground asked for,
// and what leads from one to the other in the reach is as short as in the whole network.
func TestPlacesOfAReach(t *testing.T) {
	land := town(t)
	g := land.Snap.Graph
	const seed = 6
	rng := rand.New(rand.NewPCG(seed, 1))
	for range 20 {
		ends := [2]network.Place{}
		for i := range ends {
			var err error
			if ends[i], err = land.Place(g.Vertex[rng.IntN(len(g.Vertex))].Add(plane.Point{X: 9, Y: 4})); err != nil {
				t.Fatal(err)
			}
		}
		if ends[0].Edge == ends[1].Edge {
			continue
		}
		d := metres(land, ends[0])
		want := math.Inf(1)
		for _, s := range land.Ends(ends[1]) {
			want = min(want, d[s.Vertex]+s.Offset)
		}
		r, err := land.Around(ends[0], &ends[1], want*1.2+50)
		if err != nil {
			t.Fatal(err)
		}
		router, err := search.NewRouter(&r.Star)
		if err != nil {
			t.Fatal(err)
		}
		tree, err := router.Reach([]search.Source{{Vertex: r.Door}}, r.TimesS(1), search.Span{Cutoff: math.Inf(1)})
		if err != nil {
			t.Fatal(err)
		}
		if got := tree.Dist(r.Goal); math.Abs(got-want) > 2*reach.JoinM+0.01 {
			t.Errorf("seed %d: %.2f m in the reach, %.2f m in the network", seed, got, want)
		}
		course := r.Course(tree.Path(nil, r.Goal))
		line := land.LineOfCourse(course)
		if a, b := line[0].DistanceM(ends[0].At), line[len(line)-1].DistanceM(ends[1].At); a > reach.JoinM+0.05 || b > reach.JoinM+0.05 {
			t.Errorf("seed %d: the way begins %.2f m and ends %.2f m off", seed, a, b)
		}
		tree.Release()
	}
}
