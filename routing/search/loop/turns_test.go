package loop

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// turnsAt lets a walk turn at every vertex for a price, with second passes at a
// fixed one.
func turnsAt(p Problem, turn, repeatPerS float64) Problem {
	p.Turn = slices.Repeat([]float32{float32(turn)}, p.Graph.VertexCount())
	p.Repeat = &repeatPerS
	return p
}

// TestTurnsOnSmallWorlds holds the single model against enumeration and says
// what shapes the optima have: each of them has to occur.
func TestTurnsOnSmallWorlds(t *testing.T) {
	const seed = 51
	r := rand.New(rand.NewPCG(seed, 1))
	s := NewSolver()
	shapes := map[string]int{}
	found := 0
	for i := range 2400 {
		p := randomSmall(r, smallKind{slices: 1 + i%2, turns: true, directed: i%3 == 0, barred: i%5 == 0})
		_, ok := checkSmall(t, s, p, fmt.Sprintf("seed %d case %d", seed, i))
		if t.Failed() {
			return
		}
		if !ok {
			continue
		}
		found++
		a, err := s.Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		shapes[shapeOf(&p, &a.Walk)]++
		proof, err := s.Certify(p, a.Walk, 0)
		if err != nil {
			t.Fatal(err)
		}
		if best := solveNaively(p, a.SurchargePerS).best; proof.LowerBound > best*(1+1e-9) {
			t.Fatalf("seed %d case %d: bound %g above the optimum %g", seed, i, proof.LowerBound, best)
		}
	}
	t.Logf("%d of 2400 have a walk: %v", found, shapes)
	for _, shape := range []string{"loop", "lollipop", "there and back", "with spurs"} {
		if shapes[shape] < 20 {
			t.Errorf("only %d optima are of the shape %q: the generator tests too little", shapes[shape], shape)
		}
	}
}

// shapeOf names the shape of a walk.
func shapeOf(p *Problem, l *Walk) string {
	n := len(l.Arcs)
	mirrored := 0
	for mirrored < n/2 && l.Arcs[n-1-mirrored] == p.Graph.Twin[l.Arcs[mirrored]] {
		mirrored++
	}
	switch {
	case l.RepeatedS == 0:
		return "loop"
	case 2*mirrored == n:
		return "there and back"
	case l.Turns > 0:
		return "with spurs"
	case mirrored > 0:
		return "lollipop"
	}
	return "loop with a shared part"
}

// TestTurnsNobodyTakesChangeNothing compares answers without turning with those
// where turning is forbidden at every vertex, and where it costs more than any walk.
func TestTurnsNobodyTakesChangeNothing(t *testing.T) {
	s := NewSolver()
	p := windowOf(suburbTown(), 30)
	for _, p.Door = range doorsOf(&p, 60, 21) {
		a, err := s.Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		q := turnsAt(p, math.Inf(1), a.SurchargePerS)
		b, err := s.Solve(q)
		if err != nil || a.Status != b.Status || a.LongestS != b.LongestS || !slices.Equal(a.Walk.Arcs, b.Walk.Arcs) {
			t.Fatalf("door %d: status %d and %d, %g and %g (%v)", p.Door, a.Status, b.Status, a.Walk.Minimised(), b.Walk.Minimised(), err)
		}
		if a.Status != Found {
			continue
		}
		x, err1 := s.Certify(p, a.Walk, 5000)
		y, err2 := s.Certify(q, b.Walk, 5000)
		if err1 != nil || err2 != nil || x.LowerBound != y.LowerBound {
			t.Fatalf("door %d: proofs %g and %g (%v, %v)", p.Door, x.LowerBound, y.LowerBound, err1, err2)
		}
	}
	const seed = 52
	r := rand.New(rand.NewPCG(seed, 1))
	compared := 0
	for i := range 600 {
		p := randomSmall(r, smallKind{slices: 1 + i%2})
		a, err := s.Solve(p)
		if err != nil || a.Status != Found {
			continue
		}
		b, err := s.Solve(turnsAt(p, 1e6, a.SurchargePerS))
		if err != nil || math.Abs(b.Walk.Minimised()/a.Walk.Minimised()-1) > 1e-9 {
			t.Fatalf("seed %d case %d: %g without turns, %g at a million each (%v)", seed, i, a.Walk.Minimised(), b.Walk.Minimised(), err)
		}
		compared++
	}
	if compared < 200 {
		t.Errorf("only %d compared", compared)
	}
}

// TestFurtherTurnsCostMore: on a street of dead ends, each of them calm, a walk that
// pays the same for every turn goes up and down them all; where every further turn
// costs more it turns less often, pays what it says, and the proof holds for it too.
func TestFurtherTurnsCostMore(t *testing.T) {
	const teeth = 6
	var streets []street
	add := func(u, v int32, t, cost float32) {
		streets = append(streets, street{u: u, v: v, t: t, back: t, costs: []float32{cost}, backs: []float32{cost}})
	}
	for i := int32(0); i < teeth; i++ {
		add(i, i+1, 60, 0.01)          // the street
		add(i+1, teeth+1+i, 60, 0.001) // a dead end off it
	}
	add(teeth, 0, 400, 0.5) // a loud way round
	p := buildLoopProblem(2*teeth+1, streets, 1)
	p.MinS, p.MaxS = 1080, 1150
	p = turnsAt(p, 0.002, 0)
	s := NewSolver()
	last := math.MaxInt
	seen := map[int]bool{}
	for _, p.TurnMore = range []float64{0, 0.002, 0.05, 1} {
		a, err := s.Solve(p)
		if err != nil || a.Status != Found {
			t.Fatal(err)
		}
		l := &a.Walk
		want := 0.0
		for i := range l.Turns {
			want += 0.002 + float64(i)*p.TurnMore
		}
		if math.Abs(l.TurnCost-want) > 1e-8 {
			t.Errorf("%g more each: %d turns cost %g, want %g", p.TurnMore, l.Turns, l.TurnCost, want)
		}
		best := solveNaively(p, a.SurchargePerS).best
		proof, err := s.Certify(p, *l, 0)
		if err != nil || math.Abs(l.Minimised()-best) > 1e-6 || proof.LowerBound > best*(1+1e-9) || proof.Gap > 1e-6 {
			t.Errorf("%g more each: %g found, %g enumerated, bound %g, gap %g (%v)", p.TurnMore, l.Minimised(), best, proof.LowerBound, proof.Gap, err)
		}
		if l.Turns > last {
			t.Errorf("%g more each: %d turns, %d when they cost less", p.TurnMore, l.Turns, last)
		}
		last = l.Turns
		seen[l.Turns] = true
	}
	if len(seen) < 2 {
		t.Errorf("always %v turns: the prices move nothing", seen)
	}
}

// TestOneModelHoldsTheOthers says that with free turns and free second passes no
// loop and no way there and back is cheaper than the one model's answer.
func TestOneModelHoldsTheOthers(t *testing.T) {
	s := NewSolver()
	for name, c := range map[string]struct {
		p       Problem
		minutes float64
		doors   int
	}{"suburb": {suburbTown(), 30, 60}, "dense": {denseTown5(), 15, 8}} {
		t.Run(name, func(t *testing.T) {
			p := windowOf(c.p, c.minutes)
			for _, p.Door = range doorsOf(&p, c.doors, 22) {
				free := turnsAt(p, 0, 0)
				a, err := s.Calmest(free)
				if err != nil {
					t.Fatal(err)
				}
				bound := 0.0
				if a.Status == Found && a.Walk.Laps == 1 {
					if err := checkLoop(&free, &a.Walk, 0); err != nil {
						t.Fatalf("door %d: %v", p.Door, err)
					}
					proof, err := s.Certify(free, a.Walk, 20_000)
					if err != nil {
						t.Fatal(err)
					}
					bound = proof.LowerBound
				}
				for shape, search := range map[string]func(Problem) (Answer, error){"loop": s.Solve, "there and back": s.ThereAndBack, "laps": s.Laps} {
					b, err := search(p)
					if err != nil {
						t.Fatal(err)
					}
					if b.Status != Found {
						continue
					}
					if a.Status != Found || b.Walk.Cost < a.Walk.Cost*(1-1e-9) {
						t.Errorf("door %d: %s costs %g, the one model's walk %g", p.Door, shape, b.Walk.Cost, a.Walk.Cost)
					}
					if shape != "laps" && b.Walk.Cost < bound*(1-1e-6) {
						t.Errorf("door %d: %s costs %g, below the bound %g", p.Door, shape, b.Walk.Cost, bound)
					}
				}
			}
		})
	}
}

// TestCalmGroundBehindADeadEnd: a noisy block at the door, and a quiet path that
// leads nowhere, which only a walk that turns can use.
func TestCalmGroundBehindADeadEnd(t *testing.T) {
	one := func(u, v int32, t, perS float32) street {
		return street{u: u, v: v, t: t, back: t, costs: []float32{t * perS}, backs: []float32{t * perS}}
	}
	p := buildLoopProblem(7, []street{
		one(0, 1, 150, .001), one(1, 2, 150, .001), one(2, 3, 150, .001), one(3, 0, 150, .001), // the block
		one(0, 4, 100, .0001), one(4, 5, 100, .0001), one(5, 6, 100, .0001), // the dead end
	}, 1)
	p.MinS, p.MaxS = 580, 620
	s := NewSolver()
	for _, c := range []struct {
		turn, repeat, cost, minimised float64
		turns                         int
	}{
		{math.Inf(1), 0, .6, .6, 0},
		{0.02, 0, .06, .08, 1},          // out to the end, home again
		{0.02, 0.0002, .06, .14, 1},     // second passes of 300 s at .0002
		{0.02, 0.0018, .06, .62, 1},     // not shown: .06 + .54 + .02 is dearer than .6
		{0.6, 0, .6, .6, 0},             // turning costs too much
		{0.53, 0, .06, .59, 1},          // and here not quite
		{0.02, 0.00172, .06, .596, 1},   // still cheaper than the block
		{0.02, 0.001734, .6, .6, 0},     // and here no more
		{math.Inf(1), 0.001, .6, .6, 0}, // no turns at any price of second passes
	} {
		if c.minimised > .6 {
			c.cost, c.minimised, c.turns = .6, .6, 0
		}
		a, err := s.Calmest(turnsAt(p, c.turn, c.repeat))
		if err != nil || a.Status != Found {
			t.Fatalf("turn %g: status %d (%v)", c.turn, a.Status, err)
		}
		if l := &a.Walk; math.Abs(l.Cost-c.cost) > 1e-6 || math.Abs(l.Minimised()-c.minimised) > 1e-6 || l.Turns != c.turns {
			t.Errorf("turn %g, second pass %g: cost %g, in all %g, %d turns; want %g, %g, %d",
				c.turn, c.repeat, l.Cost, l.Minimised(), l.Turns, c.cost, c.minimised, c.turns)
		}
	}
}

// TestStemLongerThanHalfTheWalk: the block at the end of the stem is out of
// reach, so the walk turns on the stem.
func TestStemLongerThanHalfTheWalk(t *testing.T) {
	one := func(u, v int32, t float32) street {
		return street{u: u, v: v, t: t, back: t, costs: []float32{t / 1000}, backs: []float32{t / 1000}}
	}
	p := buildLoopProblem(6, []street{one(0, 1, 200), one(1, 2, 200), one(2, 3, 50), one(3, 4, 50), one(4, 5, 50), one(5, 2, 50)}, 1)
	p.MinS, p.MaxS = 380, 420
	s := NewSolver()
	a, err := s.Calmest(turnsAt(p, .02, 0))
	if err != nil || a.Status != Found || a.Walk.DurationS != 400 || a.Walk.Turns != 1 {
		t.Fatalf("status %d, %g s, %d turns (%v), want 400 s and one turn", a.Status, a.Walk.DurationS, a.Walk.Turns, err)
	}
	// With time to go round the block, the stem is walked out and home: a lollipop.
	p.MinS, p.MaxS = 980, 1020
	if a, err = s.Calmest(turnsAt(p, .02, 0)); err != nil || a.Walk.DurationS != 1000 || a.Walk.Turns != 0 {
		t.Errorf("%g s, %d turns (%v), want 1000 s and none", a.Walk.DurationS, a.Walk.Turns, err)
	}
}

// TestProofOfThereAndBack holds the certificate of walks out and home the same
// way against enumeration.
func TestProofOfThereAndBack(t *testing.T) {
	const seed = 53
	r := rand.New(rand.NewPCG(seed, 1))
	s := NewSolver()
	walks, proved := 0, 0
	kinds := []smallKind{{slices: 1}, {slices: 1, directed: true, turns: true}, {slices: 1, barred: true}, {slices: 2, turns: true}}
	for i := range 2000 {
		k := kinds[i%len(kinds)]
		p := randomSmall(r, k)
		best, found := outAndBackNaively(&p)
		a, err := s.ThereAndBack(p)
		if err != nil || found != (a.Status == Found) {
			t.Fatalf("seed %d case %d: status %d, enumeration found %t (%v)", seed, i, a.Status, found, err)
		}
		if !found {
			continue
		}
		proof, err := s.CertifyThereAndBack(p, a.Walk, 0)
		if err != nil {
			t.Fatalf("seed %d case %d: %v", seed, i, err)
		}
		if proof.LowerBound > best*(1+1e-9) {
			t.Fatalf("seed %d case %d: bound %.9g above the optimum %.9g", seed, i, proof.LowerBound, best)
		}
		if k.slices > 1 {
			continue
		}
		walks++
		if proof.Gap < 1e-6 {
			proved++
			if proof.Best.Minimised() > best*(1+1e-9) {
				t.Fatalf("seed %d case %d: proved best at %g, optimum %g", seed, i, proof.Best.Minimised(), best)
			}
		}
	}
	t.Logf("%d of %d walks there and back proved best", proved, walks)
	if proved < walks*99/100 || walks < 500 {
		t.Errorf("%d of %d walks proved best", proved, walks)
	}
}

func TestThereAndBackInTownsIsProved(t *testing.T) {
	p := windowOf(suburbTown(), 30)
	s := NewSolver()
	walks, proved := 0, 0
	for _, p.Door = range doorsOf(&p, 60, 23) {
		a, err := s.ThereAndBack(p)
		if err != nil || a.Status != Found {
			continue
		}
		proof, err := s.CertifyThereAndBack(p, a.Walk, 0)
		if err != nil {
			t.Fatal(err)
		}
		if err := checkThereAndBack(&p, &proof.Best); err != nil {
			t.Fatalf("door %d: %v", p.Door, err)
		}
		walks++
		if proof.Gap < 1e-6 {
			proved++
		}
	}
	if walks < 40 || proved < walks {
		t.Errorf("%d of %d walks there and back proved, want all", proved, walks)
	}
}

// TestLapsAgainstEnumeration compares laps with every stem, round and number of
// laps of small worlds.
func TestLapsAgainstEnumeration(t *testing.T) {
	const seed = 54
	r := rand.New(rand.NewPCG(seed, 1))
	s := NewSolver()
	walks, best, gap := 0, 0, 0.0
	for i := range 800 {
		p := randomSmall(r, smallKind{slices: 1})
		repeat := r.Float64() / 2000
		p.Repeat = &repeat
		least := lapsNaively(&p)
		a, err := s.Laps(p)
		if err != nil {
			t.Fatal(err)
		}
		if a.Status != Found {
			continue // Laps corrects for the stem a few times, so it may miss
		}
		if err := checkLoop(&p, &a.Walk, repeat); err != nil {
			t.Fatalf("seed %d case %d: %v", seed, i, err)
		}
		if a.Walk.Minimised() < least*(1-1e-9) {
			t.Fatalf("seed %d case %d: %g below the least %g of enumeration", seed, i, a.Walk.Minimised(), least)
		}
		walks++
		gap += a.Walk.Minimised()/least - 1
		if a.Walk.Minimised() < least*(1+1e-9) {
			best++
		}
	}
	t.Logf("%d laps, %d of them the best there are, mean gap %.3f", walks, best, gap/float64(walks))
	if walks < 200 || 10*best < 8*walks || gap > 0.06*float64(walks) {
		t.Errorf("%d of %d laps are the best there are, mean gap %.3f; want 8 of 10 and at most 0.06", best, walks, gap/float64(walks))
	}
}

// lapsNaively is the least of every closed walk without turns whose round part,
// what is left when the way out that is also the way home is taken off, is walked
// two to four times.
func lapsNaively(p *Problem) float64 {
	least := math.Inf(1)
	q := *p
	q.MinS = 1e-9
	n := &naive{p: &q, used: make([]bool, p.Graph.ArcCount()), best: math.Inf(1)}
	n.onHome = func(_, _ float64) {
		for laps := 2; laps <= mostLaps; laps++ {
			walk, stem := lapped(p.Graph, n.path, laps)
			if len(walk) == 2*len(stem) {
				continue
			}
			l := p.measure(walk, *p.Repeat)
			if l.DurationS >= p.MinS-1e-6 && l.DurationS <= p.MaxS+1e-6 {
				least = min(least, l.Minimised())
			}
		}
	}
	n.grow(p.Door, -1, 0, 0)
	return least
}
