package reach_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// TestEachLimitOfTheQuarter: each limit bars the ways that were drawn to break it, and no
// others, by day and by night, and is the one that is named.
func TestEachLimitOfTheQuarter(t *testing.T) {
	land, s := quarter(t)
	r := around(t, land, s, 190, 0)
	dog := maptest.Kessa()
	sums := r.SumsFor(&dog)
	loud := told(t, s, func(e int32) bool { return s.Field.LevelDB[e] > 60 })
	if len(loud) == 0 || len(loud) == len(ways) {
		t.Fatalf("louder than 60 dB(A): %q", loud)
	}
	start := maptest.On(s, 190, 0)
	for _, c := range []struct {
		what  string
		limit reach.Limits
		hour  int
		want  []string
		named reach.LimitWhat
	}{
		{"no steps", reach.Limits{NoSteps: true}, 12, []string{"steps"}, reach.LimitSteps},
		{"lit by day", reach.Limits{LitOnly: true}, 12, nil, ""},
		{"lit by night", reach.Limits{LitOnly: true}, 23, []string{"foot", "grass e", "grass w", "own drive", "row m", "row w"}, reach.LimitLit},
		{"paved", reach.Limits{PavedOnly: true}, 12, []string{"earth", "grass e", "grass w"}, reach.LimitPaved},
		{"off roads", reach.Limits{OffRoads: true}, 12, []string{"fast"}, reach.LimitRoads},
		{"avoid a way", reach.Limits{AvoidWays: []string{"high row", "Nowhere"}}, 12, []string{"row m", "row w"}, reach.LimitWays},
		{"avoid a way that is none", reach.Limits{AvoidWays: []string{"", "High"}}, 12, nil, ""},
		{"avoid a place", reach.Limits{Avoid: []reach.Circle{{At: maptest.On(s, 310, 75), RadiusM: 12}}}, 12, []string{"earth"}, reach.LimitPlaces},
		{"avoid a place beside", reach.Limits{Avoid: []reach.Circle{{At: maptest.On(s, 310, 75), RadiusM: 9.9}}}, 12, nil, ""},
		{"avoid two places", reach.Limits{Avoid: []reach.Circle{{At: maptest.On(s, 310, 75), RadiusM: 12}, {At: maptest.On(s, 150, 70), RadiusM: 5}}}, 12, []string{"earth", "steps"}, reach.LimitPlaces},
		{"within", reach.Limits{WithinM: 210}, 12, []string{"aisle", "drive", "fast", "foot", "grass e", "grass w", "lane e", "passage", "row w", "wide"}, reach.LimitWithin},
		{"crossings", reach.Limits{CrossAtCrossings: true}, 12, []string{"grass e"}, reach.LimitCrossings},
		{"noise", reach.Limits{MaxLevelDB: 60}, 12, loud, reach.LimitNoise},
		{"slopes without heights", reach.Limits{MaxSlope: 0.01}, 12, nil, ""},
	} {
		c.limit.AnyGround, c.limit.InsideReaction = true, true
		prices := r.Price(sums, &dog, at(land, c.hour, 0), nil, 600)
		barred, worst := r.Bars(&c.limit, reach.Asker{From: start, Dog: &dog}, prices)
		same(t, c.what, barredWays(t, s, r, barred), c.want)
		if worst.What != c.named {
			t.Errorf("%s: %q is named, want %q", c.what, worst.What, c.named)
		}
	}
}

// TestWorstLimitIsNamed: of several limits the one that forbids most metres is named, and
// of two alike the first by its text.
func TestWorstLimitIsNamed(t *testing.T) {
	land, s := quarter(t)
	r := around(t, land, s, 190, 0)
	dog := maptest.Kessa()
	prices := r.Price(r.SumsFor(&dog), &dog, at(land, 12, 0), nil, 600)
	by := reach.Asker{From: maptest.On(s, 190, 0), Dog: &dog}
	for _, c := range []struct {
		limit reach.Limits
		want  reach.LimitWhat
	}{
		{reach.Limits{NoSteps: true, PavedOnly: true}, reach.LimitPaved},
		{reach.Limits{NoSteps: true, AvoidWays: []string{"Long Chase"}}, reach.LimitWays},
		// the fast road is 150 m and more, and both limits forbid just it
		{reach.Limits{OffRoads: true, AvoidWays: []string{"Long Chase"}}, reach.LimitWays},
	} {
		c.limit.AnyGround, c.limit.InsideReaction = true, true
		if _, worst := r.Bars(&c.limit, by, prices); worst.What != c.want {
			t.Errorf("%+v: %q is named, want %q", c.limit, worst.What, c.want)
		}
	}
}

// TestKeepsFromThePlayground: by day the dog keeps its reaction distance from what is in
// sight, or what was asked for where that is more; by night nobody is there, and who waived
// the reaction distance keeps only what was asked for.
func TestKeepsFromThePlayground(t *testing.T) {
	land, s := quarter(t)
	r := around(t, land, s, 525, 0)
	dog := maptest.Kessa()
	dog.ByKind[exposure.Child] = exposure.Need{WorkingM: 140, ReactionM: 65}
	sums := r.SumsFor(&dog)
	by := reach.Asker{From: maptest.On(s, 525, 0), Dog: &dog}
	swings := -1
	for i := range s.Field.Sources {
		if s.Field.Sources[i].As == "playground" {
			swings = i
		}
	}
	if swings < 0 {
		t.Fatal("the field has no playground")
	}
	// The slow twin: any touch of it in sight or hearing that is nearer than m.
	nearer := func(m float64) []string {
		return told(t, s, func(e int32) bool {
			for touch := range s.Field.TouchesOf(e) {
				if touch.Source == int32(swings) && float64(touch.DistM) < m { // noise of children: heard
					return true
				}
			}
			return false
		})
	}
	for _, c := range []struct {
		what  string
		limit reach.Limits
		hour  int
		wantM float64
		named reach.Limit
	}{
		{"reaction distance", reach.Limits{}, 16, 65, reach.Limit{What: reach.LimitReaction, Name: "The Swings"}},
		{"waived", reach.Limits{InsideReaction: true}, 16, 0, reach.Limit{}},
		{"by night", reach.Limits{NeverNearer: []reach.Keep{{From: "playground", M: 120}}}, 3, 0, reach.Limit{}},
		{"farther, by its sort", reach.Limits{NeverNearer: []reach.Keep{{From: "Playground", M: 120}}}, 16, 120, reach.Limit{What: reach.LimitNever, Name: "The Swings", M: 120}},
		{"farther, by kind", reach.Limits{NeverNearer: []reach.Keep{{From: "child", M: 100}}}, 16, 100, reach.Limit{What: reach.LimitNever, Name: "The Swings", M: 100}},
		{"farther, by category", reach.Limits{NeverNearer: []reach.Keep{{From: "people", M: 90}}}, 16, 90, reach.Limit{What: reach.LimitNever, Name: "The Swings", M: 90}},
		{"nearer than the reaction distance", reach.Limits{NeverNearer: []reach.Keep{{From: "playground", M: 30}}}, 16, 65, reach.Limit{What: reach.LimitReaction, Name: "The Swings"}},
		{"nearer, waived", reach.Limits{InsideReaction: true, NeverNearer: []reach.Keep{{From: "playground", M: 62}}}, 16, 62, reach.Limit{What: reach.LimitNever, Name: "The Swings", M: 62}},
		{"the farther of two", reach.Limits{NeverNearer: []reach.Keep{{From: "child", M: 130}, {From: "playground", M: 110}}}, 16, 130, reach.Limit{What: reach.LimitNever, Name: "The Swings", M: 130}},
		{"something else", reach.Limits{InsideReaction: true, NeverNearer: []reach.Keep{{From: "dogs", M: 130}}}, 16, 0, reach.Limit{}},
	} {
		c.limit.AnyGround = true
		prices := r.Price(sums, &dog, at(land, c.hour, 0), nil, 600)
		barred, worst := r.Bars(&c.limit, by, prices)
		want := nearer(c.wantM)
		if c.wantM > 0 && (len(want) == 0 || len(want) == len(ways)) {
			t.Fatalf("%s: %q lie nearer than %g m, which tells nothing", c.what, want, c.wantM)
		}
		same(t, c.what, barredWays(t, s, r, barred), want)
		if worst != c.named {
			t.Errorf("%s: %v is named, want %v", c.what, worst, c.named)
		}
	}
	// A dog that is calm about all that is there keeps off nothing.
	calm := exposure.Dog{ByCategory: map[exposure.Category]exposure.Need{exposure.Wheels: {WorkingM: 100, ReactionM: 80}}}
	prices := r.Price(r.SumsFor(&calm), &calm, at(land, 16, 0), nil, 600)
	if barred, worst := r.Bars(&reach.Limits{AnyGround: true}, reach.Asker{From: by.From, Dog: &calm}, prices); barred != nil || worst != (reach.Limit{}) {
		t.Errorf("a dog that is calm about children is kept from %q by %v", barredWays(t, s, r, barred), worst)
	}
}

// TestWayOutOfForbiddenGround: a start that is forbidden ground itself has its shortest
// way out freed, and nothing else; where there is no way out at all, nothing is freed.
func TestWayOutOfForbiddenGround(t *testing.T) {
	land, s := quarter(t)
	dog := maptest.Kessa()
	for _, c := range []struct {
		what string
		x, y float64
		l    reach.Limits
		free []string // of what is forbidden
	}{
		// on the steps, nearer to the lane: that part of them is freed, and so the steps, as
		// bars are by edge
		{"on the steps", 150, 40, reach.Limits{NoSteps: true}, []string{"steps"}},
		{"on the earth path", 300, 40, reach.Limits{PavedOnly: true}, []string{"earth"}},
		{"beside it all", 190, 0, reach.Limits{PavedOnly: true, NoSteps: true}, nil},
		// in the middle of the far row only grass leads away: west is nearer to the drive's head
		{"on the grass", 20, 300, reach.Limits{PavedOnly: true}, []string{"grass w"}},
		{"everything", 190, 0, reach.Limits{WithinM: 0.001}, nil},
	} {
		c.l.AnyGround, c.l.InsideReaction = true, true
		r := around(t, land, s, c.x, c.y)
		prices := r.Price(r.SumsFor(&dog), &dog, at(land, 12, 0), nil, 600)
		barred, _ := r.Bars(&c.l, reach.Asker{From: maptest.On(s, c.x, c.y), Dog: &dog}, prices)
		// What the limit alone forbids is told by a reach whose door is not on it.
		far := around(t, land, s, 75, 0)
		all, _ := far.Bars(&c.l, reach.Asker{From: maptest.On(s, c.x, c.y), Dog: &dog}, prices)
		if c.l.WithinM > 0 {
			if slices.Contains(barred, false) {
				t.Errorf("%s: a way is free where none is", c.what)
			}
			continue
		}
		forbidden := barredWays(t, s, far, all)
		left := barredWays(t, s, r, barred)
		var free []string
		for _, name := range forbidden {
			if !slices.Contains(left, name) {
				free = append(free, name)
			}
		}
		same(t, c.what, free, c.free)
		open := false
		for a := r.Star.First[r.Door]; a < r.Star.First[r.Door+1]; a++ {
			open = open || !barred[a]
		}
		if !open {
			t.Errorf("%s: the walk cannot begin", c.what)
		}
	}
}

// TestLimitsToldWrong: each number that cannot be is named with its field, its value and
// what to do; what stands at a bound is taken.
func TestLimitsToldWrong(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		l    reach.Limits
		want fault.Problems
	}{
		{reach.Limits{}, nil},
		{reach.Limits{WithinM: 300, NeverNearer: []reach.Keep{{From: "dogs", M: 2000}}, Avoid: []reach.Circle{{RadiusM: 5000}}}, nil},
		{reach.Limits{WithinM: -1}, fault.Problems{{Pointer: "/limits/within_m", Value: "-1", Mend: "give a distance in metres, or leave it out"}}},
		{reach.Limits{WithinM: nan}, fault.Problems{{Pointer: "/limits/within_m", Value: "NaN", Mend: "give a distance in metres, or leave it out"}}},
		{reach.Limits{NeverNearer: []reach.Keep{{"dogs", 10}, {"dogs", 0}}}, fault.Problems{{Pointer: "/limits/never_nearer/1/m", Value: "0", Mend: "give 1 to 2,000 metres"}}},
		{reach.Limits{NeverNearer: []reach.Keep{{"dogs", 2000.5}}}, fault.Problems{{Pointer: "/limits/never_nearer/0/m", Value: "2000.5", Mend: "give 1 to 2,000 metres"}}},
		{reach.Limits{NeverNearer: []reach.Keep{{" ", nan}}}, fault.Problems{
			{Pointer: "/limits/never_nearer/0/m", Value: "NaN", Mend: "give 1 to 2,000 metres"},
			{Pointer: "/limits/never_nearer/0/from", Value: "empty", Mend: "name a kind of trigger or of place"}}},
		{reach.Limits{Avoid: []reach.Circle{{plane.Point{}, 10}, {plane.Point{}, -3}}}, fault.Problems{{Pointer: "/limits/avoid/1/radius_m", Value: "-3", Mend: "give 1 to 5,000 metres"}}},
		{reach.Limits{Avoid: []reach.Circle{{plane.Point{}, 5001}}}, fault.Problems{{Pointer: "/limits/avoid/0/radius_m", Value: "5001", Mend: "give 1 to 5,000 metres"}}},
	} {
		if got := c.l.Check(); !slices.Equal(got, c.want) {
			t.Errorf("%+v: %+v, want %+v", c.l, got, c.want)
		}
	}
}

// TestWhatProgrammersRead: texts of limits and of what cannot be had.
func TestWhatProgrammersRead(t *testing.T) {
	for want, l := range map[string]reach.Limit{
		"no_steps":                       {What: reach.LimitSteps, Name: "left out", M: 3},
		`never_nearer 40 m "The Swings"`: {What: reach.LimitNever, Name: "The Swings", M: 40},
		`reaction_distance "school"`:     {What: reach.LimitReaction, Name: "school"},
	} {
		if got := l.String(); got != want {
			t.Errorf("a limit reads %q, want %q", got, want)
		}
	}
	none := &reach.Infeasible{Reason: reach.LimitsForbid, Field: "limits", Limit: reach.Limit{What: reach.LimitSteps}, Short: 2.5, Unit: "m"}
	if got := none.Error(); got != "no walk: limits_forbid by no_steps, short by 2.5 m (limits)" {
		t.Errorf("it reads %q", got)
	}
	if got := (&reach.Infeasible{Reason: reach.NoLoop, Field: "minutes"}).Error(); got != "no walk: no_loop (minutes)" || strings.Contains(got, "short") {
		t.Errorf("it reads %q", got)
	}
	if err := reach.About(none, "to"); !errors.Is(err, none) || none.Field != "to" {
		t.Errorf("it is about %q", none.Field)
	}
	other := reach.ErrNoCourse
	if !errors.Is(reach.About(other, "to"), other) || reach.About(nil, "to") != nil {
		t.Error("another error is changed")
	}
}
