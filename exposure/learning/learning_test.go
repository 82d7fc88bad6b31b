package learning

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"wideberth/exposure"
)

// These simulations ask of each part of the model whether it pays: the same
// dogs, with the part and without it.

// compare learns simulated dogs twice and returns what came of each.
func compare(t *testing.T, dogs int, draw func(*rand.Rand) (dogTruth, []Intake, []Encounter),
	with, without func([]Intake, []Encounter) ([]Encounter, Settings)) (a, b coverage) {
	t.Helper()
	const seed = 101
	rng := rand.New(rand.NewPCG(seed, 7))
	for range dogs {
		d, in, seen := draw(rng)
		x, s := with(in, seen)
		a.add(d, in, learn(t, in, x, s))
		x, s = without(in, seen)
		b.add(d, in, learn(t, in, x, s))
	}
	t.Logf("seed %d\nwith    %s\nwithout %s", seed, &a, &b)
	return a, b
}

func asIs(_ []Intake, seen []Encounter) ([]Encounter, Settings) { return seen, always() }

func (c *coverage) rms() float64  { return math.Sqrt(c.logErr2 / float64(c.claims)) }
func (c *coverage) bias() float64 { return c.logErr / float64(c.claims) }

// Kinds of one category learn faster together than each alone.
func TestSharingPays(t *testing.T) {
	const dogs, kinds = 60, 4
	rng := rand.New(rand.NewPCG(102, 7))
	var together, alone coverage
	for range dogs {
		d, in := population(rng, kinds, 0.4, 0)
		seen := d.walks(walkPlan{6, 20, 30, 0.3, 0}, "dogs", rng)
		together.add(d, in, learn(t, in, seen, always()))
		apart := make([]Intake, kinds)
		for i := range in {
			apart[i] = in[i]
			apart[i].Category = in[i].Kind
		}
		for i := range seen {
			seen[i].Category = seen[i].Kind
		}
		alone.add(d, apart, learn(t, apart, seen, always()))
	}
	t.Logf("together %s\nalone    %s", &together, &alone)
	if together.rms() > 0.95*alone.rms() {
		t.Errorf("error together %.3f, alone %.3f", together.rms(), alone.rms())
	}
}

// For a dog that changes, older walks counting less gives the distances of
// today better than all walks alike.
func TestForgettingPays(t *testing.T) {
	a, b := compare(t, 50, func(rng *rand.Rand) (dogTruth, []Intake, []Encounter) {
		d, in := population(rng, 1, 0.4, 0.3)
		return d, in, d.walks(walkPlan{150, 365, 30, 0, 0}, "dogs", rng)
	}, asIs, func(_ []Intake, seen []Encounter) ([]Encounter, Settings) {
		s := always()
		s.HalfLife = 10000 * 24 * time.Hour
		return seen, s
	})
	if a.rms() > 0.95*b.rms() {
		t.Errorf("error with forgetting %.3f, without %.3f", a.rms(), b.rms())
	}
	if aw, _ := a.percent(); aw < 58 { // 67 of 300 dogs, less two standard errors of 50
		t.Errorf("coverage of the changing dog %.0f %%", aw)
	}
	if bw, _ := b.percent(); bw > 70 {
		t.Errorf("without forgetting the interval should be too sure of itself; coverage %.0f %%", bw)
	}
}

// A dog that has no time to react to what it notices late looks braver than it
// is: thresholds from such logs are biased low (Blumstein 2003). Telling late
// from early takes most of the bias away.
func TestLateNoticeBias(t *testing.T) {
	a, b := compare(t, 60, func(rng *rand.Rand) (dogTruth, []Intake, []Encounter) {
		d, in := population(rng, 2, 0.4, 0)
		d.late = -1.5
		return d, in, d.walks(walkPlan{40, 20, 25, 0, 0.6}, "dogs", rng)
	}, asIs, func(_ []Intake, seen []Encounter) ([]Encounter, Settings) {
		blind := append([]Encounter(nil), seen...)
		for i := range blind {
			blind[i].Sudden, blind[i].FirstNoticeM = false, 0
		}
		return blind, always()
	})
	if b.bias() > -0.1 {
		t.Errorf("blind to late notice the bias is %+.3f; expected low", b.bias())
	}
	if math.Abs(a.bias()) > 0.6*math.Abs(b.bias()) {
		t.Errorf("bias %+.3f with, %+.3f without telling late from early", a.bias(), b.bias())
	}
}

// Ignoring lapses biases the curve (Wichmann & Hill 2001): with one row in
// twenty wrong, W comes out farther, because strays far away flatten it.
func TestLapsesPay(t *testing.T) {
	a, b := compare(t, 60, func(rng *rand.Rand) (dogTruth, []Intake, []Encounter) {
		d, in := population(rng, 1, 0.4, 0)
		d.lapse = 0.04
		return d, in, d.walks(walkPlan{80, 20, 45, 0, 0}, "dogs", rng)
	}, func(_ []Intake, seen []Encounter) ([]Encounter, Settings) {
		s := always()
		s.Lapse = 0.04
		return seen, s
	}, func(_ []Intake, seen []Encounter) ([]Encounter, Settings) {
		s := always()
		s.Lapse = 0
		return seen, s
	})
	if b.bias() < a.bias()+0.05 || a.rms() > b.rms() {
		t.Errorf("bias %+.3f with lapses, %+.3f without; error %.3f and %.3f", a.bias(), b.bias(), a.rms(), b.rms())
	}
}

// Graded answers tell more than over or not, where the dog is as assumed.
func TestFoodPays(t *testing.T) {
	a, b := compare(t, 120, func(rng *rand.Rand) (dogTruth, []Intake, []Encounter) {
		d, in := population(rng, 1, 0.4, 0)
		return d, in, d.walks(walkPlan{30, 20, 40, 0, 0}, "dogs", rng)
	}, asIs, func(_ []Intake, seen []Encounter) ([]Encounter, Settings) {
		s := always()
		s.RefusalOdds = 1
		return seen, s
	})
	if a.rms() > 1.03*b.rms() {
		t.Errorf("error %.3f with food, %.3f without", a.rms(), b.rms())
	}
}

// Proposals point the right way about as often as their chance says, and to
// come nearer is proposed for the wrong dog less often than one time in five.
func TestProposalsPointRight(t *testing.T) {
	const seed, dogs = 103, 250
	rng := rand.New(rand.NewPCG(seed, 7))
	var made, right [3]int
	var promised float64
	for range dogs {
		d, in := population(rng, 1, 0.4, 0)
		p := learn(t, in, d.walks(walkPlan{25, 30, 30, 0.3, 0.1}, "dogs", rng), defaultSettings())
		got, err := p.propose(Present{Kind: in[0].Kind, Category: "dogs", Need: exposure.Need{WorkingM: in[0].WorkingM, ReactionM: in[0].WorkingM / 2}})
		if err != nil {
			continue // too few
		}
		made[got.Change]++
		nearer := d.kinds[0].workingM() < in[0].WorkingM
		if got.Change == Nearer && nearer || got.Change == Farther && !nearer {
			right[got.Change]++
		}
		if got.Change != Keep {
			promised += got.Chance
		}
	}
	t.Logf("seed %d: kept %d; nearer %d, right %d; farther %d, right %d", seed, made[Keep],
		made[Nearer], right[Nearer], made[Farther], right[Farther])
	if made[Nearer] < 20 || made[Farther] < 20 || made[Keep] < 20 {
		t.Fatalf("too few of a sort to judge: %v", made)
	}
	if float64(right[Nearer]) < 0.8*float64(made[Nearer]) || float64(right[Farther]) < 0.75*float64(made[Farther]) {
		t.Errorf("made %v, right %v", made, right)
	}
	moved := float64(made[Nearer] + made[Farther])
	near(t, "share right against the chance promised", float64(right[Nearer]+right[Farther])/moved, promised/moved, 0.08)
}

// The category's and the kind's own part make up the intake's variance, for
// kinds of equal and of different spread.
func TestShareKeepsTheVariance(t *testing.T) {
	for _, spreads := range [][]float64{{0.4}, {0.4, 0.4}, {0.4, 0.8, 0.2}} {
		c := category{}
		for _, s := range spreads {
			c.kinds = append(c.kinds, &kindRows{spread: s})
		}
		c.share()
		for i, k := range c.kinds {
			near(t, "whole spread", math.Hypot(c.sdShared, k.sdOwn), spreads[i], 1e-12)
			if k.sdOwn <= 0 {
				t.Errorf("spreads %v: kind %d has no part of its own", spreads, i)
			}
		}
	}
}
