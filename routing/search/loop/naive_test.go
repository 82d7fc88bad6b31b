package loop

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"testing"
	"wideberth/routing/search"
)

// street is an edge of a test graph.
type street struct {
	u, v         int32
	t, back      float32 // time each way, s
	costs, backs []float32
}

// buildLoopProblem lays streets out as a graph. Every slice of costs has one
// entry per street and direction.
func buildLoopProblem(n int, streets []street, slices int) Problem {
	g := &search.Graph{First: make([]int32, n+1)}
	for _, s := range streets {
		g.First[s.u+1]++
		g.First[s.v+1]++
	}
	for v := range n {
		g.First[v+1] += g.First[v]
	}
	m := 2 * len(streets)
	at := append([]int32(nil), g.First...)
	g.Head, g.Twin = make([]int32, m), make([]int32, m)
	p := Problem{Graph: g, TimeS: make([]float32, m), Cost: make([][]float32, slices)}
	for i := range p.Cost {
		p.Cost[i] = make([]float32, m)
	}
	for _, s := range streets {
		a := at[s.u]
		at[s.u]++
		b := at[s.v]
		at[s.v]++
		g.Head[a], g.Head[b], g.Twin[a], g.Twin[b] = s.v, s.u, b, a
		p.TimeS[a], p.TimeS[b] = s.t, s.back
		for i := range slices {
			p.Cost[i][a], p.Cost[i][b] = s.costs[i], s.backs[i]
		}
	}
	return p
}

// smallKind says what a random small problem has in it.
type smallKind struct {
	directed bool // times and costs differ by direction
	slices   int
	barred   bool
	strict   bool
	turns    bool // about-turns at random prices, second passes at a fixed price
}

// randomSmall is a connected problem of at most 14 edges, with parallel edges,
// edges that end where they start, stems and dead ends.
func randomSmall(r *rand.Rand, k smallKind) Problem {
	n := 3 + r.IntN(6)
	edges := min(14, n-1+r.IntN(8))
	var streets []street
	for i := range edges {
		u, v := int32(r.IntN(n)), int32(r.IntN(n))
		if i+1 < n {
			v = int32(i + 1)
			u = int32(r.IntN(i + 1))
		}
		s := street{u: u, v: v, t: 20 + 200*r.Float32()}
		s.back = s.t
		if k.directed {
			s.back = s.t * (0.7 + 0.6*r.Float32())
		}
		for range k.slices {
			x := s.t * r.Float32() * r.Float32() / 1000
			s.costs = append(s.costs, x)
			if k.directed {
				x *= 0.5 + r.Float32()
			}
			s.backs = append(s.backs, x)
		}
		streets = append(streets, s)
	}
	p := buildLoopProblem(n, streets, k.slices)
	p.Door = int32(r.IntN(n))
	p.MinS = 150 + 700*r.Float64()
	p.MaxS = p.MinS * (1.02 + 0.2*r.Float64())
	for i := 1; i < k.slices; i++ {
		p.ChangeS = append(p.ChangeS, p.MinS*float64(i)/float64(k.slices)*(0.8+0.3*r.Float64()))
	}
	sort.Float64s(p.ChangeS)
	if k.strict {
		// Everything within reach, so that bridges of the reach are bridges of the graph.
		for _, t := range p.TimeS {
			p.MaxS += float64(t)
		}
	}
	if k.barred {
		p.Barred = make([]bool, p.Graph.ArcCount())
		for range 1 + r.IntN(3) {
			a := r.IntN(len(p.Barred))
			p.Barred[a] = true
			p.Barred[p.Graph.Twin[a]] = r.IntN(3) > 0
		}
	}
	p.Strict = k.strict
	if k.turns {
		priceTurns(r, &p)
	}
	return p
}

// priceTurns gives every vertex a price of turning, none at some of them, and
// second passes a price of their own.
func priceTurns(r *rand.Rand, p *Problem) {
	repeat := r.Float64() * r.Float64() / 1000
	p.Repeat = &repeat
	p.TurnMore = 0.05 * r.Float64() * float64(r.IntN(2))
	p.Turn = make([]float32, p.Graph.VertexCount())
	dearest := 0.3 * r.Float32()
	for v := range p.Turn {
		p.Turn[v] = dearest * r.Float32()
		if r.IntN(4) == 0 {
			p.Turn[v] = float32(math.Inf(1))
		}
	}
}

// naive enumerates the walk model edge by edge on the bare graph: no stripping,
// no contraction, no bounds but the end of the window.
type naive struct {
	p         *Problem
	perS      float64
	bridge    []bool
	used      []bool // per arc
	path      []int32
	turns     int
	best      float64
	bestPath  []int32
	found     bool
	longestS  float64 // longest closed walk that ends before the window
	anyClosed bool
	onHome    func(atS, cost float64) // told of every closed walk, when set
}

func solveNaively(p Problem, surchargePerS float64) *naive {
	n := &naive{p: &p, perS: surchargePerS, used: make([]bool, p.Graph.ArcCount()), best: math.Inf(1)}
	if p.Strict {
		n.bridge = naiveBridges(&p)
	}
	n.grow(p.Door, -1, 0, 0)
	return n
}

func (n *naive) grow(v, by int32, at, cost float64) {
	g := n.p.Graph
	for a := g.First[v]; a < g.First[v+1]; a++ {
		twin := g.Twin[a]
		if n.used[a] || (n.p.Barred != nil && n.p.Barred[a]) {
			continue
		}
		turn := 0.0
		if twin == by {
			if n.p.Turn == nil || math.IsInf(float64(n.p.Turn[v]), 1) {
				continue
			}
			turn = float64(n.p.Turn[v]) + float64(n.turns)*n.p.TurnMore
		}
		t := float64(n.p.TimeS[a])
		if at+t > n.p.MaxS {
			continue
		}
		x := cost + turn + n.p.costAt(a, at)
		if n.used[twin] {
			if n.p.Strict && !n.bridge[a] {
				continue
			}
			x += n.perS * t
		}
		n.used[a] = true
		turns := n.turns
		if twin == by {
			n.turns++
		}
		n.path = append(n.path, a)
		if g.Head[a] == n.p.Door {
			n.home(at+t, x)
		}
		n.grow(g.Head[a], a, at+t, x)
		n.path = n.path[:len(n.path)-1]
		n.used[a], n.turns = false, turns
	}
}

func (n *naive) home(at, cost float64) {
	n.anyClosed = true
	if n.onHome != nil {
		n.onHome(at, cost)
	}
	if at < n.p.MinS {
		n.longestS = max(n.longestS, at)
		return
	}
	n.found = true
	if cost < n.best {
		n.best = cost
		n.bestPath = append(n.bestPath[:0], n.path...)
	}
}

// naiveBridges finds the arcs whose edge disconnects its ends when taken away.
func naiveBridges(p *Problem) []bool {
	g := p.Graph
	gone := make([]bool, g.ArcCount())
	bridge := make([]bool, g.ArcCount())
	for a := range int32(g.ArcCount()) {
		if p.Barred != nil && p.Barred[a] && p.Barred[g.Twin[a]] {
			gone[a] = true
		}
	}
	for a := range int32(g.ArcCount()) {
		if gone[a] {
			continue
		}
		bridge[a] = !naiveReaches(g, gone, a, g.Head[g.Twin[a]], g.Head[a])
	}
	return bridge
}

// naiveReaches says whether to can be reached from from without the edge of arc.
func naiveReaches(g *search.Graph, gone []bool, without, from, to int32) bool {
	seen := map[int32]bool{from: true}
	stack := []int32{from}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for a := g.First[v]; a < g.First[v+1]; a++ {
			if a == without || a == g.Twin[without] || gone[a] || seen[g.Head[a]] {
				continue
			}
			seen[g.Head[a]] = true
			stack = append(stack, g.Head[a])
		}
	}
	return seen[to]
}

// checkLoop is the validator: it shares nothing with the search but the input.
func checkLoop(p *Problem, l *Walk, surchargePerS float64) error {
	g := p.Graph
	if len(l.Arcs) == 0 {
		return fmt.Errorf("no arcs")
	}
	passes := make([]int, g.ArcCount())
	at, cost, extra, repeated, turned := 0.0, 0.0, 0.0, 0.0, 0.0
	here, turns := p.Door, 0
	for i, a := range l.Arcs {
		if g.Head[g.Twin[a]] != here {
			return fmt.Errorf("arc %d (number %d) starts at %d, walker at %d", a, i, g.Head[g.Twin[a]], here)
		}
		if i > 0 && g.Twin[a] == l.Arcs[i-1] {
			if p.Turn == nil || math.IsInf(float64(p.Turn[here]), 1) {
				return fmt.Errorf("turns about on arc %d", a)
			}
			turned += float64(p.Turn[here]) + float64(turns)*p.TurnMore
			turns++
		}
		if p.Barred != nil && p.Barred[a] {
			return fmt.Errorf("walks the barred arc %d", a)
		}
		s := 0
		for s < len(p.ChangeS) && p.ChangeS[s] <= at {
			s++
		}
		t := float64(p.TimeS[a])
		cost += float64(p.Cost[s][a])
		passes[a]++
		if passes[a]+passes[g.Twin[a]] > 1 {
			extra += surchargePerS * t
			repeated += t
		}
		if passes[a] > 1 && l.Laps == 1 {
			return fmt.Errorf("walks arc %d twice the same way", a)
		}
		at += t
		here = g.Head[a]
	}
	if here != p.Door {
		return fmt.Errorf("ends at %d, door %d", here, p.Door)
	}
	if at < p.MinS-1e-5 || at > p.MaxS+1e-5 {
		return fmt.Errorf("takes %g s, window %g to %g", at, p.MinS, p.MaxS)
	}
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"duration", l.DurationS, at}, {"cost", l.Cost, cost}, {"surcharge", l.Surcharge, extra}, {"repeated", l.RepeatedS, repeated},
		{"turns", float64(l.Turns), float64(turns)}, {"cost of turning", l.TurnCost, turned},
	} {
		if math.Abs(c.got-c.want) > 1e-7*(1+math.Abs(c.want)) {
			return fmt.Errorf("%s %g, recomputed %g", c.name, c.got, c.want)
		}
	}
	return nil
}

func TestSmallLoopsAgainstEnumeration(t *testing.T) {
	kinds := map[string]smallKind{
		"symmetric":          {slices: 1},
		"by direction":       {slices: 1, directed: true},
		"by clock":           {slices: 3},
		"by both":            {slices: 2, directed: true},
		"barred":             {slices: 1, directed: true, barred: true},
		"barred and clock":   {slices: 3, barred: true},
		"strict":             {slices: 1, strict: true},
		"strict with barred": {slices: 2, strict: true, barred: true, directed: true},
		"turns":              {slices: 1, turns: true},
		"turns by direction": {slices: 1, turns: true, directed: true, barred: true},
		"turns by clock":     {slices: 3, turns: true},
		"turns, strict":      {slices: 1, turns: true, strict: true},
	}
	for name, k := range kinds {
		t.Run(name, func(t *testing.T) {
			const seed = 20
			r := rand.New(rand.NewPCG(seed, 1))
			s := NewSolver()
			found, gap, worst := 0, 0.0, 0.0
			for i := range 1500 {
				p := randomSmall(r, k)
				g, ok := checkSmall(t, s, p, fmt.Sprintf("seed %d case %d", seed, i))
				if ok {
					found++
					gap += g
					worst = max(worst, g)
				}
				if t.Failed() {
					return
				}
			}
			if gap > 1e-4*float64(found) {
				t.Errorf("mean gap to the optimum %.3g, want at most 0.0001", gap/float64(found))
			}
			if found < 50 {
				t.Errorf("only %d of 1500 problems had a loop: the generator tests nothing", found)
			}
			t.Logf("%d of 1500 had a loop; gap to the optimum: mean %.2g, worst %.2g", found, gap/float64(found), worst)
		})
	}
}

// checkSmall compares one answer with the enumeration and gives its gap to the
// optimum where there is a loop.
func checkSmall(t *testing.T, s *Solver, p Problem, name string) (gap float64, found bool) {
	a, err := s.Solve(p)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	n := solveNaively(p, a.SurchargePerS)
	switch {
	case n.found != (a.Status == Found):
		t.Errorf("%s: status %d, enumeration found %t (%v, cost %g)", name, a.Status, n.found, n.bestPath, n.best)
	case n.found:
		if err := checkLoop(&p, &a.Walk, a.SurchargePerS); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if a.Walk.Minimised() < n.best*(1-1e-9) {
			t.Errorf("%s: %g is below the optimum %g", name, a.Walk.Minimised(), n.best)
		}
		gap = a.Walk.Minimised()/n.best - 1
	case a.Status == NoCycle && n.anyClosed:
		t.Errorf("%s: no cycle claimed, enumeration closed one", name)
	case a.Status == WindowUnfilled && math.Abs(a.LongestS-n.longestS) > 1e-5:
		t.Errorf("%s: longest %g, enumeration %g", name, a.LongestS, n.longestS)
	}
	return gap, n.found
}
