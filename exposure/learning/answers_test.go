package learning

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
)

func ptr(v float64) *float64 { return &v }

// TestPrior works the derivation by hand. Feet: 1 ft = 0.3048 m exactly
// (international foot, 1959).
func TestPrior(t *testing.T) {
	cases := map[string]struct {
		in    Answers
		w, r  float64
		known bool
	}{
		"all said":          {Answers{NoticesM: ptr(60), TakesFoodM: ptr(40), StopsEatingM: ptr(25), ReactsM: ptr(18)}, 40, 18, true},
		"in feet":           {Answers{TakesFoodM: ptr(100), ReactsM: ptr(50), Unit: "ft"}, 30.48, 15.24, true},
		"food only":         {Answers{TakesFoodM: ptr(40)}, 40, 20, true},
		"reacts only":       {Answers{ReactsM: ptr(12)}, 24, 12, true},
		"reacts, noticed":   {Answers{NoticesM: ptr(20), ReactsM: ptr(12)}, 20, 12, true},
		"stops eating only": {Answers{StopsEatingM: ptr(12.915)}, 20, 10, true}, // 2.25^(ln 2 / ln 9) = 1.2915
		"noticing only":     {Answers{NoticesM: ptr(15)}, 15, 7.5, false},
		"nothing known":     {Answers{}, 25, 12.5, false},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			p, err := c.in.Prior("/intake/dogs")
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(p.WorkingM-c.w) > 1e-3 || math.Abs(p.ReactionM-c.r) > 1e-3 || p.Known != c.known {
				t.Errorf("prior %+v, want W %g, R %g, known %v", p, c.w, c.r, c.known)
			}
			if wide := p.LogSD > 0.5; wide == c.known {
				t.Errorf("spread %g with known %v", p.LogSD, c.known)
			}
		})
	}
}

func TestPriorRefusals(t *testing.T) {
	cases := map[string]struct {
		in      Answers
		pointer string
	}{
		"negative":                      {Answers{ReactsM: ptr(-3)}, "/x/reacts_at"},
		"zero":                          {Answers{TakesFoodM: ptr(0)}, "/x/takes_food_at"},
		"absurd":                        {Answers{NoticesM: ptr(1e9)}, "/x/notices_at"},
		"not a number":                  {Answers{NoticesM: ptr(math.NaN())}, "/x/notices_at"},
		"reacts before it stops eating": {Answers{StopsEatingM: ptr(10), ReactsM: ptr(20)}, "/x/reacts_at"},
		"eats farther than it notices":  {Answers{NoticesM: ptr(10), TakesFoodM: ptr(20)}, "/x/takes_food_at"},
		"reacts where it eats":          {Answers{TakesFoodM: ptr(20), ReactsM: ptr(20)}, "/x/reacts_at"},
		"another unit":                  {Answers{ReactsM: ptr(3), Unit: "yd"}, "/x/unit"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			_, err := c.in.Prior("/x")
			var ps fault.Problems
			if !errors.As(err, &ps) || len(ps) != 1 || ps[0].Pointer != c.pointer || ps[0].Mend == "" {
				t.Errorf("error %v, want one problem with %s", err, c.pointer)
			}
		})
	}
}

// TestPriorIsAlwaysAPair: whatever answers are accepted, the model can use what
// comes of them, and learning can start from it.
func TestPriorIsAlwaysAPair(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		draw := func(name string) *float64 {
			if rapid.Bool().Draw(rt, name+" known") {
				return ptr(rapid.Float64Range(0.1, 1000).Draw(rt, name))
			}
			return nil
		}
		a := Answers{NoticesM: draw("notices"), TakesFoodM: draw("food"), StopsEatingM: draw("stops"), ReactsM: draw("reacts")}
		p, err := a.Prior("")
		if err != nil {
			return
		}
		if !(p.ReactionM > 0 && p.ReactionM < p.WorkingM) || math.IsNaN(p.P(10)) {
			rt.Errorf("%+v gives %+v", a, p)
		}
		if p.WorkingM <= exposure.MostMetM {
			if err := p.intake("dog_on_lead").check(); err != nil {
				rt.Errorf("%+v gives %v", a, err)
			}
		}
	})
}

func TestSaid(t *testing.T) {
	if p := Said(exposure.Need{WorkingM: 38, ReactionM: 15}); !p.Known || p.LogSD != DefaultIntakeLogSD || p.WorkingM != 38 {
		t.Errorf("38 and 15 m said: %+v", p)
	}
	if p := Said(exposure.Need{}); p.Known {
		t.Errorf("a calm dog: %+v", p)
	}
	unknown := Prior{Need: exposure.Need{WorkingM: 25, ReactionM: 12.5}, LogSD: DefaultWorkingLogSD}
	if in := unknown.intake("people"); in != (Intake{Category: "people", LogSD: DefaultWorkingLogSD}) {
		t.Errorf("of nothing known learning starts at %+v", in)
	}
}
