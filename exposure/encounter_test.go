package exposure

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// agrees reports whether two numbers agree within a relative or absolute tolerance.
func agrees(got, want, tol float64) bool {
	return math.Abs(got-want) <= tol*max(1, math.Abs(want))
}

const kmh = 1 / 3.6

// Passing counts of the moving observer (Wardrop and Charlesworth 1954, Proc.
// Inst. Civil Engineers 3(1):158-171; figures derived from its identity).
func TestMovingObserverCounts(t *testing.T) {
	q, L := 60.0/3600, 1000.0
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"against, u 5 v 4 km/h", Met(q, L, 4*kmh, 5*kmh), 27},
		{"with, u 5 v 4 km/h", overtaken(q, L, 4*kmh, 5*kmh), 3},
		{"standing the same quarter of an hour", passesPerS(q, 0, 5*kmh) * 900, 15},
		{"both ways, u 5 v 4", passesPerS(q, 4*kmh, 5*kmh) * L / (4 * kmh), 15},
		{"both ways, u 5 v 6", passesPerS(q, 6*kmh, 5*kmh) * L / (6 * kmh), 12},
		{"bicycles, u 15 v 4.5", passesPerS(q, 4.5*kmh, 15*kmh) * L / (4.5 * kmh), 13.3333},
		{"bicycles met", Met(q/2, L, 4.5*kmh, 15*kmh), 8.6667},
		{"bicycles that overtake", overtaken(q/2, L, 4.5*kmh, 15*kmh), 4.6667},
		// The worked example of the method in course notes (IIT Bombay, T. V. Mathew,
		// figures from memory): 0.5 km at 20 km/h, 107 met, 64 net overtaken, gives
		// 860/h at 5.03 km/h. Put in, the flow gives back the counts.
		{"worked example, met", Met(860.0/3600, 500, 20*kmh, 5.03*kmh), 107},
		{"worked example, overtaken", overtaken(860.0/3600, 500, 20*kmh, 5.03*kmh), 64},
	} {
		if !agrees(c.got, c.want, 1e-3) {
			t.Errorf("%s: %.4f, want %.4f", c.name, c.got, c.want)
		}
	}
}

// With a balanced stream the passings of a stretch are Q L / min(u, v).
func TestBalancedStream(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u, v := rapid.Float64Range(.3, 30).Draw(t, "u"), rapid.Float64Range(.3, 3).Draw(t, "v")
		q := rapid.Float64Range(0, 2).Draw(t, "q")
		if got, want := passesPerS(q, v, u)/v, q/min(u, v); !agrees(got, want, 1e-12) {
			t.Fatalf("%g passes a metre, want %g", got, want)
		}
	})
}

// Ideal-gas encounters and the mean relative speed (Hutchinson and Waser 2007,
// Biological Reviews 82:335-359, with the corrected sign of its corrigendum).
func TestOpenArea(t *testing.T) {
	for _, c := range []struct{ u, v, want float64 }{
		{1, 1, 1.27324}, {1.4, 1, 1.58519}, {4, 1.4, 4.12347}, {1.4, 0, 1.4}, {0, 0, 0},
	} {
		if got := meanRelativeSpeed(c.u, c.v); !agrees(got, c.want, 1e-5) {
			t.Errorf("mean relative speed of %g and %g: %g, want %g", c.u, c.v, got, c.want)
		}
	}
	rho := 20e-6
	if got := openPerS(rho, 50, meanRelativeSpeed(1.4, 1.4)) * 1800; !agrees(got, 6.417, 1e-3) {
		t.Errorf("moving targets: %g, want 6.417", got)
	}
	if got := openPerS(rho, 50, 1.4) * 1800; !agrees(got, 5.040, 1e-3) {
		t.Errorf("standing targets: %g, want 5.040", got)
	}
}

// The slow twin of the elliptic integral: the mean over directions.
func TestMeanRelativeSpeedIsTheMean(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u, v := rapid.Float64Range(0.01, 20).Draw(t, "u"), rapid.Float64Range(0.01, 3).Draw(t, "v")
		const n = 4000
		sum := 0.0
		for i := range n {
			th := (float64(i) + .5) / n * math.Pi
			sum += math.Sqrt(u*u + v*v - 2*u*v*math.Cos(th))
		}
		got := meanRelativeSpeed(u, v)
		if !agrees(got, sum/n, 1e-4) {
			t.Fatalf("%g, want %g", got, sum/n)
		}
		if got < max(u, v)-1e-9 || got > math.Hypot(u, v)+1e-9 {
			t.Fatalf("%g outside its bounds", got)
		}
	})
}

// Reactions while roaming: closed form of the integral of P where it is known.
func TestOpenReach(t *testing.T) {
	n := Need{40, 20}
	b := n.steepness()
	want := n.ReactionM * math.Pi / b / math.Sin(math.Pi/b)
	if got := openReachM(n, 0); !agrees(got, want, 6e-3) {
		t.Errorf("%g m, want %g", got, want)
	}
	if openReachM(Need{}, 0) != 0 || openReachM(n, BinMaxM) != 0 || openReachM(n, 30) >= openReachM(n, 20) {
		t.Error("a calm dog reacts, or a far one, or more the farther")
	}
	var c curve
	c.fill(n, 1)
	for _, d := range []float64{0, .5, 5, 20, 60, 140} {
		if got, want := float64(c.reach[cellNumber(cellAt(d))]), openReachM(n, d); math.Abs(got-want) > .02*d+.15 {
			t.Errorf("from %g m: table %g m, integral %g m", d, got, want)
		}
	}
}

// Length and time of exposure past a point (plane geometry).
func TestExposureLength(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"d 30 b 18", ChordM(30, 18), 48},
		{"d 30 b 18, seconds at 1.4 m/s", insideS(30, 18, 1.4), 34.2857},
		{"d 50 b 30", ChordM(50, 30), 80},
		{"passed too far", ChordM(15, 20), 0},
		{"parallel pavements, 12 m apart, 30 m, closing at 2.8 m/s", insideS(30, 12, 2.8), 19.64},
		{"their chord", ChordM(30, 12), 54.99},
		{"head-on walker, notice to contact", insideS(30, 0, 2.8) / 2, 10.714},
		{"head-on bicycle", insideS(30, 0, 5.6) / 2, 5.357},
		{"no movement", insideS(30, 0, 0), 0},
	} {
		if !agrees(c.got, c.want, 2e-4) {
			t.Errorf("%s: %.4f, want %.4f", c.name, c.got, c.want)
		}
	}
}

func TestApproaches(t *testing.T) {
	q, u, v := 0.01, 1.4, 1.1
	both := func(tx, ty, vx, vy float64) float64 {
		v, c := math.Hypot(vx, vy), 0.0
		if v > 0 {
			c = (tx*vx + ty*vy) / v
		}
		return Approaches(q/2, u, v, c) + Approaches(q/2, u, v, -c)
	}
	t.Run("a parallel way is the own way", func(t *testing.T) {
		if got, want := both(1, 0, v, 0), passesPerS(q, v, u); !agrees(got, want, 1e-12) {
			t.Errorf("%g, want %g", got, want)
		}
	})
	t.Run("a standing walker sees the flow", func(t *testing.T) {
		if got := both(.6, .8, 0, 0); !agrees(got, q, 1e-12) {
			t.Errorf("%g, want %g", got, q)
		}
	})
	t.Run("a way that crosses at right angles", func(t *testing.T) {
		if got, want := both(0, 1, v, 0), q*(1+v*v/(u*u)); !agrees(got, want, 1e-12) {
			t.Errorf("%g, want %g", got, want)
		}
	})
	t.Run("both walking directions alike", rapid.MakeCheck(func(t *rapid.T) {
		a := rapid.Float64Range(0, 2*math.Pi).Draw(t, "a")
		s, c := math.Sincos(a)
		if f, b := both(c, s, v, 0), both(c, s, -v, 0); !agrees(f, b, 1e-12) {
			t.Fatalf("forward %g, back %g", f, b)
		}
	}))
	if got := Approaches(q, v, v, 1); got != 0 {
		t.Errorf("moving along together: %g", got)
	}
}

// Counting with dead time (textbook non-paralysable form, G. Knoll, Radiation
// Detection and Measurement, ch. 4, from memory): a counter of 10 us dead time
// at a true rate of 100,000/s counts 50,000/s. Scaled to 20 s here.
func TestThinned(t *testing.T) {
	if got := Thinned(1 / DeadTimeS); !agrees(got, .5/DeadTimeS, 1e-12) {
		t.Errorf("%g", got)
	}
	if got := Thinned(0); got != 0 {
		t.Errorf("nothing gives %g", got)
	}
}

// A far and harmless stream must not lower the hazard. With dead time before
// thinning these two streams would give 0.0009 in place of the 0.0083 of the
// first alone.
func TestAddingAStreamNeverLowers(t *testing.T) {
	l1, p1, l2, p2 := .01, 1.0, .5, .001
	alone, both := Thinned(l1*p1), Thinned(l1*p1+l2*p2)
	if !agrees(alone, .0083, 1e-2) || both < alone {
		t.Errorf("alone %g, with the harmless stream %g", alone, both)
	}
	l := l1 + l2
	if wrong := l / (1 + l*DeadTimeS) * (l1*p1 + l2*p2) / l; wrong > .00095 {
		t.Errorf("the counter-example does not bite: %g", wrong)
	}
	rapid.Check(t, func(t *rapid.T) {
		mu := rapid.Float64Range(0, 10).Draw(t, "mu")
		add := rapid.Float64Range(0, 10).Draw(t, "add")
		if Thinned(mu+add) < Thinned(mu)*(1-1e-12) {
			t.Fatal("lower with more")
		}
	})
}

func TestGrouped(t *testing.T) {
	for _, c := range []struct{ rate, p, g, wantRate, wantP float64 }{
		{.6, .5, 1, .6, .5},
		{.6, .5, 2, .3, .75},
		{.6, 1, 3, .2, 1},
		{.6, 0, 3, .2, 0},
		{.6, .5, 0, .6, .5},
	} {
		r, p := Grouped(c.rate, c.p, c.g)
		if !agrees(r, c.wantRate, 1e-12) || !agrees(p, c.wantP, 1e-12) {
			t.Errorf("groups of %g: %g %g, want %g %g", c.g, r, p, c.wantRate, c.wantP)
		}
		if r*p > c.rate*c.p+1e-15 {
			t.Errorf("groups of %g raise the reactions", c.g)
		}
	}
}

func TestClosest(t *testing.T) {
	for _, c := range []struct {
		name                 string
		room, sight, u, want float64
	}{
		{"room binds", 8, 150, 1.1, 8},
		{"sight binds", 40, 23, 1.1, 10},
		{"a bicycle leaves less time", 40, 54, 4.2, 10},
	} {
		if got := closestM(c.room, c.sight, c.u, 1.2); !agrees(got, c.want, 1e-9) {
			t.Errorf("%s: %g, want %g", c.name, got, c.want)
		}
	}
}
