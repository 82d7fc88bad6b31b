package outing_test

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
	"wideberth/routing"
	"wideberth/routing/outing"
	"wideberth/routing/plantest"
)

// midMorning is an outing with its timetable and a minute at which some walks are
// under way and some are not begun.
func midMorning(t *testing.T, p *routing.Planner) (outing.Wish, *outing.Timetable, time.Time) {
	t.Helper()
	o := kennel(p, 8, 3, 150)
	tt := planned(t, p, o)
	if len(tt.Rows) != 8 {
		t.Fatalf("%d served", len(tt.Rows))
	}
	now := tt.Rows[3].Leave.Add(5*time.Minute + 20*time.Second)
	return o, tt, now
}

func replan(t *testing.T, p *routing.Planner, o outing.Wish, day outing.Day) *outing.Timetable {
	t.Helper()
	tt, err := outing.Replan(context.Background(), p, o, day)
	if err != nil {
		t.Fatal(err)
	}
	return tt
}

func rowOf(tt *outing.Timetable, dog string) *outing.Row {
	i := slices.IndexFunc(tt.Rows, func(r outing.Row) bool { return r.Dog == dog })
	if i < 0 {
		return nil
	}
	return &tt.Rows[i]
}

// unchanged says that a walk is the same as before.
func unchanged(a, b *outing.Row) bool {
	return b != nil && a.Person == b.Person && a.StartMin == b.StartMin && len(a.Line) == len(b.Line) && a.Line[len(a.Line)/2].DistanceM(b.Line[len(b.Line)/2]) < 1
}

// TestNothingHappened: a day that goes as planned changes nothing.
func TestNothingHappened(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	p := plantest.Town(t)
	o, before, now := midMorning(t, p)
	after := replan(t, p, o, outing.Day{Now: now, Before: before.Rows})
	if len(after.Changed) > 0 || len(after.Unserved) > 0 || len(after.Unavoidable) > 0 {
		t.Errorf("changed %v, left in %v, %v", after.Changed, after.Unserved, after.Unavoidable)
	}
	for i := range before.Rows {
		b := &before.Rows[i]
		a := rowOf(after, b.Dog)
		if !unchanged(b, a) {
			t.Errorf("%s moved", b.Dog)
		} else if begun := b.StartMin <= int(now.Sub(nine).Minutes()); begun != a.UnderWay {
			t.Errorf("%s leaves at %v, now is %v: under way %v", b.Dog, b.Leave, now, a.UnderWay)
		}
	}
	rulesKept(t, &o, after)
}

// TestLateOnTheDay: who is late goes on by later times; what is under way stays, the
// rest keeps clear, and few walks change.
func TestLateOnTheDay(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	p := plantest.Town(t)
	o, before, now := midMorning(t, p)
	out := before.Rows[3] // under way
	after := replan(t, p, o, outing.Day{Now: now, Before: before.Rows, Late: []outing.Late{{Person: out.Person, Minutes: 20}}})
	a := rowOf(after, out.Dog)
	if a.StartMin != out.StartMin+20 || !a.UnderWay || a.Person != out.Person {
		t.Errorf("%s went at %d, late by 20 it counts from %d, under way %v", out.Dog, out.StartMin, a.StartMin, a.UnderWay)
	}
	for i, h := range a.Holds {
		if got := h.NotBefore.Sub(out.Holds[i].NotBefore); got != 20*time.Minute {
			t.Errorf("hold %d moves by %v, want 20 minutes", i, got)
		}
	}
	for i := range before.Rows {
		b := &before.Rows[i]
		if b.Dog != out.Dog && b.StartMin <= int(now.Sub(nine).Minutes()) && !unchanged(b, rowOf(after, b.Dog)) {
			t.Errorf("%s is under way and moved", b.Dog)
		}
	}
	if len(after.Changed) > 4 {
		t.Errorf("changed %v for one late walk", after.Changed)
	}
	if len(after.Unavoidable) == 0 {
		rulesKept(t, &o, after)
	}
}

// TestGoneOnTheDay: the walks of somebody who does not come go to others or are
// left out; nobody is given what they may not walk.
func TestGoneOnTheDay(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	p := plantest.Town(t)
	o, before, now := midMorning(t, p)
	later := before.Rows[slices.IndexFunc(before.Rows, func(r outing.Row) bool { return r.Leave.After(now.Add(10 * time.Minute)) })]
	after := replan(t, p, o, outing.Day{Now: now, Before: before.Rows, Gone: []string{later.Person}})
	rulesKept(t, &o, after)
	for _, r := range after.Rows {
		if r.Person == later.Person && !r.UnderWay {
			t.Errorf("%s is gone and walks %s at %v", r.Person, r.Dog, r.Leave)
		}
	}
	if r := rowOf(after, later.Dog); r != nil && !r.Changed || r == nil && !slices.Contains(after.Unserved, later.Dog) {
		t.Errorf("%s was %s's: %+v, left in %v", later.Dog, later.Person, r, after.Unserved)
	}
	if len(after.Unserved) > 0 && after.Shortage == nil {
		t.Errorf("%v are left in without a reason", after.Unserved)
	}
}

// TestOutOnTheDay: a dog taken out is neither walked nor missed, and nothing else
// has to change.
func TestOutOnTheDay(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	p := plantest.Town(t)
	o, before, now := midMorning(t, p)
	last := before.Rows[7]
	after := replan(t, p, o, outing.Day{Now: now, Before: before.Rows, Out: []string{last.Dog, before.Rows[3].Dog}})
	if rowOf(after, last.Dog) != nil || slices.Contains(after.Unserved, last.Dog) || len(after.Changed) > 0 {
		t.Errorf("%s: row %+v, left in %v, changed %v", last.Dog, rowOf(after, last.Dog), after.Unserved, after.Changed)
	}
	if rowOf(after, before.Rows[3].Dog) == nil {
		t.Error("a dog that is out on its walk cannot be taken out of it")
	}
	if after.WishedMin != before.WishedMin-last.WishedMin {
		t.Errorf("%.0f minutes wished, before %.0f with %.0f of %s", after.WishedMin, before.WishedMin, last.WishedMin, last.Dog)
	}
}

// TestNotOutYet: a walk that should have begun and has not is planned anew.
func TestNotOutYet(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	o, before, _ := midMorning(t, p)
	first := before.Rows[0]
	now := first.Leave.Add(2 * time.Minute)
	after := replan(t, p, o, outing.Day{Now: now, Before: before.Rows, Late: []outing.Late{{Person: first.Person, Minutes: 15, NotOut: true}}})
	rulesKept(t, &o, after)
	if r := rowOf(after, first.Dog); r != nil && (r.UnderWay || r.Leave.Before(now)) {
		t.Errorf("%s has not set out and yet leaves at %v, under way %v", first.Dog, r.Leave, r.UnderWay)
	}
	for _, r := range after.Rows {
		if r.Person == first.Person && r.Leave.Before(now.Add(15*time.Minute)) {
			t.Errorf("%s comes in 15 minutes and leaves with %s at %v", r.Person, r.Dog, r.Leave)
		}
	}
}

// TestChangesHaveAPrice: with a high price no walk changes that can stay.
func TestChangesHaveAPrice(t *testing.T) {
	p := plantest.Town(t)
	o, before, now := midMorning(t, p)
	day := outing.Day{Now: now, Before: before.Rows, Out: []string{before.Rows[6].Dog}}
	day.ChangePrice = 1000
	if after := replan(t, p, o, day); len(after.Changed) > 0 {
		t.Errorf("changed %v", after.Changed)
	}
}

// TestForeignWalks: walks that the pool does not have are taken over as they are, as
// long as they are whole.
func TestForeignWalks(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	o, before, now := midMorning(t, p)
	rows := slices.Clone(before.Rows)
	r := &rows[7]
	r.Line, r.ProgressS = plane.Polyline{before.At, before.At.Add(plane.Point{X: 300}), before.At}, []float64{0, 270, 600}
	r.Holds = []outing.Hold{{At: before.At.Add(plane.Point{X: 300}), ProgressS: 270, NotBefore: r.Leave}}
	after := replan(t, p, o, outing.Day{Now: now, Before: rows, ChangePrice: 1000})
	rulesKept(t, &o, after)
	if a := rowOf(after, r.Dog); a == nil {
		t.Errorf("%s is left in", r.Dog)
	}
	for i := range rows { // as they come back from JSON, a little rounded
		line := slices.Clone(before.Rows[i].Line)
		for j := range line {
			line[j] = line[j].Add(plane.Point{X: 0.05, Y: -0.05})
		}
		rows[i] = before.Rows[i]
		rows[i].Line = line
	}
	if after := replan(t, p, o, outing.Day{Now: now, Before: rows}); len(after.Changed) > 0 || rowOf(after, rows[7].Dog).Plan == nil {
		t.Errorf("rounded lines are not known again: changed %v", after.Changed)
	}
}

func TestDayFaults(t *testing.T) {
	p := plantest.Town(t)
	o, before, now := midMorning(t, p)
	for _, c := range []struct {
		name, pointer string
		edit          func(d *outing.Day)
	}{
		{"another outing's", "/before/rows/1/leave", func(d *outing.Day) { d.Before[1].Leave = d.Before[1].Leave.Add(-time.Hour) }},
		{"line leads nowhere", "/before/rows/2", func(d *outing.Day) {
			d.Before[2].Line = slices.Clone(d.Before[2].Line)
			d.Before[2].Line[1] = plane.Point{X: math.Inf(1)}
		}},
		{"late twice", "/late/1/person", func(d *outing.Day) {
			d.Late = []outing.Late{{Person: "Ada", Minutes: 5}, {Person: "Ada", Minutes: 10}}
		}},
		{"no time", "/now", func(d *outing.Day) { d.Now = time.Time{} }},
		{"strange dog", "/before/rows/0/dog", func(d *outing.Day) { d.Before[0].Dog = "Nobody" }},
		{"dog twice", "/before/rows/1/dog", func(d *outing.Day) { d.Before[1].Dog = d.Before[0].Dog }},
		{"strange person", "/before/rows/0/person", func(d *outing.Day) { d.Before[0].Person = "Nobody" }},
		{"no line", "/before/rows/2", func(d *outing.Day) { d.Before[2].Line = nil }},
		{"times run back", "/before/rows/2", func(d *outing.Day) {
			d.Before[2].ProgressS = slices.Clone(d.Before[2].ProgressS)
			slices.Reverse(d.Before[2].ProgressS)
		}},
		{"hold after home", "/before/rows/2", func(d *outing.Day) { d.Before[2].Holds = []outing.Hold{{ProgressS: 1e6}} }},
		{"late nobody", "/late/0/person", func(d *outing.Day) { d.Late = []outing.Late{{Person: "Nobody", Minutes: 5}} }},
		{"late by nothing", "/late/0/minutes", func(d *outing.Day) { d.Late = []outing.Late{{Person: "Ada"}} }},
		{"gone nobody", "/gone/0", func(d *outing.Day) { d.Gone = []string{"Nobody"} }},
		{"out nobody", "/out/0", func(d *outing.Day) { d.Out = []string{"Nobody"} }},
		{"price", "/change_price", func(d *outing.Day) { d.ChangePrice = math.NaN() }},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := outing.Day{Now: now, Before: slices.Clone(before.Rows)}
			c.edit(&d)
			_, err := outing.Replan(context.Background(), p, o, d)
			var wrong fault.Problems
			if !errors.As(err, &wrong) || !slices.ContainsFunc(wrong, func(q fault.Problem) bool { return q.Pointer == c.pointer }) {
				t.Errorf("%v, want a fault at %s", err, c.pointer)
			}
		})
	}
}

// TestReplanOfAReplan: a walk under way that counts from
// later printed times stays under way, though these lie ahead.
func TestReplanOfAReplan(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	o, before, now := midMorning(t, p)
	out := before.Rows[3]
	first := replan(t, p, o, outing.Day{Now: now, Before: before.Rows, Late: []outing.Late{{Person: out.Person, Minutes: 40}}})
	second := replan(t, p, o, outing.Day{Now: now.Add(time.Minute), Before: first.Rows})
	a, b := rowOf(first, out.Dog), rowOf(second, out.Dog)
	if !unchanged(a, b) || !b.UnderWay {
		t.Errorf("%s has been out for six minutes, then %+v", out.Dog, b)
	}
	if len(second.Changed) > 0 {
		t.Errorf("nothing happened since: changed %v", second.Changed)
	}
}

// TestNotOutKeepsWhatIsDone: who has not set out for the second walk has still done
// the first.
func TestNotOutKeepsWhatIsDone(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	p := plantest.Town(t)
	o, before, _ := midMorning(t, p)
	byPerson := map[string][]outing.Row{}
	for _, r := range before.Rows {
		byPerson[r.Person] = append(byPerson[r.Person], r)
	}
	for person, rows := range byPerson {
		if len(rows) < 2 {
			continue
		}
		done, due := rows[0], rows[1]
		now := due.Leave.Add(2 * time.Minute)
		after := replan(t, p, o, outing.Day{Now: now, Before: before.Rows, Late: []outing.Late{{Person: person, Minutes: 10, NotOut: true}}})
		if !unchanged(&done, rowOf(after, done.Dog)) {
			t.Errorf("%s was home at %v, is not out again at %v: %+v", done.Dog, done.Back, now, rowOf(after, done.Dog))
		}
		if r := rowOf(after, due.Dog); r != nil && (r.UnderWay || r.Leave.Before(now)) {
			t.Errorf("%s has not set out: leaves %v", due.Dog, r.Leave)
		}
		return
	}
	t.Fatal("nobody walks twice")
}

// TestStillTooNear: two dogs out together are told of while they still are, also if
// they were nearest some time ago.
func TestStillTooNear(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	o, before, _ := midMorning(t, p)
	line := plane.Polyline{before.At, before.At.Add(plane.Point{X: 300}), before.At}
	var rows []outing.Row
	for i, person := range []string{"Ada", "Sam"} {
		rows = append(rows, outing.Row{Dog: before.Rows[i].Dog, Person: person, Leave: nine, Line: line, ProgressS: []float64{0, 600, 1200}})
	}
	for minute, want := range map[int]int{10: 1, 30: 0} {
		now := nine.Add(time.Duration(minute) * time.Minute)
		after := replan(t, p, o, outing.Day{Now: now, Before: rows})
		if len(after.Unavoidable) != want {
			t.Errorf("after %d of 22 minutes on one line: %+v", minute, after.Unavoidable)
		}
		for _, u := range after.Unavoidable {
			if u.At.Before(now) || u.LeastM > 1 {
				t.Errorf("it is %v, told is %+v", now, u)
			}
		}
	}
}

// TestTwoDogsOnOneForeignWalk: dogs that were given one line, which the pool does
// not have now, are both taken over.
func TestTwoDogsOnOneForeignWalk(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	o, before, _ := midMorning(t, p)
	rows := slices.Clone(before.Rows)
	for i := range rows {
		rows[i].Line, rows[i].ProgressS = plane.Polyline{before.At, before.At.Add(plane.Point{X: 300}), before.At}, []float64{0, 250, 500}
		rows[i].Holds = nil
	}
	now := before.Rows[7].Leave.Add(time.Minute)
	after := replan(t, p, o, outing.Day{Now: now, Before: rows})
	if len(after.Rows) != len(rows) {
		t.Errorf("%d of %d walks that have begun are told", len(after.Rows), len(rows))
	}
	for _, r := range after.Rows {
		if want := rowOf(before, r.Dog).Reactions; r.Reactions != want {
			t.Errorf("%s: %g expected reactions, sent with %g", r.Dog, r.Reactions, want)
		}
	}
}

// TestDaysOfManyTurns: whatever comes in the way one thing after another, who is out
// stays as told, every dog is accounted for, and the rules hold as far as they can.
func TestDaysOfManyTurns(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	o := kennel(p, 8, 4, 150)
	o.Work = 6000
	start := planned(t, p, o)
	for seed := range uint64(turnsTried) {
		rng := rand.New(rand.NewPCG(seed, 5))
		now, standing, out := nine.Add(-10*time.Minute), start, []string(nil)
		for range 4 {
			now = now.Add(time.Duration(5+rng.IntN(40)) * time.Minute)
			day := outing.Day{Now: now, Before: standing.Rows, Out: out}
			switch rng.IntN(4) {
			case 0:
				day.Late = []outing.Late{{Person: o.People[rng.IntN(4)].Name, Minutes: 1 + rng.IntN(40), NotOut: rng.IntN(2) == 0}}
			case 1:
				day.Gone = []string{o.People[rng.IntN(4)].Name}
			case 2:
				out = append(out, o.Dogs[rng.IntN(8)].Dog.Name)
				day.Out = out
			}
			after := replan(t, p, o, day)
			dogs := map[string]int{}
			for i := range after.Rows {
				r := &after.Rows[i]
				dogs[r.Dog]++
				before := rowOf(standing, r.Dog)
				moved := before == nil || !unchanged(before, r)
				late := slices.ContainsFunc(day.Late, func(l outing.Late) bool { return before != nil && l.Person == before.Person })
				if r.UnderWay && moved && !late {
					t.Errorf("seed %d, %v: %s is out and moved", seed, now, r.Dog)
				}
				if moved && !r.UnderWay && r.Leave.Before(now) {
					t.Errorf("seed %d, %v: %s is to leave at %v", seed, now, r.Dog, r.Leave)
				}
			}
			for _, name := range after.Unserved {
				dogs[name]++
			}
			for _, d := range o.Dogs {
				if n, in := dogs[d.Dog.Name], !slices.Contains(out, d.Dog.Name); n > 1 || in && n != 1 {
					t.Errorf("seed %d, %v: %s is told of %d times", seed, now, d.Dog.Name, n)
				}
			}
			for _, r := range standing.Rows {
				if a := rowOf(after, r.Dog); r.UnderWay && a == nil {
					t.Errorf("seed %d, %v: %s was out and is gone from the timetable", seed, now, r.Dog)
				}
			}
			if len(after.Unavoidable) == 0 {
				walks := *after
				walks.Rows = slices.DeleteFunc(slices.Clone(after.Rows), func(r outing.Row) bool { return r.Back.Before(now) })
				if report := replayed(t, &walks, 6); !report.Kept() {
					t.Errorf("seed %d, %v: %+v, in the zone %v for %g s", seed, now, report.Worst(), report.ZonePair, report.ZoneS)
				}
			}
			standing = after
		}
	}
}

// turnsTried is small for the daily run; sixty took 40 s and broke no rule.
const turnsTried = 4
