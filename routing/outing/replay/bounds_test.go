package replay

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wideberth/osmdata/plane"
)

// stepped is where a walk is, second by second of the outing, by a reading of its own: one
// hundredth of a second at a time, with a look at the next hold before each. It gives the
// progress at a moment.
func stepped(w *Walk, c *conduct, at float64) float64 {
	const tick = 0.01
	u, hold := 0.0, 0
	for t := w.StartS + c.lateS; t < at; t += tick {
		if hold < len(w.Holds) && u >= w.Holds[hold].ProgressS {
			if t < w.Holds[hold].NotBeforeS {
				continue
			}
			hold++
		}
		u += tick * c.pace[min(int((t-w.StartS-c.lateS)/60), len(c.pace)-1)]
	}
	return u
}

// TestWalkedInSmallSteps: where a walk of any pace and lateness is at a whole second is
// where small steps lead, within what a step and a hold make out.
func TestWalkedInSmallSteps(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 12))
	c := checker{rules: &slack}
	for round := range 12 {
		w := zigzag(rng, "a", 3)
		how := c.stray(rng, round%strayWays, &w)
		got := follow(&w, how)
		for _, share := range []float64{0.1, 0.35, 0.6, 0.95} {
			second := int(got.leave + share*(got.home-got.leave))
			k := walker{w: &w, u: stepped(&w, how, float64(second))}
			if off := got.at[second-got.firstS].DistanceM(k.place()); off > 0.1 {
				t.Errorf("round %d, second %d: %.2f m off where small steps lead", round, second, off)
			}
		}
	}
}

// TestPassingBothExtremes: nobody passes a place before the walk that is on time and fast,
// nor after the one that is late and slow; at a hold one may stand in between.
func TestPassingBothExtremes(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 3))
	c := checker{rules: &slack}
	for round := range 200 {
		w := zigzag(rng, "a", 3)
		u := rng.Float64() * w.ProgressS[len(w.ProgressS)-1]
		if len(w.Holds) > 0 && round%2 == 0 {
			u = w.Holds[0].ProgressS
		}
		first, _ := passing(&w, c.between(0), u)
		_, last := passing(&w, c.between(1), u)
		come, leave := passing(&w, c.between(rng.Float64()), u)
		if come < first-1e-9 || leave > last+1e-9 || leave < come {
			t.Fatalf("round %d: at %.1f s of the way from %.2f to %.2f, the extremes %.2f and %.2f", round, u, come, leave, first, last)
		}
		if held := slices.ContainsFunc(w.Holds, func(h Hold) bool { return h.ProgressS == u }); !held && come != leave {
			t.Fatalf("round %d: stands at %.1f s of the way without a hold", round, u)
		}
		if i := slices.IndexFunc(w.Holds, func(h Hold) bool { return h.ProgressS == u }); i >= 0 && leave != max(come, w.Holds[i].NotBeforeS) {
			t.Fatalf("round %d: comes to a hold at %.2f and leaves at %.2f, printed %.2f", round, come, leave, w.Holds[i].NotBeforeS)
		}
		// and the conduct that is there at a moment is found again
		at := first + rng.Float64()*(last-first)
		how := c.reach(&w, u, at)
		if come, leave := passing(&w, how, u); at < come-0.01 || at > leave+0.01 {
			t.Fatalf("round %d: wanted there at %.2f, is there from %.2f to %.2f", round, at, come, leave)
		}
	}
}

// TestPointOffALine: the distance to a line is the least to many points of it.
func TestPointOffALine(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 9))
	random := func() plane.Point { return plane.Point{X: 100 * rng.Float64(), Y: 100 * rng.Float64()} }
	for range 100 {
		line := plane.Polyline{random(), random(), random()}
		if rng.IntN(4) == 0 {
			line[1] = line[0] // a leg of no length
		}
		p := random()
		least := math.Inf(1)
		for i := 1; i < len(line); i++ {
			for k := range 1001 {
				least = min(least, p.DistanceM(line[i-1].Add(line[i].Sub(line[i-1]).Mul(float64(k)/1000))))
			}
		}
		if got := offM(p, line); got > least+1e-9 || got < least-0.15 {
			t.Errorf("%v is %.3f m off %v, by many points %.3f", p, got, line, least)
		}
	}
}

// TestSharedGroundInMetres: the longest run that two walks share, worked out by hand:
// pieces on one line count, those that cross, run beside or lie by the gate do not, and two
// pieces are not one.
func TestSharedGroundInMetres(t *testing.T) {
	straight := plane.Polyline{{}, {X: 200}}
	for name, c := range map[string]struct {
		a, b  plane.Polyline
		stemM float64
		want  float64
	}{
		"all":          {straight, straight, 0, 200},
		"back again":   {straight, plane.Polyline{{X: 200}, {}}, 0, 200},
		"a part":       {straight, plane.Polyline{{X: 50, Y: 90}, {X: 50}, {X: 110}, {X: 110, Y: 90}}, 0, 60},
		"two parts":    {straight, plane.Polyline{{X: 20}, {X: 60}, {X: 60, Y: 50}, {X: 100, Y: 50}, {X: 100}, {X: 150}}, 0, 50},
		"crossed":      {straight, plane.Polyline{{X: 100, Y: -50}, {X: 100, Y: 50}}, 0, 0},
		"beside":       {straight, plane.Polyline{{Y: 0.8}, {X: 200, Y: 0.8}}, 0, 0},
		"nearly on it": {straight, plane.Polyline{{Y: 0.4}, {X: 200, Y: 0.4}}, 0, 200},
		"by the gate":  {straight, straight, 120, 80},
		"in bends":     {plane.Polyline{{}, {X: 30}, {X: 30, Y: 30}, {X: 70, Y: 30}}, plane.Polyline{{X: 70, Y: 30}, {X: 30, Y: 30}, {X: 30}, {}}, 0, 100},
	} {
		c2 := checker{rules: &Rules{StemM: c.stemM}}
		for i, pair := range [2][2]plane.Polyline{{c.a, c.b}, {c.b, c.a}} {
			if got := c2.sharedRunM(&Walk{Line: pair[0]}, &Walk{Line: pair[1]}); math.Abs(got-c.want) > 3 {
				t.Errorf("%s, way %d: %.1f m, want %.1f", name, i, got, c.want)
			}
		}
	}
}

// TestBesideIsOneWalk: dogs that go together are on one walk to the metre, the second and
// the hold; each way to differ is found.
func TestBesideIsOneWalk(t *testing.T) {
	for name, spoil := range map[string]func(w *Walk){
		"another hand":      func(w *Walk) { w.People = []string{"Sam"} },
		"one hand more":     func(w *Walk) { w.People = append(w.People, "Sam") },
		"another start":     func(w *Walk) { w.StartS++ },
		"another place":     func(w *Walk) { w.Line[1].Y = 1.1 },
		"one point more":    func(w *Walk) { w.Line = append(w.Line, plane.Point{}) },
		"one point less":    func(w *Walk) { w.Line = w.Line[:2] },
		"no hold":           func(w *Walk) { w.Holds = nil },
		"a hold further on": func(w *Walk) { w.Holds[0].ProgressS = 201.1 },
		"a hold for longer": func(w *Walk) { w.Holds[0].NotBeforeS = 281.1 },
	} {
		walk := func() Walk {
			w := timed("a", 60, 1, plane.Point{}, plane.Point{X: 300}, plane.Point{})
			w.People, w.Holds = []string{"Ada"}, []Hold{{ProgressS: 200, NotBeforeS: 280}}
			return w
		}
		a, b := walk(), walk()
		var c checker
		if b.Line[1].X, b.Holds[0].NotBeforeS = 300.9, 280.9; !c.beside(&a, &b) {
			t.Error("two of one walk are not beside each other")
		}
		spoil(&b)
		if c.beside(&a, &b) || c.beside(&b, &a) {
			t.Errorf("%s: beside each other all the same", name)
		}
	}
}

// TestAsManyAsThereMayBe: the last number that each bound of the input lets in, beside the
// first that it keeps out.
func TestAsManyAsThereMayBe(t *testing.T) {
	short := timed("a", 0, 1, plane.Point{}, plane.Point{X: 10})
	many := func(n int) (out []Walk) {
		for i := range n {
			w := short
			w.Dog = fmt.Sprint("d", i)
			out = append(out, w)
		}
		return out
	}
	long := func(s float64) []Walk { w := short; w.ProgressS = []float64{0, s}; return []Walk{w} }
	at := func(s float64) []Walk { w := short; w.StartS = s; return []Walk{w} }
	held := func(n int, wait float64) []Walk {
		w := timed("a", 0, 1, plane.Point{}, plane.Point{X: 1000})
		for i := range n {
			w.Holds = append(w.Holds, Hold{float64(i + 1), wait})
		}
		return []Walk{w}
	}
	for what, c := range map[string]struct {
		walks []Walk
		rules Rules
		runs  int
		ok    bool
	}{
		"100 walks": {many(100), exact, 0, true}, "101 walks": {many(101), exact, 0, false},
		"20,000 runs": {nil, exact, 20_000, true}, "20,001 runs": {nil, exact, 20_001, false}, "fewer than none": {nil, exact, -1, false},
		"three hours": {long(10_800), exact, 0, true}, "longer": {long(10_801), exact, 0, false},
		"a day on": {at(86_400), exact, 0, true}, "later": {at(86_401), exact, 0, false},
		"100 holds": {held(100, 0), exact, 0, true}, "101 holds": {held(101, 0), exact, 0, false},
		"three hours' wait": {held(1, 10_800), exact, 0, true}, "longer wait": {held(1, 10_801), exact, 0, false},
		"10,000 pairs": {nil, Rules{SlowShare: 1, FastShare: 1, Together: make([][2]string, 10_000)}, 0, true}, "10,001 pairs": {nil, Rules{SlowShare: 1, FastShare: 1, Together: make([][2]string, 10_001)}, 0, false},
		"slower than slow": {nil, Rules{SlowShare: 1, FastShare: 0.9}, 0, false}, "creeping": {nil, Rules{SlowShare: 0.1, FastShare: 1}, 0, false}, "two hours late": {nil, Rules{SlowShare: 1, FastShare: 1, LateS: 7200}, 0, false},
		"gate of no place": {nil, Rules{SlowShare: 1, FastShare: 1, Gate: plane.Point{X: math.NaN()}}, 0, false},
	} {
		if err := checkInput(c.walks, &c.rules, c.runs); (err == nil) != c.ok {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// TestChecksEndWhenAsked: a check whose time is over gives no report, at random or driven.
func TestChecksEndWhenAsked(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	a, b := timed("a", 0, 1, plane.Point{}, plane.Point{X: 10}), timed("b", 0, 1, plane.Point{Y: 5}, plane.Point{X: 10, Y: 5})
	for _, runs := range []int{0, 3} {
		if r, err := Check(ctx, []Walk{a, b}, exact, runs, 1); r != nil || err == nil {
			t.Errorf("%d runs: %+v, %v", runs, r, err)
		}
	}
}
