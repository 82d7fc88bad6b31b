package training_test

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/training"
)

// saturday is a day on which the town's dog field is in use.
func saturday(hour, minute int) time.Time {
	return time.Date(2026, 11, 28, hour, minute, 0, 0, time.UTC)
}

func visitsWish(p *routing.Planner) training.Wish {
	return training.Wish{From: maptest.Door(p.Frame()), Dog: maptest.Kessa(), Kinds: exposure.Dogs.Kinds(), MaxX: 2, Times: []time.Time{saturday(7, 20), saturday(10, 0), saturday(17, 20)}}
}

func mustVisits(t testing.TB, p *routing.Planner, w training.Wish) *training.Sequence {
	t.Helper()
	s, err := training.Visits(context.Background(), p, w)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestWaysAreWatchedAgain: a visit to a way can be had again at its own hour, the
// same, although by that hour alone other ways would carry the kinds.
func TestWaysAreWatchedAgain(t *testing.T) {
	p := plantest.Town(t)
	w := visitsWish(p)
	w.MaxX, w.Least = 8, training.GradeD
	w.Times = []time.Time{saturday(6, 30), saturday(8, 0), saturday(12, 0), saturday(15, 30), saturday(21, 0)}
	ways := 0
	for _, kinds := range [][]exposure.Kind{{exposure.DogOnLead}, exposure.People.Kinds(), exposure.Traffic.Kinds()} {
		w.Kinds = kinds
		for _, c := range []exposure.Category{exposure.People, exposure.Traffic} {
			w.Dog.ByCategory[c] = exposure.Need{WorkingM: 18, ReactionM: 7}
		}
		for _, v := range mustVisits(t, p, w).Visits {
			if v.Vantage.Watched.Source >= 0 {
				continue
			}
			ways++
			again, err := training.Again(t.Context(), p, w, training.Revisit{At: v.At, Source: -1, Arrive: v.Arrive, StayS: v.StayS})
			if err != nil || again.DistM != v.DistM || math.Abs(again.Number-v.Number) > 1e-9 {
				t.Errorf("%s from %s at %s, %.0f m: again %+v, %v", v.Vantage.Watched.Name, v.Street, v.Arrive.Format("15:04"), v.DistM, again, err)
			}
		}
	}
	if ways == 0 {
		t.Error("no way is watched")
	}
}

// TestEverySequenceHolds plans for doors, dogs, hours and limits drawn at random
// and holds each sequence against what is promised of it.
func TestEverySequenceHolds(t *testing.T) {
	p := plantest.Town(t)
	const seed = 21
	rng := rand.New(rand.NewPCG(seed, 1))
	visits, whole := 0, 0
	for i, from := range maptest.RandomDoors(p.Snapshot(), 14, rng) {
		w := visitsWish(p)
		w.From = from
		if rng.IntN(2) == 0 {
			w.From = maptest.Door(p.Frame())
		}
		w.Dog.ByCategory[exposure.Dogs] = exposure.Need{WorkingM: 25 + 25*rng.Float64(), ReactionM: 12}
		w.MaxX = 0.8 + 3*rng.Float64()
		w.Nearest, w.Farthest = 1+0.2*rng.Float64(), 1.8+0.4*rng.Float64()
		for k := range w.Times {
			w.Times[k] = w.Times[k].Add(time.Duration(rng.IntN(120)-60) * time.Minute)
		}
		s := mustVisits(t, p, w)
		visits += len(s.Visits)
		if s.Complete {
			whole++
		}
		if err := holds(p, &w, s); err != nil {
			t.Errorf("door %d (seed %d): %v", i, seed, err)
		}
	}
	if visits < 20 || whole < 3 {
		t.Errorf("%d visits, %d whole sequences (seed %d)", visits, whole, seed)
	}
}

// holds says in what a sequence breaks its promises.
func holds(p *routing.Planner, asked *training.Wish, s *training.Sequence) error {
	filled := *asked
	w := &filled
	w.Farthest, w.Nearest = cmp.Or(w.Farthest, 2), cmp.Or(w.Nearest, 1)
	if !s.Complete && len(s.Lacks) == 0 {
		return errors.New("not whole, and nothing says why")
	}
	if s.Complete && (s.Visits[0].Multiple < 0.85*w.Farthest-1e-9 || s.Visits[len(s.Visits)-1].Multiple > 1.15*w.Nearest+1e-9) {
		return fmt.Errorf("said to be whole from %.2f to %.2f", s.Visits[0].Multiple, s.Visits[len(s.Visits)-1].Multiple)
	}
	for i := range s.Options {
		if o := &s.Options[i]; o.Multiple < w.Nearest-1e-9 || o.Multiple > 1.15*w.Farthest+1e-9 || len(o.WaysOut) == 0 || o.AboutX-o.WatchX > w.MaxX {
			return fmt.Errorf("option %d at %.2f times with %d ways out costs %.2f", i, o.Multiple, len(o.WaysOut), o.AboutX)
		}
	}
	for i := range s.Visits {
		if err := visitHolds(p, w, &s.Visits[i]); err != nil {
			return fmt.Errorf("visit %d: %w", i+1, err)
		}
		if i == 0 {
			continue
		}
		before, after := &s.Visits[i-1], &s.Visits[i]
		if after.Multiple < 0.75*before.Multiple-1e-9 {
			return fmt.Errorf("visit %d comes from %.3f to %.3f times, more than a quarter nearer", i+1, before.Multiple, after.Multiple)
		}
		if len(after.Harder) == 0 || s.Order != training.NearerAndEase && len(after.Easier) > 0 || s.Order == training.OneHarder && len(after.Harder) > 1 {
			return fmt.Errorf("visit %d is harder in %q and easier in %q, the order is %s", i+1, after.Harder, after.Easier, s.Order)
		}
	}
	for i := range s.Visits {
		for _, k := range s.Visits[i].Alternatives {
			if k < len(s.Visits) || k >= len(s.Options) {
				return fmt.Errorf("visit %d has alternative %d of %d", i+1, k, len(s.Options))
			}
			if i > 0 && s.Options[k].Multiple < 0.75*s.Visits[i-1].Multiple-1e-9 || i+1 < len(s.Visits) && s.Visits[i+1].Multiple < 0.75*s.Options[k].Multiple-1e-9 {
				return fmt.Errorf("alternative %d of visit %d does not fit between its neighbours", k, i+1)
			}
		}
	}
	for _, l := range s.Lacks {
		if l.Why == "" {
			return fmt.Errorf("a lack that says nothing: %+v", l)
		}
	}
	return nil
}

func visitHolds(p *routing.Planner, w *training.Wish, v *training.Visit) error {
	in, home := &v.In, &v.Home
	switch {
	case v.Car == nil && in.DurationS < 300:
		return fmt.Errorf("the way in takes %.0f s", in.DurationS)
	case v.CalmInS < 0 || v.CalmInS > in.DurationS+1e-6:
		return fmt.Errorf("%.0f calm seconds of %.0f", v.CalmInS, in.DurationS)
	case v.X-v.WatchX > w.MaxX:
		return fmt.Errorf("costs %.2f, the limit is %.2f", v.X, w.MaxX)
	case math.Abs(v.X-in.ExpectedReactions-home.ExpectedReactions-v.AsideX-v.WatchX-v.OtherX) > 1e-9:
		return fmt.Errorf("costs %.4f, its parts %.4f, %.4f, %.4f, %.4f, %.4f", v.X, in.ExpectedReactions, home.ExpectedReactions, v.AsideX, v.WatchX, v.OtherX)
	case !slices.ContainsFunc(w.Times, v.Arrive.Equal):
		return fmt.Errorf("arrives at %v", v.Arrive)
	case math.Abs(v.Arrive.Sub(v.Leave).Seconds()-in.DurationS-v.OffM/w.Dog.PaceMPS()) > 1:
		return fmt.Errorf("leaves at %v, walks %.0f s, arrives at %v", v.Leave, in.DurationS, v.Arrive)
	case in.Line[len(in.Line)-1].DistanceM(v.At) > v.OffM+1 || home.Line[0].DistanceM(v.At) > v.OffM+1:
		return errors.New("the ways do not meet at the place")
	case home.Line[len(home.Line)-1].DistanceM(in.Line[0]) > 1:
		return errors.New("the way home does not end where one left")
	case math.Abs(float64(v.TreatsHigh)-math.Ceil(min(max(v.High, 1)*v.LastsHighS, v.StayS)/2)) > 1e-9: // one every two seconds: common practice
		return fmt.Errorf("%d pieces of food for up to %.0f triggers of up to %.0f s in %.0f s", v.TreatsHigh, v.High, v.LastsHighS, v.StayS)
	case v.TreatsLow > v.TreatsHigh || v.Low > v.High || v.LastsLowS > v.LastsHighS || v.Active < 0.5:
		return fmt.Errorf("shows %+v", v.Showing)
	case v.StayS < 300 || v.StayS > 600:
		return fmt.Errorf("stays %.0f s", v.StayS)
	}
	// How far it is, measured once more over the outline of what is watched.
	if src := v.Vantage.Watched.Source; src >= 0 {
		d := math.Inf(1)
		for _, a := range p.Snapshot().Field.Sources[src].Area {
			d = math.Min(d, a.DistanceM(v.At))
		}
		if !math.IsInf(d, 1) && math.Abs(d-v.DistM) > 0.1 || math.Abs(v.DistM/v.Vantage.Watched.WorkingM-v.Multiple) > 1e-9 {
			return fmt.Errorf("%.1f m by the outline, %.1f m told, %.3f times", d, v.DistM, v.Multiple)
		}
	}
	return wholeHolds(v)
}

// wholeHolds says in what the visit as one walk is not the sum of its parts.
func wholeHolds(v *training.Visit) error {
	w := v.Whole()
	if math.Abs(w.DurationS-v.In.DurationS-2*v.OverS-v.StayS-v.Home.DurationS) > 1e-6 || math.Abs(w.LengthM-v.In.LengthM-v.Home.LengthM) > 1e-6 {
		return fmt.Errorf("as one walk %.0f s and %.0f m", w.DurationS, w.LengthM)
	}
	if !slices.ContainsFunc(w.Watch, func(q routing.WatchPoint) bool { return q.What == training.StandPoint && q.At == v.At }) {
		return errors.New("as one walk it does not say where to stand")
	}
	last := -1.0
	for _, l := range w.Legs {
		for _, e := range l.Edges {
			if e.StartS < last {
				return fmt.Errorf("as one walk it goes back in time, to %.0f s from %.0f s", e.StartS, last)
			}
			last = e.StartS
		}
	}
	return nil
}

// TestSameWishSameSequence: the same wish gets the same answer, whatever was asked
// in between.
func TestSameWishSameSequence(t *testing.T) {
	p := plantest.Town(t)
	first := mustVisits(t, p, visitsWish(p))
	if len(first.Visits) < 3 || !first.Complete {
		t.Fatalf("%d visits, whole: %v", len(first.Visits), first.Complete)
	}
	for range 4 {
		again := mustVisits(t, p, visitsWish(p))
		if !reflect.DeepEqual(first, again) {
			t.Fatalf("%d visits and %d options, then %d and %d", len(first.Visits), len(first.Options), len(again.Visits), len(again.Options))
		}
	}
}

// TestPinsAndBans: what is banned is in no sequence and no alternative, what is
// pinned is in it or it is said why not, and what is to be kept is preferred.
func TestPinsAndBans(t *testing.T) {
	p := plantest.Town(t)
	w := visitsWish(p)
	free := mustVisits(t, p, w)
	at := func(o *training.Option, q plane.Point) bool { return o.At.DistanceM(q) < 40 }
	banned := w
	banned.Bans = []plane.Point{free.Visits[1].At}
	s := mustVisits(t, p, banned)
	for i := range s.Options {
		if at(&s.Options[i], banned.Bans[0]) {
			t.Errorf("option %d stands at a banned place", i)
		}
	}
	if err := holds(p, &banned, s); err != nil {
		t.Error(err)
	}
	pinned, kept := 0, 0
	for i := len(free.Visits); i < len(free.Options); i += 2 {
		place := free.Options[i].At
		pin := w
		pin.Pins = []plane.Point{place}
		s := mustVisits(t, p, pin)
		in := slices.ContainsFunc(s.Visits, func(v training.Visit) bool { return v.Pin == 1 && at(&v.Option, place) })
		told := slices.ContainsFunc(s.Lacks, func(l training.Lack) bool { return l.Why == "pin" })
		if in == told {
			t.Errorf("option %d pinned: in the sequence %v, told as missing %v", i, in, told)
		}
		if in {
			pinned++
		}
		keep := w
		keep.Keep = []plane.Point{place}
		if s := mustVisits(t, p, keep); slices.ContainsFunc(s.Visits, func(v training.Visit) bool { return v.Kept && at(&v.Option, place) }) {
			kept++
		}
	}
	if pinned == 0 || kept == 0 {
		t.Errorf("%d alternatives pinned and %d kept", pinned, kept)
	}
	nowhere := w
	nowhere.Pins = []plane.Point{w.From}
	if s := mustVisits(t, p, nowhere); !slices.ContainsFunc(s.Lacks, func(l training.Lack) bool {
		return l.Why == training.LackPin && l.Pin == 1
	}) {
		t.Errorf("a pin at the door is not told as missing: %+v", s.Lacks)
	}
}

// TestWhatCannotBeHad reaches each reason, with its numbers.
func TestWhatCannotBeHad(t *testing.T) {
	p := plantest.Town(t)
	for _, c := range []struct {
		why    training.LackWhy
		change func(w *training.Wish)
		holds  func(l *training.Lack) bool
	}{
		{"reactions", func(w *training.Wish) { w.MaxX = 0.05 }, func(l *training.Lack) bool {
			return l.Least > 0.05 && l.MaxX == 0.05 && l.DistM == 38*l.Multiple
		}},
		{"hours", func(w *training.Wish) { w.Times = []time.Time{saturday(2, 30)} }, func(l *training.Lack) bool { return l.Least == 0 && l.DistM > 0 }},
		{"ground", func(w *training.Wish) { w.ReachM = 40 }, func(l *training.Lack) bool { return l.Least == 0 && (l.NextM == 0 || l.NextM > 0 && l.DistM > 0) }},
		{"way_in", func(w *training.Wish) { w.Limits.WithinM, w.MaxX = 60, w.MaxX/4 }, func(l *training.Lack) bool { return l.Least == 0 && l.MaxX > 0 }},
	} {
		t.Run(string(c.why), func(t *testing.T) {
			w := visitsWish(p)
			c.change(&w)
			s := mustVisits(t, p, w)
			i := slices.IndexFunc(s.Lacks, func(l training.Lack) bool { return l.Why == c.why })
			if i < 0 {
				t.Fatalf("nothing is lacking for %s: %+v", c.why, s.Lacks)
			}
			if !c.holds(&s.Lacks[i]) {
				t.Errorf("says %+v", s.Lacks[i])
			}
		})
	}
}

// TestVisitIsTold: by its own ways a visit is told without a search: the same at its own
// hour, the same ground with other numbers at another. What is no way there, or none
// home, is refused by its field.
func TestVisitIsTold(t *testing.T) {
	p := plantest.Town(t)
	w := visitsWish(p)
	s := mustVisits(t, p, w)
	before := p.Land().Searches()
	for i := range s.Visits {
		v := &s.Visits[i]
		ways := v.Ways()
		o := training.Revisit{At: v.At, Source: v.Vantage.Watched.Source, Arrive: v.Arrive, StayS: v.StayS, Ways: &ways}
		told, err := training.Again(t.Context(), p, w, o)
		if err != nil {
			t.Fatalf("visit %d: %v", i+1, err)
		}
		if !reflect.DeepEqual(told.In, v.In) || !reflect.DeepEqual(told.Home, v.Home) || told.X != v.X || told.CalmInS != v.CalmInS || !told.Leave.Equal(v.Leave) {
			t.Errorf("visit %d is told as %.4f of %.0f m, was %.4f of %.0f m", i+1, told.X, told.In.LengthM, v.X, v.In.LengthM)
		}
		// On a map whose edges have other numbers, by the lines.
		o.Ways = &training.Ways{InLine: v.In.Line, HomeLine: v.Home.Line}
		matched, err := training.Again(t.Context(), p, w, o)
		if err != nil {
			t.Fatalf("visit %d by its lines: %v", i+1, err)
		}
		if !reflect.DeepEqual(matched.In, v.In) || !reflect.DeepEqual(matched.Home, v.Home) {
			t.Errorf("visit %d by its lines is %v and %v, was %v and %v", i+1, matched.In.Course, matched.Home.Course, v.In.Course, v.Home.Course)
		}
		o.Ways = &ways
		o.Arrive = saturday(17, 20)
		later, err := training.Again(t.Context(), p, w, o)
		if err != nil {
			t.Fatalf("visit %d later: %v", i+1, err)
		}
		if !slices.Equal(later.In.Course, v.In.Course) || !slices.Equal(later.Home.Course, v.Home.Course) || !v.Arrive.Equal(o.Arrive) && later.In.ExpectedReactions == v.In.ExpectedReactions {
			t.Errorf("visit %d later: %.5f reactions on the way in, was %.5f", i+1, later.In.ExpectedReactions, v.In.ExpectedReactions)
		}
		for name, c := range map[string]struct {
			ways  training.Ways
			field string
		}{
			"home and in exchanged": {training.Ways{In: ways.Home, Home: ways.In}, "/given/way_in"},
			"ends on the way":       {training.Ways{In: ways.In[:len(ways.In)-1], Home: ways.Home}, "/given/way_in"},
			"none home":             {training.Ways{In: ways.In}, "/given/way_home"},
			"begins at the door":    {training.Ways{In: ways.In, Home: ways.In}, "/given/way_home"},
			"lines exchanged":       {training.Ways{InLine: v.Home.Line, HomeLine: v.In.Line}, "/given/way_in"},
			"a street that is gone": {training.Ways{InLine: v.In.Line, HomeLine: plane.Polyline{v.At, {X: v.At.X + 300, Y: v.At.Y + 300}, w.From}}, "/given/way_home"},
		} {
			o.Ways = &c.ways
			var wrong fault.Problems
			if _, err := training.Again(t.Context(), p, w, o); !errors.As(err, &wrong) || wrong[0].Pointer != c.field {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
	if n := p.Land().Searches() - before; n != 0 {
		t.Errorf("%d searches for ways that were known", n)
	}
	v := &s.Visits[0]
	if _, err := training.Again(t.Context(), p, w, training.Revisit{At: v.At, Source: v.Vantage.Watched.Source, Arrive: v.Arrive, StayS: v.StayS}); err != nil || p.Land().Searches() != before+1 {
		t.Errorf("planned anew: %v, %d searches", err, p.Land().Searches()-before)
	}
}

// TestVisitAgain: a visit at its own hour is the same visit, at another hour it has
// other numbers at the same place; and each refusal says its reason.
func TestVisitAgain(t *testing.T) {
	p := plantest.Town(t)
	w := visitsWish(p)
	s := mustVisits(t, p, w)
	for i := range s.Visits {
		v := &s.Visits[i]
		again, err := training.Again(t.Context(), p, w, training.Revisit{At: v.At, Source: v.Vantage.Watched.Source, Arrive: v.Arrive, StayS: v.StayS})
		if err != nil {
			t.Fatalf("visit %d: %v", i+1, err)
		}
		if again.At != v.At || again.Multiple != v.Multiple || math.Abs(again.X-v.X) > 1e-9 || !again.Arrive.Equal(v.Arrive) || again.Class != v.Class {
			t.Errorf("visit %d again: %.3f times costs %.4f, was %.3f and %.4f", i+1, again.Multiple, again.X, v.Multiple, v.X)
		}
	}
	v := &s.Visits[0]
	o := training.Revisit{At: v.At, Source: v.Vantage.Watched.Source, Arrive: saturday(17, 20), StayS: 480}
	later, err := training.Again(t.Context(), p, w, o)
	if err != nil {
		t.Fatal(err)
	}
	if later.At != v.At || !later.Arrive.Equal(o.Arrive) || later.StayS != 480 || later.Number == v.Number {
		t.Errorf("later: %+v", later.Option)
	}
	for _, c := range []struct {
		name   string
		change func(w *training.Wish, o *training.Revisit)
		reason reach.Reason
	}{
		{"in the middle of the night", func(_ *training.Wish, o *training.Revisit) { o.Arrive = saturday(2, 30) }, reach.NobodyThen},
		{"with no way there", func(w *training.Wish, _ *training.Revisit) { w.Limits.WithinM = 45 }, reach.NoWayIn},
		{"at the door", func(_ *training.Wish, o *training.Revisit) { o.At = w.From }, reach.NoStand},
	} {
		w, o := w, o
		c.change(&w, &o)
		var none *reach.Infeasible
		if _, err := training.Again(t.Context(), p, w, o); !errors.As(err, &none) || none.Reason != c.reason {
			t.Errorf("%s: %v, want %s", c.name, err, c.reason)
		}
	}
	for name, change := range map[string]func(o *training.Revisit){
		"no such source": func(o *training.Revisit) { o.Source = 1 << 20 }, "no stay": func(o *training.Revisit) { o.StayS = 0 }, "no number": func(o *training.Revisit) { o.StayS = math.NaN() },
	} {
		o := o
		change(&o)
		var wrong fault.Problems
		if _, err := training.Again(t.Context(), p, w, o); !errors.As(err, &wrong) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestVantagesOfTheTown: every place keeps the band, the grade asked for and the
// reach, and the counts of the sieve go down.
func TestVantagesOfTheTown(t *testing.T) {
	p := plantest.Town(t)
	for _, multiple := range []float64{1, 1.5, 2} {
		w := training.VantageWish{From: maptest.Door(p.Frame()), Dog: maptest.Kessa(), Kinds: exposure.Dogs.Kinds(), Multiple: multiple, At: saturday(7, 20), Nearest: 1}
		s, err := training.Vantages(context.Background(), p, w)
		if err != nil {
			t.Fatal(err)
		}
		if len(s.Places) == 0 || s.Sieve.Apart != len(s.Places) {
			t.Errorf("%d places, %+v", len(s.Places), s.Sieve)
		}
		if v := s.Sieve; v.Active > v.Sources || v.Standable > v.InBand || v.InSight > v.Standable || v.WithWays > v.InSight || v.Apart > v.WithWays {
			t.Errorf("the sieve lets more through than is in it: %+v", v)
		}
		for _, c := range s.Places {
			if c.Multiple < max(1, 0.9*multiple) || c.Multiple > 1.1*multiple || c.WalkM > 2500 || c.SightShare < 0.3 || multiple < 1.36 && c.Grade > training.GradeB {
				t.Errorf("at %.2f times: %.2f times, grade %s, %.0f m on foot, %.2f in sight", multiple, c.Multiple, c.Grade, c.WalkM, c.SightShare)
			}
		}
	}
}

// wallWorld is a path of 670 m along a dog field that begins 12 m beside it; a wall
// hides the field's northern half from the path.
const wallWorld = `<osm version="0.6">
<node id="1" lat="47.3030" lon="-7.0000000"/><node id="2" lat="47.2970" lon="-7.0000000"/>
<node id="11" lat="47.3008095" lon="-6.9998413"/><node id="12" lat="47.3008095" lon="-6.9990480"/>
<node id="13" lat="47.2991905" lon="-6.9990480"/><node id="14" lat="47.2991905" lon="-6.9998413"/>
<node id="21" lat="47.3025" lon="-6.9998942"/><node id="22" lat="47.3000" lon="-6.9998942"/>
<way id="1"><nd ref="1"/><nd ref="2"/><tag k="highway" v="path"/><tag k="name" v="Wall Path"/></way>
<way id="2"><nd ref="11"/><nd ref="12"/><nd ref="13"/><nd ref="14"/><nd ref="11"/><tag k="leisure" v="dog_park"/><tag k="name" v="Brick Field"/></way>
<way id="3"><nd ref="21"/><nd ref="22"/><tag k="barrier" v="wall"/><tag k="height" v="2.2"/></way>
</osm>`

// TestWallHidesTheDogs: nobody is sent to stand behind a wall.
func TestWallHidesTheDogs(t *testing.T) {
	path := filepath.Join(t.TempDir(), "wall.osm")
	if err := os.WriteFile(path, []byte(wallWorld), 0o600); err != nil {
		t.Fatal(err)
	}
	p := plantest.On(t, maptest.Import(t, path))
	w := training.VantageWish{From: p.Frame().Forward(-7, 47.2972), Dog: maptest.Kessa(), Kinds: exposure.Dogs.Kinds(), Multiple: 0.5, At: saturday(10, 0), Least: training.GradeD, StayS: 1800}
	w.Dog.ByCategory[exposure.Dogs] = exposure.Need{WorkingM: 24, ReactionM: 10}
	s, err := training.Vantages(context.Background(), p, w)
	if err != nil {
		t.Fatal(err)
	}
	// 90 of 180 m of path are beside the wall; near its end some points of the field are seen past it.
	if share := float64(s.Sieve.InSight) / float64(s.Sieve.Standable); s.Sieve.Standable == 0 || share < 0.4 || share > 0.75 || len(s.Places) == 0 {
		t.Errorf("%d places, %+v", len(s.Places), s.Sieve)
	}
	for _, c := range s.Places {
		if _, lat := p.Frame().Inverse(c.At); lat > 47.3004 || c.Watched.Name != "Brick Field" || c.Street != "Wall Path" {
			t.Errorf("stands at %.5f on %s and watches %s", lat, c.Street, c.Watched.Name)
		}
	}
}

// TestFaultsOfVisits: every fault names its field.
func TestFaultsOfVisits(t *testing.T) {
	p := plantest.Town(t)
	for field, change := range map[string]func(w *training.Wish){
		"/kind": func(w *training.Wish) { w.Kinds = exposure.Sounds.Kinds() }, "/reach_m": func(w *training.Wish) { w.ReachM = -1 },
		"/nearest": func(w *training.Wish) { w.Nearest = 2.5 }, "/farthest": func(w *training.Wish) { w.Farthest = 4 },
		"/max_expected_reactions": func(w *training.Wish) { w.MaxX = math.NaN() }, "/times": func(w *training.Wish) { w.Times = nil },
		"/least_grade": func(w *training.Wish) { w.Least = "E" },
	} {
		w := visitsWish(p)
		change(&w)
		_, err := training.Visits(context.Background(), p, w)
		wantField(t, field, err)
	}
	for field, change := range map[string]func(w *training.VantageWish){
		"/multiple": func(w *training.VantageWish) { w.Multiple = math.NaN() }, "/at": func(w *training.VantageWish) { w.At = time.Time{} }, "/stay_minutes": func(w *training.VantageWish) { w.StayS = 5 },
	} {
		w := training.VantageWish{From: maptest.Door(p.Frame()), Dog: maptest.Kessa(), Kinds: exposure.Dogs.Kinds(), Multiple: 2, At: saturday(10, 0)}
		change(&w)
		_, err := training.Vantages(context.Background(), p, w)
		wantField(t, field, err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := training.Visits(ctx, p, visitsWish(p)); !errors.Is(err, context.Canceled) {
		t.Errorf("given up: %v", err)
	}
	far := visitsWish(p)
	far.From = plane.Point{X: 1e6}
	var none *reach.Infeasible
	if _, err := training.Visits(context.Background(), p, far); !errors.As(err, &none) || none.Reason != reach.OffTheMap {
		t.Errorf("off the map: %v", err)
	}
}

func wantField(t *testing.T, field string, err error) {
	t.Helper()
	var wrong fault.Problems
	if !errors.As(err, &wrong) || !slices.ContainsFunc(wrong, func(q fault.Problem) bool { return q.Pointer == field && q.Mend != "" }) {
		t.Errorf("%s: %v", field, err)
	}
}

// TestTrafficIsWatchedFromBesideIt: ways that carry a kind are watched as areas are,
// and a visit to one can be had again.
func TestTrafficIsWatchedFromBesideIt(t *testing.T) {
	p := plantest.Town(t)
	w := visitsWish(p)
	w.Dog.ByCategory[exposure.Traffic] = exposure.Need{WorkingM: 18, ReactionM: 7}
	w.Kinds, w.MaxX, w.Least = exposure.Traffic.Kinds(), 8, training.GradeD
	s := mustVisits(t, p, w)
	if len(s.Visits) == 0 {
		t.Fatalf("no visits: %+v", s.Lacks)
	}
	if err := holds(p, &w, s); err != nil {
		t.Error(err)
	}
	for i := range s.Visits {
		v := &s.Visits[i]
		if v.Vantage.Watched.Source >= 0 || v.Vantage.Watched.Sort != "road" {
			t.Errorf("visit %d watches %+v", i+1, v.Vantage.Watched)
		}
		again, err := training.Again(t.Context(), p, w, training.Revisit{At: v.At, Source: -1, Arrive: v.Arrive, StayS: v.StayS})
		if err != nil {
			t.Errorf("visit %d again: %v", i+1, err)
			continue
		}
		if again.At.DistanceM(v.At) > 1e-9 || math.Abs(again.Multiple-v.Multiple) > 1e-9 || math.Abs(again.Number-v.Number) > 1e-6 {
			t.Errorf("visit %d again: %.3f times and %.2f passing, was %.3f and %.2f", i+1, again.Multiple, again.Number, v.Multiple, v.Number)
		}
	}
}
