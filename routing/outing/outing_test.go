package outing_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/outing"
	"wideberth/routing/outing/replay"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// nine is when the outings of these tests begin.
var nine = time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)

// kennel is an outing of invented dogs and people from the invented door: needs of
// 20 to 60 m, wishes of 15 to 30 minutes, one bite history.
func kennel(p *routing.Planner, dogs, people int, minutes float64) outing.Wish {
	o := outing.Wish{Gate: maptest.Door(p.Frame()), Start: nine, Minutes: minutes, Work: 25_000}
	names := []string{"Bram", "Oro", "Tilly", "Miko", "Fenn", "Juno", "Otter", "Pip", "Rusk", "Sorrel", "Tansy", "Wick"}
	for i := range dogs {
		o.Dogs = append(o.Dogs, outing.Dog{Dog: apart(names[i], 20+10*float64(i%5)), Minutes: []float64{30, 20, 15}[i%3], Experience: outing.Experience(i % 2), Bite: i == 1})
	}
	for i, name := range []string{"Ada", "Sam", "Jo", "Lin", "Kit"}[:people] {
		o.People = append(o.People, outing.Person{Name: name, Experience: []outing.Experience{outing.Regular, outing.Experienced, outing.NewHand, outing.Regular, outing.Experienced}[i]})
	}
	return o
}

// apart is a dog that wants other dogs so far away.
func apart(name string, m float64) exposure.Dog {
	return exposure.Dog{Name: name, ByKind: map[exposure.Kind]exposure.Need{},
		ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: m, ReactionM: m / 2}}}
}

func planned(t testing.TB, p *routing.Planner, o outing.Wish) *outing.Timetable {
	t.Helper()
	tt, err := outing.Plan(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	return tt
}

// replayed checks a timetable by the replay that knows nothing of the planner.
func replayed(t testing.TB, tt *outing.Timetable, runs int) *replay.Report {
	t.Helper()
	walks, rules := tt.Replay()
	r, err := replay.Check(context.Background(), walks, rules, runs, 7)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// rulesKept holds a timetable against what was asked for, without the planner:
// everybody at one place at a time and within their hours, dogs with those who may
// walk them, and the replay.
func rulesKept(t testing.TB, o *outing.Wish, tt *outing.Timetable) {
	t.Helper()
	last := map[string]time.Time{}
	for i := range tt.Rows {
		r := &tt.Rows[i]
		dog := o.Dogs[slices.IndexFunc(o.Dogs, func(d outing.Dog) bool { return d.Dog.Name == r.Dog })]
		person := o.People[slices.IndexFunc(o.People, func(p outing.Person) bool { return p.Name == r.Person })]
		if person.Experience < dog.Experience || dog.Bite && person.Experience != outing.Experienced {
			t.Errorf("%s (%s, bite %v) goes with %s (%s)", r.Dog, dog.Experience, dog.Bite, r.Person, person.Experience)
		}
		if free := last[r.Person]; r.Leave.Before(free) {
			t.Errorf("%s leaves with %s at %v, but is not free before %v", r.Person, r.Dog, r.Leave, free)
		}
		last[r.Person] = r.Leave.Add(time.Duration(r.ProgressS[len(r.ProgressS)-1]/0.9+300) * time.Second)
		if r.Leave.Before(o.Start) || r.Back.After(o.Start.Add(time.Duration(o.Minutes)*time.Minute)) {
			t.Errorf("%s is out from %v to %v", r.Dog, r.Leave, r.Back)
		}
		if !person.From.IsZero() && r.Meet.Before(person.From) || !person.To.IsZero() && r.Back.After(person.To) {
			t.Errorf("%s walks %s from %v to %v, there from %v to %v", r.Person, r.Dog, r.Meet, r.Back, person.From, person.To)
		}
		checkRow(t, r, tt)
	}
	for _, u := range tt.Unserved {
		if slices.ContainsFunc(tt.Rows, func(r outing.Row) bool { return r.Dog == u }) {
			t.Errorf("%s is served and not served", u)
		}
	}
	report := replayed(t, tt, 60)
	if !report.Kept() {
		t.Errorf("the replay breaks a rule: %+v, %g s with two in the zone %v", report.Worst(), report.ZoneS, report.ZonePair)
	}
	for _, m := range report.Directed {
		i := slices.IndexFunc(tt.Pinches, func(p outing.Pinch) bool { return p.Dogs == m.Dogs || p.Dogs == [2]string{m.Dogs[1], m.Dogs[0]} })
		if i < 0 || m.LeastM < tt.Pinches[i].LeastM-0.5 {
			t.Errorf("%v come within %.1f m, foretold %+v", m.Dogs, m.LeastM, tt.Pinches)
		}
	}
}

// checkRow holds a row's figures against each other.
func checkRow(t testing.TB, r *outing.Row, tt *outing.Timetable) {
	t.Helper()
	n := len(r.Line)
	if r.Line[0].DistanceM(tt.At) > 1 || r.Line[n-1].DistanceM(tt.At) > 1 {
		t.Errorf("%s begins at %v and ends at %v, the gate is %v", r.Dog, r.Line[0], r.Line[n-1], tt.At)
	}
	minutes := r.ProgressS[n-1] / 60
	if r.GrantedMin > r.WishedMin || math.Abs(r.GrantedMin-min(minutes, r.WishedMin)) > 1e-9 || minutes > 1.1*r.WishedMin+0.1 {
		t.Errorf("%s: %.1f minutes granted of %.1f, the walk takes %.1f", r.Dog, r.GrantedMin, r.WishedMin, minutes)
	}
	if r.Plan != nil {
		w := &r.Plan.Walks[0]
		if math.Abs(w.DurationS-r.ProgressS[n-1]) > 1 || math.Abs(w.Line.LengthM()-r.Line.LengthM()) > 1 || !r.Plan.Depart.Equal(r.Leave) || w.ExpectedReactions != r.Reactions {
			t.Errorf("%s: the walk of the hand-out is another: %.0f s and %.0f m against %.0f s and %.0f m", r.Dog, w.DurationS, w.Line.LengthM(), r.ProgressS[n-1], r.Line.LengthM())
		}
	}
	for _, h := range r.Holds {
		if want := r.Leave.Add(time.Duration(h.ProgressS / 0.9 * float64(time.Second))); h.NotBefore.Sub(want).Abs() > time.Millisecond {
			t.Errorf("%s: hold until %v, at the slow pace it is %v", r.Dog, h.NotBefore, want)
		}
		if h.NotBefore.Sub(r.Leave)%time.Minute > time.Millisecond && time.Minute-h.NotBefore.Sub(r.Leave)%time.Minute > time.Millisecond {
			t.Errorf("%s: hold until %v, not on a minute", r.Dog, h.NotBefore)
		}
		if h.At.DistanceM(tt.At) < tt.ZoneM || r.Place(h.ProgressS).DistanceM(h.At) > 0.01 {
			t.Errorf("%s: hold at %v, %.0f m from the gate", r.Dog, h.At, h.At.DistanceM(tt.At))
		}
	}
}

// TestOutingKeepsTheRules plans under every slack and checks from outside.
func TestOutingKeepsTheRules(t *testing.T) {
	if testing.Short() {
		t.Skip("runs without the race detector, under which it is long")
	}
	p := plantest.Town(t)
	for _, slack := range []outing.Slack{"", outing.Printed, outing.Free} {
		t.Run("slack "+string(slack), func(t *testing.T) {
			o := kennel(p, 8, 3, 120)
			o.Slack = slack
			o.People[0].From, o.People[1].To = nine.Add(20*time.Minute), nine.Add(100*time.Minute)
			tt := planned(t, p, o)
			rulesKept(t, &o, tt)
			if len(tt.Rows)+len(tt.Unserved) != 8 || len(tt.Rows) < 3 {
				t.Errorf("%d served, %d not", len(tt.Rows), len(tt.Unserved))
			}
			if slack == "" && len(tt.Unserved) > 0 {
				t.Errorf("with holds %v are left in: %+v", tt.Unserved, tt.Shortage)
			}
			if (len(tt.Unserved) > 0) != (tt.Shortage != nil) {
				t.Errorf("%v left in, reason %+v", tt.Unserved, tt.Shortage)
			}
		})
	}
}

// TestOutingTwice: the same outing gives the same timetable.
func TestOutingTwice(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	o := kennel(p, 6, 2, 120)
	a, b := planned(t, p, o), planned(t, p, o)
	for i := range a.Rows {
		x, y := &a.Rows[i], &b.Rows[i]
		if x.Dog != y.Dog || x.Person != y.Person || x.StartMin != y.StartMin || !slices.Equal(x.Line, y.Line) {
			t.Errorf("row %d: %s with %s at %d and %s with %s at %d", i, x.Dog, x.Person, x.StartMin, y.Dog, y.Person, y.StartMin)
		}
	}
}

// TestTogether: dogs that may meet are no trouble to each other; nobody else's
// rule changes.
func TestTogether(t *testing.T) {
	p := plantest.Town(t)
	o := kennel(p, 4, 4, 32)
	for i := range o.Dogs {
		o.Dogs[i] = outing.Dog{Dog: apart(o.Dogs[i].Dog.Name, 150), Minutes: 20}
	}
	strict := planned(t, p, o)
	rulesKept(t, &o, strict)
	for i := range o.Dogs {
		for j := range i {
			o.Together = append(o.Together, [2]string{o.Dogs[i].Dog.Name, o.Dogs[j].Dog.Name})
		}
	}
	friends := planned(t, p, o)
	rulesKept(t, &o, friends)
	if len(friends.Rows) != 4 || len(strict.Rows) >= 4 {
		t.Errorf("%d of 4 served as friends, %d at 150 m in half an hour", len(friends.Rows), len(strict.Rows))
	}
}

// TestShortages: the first cause that holds is named, and what is said to help
// does.
func TestShortages(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	for _, c := range []struct {
		name  string
		edit  func(o *outing.Wish)
		cause outing.ShortageCause
		help  outing.HelpWhat
	}{
		{"nobody experienced", func(o *outing.Wish) {
			o.People = []outing.Person{{Name: "Jo"}, {Name: "Kim"}}
			o.Dogs[0].Experience, o.TurnMin = outing.NewHand, 5
		}, outing.ShortOfPeople, "person"},
		{"one person for eight walks", func(o *outing.Wish) { o.People, o.Dogs, o.Minutes, o.TurnMin = o.People[1:2], o.Dogs[:6], 95, 5 }, outing.ShortOfPeople, "person"},
		{"one dog that nobody may walk", func(o *outing.Wish) {
			o.People = []outing.Person{{Name: "Jo"}, {Name: "Kim"}}
			o.Dogs = o.Dogs[:3]
			for i := range o.Dogs {
				o.Dogs[i].Experience, o.Dogs[i].Bite = outing.NewHand, false
			}
			o.Dogs[1].Experience = outing.Experienced
		}, outing.ShortOfPeople, "without"},
		{"the gate", func(o *outing.Wish) { o.Slack = outing.Free; o.Minutes = 75 }, outing.ShortOfGate, "holds"},
		{"far apart", func(o *outing.Wish) {
			o.Minutes = 60
			o.Dogs = o.Dogs[:3]
			for i := range o.Dogs {
				o.Dogs[i] = outing.Dog{Dog: apart(o.Dogs[i].Dog.Name, 400), Minutes: 25}
			}
		}, outing.ShortOfRoom, "minutes"},
		{"limits", func(o *outing.Wish) { o.Limits.WithinM = 30 }, outing.ShortOfGround, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := kennel(p, 8, 4, 100)
			c.edit(&o)
			tt, err := outing.Plan(context.Background(), p, o)
			var none *reach.Infeasible
			if errors.As(err, &none) && c.cause == outing.ShortOfGround {
				return // no walk at all is told as such
			}
			if err != nil {
				t.Fatal(err)
			}
			rulesKept(t, &o, tt)
			s := tt.Shortage
			if s == nil || s.Cause != c.cause {
				t.Fatalf("%d of %d served; shortage %+v, want %s", len(tt.Rows), len(o.Dogs), s, c.cause)
			}
			if c.help != "" && !slices.ContainsFunc(s.Helps, func(h outing.Help) bool { return h.What == c.help }) {
				t.Errorf("%s offers %+v, want %s", s.Cause, s.Helps, c.help)
			}
			for _, h := range s.Helps {
				helped(t, p, o, h)
			}
		})
	}
}

// TestRulesOfTheDay: a dog that has to go out is among the first, one that must be back is
// back, nobody walks a dog that they shall not, and faults of these fields are told.
func TestRulesOfTheDay(t *testing.T) {
	if testing.Short() {
		t.Skip("a long search; shorter tests go the same way")
	}
	p := plantest.Town(t)
	o := kennel(p, 8, 4, 150)
	late := &o.Dogs[5]
	late.First, late.NeverWith = true, []string{o.People[0].Name}
	o.Dogs[2].FinishBy = o.Start.Add(75 * time.Minute)
	o.Dogs[3].OnlyWith = []string{o.People[3].Name, o.People[2].Name}
	tt, err := outing.Plan(context.Background(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	rulesKept(t, &o, tt)
	earlier := 0
	for i := range tt.Rows {
		r := &tt.Rows[i]
		switch r.Dog {
		case late.Dog.Name:
			earlier = i
			if r.Person == o.People[0].Name {
				t.Errorf("%s goes with %s", r.Dog, r.Person)
			}
		case o.Dogs[2].Dog.Name:
			if r.Back.After(o.Dogs[2].FinishBy) {
				t.Errorf("%s is back at %s", r.Dog, r.Back)
			}
		case o.Dogs[3].Dog.Name:
			if !slices.Contains(o.Dogs[3].OnlyWith, r.Person) {
				t.Errorf("%s goes with %s", r.Dog, r.Person)
			}
		}
	}
	if earlier > 3 {
		t.Errorf("the dog that has to go out is number %d", earlier+1)
	}
	walks := 0
	for _, l := range tt.Loads {
		walks += l.Walks
	}
	if walks != len(tt.Rows) || tt.Fairness() <= 0.5 || tt.Fairness() > 1 {
		t.Errorf("%d walks of %d in the loads, fairness %.3f", walks, len(tt.Rows), tt.Fairness())
	}
	o.TurnMin, o.Waiting, o.Dogs[0].OnlyWith, o.Dogs[1].FinishBy = 3, "long", []string{"nobody"}, o.Start.Add(time.Minute)
	_, err = outing.Plan(context.Background(), p, o)
	for _, field := range []string{"/turn_minutes", "/waiting", "/dogs/0/only_with/0", "/dogs/1/finish_by"} {
		if err == nil || !strings.Contains(err.Error(), field) {
			t.Errorf("%s is not told: %v", field, err)
		}
	}
}

// helped takes an offer and plans with it.
func helped(t *testing.T, p *routing.Planner, o outing.Wish, h outing.Help) {
	t.Helper()
	o.Dogs, o.People = slices.Clone(o.Dogs), slices.Clone(o.People)
	switch h.What {
	case "holds":
		o.Slack = outing.Holds
	case "minutes":
		o.Minutes += h.Minutes
	case "person":
		o.People = append(o.People, outing.Person{Name: "Robin", Experience: outing.Experienced})
	case "together":
		o.Together = append(o.Together, h.Dogs)
	case "without":
		o.Dogs = slices.DeleteFunc(o.Dogs, func(d outing.Dog) bool { return d.Dog.Name == h.Dogs[0] })
	default:
		t.Fatalf("unknown offer %+v", h)
	}
	if tt := planned(t, p, o); len(tt.Unserved) > 0 {
		t.Errorf("%+v does not help: %v are left in", h, tt.Unserved)
	}
}

func TestOutingFaults(t *testing.T) {
	p := plantest.Town(t)
	for _, c := range []struct {
		name, pointer string
		edit          func(o *outing.Wish)
	}{
		{"no dogs", "/dogs", func(o *outing.Wish) { o.Dogs = nil }},
		{"no people", "/people", func(o *outing.Wish) { o.People = nil }},
		{"nameless dog", "/dogs/0/dog/name", func(o *outing.Wish) { o.Dogs[0].Dog.Name = " " }},
		{"two of one name", "/dogs/1/dog/name", func(o *outing.Wish) { o.Dogs[1].Dog.Name = "Bram" }},
		{"two people of one name", "/people/1/name", func(o *outing.Wish) { o.People[1].Name = "Ada" }},
		{"too long a walk", "/dogs/2/minutes", func(o *outing.Wish) { o.Dogs[2].Minutes = 300 }},
		{"no number", "/minutes", func(o *outing.Wish) { o.Minutes = math.NaN() }},
		{"no start", "/start", func(o *outing.Wish) { o.Start = time.Time{} }},
		{"odd slack", "/slack", func(o *outing.Wish) { o.Slack = "loose" }},
		{"zone", "/zone_m", func(o *outing.Wish) { o.ZoneM = -3 }},
		{"cheap minutes", "/minute_price", func(o *outing.Wish) { o.MinutePrice = 0.5 }},
		{"strangers together", "/together/0", func(o *outing.Wish) { o.Together = [][2]string{{"Bram", "Nobody"}} }},
		{"far too wide", "/dogs/0/dog/needs", func(o *outing.Wish) { o.Dogs[0].Dog = apart("Bram", 900) }},
		{"gone before it begins", "/people/0/to", func(o *outing.Wish) { o.People[0].To = nine.AddDate(0, 0, -1).Add(time.Hour) }},
		{"comes when it is over", "/people/1/from", func(o *outing.Wish) { o.People[1].From = nine.AddDate(0, 0, 1) }},
		{"backwards", "/people/0/to", func(o *outing.Wish) { o.People[0].From, o.People[0].To = nine.Add(time.Hour), nine }},
		{"limits", "/limits/within_m", func(o *outing.Wish) { o.Limits.WithinM = -1 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := kennel(p, 4, 2, 120)
			c.edit(&o)
			_, err := outing.Plan(context.Background(), p, o)
			var wrong fault.Problems
			if !errors.As(err, &wrong) || !slices.ContainsFunc(wrong, func(q fault.Problem) bool { return q.Pointer == c.pointer }) {
				t.Errorf("%v, want a fault at %s", err, c.pointer)
			}
		})
	}
	o := kennel(p, 4, 2, 120)
	o.Gate = plane.Point{X: 1e6}
	var none *reach.Infeasible
	if _, err := outing.Plan(context.Background(), p, o); !errors.As(err, &none) || none.Reason != reach.OffTheMap || none.Field != "gate" {
		t.Errorf("a gate off the map: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := outing.Plan(ctx, p, kennel(p, 4, 2, 120)); !errors.Is(err, context.Canceled) {
		t.Errorf("given up: %v", err)
	}
}

// TestGateFirst: the arithmetic is there without a search.
func TestGateFirst(t *testing.T) {
	p := plantest.Town(t)
	o := kennel(p, 12, 4, 180)
	o.Slack = outing.Free
	g, err := o.GateArithmetic()
	if err != nil || g.Dogs != 12 || g.Walks < 10 || g.Walks > 18 {
		t.Errorf("%+v, %v", g, err)
	}
	o.Dogs = nil
	if _, err := o.GateArithmetic(); err == nil {
		t.Error("no dogs, no fault")
	}
}

func TestExperienceNames(t *testing.T) {
	for _, e := range []outing.Experience{outing.NewHand, outing.Regular, outing.Experienced} {
		if got, err := outing.ParseExperience(e.String()); err != nil || got != e {
			t.Errorf("%s reads as %s, %v", e, got, err)
		}
	}
	if e, err := outing.ParseExperience(""); err != nil || e != outing.NewHand {
		t.Errorf("nothing said: %s, %v", e, err)
	}
	if _, err := outing.ParseExperience("expert"); err == nil || !strings.Contains(err.Error(), "experienced") {
		t.Errorf("%v", err)
	}
	if got := fmt.Sprint(outing.Experience(200)); got != "experienced" {
		t.Errorf("out of range: %s", got)
	}
}
