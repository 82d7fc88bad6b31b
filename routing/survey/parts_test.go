package survey

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/survey/sketch"
	"wideberth/routing/survey/trips"
)

// TestToursAreClosedWalks: every tour begins and ends at its door along edges that hang
// together, is no longer than wished for and never turns about but where it must.
func TestToursAreClosedWalks(t *testing.T) {
	g := sketch.Suburb(9, 4).Net(t)
	w := groundOf(t, g)
	tourist := newTourist(w, w.pleasure(), w.homeward())
	tours, edges := 0, 0
	for v := range int32(len(g.Vertex)) {
		if v%3 != 0 {
			continue
		}
		sum := make(trips.Tallies, g.EdgeCount())
		tourist.visit(v, 1000, 8, sum)
		if len(tourist.all) > 8 {
			t.Fatalf("%d tours of 8", len(tourist.all))
		}
		for _, tour := range tourist.all {
			at, long := v, 0.0
			for _, e := range tour {
				tail, head := g.Ends(e)
				switch at {
				case tail:
					at = head
				case head:
					at = tail
				default:
					t.Fatalf("from %d: edge %d from %d to %d does not begin at %d", v, e, tail, head, at)
				}
				long += float64(g.LengthM[e])
			}
			tours, edges = tours+1, edges+len(tour)
			if at != v || long > tourTolerance*tourMostM+1e-6 {
				t.Errorf("from %d: ends at %d after %g m", v, at, long)
			}
		}
		if got := passMetres(g, sum.Passes()); len(tourist.all) > 0 && tourist.all[0] != nil && !about(got, 1000, 1e-5) {
			t.Errorf("from %d: %g m of 1000", v, got)
		}
	}
	if tours < 100 || edges < 5*tours {
		t.Errorf("%d tours of %d edges: too little to show anything", tours, edges)
	}
}

// TestOneRoundHasOneTour: on a square with one door each tour is once round or out to
// somewhere and home: all edges get the same, whichever way round.
func TestOneRoundHasOneTour(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 0, 400, 0, 400, 400, 0, 400, 0, 0))
	k.Street(osmdata.Residential, sketch.Line(0, 0, -10, 0))
	g := k.Net(t)
	w := groundOf(t, g)
	door := slices.IndexFunc(g.Vertex, func(p plane.Point) bool { return p.DistanceM(plane.Point{}) < 1 })
	metres := make([]float64, len(g.Vertex))
	metres[door] = 1610
	passes, err := w.tours(context.Background(), metres, w.pleasure(), 20, 1, quiet)
	if err != nil {
		t.Fatal(err)
	}
	if got := passMetres(g, passes); !about(got, 1610, 1e-5) {
		t.Errorf("%g m of 1610", got)
	}
	for e, n := range passes {
		if long := float64(g.LengthM[e]); long > 100 && n > 1610/long+1e-6 {
			t.Errorf("edge %d of %g m is passed %g times", e, long, n)
		}
	}
}

// TestDrawsFollowTheOdds: arcs are drawn as often as their odds say, none without odds.
func TestDrawsFollowTheOdds(t *testing.T) {
	tourist := &tourist{rand: rand.New(rand.NewPCG(3, 3)), arcs: []int32{7, 8, 9}, odds: []float64{1, 0, 3}}
	const n = 40000
	got := map[int32]int{}
	for range n {
		got[tourist.draw(4)]++
	}
	if got[8] != 0 || math.Abs(float64(got[7])/n-0.25) > 0.01 || got[7]+got[9] != n {
		t.Errorf("%v of %d, want a quarter, none and three quarters", got, n)
	}
	tourist.odds = []float64{0, 0, 0}
	if a := tourist.draw(0); a != -1 {
		t.Errorf("without odds arc %d is drawn", a)
	}
	if tourist.arcs, tourist.odds = nil, nil; tourist.draw(1) != -1 {
		t.Error("without arcs one is drawn")
	}
}

// TestPleasureByHand: what a class, a pavement and a park make of a way.
func TestPleasureByHand(t *testing.T) {
	k := sketch.New()
	classes := []osmdata.Class{osmdata.Residential, osmdata.Primary, osmdata.Footway, osmdata.Steps, osmdata.Track}
	for i, c := range classes {
		y := float64(i) * 200
		k.Street(c, sketch.Line(0, y, 150, y))
	}
	pavement := k.Street(osmdata.Footway, sketch.Line(0, 2000, 150, 2000))
	pavement.Flags |= osmdata.FlagPavement
	g := k.Net(t)
	place := make([]exposure.PlaceKind, g.EdgeCount())
	for _, c := range []struct {
		kind exposure.PlaceKind
		gain float64
	}{{0, 1}, {exposure.PlacePark, 3}, {exposure.PlaceWoods, 3}, {exposure.PlaceOpen, 1}} {
		for e := range place {
			place[e] = c.kind
		}
		w, err := newGround(g, plane.Frame{}, place)
		if err != nil {
			t.Fatal(err)
		}
		got := w.pleasure()
		for i, want := range []float64{1, .2, 1.5, .6, 1.5} {
			if e := sketch.EdgeOf(t, g, &k.X.Streets[i]); got[e] != want*c.gain {
				t.Errorf("class %v where it is %v: %g, want %g", classes[i], c.kind, got[e], want*c.gain)
			}
		}
		if e := sketch.EdgeOf(t, g, &k.X.Streets[len(classes)]); got[e] != c.gain {
			t.Errorf("a pavement where it is %v: %g, want %g", c.kind, got[e], c.gain)
		}
	}
}

// TestArcsAreOrderedByNodes: the arcs out of a vertex stand in the order of the nodes that
// they lead to, each once, and leave and come in the directions of their lines.
func TestArcsAreOrderedByNodes(t *testing.T) {
	g := sketch.Suburb(6, 2).Net(t)
	w := groundOf(t, g)
	star := &g.Star
	for v := range int32(len(g.Vertex)) {
		arcs := w.order[star.First[v]:star.First[v+1]]
		if !slices.IsSortedFunc(arcs, func(a, b int32) int { return int(g.VertexNode[star.Head[a]] - g.VertexNode[star.Head[b]]) }) {
			t.Errorf("at %d: %v", v, arcs)
		}
		all := slices.Clone(arcs)
		slices.Sort(all)
		for i, a := range all {
			if a != star.First[v]+int32(i) {
				t.Fatalf("at %d: %v", v, all)
			}
		}
		for _, a := range arcs {
			if w.out[a].DistanceM(w.in[star.Twin[a]].Mul(-1)) > 1e-9 || math.Abs(w.out[a].NormM()-1) > 1e-6 {
				t.Errorf("arc %d leaves by %v, its twin comes by %v", a, w.out[a], w.in[star.Twin[a]])
			}
			line := g.EdgeLine(g.ArcEdge[a])
			if ahead := line.At(0.1).Sub(line[0]); g.EdgeArc[g.ArcEdge[a]] == a && ahead.Dot(w.out[a]) <= 0 {
				t.Errorf("arc %d leaves by %v, its line by %v", a, w.out[a], ahead)
			}
		}
	}
}

// TestGateWidthsAgainstAllDistances: the mean of the two least distances to other gates,
// none counted as farther than a kilometre.
func TestGateWidthsAgainstAllDistances(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	for range 100 {
		g := &network.Graph{}
		gates := make([]trips.Gate, 1+rng.IntN(7))
		for i := range gates {
			g.Vertex = append(g.Vertex, plane.Point{X: 3000 * rng.Float64(), Y: 3000 * rng.Float64()})
			gates[i].Vertex = int32(i)
		}
		for i := range gates {
			far := []float64{gateMostM, gateMostM}
			for j := range gates {
				if j != i {
					far = append(far, g.Vertex[i].DistanceM(g.Vertex[j]))
				}
			}
			slices.Sort(far)
			if got, want := widthOf(g, gates, i), (far[0]+far[1])/2; math.Abs(got-want) > 1e-9 {
				t.Fatalf("gate %d of %v: %g m, want %g", i, g.Vertex, got, want)
			}
		}
	}
}

// widthOf is the width of a gate among all.
func widthOf(g *network.Graph, gates []trips.Gate, i int) float64 {
	var segs []plane.Segment
	var all []int32
	for k := range gates {
		p := g.Vertex[gates[k].Vertex]
		segs, all = append(segs, plane.Segment{A: p, B: p, ID: int32(k), Mask: 1}), append(all, int32(k))
	}
	return gateWidth(g, gates, i, plane.NewIndex(segs, gateMostM), all)
}

// TestGatesOfACross: of a cross of streets the ends are gates where the class or the
// border makes them so, and point out of the map.
func TestGatesOfACross(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(-1000, 0, -500, 0, 0, 0))
	k.Street(osmdata.Primary, sketch.Line(0, 0, 500, 0, 1000, 0))
	k.Street(osmdata.Steps, sketch.Line(0, 0, 0, 1000))
	k.Street(osmdata.Residential, sketch.Line(0, 0, 0, -1000))
	k.Street(osmdata.Residential, sketch.Line(-500, 0, -500, 120)) // a dead end within
	k.Street(osmdata.Primary, sketch.Line(500, 0, 500, 130))       // a main road that ends within
	g := k.Net(t)
	gates, weight := findGates(g, plane.HullOf(g.Vertex))
	got := map[string]float64{}
	for i, at := range gates {
		p := g.Vertex[at.Vertex]
		got[fmt.Sprintf("%.0f %.0f", p.X, p.Y)] = weight[i]
		out := map[bool]plane.Point{true: {X: math.Copysign(1, p.X)}, false: {Y: math.Copysign(1, p.Y)}}[p.Y == 0]
		if at.Out.DistanceM(out) > 1e-6 {
			t.Errorf("the gate at %v points to %v", p, at.Out)
		}
	}
	for at, want := range map[string]float64{"-1000 0": 1, "1000 0": 3, "0 -1000": 1, "500 130": 3} {
		if got[at] != want {
			t.Errorf("at %s a gate of weight %g, want %g (%v)", at, got[at], want, got)
		}
	}
	if got["0 1000"] != 0 || got["-500 120"] != 0 {
		t.Errorf("steps and dead ends are no gates: %v", got)
	}
}

// TestGatesByTheirFormula: strips as wide as the way to the neighbours, as deep as trips
// reach, by class; on ground that draws nobody nobody comes from beyond.
func TestGatesByTheirFormula(t *testing.T) {
	g := &network.Graph{Vertex: []plane.Point{{}, {X: 600}, {X: 600, Y: 600}, {Y: 600}}}
	gates, weight := make([]trips.Gate, 4), []float64{1, 3, 1, 1}
	for i := range gates {
		gates[i].Vertex = int32(i)
	}
	const depth = 800.0
	pull := func(p plane.Point) float64 {
		if p.Y > 0 {
			return 0
		}
		return 0.002
	}
	openGates(g, gates, weight, func(plane.Point) float64 { return depth }, 2400, pull, func(plane.Point) float64 { return 0.0005 })
	for i, w := range weight {
		strip := 600 * depth * w / 1.5
		if i < 2 {
			if !about(gates[i].Pull, strip*0.002, 1e-9) || !about(gates[i].Origin, strip*0.0005, 1e-9) || !about(gates[i].Plane, 2*math.Pi*depth*depth*0.002, 1e-9) {
				t.Errorf("gate %d: %+v", i, gates[i])
			}
		} else if gates[i].Pull != 0 || gates[i].Origin != 0 || gates[i].Plane != 1 {
			t.Errorf("where nothing draws: %+v", gates[i])
		}
		if want := 1 + 2*math.Pi*depth/2400; !about(gates[i].Widen, want, 1e-9) {
			t.Errorf("gate %d widens by %g, want %g", i, gates[i].Widen, want)
		}
	}
}

// TestSharesOfAnEdge: its ends share what lies on an edge by nearness, all of it.
func TestSharesOfAnEdge(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 0, 200, 0))
	g := k.Net(t)
	tail, head := g.Ends(0)
	for _, m := range []float64{0, 50, 100, 200} {
		got := map[int32]float64{}
		shared(g, network.Place{Edge: 0, AlongM: m}, func(v int32, share float64) { got[v] += share })
		if !about(got[tail], 1-m/200, 1e-6) || !about(got[head]+1e-9, m/200+1e-9, 1e-6) {
			t.Errorf("%g m along: %v", m, got)
		}
	}
}

// TestFlowsAreCarriedBetweenNetworks: on the same network flows come back as they were; a
// part's share is of what runs on it.
func TestFlowsAreCarriedBetweenNetworks(t *testing.T) {
	g := sketch.Suburb(5, 3).Net(t)
	perDay := make([]float64, g.EdgeCount())
	for e := range perDay {
		perDay[e] = float64(1 + e%17)
	}
	flows := newByWay(g, perDay)
	back := flows.carryTo(g, func(*network.Part) float64 { return 0.25 })
	for e, want := range perDay {
		if !about(back[e][0], want, 1e-4) || !about(back[e][1], want/4, 1e-4) {
			t.Errorf("edge %d carries %v, want %g", e, back[e], want)
		}
	}
	for e, x := range new(byWay).carryTo(g, func(*network.Part) float64 { return 1 }) {
		if x != [2]float64{} {
			t.Fatalf("edge %d carries %v of nothing", e, x)
		}
	}
}

// TestFlowsOfAWayByLength: where another network cuts a way elsewhere, a run over two
// flows gets their mean by length, and ground that nobody counted adds nothing.
func TestFlowsOfAWayByLength(t *testing.T) {
	cut := &network.Graph{EdgeArc: []int32{0, 2}, LengthM: []float32{100, 200}, PartAt: []int32{0, 1, 2}, Parts: []network.Part{{Street: 7}, {Street: 7, StreetM: 100}}}
	b := newByWay(cut, []float64{10, 40})
	for _, c := range []struct{ from, to, want float64 }{{0, 100, 10}, {100, 300, 40}, {50, 150, 25}, {0, 300, 30}, {250, 400, 40}, {300, 400, 0}} {
		p := &network.Part{Street: 7}
		p.StreetM = float32(c.from)
		if got := b.mean(7, p, c.to-c.from); !about(got+1, c.want+1, 1e-6) {
			t.Errorf("from %g to %g m: %g, want %g", c.from, c.to, got, c.want)
		}
	}
	if got := b.mean(8, &network.Part{Street: 8}, 50); got != 0 {
		t.Errorf("on another way: %g", got)
	}
}
