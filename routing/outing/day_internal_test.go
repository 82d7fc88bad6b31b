package outing

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
)

// TestRowsByHand: when to come, to leave and to be back, what is granted, and the places
// to wait at with the times that are printed for them.
func TestRowsByHand(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	s := drawnScheme(t, rand.New(rand.NewPCG(1, 7)), 2, 120)
	line, atS := timedLine(plane.Point{}, plane.Point{X: 360}, plane.Point{X: 360, Y: 360}, plane.Point{})
	s.loops[0] = poolLoop{line: line, atS: atS, durationS: atS[3], holds: []float64{300}, x: [][]float64{{0.25}, {0.5}}}
	b := band{Holds, s.loops[0].holds}
	s.tracks[0] = trackOf(line, atS, &b, plane.Point{}, 60)
	r := s.row(1, placement{loop: 0, start: 42, person: 1})
	leave := tenOClock.Add(42 * time.Minute)
	if r.Dog != "dog 1" || r.Person != "Bo" || r.StartMin != 42 || !r.Leave.Equal(leave) || !r.Meet.Equal(leave.Add(-3*time.Minute)) || r.NeedM != 60 || r.Reactions != 0.5 || r.Plan != nil || r.Bite {
		t.Errorf("%+v", r)
	}
	if got := r.Back.Sub(leave).Seconds(); math.Abs(got-atS[3]/0.9) > 1e-6 {
		t.Errorf("back after %.1f s, want %.1f", got, atS[3]/0.9)
	}
	if want := atS[3] / 60; r.WishedMin != 30 || math.Abs(r.GrantedMin-want) > 1e-9 {
		t.Errorf("%g of %g minutes are granted, want %g", r.GrantedMin, r.WishedMin, want)
	}
	if len(r.Holds) != 1 || r.Holds[0].At.DistanceM(plane.Point{X: 360}) > 1e-6 || math.Abs(r.Holds[0].NotBefore.Sub(leave).Seconds()-300/0.9) > 1e-6 {
		t.Errorf("%+v, want one after 360 m", r.Holds)
	}
	s.o.Slack = Free
	if r = s.row(0, placement{loop: 0, start: 42, person: 1}); !r.Meet.Equal(leave) || r.Reactions != 0.25 {
		t.Errorf("without holds one comes when one leaves: %+v", r)
	}
}

// TestDayByItsRules: what is fixed, what may change and when people are there again, by
// the rules of a day written down plainly.
func TestDayByItsRules(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	rng := rand.New(rand.NewPCG(21, 4))
	changed := map[string]int{}
	for range 200 {
		s := drawnScheme(t, rng, 4, 120)
		before := newFinder(&s.problem, rng.Uint64()).run(context.Background(), 100)
		now := rng.IntN(100) - 5
		day := &Day{Now: s.o.Start.Add(time.Duration(now)*time.Minute + 40*time.Second), ChangePrice: float64(rng.IntN(3)) * 7}
		for d, at := range before {
			if at.loop >= 0 {
				day.Before = append(day.Before, *s.row(d, at))
			}
		}
		late, out, gone := rng.IntN(3)-1, rng.IntN(8), rng.IntN(4)
		var lateMin int
		if late >= 0 {
			lateMin = 1 + rng.IntN(20)
			day.Late = []Late{{Person: s.o.People[late].Name, Minutes: lateMin}}
		}
		if out < 4 {
			day.Out = []string{s.o.Dogs[out].Dog.Name}
		}
		if gone < 2 && gone != late {
			day.Gone = []string{s.o.People[gone].Name}
		} else {
			gone = -1
		}
		people := slices.Clone(s.people)
		s.resume(context.Background(), day)
		first := max(0, now+5)
		if s.firstMin != first {
			t.Fatalf("at minute %d changes begin at %d, want %d", now, s.firstMin, first)
		}
		price := day.ChangePrice
		if price == 0 {
			price = 10
		}
		mean := (leastRate + 0.01 + 0.02 + 0.03) / 4 // of the rates drawn: that of the first dog is none
		if math.Abs(s.change-price*3*mean) > 1e-9 {
			t.Fatalf("a change costs %g, want %g", s.change, price*3*mean)
		}
		walking := [2]bool{}
		for d, at := range before {
			was, fixed, begun := at, false, false
			switch {
			case at.loop < 0:
				was = unplaced
			case at.start <= now:
				fixed, begun = true, true
				if at.person == late && at.start+s.walkMin[at.loop] > now {
					was.start += lateMin
					changed["late"]++
				}
			case at.start < first:
				fixed = at.person != late && at.person != gone && d != out
			}
			if d == out && !fixed {
				was, fixed = unplaced, true
				changed["out"]++
			}
			if s.was[d] != was || s.fixed[d] != fixed || s.begun[d] != begun {
				t.Fatalf("minute %d, %+v: dog %d was %+v (fixed %v, begun %v), want %+v (%v, %v)", now, day.Late, d, s.was[d], s.fixed[d], s.begun[d], was, fixed, begun)
			}
			if fixed && was.loop >= 0 && was.start+s.walkMin[was.loop] > now {
				walking[was.person] = true
			}
		}
		for p := range people {
			want := people[p]
			if p == gone {
				want.to = min(want.to, now)
				changed["gone"]++
			}
			if p == late && !walking[p] {
				want.from = max(want.from, now+lateMin+3)
				changed["later"]++
			}
			if s.people[p] != want {
				t.Fatalf("minute %d: person %d is there %+v, want %+v", now, p, s.people[p], want)
			}
		}
	}
	for _, what := range []string{"late", "out", "gone", "later"} {
		if changed[what] < 5 {
			t.Errorf("%s: %d times, too few to show anything", what, changed[what])
		}
	}
}

// TestWhoHasNotSetOut: whoever has not set out is due on their last walk that has begun by
// the timetable, unless that is over and another is to come.
func TestWhoHasNotSetOut(t *testing.T) {
	s := drawnScheme(t, rand.New(rand.NewPCG(2, 2)), 3, 120)
	row := func(d, start int) Row { return *s.row(d, placement{loop: 0, start: start, person: 0}) }
	long := s.walkMin[0]
	for _, c := range []struct {
		what   string
		before []Row
		now    int
		want   int // start, -1 for none
	}{
		{"nothing has begun", []Row{row(0, 30)}, 10, -1},
		{"one has", []Row{row(0, 30), row(1, 90)}, 30, 30},
		{"the later of two", []Row{row(0, 0), row(1, 40)}, 41, 40},
		{"over, and another to come", []Row{row(0, 0), row(1, 100)}, long, -1},
		{"nearly over, and another to come", []Row{row(0, 0), row(1, 100)}, long - 1, 0},
		{"over, and none to come", []Row{row(0, 0)}, 110, 0},
	} {
		got := s.due("Ada", c.before, c.now)
		if (got == nil) != (c.want < 0) || got != nil && got.StartMin != c.want {
			t.Errorf("%s: %+v, want the one of minute %d", c.what, got, c.want)
		}
		if s.due("Bo", c.before, c.now) != nil {
			t.Errorf("%s: somebody else is due", c.what)
		}
	}
	later := row(0, 50)
	if later.begun(49) || !later.begun(50) {
		t.Error("a walk begins at its minute")
	}
	if later.UnderWay = true; !later.begun(10) {
		t.Error("a walk under way that counts from later times has begun")
	}
}

// TestSoundRows: each damage of a row is seen, whole ones are not suspected.
func TestSoundRows(t *testing.T) {
	whole := func() Row {
		line, atS := timedLine(plane.Point{}, plane.Point{X: 300}, plane.Point{})
		return Row{Line: line, ProgressS: atS, StartMin: 10, Holds: []Hold{{ProgressS: 100}, {ProgressS: 200}}}
	}
	for what, c := range map[string]struct {
		harm  func(r *Row)
		sound bool
	}{
		"whole":                  {func(*Row) {}, true},
		"without holds":          {func(r *Row) { r.Holds = nil }, true},
		"times that stand":       {func(r *Row) { r.ProgressS[1] = 0 }, true},
		"a point":                {func(r *Row) { r.Line, r.ProgressS = r.Line[:1], r.ProgressS[:1] }, false},
		"a time too few":         {func(r *Row) { r.ProgressS = r.ProgressS[:2] }, false},
		"before the outing":      {func(r *Row) { r.StartMin = -1 }, false},
		"a day late":             {func(r *Row) { r.StartMin = 1441 }, false},
		"as late as can be":      {func(r *Row) { r.StartMin = 1440 }, true},
		"begun before it":        {func(r *Row) { r.ProgressS[0] = 1 }, false},
		"times that run back":    {func(r *Row) { r.ProgressS[1] = 1e4 }, false},
		"no time":                {func(r *Row) { r.ProgressS[1] = math.NaN() }, false},
		"no place":               {func(r *Row) { r.Line[1].Y = math.NaN() }, false},
		"off the earth":          {func(r *Row) { r.Line[1].X = 1e39 }, false},
		"a hold at the gate":     {func(r *Row) { r.Holds[0].ProgressS = 0 }, false},
		"holds out of order":     {func(r *Row) { r.Holds[1].ProgressS = 100 }, false},
		"a hold at home":         {func(r *Row) { r.Holds[1].ProgressS = r.ProgressS[2] }, false},
		"a hold at no time":      {func(r *Row) { r.Holds[1].ProgressS = math.NaN() }, false},
		"longer than any walk":   {func(r *Row) { r.ProgressS[2] = 3*3600 + 1 }, false},
		"as long as the longest": {func(r *Row) { r.ProgressS[2] = 3 * 3600 }, true},
	} {
		r := whole()
		if c.harm(&r); r.sound() != c.sound {
			t.Errorf("%s: sound %v", what, r.sound())
		}
	}
}

// TestFaultsOfADayAreToldInFull: field, value and mend of each, all at once.
func TestFaultsOfADayAreToldInFull(t *testing.T) {
	s := drawnScheme(t, rand.New(rand.NewPCG(2, 3)), 3, 120)
	row := *s.row(0, placement{loop: 0, start: 20, person: 0})
	moved := row
	moved.Leave = row.Leave.Add(time.Second)
	day := Day{ChangePrice: 1000.5, Before: []Row{row, moved}, Late: []Late{{"Ada", 241, false}, {"Ada", 0, false}}, Gone: []string{"Cy"}, Out: []string{"Rex"}}
	var got fault.Problems
	errors.As(day.check(s.o), &got)
	want := fault.Problems{
		{Pointer: "/now", Value: "missing", Mend: "give a time with its zone"},
		{Pointer: "/change_price", Value: "1000.5", Mend: "give up to 1,000 minutes, or leave it out"},
		{Pointer: "/before/rows/1/dog", Value: "dog 0", Mend: "name a dog of the outing, each once"},
		{Pointer: "/before/rows/1/leave", Value: "2026-11-28T10:20:01Z", Mend: "the outing's minute 20 is 2026-11-28T10:20:00Z: send the outing that this timetable answers"},
		{Pointer: "/late/0/minutes", Value: "241", Mend: "give 1 to 240"},
		{Pointer: "/late/1/person", Value: "Ada", Mend: "name a person of the outing, each once"},
		{Pointer: "/late/1/minutes", Value: "0", Mend: "give 1 to 240"},
		{Pointer: "/gone/0", Value: "Cy", Mend: "name a person of the outing"},
		{Pointer: "/out/0", Value: "Rex", Mend: "name a dog of the outing"},
	}
	if !slices.Equal(got, want) {
		t.Errorf("%q\nwant %q", got, want)
	}
	good := Day{Now: tenOClock, ChangePrice: 1000, Before: []Row{row}, Late: []Late{{"Ada", 240, true}, {"Bo", 1, false}}, Gone: []string{"Ada"}, Out: []string{"dog 2"}}
	if err := good.check(s.o); err != nil {
		t.Errorf("at its bounds: %v", err)
	}
}

// TestRowsAreKnownAgain: a row is the loop of the pool that it was, rounded as it comes
// back, and no other.
func TestRowsAreKnownAgain(t *testing.T) {
	s := drawnScheme(t, rand.New(rand.NewPCG(4, 3)), 3, 120)
	for i := range s.loops {
		r := s.row(0, placement{loop: i, start: 5, person: 0})
		if got := s.loopOf(r); got != i {
			t.Errorf("loop %d is taken for %d", i, got)
		}
		r.Line = slices.Clone(r.Line)
		r.Line[1].X = math.Round(r.Line[1].X*10) / 10
		if got := s.loopOf(r); got != i {
			t.Errorf("loop %d, rounded, is taken for %d", i, got)
		}
		r.Line[1].X += 1.2
		if got := s.loopOf(r); got >= 0 {
			t.Errorf("a walk a metre beside loop %d is taken for %d", i, got)
		}
		r = s.row(0, placement{loop: i, start: 5, person: 0})
		r.Holds[0].ProgressS += 1.5
		if got := s.loopOf(r); got >= 0 {
			t.Errorf("another hold on loop %d is taken for %d", i, got)
		}
		r.Holds = nil
		if got := s.loopOf(r); got >= 0 {
			t.Errorf("loop %d without its hold is taken for %d", i, got)
		}
	}
}
