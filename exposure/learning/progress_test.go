package learning

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wideberth/exposure"
)

func TestProgress(t *testing.T) {
	good := Visit{Step: 3, Triggers: 5, Handled: 4, TurnedBack: 2}
	poor := Visit{Step: 3, Triggers: 5, Handled: 3}
	over := Visit{Step: 3, Triggers: 5, Handled: 4, WentOver: 1}
	none := Visit{Step: 3}
	refusal := Visit{Step: 3, Triggers: 5, Handled: 4, RefusedFood: 1}
	two := Visit{Step: 3, Triggers: 5, Handled: 3, RefusedFood: 2}
	other := func(v Visit) Visit { v.Step = 2; return v }
	cases := []struct {
		name   string
		visits []Visit
		want   Direction
		good   int
	}{
		{"no visit yet", nil, Stay, 0},
		{"one good", []Visit{good}, Stay, 1},
		{"two good in a row", []Visit{good, good}, On, 2},
		{"good, poor, good", []Visit{good, poor, good}, Stay, 1},
		{"good then poor", []Visit{good, good, poor}, Stay, 0},
		{"four of five is enough, three is not", []Visit{poor, poor}, Stay, 0},
		{"one over threshold", []Visit{good, good, over}, Back, 0},
		{"over once, then good", []Visit{over, good}, Stay, 1},
		{"over once, then two good", []Visit{over, good, good}, On, 2},
		{"two refusals in a visit", []Visit{good, two}, Back, 0},
		{"a refusal in each of two visits", []Visit{refusal, refusal}, Back, 2},
		{"one refusal in good visits", []Visit{good, refusal}, On, 2},
		{"an old refusal is out of sight", []Visit{refusal, good, refusal}, On, 2},
		{"good on the step before does not count", []Visit{other(good), good}, Stay, 1},
		{"over on the step before does not count", []Visit{other(over), good, good}, On, 2},
		{"nothing met in between", []Visit{good, none, good}, On, 2},
		{"nothing met twice", []Visit{none, none}, Stay, 0},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			m, err := Progress(c.visits, DefaultRule())
			if err != nil {
				t.Fatal(err)
			}
			if m.Direction != c.want || m.Good != c.good {
				t.Errorf("move %+v, want direction %d with %d good in a row", m, c.want, c.good)
			}
		})
	}
	m, _ := Progress([]Visit{good, good}, DefaultRule())
	if m != (Move{Direction: On, Visits: 2, Good: 2, Triggers: 10, Handled: 8, TurnedBack: 4}) {
		t.Errorf("evidence %+v", m)
	}
}

func TestProgressRuleIsAdjustable(t *testing.T) {
	v := Visit{Step: 1, Triggers: 4, Handled: 3, WentOver: 1}
	lenient := DefaultRule()
	lenient.OverForBack = 2
	strict := DefaultRule()
	strict.VisitsInARow, strict.LeastTriggers, strict.HandledShare = 3, 3, 1
	good := Visit{Step: 1, Triggers: 3, Handled: 3}
	few := Visit{Step: 1, Triggers: 2, Handled: 2}
	for _, c := range []struct {
		name   string
		visits []Visit
		rule   Rule
		want   Direction
	}{
		{"one over is borne", []Visit{v}, lenient, Stay},
		{"two over in a visit are not", []Visit{{Step: 1, Triggers: 4, WentOver: 2}}, lenient, Back},
		{"two of three", []Visit{good, good}, strict, Stay},
		{"three of three", []Visit{good, good, good}, strict, On},
		{"too little met", []Visit{good, few, good}, strict, Stay},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, err := Progress(c.visits, c.rule)
			if err != nil {
				t.Fatal(err)
			}
			if m.Direction != c.want {
				t.Errorf("direction %d, want %d", m.Direction, c.want)
			}
		})
	}
}

func TestProgressRefuses(t *testing.T) {
	rule := func(change func(*Rule)) Rule { r := DefaultRule(); change(&r); return r }
	for _, c := range []struct {
		name string
		v    Visit
		r    Rule
		want string
	}{
		{"negative", Visit{Triggers: -1}, DefaultRule(), "visit 0: negative"},
		{"more than met", Visit{Triggers: 2, Handled: 2, WentOver: 1}, DefaultRule(), "2 handled, 1 over"},
		{"refused more than met", Visit{Triggers: 1, RefusedFood: 2}, DefaultRule(), "2 refusals"},
		{"turned back unhandled", Visit{Triggers: 2, Handled: 1, TurnedBack: 2}, DefaultRule(), "turned back 2"},
		{"row of none", Visit{}, rule(func(r *Rule) { r.VisitsInARow = 0 }), "visits in a row 0"},
		{"share above one", Visit{}, rule(func(r *Rule) { r.HandledShare = 1.2 }), "handled share 1.2"},
		{"share not a number", Visit{}, rule(func(r *Rule) { r.HandledShare = math.NaN() }), "handled share NaN"},
		{"no triggers", Visit{}, rule(func(r *Rule) { r.LeastTriggers = 0 }), "least triggers 0"},
		{"back after none", Visit{}, rule(func(r *Rule) { r.OverForBack = 0 }), "times over"},
		{"back after no refusal", Visit{}, rule(func(r *Rule) { r.RefusalsForBack = 0 }), "refusals"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := Progress([]Visit{c.v}, c.r); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want one with %q", err, c.want)
			}
		})
	}
}

// With one trigger a visit the rule is the two-down, one-up staircase, which
// settles where p^2 = 1/2, at 70.71 % handled (Levitt 1971, J. Acoust. Soc.
// Am. 49:467-477, percentages from memory). Here p is the mean over visits of
// the chance of handling at the step of the visit, on fine steps.
func TestProgressIsLevittsStaircase(t *testing.T) {
	const seed, visits, perLog = 13, 60000, 40
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 1))
	var run []Visit
	step, reversals, lnDistance, last := 0, 0, 0.0, Stay
	for range visits {
		lnD := math.Log(40) - float64(step)/perLog
		v := Visit{Step: step, Triggers: 1, Handled: 1}
		if rng.Float64() < sigmoid(3*(math.Log(15)-lnD)) {
			v = Visit{Step: step, Triggers: 1, WentOver: 1}
		}
		run = append(run, v)
		m, err := Progress(run, DefaultRule())
		if err != nil {
			t.Fatal(err)
		}
		if m.Direction == Stay {
			continue
		}
		run = run[:0]
		if last != Stay && m.Direction != last {
			reversals, lnDistance = reversals+1, lnDistance+lnD
		}
		last = m.Direction
		if m.Direction == On {
			step++
		} else {
			step--
		}
	}
	handled := 1 - sigmoid(3*(math.Log(15)-lnDistance/float64(reversals)))
	near(t, "share handled where the rule settles", handled, 0.7071, 0.01)
}

// A reaction in the last visit always leads back, and a move on never follows
// one, whatever came before.
func TestProgressNeverOnAfterOver(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var visits []Visit
		for range rapid.IntRange(1, 8).Draw(t, "visits") {
			n := rapid.IntRange(0, 6).Draw(t, "triggers")
			v := Visit{Step: rapid.IntRange(1, 2).Draw(t, "step"), Triggers: n, Handled: rapid.IntRange(0, n).Draw(t, "handled")}
			v.WentOver = rapid.IntRange(0, n-v.Handled).Draw(t, "over")
			v.RefusedFood = rapid.IntRange(0, n).Draw(t, "refused")
			visits = append(visits, v)
		}
		m, err := Progress(visits, DefaultRule())
		if err != nil {
			t.Fatal(err)
		}
		last := visits[len(visits)-1]
		if (last.WentOver > 0 || last.RefusedFood >= 2) != (m.Direction == Back) && m.RefusedFood < 2 {
			t.Fatalf("last visit %+v, move %+v", last, m)
		}
		if m.Direction == On && float64(m.Handled) < 0.8*float64(m.Triggers)-1e-9 {
			t.Fatalf("on with %d of %d handled", m.Handled, m.Triggers)
		}
	})
}

// TestCountVisit: only meetings that may be of what the visit is about count, each
// once, by what came of it.
func TestCountVisit(t *testing.T) {
	met := []Meeting{
		{Name: "dog_on_lead", Outcome: TookFood}, {Name: "dog_on_lead", Outcome: TurnedBack}, {Name: "dogs", Outcome: RefusedFood},
		{Outcome: StayedUnder}, {Name: "dog_off_lead", Outcome: WentOver}, {Name: "child", Outcome: WentOver}, {Name: "dog_behind_fence", Outcome: TookFood},
	}
	about := []exposure.Kind{exposure.DogOnLead, exposure.DogOffLead}
	if got, want := CountVisit(2, met, about), (Visit{Step: 2, Triggers: 5, Handled: 2, TurnedBack: 1, RefusedFood: 1, WentOver: 1}); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	if v := CountVisit(1, met, about); v.check(0) != nil {
		t.Errorf("the rule refuses what was counted: %v", v.check(0))
	}
}

// TestAdvance: visits of the present step since the last decision count, nothing is
// proposed while paused, and nobody moves beyond either end.
func TestAdvance(t *testing.T) {
	good, bad := Visit{Step: 2, Triggers: 4, Handled: 4}, Visit{Step: 2, Triggers: 4, WentOver: 2}
	at := func(days int, v Visit) Logged { return Logged{v, today.Add(time.Duration(days) * 24 * time.Hour)} }
	other := good
	other.Step = 1
	cases := map[string]struct {
		q       Sequence
		done    []Logged
		dir     Direction
		to, cnt int
	}{
		"nothing logged":      {Sequence{Step: 2, Of: 4}, nil, Stay, 2, 0},
		"two good":            {Sequence{Step: 2, Of: 4}, []Logged{at(1, good), at(2, good)}, On, 3, 2},
		"decided meanwhile":   {Sequence{Step: 2, Of: 4, Decided: today.Add(36 * time.Hour)}, []Logged{at(1, good), at(2, good)}, Stay, 2, 1},
		"of another step":     {Sequence{Step: 2, Of: 4}, []Logged{at(1, other), at(2, good)}, Stay, 2, 1},
		"went over":           {Sequence{Step: 2, Of: 4}, []Logged{at(1, good), at(2, bad)}, Back, 1, 2},
		"went over, paused":   {Sequence{Step: 2, Of: 4, Paused: true}, []Logged{at(2, bad)}, Stay, 2, 1},
		"good at the last":    {Sequence{Step: 2, Of: 2}, []Logged{at(1, good), at(2, good)}, On, 2, 2},
		"went over the first": {Sequence{Step: 1, Of: 2}, []Logged{{Visit{Step: 1, Triggers: 2, WentOver: 1}, today}}, Back, 1, 1},
	}
	for name, c := range cases {
		m, to, counted, err := c.q.Advance(c.done, DefaultRule())
		if err != nil || m.Direction != c.dir || to != c.to || counted != c.cnt {
			t.Errorf("%s: direction %d to %d from %d visits, %v; want %d to %d from %d", name, m.Direction, to, counted, err, c.dir, c.to, c.cnt)
		}
	}
	if _, _, _, err := (Sequence{Step: 1, Of: 2}).Advance(nil, Rule{}); err == nil {
		t.Error("a rule that cannot be is taken")
	}
}
