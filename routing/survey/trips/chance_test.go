package trips

import (
	"math"
	"math/bits"
	"slices"
	"testing"
)

// TestMixerAgainstPublishedValues: SplitMix64 seeded with 1234567 gives these five numbers
// (Vigna's splitmix64.c; the values as in Rosetta Code's task "Pseudo-random numbers /
// Splitmix64", from memory). Its state grows by the golden ratio, which mixed adds itself.
func TestMixerAgainstPublishedValues(t *testing.T) {
	const golden = 0x9e3779b97f4a7c15
	state := uint64(1234567)
	for i, want := range []uint64{6457827717110365317, 3203168211198807973, 9817491932198370423, 4593380528125082431, 16408922859458223821} {
		if got := mixed(state); got != want {
			t.Errorf("number %d is %d, want %d", i, got, want)
		}
		state += golden
	}
}

// TestChancesAreEvenAndTheirOwn: chances are from 0 to 1, as even as dice, the same
// whichever way round, and another for each draw, salt and seed.
func TestChancesAreEvenAndTheirOwn(t *testing.T) {
	const n = 20000
	var tenths [10]int
	flips := 0
	for i := range int64(n) {
		x := Chance(i, i+7, 0, saltRoute, 1)
		if x < 0 || x >= 1 || x != Chance(i+7, i, 0, saltRoute, 1) {
			t.Fatalf("chance %g", x)
		}
		tenths[int(10*x)]++
		a := mixedOf(i, i+7, 0, saltRoute, 1)
		for _, b := range []uint64{mixedOf(i, i+7, 1, saltRoute, 1), mixedOf(i, i+7, 0, SaltDrive, 1), mixedOf(i, i+7, 0, saltRoute, 2), mixedOf(i, i+8, 0, saltRoute, 1)} {
			flips += bits.OnesCount64(a ^ b)
		}
	}
	chi := 0.0
	for _, k := range tenths {
		chi += (float64(k) - n/10) * (float64(k) - n/10) / (n / 10)
	}
	if chi > 27.88 { // chi squared of 9 degrees of freedom, one in a thousand (NIST handbook 1.3.6.7.4)
		t.Errorf("tenths %v: chi squared %.1f", tenths, chi)
	}
	if mean := float64(flips) / (4 * n); math.Abs(mean-32) > 0.1 {
		t.Errorf("%g of 64 bits differ, want 32", mean)
	}
}

// TestShuffledOrders: each key has an order of its own, of all there are, each place as
// likely first as another.
func TestShuffledOrders(t *testing.T) {
	var first [5]int
	for key := range int64(5000) {
		order := Shuffled(key, 5, 9)
		if !slices.Equal(order, Shuffled(key, 5, 9)) {
			t.Fatal("not the same twice")
		}
		first[order[0]]++
		slices.Sort(order)
		if !slices.Equal(order, []int{0, 1, 2, 3, 4}) {
			t.Fatalf("%v", order)
		}
	}
	for i, n := range first {
		if n < 880 || n > 1120 { // 1000, four standard deviations of 28
			t.Errorf("%d is first %d times of 5000", i, n)
		}
	}
}
