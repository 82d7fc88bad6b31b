package exposure

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// intervalTail is the probability on each side of an 80 % interval.
const intervalTail = 0.1

// calmOf is the chance of no reaction where x are expected and the rate is known
// to a Gamma factor of mean 1 and shape a:
//
//	(1 + x/a)^(-a)
//
// The Poisson chance exp(-x) mixed over the factor; exp(-x) for a without bound.
func calmOf(x, a float64) float64 { return math.Exp(-a * math.Log1p(x/a)) }

// Calm is the chance that the whole walk stays calm. The doubt about the rates
// of one kind and one kind of evidence is one common factor, mixed at the end of
// the walk; factors are independent, so their chances multiply.
func (d *Dose) Calm() float64 {
	p := 1.0
	for k := range d.reactions {
		for _, part := range d.reactions[k] {
			if part.mean > 0 {
				p *= calmOf(part.mean, part.shape())
			}
		}
	}
	return p
}

// CalmRange is the 80 % interval of the chance of a calm walk over what is not
// known of the rates: exp(-q) at the 90 % and 10 % points of the sum of the
// factors times their X, taken as one Gamma with that sum's mean and variance.
func (d *Dose) CalmRange() (low, high float64) {
	var mean, variance float64
	for k := range d.reactions {
		for _, part := range d.reactions[k] {
			mean += part.mean
			variance += part.sd * part.sd
		}
	}
	if mean == 0 {
		return 1, 1
	}
	g := distuv.Gamma{Alpha: mean * mean / variance, Beta: mean / variance}
	return math.Exp(-g.Quantile(1 - intervalTail)), math.Exp(-g.Quantile(intervalTail))
}

// Encounters is the 80 % interval of the number of encounters of a kind in sight
// or hearing: quantiles of the Poisson count mixed over the doubt about its rate
// (negative binomial). Several kinds of evidence are taken as one Gamma with
// their summed mean and variance.
func (d *Dose) Encounters(k Kind) (low, high int) {
	var mean, variance float64
	for _, part := range d.encounters[k] {
		mean += part.mean
		variance += part.sd * part.sd
	}
	if mean == 0 {
		return 0, 0
	}
	return CountRange(mean, mean*mean/variance)
}

// CountRange is the 80 % interval of a count of which mean are expected, known to
// a Gamma factor of the given shape; shape above 0.
func CountRange(mean, shape float64) (low, high int) {
	if mean <= 0 {
		return 0, 0
	}
	return countQuantile(intervalTail, mean, shape), countQuantile(1-intervalTail, mean, shape)
}

// leastLnP is the logarithm of the chance of none from which on all are got by
// multiplication: what is lost under it, of numbers that end at exp(-745), is nothing.
const leastLnP = -600

// countQuantile is the least n for which a negative binomial count of the given
// mean and Gamma shape is at most n with probability p:
//
//	P(0) = (a/(a+m))^a,   P(n+1) = P(n) (n+a)/(n+1) m/(a+m)
func countQuantile(p, mean, shape float64) int {
	const most = 1 << 20
	lnP := -shape * math.Log1p(mean/shape)
	sum := 0.0
	if lnP > leastLnP {
		ratio := mean / (mean + shape)
		for n, x := 0, math.Exp(lnP); n < most; n++ {
			if sum += x; sum >= p {
				return n
			}
			x *= (float64(n) + shape) / float64(n+1) * ratio
		}
		return most
	}
	lnRatio := -math.Log1p(shape / mean)
	for n := 0; n < most; n++ {
		if sum += math.Exp(lnP); sum >= p {
			return n
		}
		lnP += math.Log((float64(n)+shape)/float64(n+1)) + lnRatio
	}
	return most
}

// ShortestGapS is the shortest expected time in seconds between encounters nearer
// than the working distance: the expected encounters are put where their sum
// passes 1/2, 3/2, 5/2 and so on. The whole walk where fewer than two are
// expected.
func (d *Dose) ShortestGapS() float64 {
	gap, last := d.DurationS, math.Inf(-1)
	sum, at, next := 0.0, 0.0, 0.5
	for i, n := range d.StepMeetings {
		for sum+n >= next && n > 0 {
			now := at + d.seconds[i]*(next-sum)/n
			gap = min(gap, now-last)
			last = now
			next++
		}
		sum += n
		at += d.seconds[i]
	}
	return gap
}

// LongestCalmS is the longest run of the walk in seconds whose hazard stays below
// a limit in expected reactions a second.
func (d *Dose) LongestCalmS(limitPerS float64) float64 {
	longest, run := 0.0, 0.0
	for i, x := range d.StepX {
		if x >= limitPerS*d.seconds[i] && x > 0 {
			run = 0
			continue
		}
		run += d.seconds[i]
		longest = max(longest, run)
	}
	return longest
}

// Stacking: encounters close together add up. Common practice among trainers,
// without any published value; both numbers are our assumption.
const (
	DefaultRecoveryS = 600 // seconds in which arousal falls to 1/e
	arousalPerMeet   = 0.25
	arousalMost      = 1.0
)

// AlongStacked is Along for a dog whose arousal builds up: every encounter
// nearer than the working distance stretches the dog's distances by a quarter of
// what they are at rest, at most to twice that, and the stretch falls to 1/e in
// recoveryS seconds. A second look at a finished walk: a search stays additive.
func (f *Field) AlongStacked(d *Dog, steps []Step, fa *Factors, recoveryS float64) *Dose {
	w := newTally(f, fa)
	arousal := 0.0
	for i := range steps {
		w.step(&steps[i], d.Stretch(1+min(arousalMost, arousal)).walker())
		arousal += arousalPerMeet * w.dose.StepMeetings[i]
		arousal *= math.Exp(-steps[i].Seconds / recoveryS)
	}
	return w.finish()
}
