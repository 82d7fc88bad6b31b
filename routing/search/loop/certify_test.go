package loop

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"
)

// smallKinds are the kinds of small problem on which proofs are checked against
// enumeration.
var smallKinds = []smallKind{
	{slices: 1}, {slices: 1, directed: true}, {slices: 3}, {slices: 2, directed: true, barred: true}, {slices: 1, strict: true},
	{slices: 1, turns: true}, {slices: 1, turns: true, directed: true}, {slices: 3, turns: true, barred: true},
}

func TestProofNeverContradictsEnumeration(t *testing.T) {
	const seed = 31
	r := rand.New(rand.NewPCG(seed, 1))
	s := NewSolver()
	proved, loops := 0, 0
	for i := range 1500 {
		p := randomSmall(r, smallKinds[i%len(smallKinds)])
		a, err := s.Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		if a.Status != Found {
			continue
		}
		loops++
		optimum := solveNaively(p, a.SurchargePerS).best
		for _, work := range []int{200, 3000, 200_000} {
			proof, err := s.Certify(p, a.Walk, work)
			if err != nil {
				t.Fatalf("seed %d case %d: %v", seed, i, err)
			}
			if proof.LowerBound > optimum*(1+1e-9) {
				t.Fatalf("seed %d case %d work %d: bound %.9g above the optimum %.9g", seed, i, work, proof.LowerBound, optimum)
			}
			if err := checkLoop(&p, &proof.Best, a.SurchargePerS); err != nil {
				t.Fatalf("seed %d case %d: %v", seed, i, err)
			}
			if proof.Best.Minimised() > a.Walk.Minimised()*(1+1e-9) {
				t.Fatalf("seed %d case %d: the proof made the loop dearer", seed, i)
			}
			if work == 200_000 && proof.Gap == 0 {
				proved++
				if proof.Best.Minimised() > optimum*(1+1e-9) {
					t.Fatalf("seed %d case %d: proved best at %g, optimum %g", seed, i, proof.Best.Minimised(), optimum)
				}
			}
		}
	}
	if proved < loops*98/100 {
		t.Errorf("only %d of %d small loops proved best", proved, loops)
	}
	t.Logf("%d of %d small loops proved best", proved, loops)
}

func TestBoundHoldsForAnyMultipliers(t *testing.T) {
	const seed = 32
	r := rand.New(rand.NewPCG(seed, 1))
	s := NewSolver()
	checked := 0
	for i := range 800 {
		p := randomSmall(r, smallKinds[i%len(smallKinds)])
		if ok, err := s.prepare(p); err != nil || !ok {
			continue
		}
		optimum := solveNaively(p, s.core.surchargePerS).best
		m := multipliers{s: s}
		s.best.cost = 1
		m.limit()
		pi, owed := make([]float64, len(m.most)), 0.0
		for k := range pi {
			pi[k] = m.most[k] * r.Float64()
			owed += pi[k]
		}
		s.bound.fill(&s.core, 20+r.IntN(400), true, pi)
		if bound := s.bound.bound() - owed; bound > optimum*(1+1e-9) {
			t.Fatalf("seed %d case %d: bound %.9g above the optimum %.9g", seed, i, bound, optimum)
		}
		checked++
	}
	t.Logf("%d bounds", checked)
}

func TestCertifyRefusesForeignLoops(t *testing.T) {
	p := windowOf(suburbTown(), 30)
	s := NewSolver()
	var found Walk
	for _, p.Door = range doorsOf(&p, 50, 4) {
		if a, err := s.Solve(p); err == nil && a.Status == Found {
			found = a.Walk
			break
		}
	}
	if len(found.Arcs) == 0 {
		t.Fatal("no loop to start from")
	}
	found.Arcs = slices.Clone(found.Arcs)
	found.Arcs[len(found.Arcs)/2] ^= 1
	for name, arcs := range map[string][]int32{"broken": found.Arcs, "empty": nil, "half": found.Arcs[:len(found.Arcs)/2]} {
		if _, err := s.Certify(p, Walk{Arcs: arcs}, 0); !errors.Is(err, ErrProblem) {
			t.Errorf("%s: error %v, want ErrLoopProblem", name, err)
		}
	}
}

func BenchmarkCertify(b *testing.B) {
	for _, work := range []int{30_000, 150_000, 750_000} {
		b.Run(fmt.Sprint(work), func(b *testing.B) {
			p := windowOf(suburbTown(), 30)
			doors := doorsOf(&p, 200, 12)
			s := NewSolver()
			var took []float64
			best, five, quarter := 0, 0, 0
			for i := range b.N {
				p.Door = doors[i%len(doors)]
				a, err := s.Solve(p)
				if err != nil || a.Status != Found {
					continue
				}
				start := time.Now()
				proof, err := s.Certify(p, a.Walk, work)
				if err != nil {
					b.Fatal(err)
				}
				took = append(took, float64(time.Since(start).Microseconds())/1000)
				for _, c := range []struct {
					count *int
					gap   float64
				}{{&best, 0}, {&five, .05}, {&quarter, .25}} {
					if proof.Gap <= c.gap {
						*c.count++
					}
				}
			}
			slices.Sort(took)
			n := float64(len(took))
			b.ReportMetric(100*float64(best)/n, "%best")
			b.ReportMetric(100*float64(five)/n, "%within5")
			b.ReportMetric(100*float64(quarter)/n, "%within25")
			b.ReportMetric(took[len(took)/2], "p50-ms")
			b.ReportMetric(took[len(took)*99/100], "p99-ms")
		})
	}
}
