package learning

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"wideberth/exposure"
)

func updated(t testing.TB, f Factor, observed, expected float64) Factor {
	t.Helper()
	f, err := f.Update(observed, expected)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// Textbook Gamma-Poisson posteriors: Gelman et al., Bayesian Data Analysis
// sec. 2.6 (asthma; from memory), Bayes Rules! ch. 5 (fraud calls), conjugate
// rule as in the glmbayes vignette Chapter-02-S04. Intervals and tail
// probabilities from an independent computation.
func TestGammaPoissonTextbooks(t *testing.T) {
	cases := []struct {
		name               string
		prior              Factor
		observed, expected float64
		want               Factor
		mean, low, high    float64
		aboveOne           float64
	}{
		{"asthma, one year", Factor{3, 5}, 3, 2, Factor{6, 7}, 0.857, 0.315, 1.667, 0.301},
		{"asthma, ten years", Factor{3, 5}, 30, 20, Factor{33, 25}, 1.32, 0.909, 1.807, 0.929},
		{"fraud calls, four days", Factor{10, 2}, 6 + 2 + 2 + 1, 4, Factor{21, 6}, 3.5, 2.167, 5.148, math.NaN()},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f := updated(t, c.prior, c.observed, c.expected)
			if f != c.want {
				t.Fatalf("posterior %+v, want %+v", f, c.want)
			}
			near(t, "mean", f.Mean(), c.mean, 5e-4)
			i := f.Interval(0.95)
			near(t, "low", i.Low, c.low, 5e-4)
			near(t, "high", i.High, c.high, 5e-4)
			if !math.IsNaN(c.aboveOne) {
				near(t, "P(factor > 1)", f.Above(1), c.aboveOne, 5e-4)
			}
		})
	}
	near(t, "variance of the fraud calls", distuv.Gamma{Alpha: 21, Beta: 6}.Variance(), 0.5833, 1e-4)
}

// The predictive probability of no event against the plug-in that forgets the
// doubt (numbers from an independent computation).
func TestNoEvent(t *testing.T) {
	for _, c := range []struct {
		f             Factor
		want, plugged float64
	}{
		{Factor{6, 7}, 0.44880, 0.42437},
		{Factor{21, 6}, 0.03928, 0.03020},
	} {
		near(t, "no event", c.f.NoEvent(1), c.want, 1e-5)
		near(t, "plug-in", math.Exp(-c.f.Mean()), c.plugged, 1e-5)
		if c.f.NoEvent(0) != 1 {
			t.Errorf("no event where none is expected: %v", c.f.NoEvent(0))
		}
		// Against mixing exp(-factor) over the distribution by simulation-free sum.
		g, sum := distuv.Gamma{Alpha: c.f.Shape, Beta: c.f.Rate}, 0.0
		for i := range 20000 {
			sum += math.Exp(-g.Quantile((float64(i) + 0.5) / 20000))
		}
		near(t, "mixed", sum/20000, c.want, 1e-4)
	}
}

func rates(t testing.TB, shapes map[exposure.Kind]float64) *Rates {
	t.Helper()
	r, err := newRates(shapes)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func observe(t testing.TB, r *Rates, c exposure.Cell, observed, expected float64) {
	t.Helper()
	if err := r.update(c, observed, expected); err != nil {
		t.Fatal(err)
	}
}

var street = exposure.Cell{Kind: exposure.DogOnLead, Place: exposure.PlaceResidential, Part: exposure.Morning}

// Without walks the factor is the prior; with walks in one cell alone it is the
// conjugate posterior exactly.
func TestRatesExactCases(t *testing.T) {
	r := rates(t, map[exposure.Kind]float64{exposure.DogOnLead: 1.5})
	near(t, "prior shape", r.Factor(street).Shape, 1.5, 1e-12)
	near(t, "prior mean", r.Factor(street).Mean(), 1, 1e-12)
	near(t, "default shape", r.Factor(exposure.Cell{Kind: exposure.Runner}).Shape, defaultRateShape, 1e-12)
	observe(t, r, street, 7, 3)
	observe(t, r, street, 2, 1.5)
	f := r.Factor(street)
	near(t, "shape", f.Shape, 1.5+9, 1e-12)
	near(t, "rate", f.Rate, 1.5+4.5, 1e-12)
	if got := r.Tally(street); got != (Tally{9, 4.5, 2}) {
		t.Errorf("tally %+v", got)
	}
}

// Borrowing falls off with distance: own cell, another part of the day, another
// kind of place, another kind (nothing).
func TestRatesBorrow(t *testing.T) {
	r := rates(t, map[exposure.Kind]float64{exposure.DogOnLead: 1.5})
	observe(t, r, street, 60, 20)
	own := r.Factor(street).Mean()
	evening := r.Factor(exposure.Cell{Kind: exposure.DogOnLead, Place: exposure.PlaceResidential, Part: exposure.Evening}).Mean()
	park := r.Factor(exposure.Cell{Kind: exposure.DogOnLead, Place: exposure.PlacePark, Part: exposure.Evening}).Mean()
	runner := r.Factor(exposure.Cell{Kind: exposure.Runner, Place: exposure.PlaceResidential, Part: exposure.Morning}).Mean()
	if !(own > evening && evening > park && park > 1 && runner == 1) {
		t.Errorf("factors: own %.2f, evening %.2f, park %.2f, runner %.2f; want falling to 1", own, evening, park, runner)
	}
	// However much is seen at one place, another stays uncertain.
	observe(t, r, street, 6000, 2000)
	if i := r.Factor(exposure.Cell{Kind: exposure.DogOnLead, Place: exposure.PlacePark, Part: exposure.Evening}).Interval(0.8); i.High/i.Low < 2 {
		t.Errorf("one place nails down another to %v", i)
	}
}

// Neighbourhoods drawn with scatter as assumed: 80 % intervals hold the truth
// about that often, and shrinkage beats both the default and the bare ratio.
func TestRatesCalibrated(t *testing.T) {
	const seed, towns, shape = 41, 400, 1.5
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 9))
	gamma := func(a float64) float64 { return distuv.Gamma{Alpha: a, Beta: a, Src: rng}.Rand() }
	places := []exposure.PlaceKind{exposure.PlaceResidential, exposure.PlacePark, exposure.PlaceWoods}
	parts := []exposure.DayPart{exposure.Morning, exposure.Midday, exposure.Evening}
	var held, n int
	var learnt, byDefault, bare float64
	for range towns {
		r, truth := rates(t, map[exposure.Kind]float64{exposure.DogOnLead: shape}), map[exposure.Cell]float64{}
		kind := gamma(kindShape * shape)
		for _, p := range places {
			place := kind * gamma(placeScatter*shape)
			for _, d := range parts {
				c := exposure.Cell{Kind: exposure.DogOnLead, Place: p, Part: d}
				truth[c] = place * gamma(partScatter*shape)
				expected := math.Exp(rng.NormFloat64())
				observe(t, r, c, distuv.Poisson{Lambda: truth[c] * expected, Src: rng}.Rand(), expected)
			}
		}
		for _, p := range places {
			for _, d := range parts {
				c := exposure.Cell{Kind: exposure.DogOnLead, Place: p, Part: d}
				f, got, n0 := r.Factor(c), r.Tally(c), n
				n = n0 + 1
				if f.Interval(0.8).Holds(truth[c]) {
					held++
				}
				learnt += square(f.Mean() - truth[c])
				byDefault += square(1 - truth[c])
				bare += square(got.Observed/got.Expected - truth[c])
			}
		}
	}
	share := 100 * float64(held) / float64(n)
	t.Logf("%d cells: coverage %.1f %%, mean squared error %.3f (default %.3f, bare ratio %.3f)",
		n, share, learnt/float64(n), byDefault/float64(n), bare/float64(n))
	if share < 75 || share > 85 {
		t.Errorf("80 %% intervals hold %.1f %%", share)
	}
	if learnt > 0.7*byDefault || learnt > 0.7*bare {
		t.Errorf("shrinkage does not pay: %.3f against %.3f and %.3f", learnt, byDefault, bare)
	}
}

// The order of walks changes nothing, more encounters never lower a factor of
// the same kind, and as many as expected keep the mean at 1.
func TestRatesProperties(t *testing.T) {
	cell := rapid.Custom(func(t *rapid.T) exposure.Cell {
		return exposure.Cell{Kind: rapid.SampledFrom([]exposure.Kind{exposure.DogOnLead, exposure.Runner}).Draw(t, "kind"),
			Place: rapid.SampledFrom([]exposure.PlaceKind{exposure.PlaceResidential, exposure.PlacePark}).Draw(t, "place"),
			Part:  rapid.SampledFrom([]exposure.DayPart{exposure.Morning, exposure.Evening}).Draw(t, "part")}
	})
	rapid.Check(t, func(t *rapid.T) {
		type walk struct {
			c    exposure.Cell
			y, e float64
		}
		a, _ := newRates(nil)
		b, _ := newRates(nil)
		even, _ := newRates(nil)
		var walks []walk
		for range rapid.IntRange(0, 12).Draw(t, "walks") {
			walks = append(walks, walk{cell.Draw(t, "cell"), float64(rapid.IntRange(0, 9).Draw(t, "y")), rapid.Float64Range(0, 9).Draw(t, "e")})
		}
		for i, w := range walks {
			v := walks[len(walks)-1-i]
			if a.update(w.c, w.y, w.e) != nil || b.update(v.c, v.y, v.e) != nil || even.update(w.c, w.e, w.e) != nil {
				t.Fatal("refused")
			}
		}
		c := cell.Draw(t, "asked")
		f := a.Factor(c)
		if g := b.Factor(c); math.Abs(f.Shape-g.Shape) > 1e-9*f.Shape || math.Abs(f.Rate-g.Rate) > 1e-9*f.Rate {
			t.Fatalf("order matters: %+v, %+v", f, g)
		}
		if m := even.Factor(c).Mean(); math.Abs(m-1) > 1e-9 {
			t.Fatalf("as many as expected give a factor of %v", m)
		}
		if err := a.update(exposure.Cell{Kind: c.Kind, Place: exposure.PlacePark, Part: exposure.Morning}, 3, 0); err != nil {
			t.Fatal(err)
		}
		if a.Factor(c).Mean() <= f.Mean() {
			t.Fatalf("three more lower the factor from %v to %v", f.Mean(), a.Factor(c).Mean())
		}
	})
}

func TestRatesRefuse(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	r := rates(t, nil)
	for _, c := range []struct {
		name string
		y, e float64
		want string
	}{
		{"negative count", -1, 2, "observed count -1"},
		{"count not a number", nan, 2, "observed count NaN"},
		{"endless count", inf, 2, "observed count +Inf"},
		{"negative expectation", 1, -2, "expected count -2"},
		{"endless expectation", 1, inf, "expected count +Inf"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if err := r.update(street, c.y, c.e); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want one with %q", err, c.want)
			}
			before := Factor{2, 2}
			if after, err := before.Update(c.y, c.e); err == nil || after != before {
				t.Errorf("update gave %+v, %v", after, err)
			}
		})
	}
	for _, a := range []float64{0, -1, nan, inf} {
		if _, err := newRates(map[exposure.Kind]float64{exposure.DogOnLead: a}); err == nil {
			t.Errorf("shape %v is taken", a)
		}
	}
}

func TestPresence(t *testing.T) {
	const half = 60 * 24 * time.Hour
	ago := func(halves float64, there bool) Statement {
		return Statement{today.Add(-time.Duration(halves * float64(half))), there}
	}
	cases := []struct {
		name  string
		prior float64
		said  []Statement
		want  float64
	}{
		{"nobody spoke", 0.2, nil, 0.2},
		{"one fresh report", 0.2, []Statement{ago(0, true)}, 2.25 / 3.25}, // odds 1/4 x 9
		{"confirmed at once", 0.2, []Statement{ago(0, true), ago(0, true)}, 20.25 / 21.25},
		{"reported and disputed", 0.2, []Statement{ago(0, true), ago(0, false)}, 0.2},
		{"a half-life old", 0.2, []Statement{ago(1, true)}, (0.25 * 7 / 3) / (1 + 0.25*7/3)}, // q = 0.7
		{"dated tomorrow", 0.2, []Statement{ago(-0.02, true)}, 2.25 / 3.25},
		{"mapped but disputed", 0.9, []Statement{ago(0, false)}, 0.5},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := Presence(c.prior, c.said, today, half)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "presence", got, c.want, 1e-9)
		})
	}
	faded, _ := Presence(reportedPrior, []Statement{ago(12, true)}, today, half)
	near(t, "long faded", faded, reportedPrior, 1e-3)
	for _, prior := range []float64{0, 1, math.NaN()} {
		if _, err := Presence(prior, nil, today, half); err == nil {
			t.Errorf("prior %v is taken", prior)
		}
	}
	if _, err := Presence(0.5, nil, today, 0); err == nil {
		t.Error("half-life 0 is taken")
	}
}

// The damped, moment-matched borrowing against the exact posterior of the
// nested Gamma model, by weighting draws from the prior: a cell without walks,
// beside cells with some.
func TestBorrowingAgainstExact(t *testing.T) {
	const seed, draws, a = 43, 80000, 1.5
	t.Logf("seed %d", seed)
	asked := exposure.Cell{Kind: exposure.DogOnLead, Place: exposure.PlaceResidential, Part: exposure.Midday}
	for _, c := range []struct {
		name             string
		sibling, park    Tally // same place at another part of the day; another place
		meanTol, widthTo float64
	}{
		{"sibling busier", Tally{12, 6, 1}, Tally{}, 0.08, 0.15},
		{"sibling quiet", Tally{1, 6, 1}, Tally{}, 0.2, 0.3},
		{"other place busier", Tally{}, Tally{12, 6, 1}, 0.08, 0.15},
		{"both", Tally{6, 3, 1}, Tally{8, 5, 1}, 0.08, 0.15},
	} {
		t.Run(c.name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(seed, 1))
			gamma := func(a float64) float64 { return distuv.Gamma{Alpha: a, Beta: a, Src: rng}.Rand() }
			logLik := func(t Tally, rate float64) float64 {
				if t.Expected == 0 {
					return 0
				}
				return t.Observed*math.Log(rate) - t.Expected*rate
			}
			var sum, mean, square float64
			for range draws {
				kind := gamma(kindShape * a)
				street, park := kind*gamma(placeScatter*a), kind*gamma(placeScatter*a)
				w := math.Exp(logLik(c.sibling, street*gamma(partScatter*a)) + logLik(c.park, park*gamma(partScatter*a)))
				x := street * gamma(partScatter*a)
				sum, mean, square = sum+w, mean+w*x, square+w*x*x
			}
			mean /= sum
			sd := math.Sqrt(square/sum - mean*mean)
			r := rates(t, map[exposure.Kind]float64{exposure.DogOnLead: a})
			observe(t, r, exposure.Cell{Kind: exposure.DogOnLead, Place: exposure.PlaceResidential, Part: exposure.Morning}, c.sibling.Observed, c.sibling.Expected)
			observe(t, r, exposure.Cell{Kind: exposure.DogOnLead, Place: exposure.PlacePark, Part: exposure.Morning}, c.park.Observed, c.park.Expected)
			f := r.Factor(asked)
			near(t, "mean over the exact one", f.Mean()/mean, 1, c.meanTol)
			near(t, "spread over the exact one", math.Sqrt(f.Shape)/f.Rate/sd, 1, c.widthTo)
		})
	}
}

// The doubt about a factor always makes a calm walk likelier than the plug-in
// says (Jensen), more walks narrow the interval, and tails are monotone.
func TestFactorProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, err := newFactor(rapid.Float64Range(0.2, 20).Draw(t, "shape"))
		if err != nil {
			t.Fatal(err)
		}
		y, e := float64(rapid.IntRange(0, 30).Draw(t, "observed")), rapid.Float64Range(0, 30).Draw(t, "expected")
		g, err := f.Update(y, e)
		if err != nil {
			t.Fatal(err)
		}
		ahead := rapid.Float64Range(0.01, 10).Draw(t, "ahead")
		if p, plug := g.NoEvent(ahead), math.Exp(-g.Mean()*ahead); p < plug || p > 1 {
			t.Fatalf("no event %v, plug-in %v", p, plug)
		}
		if g.NoEvent(2*ahead) >= g.NoEvent(ahead) {
			t.Fatal("more exposure, more calm")
		}
		i, wider := g.Interval(0.8), g.Interval(0.95)
		if !(wider.Low <= i.Low && i.Low < i.High && i.High <= wider.High) {
			t.Fatalf("80 %% %v, 95 %% %v", i, wider)
		}
		if math.Abs(g.Above(i.Low)-0.9) > 1e-6 || math.Abs(g.Above(i.High)-0.1) > 1e-6 {
			t.Fatalf("beyond the ends of 80 %%: %v, %v", g.Above(i.Low), g.Above(i.High))
		}
		// The posterior mean lies between the prior's and the bare ratio.
		if e > 0 {
			lo, hi := min(1, y/e), max(1, y/e)
			if m := g.Mean(); m < lo-1e-9 || m > hi+1e-9 {
				t.Fatalf("mean %v outside %v to %v", m, lo, hi)
			}
		}
	})
}

// A word for a source raises its presence, a word against lowers it, less so
// the older it is; order does not matter.
func TestPresenceProperties(t *testing.T) {
	const half = 30 * 24 * time.Hour
	statement := rapid.Custom(func(t *rapid.T) Statement {
		return Statement{today.Add(-time.Duration(rapid.IntRange(0, 3000).Draw(t, "hours")) * time.Hour), rapid.Bool().Draw(t, "there")}
	})
	rapid.Check(t, func(t *rapid.T) {
		prior := rapid.Float64Range(0.01, 0.99).Draw(t, "prior")
		said := rapid.SliceOfN(statement, 0, 6).Draw(t, "said")
		presence := func(s []Statement) float64 {
			p, err := Presence(prior, s, today, half)
			if err != nil {
				t.Fatal(err)
			}
			return p
		}
		before, s := presence(said), statement.Draw(t, "more")
		after := presence(append(append([]Statement(nil), said...), s))
		older := s
		older.When = s.When.Add(-half)
		faded := presence(append([]Statement{older}, said...))
		if s.There && !(after >= faded && faded >= before) || !s.There && !(after <= faded && faded <= before) {
			t.Fatalf("there %v: before %v, older word %v, word %v", s.There, before, faded, after)
		}
	})
}

func square(x float64) float64 { return x * x }
