package learning

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wideberth/exposure"
)

// calmer is a log of a dog that copes nearer than the 38 m its plans keep.
func calmer() Profile {
	in := Intake{Kind: "dog on lead", Category: "dogs", Need: exposure.Need{WorkingM: 38, ReactionM: 19}}
	seen := repeat(8, at(20, WentOver), at(30, TookFood), at(36, TookFood), at(26, TookFood))
	p, err := Learn([]Intake{in}, seen, today, defaultSettings())
	if err != nil {
		panic(err)
	}
	return p
}

func TestPropose(t *testing.T) {
	p := calmer()
	e := claimed(t, p, "dogs", "dog on lead")
	cases := []struct {
		name   string
		nowW   float64
		change Change
		to     float64
		capped bool
	}{
		{"nearer", e.WorkingM * 1.3, Nearer, e.cautious().WorkingM, false},
		{"far nearer, by a quarter at once", 100, Nearer, 75, true},
		{"keep where it agrees", e.WorkingM, Keep, e.WorkingM, false},
		{"keep at the edge of the interval", e.WorkingRangeM.High * 0.99, Keep, e.WorkingRangeM.High * 0.99, false},
		{"nearer just beyond it", e.WorkingRangeM.High * 1.01, Nearer, e.cautious().WorkingM, false},
		{"farther, within half as far again as it reacted", e.WorkingRangeM.Low * 0.9, Farther, farthestLeap * 20, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got, err := p.propose(Present{Kind: "dog on lead", Category: "dogs", Need: exposure.Need{WorkingM: c.nowW, ReactionM: c.nowW / 2}})
			if err != nil {
				t.Fatal(err)
			}
			if got.Change != c.change || got.Capped != c.capped {
				t.Errorf("change %d, capped %v; want %d, %v", got.Change, got.Capped, c.change, c.capped)
			}
			near(t, "to", got.To.WorkingM, c.to, 1e-9)
			if got.From.WorkingM != c.nowW || got.WorkingRangeM != e.WorkingRangeM || got.Encounters != 32 || got.EffectiveN != e.EffectiveN {
				t.Errorf("evidence %+v", got)
			}
			if c.change == Keep && got.To.ReactionM != got.From.ReactionM {
				t.Errorf("keep, but reaction from %v to %v", got.From.ReactionM, got.To.ReactionM)
			}
		})
	}
}

// It takes more to come nearer than to go farther.
func TestProposeLeansToSafety(t *testing.T) {
	p := calmer()
	e := claimed(t, p, "dogs", "dog on lead")
	quantile := func(q float64) float64 { return math.Exp(e.working.quantiles(q)[0]) }
	for _, c := range []struct {
		name string
		nowW float64
		want Change
	}{
		{"85 % sure that nearer would do", quantile(0.85), Keep},
		{"85 % sure that it is too near", quantile(0.15), Farther},
		{"75 % sure that it is too near", quantile(0.25), Farther},
		{"55 % sure that it is too near, but hardly", quantile(0.45), Keep},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := p.propose(Present{Kind: "dog on lead", Category: "dogs", Need: exposure.Need{WorkingM: c.nowW, ReactionM: c.nowW / 2}})
			if err != nil {
				t.Fatal(err)
			}
			if got.Change != c.want {
				t.Errorf("change %d with chance %.2f, want %d", got.Change, got.Chance, c.want)
			}
		})
	}
}

func TestProposeRefuses(t *testing.T) {
	few := learn(t, []Intake{dogIntake}, []Encounter{at(10, WentOver)}, defaultSettings())
	var want *TooFew
	if _, err := few.propose(Present{Kind: "dog on lead", Category: "dogs", Need: exposure.Need{WorkingM: 30, ReactionM: 15}}); !errors.As(err, &want) {
		t.Errorf("one encounter: %v", err)
	}
	if _, err := few.propose(Present{Kind: "tram", Category: "traffic", Need: exposure.Need{WorkingM: 30, ReactionM: 15}}); !errors.Is(err, errUnknownKind) {
		t.Errorf("unknown kind: %v", err)
	}
	for _, now := range []Present{
		{Kind: "dog on lead", Category: "dogs", Need: exposure.Need{WorkingM: 0, ReactionM: 15}}, {Kind: "dog on lead", Category: "dogs", Need: exposure.Need{WorkingM: 30, ReactionM: 0}}, {Kind: "dog on lead", Category: "dogs", Need: exposure.Need{WorkingM: 30, ReactionM: 30}},
		{Kind: "dog on lead", Category: "dogs", Need: exposure.Need{WorkingM: math.NaN(), ReactionM: 15}}, {Kind: "dog on lead", Category: "dogs", Need: exposure.Need{WorkingM: 3000, ReactionM: 15}},
	} {
		if _, err := few.propose(now); err == nil || !strings.Contains(err.Error(), "present distances") {
			t.Errorf("%+v: %v", now, err)
		}
	}
}

// Whatever the log, a proposal keeps 0 < reaction < working, never comes nearer
// than by a quarter, and says Keep exactly when nothing moves.
func TestProposalProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var seen []Encounter
		for range rapid.IntRange(8, 40).Draw(t, "n") {
			seen = append(seen, at(rapid.Float64Range(5, 60).Draw(t, "d"), Outcome(rapid.IntRange(0, 4).Draw(t, "outcome"))))
		}
		w := rapid.Float64Range(5, 200).Draw(t, "W now")
		r := w * rapid.Float64Range(0.2, 0.95).Draw(t, "R/W now")
		p, err := Learn([]Intake{dogIntake}, seen, today, defaultSettings())
		if err != nil {
			t.Fatal(err)
		}
		got, err := p.propose(Present{Kind: "dog on lead", Category: "dogs", Need: exposure.Need{WorkingM: w, ReactionM: r}})
		var few *TooFew
		if errors.As(err, &few) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if !(got.To.ReactionM > 0 && got.To.ReactionM < got.To.WorkingM && got.To.WorkingM >= 0.75*w-1e-9) {
			t.Fatalf("%+v", got)
		}
		if (got.Change == Keep) != (got.To.WorkingM == w) || got.Chance < 0 || got.Chance > 1 {
			t.Fatalf("%+v", got)
		}
	})
}

// A dog whose distances shrink by a known amount a month: the trend finds the
// sign and, on average, the size; a steady dog shows none more often than the
// interval allows.
func TestTrend(t *testing.T) {
	const seed, dogs = 17, 60
	t.Logf("seed %d", seed)
	for _, perMonth := range []float64{-0.25, 0, 0.25} {
		rng := rand.New(rand.NewPCG(seed, 5))
		sum, held, sure := 0.0, 0, 0
		for range dogs {
			var seen []Encounter
			for age := 1.0; age < 120; age += 2 {
				lnR := math.Log(15) - perMonth*age/30
				e := at(25*math.Exp(0.5*rng.NormFloat64()), TookFood)
				if rng.Float64() < sigmoid(3*(lnR-math.Log(e.DistanceM))) {
					e.Outcome = WentOver
				}
				e.When = today.Add(-time.Duration(age*24) * time.Hour)
				seen = append(seen, e)
			}
			tr := claimed(t, learn(t, []Intake{dogIntake}, seen, always()), "dogs", "dog on lead").Trend
			sum += tr.LogPerMonth
			if tr.Range.Holds(perMonth) {
				held++
			}
			if !tr.Range.Holds(0) {
				sure++
			}
		}
		mean := sum / dogs
		t.Logf("true %+.2f a month: mean %+.3f, interval holds %d of %d, clear in %d", perMonth, mean, held, dogs, sure)
		// The prior draws the trend towards none, so half the truth is asked for.
		if math.Abs(mean-perMonth) > 0.5*math.Abs(perMonth)+0.04 {
			t.Errorf("true %v a month, found %v", perMonth, mean)
		}
		if perMonth == 0 && sure > dogs*3/10 || perMonth != 0 && sure < dogs/2 {
			t.Errorf("true %v a month, clear in %d of %d", perMonth, sure, dogs)
		}
	}
}

// Nothing usable leaves the prior, which claims nothing.
func TestTrendWithoutRows(t *testing.T) {
	e := at(20, TookFood)
	e.Bound = NearerThan
	tr := claimed(t, learn(t, []Intake{dogIntake}, repeat(12, e), always()), "dogs", "dog on lead").Trend
	if !tr.Range.Holds(0) || tr.LogPerMonth != 0 {
		t.Errorf("trend %+v from no distances", tr)
	}
}

// The sentence that a proposal is the data of.
func Example_propose() {
	p, err := calmer().propose(Present{Kind: "dog on lead", Category: "dogs", Need: exposure.Need{WorkingM: 38, ReactionM: 19}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("from %.0f m to %.0f m, 80 %% interval %.0f to %.0f, from %.0f encounters\n",
		p.From.WorkingM, p.To.WorkingM, p.WorkingRangeM.Low, p.WorkingRangeM.High, p.EffectiveN)
	// Output: from 38 m to 31 m, 80 % interval 26 to 35, from 27 encounters
}
