package loop

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestDistancesByRelaxing: least weights from the root and home to it, against relaxing
// every arc until nothing changes.
func TestDistancesByRelaxing(t *testing.T) {
	r := rand.New(rand.NewPCG(61, 1))
	s, held := NewSolver(), 0
	for i := range 300 {
		p := randomSmall(r, smallKinds[i%len(smallKinds)])
		if ok, err := s.prepare(p); err != nil || !ok {
			continue
		}
		c := &s.core
		weight := make([]float64, len(c.arc))
		for a := range weight {
			weight[a] = r.ExpFloat64()
			if r.IntN(8) == 0 {
				weight[a] = math.Inf(1)
			}
		}
		for _, back := range []bool{false, true} {
			want := make([]float64, c.vertexCount())
			for v := range want {
				want[v] = math.Inf(1)
			}
			want[0] = 2.5
			for changed := true; changed; {
				changed = false
				for a := range c.arc {
					from, to := c.arc[c.arc[a].twin].head, c.arc[a].head
					if back {
						from, to = to, from
					}
					if want[from]+weight[a] < want[to]-1e-12 {
						want[to], changed = want[from]+weight[a], true
					}
				}
			}
			got := c.distances(nil, weight, back, 2.5)
			for v := range want {
				held++
				if got[v] != want[v] && math.Abs(got[v]-want[v]) > 1e-5 { // entries of the queue are rounded
					t.Fatalf("case %d, home %v: vertex %d at %g, want %g", i, back, v, got[v], want[v])
				}
			}
		}
	}
	if held < 500 {
		t.Errorf("only %d vertices", held)
	}
}

// TestNumbersOfVertices: the index numbers vertices as a map would, through growth and
// from one query to the next.
func TestNumbersOfVertices(t *testing.T) {
	r := rand.New(rand.NewPCG(62, 1))
	var x streetIndex
	for _, n := range []int{10, 3000, 200, 1} {
		x.reset()
		twin := map[int32]int32{}
		for range n {
			v := int32(r.IntN(2 * n))
			want, known := twin[v]
			if got := x.number(v); known != (got >= 0) || known && got != want {
				t.Fatalf("%d has number %d, want %d (%v)", v, got, want, known)
			}
			if !known {
				want = int32(len(twin))
				twin[v] = want
			}
			if got, added := x.add(v); got != want || added == known {
				t.Fatalf("%d is given %d (new %v), want %d", v, got, added, want)
			}
		}
		for v, want := range twin {
			if x.number(v) != want {
				t.Fatalf("%d has number %d at the end, want %d", v, x.number(v), want)
			}
		}
	}
}

// TestLeastCostsAreTheLeastSoFar: what an arc can cost until a clock is no more than what it
// costs at any instant up to it.
func TestLeastCostsAreTheLeastSoFar(t *testing.T) {
	held := 0
	eachSmall(t, 63, 120, 15, []smallKind{{slices: 3}, {slices: 3, turns: true}, {slices: 2, directed: true, barred: true}}, func(r *rand.Rand, s *Solver, p *Problem, _ []home) {
		for range 40 {
			until := p.MaxS * r.Float64()
			least := s.core.leastCosts(until)
			at := until * r.Float64()
			for a := range s.core.arc {
				if math.IsInf(s.core.arc[a].timeS, 1) {
					continue
				}
				held++
				if cost := s.core.costAt(int32(a), at); least[a] > cost*(1+1e-9)+1e-15 {
					t.Errorf("arc %d costs %g at %g s, at least %g until %g is said", a, cost, at, least[a], until)
				}
			}
		}
	})
	if held < 2000 {
		t.Errorf("only %d costs", held)
	}
}
