package fault_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/fault"
)

// TestNumberReadsAsGiven: what somebody gave is quoted with the digits that they gave; a
// sum that ended in the sixteenth digit is not.
func TestNumberReadsAsGiven(t *testing.T) {
	for _, c := range []struct {
		f    float64
		want string
	}{
		{0, "0"}, {-1, "-1"}, {0.5, "0.5"}, {240, "240"}, {240.04, "240.04"}, {2000.5, "2000.5"}, {9999.6, "9999.6"}, {20000.4, "20000.4"},
		{90.0000001, "90.0000001"}, {0.1 + 0.2, "0.3"}, {1e6, "1000000"}, {1e-5, "0.00001"}, {1. / 3, "0.333333333"},
		{math.NaN(), "NaN"}, {math.Inf(1), "+Inf"}, {math.Inf(-1), "-Inf"}, {1e300, "1" + strings.Repeat("0", 39) + "…"},
		{math.MaxFloat64, "179769313" + strings.Repeat("0", 31) + "…"},
	} {
		if got := fault.Number(c.f); got != c.want {
			t.Errorf("%v reads %q, want %q", c.f, got, c.want)
		}
	}
}

// TestNumbersPastABound: a number past a bound of few digits never reads like the bound,
// nor like one on its other side.
func TestNumbersPastABound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bound := float64(rapid.IntRange(1, 20_000).Draw(t, "bound"))
		over := bound + float64(rapid.IntRange(1, 1000).Draw(t, "thousandths"))/1000
		text := fault.Number(over)
		if back, err := strconv.ParseFloat(text, 64); err != nil || back <= bound || strings.ContainsAny(text, "eE") {
			t.Fatalf("%v past %v reads %q", over, bound, text)
		}
	})
}
