package outing

import (
	"math"
	"testing"
)

// TestJain holds the index of fairness to the examples of its paper (Jain, Chiu and Hawe
// 1984, DEC-TR-301, section 3, from memory): of n users k who share alike and n - k with
// nothing give k / n; a dollar shared alike gives 1; a constant factor changes nothing.
func TestJain(t *testing.T) {
	for _, c := range []struct {
		x    []float64
		want float64
	}{
		{[]float64{1, 1, 1, 1}, 1},
		{[]float64{5, 5, 0, 0, 0}, 0.4},
		{[]float64{100, 0, 0, 0, 0, 0, 0, 0, 0, 0}, 0.1},
		{[]float64{1, 2, 3}, 36.0 / 42},
		{[]float64{10, 20, 30}, 36.0 / 42},
		{nil, 1},
		{[]float64{0, 0}, 1},
	} {
		if got := jain(c.x); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%v: %g, want %g", c.x, got, c.want)
		}
	}
}

// TestLongestGap against every minute.
func TestLongestGap(t *testing.T) {
	for _, busy := range [][][2]int{nil, {{0, 10}}, {{5, 20}, {18, 40}}, {{90, 100}}, {{30, 31}, {60, 200}}, {{0, 300}}} {
		const from, to = 10, 95
		want, run := 0, 0
		for m := from; m < to; m++ {
			run++
			for _, s := range busy {
				if m >= s[0] && m < s[1] {
					run = 0
				}
			}
			want = max(want, run)
		}
		if got := longestGap(append([][2]int(nil), busy...), from, to); got != want {
			t.Errorf("%v: %d, want %d", busy, got, want)
		}
	}
}
