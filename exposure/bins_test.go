package exposure

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func TestBinOf(t *testing.T) {
	for _, c := range []struct {
		d    float64
		want int
		ok   bool
	}{
		{0, 0, true}, {1.5, 0, true}, {2.3, 0, true}, {2.4, 1, true}, {149, 9, true}, {150, 9, true},
		{150.1, 0, false}, {math.NaN(), 0, false}, {-3, 0, true},
	} {
		if b, ok := BinOf(c.d); b != c.want || ok != c.ok {
			t.Errorf("%g m: bin %d %v, want %d %v", c.d, b, ok, c.want, c.ok)
		}
	}
}

// A square is as good as its root, from next to nothing to beyond the last bin.
func TestAtSquare(t *testing.T) {
	for _, d := range []float64{0, 1e-300, binMinM, BinMaxM, math.Nextafter(BinMaxM, 200), math.NaN(), math.Inf(1)} {
		if got, want := AtSquare(d*d), At(d); got != want {
			t.Errorf("%g m: %+v, want %+v", d, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Float64Range(1, 160).Draw(t, "distance")
		got, want := AtSquare(d*d), At(d)
		if edge := (want.lnD - lnBinMin) / binWidth; got.bin != want.bin && math.Abs(edge-math.Round(edge)) > 1e-12 || math.Abs(got.lnD-want.lnD) > 1e-14 {
			t.Fatalf("%g m: %+v, want %+v", d, got, want)
		}
	})
}

func BenchmarkAtSquare(b *testing.B) {
	m2, sum := 1.0, 0.0
	for b.Loop() {
		m2 = math.Mod(m2+97, BinMaxM*BinMaxM)
		sum += AtSquare(m2).lnD
	}
	b.ReportMetric(sum/float64(b.N), "mean")
}

func TestBinBytes(t *testing.T) {
	step := math.Exp2(.5 / stepsOctave)
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.IntRange(0, BinCount-1).Draw(t, "bin")
		rate := math.Exp(rapid.Float64Range(math.Log(binRateMin), math.Log(60)).Draw(t, "ln rate"))
		lnD := math.Log(binMinM) + (float64(b)+rapid.Float64Range(0, 1).Draw(t, "pos"))*binWidth
		bin := makeBin(b, rate, lnD)
		if r := bin.RatePerS() / rate; r > step*1.0001 || r < 1/step/1.0001 {
			t.Fatalf("rate %g comes back as %g", rate, bin.RatePerS())
		}
		if off := math.Abs(math.Log(bin.DistM(b)) - lnD); off > binWidth/binPositions {
			t.Fatalf("distance off by a factor %g", math.Exp(off))
		}
	})
	for _, rate := range []float64{0, -1, math.NaN(), binRateMin / 2} {
		if bin := makeBin(3, rate, 1); bin.RatePerS() != 0 {
			t.Errorf("rate %g is stored as %g", rate, bin.RatePerS())
		}
	}
	if top := makeBin(0, 1e9, 0); top.Rate != 255 {
		t.Errorf("a rate beyond the scale is stored as %d", top.Rate)
	}
}

// Rounding must not shift the level: the mean of many stored rates is theirs.
func TestBinRatesUnbiased(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	var want, got float64
	for range 20000 {
		rate := math.Exp(r.Float64()*8 - 8)
		want += rate
		got += makeBin(0, rate, 0).RatePerS()
	}
	if math.Abs(got/want-1) > .003 {
		t.Errorf("stored rates are %.4f of the true ones", got/want)
	}
}

// Ten bins with a rate and a mean distance keep the hazard within 2 %, weighted
// by hazard, for working distances from 5 to 100 m; the bytes add at most 3 %
// more. The lists are random streams seen from random edges.
func TestBinsKeepTheHazard(t *testing.T) {
	const seed, lists = 11, 1000
	r := rand.New(rand.NewPCG(seed, seed))
	for _, w := range []float64{5, 10, 20, 40, 70, 100} {
		n := Need{w, w / 2}
		var weight, errExact, errBytes float64
		for range lists {
			var s Bins
			var truth float64
			for range 1 + r.IntN(60) {
				rate, d := math.Exp(r.NormFloat64()-5), math.Exp(math.Log(1.5)+r.Float64()*math.Log(100))
				s.Add(rate, At(d))
				truth += rate * n.P(d)
			}
			var exact, bytes float64
			for b := range BinCount {
				if s.rate[b] > 0 {
					exact += s.rate[b] * n.P(math.Exp(s.lnD[b]/s.rate[b]))
				}
			}
			for b, bin := range s.Pack(1) {
				bytes += bin.RatePerS() * n.P(bin.DistM(b))
			}
			weight += truth
			errExact += math.Abs(exact - truth)
			errBytes += math.Abs(bytes - truth)
		}
		if errExact/weight > .02 || errBytes/weight > .05 {
			t.Errorf("W %g m, seed %d: bins off by %.4f, bytes by %.4f", w, seed, errExact/weight, errBytes/weight)
		}
	}
}

func TestBinsPackScales(t *testing.T) {
	var s Bins
	s.Add(.01, At(20))
	s.Add(.02, At(0.2)) // nearer than the first bin counts in it
	s.Add(1, At(400))   // out of range
	s.Add(-1, At(20))
	one, ten := s.Pack(1), s.Pack(16)
	for b := range BinCount {
		if one[b].RatePerS() > 0 && !agrees(ten[b].RatePerS()/one[b].RatePerS(), 16, 1e-6) {
			t.Errorf("bin %d: %g and %g", b, one[b].RatePerS(), ten[b].RatePerS())
		}
	}
	if one[0].DistM(0) != binMinM {
		t.Errorf("the nearest lies at %g m", one[0].DistM(0))
	}
}
