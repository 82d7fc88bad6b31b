package replay

import (
	"math"
	"testing"

	"wideberth/osmdata/plane"
)

// TestFrames holds the printed places to arithmetic by hand: 1.2 m/s is 72 m a
// minute, a hold is left at its printed time, nobody is there before or after.
func TestFrames(t *testing.T) {
	a := timed("a", 60, 1.2, plane.Point{}, plane.Point{X: 360})
	a.Holds = []Hold{{ProgressS: 120, NotBeforeS: 300}}
	b := timed("b", 150, 1.2, plane.Point{Y: 50}, plane.Point{X: 144, Y: 50})
	frames, err := Frames([]Walk{a, b})
	if err != nil {
		t.Fatal(err)
	}
	want := map[int][2]float64{1: {0, -1}, 2: {72, -1}, 3: {144, 36}, 4: {144, 108}, 5: {144, -1}, 6: {216, -1}, 7: {288, -1}, 8: {360, -1}, 9: {-1, -1}}
	if len(frames) != len(want) {
		t.Fatalf("%d frames, want %d", len(frames), len(want))
	}
	for _, f := range frames {
		got := [2]float64{-1, -1}
		for _, d := range f.Dogs {
			got[map[string]int{"a": 0, "b": 1}[d.Dog]] = d.At.X
		}
		for i, w := range want[f.Minute] {
			if math.Abs(got[i]-w) > 1e-6 {
				t.Errorf("minute %d: %v, want %v", f.Minute, got, want[f.Minute])
			}
		}
	}
	if _, err := Frames([]Walk{{Dog: "broken"}}); err == nil {
		t.Error("a walk without a line passes")
	}
	if frames, err := Frames(nil); err != nil || len(frames) != 0 {
		t.Errorf("nobody out: %v, %v", frames, err)
	}
}

// TestMinutes: the tightest of each minute is what the pairs come to in it, and the
// tightest of all minutes is the verdict's.
func TestMinutes(t *testing.T) {
	a, b := plane.Point{}, plane.Point{X: 600}
	r := check(t, exact, 1, timed("a", 0, 1.2, a, b), timed("b", 60, 1.2, b, a))
	for minute, want := range map[int]float64{1: 600 - 72 - 144, 3: 600 - 3*72 - 2*72 - 1.2*2*60, 4: 0} { // at the end of each minute, but where they meet
		if got := r.Minutes[minute].LeastM; math.Abs(got-max(0, want)) > 1e-6 {
			t.Errorf("minute %d: %.2f m, want %.2f", minute, got, max(0, want))
		}
	}
	if !math.IsInf(r.Minutes[0].LeastM, 1) && r.Minutes[0].AtS < 60 {
		t.Errorf("minute 0: %+v, but one dog is out", r.Minutes[0])
	}
	least := math.Inf(1)
	for i := range r.Minutes {
		least = min(least, r.Minutes[i].MarginM())
	}
	if math.Abs(least-r.Worst().MarginM()) > 1e-6 {
		t.Errorf("least margin of the minutes %.2f m, of the pairs %.2f", least, r.Worst().MarginM())
	}
}
