package learning_test

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wideberth/exposure/learning"
	"wideberth/osmdata/plane"
)

func fitted(t *testing.T, shape float64, seen ...learning.Watch) *learning.Levels {
	t.Helper()
	l, err := learning.FitLevels(shape, seen)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func corner(x float64, street int32, class uint8) learning.Site {
	return learning.Site{At: plane.Point{X: x}, Street: street, Class: class}
}

// Without counts everything stays as it was, also where something was counted that
// nothing was expected of.
func TestLevelsWithoutCounts(t *testing.T) {
	for _, seen := range [][]learning.Watch{nil, {{Site: corner(0, 1, 1), Observed: 9}}} {
		if f, s := fitted(t, 1.5, seen...).At(corner(0, 1, 1)); math.Abs(f-1) > 1e-12 || math.Abs(s-1.5) > 1e-9 {
			t.Errorf("%v: factor %g, shape %g; want 1 and 1.5", seen, f, s)
		}
	}
}

// A long count decides at its corner; the doubt that is left there is that of hours. It
// spreads along its street, then by class, then to all about, and fades with distance.
func TestLevelsBindAndSpread(t *testing.T) {
	for _, ratio := range []float64{.1, 1. / 3, 3, 10} {
		w := learning.Watch{Site: corner(0, 1, 1), Observed: 600 * ratio, Expected: 600, Times: 12}
		l := fitted(t, 1, w)
		here, shape := l.At(w.Site)
		if math.Abs(math.Log(here/ratio)) > .1 || shape < 30 {
			t.Errorf("counted x%g: factor %g, shape %g", ratio, here, shape)
		}
		last := math.Abs(math.Log(ratio))
		for _, s := range []learning.Site{corner(200, 1, 1), corner(200, 2, 1), corner(200, 2, 2), corner(2000, 2, 2), corner(20000, 2, 2)} {
			f, sh := l.At(s)
			if pull := math.Log(f) * math.Copysign(1, math.Log(ratio)); ratio < 1 && pull > last+.05 || ratio > 1 && pull > last+.35 || sh > shape {
				t.Errorf("counted x%g: at %+v factor %g, shape %g, more than nearer by", ratio, s, f, sh)
			} else {
				last = pull
			}
		}
		if f, _ := l.At(corner(20000, 2, 2)); math.Abs(f-1) > .01 {
			t.Errorf("20 km off the factor is %g", f)
		}
	}
}

// Ten minutes say little: the factor stays nearer to 1 than what was counted, and the
// more was counted the nearer it comes. Nobody at all is a count too.
func TestLevelsShrink(t *testing.T) {
	last := 1.0
	for _, expected := range []float64{.3, 2, 10, 100} {
		l := fitted(t, 1, learning.Watch{Site: corner(0, 1, 1), Observed: 0, Expected: expected})
		f, _ := l.At(corner(0, 1, 1))
		if !(f > 0 && f < last) {
			t.Errorf("none of %g: factor %g, before %g", expected, f, last)
		}
		last = f
	}
	short, _ := fitted(t, 1, learning.Watch{Site: corner(0, 1, 1), Observed: 4, Expected: 1}).At(corner(0, 1, 1))
	long, _ := fitted(t, 1, learning.Watch{Site: corner(0, 1, 1), Observed: 400, Expected: 100}).At(corner(0, 1, 1))
	if !(1 < short && short < long && long < 4) {
		t.Errorf("four times as many: factor %g after one, %g after a hundred expected", short, long)
	}
}

// The approximation against the whole posterior, added up on a grid of the street's own
// logarithm and the hour's.
func TestLevelsAgainstAGrid(t *testing.T) {
	const shape, hourVar = 1.0, .35 * .35
	v := math.Log1p(1 / shape)
	for _, w := range []struct{ observed, expected float64 }{{0, 2}, {1, 4}, {5, 5}, {12, 4}, {80, 20}} {
		var sum, first float64
		for x := -6.0; x < 4; x += .01 {
			for h := -2.0; h < 2; h += .04 {
				eta := x - v/2 + h - hourVar/2
				p := math.Exp(-x*x/2/v - h*h/2/hourVar + w.observed*eta - w.expected*math.Exp(eta))
				sum, first = sum+p, first+p*math.Exp(x-v/2)
			}
		}
		got, _ := fitted(t, shape, learning.Watch{Site: corner(0, 1, 1), Observed: w.observed, Expected: w.expected}).At(corner(0, 1, 1))
		if want := first / sum; math.Abs(got/want-1) > .12 {
			t.Errorf("%g of %g: factor %.3f, by the grid %.3f", w.observed, w.expected, got, want)
		}
	}
}

// A field of streets that are off by more than a factor of two is found again from
// counts better than it was predicted, also on streets that nobody counted.
func TestLevelsFindAField(t *testing.T) {
	const seed = 7
	r := rand.New(rand.NewPCG(seed, 1))
	before, counted, beside := 0.0, 0.0, 0.0
	for range 40 {
		area, class := .5*r.NormFloat64(), .4*r.NormFloat64()
		var seen []learning.Watch
		truth := make([]float64, 8)
		for i := range truth {
			truth[i] = area + class + .5*r.NormFloat64()
			if i < 4 {
				expected := 30.0
				seen = append(seen, learning.Watch{Site: corner(float64(100*i), int32(i), 1), Expected: expected,
					Observed: math.Round(expected * math.Exp(truth[i]+.3*r.NormFloat64()))})
			}
		}
		l := fitted(t, 1, seen...)
		for i, x := range truth {
			f, _ := l.At(corner(float64(100*i), int32(i), 1))
			off := (math.Log(f) - x) * (math.Log(f) - x)
			before += x * x / 2
			if i < 4 {
				counted += off
			} else {
				beside += off
			}
		}
	}
	if !(counted < .3*before && beside < .8*before) {
		t.Errorf("seed %d: squares of logarithms before %.1f, after %.1f where counted, %.1f beside", seed, before, counted, beside)
	}
}

// The order in which counts come does not matter; what cannot be a count is refused.
func TestLevelsOrderAndFaults(t *testing.T) {
	a, b := learning.Watch{Site: corner(0, 1, 1), Observed: 9, Expected: 3}, learning.Watch{Site: corner(300, 2, 1), Observed: 1, Expected: 7}
	x, _ := fitted(t, 1, a, b).At(corner(100, 1, 1))
	y, _ := fitted(t, 1, b, a).At(corner(100, 1, 1))
	if math.Abs(x/y-1) > 1e-6 {
		t.Errorf("%g, the other way round %g", x, y)
	}
	for _, w := range []learning.Watch{{Observed: -1, Expected: 1}, {Observed: 1, Expected: math.Inf(1)}, {Observed: math.NaN(), Expected: 1}} {
		if _, err := learning.FitLevels(1, []learning.Watch{w}); err == nil {
			t.Errorf("%+v was taken", w)
		}
	}
	if _, err := learning.FitLevels(0, nil); err == nil {
		t.Error("shape 0 was taken")
	}
}

// With many counts the doubt is worked out of those that say most: more counts than
// those nearest never widen it.
func TestLevelsOfManyCounts(t *testing.T) {
	const seed = 3
	r := rand.New(rand.NewPCG(seed, 1))
	var seen []learning.Watch
	for i := range 60 {
		seen = append(seen, learning.Watch{Site: corner(float64(80*i), int32(i/3), uint8(i%2)), Observed: float64(r.IntN(9)), Expected: 3})
	}
	for _, s := range []learning.Site{corner(500, 2, 0), corner(2500, 99, 1), corner(9000, 98, 1)} {
		_, all := fitted(t, 1, seen...).At(s)
		near := slices.Clone(seen)
		slices.SortFunc(near, func(a, b learning.Watch) int {
			return cmp.Compare(a.At.DistanceM(s.At), b.At.DistanceM(s.At))
		})
		_, some := fitted(t, 1, near[:20]...).At(s)
		if !(all > .95*some && all > 1) {
			t.Errorf("seed %d: at %+v shape %.2f of sixty counts, %.2f of the nearest twenty", seed, s, all, some)
		}
	}
}
