package sound

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func within(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.4f, want %.4f within %g", what, got, want, tolerance)
	}
}

// Rows of the table of ISO 9613-1:1993, dB/km for the third-octave bands from
// 50 Hz to 10 kHz, as stored in the public repository
// python-acoustics/python-acoustics, data/absorption_coefficient.csv.
func TestAbsorptionTable(t *testing.T) {
	rows := []struct {
		tempC, humidityPct float64
		dbPerKM            [24]float64
	}{
		{-20, 10, [24]float64{0.589, 0.756, 0.924, 1.08, 1.20, 1.30, 1.37, 1.43, 1.46, 1.49, 1.52, 1.55,
			1.59, 1.65, 1.74, 1.88, 2.10, 2.44, 2.99, 3.86, 5.24, 7.42, 10.9, 16.4}},
		{-15, 30, [24]float64{0.212, 0.305, 0.446, 0.660, 0.979, 1.45, 2.10, 2.97, 4.05, 5.27, 6.52, 7.67,
			8.65, 9.44, 10.1, 10.6, 11.0, 11.5, 12.2, 13.1, 14.6, 16.8, 20.3, 25.9}},
		{25, 80, [24]float64{0.0426, 0.0673, 0.106, 0.167, 0.262, 0.409, 0.631, 0.963, 1.44, 2.10, 2.95, 3.97,
			5.12, 6.35, 7.62, 9.01, 10.7, 12.9, 16.2, 21.1, 28.8, 40.8, 59.8, 89.6}},
	}
	const lowestBand = -13 // 50 Hz in thirds of an octave below 1 kHz
	for _, row := range rows {
		air := Air{row.tempC, row.humidityPct, referenceKPa}
		for i, want := range row.dbPerKM {
			freqHz := 1000 * math.Pow(10, float64(lowestBand+i)/10)
			got := 1000 * air.absorptionDBPerM(freqHz)
			if math.Abs(got/want-1) > 0.005 {
				t.Errorf("%g °C %g %% %.0f Hz: %.4g dB/km, want %.4g within 0.5 %%", row.tempC, row.humidityPct, freqHz, got, want)
			}
		}
	}
}

// ISO 9613-2:1996, table 2, dB/km for the octave bands from 63 Hz to 8 kHz
// (quoted from memory); the figures are rounded, so half a unit of the last
// place is allowed, or 1.5 %.
func TestAbsorptionOctaves(t *testing.T) {
	rows := []struct {
		tempC, humidityPct float64
		dbPerKM            spectrum
	}{
		{10, 70, spectrum{0.1, 0.4, 1.0, 1.9, 3.7, 9.7, 32.8, 117}},
		{20, 70, spectrum{0.1, 0.3, 1.1, 2.8, 5.0, 9.0, 22.9, 76.6}},
		{30, 70, spectrum{0.1, 0.3, 1.0, 3.1, 7.4, 12.7, 23.1, 59.3}},
		{15, 20, spectrum{0.3, 0.6, 1.2, 2.7, 8.2, 28.2, 88.8, 202}},
		{15, 50, spectrum{0.1, 0.5, 1.2, 2.2, 4.2, 10.8, 36.2, 129}},
		{15, 80, spectrum{0.1, 0.3, 1.1, 2.4, 4.1, 8.3, 23.7, 82.8}},
	}
	for _, row := range rows {
		air := Air{row.tempC, row.humidityPct, referenceKPa}
		for band, want := range row.dbPerKM {
			got := 1000 * air.absorptionDBPerM(midbandHz(band))
			within(t, "absorption", got, want, max(0.051, 0.015*want))
		}
	}
}

// Within a walk's reach the air takes less than 1 dB per 100 m below 2 kHz.
func TestAbsorptionIsSmallAtWalkScale(t *testing.T) {
	for band := range 6 {
		if got := 100 * standardAir().absorptionDBPerM(midbandHz(band)); got > 1 {
			t.Errorf("%.0f Hz: %g dB per 100 m", midbandHz(band), got)
		}
	}
}

// Two equal levels add 3.01 dB, 60 and 50 give 60.41 (any acoustics text).
func TestSum(t *testing.T) {
	silence := math.Inf(-1)
	cases := []struct {
		name   string
		levels []float64
		want   float64
	}{
		{"two equal", []float64{60, 60}, 63.01}, {"one lower", []float64{60, 50}, 60.41},
		{"ten equal", []float64{40, 40, 40, 40, 40, 40, 40, 40, 40, 40}, 50},
		{"one", []float64{72.5}, 72.5}, {"with silence", []float64{silence, 55}, 55},
	}
	for _, tc := range cases {
		within(t, tc.name, Sum(tc.levels...), tc.want, 0.005)
	}
	if Sum() != silence || Sum(silence, silence) != silence {
		t.Error("silence does not sum to silence")
	}
}

func TestSumProperties(t *testing.T) {
	level := rapid.Float64Range(-50, 4000) // far beyond any sound: nothing may overflow
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := level.Draw(t, "a"), level.Draw(t, "b"), level.Draw(t, "c")
		sum := Sum(a, b, c)
		if math.Abs(sum-Sum(c, Sum(b, a))) > 1e-9 {
			t.Fatal("order or grouping matters")
		}
		if loudest := max(a, b, c); sum < loudest || sum > loudest+10*math.Log10(3)+1e-9 {
			t.Fatalf("sum %g of %g, %g, %g", sum, a, b, c)
		}
	})
}

// The A-weighting is 0 dB at 1 kHz by definition, and of a flat spectrum the
// weights alone are left.
func TestDBA(t *testing.T) {
	silence := math.Inf(-1)
	tone := spectrum{silence, silence, silence, silence, 70, silence, silence, silence}
	within(t, "1 kHz", tone.dba(), 70, 1e-12)
	tone = spectrum{70, silence, silence, silence, silence, silence, silence, silence}
	within(t, "63 Hz", tone.dba(), 43.8, 1e-12)
	energy := 0.0
	for _, w := range aWeighting {
		energy += math.Pow(10, w/10)
	}
	within(t, "flat", spectrum{}.dba(), 10*math.Log10(energy), 1e-12)
}

// Properties of the formula: a loss, never a gain, growing with frequency; and
// at half the pressure what the air does at double the frequency-to-pressure
// ratio (ISO 9613-1: alpha/p is a function of f/p, h p).
func TestAbsorptionProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		air := Air{
			TempC:       rapid.Float64Range(-20, 50).Draw(t, "temperature"),
			HumidityPct: rapid.Float64Range(10, 100).Draw(t, "humidity"),
			PressureKPa: rapid.Float64Range(60, 110).Draw(t, "pressure"),
		}
		f := rapid.Float64Range(50, 10_000).Draw(t, "frequency")
		alpha := air.absorptionDBPerM(f)
		if !(alpha > 0) || air.absorptionDBPerM(f*1.01) <= alpha {
			t.Fatalf("%+v: %g dB/m at %g Hz, not growing", air, alpha, f)
		}
		half := Air{air.TempC, air.HumidityPct / 2, air.PressureKPa / 2}
		if got := 2 * half.absorptionDBPerM(f/2) / alpha; math.Abs(got-1) > 1e-9 {
			t.Fatalf("scaled to half the pressure: ratio %g", got)
		}
	})
}

// Exact midband frequencies of ISO 266 stand for the nominal ones.
func TestMidbands(t *testing.T) {
	for band, nominal := range [8]float64{63, 125, 250, 500, 1000, 2000, 4000, 8000} {
		within(t, "midband", midbandHz(band)/nominal, 1, 0.008)
	}
}
