package loop

import (
	"cmp"
	"slices"
)

// rateShare is an edge in the median of cost rates.
type rateShare struct{ perS, timeS float64 }

// shareOf gives an edge of the arcs a and b its place in the median; one that
// takes no time has none.
func shareOf(timeS, cost []float32, a, b int32) rateShare {
	t := float64(timeS[a]) + float64(timeS[b])
	if !(t > 0) {
		return rateShare{}
	}
	return rateShare{(float64(cost[a]) + float64(cost[b])) / t, t}
}

// medianOf orders the shares and gives the rate at half of their time, 0 for
// none.
func medianOf(rates []rateShare) float64 {
	total := 0.0
	for _, x := range rates {
		total += x.timeS
	}
	slices.SortFunc(rates, func(x, y rateShare) int { return cmp.Compare(x.perS, y.perS) })
	for _, x := range rates {
		if total -= 2 * x.timeS; total <= 0 && x.timeS > 0 {
			return x.perS
		}
	}
	return 0
}
