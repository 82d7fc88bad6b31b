package trips

import "math"

// fade is what is left of a pull at a cost, exp(-cost/lambda) as far as trips reach
// and nothing beyond: from a table, with the first terms of the series between its
// rows, to ten digits.
type fade struct {
	reach float64
	rows  float64 // for each unit of cost
	at    []float64
}

// fadeRows is how many rows of a fade's table stand for each lambda.
const fadeRows = 256

func newFade(lambda, lambdas float64) *fade {
	f := &fade{reach: lambda * lambdas, rows: fadeRows / lambda}
	for i := range int(lambdas*fadeRows) + 2 {
		f.at = append(f.at, math.Exp(-float64(i)/fadeRows))
	}
	return f
}

func (f *fade) of(cost float64) float64 {
	if cost > f.reach {
		return 0
	}
	x := cost * f.rows
	i := int(x)
	x = (x - float64(i)) / fadeRows
	return f.at[i] * (1 - x*(1-x*(1./2-x*(1./6))))
}

// fading is a metric with what is left of pulls along it.
type fading struct {
	*Metric
	fade *fade
	near []float64 // by twig: what is left of a pull after leave
	deep []float64 // by number: the dearest to leave of its twigs
}

func (f *fade) along(k *Metric) *fading {
	out := &fading{k, f, make([]float64, len(k.leave)), make([]float64, len(k.m.vertex))}
	for i, cost := range k.leave {
		foot := k.m.twigs[i].foot
		out.near[i] = f.of(cost)
		out.deep[foot] = max(out.deep[foot], cost)
	}
	return out
}

// apart tells whether the twigs of step n have to be looked at one by one: where the
// tree's own target stands on one of them, and where some lie beyond reach.
func (k *fading) apart(st *step, n int, target int32) bool {
	return n == 0 && target >= 0 || st.cost+k.deep[st.at] > k.reach
}
