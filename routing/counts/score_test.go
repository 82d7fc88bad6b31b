package counts

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol*max(1e-12, math.Abs(want)) }

// By hand: ln ratios 0, ln 2, ln 4, ln 8 have mean 1.5 ln 2 and sd ln 2 sqrt(5/3).
func TestScoreByHand(t *testing.T) {
	s := Of([]Pair{{"a", 10, 10, 1}, {"b", 40, 20, 1}, {"c", 120, 30, 1}, {"d", 320, 40, 1}, {"not counted", 10, 0, 1}, {"not predicted", 0, 10, 1}})
	if s.N != 4 || !near(s.GM, math.Pow(2, 1.5), 1e-12) || !near(s.Scatter, math.Exp(math.Ln2*math.Sqrt(5./3)), 1e-12) {
		t.Errorf("%+v", s)
	}
	if s.Spearman != 1 || s.Within3 != 2 || s.Rescaled != 4 {
		t.Errorf("%+v", s)
	}
	// A Gamma of shape 1 is the exponential distribution: 10 % point 0.105, 90 % point
	// 2.303 of the mean. 40/320 = 0.125 lies above the lower one.
	if s.Inside80 != 4 {
		t.Errorf("inside %d", s.Inside80)
	}
	if s := Of([]Pair{{"below", 100, 10.5, 1}, {"above", 100, 231, 1}, {"edge", 100, 10.6, 1}}); s.Inside80 != 1 {
		t.Errorf("inside %d of the edges", s.Inside80)
	}
}

// The interval of a rank correlation as given with the baseline of the score: 0.63
// at n = 9 is -0.08 to 0.92, 0.93 is 0.70 to 0.99.
func TestSpearmanInterval(t *testing.T) {
	order := func(ranks ...float64) (out []Pair) {
		for i, r := range ranks {
			out = append(out, Pair{"", r, float64(i + 1), 1})
		}
		return out
	}
	s := Of(order(1, 2, 3, 4, 6, 5, 8, 9, 7)) // sum of d^2 = 8: rho = 1 - 6*8/720
	if !near(s.Spearman, 1-48./720, 1e-12) || math.Abs(s.SpearLow-.70) > .005 || math.Abs(s.SpearHi-.99) > .005 {
		t.Errorf("%+v", s)
	}
	for _, n := range []int{0, 1, 2, 3} {
		s := Of(order(1, 2, 3)[:n])
		if !math.IsNaN(s.SpearLow) || n < 3 != math.IsNaN(s.Spearman) || n < 2 != math.IsNaN(s.Scatter) || n < 1 != math.IsNaN(s.GM) {
			t.Errorf("n %d: %+v", n, s)
		}
	}
}

// Multiplying all predictions moves the level and nothing that compares sites.
func TestScoreProperties(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.IntRange(4, 12).Draw(r, "n")
		var a, b []Pair
		k := rapid.Float64Range(.1, 10).Draw(r, "k")
		for range n {
			p, c := rapid.Float64Range(.1, 1000).Draw(r, "p"), rapid.Float64Range(.1, 1000).Draw(r, "c")
			a, b = append(a, Pair{"", p, c, 1}), append(b, Pair{"", k * p, c, 1})
		}
		x, y := Of(a), Of(b)
		if !near(y.GM, k*x.GM, 1e-9) || !near(y.Scatter, x.Scatter, 1e-9) || !near(x.Spearman+2, y.Spearman+2, 1e-9) || x.Rescaled != y.Rescaled {
			r.Fatalf("%+v, times %g %+v", x, k, y)
		}
	})
}

func TestTotalVariation(t *testing.T) {
	for _, c := range []struct {
		a, b []float64
		want float64
	}{{[]float64{1, 1}, []float64{5, 5}, 0}, {[]float64{1, 0}, []float64{0, 3}, 1}, {[]float64{3, 1}, []float64{1, 1}, .25}} {
		if got := totalVariation(c.a, c.b); !near(got, c.want, 1e-12) {
			t.Errorf("%v and %v: %g, want %g", c.a, c.b, got, c.want)
		}
	}
}

// totalVariation is half the sum of absolute differences of two profiles, each
// made to sum to 1: 0 the same, 1 nothing in common.
func totalVariation(a, b []float64) float64 {
	sumA, sumB, sum := 0.0, 0.0, 0.0
	for i := range a {
		sumA, sumB = sumA+a[i], sumB+b[i]
	}
	for i := range a {
		sum += math.Abs(a[i]/sumA - b[i]/sumB)
	}
	return sum / 2
}
