package briefing

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/errand"
	"wideberth/routing/escape"
	"wideberth/routing/parking"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot"
	"wideberth/routing/training"
	"wideberth/routing/training/setup"
)

// read makes narrow spaces ordinary ones.
func read(s string) string { return strings.ReplaceAll(s, thin, " ") }

// TestSpotsAreCalled: by name, street and settlement, as much of each as is known, in
// both units.
func TestSpotsAreCalled(t *testing.T) {
	for _, c := range []struct {
		name       parking.Name
		metric, us string
	}{
		{parking.Name{}, "car park away from every name", "parking lot away from every name"},
		{parking.Name{Head: "Alder Wood"}, "Alder Wood", "Alder Wood"},
		{parking.Name{Street: "Mill Lane"}, "Mill Lane", "Mill Lane"},
		{parking.Name{Head: "Alder Wood", Street: "Mill Lane"}, "Alder Wood by Mill Lane", "Alder Wood by Mill Lane"},
		{parking.Name{Settlement: "Ostby"}, "car park in Ostby", "parking lot in Ostby"},
		{parking.Name{Settlement: "Ostby", Toward: "north"}, "car park north of Ostby", "parking lot north of Ostby"},
		{parking.Name{Settlement: "Ostby", Toward: "southwest", AwayM: 2400}, "car park 2.4 km southwest of Ostby", "parking lot 1.5 mi southwest of Ostby"},
		{parking.Name{Head: "Alder Wood", Settlement: "Ostby"}, "Alder Wood, Ostby", "Alder Wood, Ostby"},
		{parking.Name{Street: "Mill Lane", Settlement: "Ostby", Toward: "east"}, "Mill Lane, east of Ostby", "Mill Lane, east of Ostby"},
		{parking.Name{Head: "Alder Wood", Settlement: "Ostby", Toward: "west", AwayM: 1600, Nth: 3}, "Alder Wood, 1.6 km west of Ostby (3)", "Alder Wood, 1.0 mi west of Ostby (3)"},
	} {
		s := &parking.Spot{Name: c.name}
		if got := read(Words{}.Spot(s)); got != c.metric {
			t.Errorf("%+v: %q, want %q", c.name, got, c.metric)
		}
		if got := read(Words{Units: US}.Spot(s)); got != c.us {
			t.Errorf("%+v: %q, want %q", c.name, got, c.us)
		}
	}
}

// TestOptionsOfWhereToGo: door or place, with what its sort and hour ask for.
func TestOptionsOfWhereToGo(t *testing.T) {
	at := time.Date(2026, 11, 28, 6, 30, 0, 0, time.UTC)
	plan := &routing.Plan{}
	for _, c := range []struct {
		option errand.Option
		name   string
		notes  []string
	}{
		{errand.Option{Kind: errand.DoorNow, Plan: plan}, "from the door now", nil},
		{errand.Option{Kind: errand.DoorLater, Leave: at, Plan: plan, Dark: true}, "from the door, Sat 06:30", []string{"it is dark on the way"}},
		{errand.Option{Kind: errand.ByCar, Spot: &parking.Spot{Sort: parking.Public, Name: parking.Name{Head: "Quay Lot"}}, Plan: plan}, "Quay Lot", nil},
		{errand.Option{Kind: errand.ByCar, Spot: &parking.Spot{Sort: parking.Lot, Name: parking.Name{Head: "Quay Lot"}}, Plan: plan}, "Quay Lot", []string{"the map does not say whose"}},
		{errand.Option{Kind: errand.ByCar, Spot: &parking.Spot{Sort: parking.Roadside, Name: parking.Name{Street: "Mill Lane"}}, Plan: plan, Dark: true}, "Mill Lane", []string{"at the side of the road", "it is dark"}},
	} {
		if got := read(Words{}.OptionName(&c.option)); got != c.name {
			t.Errorf("%q, want %q", got, c.name)
		}
		notes := Words{}.OptionNotes(&c.option)
		if len(notes) != len(c.notes) {
			t.Errorf("%s: notes %q, want %q", c.name, notes, c.notes)
			continue
		}
		for i, want := range c.notes {
			if !strings.Contains(notes[i], want) {
				t.Errorf("%s: %q lacks %q", c.name, notes[i], want)
			}
		}
	}
	if got := read(Words{TwelveHour: true}.OptionName(&errand.Option{Kind: errand.DoorLater, Leave: at.Add(12 * time.Hour)})); got != "from the door, Sat 6:30 pm" {
		t.Errorf("in the evening: %q", got)
	}
}

// TestWhatIsSaidOfChoices: what was looked at, and why there is less than was asked for;
// nothing is said twice, nothing of a drive where none was asked for.
func TestWhatIsSaidOfChoices(t *testing.T) {
	car, door := errand.Option{Kind: errand.ByCar}, errand.Option{Kind: errand.DoorLater}
	const noBetter, noLater, noRoads, noPlaces, noSaving = "None of your free hours in the next day is calmer", "has a walk from the door", "no road for cars", "No place to leave a car is known within 20 minutes", "No place by car saves a fifth"
	for name, c := range map[string]struct {
		choices errand.Choices
		want    []string
	}{
		"no drive":        {errand.Choices{Options: []errand.Option{door}}, nil},
		"nothing later":   {errand.Choices{}, []string{noBetter}},
		"no walk later":   {errand.Choices{NoLater: true}, []string{noLater}},
		"no roads":        {errand.Choices{Options: []errand.Option{door}, NoRoads: true, Drive: 20 * time.Minute}, []string{noRoads}},
		"no places":       {errand.Choices{Options: []errand.Option{door}, Drive: 20 * time.Minute}, []string{noPlaces}},
		"none saves":      {errand.Choices{Options: []errand.Option{door}, Drive: 20 * time.Minute, InReach: 9, Looked: 4}, []string{noSaving, "4 places looked at, of 9 within 20 minutes by car"}},
		"all looked at":   {errand.Choices{Options: []errand.Option{door, car}, Drive: 20 * time.Minute, InReach: 9, Looked: 9}, []string{"All 9 places within 20 minutes by car were looked at."}},
		"the one":         {errand.Choices{Options: []errand.Option{door, car}, Drive: time.Minute, InReach: 1, Looked: 1}, []string{"The one place within 1 minute by car was looked at."}},
		"one of several":  {errand.Choices{Options: []errand.Option{car, door}, Drive: 20 * time.Minute, InReach: 2, Looked: 1}, []string{"One place looked at, of 2 within 20 minutes"}},
		"no walk at door": {errand.Choices{Options: []errand.Option{car, door}, NoDoor: &reach.Infeasible{Reason: reach.NoStreetNear}, Drive: 20 * time.Minute, InReach: 2, Looked: 2}, []string{"No walk from the door now.", "All 2 places"}},
	} {
		got := Words{}.Choices(&c.choices)
		if len(got) != len(c.want) {
			t.Errorf("%s: %q, want %q", name, got, c.want)
			continue
		}
		for i, want := range c.want {
			if !strings.Contains(read(got[i]), want) {
				t.Errorf("%s: %q lacks %q", name, got[i], want)
			}
		}
	}
}

// TestDriveMinutes: whole fives, never none, and no farther from what was reckoned than
// half a step.
func TestDriveMinutes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.Float64Range(0, 7200).Draw(t, "seconds")
		n := DriveMinutes(s)
		if n < 5 || n%5 != 0 || math.Abs(float64(n)-s/60) > 2.5+1e-9 && s >= 150 {
			t.Fatalf("%g s are told as %d minutes", s, n)
		}
		if got := read(Words{}.Drive(s)); got != "about "+strconv.Itoa(n)+" min" {
			t.Fatalf("%g s: %q", s, got)
		}
	})
}

// TestStepsOfTheKey: the bounds of neighbouring steps are the same numbers, short and
// long tell the same, calmest the most minutes.
func TestStepsOfTheKey(t *testing.T) {
	r := &routing.Rank{Minutes: [3]float64{300, 100, 20}}
	for step, want := range map[int][2]string{1: {"over 300", ">300"}, 2: {"100 to 300", "100–300"}, 3: {"20 to 100", "20–100"}, 4: {"under 20", "<20"}} {
		for k, short := range []bool{false, true} {
			if got := (Words{}).StepMinutes(r, step, short); got != want[k] {
				t.Errorf("step %d: %q, want %q", step, got, want[k])
			}
		}
	}
}

// TestAidsInWords: each deed is told once, in the order given, with the side that has
// room and what stands there.
func TestAidsInWords(t *testing.T) {
	aid := &escape.Aid{Do: []escape.AidDeed{escape.SomethingBetween, escape.StepOff, escape.FoodOnTheGround, escape.CallOut}, Side: escape.MoveLeft, SideM: 12.2,
		Cover: []escape.Cover{{Cover: snapshot.Cover{Name: "Mill Yard"}, DistM: 31, Side: escape.MoveBack}}}
	var got []string
	for _, s := range (Words{}).Aid(aid) {
		got = append(got, read(s))
	}
	cover := read(Words{}.Cover(&aid.Cover[0]))
	if want := []string{"Something between you: " + cover + ".", "Step off to your left: 12 m of room.", "A handful of food on the ground between you and it.", "Call out: ask for the dog to be called back."}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	if !strings.Contains(cover, "(Mill Yard)") || !strings.HasSuffix(cover, ", 30 m back") {
		t.Errorf("cover: %q", cover)
	}
	aid.Do, aid.Side = []escape.AidDeed{escape.StepOff}, escape.MoveRight
	if got := (Words{Units: US}).Aid(aid); len(got) != 1 || read(got[0]) != "Step off to your right: 40 ft of room." {
		t.Errorf("%q", got)
	}
	for k := range snapshot.CoverKindCount {
		for _, side := range []escape.Move{escape.MoveOn, escape.MoveBack, escape.MoveLeft, escape.MoveRight} {
			said := read(Words{}.Cover(&escape.Cover{Cover: snapshot.Cover{Kind: k}, DistM: 8, Side: side}))
			if !strings.Contains(said, ", 8 m ") || strings.ContainsAny(said, "{}_") {
				t.Errorf("%s on %s: %q", k, side, said)
			}
		}
	}
}

// TestDoseOfAVisit: nothing is said within the usual, which what is watched is no part of;
// beyond it the larger of ways and others is named, and all three shares are told.
func TestDoseOfAVisit(t *testing.T) {
	visit := func(ways, others, watched float64) *training.Visit {
		v := &training.Visit{X: ways + others + watched}
		v.In.ExpectedReactions, v.Home.ExpectedReactions, v.OtherX, v.WatchX = ways*0.6, ways*0.4, others, watched
		return v
	}
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.Float64Range(0, 1)
		ways, others, watched := share.Draw(t, "ways"), share.Draw(t, "others"), share.Draw(t, "watched")
		head, text := Words{}.Dose(visit(ways, others, watched))
		if ways+others <= training.UsualMaxX {
			if head+text != "" {
				t.Fatalf("%q of %g", head, ways+others+watched)
			}
			return
		}
		want := "the way is harder than the visit"
		if others > ways {
			want = "more comes by than what is watched"
		}
		if !strings.Contains(head, want) && math.Abs(others-ways) > 1e-9 {
			t.Fatalf("%q of %g and %g, want %q", head, ways, others, want)
		}
		for _, n := range []float64{ways, others, watched} {
			if said := strconv.FormatFloat(n, 'f', 1, 64); said != "0.0" && !strings.Contains(text, said) {
				t.Fatalf("%q lacks %s", text, said)
			}
		}
		if strings.Contains(text, " 0.0 ") {
			t.Fatalf("%q tells nothing as a number", text)
		}
	})
}

// TestSharesInSmallNumbers: the smallest whole numbers that are the share, to tenths at
// most.
func TestSharesInSmallNumbers(t *testing.T) {
	for x, want := range map[float64][2]int{1: {1, 1}, 0.8: {4, 5}, 0.5: {1, 2}, 0.75: {3, 4}, 0.9: {9, 10}, 2.0 / 3: {2, 3}, 0.83: {8, 10}, 0.667: {7, 10}} {
		if n, of := shareOf(x); n != want[0] || of != want[1] {
			t.Errorf("%g is %d of %d, want %d of %d", x, n, of, want[0], want[1])
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		n, of := shareOf(rapid.Float64Range(0, 1).Draw(t, "share"))
		if of < 1 || of > 10 || n < 0 || n > of {
			t.Fatalf("%d of %d", n, of)
		}
	})
}

// TestFactsOfAVisit: seven rows in the order of the day; most of the way gives the street,
// ways out of one name are told once, none is told as none.
func TestFactsOfAVisit(t *testing.T) {
	v := &training.Visit{Leave: time.Date(2026, 11, 25, 7, 10, 0, 0, time.UTC)}
	v.Arrive, v.StayS, v.Street = v.Leave.Add(14*time.Minute), 450, "Race Walk"
	v.In.DurationS, v.X, v.WatchX = 840, 0.3, 0.1
	v.In.Legs = []routing.Leg{{Name: "Mill Lane", LengthM: 300}, {Name: "Weaver Row", LengthM: 200}, {Name: "Mill Lane", LengthM: 100}, {Name: "Weaver Row", LengthM: 250}}
	v.Number, v.LastsLowS, v.LastsHighS, v.TreatsHigh = 3.4, 20, 60, 41
	rule := learning.Rule{VisitsInARow: 1, HandledShare: 0.8}
	for _, c := range []struct {
		by   []string
		away string
	}{{nil, ""}, {[]string{"Lime Lane"}, "by Lime Lane, from"}, {[]string{"Lime Lane", "Lime Lane"}, "by Lime Lane, from"}, {[]string{"Lime Lane", "Tanner Row"}, "by Lime Lane or by Tanner Row, from"}} {
		v.WaysOutBy = c.by
		var heads, texts []string
		for _, r := range (Words{}).VisitFacts(v, rule) {
			heads, texts = append(heads, r[0]), append(texts, read(r[1]))
		}
		if want := []string{"Leave", "Stand", "Expect", "Take", "Away", "Dose", "Move on"}; !slices.Equal(heads, want) {
			t.Fatalf("%q", heads)
		}
		for i, want := range []string{"07:10, on foot 14 min by Weaver Row", "07:24 to 07:31, Race Walk", "about 3, each for 20 to 60 s", "about 50 treats, harness and lead", c.away, "0.20 reactions expected besides what is watched, 0.30 in all", "after 1 good visit: 4 of 5 handled, none over"} {
			if !strings.HasPrefix(texts[i], want) || texts[i] == "" {
				t.Errorf("%s: %q, want %q", heads[i], texts[i], want)
			}
		}
	}
}

// TestTreatsToTake: whole tens, enough, and at most nine too many.
func TestTreatsToTake(t *testing.T) {
	for high := range 300 {
		said := read(Words{}.AboutTreats(high))
		m := regexp.MustCompile(`^about (\d+) treats$`).FindStringSubmatch(said)
		if m == nil {
			t.Fatalf("%q", said)
		}
		if n, _ := strconv.Atoi(m[1]); n < high || n%10 != 0 || n > max(10, high+9) {
			t.Errorf("%d at most: %q", high, said)
		}
	}
}

// TestMinutesOfASetup: each side reads its own lines in order; going along a line and back
// is one line of the sheet, as is going nearer and standing.
func TestMinutesOfASetup(t *testing.T) {
	at := time.Date(2026, 11, 28, 6, 30, 0, 0, time.UTC)
	s := &setup.Setup{Course: setup.Course{Lines: []setup.Line{{Multiple: 2, NeedM: 76, At: plane.Polyline{{}, {X: 60}}}, {Multiple: 1.25, NeedM: 47.5, At: plane.Polyline{{Y: 28}, {X: 60, Y: 28}}}},
		DogIn: plane.Polyline{{X: -130}, {}}, Apart: true}}
	s.Clock = &setup.Clock{Dog: setup.Timetable{Entries: []setup.Entry{{Min: -3, Do: setup.DoLeave}, {Min: 0, Do: setup.DoStand}, {Min: 2, Do: setup.DoOut, Mode: setup.SideBySide}, {Min: 4, Do: setup.DoBack},
		{Min: 6, Do: setup.DoNearer, Line: 1}, {Min: 7, Do: setup.DoStand, Line: 1}, {Min: 10, Do: setup.DoHome, Line: 1}}},
		Helper: setup.Timetable{Entries: []setup.Entry{{Min: -5, Do: setup.DoLeave}, {Min: -1, Do: setup.DoWait}, {Min: 2, Do: setup.DoOut, Mode: setup.Passing}, {Min: 9, Do: setup.DoPlace, Line: 1}, {Min: 15, Do: setup.DoHome, Line: 1}}}}
	lines := func(role setup.Role, w Words) (out []string) {
		for _, l := range w.Setup(s, role, at) {
			out = append(out, l.When+" "+read(l.What))
		}
		return out
	}
	want := []string{"06:27 Leave the car, but only after the helper’s sign: one arm up. About 2 min to line 1.", "06:30 Line 1, 76 m off: stand, look,", "06:32 Walk along line 1, the same way as the helper; back at 06:34.",
		"06:36 Nearer to line 2, 48 m off; from 06:37 stand", "06:40 Away from the helper to line 1, and to the car."}
	got := lines(setup.DogSide, Words{})
	if len(got) != len(want) {
		t.Fatalf("%q", got)
	}
	for i := range want {
		if !strings.HasPrefix(got[i], want[i]) {
			t.Errorf("%q, want %q", got[i], want[i])
		}
	}
	if got := lines(setup.HelperSide, Words{}); len(got) != 5 || !strings.HasPrefix(got[2], "06:32 Walk back along your line: the dog passes the other way. At 06:32") || got[3] != "06:39 Back to your place." {
		t.Errorf("%q", got)
	}
	if got := lines(setup.DogSide, Words{Units: US, TwelveHour: true}); !strings.HasPrefix(got[3], "6:36 am Nearer to line 2, 156 ft off; from 6:37 am") {
		t.Errorf("%q", got[3])
	}
	if got := (Words{}).SetupLines(s); len(got) != 2 || read(got[0]) != "line 1: 76 m (2 times)" || read(got[1]) != "line 2: 48 m (1.25 times)" {
		t.Errorf("%q", got)
	}
	if n := len((Words{}).SetupSigns()); n != 4 {
		t.Errorf("%d signs", n)
	}
}

// TestGroundOfASetup tells what is known and what is not: shared ways, a screen and how
// far it is, what else comes near, what the replay found.
func TestGroundOfASetup(t *testing.T) {
	s := &setup.Setup{Course: setup.Course{Apart: true, Lines: []setup.Line{{NeedM: 60, At: plane.Polyline{{}, {X: 60}}}}}, X: 0.137}
	dog := &exposure.Dog{ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: 38, ReactionM: 15}}}
	proof := &setup.Proof{Runs: 1200, LeastM: 38.6, LooseM: 11.2}
	const owner, together, car = "ask.", "Both come by the same way", "Nothing to step behind is mapped"
	check := func(what, got string, has, lacks []string) {
		t.Helper()
		for _, want := range has {
			if !strings.Contains(read(got), want) {
				t.Errorf("%s: %q lacks %q", what, got, want)
			}
		}
		for _, bad := range lacks {
			if strings.Contains(read(got), bad) {
				t.Errorf("%s: %q has %q", what, got, bad)
			}
		}
	}
	check("plain", Words{}.SetupGround(s), []string{owner, car}, []string{together})
	check("alone", Words{}.SetupElse(s, dog), []string{"Nothing else is expected"}, nil)
	check("proof", Words{}.SetupProof(s, proof), []string{"never nearer than 39 m", "With no clock at all", "11 m"}, []string{"Only while both"})
	s.Apart, s.Screen, s.Else = false, &plane.Point{X: 30, Y: 40}, []setup.Else{{Kind: exposure.DogOffLead}}
	check("shared", Words{}.SetupGround(s), []string{owner, together, "Out of the helper’s sight: 50 m from line 1."}, []string{car})
	check("else", Words{}.SetupElse(s, dog), []string{"about 0.14, mostly to dogs"}, nil)
	check("proof of shared", Words{}.SetupProof(s, proof), []string{"Only while both"}, []string{"With no clock at all"})
	for want, f := range map[string]setup.Found{"within the drive": {}, "3 places have open ground": {InReach: 3}, "One place has open ground": {InReach: 1}, "2 quiet places were looked at": {InReach: 3, Quiet: 2, LookedAt: 2},
		"One ground has room, but the quietest costs about 0.42": {InReach: 3, Quiet: 2, LookedAt: 2, Laid: 1, LeastX: 0.424, MaxX: 0.25}} {
		check("lack", Words{}.SetupLack(&f), []string{want}, nil)
	}
}

// toMetres reads a distance back as people would.
func toMetres(t *rapid.T, said string) float64 {
	value, unit, _ := strings.Cut(strings.ReplaceAll(read(said), ",", ""), " ")
	n, err := strconv.ParseFloat(value, 64)
	// The international yard and pound agreement of 1959: a foot is 0.3048 m, a mile 5,280 ft.
	scale, ok := map[string]float64{"m": 1, "km": 1000, "ft": 0.3048, "mi": 5280 * 0.3048}[unit]
	if err != nil || !ok {
		t.Fatalf("%q is no distance", said)
	}
	return n * scale
}

// TestDistancesAreReadBack: no told distance is farther from the measured one than half
// the step it is rounded to; none is negative, and the farther is never told as nearer.
func TestDistancesAreReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Words{Units: rapid.SampledFrom([]Units{Metric, US}).Draw(t, "units")}
		a := rapid.OneOf(rapid.Float64Range(0, 200), rapid.Float64Range(0, 9000)).Draw(t, "m")
		b := a + rapid.Float64Range(0, 50).Draw(t, "more")
		unit := 1.0
		if w.Units == US {
			unit = 0.3048
		}
		for name, tell := range map[string]func(float64) string{"distance": w.Distance, "own": w.Own, "far": w.Far} {
			far, farther := toMetres(t, tell(a)), toMetres(t, tell(b))
			if far > farther+1e-9 {
				t.Fatalf("%s: %g m is told as %q, %g m as %q", name, a, tell(a), b, tell(b))
			}
			most := 0.5*unit + 1e-9
			switch {
			case name == "far" && a >= 300:
				most = max(80.5, 0.05*a)
			case name != "own" && w.Units == US && a >= 400*unit:
				most = 25*unit + 1e-9
			case name != "own":
				most = 5*unit + 1e-9
			}
			if math.Abs(far-a) > most {
				t.Fatalf("%s: %g m is told as %q", name, a, tell(a))
			}
		}
	})
	if got := read(Words{}.Distance(-3)); got != "0 m" {
		t.Errorf("behind: %q", got)
	}
}

// TestClocksAreReadBack: both clocks name the minute. Source: ISO 8601-1:2019, 24-hour
// clock; noon is 12 pm and midnight 12 am by common practice.
func TestClocksAreReadBack(t *testing.T) {
	day := time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)
	for m := range 24 * 60 {
		at := day.Add(time.Duration(m) * time.Minute)
		got, err := time.Parse("15:04", Words{}.Clock(at))
		if err != nil || got.Hour() != m/60 || got.Minute() != m%60 {
			t.Fatalf("%s: %q", at, Words{}.Clock(at))
		}
		got, err = time.Parse("3:04 pm", read(Words{TwelveHour: true}.Clock(at)))
		if err != nil || got.Hour() != m/60 || got.Minute() != m%60 {
			t.Fatalf("%s: %q, %v", at, Words{TwelveHour: true}.Clock(at), err)
		}
	}
}

// TestChancesAreTenths: the tenths are the nearest, never none and never all where some
// are left, and words of answer and range agree.
func TestChancesAreTenths(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		n := Tenths(p)
		if math.Abs(float64(n)/10-p) > 0.05+1e-9 && n != 1 && n != 9 {
			t.Fatalf("%g is %d of 10", p, n)
		}
		answer, of := read(Words{}.Answer(p)), read(Words{}.Of(p))
		want := strconv.Itoa(n) + " of 10"
		switch n {
		case 0:
			want = "ewer than 1 of 10"
		case 10:
			want = "ore than 9 of 10"
		}
		if !strings.Contains(answer, want) || !strings.HasSuffix(of, want) {
			t.Fatalf("%g: %q and %q, want %q", p, answer, of, want)
		}
		if q := min(1, p+rapid.Float64Range(0, 0.5).Draw(t, "more")); Tenths(q) < n {
			t.Fatalf("%g is %d of 10, %g is %d", p, n, q, Tenths(q))
		}
	})
}

// TestClip: never longer than it may be, by letters and not bytes, and what fits is left.
func TestClip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, most := rapid.StringMatching(`[a-zé ]{0,30}`).Draw(t, "s"), rapid.IntRange(1, 40).Draw(t, "most")
		got := Clip(s, most)
		n := len([]rune(s))
		if n <= most && got != s {
			t.Fatalf("%q became %q", s, got)
		}
		if n > most && (len([]rune(got)) > most || !strings.HasSuffix(got, "…") || strings.HasSuffix(got, " …") || !strings.HasPrefix(s, strings.TrimSuffix(got, "…"))) {
			t.Fatalf("%q became %q of at most %d", s, got, most)
		}
	})
}
