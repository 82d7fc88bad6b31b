package outing_test

import (
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/exposure/hours"
	"wideberth/exposure/learning"
	"wideberth/osmdata/fault"
	"wideberth/routing/outing"
	"wideberth/routing/outing/replay"
	"wideberth/routing/plantest"
)

// ruled is an outing under every rule of the house at once.
func ruled(t testing.TB) (outing.Wish, *outing.Timetable) {
	t.Helper()
	p := plantest.Town(t)
	o := kennel(p, 6, 4, 240)
	o.Work = 6000
	o.Dogs[1].Bite = false
	o.Dogs[0].With = o.Dogs[1].Dog.Name
	o.Dogs[2].People = 2
	o.Dogs[2].Row, o.Dogs[3].Row = "A", "A"
	o.Dogs[4].Apart = outing.ApartLast
	o.Dogs[5].Rest = []time.Weekday{time.Wednesday}
	tt := planned(t, p, o)
	if len(tt.Unserved) > 0 {
		t.Fatalf("%v stay in: %+v", tt.Unserved, tt.Shortage)
	}
	return o, tt
}

// breaches are the rules that a timetable breaks, by the replay.
func breaches(t testing.TB, tt *outing.Timetable) (out []replay.BreachOf) {
	t.Helper()
	for _, b := range replayed(t, tt, 3).Breaches {
		out = append(out, b.Rule)
	}
	return out
}

// TestHouseIsKept: each rule shows in the timetable, and the replay finds none broken; one
// that somebody has edited is found.
func TestHouseIsKept(t *testing.T) {
	o, tt := ruled(t)
	if r := replayed(t, tt, 40); !r.Kept() {
		t.Fatalf("%+v, %+v", r.Worst(), r.Breaches)
	}
	row := func(i int) *outing.Row { return rowOf(tt, o.Dogs[i].Dog.Name) }
	a, b := row(0), row(1)
	if a.StartMin != b.StartMin || a.Person != b.Person || a.With != b.Dog || b.With != a.Dog || a.NeedM != b.NeedM || a.NeedM != 30 {
		t.Errorf("%+v and %+v do not go together", a, b)
	}
	if two := row(2); two.Second == "" || two.Second == two.Person || two.Kennel != "A" || len(two.Passes) > 1 {
		t.Errorf("%+v is to go with two people", two)
	}
	if !slices.Equal(tt.Resting, []string{o.Dogs[5].Dog.Name}) || row(5) != nil {
		t.Errorf("resting: %v", tt.Resting)
	}
	walks := 0
	for _, l := range tt.Loads {
		walks += l.Walks
	}
	if walks != 5 { // five dogs, two of them on one walk, one with two people
		t.Errorf("people have %d walks", walks)
	}
	for name, c := range map[string]struct {
		spoil func(tt *outing.Timetable)
		want  replay.BreachOf
	}{
		"beside": {func(tt *outing.Timetable) { move(rowOf(tt, a.Dog), time.Minute) }, replay.BreachBeside},
		"row":    {func(tt *outing.Timetable) { r := rowOf(tt, row(2).Dog); move(r, row(3).Leave.Sub(r.Leave)) }, replay.BreachRow},
		"hands": {func(tt *outing.Timetable) {
			rowOf(tt, row(3).Dog).Person, rowOf(tt, row(3).Dog).Leave = row(2).Person, row(2).Leave
		}, replay.BreachHands},
		"last": {func(tt *outing.Timetable) {
			r := rowOf(tt, row(4).Dog)
			move(r, -time.Duration(r.StartMin)*time.Minute)
		}, replay.BreachGround},
		"rest": {func(tt *outing.Timetable) { tt.Resting = append(tt.Resting, a.Dog) }, replay.BreachRest},
	} {
		broken := *tt
		broken.Rows = slices.Clone(tt.Rows)
		for i := range broken.Rows {
			broken.Rows[i].Holds = slices.Clone(broken.Rows[i].Holds)
		}
		c.spoil(&broken)
		if got := breaches(t, &broken); !slices.Contains(got, c.want) {
			t.Errorf("%s: %v", name, got)
		}
	}
}

// move puts a walk so much later.
func move(r *outing.Row, by time.Duration) {
	r.Leave = r.Leave.Add(by)
	for i := range r.Holds {
		r.Holds[i].NotBefore = r.Holds[i].NotBefore.Add(by)
	}
}

// TestHotDay: short walks and none around noon, on a hot day only.
func TestHotDay(t *testing.T) {
	p := plantest.Town(t)
	o := kennel(p, 4, 3, 200)
	o.Work = 1500
	at := func(h int) time.Time { return time.Date(2026, 11, 25, h, 0, 0, 0, time.UTC) }
	o.Heat = &outing.Heat{MostMin: 15, From: at(10), To: at(11)}
	cool := planned(t, p.Under(hours.Weather{TmaxC: 24.9, HasTmax: true}), o)
	hot := planned(t, p.Under(hours.Weather{TmaxC: 25, HasTmax: true}), o)
	if cool.Hot != nil || hot.Hot == nil || hot.Hot.MostMin != 15 || cool.GrantedMin <= hot.GrantedMin {
		t.Errorf("%+v with %.0f minutes, hot %+v with %.0f", cool.Hot, cool.GrantedMin, hot.Hot, hot.GrantedMin)
	}
	for i := range hot.Rows {
		r := &hot.Rows[i]
		if r.ProgressS[len(r.ProgressS)-1] > 901 || r.Leave.Before(at(11)) && r.Back.After(at(10)) {
			t.Errorf("%s is out from %v to %v, %.0f minutes", r.Dog, r.Leave, r.Back, r.GrantedMin)
		}
	}
	if got := breaches(t, hot); len(got) > 0 {
		t.Errorf("%v", got)
	}
	hot.Hot.MostMin = 5
	if got := breaches(t, hot); len(got) != len(hot.Rows) {
		t.Errorf("five minutes at most: %v", got)
	}
	o.Heat = &outing.Heat{}
	if usual := planned(t, p.Under(hours.Weather{TmaxC: 31, HasTmax: true}), o).Hot; usual.MostMin != 20 || usual.From.Hour() != 11 || usual.To.Hour() != 17 {
		t.Errorf("left out: %+v", usual)
	}
}

// TestGroundApart: a dog that shares no ground has none, beyond the first junctions; where
// rules leave no room the rules are named.
func TestGroundApart(t *testing.T) {
	p := plantest.Town(t)
	o := kennel(p, 3, 2, 200)
	o.Work = 3000
	o.Dogs[2].Apart = outing.ApartGround
	tt := planned(t, p, o)
	if r := rowOf(tt, o.Dogs[2].Dog.Name); r == nil || r.Apart != outing.ApartGround {
		t.Fatalf("%v stay in", tt.Unserved)
	}
	if r := replayed(t, tt, 10); !r.Kept() {
		t.Errorf("%+v", r.Breaches)
	}
	same := *tt
	same.Rows = slices.Clone(tt.Rows)
	a, b := rowOf(&same, o.Dogs[2].Dog.Name), rowOf(&same, o.Dogs[0].Dog.Name)
	a.Line, a.ProgressS, a.Holds = b.Line, b.ProgressS, nil
	if got := breaches(t, &same); !slices.Contains(got, replay.BreachGround) {
		t.Errorf("one line: %v", got)
	}
	for i := range o.Dogs {
		o.Dogs[i].Row = "A"
	}
	o.People = kennel(p, 3, 4, 70).People
	o.Minutes, o.TurnMin, o.Dogs[2].Apart = 70, 30, ""
	if tt = planned(t, p, o); tt.Shortage == nil || tt.Shortage.Cause != outing.ShortOfRules {
		t.Errorf("%v stay in, %+v", tt.Unserved, tt.Shortage)
	}
}

// TestHouseOnTheDay: two that are out together stay so, two people that are out are both
// busy; where one of two stays in the other goes alone.
func TestHouseOnTheDay(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	p := plantest.Town(t)
	o, tt := ruled(t)
	a, b := o.Dogs[0].Dog.Name, o.Dogs[1].Dog.Name
	for _, now := range []time.Time{rowOf(tt, a).Leave.Add(2 * time.Minute), rowOf(tt, o.Dogs[2].Dog.Name).Leave.Add(time.Minute)} {
		after := replan(t, p, o, outing.Day{Now: now, Before: tt.Rows})
		if len(after.Changed) > 0 || len(after.Rows) != len(tt.Rows) || !slices.Equal(after.Resting, tt.Resting) {
			t.Errorf("%v: nothing happened and %v changed, %d rows", now, after.Changed, len(after.Rows))
		}
		x, y := rowOf(after, a), rowOf(after, b)
		if x == nil || y == nil || x.StartMin != y.StartMin || x.Person != y.Person || x.UnderWay != y.UnderWay || x.UnderWay != !x.Leave.After(now) {
			t.Errorf("%v: %+v and %+v", now, x, y)
		}
	}
	second := rowOf(tt, o.Dogs[2].Dog.Name).Second
	after := replan(t, p, o, outing.Day{Now: nine.Add(-time.Hour), Before: tt.Rows, Out: []string{b}, Gone: []string{second}})
	if x := rowOf(after, a); x != nil && x.With != "" || rowOf(after, b) != nil || slices.Contains(after.Unserved, b) {
		t.Errorf("%s stays in, and %+v; unserved %v", b, x, after.Unserved)
	}
	for i := range after.Rows {
		if r := &after.Rows[i]; r.Person == second || r.Second == second {
			t.Errorf("%s is gone and walks %s", second, r.Dog)
		}
	}
	var wrong fault.Problems
	broken := slices.Clone(tt.Rows)
	broken[0].Second = "nobody"
	if _, err := outing.Replan(context.Background(), p, o, outing.Day{Now: nine, Before: broken}); !errors.As(err, &wrong) || wrong[0].Pointer != "/before/rows/0/second" {
		t.Errorf("%v", err)
	}
}

// TestHouseFaults: what cannot be asked of a dog is told with its pointer.
func TestHouseFaults(t *testing.T) {
	p := plantest.Town(t)
	for pointer, spoil := range map[string]func(o *outing.Wish){
		"/dogs/0/with":   func(o *outing.Wish) { o.Dogs[0].With = "nobody" },
		"/dogs/2/with":   func(o *outing.Wish) { o.Dogs[2].With = o.Dogs[2].Dog.Name },
		"/dogs/3/with":   func(o *outing.Wish) { o.Dogs[2].With, o.Dogs[3].With = o.Dogs[0].Dog.Name, o.Dogs[0].Dog.Name },
		"/dogs/4/with":   func(o *outing.Wish) { o.Dogs[4].With = o.Dogs[1].Dog.Name }, // it has bitten
		"/dogs/0/people": func(o *outing.Wish) { o.Dogs[0].People = 3 },
		"/dogs/1/row":    func(o *outing.Wish) { o.Dogs[1].Row = strings.Repeat("x", 81) },
		"/dogs/2/apart":  func(o *outing.Wish) { o.Dogs[2].Apart = "alone" },
		"/dogs/0/rest/0": func(o *outing.Wish) { o.Dogs[0].Rest = []time.Weekday{7} },
		"/dogs": func(o *outing.Wish) {
			for i := range o.Dogs {
				o.Dogs[i].Rest = []time.Weekday{time.Wednesday}
			}
		},
		"/heat/most_minutes": func(o *outing.Wish) { o.Heat = &outing.Heat{MostMin: 2} },
		"/heat/to":           func(o *outing.Wish) { o.Heat = &outing.Heat{From: nine, To: nine} },
	} {
		o := kennel(p, 5, 2, 120)
		spoil(&o)
		var wrong fault.Problems
		if err := o.Check(); !errors.As(err, &wrong) || len(wrong) != 1 || wrong[0].Pointer != pointer || wrong[0].Mend == "" {
			t.Errorf("%s: %v", pointer, err)
		}
	}
	o := kennel(p, 3, 2, 120)
	o.Dogs[0].Rest, o.Dogs[2].With = []time.Weekday{time.Wednesday}, o.Dogs[0].Dog.Name
	if g, err := o.GateArithmetic(); err != nil || g.Dogs != 2 {
		t.Errorf("one rests: %+v, %v", g, err)
	}
}

// TestPriceOfGoingTogether: the sum is that of the dogs, and what the loops take says how
// long each would walk alone.
func TestPriceOfGoingTogether(t *testing.T) {
	_, tt := ruled(t)
	sum, minutes := 0.0, 0.0
	for i := range tt.Rows {
		r := &tt.Rows[i]
		walked := r.ProgressS[len(r.ProgressS)-1] / 60
		if got := r.AloneX(); math.Abs(got-walked*r.AlonePerMin) > 1e-12 || got <= 0 {
			t.Errorf("%s: %g alone", r.Dog, got)
		}
		sum, minutes = sum+r.AloneX(), minutes+walked
	}
	if math.Abs(tt.AloneX()-sum) > 1e-12 || math.Abs(sum/minutes-tt.AlonePerMin) > 1e-9 {
		t.Errorf("%g alone, the rows say %g, a minute %g", tt.AloneX(), sum, tt.AlonePerMin)
	}
}

// TestBadDays: a dog that had a bad day stays in, as on its day off, and it is told why; one
// that the coordinator lets go, and one that is to be kept far only, have their walks and are
// told of too; the day after nothing is left of it.
func TestBadDays(t *testing.T) {
	p := plantest.Town(t)
	o := kennel(p, 4, 4, 180)
	o.Work = 3000
	yesterday := func(hours ...int) (out []learning.Over) {
		for _, h := range hours {
			y, m, d := o.Start.Date()
			out = append(out, learning.Over{At: time.Date(y, m, d-1, h, 0, 0, 0, o.Start.Location())})
		}
		return out
	}
	o.Dogs[0].Overs, o.Dogs[1].Overs, o.Dogs[2].Overs = yesterday(9, 10, 11), yesterday(9, 10, 11), yesterday(9)
	o.Dogs[1].Walks = true
	tt := planned(t, p, o)
	name := func(i int) string { return o.Dogs[i].Dog.Name }
	if !slices.Equal(tt.Resting, []string{name(0)}) || rowOf(tt, name(0)) != nil || rowOf(tt, name(1)) == nil || rowOf(tt, name(2)) == nil || rowOf(tt, name(3)) == nil {
		t.Errorf("resting %v", tt.Resting)
	}
	if len(tt.Respites) != 3 {
		t.Fatalf("%+v", tt.Respites)
	}
	for i, want := range []struct {
		rest, overruled bool
		times           int
	}{{true, false, 3}, {true, true, 3}, {false, false, 1}} {
		if r := tt.Respites[i]; r.Dog != name(i) || r.Rest != want.rest || r.Overruled != want.overruled || r.Times != want.times {
			t.Errorf("%+v, want %+v", r, want)
		}
	}
	// Who had its walk in the timetable keeps it on the day, and is told of.
	now := o.Start.Add(30 * time.Minute)
	o.Dogs[3].Overs = yesterday(20, 21, 22)
	again := replan(t, p, o, outing.Day{Before: tt.Rows, Now: now})
	if rowOf(again, name(3)) == nil || !slices.Equal(again.Resting, []string{name(0)}) || len(again.Respites) != 4 || !again.Respites[3].Overruled {
		t.Errorf("on the day: resting %v, %+v", again.Resting, again.Respites)
	}
	o.Start = o.Start.AddDate(0, 0, 1)
	if o.Idle() {
		t.Error("nobody goes out the day after")
	}
	for i := range o.Dogs {
		o.Dogs[i].Overs, o.Dogs[i].Walks = []learning.Over{{At: o.Start.Add(-time.Hour), Harm: true}}, false
	}
	if !o.Idle() || o.Check() == nil {
		t.Error("all dogs rest, and nobody says so")
	}
}
