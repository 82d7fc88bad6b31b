package exposure

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// Predictive chance of no event (Gelman et al., Bayesian Data Analysis sec. 2.6,
// and Bayes Rules! ch. 5; the posteriors are theirs, the predictive zeros were
// recomputed): Gamma(6, 7) and Gamma(21, 6) over one unit of time.
func TestCalmIsTheGammaPoissonZero(t *testing.T) {
	for _, c := range []struct{ shape, rate, want float64 }{{6, 7, .44880}, {21, 6, .03928}} {
		if got := calmOf(c.shape/c.rate, c.shape); !agrees(got, c.want, 1e-4) {
			t.Errorf("Gamma(%g, %g): %.5f, want %.5f", c.shape, c.rate, got, c.want)
		}
	}
	// Without doubt it is the Poisson zero exp(-x): 0.1, 0.5, 1, 2.5.
	for x, want := range map[float64]float64{.1: .904837, .5: .606531, 1: .367879, 2.5: .082085} {
		if got := calmOf(x, 1e9); !agrees(got, want, 1e-6) {
			t.Errorf("x %g: %g, want %g", x, got, want)
		}
	}
}

// With a shape of 1.5 an expectation of 0.94 is calm with 0.48 rather than 0.39.
func TestDoubtMakesCalmMoreLikely(t *testing.T) {
	if got := calmOf(.94, 1.5); math.Abs(got-.48) > .005 {
		t.Errorf("%g", got)
	}
	if got := calmOf(.94, 1e9); math.Abs(got-.39) > .005 {
		t.Errorf("%g", got)
	}
}

// expectation is a number expected with its Gamma shape.
type expectation struct {
	kind        Kind
	evidence    Evidence
	mean, shape float64
}

// doseOf is a dose with given parts of X and as many encounters.
func doseOf(parts ...expectation) *Dose {
	d := &Dose{}
	for _, p := range parts {
		d.reactions[p.kind][p.evidence].add(p.mean, p.shape)
		d.encounters[p.kind][p.evidence].add(p.mean, p.shape)
		d.Reactions += p.mean
	}
	return d
}

// Superposition: factors multiply. Against simulation of the factors.
func TestCalmAgainstSimulation(t *testing.T) {
	const seed, runs = 5, 200000
	r := rand.New(rand.NewPCG(seed, seed))
	d := doseOf(expectation{DogOnLead, FromHomes, .6, 1.5}, expectation{Adult, FromFewPlaces, .4, .7}, expectation{Child, FromSource, .3, 1})
	sum := 0.0
	var calms []float64
	for range runs {
		x := 0.0
		for _, p := range [][2]float64{{.6, 1.5}, {.4, .7}, {.3, 1}} {
			x += p[0] * distuv.Gamma{Alpha: p[1], Beta: p[1], Src: r}.Rand()
		}
		sum += math.Exp(-x)
		calms = append(calms, math.Exp(-x))
	}
	if got := d.Calm(); math.Abs(got-sum/runs) > .003 {
		t.Errorf("seed %d: calm %g, simulated %g", seed, got, sum/runs)
	}
	low, high := d.CalmRange()
	inside := 0.0
	for _, c := range calms {
		if c >= low && c <= high {
			inside++
		}
	}
	if share := inside / runs; math.Abs(share-.8) > .02 {
		t.Errorf("the 80 %% range %g to %g holds %g", low, high, share)
	}
	if l, h := (&Dose{}).CalmRange(); l != 1 || h != 1 || (&Dose{}).Calm() != 1 {
		t.Errorf("nothing expected: %g to %g", l, h)
	}
}

func TestCountQuantile(t *testing.T) {
	// Poisson(1): 0.368, 0.736, 0.920; Poisson(10): P(6) = .130, P(14) = .917
	// (tables of the Poisson distribution).
	for _, c := range []struct {
		p, mean, shape float64
		want           int
	}{
		{.1, 1, 1e9, 0}, {.9, 1, 1e9, 2}, {.1, 10, 1e9, 6}, {.9, 10, 1e9, 14},
		// Geometric with mean 1 (shape 1): 1/2, 3/4, 7/8, 15/16.
		{.1, 1, 1, 0}, {.8, 1, 1, 2}, {.9, 1, 1, 3},
	} {
		if got := countQuantile(c.p, c.mean, c.shape); got != c.want {
			t.Errorf("p %g, mean %g, shape %g: %d, want %d", c.p, c.mean, c.shape, got, c.want)
		}
	}
	if got := countQuantile(.9, 1e5, 1.5); math.Abs(float64(got)/1e5-distuv.Gamma{Alpha: 1.5, Beta: 1.5}.Quantile(.9)) > .01 {
		t.Errorf("a large mean: %d", got)
	}
	for _, shape := range []float64{590, 610} { // on either side of where chances are got by multiplication: P(0) is exp(-shape ln 2.72)
		for _, p := range []float64{.1, .5, .9} {
			mean := 1.72 * shape
			want := distuv.Normal{Mu: mean, Sigma: math.Sqrt(mean * 2.72)}.Quantile(p) // by the central limit, to a hundredth
			if got := countQuantile(p, mean, shape); math.Abs(float64(got)-want) > .01*mean {
				t.Errorf("of a mean of %g to a shape of %g the quantile %g is %d, want about %.0f", mean, shape, p, got, want)
			}
		}
	}
	if got := countQuantile(.5, 1e8, 1e9); got != 1<<20 {
		t.Errorf("beyond counting: %d", got)
	}
}

func TestEncounterInterval(t *testing.T) {
	d := doseOf(expectation{DogOnLead, FromHomes, 10, 1e9})
	if low, high := d.Encounters(DogOnLead); low != 6 || high != 14 {
		t.Errorf("%d to %d", low, high)
	}
	if low, high := d.Encounters(Car); low != 0 || high != 0 {
		t.Errorf("no cars: %d to %d", low, high)
	}
	wide := doseOf(expectation{DogOnLead, FromHomes, 10, 1.5})
	if low, high := wide.Encounters(DogOnLead); low >= 6 || high <= 14 {
		t.Errorf("doubt does not widen: %d to %d", low, high)
	}
}

// Parts of one doubt are wrong together: cutting one in two changes nothing.
func TestShapedParts(t *testing.T) {
	var one, two shaped
	one.add(2, 1.5)
	two.add(.5, 1.5)
	two.add(1.5, 1.5)
	if !agrees(one.shape(), 1.5, 1e-12) || !agrees(two.shape(), 1.5, 1e-12) {
		t.Errorf("shapes %g and %g", one.shape(), two.shape())
	}
	two.add(1, 10)
	if s := two.shape(); s <= 1.5 || s >= 10 {
		t.Errorf("a better known part gives %g", s)
	}
}

func TestGapsAndCalmStretches(t *testing.T) {
	d := &Dose{StepMeetings: []float64{.5, 0, 1, 0}, StepX: []float64{.2, 0, .1, 0}, seconds: []float64{60, 300, 60, 400}, DurationS: 820}
	if got := d.ShortestGapS(); !agrees(got, 360, 1e-9) {
		t.Errorf("gap %g s, want 360", got)
	}
	if got := d.LongestCalmS(.001); got != 400 {
		t.Errorf("calm for %g s, want 400", got)
	}
	if got := d.LongestCalmS(1); got != 820 {
		t.Errorf("calm for %g s, want the walk", got)
	}
	if got := (&Dose{StepMeetings: []float64{.3}, seconds: []float64{90}, DurationS: 90}).ShortestGapS(); got != 90 {
		t.Errorf("one encounter at most: gap %g s", got)
	}
}

// Arousal builds up: many encounters close together are worth more than the sum,
// none change nothing, and after a long pause it is forgotten.
func TestStacking(t *testing.T) {
	m := at(t, schoolMorning)
	f := emptyField(2)
	f.OwnPerDay[DogWalks][0] = 2000
	f.OwnPerDay[DogWalks][1] = .001
	busy, calm := Step{0, 60, m}, Step{1, 3600, m}
	d := onlyDogs(20)
	x := func(steps ...Step) (plain, stacked float64) {
		return f.Along(d, steps, nil).Reactions, f.AlongStacked(d, steps, nil, DefaultRecoveryS).Reactions
	}
	if plain, stacked := x(busy); plain != stacked {
		t.Errorf("the first step: %g and %g", plain, stacked)
	}
	plain, stacked := x(busy, busy, busy)
	if stacked <= plain*1.02 {
		t.Errorf("three in a row: %g and %g", plain, stacked)
	}
	_, paused := x(busy, calm, busy, calm, busy)
	if paused > plain*1.01 || paused < plain {
		t.Errorf("with an hour between: %g, plain %g", paused, plain)
	}
}
