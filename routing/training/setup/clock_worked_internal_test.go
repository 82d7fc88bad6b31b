package setup

import (
	"math"
	"slices"
	"testing"

	"wideberth/osmdata/plane"
	"wideberth/routing/outing/replay"
)

// TestClockWorkedByHand: the course of apartCourse has a way in of 50 m for the dog and of
// 151.3 m for the helper, lines of 40 m at 80, 61, 51.5 and 42 m. The slowest walk 0.9 m/s:
// ways in take 1 and 3 minutes, a line 1, each step nearer 1. Up to three minutes late and
// one to spare: the dog leaves at -(1+3+1) = -5, the helper at -5-(3+3+1) = -12. Standing
// takes 2 minutes, side by side 2, passing 4 on the last two lines (worked by hand).
func TestClockWorkedByHand(t *testing.T) {
	k := newClock(apartCourse(), []Mode{Stand, SideBySide, Passing})
	wantDog := []Entry{
		{-5, DoLeave, "", 0},
		{0, DoStand, Stand, 0}, {2, DoOut, SideBySide, 0}, {3, DoBack, SideBySide, 0}, {4, DoNearer, "", 1},
		{5, DoStand, Stand, 1}, {7, DoOut, SideBySide, 1}, {8, DoBack, SideBySide, 1}, {9, DoNearer, "", 2},
		{10, DoStand, Stand, 2}, {12, DoOut, SideBySide, 2}, {13, DoBack, SideBySide, 2}, {15, DoOut, Passing, 2}, {16, DoBack, Passing, 2}, {18, DoNearer, "", 3},
		{19, DoStand, Stand, 3}, {21, DoOut, SideBySide, 3}, {22, DoBack, SideBySide, 3}, {24, DoOut, Passing, 3}, {25, DoBack, Passing, 3},
		{27, DoHome, "", 0},
	}
	wantHelper := []Entry{
		{-12, DoLeave, "", 0}, {-5, DoWait, "", 0},
		{0, DoStand, Stand, 0}, {2, DoOut, SideBySide, 0}, {3, DoBack, SideBySide, 0},
		{5, DoStand, Stand, 1}, {7, DoOut, SideBySide, 1}, {8, DoBack, SideBySide, 1},
		{10, DoStand, Stand, 2}, {12, DoOut, SideBySide, 2}, {13, DoBack, SideBySide, 2}, {14, DoEnd, Passing, 2}, {15, DoOut, Passing, 2}, {16, DoBack, Passing, 2}, {17, DoPlace, Passing, 2},
		{19, DoStand, Stand, 3}, {21, DoOut, SideBySide, 3}, {22, DoBack, SideBySide, 3}, {23, DoEnd, Passing, 3}, {24, DoOut, Passing, 3}, {25, DoBack, Passing, 3}, {26, DoPlace, Passing, 3},
		{35, DoHome, "", 0},
	}
	if !slices.Equal(k.Dog.Entries, wantDog) {
		t.Errorf("the dog's timetable is\n%v, want\n%v", k.Dog.Entries, wantDog)
	}
	if !slices.Equal(k.Helper.Entries, wantHelper) {
		t.Errorf("the helper's timetable is\n%v, want\n%v", k.Helper.Entries, wantHelper)
	}
	// Home is 38 m over the lines and 50 m to the car: 2 minutes, 3 late.
	if k.FirstMin != -12 || k.EndMin != 32 {
		t.Errorf("from %d to %d, want from -12 to 32", k.FirstMin, k.EndMin)
	}
	// Home leads by the beginnings of the lines, and in by its way.
	c := apartCourse()
	home := plane.Polyline{c.Lines[3].At[0], c.Lines[2].At[0], c.Lines[1].At[0], c.Lines[0].At[0], c.DogIn[0]}
	if n := len(k.Dog.Walk.Line); !slices.Equal(k.Dog.Walk.Line[n-5:], home) {
		t.Errorf("home leads by %v, want %v", k.Dog.Walk.Line[n-5:], home)
	}
	wantPhases := []Phase{
		{0, 2, Stand, 0, 76}, {2, 4, SideBySide, 0, 76}, {5, 7, Stand, 1, 57}, {7, 9, SideBySide, 1, 57},
		{10, 12, Stand, 2, 47.5}, {12, 14, SideBySide, 2, 47.5}, {14, 18, Passing, 2, 47.5},
		{19, 21, Stand, 3, 38}, {21, 23, SideBySide, 3, 38}, {23, 27, Passing, 3, 38},
	}
	if !slices.Equal(k.Phases, wantPhases) {
		t.Errorf("the phases are\n%v, want\n%v", k.Phases, wantPhases)
	}
	if k.Dog.Walk.Dog != "dog" || k.Helper.Walk.Dog != "helper" || k.Dog.Walk.NeedM != 38 || k.Dog.Walk.StartS != 7*60 || k.Helper.Walk.StartS != 0 {
		t.Errorf("the dog walks as %q from %g s on, the helper as %q from %g s on; needed are %g m", k.Dog.Walk.Dog, k.Dog.Walk.StartS, k.Helper.Walk.Dog, k.Helper.Walk.StartS, k.Dog.Walk.NeedM)
	}
}

// TestApproachWorkedByHand: the dog goes back to the first line and comes up again, on
// every line but the first, a minute of standing between; lines lie 19 m and more apart, so
// that each of its ways takes a minute.
func TestApproachWorkedByHand(t *testing.T) {
	k := newClock(apartCourse(), []Mode{Stand, Approach})
	want := []Phase{{0, 2, Stand, 0, 76}, {3, 5, Stand, 1, 57}, {5, 8, Approach, 1, 57}, {9, 11, Stand, 2, 47.5}, {11, 14, Approach, 2, 47.5}, {15, 17, Stand, 3, 38}, {17, 20, Approach, 3, 38}}
	if !slices.Equal(k.Phases, want) {
		t.Errorf("the phases are\n%v, want\n%v", k.Phases, want)
	}
	var ups []Entry
	for _, e := range k.Dog.Entries {
		if e.Mode == Approach {
			ups = append(ups, e)
		}
	}
	if want := []Entry{{5, DoOut, Approach, 0}, {6, DoBack, Approach, 1}, {11, DoOut, Approach, 0}, {12, DoBack, Approach, 2}, {17, DoOut, Approach, 0}, {18, DoBack, Approach, 3}}; !slices.Equal(ups, want) {
		t.Errorf("it comes up by %v, want %v", ups, want)
	}
	var stood []Entry
	for _, e := range k.Helper.Entries {
		if e.Mode == Approach {
			stood = append(stood, e)
		}
	}
	if want := []Entry{{5, DoStand, Approach, 1}, {11, DoStand, Approach, 2}, {17, DoStand, Approach, 3}}; !slices.Equal(stood, want) {
		t.Errorf("the helper meanwhile: %v, want %v", stood, want)
	}
}

// TestMinutes: at the slowest 54 m take a minute.
func TestMinutes(t *testing.T) {
	for _, c := range []struct {
		m    float64
		want int
	}{{0, 0}, {0.1, 1}, {53.9, 1}, {54.1, 2}, {108.1, 3}, {540.1, 11}} {
		if got := minutes(c.m); got != c.want {
			t.Errorf("%g m take %d minutes, want %d", c.m, got, c.want)
		}
	}
}

// stands is where somebody stands who leaves on time, walks at the usual pace and waits at
// holds: the slow twin of a walk's progress, second by second.
func stands(w *replay.Walk, atS float64) plane.Point {
	progress, hold := 0.0, 0
	for s := w.StartS; s < atS; s++ {
		for hold < len(w.Holds) && w.Holds[hold].ProgressS <= progress+1e-9 && s >= w.Holds[hold].NotBeforeS {
			hold++
		}
		progress++
		if hold < len(w.Holds) && progress > w.Holds[hold].ProgressS {
			progress = w.Holds[hold].ProgressS
		}
	}
	for i := 1; i < len(w.Line); i++ {
		if progress <= w.ProgressS[i] {
			share := (progress - w.ProgressS[i-1]) / (w.ProgressS[i] - w.ProgressS[i-1])
			return w.Line[i-1].Add(w.Line[i].Sub(w.Line[i-1]).Mul(share))
		}
	}
	return w.Line[len(w.Line)-1]
}

// TestWhoStandsWhere: at the minutes of each entry both stand where the entry has them,
// whatever the modes are and in whatever order they come.
func TestWhoStandsWhere(t *testing.T) {
	c := apartCourse()
	for _, modes := range [][]Mode{{Stand, SideBySide, Passing}, allModes, {Approach, Passing, Stand}, {Passing}, {SideBySide}, {Stand}, {Approach, Stand}} {
		k := newClock(c, modes)
		if len(k.Phases) == 0 {
			t.Fatalf("%v: no phase", modes)
		}
		at := func(table *Timetable, minute float64) plane.Point {
			return stands(&table.Walk, 60*(minute-float64(k.FirstMin)))
		}
		near := func(what string, got, want plane.Point, e Entry) {
			t.Helper()
			if got.DistanceM(want) > 1.5 {
				t.Errorf("%v: at minute %d (%s %s, line %d) the %s stands at %v, want %v", modes, e.Min, e.Do, e.Mode, e.Line, what, got, want)
			}
		}
		for _, e := range k.Dog.Entries {
			here := at(&k.Dog, float64(e.Min))
			switch e.Do {
			case DoStand:
				near("dog", here, c.Lines[e.Line].At[0], e)
			case DoOut:
				if e.Mode != Approach {
					near("dog", here, c.Lines[e.Line].At[0], e)
				}
			case DoBack:
				if e.Mode == Approach {
					near("dog", here, c.Lines[0].At[0], e)
				} else {
					near("dog", here, c.Lines[e.Line].At[1], e)
				}
			case DoNearer:
				near("dog", here, c.Lines[e.Line-1].At[0], e)
			case DoHome:
				near("dog", here, c.Lines[len(c.Lines)-1].At[0], e)
			case DoLeave:
				near("dog", here, c.DogIn[0], e)
			}
		}
		for _, e := range k.Helper.Entries {
			here := at(&k.Helper, float64(e.Min))
			switch e.Do {
			case DoLeave:
				near("helper", here, c.HelperIn[0], e)
			case DoWait, DoStand, DoEnd, DoHome:
				near("helper", here, c.Helper[0], e)
			case DoOut:
				if e.Mode == Passing {
					near("helper", here, c.Helper[1], e)
				} else {
					near("helper", here, c.Helper[0], e)
				}
			case DoBack:
				if e.Mode == Passing {
					near("helper", here, c.Helper[0], e)
				} else {
					near("helper", here, c.Helper[1], e)
				}
			case DoPlace:
				near("helper", here, c.Helper[1], e)
			}
		}
		if home := at(&k.Dog, float64(k.EndMin)); home.DistanceM(c.DogIn[0]) > 1.5 {
			t.Errorf("%v: at the end the dog stands at %v", modes, home)
		}
		if away := at(&k.Helper, float64(k.EndMin)); away.DistanceM(c.Helper[0]) > 1.5 {
			t.Errorf("%v: while the dog gets home the helper stands at %v", modes, away)
		}
		if home := at(&k.Helper, float64(k.EndMin+30)); home.DistanceM(c.HelperIn[0]) > 1.5 {
			t.Errorf("%v: at last the helper stands at %v", modes, home)
		}
		for _, p := range k.Phases {
			if p.ToMin <= p.FromMin || p.NeedM != c.Lines[p.Line].NeedM {
				t.Errorf("%v: phase %+v", modes, p)
			}
		}
	}
}

// TestNeedAtMinuteByMinute: the distance in force follows the phases; half a minute before
// the dog may set out for the next line that line's is in force, and on the way in and home
// that of the last.
func TestNeedAtMinuteByMinute(t *testing.T) {
	for _, modes := range [][]Mode{{Stand}, {Stand, SideBySide, Passing}, allModes} {
		k := newClock(apartCourse(), modes)
		last := k.Phases[len(k.Phases)-1]
		for minute := float64(k.FirstMin) - 3; minute < float64(k.EndMin)+3; minute += 0.25 {
			want := last.NeedM
			if minute >= -0.5 && minute < float64(last.ToMin) {
				// The slow twin: the last line that was begun or is gone to by then.
				line := 0
				for i := range k.Phases {
					p := k.Phases[i]
					leaves := float64(p.FromMin)
					if i > 0 && p.Line > k.Phases[i-1].Line {
						leaves = float64(k.Phases[i-1].ToMin)
					}
					if minute >= math.Min(leaves, float64(p.FromMin))-0.5 {
						line = p.Line
					}
				}
				want = 38 * UsualSteps()[line]
			}
			if got := k.NeedAt(minute); got != want {
				t.Fatalf("%v: at minute %g %g m are in force, want %g m", modes, minute, got, want)
			}
		}
	}
}

// TestProofByPhase: each phase has its nearest; phases in which the two are never out together have no distance.
func TestProofByPhase(t *testing.T) {
	k := newClock(apartCourse(), []Mode{Stand})
	p, err := replayed(t.Context(), k, 20)
	if err != nil {
		t.Fatal(err)
	}
	least := math.Inf(1)
	for i, d := range p.ByPhase {
		if d < k.Phases[i].NeedM+slackM-1e-6 || d > k.Phases[i].NeedM+60 {
			t.Errorf("phase %+v: %.1f m", k.Phases[i], d)
		}
		least = math.Min(least, d)
	}
	if p.Runs != 20 || p.LeastM > least+1e-9 {
		t.Errorf("%d runs, nearest %.2f m, by phase %.2f m", p.Runs, p.LeastM, least)
	}
	// The nearest on the last line, where both stand, is the distance that was laid out.
	if d := p.ByPhase[3]; math.Abs(d-42) > 0.5 {
		t.Errorf("both stand %.2f m apart, laid out are 42 m", d)
	}
	apart := *k
	apart.Dog.Walk.StartS += 4 * 3600 // out when the helper is long home
	apart.Dog.Walk.Holds = nil
	if p, err = replayed(t.Context(), &apart, 5); err != nil {
		t.Fatal(err)
	}
	for i, d := range p.ByPhase {
		if d != noDistanceM {
			t.Errorf("phase %d: %g m between two of whom one is at home", i, d)
		}
	}
	// A set-up is proved with and without its clock.
	s := Setup{Clock: newClock(apartCourse(), allModes)}
	both, err := s.Prove(t.Context(), 20)
	if err != nil || both.LooseM <= 0 || both.LooseM > both.LeastM+1e-6 {
		t.Errorf("without a clock %.1f m, with one %.1f m, %v", both.LooseM, both.LeastM, err)
	}
	if _, err := s.Prove(t.Context(), replay.MostRuns+1); err == nil {
		t.Error("any number of runs is taken")
	}
}
