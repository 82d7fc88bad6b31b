package learning

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wideberth/exposure"
)

var today = time.Date(2026, 5, 1, 12, 0, 0, 0, time.UTC)

func learn(t testing.TB, in []Intake, seen []Encounter, s Settings) Profile {
	t.Helper()
	p, err := Learn(in, seen, today, s)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func claimed(t testing.TB, p Profile, category, kind string) Estimate {
	t.Helper()
	e, err := p.Kind(category, kind)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// always is defaultSettings that claim on any evidence, for looking inside.
func always() Settings {
	s := defaultSettings()
	s.Need = math.SmallestNonzeroFloat64
	return s
}

var dogIntake = Intake{Kind: "dog on lead", Category: "dogs", Need: exposure.Need{WorkingM: 30, ReactionM: 15}}

func at(d float64, o Outcome) Encounter {
	return Encounter{Kind: "dog on lead", Category: "dogs", When: today, DistanceM: d, Outcome: o}
}

func repeat(n int, e ...Encounter) []Encounter {
	var out []Encounter
	for range n {
		out = append(out, e...)
	}
	return out
}

// With much data and a vague prior the fit is the plain logistic regression on
// ln distance, and both agree with Spearman-Karber, which knows no curve.
func TestAgainstLogisticAndSpearmanKarber(t *testing.T) {
	const seed, each = 11, 120
	rng := rand.New(rand.NewPCG(seed, 3))
	lnR, b := math.Log(12), 3.0
	var x, y, n, lnD, calm []float64
	var seen []Encounter
	for step := -4.0; step <= 4; step++ {
		d := 12 * math.Exp(step*0.35)
		over := 0.0
		for range each {
			o := StayedUnder
			if rng.Float64() < sigmoid(b*(lnR-math.Log(d))) {
				o, over = WentOver, over+1
			}
			seen = append(seen, at(d, o))
		}
		x, y, n = append(x, math.Log(d)), append(y, over), append(n, each)
		lnD, calm = append(lnD, math.Log(d)), append(calm, 1-over/each)
	}
	f := fit(t, onX(x, y, n))
	mle, se := halfPoint(f)
	s := always()
	s.Lapse = 0
	in := dogIntake
	in.LogSD = 2
	e := claimed(t, learn(t, []Intake{in}, seen, s), "dogs", "dog on lead")
	near(t, "ln R against the logistic fit", math.Log(e.ReactionM), mle, 0.3*se)
	near(t, "ln W against the logistic fit", math.Log(e.WorkingM), mle-math.Log(9)/f.Coef[1], 0.03)
	near(t, "half-width of R against Laplace", math.Log(e.ReactionRangeM.High/e.ReactionRangeM.Low)/2, z80*se, 0.15*z80*se)
	// Ends filled with 0 and 1, calm made monotone by nature of the draw.
	lnD = append(append([]float64{lnD[0] - 0.35}, lnD...), lnD[len(lnD)-1]+0.35)
	calm = append(append([]float64{0}, calm...), 1)
	near(t, "ln R against Spearman-Karber", math.Log(e.ReactionM), spearmanKarber(lnD, calm), 3*se)
}

// Without encounters the posterior is the prior, whose quantiles are known.
func TestNoWalksGivesThePrior(t *testing.T) {
	s := always()
	for _, c := range []struct {
		name string
		in   Intake
		w, r float64
		sd   float64
	}{
		{"both known", dogIntake, 30, 15, DefaultIntakeLogSD},
		{"working alone", Intake{Kind: "dog on lead", Category: "dogs", Need: exposure.Need{WorkingM: 40}}, 40, 20, DefaultIntakeLogSD},
		{"reaction alone", Intake{Kind: "dog on lead", Category: "dogs", Need: exposure.Need{ReactionM: 10}}, 20, 10, DefaultIntakeLogSD},
		{"unknown", Intake{Kind: "dog on lead", Category: "dogs"}, 25, 12.5, DefaultWorkingLogSD},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := learn(t, []Intake{c.in}, nil, s)
			e := p.estimates[0]
			near(t, "W over its simulated median", e.WorkingM/priorMedianW(c.w, c.r, c.sd), 1, 0.01)
			if e.WorkingM < c.w || e.WorkingM > 1.07*c.w { // skewed by the slope's spread, to the safe side
				t.Errorf("median W %v from an intake of %v", e.WorkingM, c.w)
			}
			near(t, "R", e.ReactionM/c.r, 1, 0.005)
			near(t, "low R", e.ReactionRangeM.Low/(c.r*math.Exp(-z80*c.sd)), 1, 0.01)
			near(t, "high R", e.ReactionRangeM.High/(c.r*math.Exp(z80*c.sd)), 1, 0.01)
			if e.EffectiveN != 0 || e.IntakeKnown != (c.name != "unknown") {
				t.Errorf("estimate %+v", e)
			}
		})
	}
}

// priorMedianW draws W from the stated prior.
func priorMedianW(w, r, sd float64) float64 {
	rng := rand.New(rand.NewPCG(3, 4))
	draws := make([]float64, 40001)
	for i := range draws {
		draws[i] = r * math.Exp(sd*rng.NormFloat64()) * math.Exp(math.Log(w/r)*math.Exp(-slopeLogSD*rng.NormFloat64()))
	}
	slices.Sort(draws)
	return draws[len(draws)/2]
}

func TestTooFew(t *testing.T) {
	s := defaultSettings()
	kind := func(seen []Encounter) (Estimate, error) {
		return learn(t, []Intake{dogIntake}, seen, s).Kind("dogs", "dog on lead")
	}
	cases := []struct {
		name string
		seen []Encounter
		few  bool
	}{
		{"none", nil, true},
		{"three", repeat(1, at(20, TookFood), at(12, WentOver), at(16, TookFood)), true},
		{"thirty where the outcome was certain", repeat(30, at(200, StayedUnder)), true},
		{"thirty two years ago", repeat(30, func() Encounter { e := at(18, TookFood); e.When = today.AddDate(-2, 0, 0); return e }()), true},
		{"thirty of today", repeat(10, at(20, TookFood), at(12, WentOver), at(16, TookFood)), false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			e, err := kind(c.seen)
			var few *TooFew
			if errors.As(err, &few) != c.few {
				t.Fatalf("error %v (worth %.1f)", err, e.EffectiveN)
			}
			if c.few && (few.Have >= few.Need || few.Need != s.Need || !strings.Contains(err.Error(), "dog on lead")) {
				t.Errorf("%+v: %v", few, err)
			}
		})
	}
	if _, err := learn(t, []Intake{dogIntake}, nil, s).Kind("people", "runner"); !errors.Is(err, errUnknownKind) {
		t.Errorf("unknown kind: %v", err)
	}
}

// What moves the estimate which way.
func TestDirections(t *testing.T) {
	mixed := repeat(6, at(14, WentOver), at(18, TookFood), at(25, TookFood), at(30, StayedUnder))
	base := claimed(t, learn(t, []Intake{dogIntake}, mixed, always()), "dogs", "dog on lead")
	late := func(e Encounter) Encounter { e.FirstNoticeM = e.DistanceM; return e }
	with := func(extra ...Encounter) Estimate {
		seen := append(append([]Encounter(nil), mixed...), extra...)
		return claimed(t, learn(t, []Intake{dogIntake}, seen, always()), "dogs", "dog on lead")
	}
	over, refused, calm := with(repeat(4, at(20, WentOver))...), with(repeat(4, at(20, RefusedFood))...), with(repeat(4, at(20, TookFood))...)
	unoffered := with(repeat(4, at(20, StayedUnder))...)
	if !(over.WorkingM > refused.WorkingM && refused.WorkingM > unoffered.WorkingM && unoffered.WorkingM > calm.WorkingM) {
		t.Errorf("W after four more at 20 m: over %.1f, refused %.1f, not offered %.1f, took food %.1f; want falling",
			over.WorkingM, refused.WorkingM, unoffered.WorkingM, calm.WorkingM)
	}
	if turned := with(repeat(4, at(20, TurnedBack))...); turned.WorkingM != calm.WorkingM {
		t.Errorf("turned back %.3f, took food %.3f: the dog coped in both", turned.WorkingM, calm.WorkingM)
	}
	// Calm encounters noticed late move W less than such noticed early.
	lateCalm := with(repeat(8, late(at(8, TookFood)))...)
	earlyCalm := with(repeat(8, at(8, TookFood))...)
	if !(earlyCalm.WorkingM < base.WorkingM && base.WorkingM-lateCalm.WorkingM < 0.7*(base.WorkingM-earlyCalm.WorkingM)) {
		t.Errorf("W: base %.1f, calm at 8 m noticed late %.1f, noticed early %.1f", base.WorkingM, lateCalm.WorkingM, earlyCalm.WorkingM)
	}
	if lateCalm.Late != 8 || lateCalm.LateBias || lateCalm.EffectiveN >= earlyCalm.EffectiveN {
		t.Errorf("late %d, bias %v, worth %.1f against %.1f", lateCalm.Late, lateCalm.LateBias, lateCalm.EffectiveN, earlyCalm.EffectiveN)
	}
	if all := claimed(t, learn(t, []Intake{dogIntake}, repeat(8, late(at(8, TookFood))), always()), "dogs", "dog on lead"); !all.LateBias {
		t.Error("only late encounters, but no flag")
	}
}

// Old walks count less, and an encounter a half-life old counts half: twice as
// many a half-life ago are worth the same as now.
func TestForgetting(t *testing.T) {
	s := always()
	ago := s.HalfLife
	old := func(e Encounter) Encounter { e.When = today.Add(-ago); return e }
	now := claimed(t, learn(t, []Intake{dogIntake}, repeat(4, at(14, WentOver), at(20, TookFood)), s), "dogs", "dog on lead")
	then := claimed(t, learn(t, []Intake{dogIntake}, repeat(8, old(at(14, WentOver)), old(at(20, TookFood))), s), "dogs", "dog on lead")
	near(t, "W", then.WorkingM, now.WorkingM, 1e-6)
	near(t, "worth", then.EffectiveN, now.EffectiveN, 1e-9)
	s.HalfLife *= 4
	longer := claimed(t, learn(t, []Intake{dogIntake}, repeat(4, old(at(14, WentOver)), old(at(20, TookFood))), s), "dogs", "dog on lead")
	if longer.EffectiveN <= then.EffectiveN/2+0.5 {
		t.Errorf("four times the half-life: half the encounters are worth %v, not more than half of %v", longer.EffectiveN, then.EffectiveN)
	}
}

// A kind learns from its category's other kinds, less than they do themselves,
// and nothing from other categories.
func TestSharedStrength(t *testing.T) {
	other := Intake{Kind: "dog off lead", Category: "dogs", Need: exposure.Need{WorkingM: 30, ReactionM: 15}}
	stranger := Intake{Kind: "runner", Category: "people", Need: exposure.Need{WorkingM: 30, ReactionM: 15}}
	p := learn(t, []Intake{dogIntake, other, stranger}, repeat(30, at(35, WentOver), at(50, TookFood)), always())
	own, kin, none := p.estimates[0], p.estimates[1], p.estimates[2]
	if !(own.ReactionM > kin.ReactionM*1.05 && kin.ReactionM > none.ReactionM*1.3) {
		t.Errorf("R of the kind %.1f, of its kin %.1f, of a stranger %.1f", own.ReactionM, kin.ReactionM, none.ReactionM)
	}
	near(t, "R of a stranger", none.ReactionM, 15, 0.1)
	if _, err := p.Kind("dogs", "dog off lead"); err == nil {
		t.Error("borrowed strength alone carries a claim")
	}
}

// One absurd row moves a fit with lapses less than one without.
func TestLapseTames(t *testing.T) {
	seen := append(repeat(10, at(12, WentOver), at(22, TookFood), at(30, TookFood)), at(150, WentOver))
	s := always()
	tame := claimed(t, learn(t, []Intake{dogIntake}, seen, s), "dogs", "dog on lead")
	s.Lapse = 0
	wild := claimed(t, learn(t, []Intake{dogIntake}, seen, s), "dogs", "dog on lead")
	if tame.WorkingM >= wild.WorkingM*0.95 {
		t.Errorf("W with lapses %.1f, without %.1f", tame.WorkingM, wild.WorkingM)
	}
}

// The few nodes of a bound integrate the curve like a fine sum over the
// distribution that the doc comment states.
func TestBoundNodes(t *testing.T) {
	density := map[Bound]func(u float64) float64{ // of u = ln d - ln x, unnormalised
		About: func(u float64) float64 { return math.Exp(-u * u / (2 * aboutLogSD * aboutLogSD)) },
		NearerThan: func(u float64) float64 {
			if u > 0 {
				return 0
			}
			return math.Exp(-u * u / (2 * boundLogSD * boundLogSD))
		},
		FartherThan: func(u float64) float64 {
			if u < 0 {
				return 0
			}
			return math.Exp(-u * u / (2 * boundLogSD * boundLogSD))
		},
	}
	for bound, f := range density {
		for _, b := range []float64{1, 3, 8} {
			for _, r := range []float64{-1.5, -0.5, 0, 0.5, 1.5} {
				var sum, norm float64
				for u := -6.0005; u < 6; u += 0.001 {
					sum, norm = sum+f(u)*sigmoid(b*(r-u)), norm+f(u)
				}
				rule := bound.rule()
				w := row{x: rule.at, w: rule.weight}
				near(t, fmt.Sprintf("bound %d, b %v, r %v", bound, b, r), w.pOver(b, r), sum/norm, 0.004)
			}
		}
	}
}

// The three or four answers at one distance have probabilities that add to 1.
func TestOutcomesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(1, 300).Draw(t, "distance")
		bound := Bound(rapid.IntRange(0, 3).Draw(t, "bound"))
		b, r := rapid.Float64Range(0.5, 10).Draw(t, "b"), rapid.Float64Range(-3, 3).Draw(t, "r")
		s := defaultSettings()
		s.Lapse = rapid.Float64Range(0, 0.1).Draw(t, "lapse")
		s.RefusalOdds = rapid.Float64Range(1.01, 20).Draw(t, "odds")
		prob := func(o Outcome) float64 {
			k := dogIntake.prior()
			w, _ := k.row(Encounter{Category: "dogs", When: today, DistanceM: d, Bound: bound, Outcome: o}, today, s)
			var odds []float64
			for _, x := range w.x {
				odds = append(odds, math.Exp(-b*x))
			}
			return w.prob(math.Exp(b*r), odds, s.Lapse)
		}
		if sum := prob(WentOver) + prob(RefusedFood) + prob(TookFood); math.Abs(sum-1) > 1e-9 {
			t.Fatalf("over + refused + took = %v", sum)
		}
		if sum := prob(WentOver) + prob(StayedUnder); math.Abs(sum-1) > 1e-9 {
			t.Fatalf("over + under = %v", sum)
		}
	})
}

// Scaling all distances scales the answer; order of rows changes nothing;
// ranges bracket their medians and R stays below W.
func TestEstimateProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 25).Draw(t, "n")
		k := rapid.Float64Range(0.3, 4).Draw(t, "scale")
		var seen, scaled []Encounter
		for range n {
			e := at(rapid.Float64Range(2, 120).Draw(t, "d"), Outcome(rapid.IntRange(0, 4).Draw(t, "outcome")))
			e.Bound = Bound(rapid.IntRange(0, 3).Draw(t, "bound"))
			e.Sudden = rapid.Bool().Draw(t, "sudden")
			seen = append(seen, e)
			e.DistanceM *= k
			scaled = append([]Encounter{e}, scaled...) // and reversed
		}
		in := dogIntake
		in.WorkingM, in.ReactionM = in.WorkingM*k, in.ReactionM*k
		p, err := Learn([]Intake{dogIntake}, seen, today, defaultSettings())
		if err != nil {
			t.Fatal(err)
		}
		q, err := Learn([]Intake{in}, scaled, today, defaultSettings())
		if err != nil {
			t.Fatal(err)
		}
		a, b := p.estimates[0], q.estimates[0]
		if math.Abs(b.WorkingM/a.WorkingM/k-1) > 1e-3 || math.Abs(b.ReactionRangeM.Low/a.ReactionRangeM.Low/k-1) > 1e-3 {
			t.Fatalf("scale %v: %v and %v", k, a.WorkingM, b.WorkingM)
		}
		if !(a.WorkingRangeM.Low < a.WorkingM && a.WorkingM < a.WorkingRangeM.High && a.ReactionM < a.WorkingM) {
			t.Fatalf("out of order: %+v", a)
		}
		if half := a.workingBelow(a.WorkingM); math.Abs(half-0.5) > 0.01 {
			t.Fatalf("half of W lies below its median, not %v", half)
		}
	})
}

func TestLearnRefuses(t *testing.T) {
	good := at(20, TookFood)
	enc := func(change func(*Encounter)) []Encounter { e := good; change(&e); return []Encounter{good, e} }
	in := func(change func(*Intake)) []Intake { i := dogIntake; change(&i); return []Intake{i} }
	set := func(change func(*Settings)) Settings { s := defaultSettings(); change(&s); return s }
	ok, def := []Intake{dogIntake}, defaultSettings()
	cases := []struct {
		name string
		in   []Intake
		seen []Encounter
		s    Settings
		want string
	}{
		{"no category", ok, enc(func(e *Encounter) { e.Category = "" }), def, "encounter 1: category"},
		{"zero distance", ok, enc(func(e *Encounter) { e.DistanceM = 0 }), def, "encounter 1: distance 0 m"},
		{"distance not a number", ok, enc(func(e *Encounter) { e.DistanceM = math.NaN() }), def, "distance NaN"},
		{"absurd distance", ok, enc(func(e *Encounter) { e.DistanceM = 5000 }), def, "at most 1000 m"},
		{"negative notice", ok, enc(func(e *Encounter) { e.FirstNoticeM = -1 }), def, "first notice at -1 m"},
		{"unknown bound", ok, enc(func(e *Encounter) { e.Bound = 9 }), def, "bound 9"},
		{"unknown outcome", ok, enc(func(e *Encounter) { e.Outcome = 9 }), def, "outcome 9"},
		{"from the future", ok, enc(func(e *Encounter) { e.When = today.AddDate(0, 0, 2) }), def, "lies after now"},
		{"intake without category", in(func(i *Intake) { i.Category = "" }), nil, def, "category is empty"},
		{"negative working", in(func(i *Intake) { i.WorkingM = -3 }), nil, def, "working distance -3 m"},
		{"absurd reaction", in(func(i *Intake) { i.WorkingM, i.ReactionM = 0, 1e6 }), nil, def, "reaction distance"},
		{"reaction above working", in(func(i *Intake) { i.ReactionM = 31 }), nil, def, "not below the working distance"},
		{"absurd spread", in(func(i *Intake) { i.LogSD = 9 }), nil, def, "spread 9"},
		{"twice", append(in(func(*Intake) {}), dogIntake), nil, def, "given twice"},
		{"half-life", ok, nil, set(func(s *Settings) { s.HalfLife = 0 }), "half-life"},
		{"lapse", ok, nil, set(func(s *Settings) { s.Lapse = 0.3 }), "lapse 0.3"},
		{"refusal odds", ok, nil, set(func(s *Settings) { s.RefusalOdds = 0.5 }), "refusal odds 0.5"},
		{"need", ok, nil, set(func(s *Settings) { s.Need = 0 }), "need 0"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := Learn(c.in, c.seen, today, c.s)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want one with %q", err, c.want)
			}
		})
	}
	if _, err := Learn(ok, enc(func(e *Encounter) { e.When = today.Add(time.Hour) }), today, def); err != nil {
		t.Errorf("an hour of clock difference is refused: %v", err)
	}
}

// One dog: eight kinds in four categories, 200 encounters.
func BenchmarkLearn(b *testing.B) {
	rng := rand.New(rand.NewPCG(5, 5))
	var in []Intake
	var seen []Encounter
	for c := range 4 {
		d, more := population(rng, 2, 0.4, 0)
		category := fmt.Sprint("category ", c)
		for i := range more {
			more[i].Category = category
		}
		in = append(in, more...)
		seen = append(seen, d.walks(walkPlan{25, 60, 30, 0.3, 0.2}, category, rng)...)
	}
	for b.Loop() {
		learn(b, in, seen, defaultSettings())
	}
}

// Kind gives the estimate for a kind of a category, *TooFew where the evidence
// does not carry one, or errUnknownKind.
func (p Profile) Kind(category, kind string) (Estimate, error) {
	e, err := p.believed(category, kind)
	if err == nil && e.EffectiveN < p.need {
		return Estimate{}, &TooFew{kind, e.EffectiveN, p.need}
	}
	return e, err
}
