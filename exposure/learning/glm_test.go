package learning

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.6g, want %.6g (within %.2g)", what, got, want, tolerance)
	}
}

// onX is a regression on one predictor with intercept; n nil means one trial a row.
func onX(x, y, n []float64) logistic {
	l := logistic{Successes: y, Trials: n}
	for _, v := range x {
		l.Design = append(l.Design, []float64{1, v})
		if n == nil {
			l.Trials = append(l.Trials, 1)
		}
	}
	return l
}

func fit(t *testing.T, l logistic) logisticFit {
	t.Helper()
	f, err := l.fit()
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Beetle mortality under carbon disulphide: Bliss 1935, as refitted in Dobson,
// An Introduction to Generalized Linear Models (-60.72, 34.27, deviance 11.23
// from memory; further digits from an independent computation).
var (
	beetleDose   = []float64{1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839}
	beetleN      = []float64{59, 60, 62, 56, 63, 59, 62, 60}
	beetleKilled = []float64{6, 13, 18, 28, 52, 53, 61, 60}
)

func TestBeetles(t *testing.T) {
	f := fit(t, onX(beetleDose, beetleKilled, beetleN))
	near(t, "intercept", f.Coef[0], -60.7175, 1e-3)
	near(t, "slope", f.Coef[1], 34.2703, 1e-3)
	near(t, "SE intercept", f.SE[0], 5.1807, 1e-3)
	near(t, "SE slope", f.SE[1], 2.9121, 1e-3)
	near(t, "covariance", f.Cov.At(0, 1), -15.082, 1e-2)
	near(t, "deviance", f.Deviance, 11.232, 1e-3)
	near(t, "log-likelihood", f.LogLik, -186.235, 1e-3)
	if f.DF != 6 {
		t.Errorf("degrees of freedom = %d, want 6", f.DF)
	}
	for i, want := range []float64{3.46, 9.84, 22.45, 33.90, 50.10, 53.29, 59.22, 58.74} {
		near(t, "fitted", f.Fitted[i], want, 0.006)
	}
	ld50, se := halfPoint(f)
	near(t, "log10 LD50", ld50, 1.77172, 1e-5)
	near(t, "SE of log10 LD50", se, 0.00386, 1e-5)
	near(t, "LD50", math.Pow(10, ld50), 59.12, 0.01)
}

// halfPoint is where p = 1/2, with its standard error by the delta method.
func halfPoint(f logisticFit) (x, se float64) {
	a, b := f.Coef[0], f.Coef[1]
	x = -a / b
	g := mat.NewVecDense(2, []float64{-1 / b, a / (b * b)})
	return x, math.Sqrt(mat.Inner(g, f.Cov, g))
}

// The three data sets that go by the name of the Challenger O-rings are
// different ones; never mix them.
var (
	oringTemp = []float64{66, 70, 69, 68, 67, 72, 73, 70, 57, 63, 70, 78, 67, 53, 67, 75, 70, 81, 76, 79, 75, 76, 58}
	oringFail = []float64{0, 1, 0, 0, 0, 0, 0, 0, 1, 1, 1, 0, 0, 1, 0, 0, 0, 0, 0, 0, 1, 0, 1}
)

func TestChallenger(t *testing.T) {
	ringTemp := []float64{53, 57, 58, 63, 66, 67, 67, 67, 68, 69, 70, 70, 70, 70, 72, 73, 75, 75, 76, 76, 78, 79, 81}
	ringDamaged := []float64{5, 1, 1, 1, 0, 0, 0, 0, 0, 0, 1, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 0}
	six := make([]float64, len(ringTemp))
	for i := range six {
		six[i] = 6
	}
	cases := []struct {
		name                           string
		l                              logistic
		a, aSE, aTol, b, bSE, deviance float64
	}{
		// byui-kctolli.netlify.app challengerlogisticreg.
		{"any damage, 23 flights", onX(oringTemp, oringFail, nil), 15.0429, 7.3786, 1e-3, -0.2322, 0.1082, 20.315},
		// thoughtfulexaminations.com p 17452.
		{"with a flight at 80 F", onX(append([]float64{80}, oringTemp...), append([]float64{0}, oringFail...), nil),
			15.2968, 7.3286, 1e-3, -0.2360, 0.1074, 20.371},
		// Data people.hsc.edu; coefficients OpenIntro Statistics (from memory).
		{"six rings a flight", onX(ringTemp, ringDamaged, six), 11.6630, 3.2963, 1e-3, -0.2162, 0.0532, 16.912},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f := fit(t, c.l)
			near(t, "intercept", f.Coef[0], c.a, c.aTol)
			near(t, "SE intercept", f.SE[0], c.aSE, 1e-3)
			near(t, "slope", f.Coef[1], c.b, 1e-4)
			near(t, "SE slope", f.SE[1], c.bSE, 1e-4)
			near(t, "deviance", f.Deviance, c.deviance, 1e-3)
		})
	}
	f := fit(t, cases[0].l)
	near(t, "P(fail) at 31 F", sigmoid(f.Coef[0]+31*f.Coef[1]), 0.99961, 1e-5)
	x, _ := halfPoint(f)
	near(t, "50 % point", x, 64.795, 1e-2)
	f = fit(t, cases[2].l)
	for temp, want := range map[float64]float64{57: 0.341, 63: 0.123, 71: 0.024} {
		// Printed from rounded coefficients, so the third digit is not sure.
		near(t, "P(damage a ring)", sigmoid(f.Coef[0]+temp*f.Coef[1]), want, 1e-3)
	}
}

// Laplace against the posterior on a dense grid, on the 23 flights with
// temperature standardised and weak normal priors. The numbers are from an
// independent computation. The point: Laplace understates the spread.
func TestLaplaceAgainstGrid(t *testing.T) {
	var x []float64
	for _, v := range oringTemp {
		x = append(x, (v-69.56522)/7.05708)
	}
	l := onX(x, oringFail, nil)
	l.PriorMean, l.PriorSD = []float64{0, 0}, []float64{10, 2.5}
	f := fit(t, l)
	near(t, "peak, intercept", f.Coef[0], -1.07455, 1e-4)
	near(t, "peak, slope", f.Coef[1], -1.50599, 1e-4)
	near(t, "Laplace SE, intercept", f.SE[0], 0.56256, 1e-4)
	near(t, "Laplace SE, slope", f.SE[1], 0.68550, 1e-4)
	near(t, "Laplace covariance", f.Cov.At(0, 1), 0.10540, 1e-4)
	half, _ := halfPoint(f)
	near(t, "50 % point", 69.56522+7.05708*half, 64.530, 2e-3)

	var sum, m0, m1, v0, v1 float64
	for a := -6.0; a <= 4; a += 0.02 {
		for b := -9.0; b <= 4; b += 0.02 {
			p := math.Exp(l.objective([]float64{a, b}))
			sum, m0, m1, v0, v1 = sum+p, m0+p*a, m1+p*b, v0+p*a*a, v1+p*b*b
		}
	}
	m0, m1 = m0/sum, m1/sum
	s0, s1 := math.Sqrt(v0/sum-m0*m0), math.Sqrt(v1/sum-m1*m1)
	near(t, "grid mean, intercept", m0, -1.190, 2e-3)
	near(t, "grid mean, slope", m1, -1.804, 2e-3)
	near(t, "grid SD, intercept", s0, 0.604, 2e-3)
	near(t, "grid SD, slope", s1, 0.770, 2e-3)
	if f.SE[0] >= s0 || f.SE[1] >= s1 {
		t.Errorf("Laplace SE %v is not below the grid's %v, %v", f.SE, s0, s1)
	}
}

// spearmanKarber estimates the 50 % point without a curve: p must run
// monotonically from 0 to 1 over x. m = sum (p[i+1]-p[i]) (x[i]+x[i+1])/2.
func spearmanKarber(x, p []float64) float64 {
	m := 0.0
	for i := 1; i < len(x); i++ {
		m += (p[i] - p[i-1]) * (x[i] + x[i-1]) / 2
	}
	return m
}

// Published titrations, Lei et al. 2021, Virologica Sinica, doi
// 10.1007/s12250-020-00230-5, tables 1 and 2 (cases from Burleson 1992,
// Hierholzer & Killington 1996, Svensson 1999). x is minus log10 dilution, p
// the share without effect; ends are filled with 0 and 1.
func TestSpearmanKarberPublished(t *testing.T) {
	cases := []struct {
		name  string
		x     []float64
		p     []float64 // share positive
		titre float64
	}{
		{"Burleson", []float64{5, 6, 7, 8}, []float64{1, 3.0 / 5, 1.0 / 5, 0}, 6.30},
		{"Hierholzer and Killington", []float64{1, 2, 3, 4, 5, 6}, []float64{1, 7.0 / 8, 5.0 / 8, 3.0 / 8, 1.0 / 8, 0}, 3.50},
		{"Svensson", []float64{5, 6, 7, 8, 9}, []float64{1, 5.0 / 6, 3.0 / 6, 1.0 / 6, 0}, 7.00},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			var without []float64
			for _, p := range c.p {
				without = append(without, 1-p)
			}
			near(t, "log titre", spearmanKarber(c.x, without), c.titre, 1e-9)
			// The curve through the same counts lies near.
			var n []float64
			for range c.x {
				n = append(n, 8)
			}
			for i := range without {
				without[i] *= 8
			}
			x, se := halfPoint(fit(t, onX(c.x, without, n)))
			near(t, "logistic 50 % point", x, c.titre, 2*se)
		})
	}
}

// Curve and no curve agree on the beetles (1.77213 from an independent
// computation, with a zero response added one step below).
func TestSpearmanKarberBeetles(t *testing.T) {
	x, p := []float64{1.6572}, []float64{0}
	for i := range beetleDose {
		x, p = append(x, beetleDose[i]), append(p, beetleKilled[i]/beetleN[i])
	}
	m := spearmanKarber(x, p)
	near(t, "Spearman-Karber", m, 1.77213, 1e-5)
	ld50, se := halfPoint(fit(t, onX(beetleDose, beetleKilled, beetleN)))
	near(t, "against the logistic fit", m, ld50, se)
}

func TestLogisticRefuses(t *testing.T) {
	ok := onX([]float64{1, 2, 3, 4}, []float64{0, 1, 0, 1}, nil)
	with := func(change func(*logistic)) logistic {
		l := ok
		change(&l)
		return l
	}
	cases := []struct {
		name string
		l    logistic
		is   error
	}{
		{"separated", onX([]float64{1, 2, 3, 4}, []float64{0, 0, 1, 1}, nil), errSeparated},
		{"all alike", onX([]float64{1, 2, 3, 4}, []float64{1, 1, 1, 1}, nil), errSeparated},
		{"empty", logistic{}, nil},
		{"short successes", with(func(l *logistic) { l.Successes = l.Successes[:3] }), nil},
		{"ragged", with(func(l *logistic) { l.Design = [][]float64{{1, 1}, {1}, {1, 3}, {1, 4}} }), nil},
		{"more successes than trials", with(func(l *logistic) { l.Successes = []float64{0, 2, 0, 1} }), nil},
		{"not a number", with(func(l *logistic) { l.Successes = []float64{0, math.NaN(), 0, 1} }), nil},
		{"no trials", with(func(l *logistic) { l.Trials = []float64{0, 1, 1, 1} }), nil},
		{"mean without spread", with(func(l *logistic) { l.PriorMean = []float64{0, 0} }), nil},
		{"zero spread", with(func(l *logistic) { l.PriorMean, l.PriorSD = []float64{0, 0}, []float64{1, 0} }), nil},
		{"twice the same column", with(func(l *logistic) { l.Design = [][]float64{{1, 1}, {1, 1}, {1, 1}, {1, 1}} }), nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := c.l.fit()
			if err == nil {
				t.Fatal("no error")
			}
			if c.is != nil && !errors.Is(err, c.is) {
				t.Errorf("error %v, want %v", err, c.is)
			}
		})
	}
}

// A prior makes separated data fittable, and an infinite spread leaves a
// coefficient as free as no prior.
func TestLogisticPrior(t *testing.T) {
	l := onX([]float64{1, 2, 3, 4}, []float64{0, 0, 1, 1}, nil)
	l.PriorMean, l.PriorSD = []float64{0, 0}, []float64{5, 5}
	if f := fit(t, l); f.Coef[1] <= 0 || f.Coef[1] > 15 {
		t.Errorf("slope %v under a prior of spread 5", f.Coef[1])
	}
	free := onX(oringTemp, oringFail, nil)
	want := fit(t, free).Coef
	free.PriorMean, free.PriorSD = []float64{3, 3}, []float64{math.Inf(1), math.Inf(1)}
	for j, c := range fit(t, free).Coef {
		near(t, "coefficient", c, want[j], 1e-6)
	}
}

// The fit is a stationary point, grouping rows changes nothing, and an offset
// along a column is taken out of its coefficient.
func TestLogisticProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(3, 12).Draw(t, "rows")
		var l logistic
		for range n {
			x := float64(rapid.IntRange(-5, 5).Draw(t, "x"))
			trials := float64(rapid.IntRange(1, 5).Draw(t, "trials"))
			l.Design = append(l.Design, []float64{1, x})
			l.Trials = append(l.Trials, trials)
			l.Successes = append(l.Successes, float64(rapid.IntRange(0, int(trials)).Draw(t, "successes")))
		}
		l.PriorMean, l.PriorSD = []float64{0.3, -0.2}, []float64{2, 1}
		f, err := l.fit()
		if err != nil {
			t.Fatal(err)
		}
		top := l.objective(f.Coef)
		for j := range f.Coef {
			for _, h := range []float64{-1e-3, 1e-3} {
				off := append([]float64(nil), f.Coef...)
				off[j] += h
				if l.objective(off) > top {
					t.Fatalf("moving coefficient %d by %v improves the fit", j, h)
				}
			}
		}
		split := logistic{PriorMean: l.PriorMean, PriorSD: l.PriorSD}
		for i := range l.Design {
			for s := 0.0; s < l.Trials[i]; s++ {
				split.Design = append(split.Design, l.Design[i])
				split.Trials = append(split.Trials, 1)
				split.Offset = append(split.Offset, 0.7*l.Design[i][1])
				split.Successes = append(split.Successes, min(1, max(0, l.Successes[i]-s)))
			}
		}
		split.PriorMean = []float64{0.3, -0.2 - 0.7}
		g, err := split.fit()
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(g.Coef[0]-f.Coef[0]) > 1e-6 || math.Abs(g.Coef[1]+0.7-f.Coef[1]) > 1e-6 {
			t.Fatalf("split rows with offset: %v, whole rows: %v", g.Coef, f.Coef)
		}
	})
}

// At the maximum without a prior the fitted counts add up to the observed ones,
// over all rows and weighted by each column (the score equations), and rows of
// fractional weight count as so much of a row.
func TestLogisticScoreEquations(t *testing.T) {
	for name, l := range map[string]logistic{
		"beetles": onX(beetleDose, beetleKilled, beetleN),
		"flights": onX(oringTemp, oringFail, nil),
	} {
		t.Run(name, func(t *testing.T) {
			f := fit(t, l)
			for j := range f.Coef {
				var fitted, observed float64
				for i := range l.Design {
					fitted += f.Fitted[i] * l.Design[i][j]
					observed += l.Successes[i] * l.Design[i][j]
				}
				near(t, "fitted sum", fitted, observed, 1e-6*math.Abs(observed))
			}
			half := l
			half.Successes, half.Trials = nil, nil
			for i := range l.Trials {
				half.Successes = append(half.Successes, l.Successes[i]/2)
				half.Trials = append(half.Trials, l.Trials[i]/2)
			}
			h := fit(t, half)
			for j := range f.Coef {
				near(t, "coefficient from half weights", h.Coef[j], f.Coef[j], 1e-6*math.Abs(f.Coef[j]))
				near(t, "SE from half weights", h.SE[j], math.Sqrt2*f.SE[j], 1e-6*f.SE[j])
			}
		})
	}
}

func BenchmarkBeetles(b *testing.B) {
	l := onX(beetleDose, beetleKilled, beetleN)
	for b.Loop() {
		if _, err := l.fit(); err != nil {
			b.Fatal(err)
		}
	}
}
