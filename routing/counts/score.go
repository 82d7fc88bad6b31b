package counts

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Pair is a place where something was both predicted and counted, in the same unit.
type Pair struct {
	Name               string
	Predicted, Counted float64
	Shape              float64 // Gamma shape of the doubt about Predicted
}

// Score says how far predictions and counts lie apart. Fields that n does not allow
// are NaN.
type Score struct {
	N        int     // pairs with both above 0
	GM       float64 // exp(mean ln(p/c)): the level; 1 is right
	Scatter  float64 // exp(sd of ln(p/c)), sd with n - 1: how uneven
	Spearman float64 // rank correlation, and its 95 % interval:
	SpearLow float64 // tanh(atanh r -+ 1.96 sqrt(1.06/(n - 3)))
	SpearHi  float64 // Fieller, Hartley and Pearson 1957, Biometrika 44:470-481
	Within3  int     // pairs with 1/3 < p/c < 3
	Rescaled int     // the same after dividing by GM
	Inside80 int     // pairs whose count lies between the 10 and 90 % points of a Gamma of mean p and its shape
}

// Of scores pairs; those in which one side is 0 are left out.
func Of(pairs []Pair) Score {
	var p, c, ln []float64
	s := Score{GM: math.NaN(), Scatter: math.NaN(), Spearman: math.NaN(), SpearLow: math.NaN(), SpearHi: math.NaN()}
	for _, x := range pairs {
		if !(x.Predicted > 0 && x.Counted > 0) {
			continue
		}
		p, c, ln = append(p, x.Predicted), append(c, x.Counted), append(ln, math.Log(x.Predicted/x.Counted))
		if inside(x) {
			s.Inside80++
		}
	}
	s.N = len(ln)
	if s.N == 0 {
		return s
	}
	mean := stat.Mean(ln, nil)
	s.GM = math.Exp(mean)
	for _, x := range ln {
		if math.Abs(x) < math.Log(3) {
			s.Within3++
		}
		if math.Abs(x-mean) < math.Log(3) {
			s.Rescaled++
		}
	}
	if s.N > 1 {
		s.Scatter = math.Exp(stat.StdDev(ln, nil))
	}
	if s.N > 2 {
		s.Spearman = stat.Correlation(ranks(p), ranks(c), nil)
	}
	if s.N > 3 {
		half := 1.96 * math.Sqrt(1.06/float64(s.N-3))
		s.SpearLow, s.SpearHi = math.Tanh(math.Atanh(s.Spearman)-half), math.Tanh(math.Atanh(s.Spearman)+half)
	}
	return s
}

// inside tells whether a count lies in the 80 % interval of what was predicted.
func inside(x Pair) bool {
	g := distuv.Gamma{Alpha: x.Shape, Beta: x.Shape / x.Predicted}
	return x.Counted >= g.Quantile(.1) && x.Counted <= g.Quantile(.9)
}

// ranks gives each value its rank, equal ones the mean of theirs.
func ranks(xs []float64) []float64 {
	order := make([]int, len(xs))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(xs[a], xs[b]) })
	out := make([]float64, len(xs))
	for r := 0; r < len(order); {
		end := r
		for end < len(order) && xs[order[end]] == xs[order[r]] {
			end++
		}
		for k := r; k < end; k++ {
			out[order[k]] = float64(r+end-1) / 2
		}
		r = end
	}
	return out
}
