package setup

import (
	"strings"
	"testing"

	"wideberth/osmdata/plane"
	"wideberth/routing/outing/replay"
	"wideberth/routing/snapshot/maptest"
)

// apartCourse is a course of a dog of 38 m with ways in of their own.
func apartCourse() *Course {
	c := &Course{Apart: true, Helper: plane.Polyline{{X: 0, Y: 0}, {X: 40, Y: 0}},
		DogIn: plane.Polyline{{X: -30, Y: 120}, {X: 0, Y: 80}}, HelperIn: plane.Polyline{{X: 20, Y: -150}, {X: 0, Y: 0}}}
	for _, m := range UsualSteps() {
		y := m*38 + slackM
		c.Lines = append(c.Lines, Line{Multiple: m, NeedM: m * 38, At: plane.Polyline{{X: 0, Y: y}, {X: 40, Y: y}}})
	}
	return c
}

var allModes = []Mode{Stand, SideBySide, Passing, Approach}

// TestTheReplayKeepsEveryStep: the two are walked late, slow and fast and driven to their
// worst, by code that knows neither lines nor steps: never nearer than the step in force,
// and never nearer than the last one when nobody heeds the clock.
func TestTheReplayKeepsEveryStep(t *testing.T) {
	for _, modes := range [][]Mode{{Stand, SideBySide, Passing}, {Stand}, {Passing}, allModes} {
		k := newClock(apartCourse(), modes)
		p, err := replayed(t.Context(), k, 200)
		if err != nil {
			t.Fatal(err)
		}
		if p.MarginM < slackM-1e-6 {
			t.Errorf("%v: a margin of %.2f m, %.0f m were laid out", modes, p.MarginM, slackM)
		}
		for i, d := range p.ByPhase {
			if d < k.Phases[i].NeedM {
				t.Errorf("%v: %.1f m in phase %+v", modes, d, k.Phases[i])
			}
		}
		if d, err := loose(t.Context(), k, 100); err != nil || d < 38 {
			t.Errorf("%v: without a clock within %.1f m, %v", modes, d, err)
		}
	}
}

// TestABrokenSetUpIsFoundOut: the replay can say no.
func TestABrokenSetUpIsFoundOut(t *testing.T) {
	check := func(k *Clock) *Proof {
		t.Helper()
		p, err := replayed(t.Context(), k, 60)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	c := apartCourse()
	c.Helper = plane.Polyline{{X: 0, Y: 5}, {X: 40, Y: 5}}
	if p := check(newClock(c, allModes)); p.MarginM >= 0 {
		t.Errorf("the helper's line moved by 5 m: a margin of %.1f m", p.MarginM)
	}
	k := newClock(apartCourse(), []Mode{Stand})
	k.Dog.Walk.Holds = k.Dog.Walk.Holds[2:] // it goes on to the third line at once
	if p := check(k); p.MarginM >= 0 {
		t.Errorf("two holds taken out: a margin of %.1f m", p.MarginM)
	}
	c = apartCourse()
	c.HelperIn = plane.Polyline{{X: 40, Y: 160}, {X: -10, Y: 100}, {X: 0, Y: 0}} // over the dog's lines
	d, err := loose(t.Context(), newClock(c, allModes), 30)
	if err != nil || d > 38 {
		t.Errorf("ways that cross, and no clock: within %.1f m, %v", d, err)
	}
}

// TestTheClockRuns: entries of each never go back, the dog sets out only when the helper
// can have been in its place for a minute at the slowest, and lines are taken in order.
func TestTheClockRuns(t *testing.T) {
	k := newClock(apartCourse(), allModes)
	for _, table := range []Timetable{k.Dog, k.Helper} {
		for i := 1; i < len(table.Entries); i++ {
			if a, b := table.Entries[i-1], table.Entries[i]; b.Min < a.Min || b.Line < a.Line && b.Do != DoHome && b.Do != DoOut {
				t.Errorf("%s: %+v after %+v", table.Role, b, a)
			}
		}
		if n := len(table.Walk.Line); len(table.Walk.ProgressS) != n || table.Walk.ProgressS[n-1] <= 0 {
			t.Errorf("%s: %d points, %d times", table.Role, n, len(table.Walk.ProgressS))
		}
	}
	ready := k.Helper.Entries[0].Min + lateMin + minutes(apartCourse().HelperIn.LengthM())
	if leaves := k.Dog.Entries[0].Min; leaves < ready+spareMin {
		t.Errorf("the dog leaves at %d, the helper stands at %d at the latest", leaves, ready)
	}
	if first := k.Phases[0]; first.FromMin != 0 || first.NeedM != 76 {
		t.Errorf("begins with %+v", first)
	}
	if got := k.NeedAt(float64(k.Phases[len(k.Phases)-1].FromMin)); got != 38 {
		t.Errorf("on the last line %.0f m are in force", got)
	}
}

// TestClosestApproach holds the replay that all of this leans on to a worked example:
// two points on crossing straight courses, Hamilton's "closest point of approach" as in
// textbooks of navigation: A from (0, 0) to the east, B from (100, -60) to the north, both
// at 1 m/s, come nearest after 80 s, sqrt(20^2 + 20^2) = 28.28 m apart (worked by hand).
func TestClosestApproach(t *testing.T) {
	a := replay.Walk{Dog: "a", Line: plane.Polyline{{X: 0, Y: 0}, {X: 200, Y: 0}}, ProgressS: []float64{0, 200}}
	b := replay.Walk{Dog: "b", Line: plane.Polyline{{X: 100, Y: -60}, {X: 100, Y: 140}}, ProgressS: []float64{0, 200}}
	r, err := replay.Check(t.Context(), []replay.Walk{a, b}, replay.Rules{SlowShare: 1, FastShare: 1}, 1, 1)
	if err != nil {
		t.Fatal(err)
	}
	if m := r.Random[0]; m.LeastM < 28.28 || m.LeastM > 28.29 || m.AtS < 79.9 || m.AtS > 80.1 {
		t.Errorf("%.2f m after %.1f s", m.LeastM, m.AtS)
	}
}

// TestFaultsOfAWish are told together, by field.
func TestFaultsOfAWish(t *testing.T) {
	w := Wish{Dog: maptest.Kessa(), Calm: "wild", Ground: "street", Steps: []float64{1, 2}, Modes: []Mode{"dance"}, LineM: 500, MaxX: -1}
	err := w.fill()
	if err == nil {
		t.Fatal("taken")
	}
	for _, field := range []string{"/helper/calmness", "/ground", "/steps/1", "/modes/0", "/at", "/line_m", "/max_expected_reactions"} {
		if !strings.Contains(err.Error(), field) {
			t.Errorf("%s is not told: %v", field, err)
		}
	}
}
