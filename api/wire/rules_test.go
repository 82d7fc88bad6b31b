package wire_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/api/wire"
	"wideberth/api/wire/dogfile"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
	"wideberth/routing/drive"
	"wideberth/routing/outing"
	"wideberth/routing/outing/replay"
	"wideberth/routing/outing/week"
	"wideberth/routing/parking"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/training"
)

// ruled is a timetable that keeps every rule that a house can have.
func ruled() *outing.Timetable {
	t := table(rand.New(rand.NewPCG(6, 6)))
	t.Rows = slices.Repeat(t.Rows[:1], 3)
	for i := range t.Rows {
		t.Rows[i].Dog, t.Rows[i].UnderWay = fmt.Sprint("d", i), false
	}
	t.TurnMin, t.StemM, t.Resting = 12, 31.44, []string{"Kit"}
	t.Rows[0].Second, t.Rows[0].Passes = "Sam", []string{"Tilly"}
	t.Rows[1].With, t.Rows[1].Kennel = "d0", "A"
	t.Rows[2].Apart = outing.ApartGround
	t.Hot = &outing.Heat{MostMin: 20, From: maptest.Morning.Add(4 * time.Hour), To: maptest.Morning.Add(10 * time.Hour)}
	return t
}

// TestHouseRulesComeBack: what a house asks of its walks is told and taken back in, so that
// the replay of what comes back holds it against the same rules.
func TestHouseRulesComeBack(t *testing.T) {
	f := maptest.Invented().Frame
	was := ruled()
	text := sound(t, wire.NewTimetable(was, f, briefing.Words{}))
	var form wire.Timetable
	if err := json.Unmarshal(text, &form); err != nil {
		t.Fatal(err)
	}
	if h := form.Hot; h == nil || *h != (wire.HeatBody{MostMinutes: 20, From: "2026-11-25T11:10:00Z", To: "2026-11-25T17:10:00Z"}) || form.TurnMinutes != 12 || !slices.Equal(form.Resting, []string{"Kit"}) || !slices.Equal(form.Rows[0].Passes, []string{"Tilly"}) {
		t.Errorf("%+v", form)
	}
	got, err := form.Decode(f, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	if got.StemM < was.StemM || got.StemM > was.StemM+0.2 {
		// places are told to 0.1 m: what was everybody's ground must not turn into one dog's
		t.Errorf("ground of everybody to %g m, was %g", got.StemM, was.StemM)
	}
	a, ra := was.Replay()
	b, rb := got.Replay()
	for i := range a {
		if !reflect.DeepEqual(a[i].House, b[i].House) || a[i].StartS != b[i].StartS {
			t.Errorf("walk %d: %+v comes back as %+v", i, a[i].House, b[i].House)
		}
	}
	if ra.TurnS != rb.TurnS || ra.MostS != rb.MostS || ra.ShutFromS != rb.ShutFromS || ra.ShutToS != rb.ShutToS || !slices.Equal(ra.Resting, rb.Resting) {
		t.Errorf("rules %+v come back as %+v", ra, rb)
	}
	form.Hot.From, form.Hot.To = "eleven", "25:00"
	_, err = form.Decode(f, time.UTC)
	toldAt(t, err, [2]string{"/hot/from", "eleven"}, [2]string{"/hot/to", "25:00"})
}

// TestRulesAreToldWhereThereAreAny: the turnaround is told with any one rule of a house and
// without one not; the stem only where some dog has ground of its own.
func TestRulesAreToldWhereThereAreAny(t *testing.T) {
	f := maptest.Invented().Frame
	for name, c := range map[string]struct {
		rule       func(*outing.Timetable)
		turn, stem bool
	}{
		"none":   {func(*outing.Timetable) {}, false, false},
		"rest":   {func(o *outing.Timetable) { o.Resting = []string{"Kit"} }, false, false},
		"second": {func(o *outing.Timetable) { o.Rows[1].Second = "Sam" }, true, false},
		"with":   {func(o *outing.Timetable) { o.Rows[0].With = "d1" }, true, false},
		"row":    {func(o *outing.Timetable) { o.Rows[2].Kennel = "A" }, true, false},
		"ground": {func(o *outing.Timetable) { o.Rows[2].Apart = outing.ApartGround }, true, true},
		"last":   {func(o *outing.Timetable) { o.Rows[0].Apart = outing.ApartLast }, true, true},
		"hot":    {func(o *outing.Timetable) { o.Hot = &outing.Heat{MostMin: 20} }, true, false},
	} {
		o := ruled()
		o.Hot, o.Resting = nil, nil
		for i := range o.Rows {
			r := &o.Rows[i]
			r.Second, r.With, r.Kennel, r.Apart, r.Passes = "", "", "", "", nil
		}
		c.rule(o)
		out := wire.NewTimetable(o, f, briefing.Words{})
		if (out.TurnMinutes == 12) != c.turn || !c.turn && out.TurnMinutes != 0 || (out.StemM > 0) != c.stem || (out.Hot != nil) != (name == "hot") || (len(out.Resting) > 0) != (name == "rest") {
			t.Errorf("%s: a turnaround of %g minutes, a stem of %g m, hot %+v, resting %v", name, out.TurnMinutes, out.StemM, out.Hot, out.Resting)
		}
	}
}

// TestBreachesAreTold: each rule that can be broken has its word, its dogs and its clock;
// a timetable that breaks one is not kept, however far apart its dogs are.
func TestBreachesAreTold(t *testing.T) {
	f := maptest.Invented().Frame
	rules := []replay.BreachOf{replay.BreachHands, replay.BreachBeside, replay.BreachRow, replay.BreachGround, replay.BreachRest, replay.BreachHeat}
	report := &replay.Report{Runs: 3}
	in := ruled()
	if none := wire.NewOutingCheck(report, in, f, briefing.Words{}); !none.Kept || len(none.Breaches) != 0 || none.Breaches == nil || none.Pairs == nil {
		t.Errorf("nothing is broken: %+v", none)
	}
	for i, rule := range rules {
		report.Breaches = append(report.Breaches, replay.Breach{Rule: rule, Dogs: [2]string{"d0", fmt.Sprint("d", i)}, AtS: float64(600*i + 59)})
	}
	out := wire.NewOutingCheck(report, in, f, briefing.Words{})
	sound(t, out)
	if out.Kept || len(out.Breaches) != len(rules) {
		t.Fatalf("%+v", out)
	}
	for i, b := range out.Breaches {
		if want := (wire.Breach{Rule: string(rules[i]), Dogs: [2]string{"d0", fmt.Sprint("d", i)}, At: maptest.Morning.Add(time.Duration(10*i) * time.Minute).Format("15:04")}); b != want {
			t.Errorf("%+v, want %+v", b, want)
		}
	}
}

// TestFramesOfABrokenTimetable: what cannot be walked is an error, not an empty film.
func TestFramesOfABrokenTimetable(t *testing.T) {
	f := maptest.Invented().Frame
	in := ruled()
	in.Rows[1].ProgressS = in.Rows[1].ProgressS[1:]
	if frames, err := wire.NewOutingFrames(&replay.Report{}, in, f); err == nil || frames != nil || !strings.Contains(err.Error(), "d1") {
		t.Errorf("%d frames, %v", len(frames), err)
	}
}

// TestDaysAndHeatOfAnOuting: a day off is the day of the week of its name; what is no day,
// and hours of heat that are none, are told with field and value.
func TestDaysAndHeatOfAnOuting(t *testing.T) {
	f := maptest.Invented().Frame
	b := wire.OutingBody{Start: "2026-11-25T09:00:00Z", Heat: &wire.HeatBody{MostMinutes: 25, From: "2026-11-25T12:00:00+01:00"},
		Dogs: []wire.OutingDog{{Dog: dogfile.File{Name: "Oro"}, Rest: []string{"sat", "sun", "mon", "tue", "wed", "thu", "fri"}, With: "Tilly", People: 2, Row: "A", Apart: "last"}}}
	o, err := b.Outing(f, time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	for i, day := range o.Dogs[0].Rest {
		if name := b.Dogs[0].Rest[i]; !strings.HasPrefix(strings.ToLower(day.String()), name) {
			t.Errorf("%s is read as %s", name, day)
		}
	}
	if h := o.Dogs[0].House; h.With != "Tilly" || h.People != 2 || h.Row != "A" || h.Apart != outing.ApartLast {
		t.Errorf("%+v", h)
	}
	if h := o.Heat; h.MostMin != 25 || !h.From.Equal(time.Date(2026, 11, 25, 11, 0, 0, 0, time.UTC)) || !h.To.IsZero() {
		t.Errorf("%+v", h)
	}
	b.Heat.From, b.Heat.To, b.Dogs[0].Rest = "11:00", "late", []string{"sun", "Sunday", ""}
	_, err = b.Outing(f, time.UTC)
	toldAt(t, err, [2]string{"/heat/from", `"11:00"`}, [2]string{"/heat/to", `"late"`}, [2]string{"/dogs/0/rest/1", `"Sunday"`}, [2]string{"/dogs/0/rest/2", `""`})
	for _, name := range wire.Weekdays {
		if mend := faults(t, err)[2].Mend; !strings.Contains(mend, name) {
			t.Errorf("%s does not name %s", mend, name)
		}
	}
}

// TestVisitByCarIsTold: where the car is left, what the place is called, how long the drive
// takes to five minutes; one leaves the house by so much earlier.
func TestVisitByCarIsTold(t *testing.T) {
	s := maptest.Invented()
	for sort, word := range map[parking.Sort]string{parking.Public: "public", parking.Lot: "unknown", parking.Roadside: "roadside"} {
		o := vantage(s, 0)
		car := training.Car{Spot: parking.Spot{Sort: sort, Name: parking.Name{Head: "kiln Park"}, Kerb: drive.Kerb{At: plane.Point{X: 90, Y: 90}}}, DriveS: 760}
		car.Spot.Start.At = plane.Point{X: -120, Y: 60}
		o.Car = &car
		v := training.Visit{Option: o, Leave: maptest.Morning}
		out := wire.NewVisit(&v, townLand(t), briefing.Words{})
		c := out.Car
		if c == nil || c.At != wire.NewPosition(s.Frame, car.Spot.Start.At) || c.Parking != word || c.DriveMinutes != 15 || !strings.HasPrefix(c.Name, "Kiln Park") {
			t.Fatalf("%s: %+v", word, c)
		}
		if out.Begin != "2026-11-25T07:10:00Z" || out.Leave != "2026-11-25T06:57:20Z" {
			t.Errorf("leaves %s, begins %s", out.Leave, out.Begin)
		}
	}
	o := vantage(s, 0)
	if out := wire.NewVisit(&training.Visit{Option: o, Leave: maptest.Morning}, townLand(t), briefing.Words{}); out.Car != nil || out.Leave != out.Begin {
		t.Errorf("from the door: %+v, leaves %s, begins %s", out.Car, out.Leave, out.Begin)
	}
}

// figure is a number as it is told and as it was found.
type figure struct {
	name      string
	told, was float64
	digits    int
}

// within wants each figure as it was, to half of its last digit, and told in no finer one.
func within(t *testing.T, what string, all []figure) {
	t.Helper()
	for _, x := range all {
		p := math.Pow10(x.digits)
		if math.Abs(x.told-x.was) > 0.5/p+1e-9 || math.Abs(x.told*p-math.Round(x.told*p)) > 1e-6 {
			t.Errorf("%s: %s is %v, told as %v to %d digits", what, x.name, x.was, x.told, x.digits)
		}
	}
}

// TestFiguresAreThoseOfTheWalk: every number of a walk, its legs and its kinds is the one
// that was found, each under its own name, no finer than it is worth.
func TestFiguresAreThoseOfTheWalk(t *testing.T) {
	eachPlan(t, func(t *testing.T, p *routing.Plan, out *wire.Plan) {
		kinds := func(what string, told []wire.Encounters, was []routing.KindOutlook) {
			if len(told) != len(was) {
				t.Fatalf("%s: %d kinds of %d", what, len(told), len(was))
			}
			for i, e := range told {
				k := &was[i]
				if e.Kind != k.Kind.String() || e.Category != k.Kind.Category().String() {
					t.Errorf("%s: %s of %s", what, e.Kind, e.Category)
				}
				within(t, what+" "+e.Kind, []figure{{"expected", e.Expected, k.Expected, 4}, {"low", e.Low, k.Low, 0}, {"high", e.High, k.High, 0}, {"inside", e.Inside, k.Inside, 4}, {"inside_s", e.InsideS, k.InsideS, 1}, {"reactions", e.Reactions, k.Reactions, 6}})
			}
		}
		for i := range p.Walks {
			w, a := &p.Walks[i], &out.Walks[i]
			within(t, "a walk", []figure{{"duration", a.DurationS, w.DurationS, 1}, {"length", a.LengthM, w.LengthM, 1}, {"reactions", a.ExpectedReactions, w.ExpectedReactions, 5}, {"strain", a.Strain, w.Strain, 5},
				{"calm", a.CalmChance, w.CalmChance, 4}, {"calm_low", a.CalmLow, w.CalmLow, 4}, {"calm_high", a.CalmHigh, w.CalmHigh, 4}, {"repeated", a.RepeatedS, w.RepeatedS, 1}, {"times_best", a.TimesBest, w.TimesBest, 3},
				{"main_road", a.MainRoadS, w.MainRoadS, 1}, {"soft", a.SoftGroundS, w.SoftGroundS, 1}, {"tail", a.TailS, w.TailS, 1}, {"gap", a.ShortestGapS, w.ShortestGapS, 0}, {"calm_s", a.LongestCalmS, w.LongestCalmS, 0},
				{"default", a.DefaultRoomShare, w.DefaultRoomShare, 3}, {"stacked", a.StackedReactions, w.StackedReactions, 5}, {"ceiling", a.CeilingS, w.CeilingS, 0}, {"within", a.Quality.WithinPct, w.Quality.WithinPct, 1}, {"sum", a.Quality.Sum, w.Quality.Sum, 5}})
			if a.Turns != w.Turns || a.Laps != w.Laps || a.TreatsLow != w.TreatsLow || a.TreatsHigh != w.TreatsHigh || a.Quality.Proved != w.Quality.Proved || a.CalmLow > a.CalmChance || a.CalmChance > a.CalmHigh || a.TreatsLow > a.TreatsHigh {
				t.Errorf("%+v", a)
			}
			kinds("a walk", a.Encounters, w.Kinds)
			for k := range w.Legs {
				l, b := &w.Legs[k], &a.Legs[k]
				within(t, "leg "+b.Name, []figure{{"start", b.StartS, l.StartS, 1}, {"duration", b.DurationS, l.DurationS, 1}, {"length", b.LengthM, l.LengthM, 1}, {"reactions", b.Reactions, l.Reactions, 6}, {"strain", b.Strain, l.Strain, 6},
					{"left", b.RoomLeftM, l.RoomLeftM, 1}, {"right", b.RoomRightM, l.RoomRightM, 1}, {"least", b.LeastRoomM, l.LeastRoomM, 1}, {"sight", b.SightM, l.SightM, 0}, {"noise", b.LevelDB, l.LevelDB, 1},
					{"way_out", b.WayOutS, l.WayOutS, 0}, {"way_out_room", b.WayOutRoomM, l.WayOutRoomM, 1}})
				if b.Turn != string(l.Turn) || b.Level != l.Level.String() || b.Keep != l.Keep || b.RoomDefault != l.RoomDefault || b.DogRules != l.DogRules || b.WayOutSide != l.WayOutSide || len(b.Cover) != len(l.Cover) || len(b.Edges) != len(l.Edges) || b.Name != l.Name && b.Name != l.Class {
					t.Errorf("leg %+v of %+v", b, l)
				}
				kinds("leg "+b.Name, b.Encounters, l.Kinds)
			}
		}
	})
}

// TestWeekOfOutingsIsTold: a day without walks has no timetable, one with some has it
// without legs; loads and dogs are those of all days; days left out are read by name.
func TestWeekOfOutingsIsTold(t *testing.T) {
	f := maptest.Invented().Frame
	_, plan := planned(t)
	legs := ruled()
	legs.Rows[0].Plan = plan
	w := &week.Week{Days: []week.Day{{Start: maptest.Morning, Timetable: legs}, {Start: maptest.Morning.AddDate(0, 0, 1)}},
		Loads: []outing.Load{{Person: "Ada", HoursMin: 180, WalkMin: 90, Walks: 3}, {Person: "Sam", HoursMin: 90}},
		Dogs:  []week.Dog{{Name: "Oro", Walks: 3, Rests: 1, LeftIn: 2, WishedMin: 90, GrantedMin: 61.26}}}
	out := wire.NewOutingWeek(w, f, briefing.Words{})
	sound(t, out)
	if len(out.Days) != 2 || out.Days[0].Start != "2026-11-25T07:10:00Z" || out.Days[1].Start != "2026-11-26T07:10:00Z" || out.Days[1].Timetable != nil {
		t.Fatalf("%+v", out.Days)
	}
	if day := out.Days[0].Timetable; len(day.Rows) != 3 || slices.ContainsFunc(day.Rows, func(r wire.TimeRow) bool { return r.Walk != nil }) || wire.NewTimetable(legs, f, briefing.Words{}).Rows[0].Walk == nil {
		t.Errorf("%d rows, some of them leg by leg", len(day.Rows))
	}
	// Jain's index of two loads of which one is none is 1/2 (DEC-TR-301)
	if out.Fairness != 0.5 || !slices.Equal(out.Loads, []wire.WeekLoad{{Person: "Ada", ThereMinutes: 180, WalkMinutes: 90, Walks: 3}, {Person: "Sam", ThereMinutes: 90}}) {
		t.Errorf("%+v, fairness %g", out.Loads, out.Fairness)
	}
	if !slices.Equal(out.Dogs, []wire.WeekDog{{Dog: "Oro", Walks: 3, Rests: 1, LeftIn: 2, WishedMinutes: 90, GrantedMinutes: 61.3}}) {
		t.Errorf("%+v", out.Dogs)
	}
	days, err := (&wire.OutingWeekBody{Skip: []string{"sat", "sun"}}).Skipped()
	if err != nil || !slices.Equal(days, []time.Weekday{time.Saturday, time.Sunday}) {
		t.Errorf("%v, %v", days, err)
	}
	_, err = (&wire.OutingWeekBody{Skip: []string{"sat", "weekend"}}).Skipped()
	toldAt(t, err, [2]string{"/skip/1", `"weekend"`})
}
