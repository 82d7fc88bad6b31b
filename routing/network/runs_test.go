package network_test

import (
	"math"
	"testing"

	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// TestRunsGoStraightOn crosses two streets of two pieces each: a run goes on across the
// crossing and never round its corner, whichever way the pieces are drawn.
func TestRunsGoStraightOn(t *testing.T) {
	at := func(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }
	middle := at(0, 0)
	lines := []plane.Polyline{{at(-90, 0), middle}, {at(0, -80), middle}, {at(100, 0), middle}, {middle, at(0, 70)}}
	runs := network.Runs(lines, []int32{1, 1, 1, 1}, math.Pi/2)
	if len(runs) != 2 || len(runs[0]) != 2 || len(runs[1]) != 2 {
		t.Fatalf("runs %v", runs)
	}
	for i, want := range []float64{190, 150} {
		l := network.LineOfRun(lines, runs[i])
		if got := l.LengthM(); math.Abs(got-want) > 1e-9 || l[0].DistanceM(l[len(l)-1]) != got {
			t.Errorf("run %d: %g m long, want %g straight", i, got, want)
		}
	}
	// Another key ends a run, and so does a bend.
	if runs := network.Runs(lines, []int32{1, 2, 3, 2}, math.Pi/2); len(runs) != 3 {
		t.Errorf("keys 1, 2, 3, 2: %v", runs)
	}
	if runs := network.Runs([]plane.Polyline{{at(0, 0), at(50, 0)}, {at(50, 0), at(50, 50)}}, []int32{0, 0}, 80*math.Pi/180); len(runs) != 2 {
		t.Errorf("a corner was joined: %v", runs)
	}
}

// TestRunsHoldEveryLineOnce closes a ring with a tail: every line is in one run, and
// each begins where the one before ends.
func TestRunsHoldEveryLineOnce(t *testing.T) {
	at := func(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }
	a, b, c, d := at(0, 0), at(40, 0), at(40, 40), at(0, 40)
	lines := []plane.Polyline{{a, b}, {c, b}, {c, d}, {d, a}, {at(-40, 0), a}, {b}}
	runs := network.Runs(lines, make([]int32, len(lines)), math.Pi)
	seen := make([]int, len(lines))
	for _, run := range runs {
		for i, r := range run {
			seen[r.Line]++
			if i > 0 {
				l := network.LineOfRun(lines, run[:i+1])
				for k := 1; k < len(l); k++ {
					if l[k-1].DistanceM(l[k]) < 1 || l[k-1].DistanceM(l[k]) > 41 {
						t.Fatalf("run %v jumps: %v", run, l)
					}
				}
			}
		}
	}
	for i, n := range seen {
		if want := min(1, len(lines[i])-1); n != want {
			t.Errorf("line %d is in %d runs, want %d", i, n, want)
		}
	}
}
