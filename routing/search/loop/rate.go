package loop

import (
	"cmp"
	"slices"
	"wideberth/routing/search"
)

// MedianRate is the time-weighted median of cost a second over the edges of a
// graph, each at the mean of its two directions. Taken over everything within
// reach, before any bars, it prices second passes for every wish from one door
// alike (LoopProblem.Repeat).
func MedianRate(g *search.Graph, timeS, cost []float32) float64 {
	var rates []rateShare
	for a, twin := range g.Twin {
		if int32(a) < twin {
			rates = append(rates, shareOf(timeS, cost, int32(a), twin))
		}
	}
	return medianOf(rates)
}

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
