package loop

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"wideberth/routing/search"
)

// outAndBackNaively enumerates walks out, every edge once, that fill the window
// when walked home the same way.
func outAndBackNaively(p *Problem) (best float64, found bool) {
	best = math.Inf(1)
	g := p.Graph
	used := make([]bool, g.ArcCount())
	var path []int32
	var grow func(v int32, at float64)
	grow = func(v int32, at float64) {
		if at > p.MaxS {
			return
		}
		turn := 0.0
		if p.Turn != nil {
			turn = float64(p.Turn[v])
		}
		if at >= p.MinS && len(path) > 0 && !math.IsInf(turn, 1) {
			found = true
			walk := append([]int32(nil), path...)
			for i := len(path) - 1; i >= 0; i-- {
				walk = append(walk, g.Twin[path[i]])
			}
			clock, cost := 0.0, turn
			for _, a := range walk {
				cost += p.costAt(a, clock)
				clock += float64(p.TimeS[a])
			}
			best = min(best, cost)
		}
		for a := g.First[v]; a < g.First[v+1]; a++ {
			b := g.Twin[a]
			if used[a] || (p.Barred != nil && (p.Barred[a] || p.Barred[b])) {
				continue
			}
			used[a], used[b] = true, true
			path = append(path, a)
			grow(g.Head[a], at+float64(p.TimeS[a])+float64(p.TimeS[b]))
			path = path[:len(path)-1]
			used[a], used[b] = false, false
		}
	}
	grow(p.Door, 0)
	return best, found
}

func TestThereAndBackAgainstEnumeration(t *testing.T) {
	for name, k := range map[string]smallKind{
		"symmetric": {slices: 1}, "by direction": {slices: 1, directed: true}, "barred": {slices: 1, barred: true}, "by clock": {slices: 3},
	} {
		t.Run(name, func(t *testing.T) {
			const seed = 41
			r := rand.New(rand.NewPCG(seed, 1))
			s := NewSolver()
			loops, gap := 0, 0.0
			for i := range 800 {
				p := randomSmall(r, k)
				best, found := outAndBackNaively(&p)
				a, err := s.ThereAndBack(p)
				if err != nil {
					t.Fatal(err)
				}
				if found != (a.Status == Found) {
					t.Fatalf("seed %d case %d: status %d, enumeration found %t", seed, i, a.Status, found)
				}
				if !found {
					continue
				}
				loops++
				if err := checkThereAndBack(&p, &a.Walk); err != nil {
					t.Fatalf("seed %d case %d: %v", seed, i, err)
				}
				if a.Walk.Cost < best*(1-1e-9) {
					t.Fatalf("seed %d case %d: %g is below the optimum %g", seed, i, a.Walk.Cost, best)
				}
				gap += a.Walk.Cost/best - 1
			}
			limit := 1e-6
			if k.slices > 1 {
				limit = 0.06 // three price changes within one walk, and the way home is searched at an assumed clock
			}
			if gap > limit*float64(loops) {
				t.Errorf("mean gap %g, want at most %g", gap/float64(loops), limit)
			}
			t.Logf("%d walks, mean gap %.2g", loops, gap/float64(loops))
		})
	}
}

func checkThereAndBack(p *Problem, l *Walk) error {
	n := len(l.Arcs)
	if n == 0 || n%2 != 0 {
		return fmt.Errorf("%d arcs", n)
	}
	here, at, cost := p.Door, 0.0, 0.0
	for i, a := range l.Arcs {
		if p.Graph.Head[p.Graph.Twin[a]] != here {
			return fmt.Errorf("arc %d does not start at %d", a, here)
		}
		if i < n/2 && l.Arcs[n-1-i] != p.Graph.Twin[a] {
			return fmt.Errorf("arc %d is not walked home", a)
		}
		if p.Barred != nil && p.Barred[a] {
			return fmt.Errorf("barred arc %d", a)
		}
		cost += p.costAt(a, at)
		at += float64(p.TimeS[a])
		here = p.Graph.Head[a]
	}
	if at < p.MinS-1e-5 || at > p.MaxS+1e-5 || math.Abs(at-l.DurationS) > 1e-6 || math.Abs(cost-l.Cost) > 1e-9*(1+cost) {
		return fmt.Errorf("takes %g s for %g, told %g for %g, window %g to %g", at, cost, l.DurationS, l.Cost, p.MinS, p.MaxS)
	}
	return nil
}

func TestLongestAgainstEnumeration(t *testing.T) {
	const seed = 42
	r := rand.New(rand.NewPCG(seed, 1))
	s := NewSolver()
	found, short := 0, 0.0
	for i := range 600 {
		p := randomSmall(r, smallKinds[i%3])
		p.MaxS = p.MinS * 2
		budget := 0.02 + 0.3*r.Float64()
		a, err := s.Longest(p, budget)
		if err != nil {
			t.Fatal(err)
		}
		longest := longestNaively(p, budget)
		switch {
		case a.CeilingS < longest-1e-5:
			t.Fatalf("seed %d case %d: ceiling %g, but a loop of %g keeps the budget", seed, i, a.CeilingS, longest)
		case a.Status == Found:
			if err := checkLoop(&p, &a.Walk, a.Walk.Surcharge/max(a.Walk.RepeatedS, 1e-9)); err != nil {
				t.Fatalf("seed %d case %d: %v", seed, i, err)
			}
			if a.Walk.Cost > budget {
				t.Fatalf("seed %d case %d: cost %g over budget %g", seed, i, a.Walk.Cost, budget)
			}
			found++
			short += 1 - a.Walk.DurationS/longest
		case longest > 0 && a.Status != Unknown:
			t.Fatalf("seed %d case %d: none claimed, a loop of %g keeps the budget", seed, i, longest)
		}
	}
	if found < 100 || short > 0.05*float64(found) {
		t.Errorf("%d found, %.3f short on average", found, short/float64(found))
	}
	t.Logf("%d found, on average %.2f %% shorter than the longest", found, 100*short/float64(found))
}

// longestNaively is the longest loop in the window within the budget, 0 for none.
func longestNaively(p Problem, budget float64) float64 {
	n := &naive{p: &p, used: make([]bool, p.Graph.ArcCount()), best: math.Inf(1)}
	if p.Strict {
		n.bridge = naiveBridges(&p)
	}
	longest := 0.0
	n.onHome = func(at, cost float64) {
		if at >= p.MinS && cost <= budget {
			longest = max(longest, at)
		}
	}
	n.grow(p.Door, -1, 0, 0)
	return longest
}

func TestOthersDifferAndKeepTheModel(t *testing.T) {
	s := NewSolver()
	for name, c := range map[string]struct {
		p       Problem
		minutes float64
		doors   int
	}{"suburb": {suburbTown(), 30, 60}, "dense": {denseTown5(), 20, 6}} {
		t.Run(name, func(t *testing.T) {
			p := windowOf(c.p, c.minutes)
			large, three := 0, 0
			for _, p.Door = range doorsOf(&p, c.doors, 6) {
				a, err := s.Solve(p)
				if err != nil {
					t.Fatal(err)
				}
				if a.Status != Found {
					continue
				}
				more, err := s.Others(p, []Walk{a.Walk}, 2)
				if err != nil {
					t.Fatal(err)
				}
				all := append([]Walk{a.Walk}, more...)
				for i := range all {
					if err := checkLoop(&p, &all[i], a.SurchargePerS); err != nil {
						t.Fatalf("door %d loop %d: %v", p.Door, i, err)
					}
					for j := range i {
						if x := sharedNaively(&p, &all[i], &all[j]); x > MostShared+1e-9 {
							t.Errorf("door %d: loops %d and %d share %.2f", p.Door, j, i, x)
						}
					}
				}
				if a.Edges >= 30 {
					large++
					if len(all) == 3 {
						three++
					}
				}
			}
			t.Logf("three loops for %d of %d doors with at least 30 chains", three, large)
			if 10*three < 8*large {
				t.Errorf("three loops for %d of %d doors, want 80 %%", three, large)
			}
		})
	}
}

// TestApart: the best walk searched in two steps is that of one; of walks that were looked
// for beside what the first step finds, those apart from the best stay, and what they lack
// is found: as many as beside the best itself, at nearly the same sum.
func TestApart(t *testing.T) {
	s, second := NewSolver(), NewSolver()
	p := windowOf(suburbTown(), 30)
	var many, usual int
	var sum, usualSum float64
	for _, p.Door = range doorsOf(&p, 24, 8) {
		light, err := s.Lightly(p)
		if err != nil {
			t.Fatal(err)
		}
		if light.Status != Found {
			continue
		}
		best, err := s.Harder(p, light)
		if err != nil {
			t.Fatal(err)
		}
		whole, err := second.Calmest(p)
		if err != nil || !slices.Equal(whole.Walk.Arcs, best.Walk.Arcs) {
			t.Fatalf("door %d: in two steps %v, in one %v, %v", p.Door, best.Walk, whole.Walk, err)
		}
		beside, err := second.Others(p, []Walk{light.Walk}, 3)
		if err != nil {
			t.Fatal(err)
		}
		more, err := second.Apart(p, best.Walk, append(beside, light.Walk), 3)
		if err != nil {
			t.Fatal(err)
		}
		all := append([]Walk{best.Walk}, more...)
		for i := range all {
			if err := checkLoop(&p, &all[i], best.SurchargePerS); err != nil {
				t.Fatalf("door %d loop %d: %v", p.Door, i, err)
			}
			for j := range i {
				if x := sharedNaively(&p, &all[i], &all[j]); x > MostShared+1e-9 {
					t.Errorf("door %d: loops %d and %d share %.2f", p.Door, j, i, x)
				}
			}
		}
		others, err := s.Others(p, []Walk{best.Walk}, 3)
		if err != nil {
			t.Fatal(err)
		}
		many, usual = many+len(more), usual+len(others)
		for i := range min(len(more), len(others)) {
			sum, usualSum = sum+more[i].Minimised(), usualSum+others[i].Minimised()
		}
	}
	if usual < 20 || 20*many < 19*usual || sum > 1.02*usualSum {
		t.Errorf("%d walks of %.3f beside the best by way of another, %d of %.3f by themselves", many, sum, usual, usualSum)
	}
}

// sharedNaively measures the ground that two walks share edge by edge; what no
// walk in the window can do without does not count.
func sharedNaively(p *Problem, a, b *Walk) float64 {
	ground := func(l *Walk) map[int32]float64 {
		m := map[int32]float64{}
		for _, x := range l.Arcs {
			e := min(x, p.Graph.Twin[x])
			if _, known := m[e]; !known && !forcedNaively(p, e) {
				m[e] = (float64(p.TimeS[x]) + float64(p.TimeS[p.Graph.Twin[x]])) / 2
			}
		}
		return m
	}
	ga, gb := ground(a), ground(b)
	ta, tb, both := 0.0, 0.0, 0.0
	for e, t := range ga {
		ta += t
		if _, ok := gb[e]; ok {
			both += t
		}
	}
	for _, t := range gb {
		tb += t
	}
	return both / min(ta, tb)
}

// forcedNaively says whether what can be walked from the door without an edge,
// everything once in each direction, is too little to fill the window.
func forcedNaively(p *Problem, edge int32) bool {
	g := p.Graph
	seen := map[int32]bool{p.Door: true}
	t := 0.0
	for stack := []int32{p.Door}; len(stack) > 0 && t < p.MinS; {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for a := g.First[v]; a < g.First[v+1]; a++ {
			if min(a, g.Twin[a]) == edge {
				continue
			}
			t += float64(p.TimeS[a])
			if !seen[g.Head[a]] {
				seen[g.Head[a]] = true
				stack = append(stack, g.Head[a])
			}
		}
	}
	return t < p.MinS
}

func TestLapsFillTheWindow(t *testing.T) {
	// One block of four streets, 100 s each, at the end of a stem of 50 s: a loop
	// of 500 s, two laps of 900 s, three of 1300 s.
	one := func(u, v int32, t float32) street {
		return street{u: u, v: v, t: t, back: t, costs: []float32{t / 1000}, backs: []float32{t / 1000}}
	}
	p := buildLoopProblem(5, []street{one(0, 1, 50), one(1, 2, 100), one(2, 3, 100), one(3, 4, 100), one(4, 1, 100)}, 1)
	s := NewSolver()
	for _, c := range []struct {
		minS, maxS float64
		laps       int
	}{{870, 950, 2}, {1290, 1400, 3}, {1600, 1750, 4}, {600, 700, 0}, {5000, 5500, 0}} {
		p.MinS, p.MaxS = c.minS, c.maxS
		if a, err := s.Solve(p); err != nil || a.Status != WindowUnfilled || math.Abs(a.LongestS-500) > 1e-4 {
			t.Errorf("window %g: status %d, longest %g (%v), want proof that 500 s is the longest", c.minS, a.Status, a.LongestS, err)
		}
		a, err := s.Laps(p)
		if err != nil {
			t.Fatal(err)
		}
		if c.laps == 0 {
			if a.Status == Found {
				t.Errorf("window %g: %d laps of %g s", c.minS, a.Walk.Laps, a.Walk.DurationS)
			}
			continue
		}
		if a.Status != Found || a.Walk.Laps != c.laps || a.Walk.StemS != 100 {
			t.Errorf("window %g: status %d, %d laps, stem %g; want %d laps and a stem of 100 s", c.minS, a.Status, a.Walk.Laps, a.Walk.StemS, c.laps)
			continue
		}
		if err := checkLoop(&p, &a.Walk, a.SurchargePerS); err != nil {
			t.Errorf("window %g: %v", c.minS, err)
		}
	}
}

func TestFlippedDirectionCostsTheSame(t *testing.T) {
	// Walking a symmetric loop backwards changes nothing, so numbering the arcs
	// the other way round must not change the cost either.
	const seed = 43
	r := rand.New(rand.NewPCG(seed, 1))
	s := NewSolver()
	for i := range 300 {
		p := randomSmall(r, smallKind{slices: 1})
		a, err := s.Solve(p)
		if err != nil || a.Status != Found {
			continue
		}
		back := a.Walk
		back.Arcs = nil
		for _, x := range slices.Backward(a.Walk.Arcs) {
			back.Arcs = append(back.Arcs, p.Graph.Twin[x])
		}
		if err := checkLoop(&p, &back, a.SurchargePerS); err != nil {
			t.Fatalf("seed %d case %d: %v", seed, i, err)
		}
		q := reversedProblem(&p)
		b, err := s.Solve(q)
		if err != nil || math.Abs(b.Walk.Minimised()-a.Walk.Minimised()) > 1e-7*a.Walk.Minimised() {
			t.Fatalf("seed %d case %d: %g one way, %g the other (%v)", seed, i, a.Walk.Minimised(), b.Walk.Minimised(), err)
		}
	}
}

// reversedProblem lists the arcs out of every vertex in the opposite order.
func reversedProblem(p *Problem) Problem {
	g := p.Graph
	m := g.ArcCount()
	to := make([]int32, m)
	for v := range g.VertexCount() {
		for a := g.First[v]; a < g.First[v+1]; a++ {
			to[a] = g.First[v] + g.First[v+1] - 1 - a
		}
	}
	q := *p
	q.Graph = &search.Graph{First: g.First, Head: make([]int32, m), Twin: make([]int32, m)}
	q.TimeS, q.Cost = make([]float32, m), [][]float32{make([]float32, m)}
	for a := range m {
		q.Graph.Head[to[a]], q.Graph.Twin[to[a]] = g.Head[a], to[g.Twin[a]]
		q.TimeS[to[a]], q.Cost[0][to[a]] = p.TimeS[a], p.Cost[0][a]
	}
	return q
}

func TestSameProblemSameAnswer(t *testing.T) {
	p := windowOf(suburbTown(), 45)
	for _, p.Door = range doorsOf(&p, 20, 8) {
		a, err := NewSolver().Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		used := NewSolver()
		q := p
		q.Door, q.MinS = doorsOf(&p, 1, 9)[0], p.MinS/2
		if _, err := used.Solve(q); err != nil {
			t.Fatal(err)
		}
		b, err := used.Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		if a.Status != b.Status || a.Nodes != b.Nodes || !slices.Equal(a.Walk.Arcs, b.Walk.Arcs) {
			t.Errorf("door %d: a fresh solver and a used one differ", p.Door)
		}
		if a.Status != Found {
			continue
		}
		x, err1 := NewSolver().Certify(p, a.Walk, 20_000)
		y, err2 := used.Certify(p, a.Walk, 20_000)
		if err1 != nil || err2 != nil || x.LowerBound != y.LowerBound || x.Work != y.Work {
			t.Errorf("door %d: proofs differ: %+v %+v", p.Door, x, y)
		}
	}
}

func TestAllocationsDoNotGrowWithTheMap(t *testing.T) {
	// The same neighbourhood in a small and in a large map: streets far away must
	// not cost anything.
	small := town(townKind{side: 40, spacingM: 115, missing: 0.3, slices: 1}, 3)
	large := widened(&small, 200_000)
	small, large = windowOf(small, 30), windowOf(large, 30)
	small.Door, large.Door = 820, 820
	s := NewSolver()
	measure := func(p Problem) float64 {
		return testing.AllocsPerRun(5, func() {
			if _, err := s.Solve(p); err != nil {
				t.Fatal(err)
			}
		})
	}
	a, b := measure(small), measure(large)
	if b > a+2 || b > 20 {
		t.Errorf("%g allocations in a small map, %g in a large one", a, b)
	}
}

// widened adds n vertices that nothing leads to.
func widened(p *Problem, n int) Problem {
	q := *p
	g := *p.Graph
	end := g.First[len(g.First)-1]
	g.First = slices.Clone(g.First)
	for range n {
		g.First = append(g.First, end)
	}
	q.Graph = &g
	return q
}

func TestLoopProblemErrors(t *testing.T) {
	good := windowOf(town(townKind{side: 4, spacingM: 100, slices: 1}, 1), 15)
	bad := map[string]func(p *Problem){
		"no graph":         func(p *Problem) { p.Graph = nil },
		"door outside":     func(p *Problem) { p.Door = 99999 },
		"door negative":    func(p *Problem) { p.Door = -1 },
		"times missing":    func(p *Problem) { p.TimeS = p.TimeS[:3] },
		"costs missing":    func(p *Problem) { p.Cost = nil },
		"costs short":      func(p *Problem) { p.Cost = [][]float32{p.Cost[0][:3]} },
		"instants missing": func(p *Problem) { p.Cost = [][]float32{p.Cost[0], p.Cost[0]} },
		"instants falling": func(p *Problem) {
			p.Cost = [][]float32{p.Cost[0], p.Cost[0], p.Cost[0]}
			p.ChangeS = []float64{9, 3}
		},
		"window empty":      func(p *Problem) { p.MinS = p.MaxS + 1 },
		"window zero":       func(p *Problem) { p.MinS = 0 },
		"window not a span": func(p *Problem) { p.MinS = math.NaN() },
		"window endless":    func(p *Problem) { p.MaxS = math.Inf(1) },
		"surcharge":         func(p *Problem) { p.Surcharge = -1 },
		"bars short":        func(p *Problem) { p.Barred = make([]bool, 2) },
		"negative time":     func(p *Problem) { p.TimeS = slices.Repeat([]float32{-1}, len(p.TimeS)) },
		"endless time":      func(p *Problem) { p.TimeS = slices.Repeat([]float32{float32(math.Inf(1))}, len(p.TimeS)) },
		"negative cost":     func(p *Problem) { p.Cost = [][]float32{slices.Repeat([]float32{-1}, len(p.TimeS))} },
	}
	for name, spoil := range bad {
		t.Run(name, func(t *testing.T) {
			p := good
			spoil(&p)
			if _, err := NewSolver().Solve(p); !errors.Is(err, ErrProblem) {
				t.Errorf("error %v, want ErrLoopProblem", err)
			}
		})
	}
	if _, err := NewSolver().Solve(good); err != nil {
		t.Errorf("the good problem: %v", err)
	}
}
