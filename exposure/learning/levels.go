package learning

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"wideberth/osmdata/plane"
)

// Site is where something passes: a point of a street.
type Site struct {
	At     plane.Point
	Street int32 // the same number on the same street
	Class  uint8 // of the street
}

// Watch is what was counted at a site and what was predicted for the same minutes, of
// one category.
type Watch struct {
	Site
	Observed, Expected float64
	Times              int // it was watched; below 1 is once
}

// How far a prediction is off, as parts of the variance of its logarithm: common to
// the neighbourhood, to streets of one class there, and of the street itself; and over
// which distances in metres that fades. Our assumption.
const (
	areaPart, classPart, streetPart = .35, .25, .40
	areaFadesM, streetFadesM        = 3000.0, 500.0
)

// hourVar is the variance of the logarithm of one hour's true rate about what its hour,
// month and weather make one expect. Bicycles by the day lie 0.25 about their month
// and weather (counted); hours and parties add to it. Our assumption.
const hourVar = .35 * .35

// Levels are by how much what passes is off from what was predicted, anywhere about
// the sites that were watched: a field of the logarithm of a factor.
//
// Counts are Poisson given the factor, and the factor is lognormal with mean 1 before
// any count (a log-Gaussian Cox process; Moller, Syversveen and Waagepetersen 1998,
// Scand. J. Stat. 25:451-482). The posterior is taken as normal about its mode
// (Laplace's approximation; Rasmussen and Williams 2006, Gaussian Processes for
// Machine Learning, algorithms 3.1 and 3.2). Both from memory.
type Levels struct {
	watched  []Site
	variance float64
	gradient []float64 // of the log likelihood at the mode
	root     []float64 // square roots of its curvature there
	hourly   []float64 // variance of the logarithm of what was watched about its site's
	chol     mat.Cholesky
}

// FitLevels fits the factors of one category to counts; shape is the Gamma shape of
// the doubt before any. Watches that expect nothing say nothing and are left out.
func FitLevels(shape float64, seen []Watch) (*Levels, error) {
	if !(shape > 0) || math.IsInf(shape, 1) {
		return nil, fmt.Errorf("shape %v; give a number above 0", shape)
	}
	l := &Levels{variance: math.Log1p(1 / shape)}
	var counts, expected []float64
	for _, w := range seen {
		if err := checkCount(w.Observed, w.Expected); err != nil {
			return nil, err
		}
		if w.Expected > 0 {
			l.watched = append(l.watched, w.Site)
			counts, expected = append(counts, w.Observed), append(expected, w.Expected)
			l.hourly = append(l.hourly, hourVar/float64(max(1, w.Times)))
		}
	}
	if len(counts) == 0 {
		return l, nil
	}
	return l, l.fit(counts, expected)
}

// cover is the covariance of the logarithms of two sites' factors.
func (l *Levels) cover(a, b *Site) float64 {
	d := a.At.DistanceM(b.At)
	c := areaPart
	if a.Class == b.Class {
		c += classPart
	}
	c *= math.Exp(-d / areaFadesM)
	if a.Street == b.Street {
		c += streetPart * math.Exp(-d/streetFadesM)
	}
	return l.variance * c
}

// mostSteps bounds Newton's method, which takes about eight.
const mostSteps = 100

// fit finds the mode by Newton's method; the posterior has one, as its logarithm is
// concave.
func (l *Levels) fit(counts, expected []float64) error {
	n := len(counts)
	k := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			k.SetSym(i, j, l.cover(&l.watched[i], &l.watched[j]))
		}
		k.SetSym(i, i, k.At(i, i)+l.hourly[i])
	}
	mean := make([]float64, n)                               // before any count, so that the factor is 1 on average
	a, f := mat.NewVecDense(n, nil), mat.NewVecDense(n, nil) // f = mean + K a
	for i := range n {
		mean[i] = -(l.variance + l.hourly[i]) / 2
		f.SetVec(i, mean[i])
	}
	at := func(a *mat.VecDense) (*mat.VecDense, float64) {
		var g mat.VecDense
		g.MulVec(k, a)
		sum := -mat.Dot(a, &g) / 2
		for i := range n {
			g.SetVec(i, g.AtVec(i)+mean[i])
			sum += counts[i]*g.AtVec(i) - expected[i]*math.Exp(g.AtVec(i))
		}
		return &g, sum
	}
	_, best := at(a)
	for range mostSteps {
		step, err := l.newton(k, counts, expected, f, mean)
		if err != nil {
			return err
		}
		step.SubVec(step, a)
		gained := false
		for scale := 1.0; scale > 1e-6; scale /= 2 {
			var next mat.VecDense
			next.AddScaledVec(a, scale, step)
			if g, sum := at(&next); sum > best {
				gained = sum-best > 1e-10
				a, f, best = &next, g, sum
				break
			}
		}
		if !gained {
			break
		}
	}
	_, err := l.newton(k, counts, expected, f, mean) // curvature at the mode
	return err
}

// newton gives the next weights a, with the mode at mean + K a, and keeps gradient and
// curvature at f.
func (l *Levels) newton(k *mat.SymDense, counts, expected []float64, f *mat.VecDense, mean []float64) (*mat.VecDense, error) {
	n := len(counts)
	l.gradient, l.root = make([]float64, n), make([]float64, n)
	inner, b := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		rate := expected[i] * math.Exp(f.AtVec(i))
		l.gradient[i], l.root[i] = counts[i]-rate, math.Sqrt(rate)
		b.SetVec(i, rate*(f.AtVec(i)-mean[i])+l.gradient[i])
	}
	for i := range n {
		for j := i; j < n; j++ {
			inner.SetSym(i, j, l.root[i]*k.At(i, j)*l.root[j])
		}
		inner.SetSym(i, i, inner.At(i, i)+1)
	}
	if !l.chol.Factorize(inner) {
		return nil, fmt.Errorf("counts of %d sites cannot be brought together", n)
	}
	var kb, x mat.VecDense
	kb.MulVec(k, b)
	for i := range n {
		kb.SetVec(i, l.root[i]*kb.AtVec(i))
	}
	if err := l.chol.SolveVecTo(&x, &kb); err != nil {
		return nil, fmt.Errorf("counts of %d sites: %w", n, err)
	}
	for i := range n {
		b.SetVec(i, b.AtVec(i)-l.root[i]*x.AtVec(i))
	}
	return b, nil
}

// mostNear is of how many sites the doubt at another is worked out. Those that say most
// are taken; what the others add would lower it a little further.
const mostNear = 32

// At gives the mean factor at a site and the Gamma shape of the doubt that is left.
// Without counts they are 1 and the shape that the fit began with.
func (l *Levels) At(s Site) (factor, shape float64) {
	mean, n := -l.variance/2, len(l.watched)
	covers := make([]float64, n)
	for i := range l.watched {
		covers[i] = l.cover(&s, &l.watched[i])
		mean += covers[i] * l.gradient[i]
	}
	left := max(1e-6, l.variance-l.told(covers))
	return math.Exp(mean + left/2), 1 / math.Expm1(left)
}

// told is the variance that counts take from a site, given its covariances with theirs.
func (l *Levels) told(covers []float64) float64 {
	if n := len(covers); n <= mostNear {
		scaled := mat.NewVecDense(max(1, n), nil)
		for i, c := range covers {
			scaled.SetVec(i, c*l.root[i])
		}
		return solved(&l.chol, scaled, n)
	}
	near := make([]int, len(covers))
	for i := range near {
		near[i] = i
	}
	slices.SortFunc(near, func(a, b int) int { return cmp.Compare(covers[b]*l.root[b], covers[a]*l.root[a]) })
	near = near[:mostNear]
	inner, scaled := mat.NewSymDense(mostNear, nil), mat.NewVecDense(mostNear, nil)
	for i, a := range near {
		scaled.SetVec(i, covers[a]*l.root[a])
		for j := i; j < mostNear; j++ {
			b := near[j]
			c := l.cover(&l.watched[a], &l.watched[b])
			if i == j {
				c += l.hourly[a]
			}
			inner.SetSym(i, j, l.root[a]*c*l.root[b])
		}
		inner.SetSym(i, i, inner.At(i, i)+1)
	}
	var chol mat.Cholesky
	if !chol.Factorize(inner) {
		return 0
	}
	return solved(&chol, scaled, mostNear)
}

// solved is v A^-1 v, 0 of nothing.
func solved(chol *mat.Cholesky, v *mat.VecDense, n int) float64 {
	if n == 0 {
		return 0
	}
	var x mat.VecDense
	if err := chol.SolveVecTo(&x, v); err != nil {
		return 0
	}
	return mat.Dot(v, &x)
}
