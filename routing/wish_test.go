package routing_test

import (
	"context"
	"errors"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/exposure/hours"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
)

// goodWish is a wish with nothing wrong in it, on the town.
func goodWish(p *routing.Planner, shape routing.Shape) routing.Wish {
	w := routing.Wish{Shape: shape, From: maptest.Door(p.Frame()), Minutes: 30, Dog: maptest.Kessa(), Depart: maptest.Morning}
	switch shape {
	case routing.Way:
		w.To = &plane.Point{X: w.From.X + 400, Y: w.From.Y + 100}
	case routing.LongestCalm:
		w.MaxX = 0.2
	}
	return w
}

// TestEveryFaultOfAWishIsTold: one thing is spoilt at a time; what is told has the field,
// the value as it was given and a way to mend it, and nothing else is told.
func TestEveryFaultOfAWishIsTold(t *testing.T) {
	p := plantest.Town(t)
	shapes := []routing.Shape{routing.Calmest, routing.Loop, routing.ThereAndBack, routing.Way, routing.LongestCalm}
	for _, s := range shapes {
		if w := goodWish(p, s); p.Check(&w) != nil {
			t.Errorf("%s: %v", s, p.Check(&w))
		}
	}
	closed := shapes[:3]
	for _, c := range []struct {
		shapes  []routing.Shape
		spoil   func(w *routing.Wish)
		pointer string
		value   string
		mend    string
	}{
		{closed, func(w *routing.Wish) { w.Minutes = 4.9 }, "/minutes", "4.9", "5 to 180 minutes"},
		{closed, func(w *routing.Wish) { w.Minutes = 181 }, "/minutes", "181", "5 to 180 minutes"},
		{closed, func(w *routing.Wish) { w.Minutes = math.NaN() }, "/minutes", "NaN", "5 to 180 minutes"},
		{closed, func(w *routing.Wish) { w.Minutes = math.Inf(1) }, "/minutes", "", "5 to 180 minutes"},
		{shapes[3:4], func(w *routing.Wish) { w.Minutes = -1 }, "/minutes", "-1", "at most 180 minutes"},
		{shapes[3:4], func(w *routing.Wish) { w.Minutes = math.NaN() }, "/minutes", "NaN", "at most 180 minutes"},
		{shapes[3:4], func(w *routing.Wish) { w.Minutes = 180.5 }, "/minutes", "180.5", "at most 180 minutes"},
		{shapes[3:4], func(w *routing.Wish) { w.To = nil }, "/to", "missing", "a way needs a place"},
		{shapes[3:4], func(w *routing.Wish) { w.To = &w.From }, "/to", "the same place as from", "ask for a loop"},
		{shapes[4:], func(w *routing.Wish) { w.MaxX = 0 }, "/max_expected_reactions", "0", "more than 0 and at most 100"},
		{shapes[4:], func(w *routing.Wish) { w.MaxX = -0.5 }, "/max_expected_reactions", "-0.5", "more than 0 and at most 100"},
		{shapes[4:], func(w *routing.Wish) { w.MaxX = 101 }, "/max_expected_reactions", "101", "more than 0 and at most 100"},
		{shapes[4:], func(w *routing.Wish) { w.MaxX = math.NaN() }, "/max_expected_reactions", "NaN", "more than 0 and at most 100"},
		{[]routing.Shape{routing.Calmest, routing.Loop, routing.ThereAndBack, routing.LongestCalm}, func(w *routing.Wish) { w.To = &plane.Point{X: 5} }, "/to", "a place", "only a way leads to another place"},
		{shapes[:4], func(w *routing.Wish) { w.MaxX = 0.1 }, "/max_expected_reactions", "0.1", "only the longest calm walk has a budget"},
		{closed, func(w *routing.Wish) { w.Shape = "square" }, "/shape", "square", "use calmest, loop, there_and_back, way or longest_calm"},
		{closed, func(w *routing.Wish) { w.Shape = "" }, "/shape", "", "use calmest"},
		{shapes, func(w *routing.Wish) { w.Walks = -1 }, "/walks", "-1", "ask for 1 to 5"},
		{shapes, func(w *routing.Wish) { w.Walks = 6 }, "/walks", "6", "ask for 1 to 5"},
		{shapes, func(w *routing.Wish) { w.Strain = "twice" }, "/strain", "twice", ""},
		{shapes, func(w *routing.Wish) { w.Depart = time.Time{} }, "/depart", "missing", "give a time with its zone"},
		{shapes, func(w *routing.Wish) { w.Free.Spans = []string{"6-7", "9"} }, "/free_hours/spans/1", "9", "give hours of the day"},
		{shapes, func(w *routing.Wish) { w.Free.Spans = []string{} }, "/free_hours", "none", "there is none to offer"},
		{shapes, func(w *routing.Wish) { w.Weather = hours.Weather{HasTmax: true, TmaxC: 61} }, "/weather/temperature_c", "61", "-60 to 60"},
		{shapes, func(w *routing.Wish) { w.Weather = hours.Weather{HasTmax: true, TmaxC: -60.5} }, "/weather/temperature_c", "-60.5", "-60 to 60"},
		{shapes, func(w *routing.Wish) { w.Weather = hours.Weather{HasTmax: true, TmaxC: math.NaN()} }, "/weather/temperature_c", "NaN", "-60 to 60"},
		{shapes, func(w *routing.Wish) { w.Limits.NeverNearer = []reach.Keep{{From: "school", M: 0}} }, "/limits/never_nearer/0/m", "0", "1 to 2,000 metres"},
		{shapes, func(w *routing.Wish) {
			w.Limits.NeverNearer = []reach.Keep{{From: "school", M: 50}, {From: " ", M: 50}}
		}, "/limits/never_nearer/1/from", "empty", "name a kind"},
		{shapes, func(w *routing.Wish) { w.Limits.NeverNearer = []reach.Keep{{From: "dragons", M: 50}} }, "/limits/never_nearer/0/from", "dragons", "or a sort of place: "},
		{shapes, func(w *routing.Wish) { w.Limits.WithinM = -3 }, "/limits/within_m", "-3", "give a distance"},
		{shapes, func(w *routing.Wish) { w.Limits.WithinM = math.NaN() }, "/limits/within_m", "NaN", "give a distance"},
		{shapes, func(w *routing.Wish) { w.Limits.Avoid = []reach.Circle{{RadiusM: 5001}} }, "/limits/avoid/0/radius_m", "5001", "1 to 5,000 metres"},
		{shapes, func(w *routing.Wish) { w.Limits.MaxSlope = 0.1 }, "/limits/max_slope", "0.1", "this map has no heights"},
		{shapes, func(w *routing.Wish) { w.Limits.AvoidWays = []string{"Qqqqqqqqqqqq"} }, "/limits/avoid_ways/0", `"Qqqqqqqqqqqq"`, "no street on this map has that name"},
	} {
		for _, s := range c.shapes {
			w := goodWish(p, s)
			c.spoil(&w)
			var wrong fault.Problems
			if err := p.Check(&w); !errors.As(err, &wrong) || len(wrong) != 1 {
				t.Errorf("%s, %s: %v", s, c.pointer, err)
				continue
			}
			if got := wrong[0]; got.Pointer != c.pointer || c.value != "" && got.Value != c.value || got.Mend == "" || !strings.Contains(got.Mend, c.mend) {
				t.Errorf("%s: %+v, want %s %q: %s", s, got, c.pointer, c.value, c.mend)
			}
			if _, err := p.Plan(context.Background(), w); !errors.As(err, &wrong) {
				t.Errorf("%s, %s: planned all the same (%v)", s, c.pointer, err)
			}
		}
	}
}

// TestAllFaultsAreToldAtOnce: nobody mends a wish one fault at a time.
func TestAllFaultsAreToldAtOnce(t *testing.T) {
	p := plantest.Town(t)
	w := goodWish(p, routing.Loop)
	w.Minutes, w.MaxX, w.Walks, w.Strain, w.Depart = 1, 1, 9, "x", time.Time{}
	w.Limits = reach.Limits{WithinM: -1, MaxSlope: 1, AvoidWays: []string{"Nowhere At All"}}
	w.Free.Spans, w.Weather = []string{"a-b"}, hours.Weather{HasTmax: true, TmaxC: 400}
	var wrong fault.Problems
	if err := p.Check(&w); !errors.As(err, &wrong) {
		t.Fatal(err)
	}
	var got []string
	for _, f := range wrong {
		got = append(got, f.Pointer)
	}
	want := []string{"/minutes", "/max_expected_reactions", "/walks", "/strain", "/depart", "/free_hours/spans/0", "/weather/temperature_c", "/limits/within_m", "/limits/avoid_ways/0", "/limits/max_slope"}
	if !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

// TestMistypedStreetIsGuessed: a street with one letter wrong is offered as it is
// written; capitals do not matter.
func TestMistypedStreetIsGuessed(t *testing.T) {
	p := plantest.Town(t)
	tried := 0
	for _, name := range p.Snapshot().Graph.Names {
		if len(name) < 8 || tried == 12 {
			continue
		}
		tried++
		w := goodWish(p, routing.Loop)
		w.Limits.AvoidWays = []string{strings.ToUpper(name)}
		if err := p.Check(&w); err != nil {
			t.Errorf("%s: %v", strings.ToUpper(name), err)
		}
		w.Limits.AvoidWays = []string{name[:3] + name[4:]}
		var wrong fault.Problems
		if err := p.Check(&w); !errors.As(err, &wrong) || !strings.Contains(wrong[0].Mend, name) {
			t.Errorf("%s without a letter: %v", name, err)
		}
	}
	if tried < 5 {
		t.Errorf("only %d names", tried)
	}
}

// TestWindowsAreHeld: walks keep to the shares below and above that are asked for, the
// usual ones where none are.
func TestWindowsAreHeld(t *testing.T) {
	p := plantest.Town(t)
	for _, c := range []struct{ shorter, longer, least, most float64 }{{0, 0, 0.97, 1.10}, {0.2, 0, 0.8, 1.1}, {0.01, 0.02, 0.99, 1.02}, {0, 0.3, 0.97, 1.3}} {
		w := goodWish(p, routing.Loop)
		w.Minutes, w.Shorter, w.Longer = 20, c.shorter, c.longer
		plan, err := p.Plan(context.Background(), w)
		if err != nil {
			t.Errorf("%+v: %v", c, err)
			continue
		}
		for i := range plan.Walks {
			if s := plan.Walks[i].DurationS; plan.Walks[i].Laps == 1 && (s < 1200*c.least-1e-3 || s > 1200*c.most+1e-3) {
				t.Errorf("%+v: a walk of %.1f s", c, s)
			}
		}
		if len(plan.Walks) > 3 {
			t.Errorf("%d walks where nobody said how many", len(plan.Walks))
		}
	}
}

// taken is a wish with an offer taken.
func taken(w routing.Wish, o *reach.Offer) routing.Wish {
	switch o.What {
	case "minutes":
		w.Minutes, w.Shape = o.Minutes, routing.Shape(o.Shape)
	case "leave_at":
		w.Depart = o.Depart
	case "without_limit":
		w.Limits = reach.Limits{InsideReaction: true, AnyGround: w.Limits.AnyGround || o.Limit.What == reach.LimitGround}
	}
	return w
}

// TestOffersWork: whatever a refusal offers is a walk when it is asked for.
func TestOffersWork(t *testing.T) {
	var offers []string
	hold := func(p *routing.Planner, name string, w routing.Wish) {
		_, err := p.Plan(context.Background(), w)
		var none *reach.Infeasible
		if err == nil || !errors.As(err, &none) {
			if err != nil {
				t.Errorf("%s: %v", name, err)
			}
			return
		}
		for i := range none.Offers {
			o := &none.Offers[i]
			offers = append(offers, o.What)
			if o.What == "minutes" && w.Shape != routing.Way && o.Minutes < routing.LeastMinutes {
				continue // told as how much there is, no wish of its own
			}
			if _, err := p.Plan(context.Background(), taken(w, o)); err != nil {
				t.Errorf("%s %s of %g minutes: offered is %+v, and then %v", name, w.Shape, w.Minutes, o, err)
			}
		}
		if none.Reason == reach.LimitsForbid && (none.Field != "limits" || none.Limit == (reach.Limit{}) || len(none.Offers) == 0) {
			t.Errorf("%s: limits forbid, and no offer or no limit: %+v", name, none)
		}
	}
	for _, name := range []string{"crossing", "ring-without-junction", "figure-eight", "two-paths-round-a-pond", "cul-de-sac", "pedestrian-area"} {
		p := plantest.On(t, maptest.World(t, name))
		g := p.Snapshot().Graph
		for _, minutes := range []float64{6, 20, 60} {
			for _, s := range []routing.Shape{routing.Calmest, routing.Loop, routing.ThereAndBack} {
				hold(p, name, routing.Wish{Shape: s, From: g.EdgeLine(0).At(float64(g.LengthM[0]) / 2), Minutes: minutes, Dog: maptest.Kessa(), Depart: maptest.Morning})
			}
		}
	}
	p := plantest.Town(t)
	for _, l := range []reach.Limits{{LitOnly: true}, {NeverNearer: []reach.Keep{{From: "school", M: 900}}}, {WithinM: 90}, {OffRoads: true, NoSteps: true}, {PavedOnly: true}} {
		for _, depart := range []time.Time{maptest.Morning, maptest.Morning.Add(14 * time.Hour)} {
			w := goodWish(p, routing.Loop)
			w.Minutes, w.Limits, w.Depart = 20, l, depart
			hold(p, "the town", w)
		}
	}
	var d maptest.Drawing
	for i := range 4 {
		at := float64(i) * 150
		d.Way("highway=residential;name=Row "+string(rune('A'+i)), 0, at, 150, at, 300, at, 450, at)
		d.Way("highway=residential;name=Lane "+string(rune('A'+i)), at, 0, at, 150, at, 300, at, 450)
	}
	unlit := d.Map(t)
	hold(plantest.On(t, unlit), "a grid without lamps", routing.Wish{Shape: routing.ThereAndBack, From: maptest.On(unlit, 75, 0), Minutes: 15, Dog: maptest.Kessa(), Depart: maptest.Morning.Add(13 * time.Hour), Limits: reach.Limits{LitOnly: true}})
	for _, what := range []string{"minutes", "leave_at", "without_limit"} {
		if !slices.Contains(offers, what) {
			t.Errorf("%s was never offered: %v", what, offers)
		}
	}
}

// TestTooShortSaysHowLong: the minutes offered for a way do, and one less does not.
func TestTooShortSaysHowLong(t *testing.T) {
	p := plantest.Town(t)
	told := 0
	for _, d := range []plane.Point{{X: 500}, {X: -450, Y: 200}, {Y: 600}, {X: 100, Y: -500}} {
		w := goodWish(p, routing.Way)
		to := w.From.Add(d)
		w.To, w.Minutes = &to, 1
		_, err := p.Plan(context.Background(), w)
		var none *reach.Infeasible
		if !errors.As(err, &none) || none.Reason != reach.TooShort {
			continue
		}
		told++
		if none.Field != "minutes" || none.Unit != "s" || none.Short <= 0 || !none.Proved || len(none.Offers) != 1 || none.Offers[0].Minutes != math.Ceil((60+none.Short)/60) {
			t.Errorf("%+v", none)
		}
		w.Minutes = none.Offers[0].Minutes
		plan, err := p.Plan(context.Background(), w)
		if err != nil {
			t.Errorf("%g minutes were offered: %v", w.Minutes, err)
			continue
		}
		for i := range plan.Walks {
			if plan.Walks[i].DurationS > w.Minutes*60+1 {
				t.Errorf("%.0f s in %g minutes", plan.Walks[i].DurationS, w.Minutes)
			}
		}
		if w.Minutes--; w.Minutes > 0 {
			if _, err = p.Plan(context.Background(), w); !errors.As(err, &none) || none.Reason != reach.TooShort {
				t.Errorf("one minute less than offered: %v", err)
			}
		}
	}
	if told < 2 {
		t.Errorf("only %d ways were too long for a minute", told)
	}
}

// TestAskedTwiceIsToldTwice: a plan is the same each time, and stops where nobody waits.
func TestAskedTwiceIsToldTwice(t *testing.T) {
	p := plantest.Town(t)
	w := goodWish(p, routing.ThereAndBack)
	w.Minutes = 15
	a, err := p.Plan(context.Background(), w)
	if err != nil {
		t.Fatal(err)
	}
	b, err := p.Plan(context.Background(), w)
	if err != nil || !reflect.DeepEqual(a.Walks, b.Walks) || !slices.Equal(a.Notes, b.Notes) {
		t.Errorf("the same wish, and another plan: %v", err)
	}
	gone, cancel := context.WithCancel(context.Background())
	cancel()
	for _, s := range []routing.Shape{routing.Loop, routing.ThereAndBack, routing.Way, routing.LongestCalm, routing.Calmest} {
		if plan, err := p.Plan(gone, goodWish(p, s)); !errors.Is(err, context.Canceled) || plan != nil {
			t.Errorf("%s for nobody: %v", s, err)
		}
	}
}
