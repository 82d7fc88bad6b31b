package loop

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// TestRivalsBelowACost: a search that may stay below a cost gives nothing that does not,
// and loses nothing of account: what the search without one finds, and is well below the
// cost, it betters or comes near.
func TestRivalsBelowACost(t *testing.T) {
	s := NewSolver()
	p := windowOf(suburbTown(), 30)
	found, near := 0, 0
	for _, p.Door = range doorsOf(&p, 25, 31) {
		q := turnsAt(p, .01, .0001)
		for shape, search := range map[string]struct {
			any   func(Problem) (Answer, error)
			below func(Problem, float64) (Answer, error)
		}{"there and back": {s.ThereAndBack, s.thereAndBackBelow}, "laps": {s.Laps, s.lapsBelow}} {
			a, err := search.any(q)
			if err != nil {
				t.Fatal(err)
			}
			if a.Status != Found {
				continue
			}
			sum := q.measure(a.Walk.Arcs, *q.Repeat)
			for _, factor := range []float64{.5, 1.05, 2} {
				b, err := search.below(q, factor*sum.Minimised())
				if err != nil {
					t.Fatal(err)
				}
				if b.Status != Found {
					if factor > 1 {
						found++
					}
					continue
				}
				l := q.measure(b.Walk.Arcs, *q.Repeat)
				l.Laps, l.StemS = b.Walk.Laps, b.Walk.StemS
				if err := checkLoop(&q, &l, *q.Repeat); err != nil {
					t.Fatalf("door %d: %s: %v", p.Door, shape, err)
				}
				if l.Minimised() >= factor*sum.Minimised() {
					t.Errorf("door %d: %s below %g costs %g", p.Door, shape, factor*sum.Minimised(), l.Minimised())
				}
				if factor > 1 {
					found++
					if l.Minimised() <= 1.02*sum.Minimised() {
						near++
					}
				}
			}
		}
	}
	if found < 50 || 20*near < 19*found {
		t.Errorf("%d of %d came near, want 19 of 20", near, found)
	}
}

// TestLapsAreCertifiedByTheirArcs: whoever gives laps back to be proved has their arcs
// only; other arcs, or too few of them, are refused.
func TestLapsAreCertifiedByTheirArcs(t *testing.T) {
	r := rand.New(rand.NewPCG(55, 1))
	s := NewSolver()
	seen := 0
	for range 100 {
		p := randomSmall(r, smallKind{slices: 1})
		repeat := r.Float64() / 2000
		p.Repeat = &repeat
		a, err := s.Laps(p)
		if err != nil {
			t.Fatal(err)
		}
		if a.Status != Found {
			continue
		}
		seen++
		want, err := s.Certify(p, a.Walk, 0)
		if err != nil {
			t.Fatal(err)
		}
		got, err := s.Certify(p, Walk{Arcs: a.Walk.Arcs, Laps: a.Walk.Laps}, 0)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(got.LowerBound-want.LowerBound) > 1e-12 || math.Abs(got.Best.Minimised()-want.Best.Minimised()) > 1e-12 || got.Best.Laps != want.Best.Laps {
			t.Errorf("by the arcs alone %+v, with their figures %+v", got, want)
		}
		short := Walk{Arcs: a.Walk.Arcs[:len(a.Walk.Arcs)/a.Walk.Laps], Laps: a.Walk.Laps}
		wrong := []Walk{short}
		if p.Graph.Head[a.Walk.Arcs[0]] != p.Door {
			wrong = append(wrong, Walk{Arcs: a.Walk.Arcs[1:], Laps: a.Walk.Laps}, Walk{Arcs: a.Walk.Arcs[:len(a.Walk.Arcs)-1], Laps: a.Walk.Laps})
		}
		for _, l := range wrong {
			if _, err := s.Certify(p, l, 0); !errors.Is(err, ErrProblem) {
				t.Errorf("%v was taken as laps: %v", l.Arcs, err)
			}
		}
	}
	if seen < 25 {
		t.Errorf("only %d laps were seen", seen)
	}
}

// TestProofsStayWithinTheirWork: a proof told to work little does little from its first
// round on, and bounds no higher than what exists.
func TestProofsStayWithinTheirWork(t *testing.T) {
	s := NewSolver()
	p := windowOf(suburbTown(), 30)
	seen := 0
	for _, p.Door = range doorsOf(&p, 12, 41) {
		a, err := s.Solve(p)
		if err != nil || a.Status != Found {
			continue
		}
		seen++
		best := math.Inf(1)
		for _, work := range []int{1, 1000, 6000, 0} {
			proof, err := s.Certify(p, a.Walk, work)
			if err != nil {
				t.Fatal(err)
			}
			best = min(best, proof.Best.Minimised())
			if proof.LowerBound > best*(1+1e-9) {
				t.Errorf("door %d, work %d: bound %g above the walk %g", p.Door, work, proof.LowerBound, best)
			}
			// One coarse table is always made, and its like may follow what is nearly spent.
			if most := work + 4*fullEffort.tableLayers*2*a.Edges/cellsPerWork/5; work > 0 && proof.Work > most+1000 {
				t.Errorf("door %d: told to work %d it worked %d, on %d chains", p.Door, work, proof.Work, a.Edges)
			}
		}
	}
	if seen < 6 {
		t.Errorf("only %d loops were seen", seen)
	}
}
