package loop

import (
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"
)

// townKind describes an invented town on a jittered lattice: the spacing of its
// streets, the share of them that is missing, and the share of junctions with a
// cul-de-sac. Costs are a field of bumps, as schools, parks and main roads make.
type townKind struct {
	side      int
	spacingM  float64
	missing   float64
	culDeSacs float64
	diagonals float64
	directed  bool
	slices    int
}

var (
	suburb    = townKind{side: 70, spacingM: 115, missing: 0.34, culDeSacs: 0.35, diagonals: 0.02, slices: 1}
	denseTown = townKind{side: 150, spacingM: 32, missing: 0.18, diagonals: 0.08, slices: 1}
)

// town builds the arrays of a kind of town; the door and window stay to be set.
func town(k townKind, seed uint64) Problem {
	r := rand.New(rand.NewPCG(seed, 77))
	n := k.side * k.side
	var x, y []float64
	for i := range n {
		x = append(x, (float64(i%k.side)+0.7*(r.Float64()-0.5))*k.spacingM)
		y = append(y, (float64(i/k.side)+0.7*(r.Float64()-0.5))*k.spacingM)
	}
	rate := bumps(r, float64(k.side)*k.spacingM, k.slices)
	var streets []street
	add := func(u, v int, lengthM float64) {
		t := float32(lengthM / 1.3)
		s := street{u: int32(u), v: int32(v), t: t, back: t}
		for i := range k.slices {
			c := float32(float64(t) * rate((x[u]+x[v])/2, (y[u]+y[v])/2, i) * (0.7 + 0.6*r.Float64()))
			s.costs = append(s.costs, c)
			if k.directed {
				c *= 0.8 + 0.4*r.Float32()
			}
			s.backs = append(s.backs, c)
		}
		streets = append(streets, s)
	}
	between := func(u, v int) float64 { return math.Hypot(x[u]-x[v], y[u]-y[v]) * (1 + 0.2*r.Float64()) }
	for i := range n {
		col, row := i%k.side, i/k.side
		if col+1 < k.side && r.Float64() >= k.missing {
			add(i, i+1, between(i, i+1))
		}
		if row+1 < k.side && r.Float64() >= k.missing {
			add(i, i+k.side, between(i, i+k.side))
		}
		if col+1 < k.side && row+1 < k.side && r.Float64() < k.diagonals {
			add(i, i+k.side+1, between(i, i+k.side+1))
		}
	}
	for i := range n {
		if r.Float64() < k.culDeSacs {
			x, y = append(x, x[i]+40), append(y, y[i]+40)
			add(i, len(x)-1, 40+80*r.Float64())
		}
	}
	return buildLoopProblem(len(x), streets, k.slices)
}

// bumps is a rate of trouble per second by place and slice of the clock.
func bumps(r *rand.Rand, sizeM float64, slices int) func(x, y float64, slice int) float64 {
	type bump struct{ x, y, reach, height float64 }
	all := make([][]bump, slices)
	for i := range all {
		for range int(sizeM * sizeM / 160_000) {
			all[i] = append(all[i], bump{sizeM * r.Float64(), sizeM * r.Float64(), 60 + 200*r.Float64(), r.ExpFloat64()})
		}
	}
	return func(x, y float64, slice int) float64 {
		h := 0.05
		for _, b := range all[slice] {
			if d := math.Hypot(x-b.x, y-b.y) / b.reach; d < 4 {
				h += b.height * math.Exp(-d*d/2)
			}
		}
		return h / 1000
	}
}

var (
	suburbTown = sync.OnceValue(func() Problem { return town(suburb, 5) })
	denseTown5 = sync.OnceValue(func() Problem { return town(denseTown, 5) })
)

// windowOf sets the window that walks of a wished duration are searched in.
func windowOf(p Problem, minutes float64) Problem {
	p.MinS, p.MaxS = minutes*60*0.97, minutes*60*1.10
	return p
}

// doorsOf draws doors at which a street ends or starts.
func doorsOf(p *Problem, n int, seed uint64) []int32 {
	r := rand.New(rand.NewPCG(seed, 9))
	var doors []int32
	for len(doors) < n {
		v := int32(r.IntN(p.Graph.VertexCount()))
		if p.Graph.First[v] < p.Graph.First[v+1] {
			doors = append(doors, v)
		}
	}
	return doors
}

func TestLoopsInTownsAreValid(t *testing.T) {
	for name, c := range map[string]struct {
		p       Problem
		minutes float64
		doors   int
	}{
		"suburb 20": {suburbTown(), 20, 60},
		"suburb 45": {suburbTown(), 45, 40},
		"dense 20":  {denseTown5(), 20, 10},
	} {
		t.Run(name, func(t *testing.T) {
			s := NewSolver()
			found := 0
			for _, door := range doorsOf(&c.p, c.doors, 3) {
				p := windowOf(c.p, c.minutes)
				p.Door = door
				a, err := s.Solve(p)
				if err != nil {
					t.Fatal(err)
				}
				switch a.Status {
				case Found:
					found++
					if err := checkLoop(&p, &a.Walk, a.SurchargePerS); err != nil {
						t.Errorf("door %d: %v", door, err)
					}
				case Unknown:
					t.Errorf("door %d: nothing found and nothing proved", door)
				}
			}
			t.Logf("%d of %d doors have a loop", found, c.doors)
		})
	}
}

func BenchmarkLoops(b *testing.B) {
	for _, c := range []struct {
		name    string
		p       func() Problem
		minutes float64
	}{
		{"suburb20", suburbTown, 20}, {"suburb30", suburbTown, 30}, {"suburb45", suburbTown, 45}, {"suburb60", suburbTown, 60},
		{"dense30", denseTown5, 30},
	} {
		b.Run(c.name, func(b *testing.B) {
			p := windowOf(c.p(), c.minutes)
			doors := doorsOf(&p, 200, 11)
			s := NewSolver()
			var took []float64
			edges := 0
			b.ReportAllocs()
			b.ResetTimer()
			for i := range b.N {
				p.Door = doors[i%len(doors)]
				start := time.Now()
				a, err := s.Solve(p)
				if err != nil {
					b.Fatal(err)
				}
				took = append(took, float64(time.Since(start).Microseconds())/1000)
				edges += a.Edges
			}
			slices.Sort(took)
			b.ReportMetric(took[len(took)/2], "p50-ms")
			b.ReportMetric(took[len(took)*99/100], "p99-ms")
			b.ReportMetric(float64(edges)/float64(b.N), "chains")
		})
	}
}
