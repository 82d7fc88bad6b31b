package learning

import (
	"math"
	"wideberth/exposure"

	"gonum.org/v1/gonum/stat/distuv"
)

// Update takes in a count against what was expected of it (the exposure: the
// integral of the predicted rate over the walk). Counts are Poisson given the
// factor, so Gamma(a, b) becomes Gamma(a + observed, b + expected). Both may be
// fractions, for walks that count for less. Negative or unbounded numbers get
// an error.
func (f Factor) Update(observed, expected float64) (Factor, error) {
	if err := checkCount(observed, expected); err != nil {
		return f, err
	}
	return Factor{f.Shape + observed, f.Rate + expected}, nil
}

// Interval is the central interval of the given probability, in (0, 1).
func (f Factor) Interval(probability float64) Interval {
	g := distuv.Gamma{Alpha: f.Shape, Beta: f.Rate}
	tail := (1 - min(1, max(0, probability))) / 2
	return Interval{g.Quantile(tail), g.Quantile(1 - tail)}
}

// Above is the probability that the factor exceeds x.
func (f Factor) Above(x float64) float64 {
	return distuv.Gamma{Alpha: f.Shape, Beta: f.Rate}.Survival(max(0, x))
}

// NoEvent is the predictive probability of no event where expected events were
// predicted without the factor: (rate / (rate + expected))^shape. It is above
// exp(-mean expected), which would forget the doubt about the factor.
func (f Factor) NoEvent(expected float64) float64 {
	return math.Exp(-f.Shape * math.Log1p(max(0, expected)/f.Rate))
}

// Tally is what was found in the cell itself.
func (r *Rates) Tally(c exposure.Cell) Tally { return r.tallies[c] }
