package loop

import (
	"math"
	"math/rand/v2"
	"slices"
	"sort"
	"testing"

	"wideberth/routing/search"
)

// home is a closed walk of a small problem, as arcs of the graph and of the core.
type home struct {
	arcs, core []int32
	cost       float64 // as the enumeration counts it: what searches minimise
	judged     float64 // as the core does
}

// homes are all walks in the window of a small problem that a solver is prepared for,
// false where they are too many to be of use.
func homes(t *testing.T, s *Solver, p *Problem) (all []home, ok bool) {
	t.Helper()
	n := &naive{p: p, perS: s.core.surchargePerS, used: make([]bool, p.Graph.ArcCount()), best: math.Inf(1)}
	if p.Strict {
		n.bridge = naiveBridges(p)
	}
	n.onHome = func(atS, cost float64) {
		if atS >= p.MinS && len(all) <= 400 {
			all = append(all, home{arcs: slices.Clone(n.path), cost: cost})
		}
	}
	n.grow(p.Door, -1, 0, 0)
	if len(all) == 0 || len(all) > 400 {
		return nil, false
	}
	for i := range all {
		if !s.adopt(all[i].arcs) {
			t.Fatalf("walk %v of the model is none of the core", all[i].arcs)
		}
		all[i].core, all[i].judged = slices.Clone(s.best.arcs), s.best.cost
	}
	s.best.clear()
	return all, true
}

// eachSmall calls do for small problems of all kinds that have walks in their window.
func eachSmall(t *testing.T, seed uint64, rounds, least int, kinds []smallKind, do func(r *rand.Rand, s *Solver, p *Problem, all []home)) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 3))
	s, done := NewSolver(), 0
	for i := range rounds {
		p := randomSmall(r, kinds[i%len(kinds)])
		ok, err := s.prepare(p)
		if err != nil {
			t.Fatal(err)
		}
		if !ok {
			continue
		}
		if all, ok := homes(t, s, &p); ok {
			done++
			do(r, s, &p, all)
			if t.Failed() {
				t.Fatalf("seed %d round %d", seed, i)
			}
		}
	}
	if done < least {
		t.Errorf("only %d of %d problems have a walk", done, rounds)
	}
}

// TestEveryWalkOfTheModelIsInTheCore: stripped, contracted and cut off at the stem, the core
// still has every walk, at its cost, and gives it back arc by arc.
func TestEveryWalkOfTheModelIsInTheCore(t *testing.T) {
	eachSmall(t, 41, 250, 40, smallKinds, func(_ *rand.Rand, s *Solver, p *Problem, all []home) {
		for i := range all {
			if math.Abs(all[i].judged-all[i].cost) > 1e-9*(1+all[i].cost) {
				t.Errorf("walk %v costs %.9g, in the core %.9g", all[i].arcs, all[i].cost, all[i].judged)
			}
			s.best.arcs = append(s.best.arcs[:0], all[i].core...)
			l := s.loop()
			if !slices.Equal(l.Arcs, all[i].arcs) || math.Abs(l.Minimised()-all[i].cost) > 1e-9*(1+all[i].cost) {
				t.Errorf("walk %v at %g comes back as %v at %g", all[i].arcs, all[i].cost, l.Arcs, l.Minimised())
			}
			if err := checkLoop(p, &l, s.core.surchargePerS); err != nil {
				t.Error(err)
			}
		}
	})
}

// TestDamagedWalksAreNotAdopted: whatever is adopted of walks that were damaged is a walk of
// the model, by the validator that shares nothing with the core.
func TestDamagedWalksAreNotAdopted(t *testing.T) {
	refused := 0
	eachSmall(t, 42, 300, 60, smallKinds, func(r *rand.Rand, s *Solver, p *Problem, all []home) {
		for range 10 {
			arcs := slices.Clone(all[r.IntN(len(all))].arcs)
			i, j := r.IntN(len(arcs)), r.IntN(len(arcs))
			switch r.IntN(4) {
			case 0:
				arcs[i], arcs[j] = arcs[j], arcs[i]
			case 1:
				arcs = slices.Delete(arcs, i, i+1)
			case 2:
				arcs = slices.Insert(arcs, i, arcs[j])
			case 3:
				arcs[i] = p.Graph.Twin[arcs[i]]
			}
			if !s.adopt(arcs) {
				refused++
				continue
			}
			l := p.measure(arcs, s.core.surchargePerS)
			if err := checkLoop(p, &l, s.core.surchargePerS); err != nil {
				t.Errorf("adopted is %v: %v", arcs, err)
			}
		}
	})
	if refused < 200 {
		t.Errorf("only %d damaged walks are refused", refused)
	}
}

// TestTableNeverOverstatesTheWayHome: with times rounded up the table is no more than what
// the rest of any walk costs, from after each of its arcs, whatever the layers.
func TestTableNeverOverstatesTheWayHome(t *testing.T) {
	held, tight := 0, 0
	eachSmall(t, 43, 200, 40, smallKinds, func(r *rand.Rand, s *Solver, p *Problem, all []home) {
		c := &s.core
		s.bound.fill(c, 15+r.IntN(300), true, nil)
		for i := range all {
			at, cost, turns := c.startS, c.startCost, 0
			walked := map[int32]bool{}
			v, by := int32(0), int32(noArc)
			for _, a := range all[i].core {
				k := &c.arc[a]
				cost += c.turnOnto(v, by, a) + c.costAt(a, at)
				if c.isTurn(by, a) {
					cost += c.further(turns)
					turns++
				}
				if walked[k.run>>1] {
					cost += k.surcharge
				}
				walked[k.run>>1] = true
				at += k.timeS
				v, by = k.head, a
				rest := all[i].judged - cost
				if got := s.bound.toGo(a, at, 0) * s.bound.shrink; got > rest+1e-9*(1+all[i].judged) {
					t.Errorf("%.9g s into %v at least %.9g more is said, it is %.9g", at, all[i].arcs, got, rest)
				} else if got > 0.5*rest {
					tight++
				}
				held++
			}
		}
	})
	if tight < held/10 {
		t.Errorf("of %d bounds only %d come to half of what is true or more: they say nothing", held, tight)
	}
}

// TestFinerTablesBoundNoLess: twice as many layers give a bound that is no lower but for
// the rounding of a layer, and no bound lies above the cheapest walk.
func TestFinerTablesBoundNoLess(t *testing.T) {
	coarser, finer := 0.0, 0.0
	eachSmall(t, 44, 160, 30, smallKinds, func(_ *rand.Rand, s *Solver, _ *Problem, all []home) {
		least := math.Inf(1)
		for i := range all {
			least = min(least, all[i].judged)
		}
		for _, layers := range []int{10, 40, 640} {
			s.bound.fill(&s.core, layers, true, nil)
			b := s.bound.bound()
			if b > least*(1+1e-9) {
				t.Errorf("with %d layers %.9g, the cheapest walk costs %.9g", layers, b, least)
			}
			switch layers {
			case 10:
				coarser += b / least
			case 640:
				finer += b / least
			}
		}
	})
	if finer <= coarser {
		t.Errorf("sums of bounds: %g coarse, %g fine", coarser, finer)
	}
}

// TestShrinkingLosesNothingBetter: with any walk at hand, what is dropped as dearer than it
// leaves every walk that is cheaper, and the last search still finds the cheapest.
func TestShrinkingLosesNothingBetter(t *testing.T) {
	dropped := 0
	eachSmall(t, 45, 240, 40, smallKinds, func(r *rand.Rand, s *Solver, p *Problem, all []home) {
		sort.Slice(all, func(i, j int) bool { return all[i].cost < all[j].cost })
		at := r.IntN(len(all))
		if !s.adopt(all[at].arcs) {
			t.Fatal("not adopted")
		}
		before := len(s.core.chain)
		if err := s.shrink(); err != nil {
			t.Fatal(err)
		}
		if len(s.core.chain) < before {
			dropped++
		}
		if math.Abs(s.best.cost-all[at].judged) > 1e-9*(1+all[at].judged) {
			t.Errorf("the walk at hand cost %.9g, now %.9g", all[at].judged, s.best.cost)
		}
		for i := range at {
			if !s.adopt(all[i].arcs) && all[i].cost < all[at].cost*(1-1e-9) {
				t.Errorf("a walk at %.9g is lost, beside one at %.9g", all[i].cost, all[at].cost)
			}
		}
		s.adopt(all[at].arcs)
		s.bound.fill(&s.core, 200, true, nil)
		s.tail.begin(&s.core, &s.bound, &s.best)
		if !s.tail.exhaust(1_000_000) || math.Abs(s.best.cost-all[0].judged) > 1e-9*(1+all[0].judged) {
			t.Errorf("the cheapest is %.9g, found is %.9g", all[0].judged, s.best.cost)
		}
		l := s.loop()
		if err := checkLoop(p, &l, s.core.surchargePerS); err != nil {
			t.Error(err)
		}
	})
	if dropped < 5 {
		t.Errorf("something was dropped %d times: too few to show anything", dropped)
	}
}

// TestSplitTimeBoundsWalksThroughAChain: what dropDear holds against the best is no more
// than any walk through the chain costs, where both directions cost the same.
func TestSplitTimeBoundsWalksThroughAChain(t *testing.T) {
	kinds := []smallKind{{slices: 1}, {slices: 1, turns: true}, {slices: 1, strict: true}}
	held := 0
	eachSmall(t, 46, 160, 30, kinds, func(r *rand.Rand, s *Solver, _ *Problem, all []home) {
		c := &s.core
		s.bound.fill(c, 20+r.IntN(200), true, nil)
		for i := range c.chain {
			a := c.byRun[2*i]
			got := c.startCost - c.leastEndCost() + c.cost[a] + s.bound.shrink*s.bound.leastAround(a)
			for k := range all {
				if slices.ContainsFunc(all[k].core, func(b int32) bool { return int(c.arc[b].run>>1) == i }) {
					held++
					if got > all[k].judged*(1+1e-9) {
						t.Errorf("through chain %d at least %.9g is said, %v costs %.9g", i, got, all[k].arcs, all[k].judged)
					}
				}
			}
		}
	})
	if held < 1000 {
		t.Errorf("only %d walks through chains", held)
	}
}

// TestDearChainsMayGo: after dropDear every walk that is cheaper than the one at hand can
// still be walked.
func TestDearChainsMayGo(t *testing.T) {
	dropped := 0
	eachSmall(t, 47, 250, 40, []smallKind{{slices: 1}, {slices: 1, turns: true}}, func(r *rand.Rand, s *Solver, _ *Problem, all []home) {
		sort.Slice(all, func(i, j int) bool { return all[i].cost < all[j].cost })
		if !s.adopt(all[r.IntN(len(all))].arcs) {
			t.Fatal("not adopted")
		}
		at := s.best.cost
		m := multipliers{s: s, layers: 200}
		m.start()
		m.raise(3)
		s.bound.fill(&s.core, 200, true, m.best)
		if !s.dropDear(&m) {
			return
		}
		dropped++
		if err := s.relay(); err != nil {
			t.Fatal(err)
		}
		for i := range all {
			if all[i].judged < at*(1-1e-9) && !s.adopt(all[i].arcs) {
				t.Errorf("a walk at %.9g is lost, beside one at %.9g", all[i].judged, at)
			}
		}
	})
	if dropped < 10 {
		t.Errorf("something was dropped %d times: too few to show anything", dropped)
	}
}

// TestDetoursOnlyEverHelp: local search leaves every walk a walk of the model, at the cost
// that it says, never dearer, and mostly finds something where there is much to gain.
func TestDetoursOnlyEverHelp(t *testing.T) {
	dear, helped := 0, 0
	eachSmall(t, 48, 250, 40, smallKinds, func(r *rand.Rand, s *Solver, p *Problem, all []home) {
		least := math.Inf(1)
		for i := range all {
			least = min(least, all[i].judged)
		}
		h := &all[r.IntN(len(all))]
		s.best.arcs, s.best.cost = append(s.best.arcs[:0], h.core...), h.judged
		s.detours.improve(&s.core, &s.best)
		if s.best.cost > h.judged*(1+1e-9) || s.best.cost < least*(1-1e-9) {
			t.Errorf("%.9g became %.9g, the least is %.9g", h.judged, s.best.cost, least)
		}
		var passes []uint8
		if cost, ok := s.core.judge(s.best.arcs, &passes); !ok || math.Abs(cost-s.best.cost) > 1e-9*(1+cost) {
			t.Errorf("said is %.9g, it costs %.9g (allowed %v)", s.best.cost, cost, ok)
		}
		l := s.loop()
		if err := checkLoop(p, &l, s.core.surchargePerS); err != nil {
			t.Error(err)
		}
		if h.judged > 1.2*least {
			dear++
			if s.best.cost < h.judged*(1-1e-6) {
				helped++
			}
		}
	})
	if dear < 30 || helped < dear/6 {
		t.Errorf("of %d dear walks %d were made cheaper", dear, helped)
	}
}

// TestTailsAreTheBestThereAre: of all walks that begin alike, a tail with a bound and
// enough nodes ends in the cheapest.
func TestTailsAreTheBestThereAre(t *testing.T) {
	held := 0
	eachSmall(t, 49, 200, 40, smallKinds, func(r *rand.Rand, s *Solver, p *Problem, all []home) {
		s.bound.fill(&s.core, 200, true, nil)
		for range 3 {
			h := &all[r.IntN(len(all))]
			prefix := h.core[:r.IntN(len(h.core))]
			least := math.Inf(1)
			for i := range all {
				if len(all[i].core) > len(prefix) && slices.Equal(all[i].core[:len(prefix)], prefix) {
					least = min(least, all[i].judged)
				}
			}
			s.best.clear()
			s.tail.begin(&s.core, &s.bound, &s.best)
			s.tail.complete(prefix, 1_000_000)
			if s.tail.broken || math.Abs(s.best.cost-least) > 1e-9*(1+least) || !slices.Equal(s.best.arcs[:len(prefix)], prefix) {
				t.Errorf("after %v the least is %.9g, found %.9g along %v", prefix, least, s.best.cost, s.best.arcs)
			}
			held++
			s.best.arcs, s.best.cost = append(s.best.arcs[:0], h.core...), h.judged
			s.tail.improve(2, 50)
			l := s.loop()
			if err := checkLoop(p, &l, s.core.surchargePerS); err != nil || s.best.cost > h.judged {
				t.Errorf("%.9g became %.9g: %v", h.judged, s.best.cost, err)
			}
		}
	})
	if held < 120 {
		t.Errorf("only %d tails", held)
	}
}

// TestBridgesOfTheCore: a chain is a bridge if its ends hang together by nothing else.
func TestBridgesOfTheCore(t *testing.T) {
	seen := map[bool]int{}
	r := rand.New(rand.NewPCG(50, 1))
	s := NewSolver()
	for range 400 {
		p := randomSmall(r, smallKind{slices: 1, turns: true})
		if ok, err := s.prepare(p); err != nil || !ok {
			continue
		}
		c := &s.core
		c.findBridges()
		g := &search.Graph{First: c.first}
		for a := range c.arc {
			g.Head, g.Twin = append(g.Head, c.arc[a].head), append(g.Twin, c.arc[a].twin)
		}
		for i := range c.chain {
			a := c.byRun[2*i]
			want := !naiveReaches(g, make([]bool, len(c.arc)), a, g.Head[g.Twin[a]], g.Head[a])
			if seen[want]++; c.bridge[i] != want {
				t.Fatalf("chain %d of %d: a bridge %v, want %v", i, len(c.chain), c.bridge[i], want)
			}
		}
	}
	if seen[true] < 50 || seen[false] < 50 {
		t.Errorf("%v: too few to show anything", seen)
	}
}

// TestMedianRateSecondBySecond: the rate at half of all seconds, each edge standing there
// for as many as it takes both ways.
func TestMedianRateSecondBySecond(t *testing.T) {
	r := rand.New(rand.NewPCG(51, 1))
	for range 300 {
		var streets []street
		n := 2 + r.IntN(5)
		for range 1 + r.IntN(9) {
			s := street{u: int32(r.IntN(n)), v: int32(r.IntN(n)), t: float32(r.IntN(9)), back: float32(r.IntN(9))}
			s.costs, s.backs = []float32{float32(r.IntN(50))}, []float32{float32(r.IntN(50))}
			streets = append(streets, s)
		}
		p := buildLoopProblem(n, streets, 1)
		var each []float64
		for _, s := range streets {
			for range int(s.t + s.back) {
				each = append(each, float64(s.costs[0]+s.backs[0])/float64(s.t+s.back))
			}
		}
		slices.Sort(each)
		want := 0.0
		if len(each) > 0 {
			want = each[(len(each)-1)/2]
		}
		if got := MedianRate(p.Graph, p.TimeS, p.Cost[0]); math.Abs(got-want) > 1e-9 {
			t.Fatalf("%+v: %g, want %g", streets, got, want)
		}
	}
}

// TestSlicesOfTheClock: an instant belongs to what comes after it.
func TestSlicesOfTheClock(t *testing.T) {
	p := Problem{ChangeS: []float64{100, 250, 250, 400}, Cost: [][]float32{{0}, {1}, {2}, {3}, {4}}}
	for clock, want := range map[float64]int{0: 0, 99.9: 0, 100: 1, 249: 1, 250: 3, 399: 3, 400: 4, 1e9: 4} {
		if got := p.sliceAt(clock); got != want || p.costAt(0, clock) != float64(want) {
			t.Errorf("at %g s slice %d, want %d", clock, got, want)
		}
	}
}

// TestRoundsAreLapped: a lollipop walked n times is its stem, n rounds and the stem home;
// a walk out and home has nothing to lap but its turn.
func TestRoundsAreLapped(t *testing.T) {
	p := buildLoopProblem(4, []street{
		{u: 0, v: 1, t: 10, back: 10, costs: []float32{0}, backs: []float32{0}},
		{u: 1, v: 2, t: 10, back: 10, costs: []float32{0}, backs: []float32{0}},
		{u: 2, v: 3, t: 10, back: 10, costs: []float32{0}, backs: []float32{0}},
		{u: 3, v: 1, t: 10, back: 10, costs: []float32{0}, backs: []float32{0}}}, 1)
	arc := func(u, v int32) int32 {
		for a := p.Graph.First[u]; a < p.Graph.First[u+1]; a++ {
			if p.Graph.Head[a] == v {
				return a
			}
		}
		t.Fatal("no such arc")
		return -1
	}
	out, back := arc(0, 1), arc(1, 0)
	round := []int32{arc(1, 2), arc(2, 3), arc(3, 1)}
	loop := append(append([]int32{out}, round...), back)
	for n := 1; n <= 4; n++ {
		want := append([]int32{out}, slices.Repeat(round, n)...)
		want = append(want, back)
		walk, stem := lapped(p.Graph, loop, n)
		if !slices.Equal(walk, want) || !slices.Equal(stem, []int32{out}) {
			t.Errorf("%d times: %v off %v, want %v", n, walk, stem, want)
		}
		l := p.measure(walk, 1)
		if l.DurationS != float64(20+30*n) || l.RepeatedS != float64(10+30*(n-1)) || l.Turns != 0 {
			t.Errorf("%d times: %+v", n, l)
		}
	}
}
