package training

import (
	"context"
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/exposure/learning"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/reach"
	"wideberth/routing/search"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/training/setup"
)

// mixed is a wish of the town that names a helper, and the search for it.
func mixed(t *testing.T, ctx context.Context, change func(*Wish)) *training {
	t.Helper()
	p, err := routing.NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	at := func(hour, minute int) time.Time { return time.Date(2026, 11, 28, hour, minute, 0, 0, time.UTC) }
	w := &Wish{From: maptest.Door(p.Frame()), Dog: maptest.Kessa(), Kinds: exposure.Dogs.Kinds(), Farthest: 2, Nearest: 1, MaxX: 0.5, ReachM: 2500, DriveMin: 20,
		Times: []time.Time{at(6, 30), at(8, 0), at(10, 0), at(12, 30), at(17, 20)}, Helper: &Helper{Kind: exposure.DogOnLead, Ground: setup.Green}}
	if change != nil {
		change(w)
	}
	tr, err := newTraining(ctx, p, w)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { tr.walk.Release() })
	return tr
}

// TestMeetingsAreCharged: what looking for ground takes is spent of the one budget of the
// search; short of it there are fewer set-ups, never others, and it is told; given up, there
// is the context's error and nothing else, also in the middle.
func TestMeetingsAreCharged(t *testing.T) {
	whole := mixed(t, t.Context(), nil)
	before := whole.work.Left()
	met, err := whole.meetings(t.Context())
	if err != nil || len(met) == 0 || whole.over() {
		t.Fatalf("%d set-ups, %v, stopped by %v", len(met), err, whole.stop)
	}
	did := before - whole.work.Left()
	if most := before / 10; did < int64(len(met))*layoutStepsForTest || did > most {
		t.Errorf("%d set-ups took %d steps of %d", len(met), did, before)
	}
	for _, share := range []int64{1, 30, 70, 99} {
		tr := mixed(t, t.Context(), nil)
		tr.work = search.NewWork(t.Context(), did*share/100)
		part, err := tr.meetings(t.Context())
		if err != nil || len(part) >= len(met) {
			t.Errorf("%d %% of the work: %d set-ups of %d, %v", share, len(part), len(met), err)
		}
		if cut, err := tr.ended(); !cut || err != nil {
			t.Errorf("%d %% of the work: nobody is told: %v", share, err)
		}
		for i := range part {
			if part[i].Meeting.Wish.Work != nil {
				t.Errorf("set-up %d keeps what the search had left", i)
			}
		}
	}
	for _, looks := range []int{0, 1, 3} {
		ctx := &impatient{Context: t.Context(), looks: looks}
		tr := mixed(t, t.Context(), nil)
		if part, err := tr.meetings(ctx); !errors.Is(err, context.Canceled) || len(part) > 0 {
			t.Errorf("given up after %d looks: %d set-ups, %v", looks, len(part), err)
		}
	}
	tr := mixed(t, t.Context(), nil)
	tr.work = search.NewWork(&impatient{Context: t.Context()}, math.MaxInt64)
	if part, err := tr.meetings(t.Context()); !errors.Is(err, context.Canceled) || len(part) > 0 {
		t.Errorf("given up by whoever asks: %d set-ups, %v", len(part), err)
	}
}

// layoutStepsForTest is the least that laying lines over one ground may be charged.
const layoutStepsForTest = 10_000

// impatient is a context that is given up after it was looked at so often.
type impatient struct {
	context.Context
	looks int
}

func (c *impatient) Err() error {
	if c.looks--; c.looks < 0 {
		return context.Canceled
	}
	return nil
}

// TestMeetingsOfTheTown: all on one ground, at the hours at which least else comes near it,
// as many as are told, each down to its own line by the one before; none where a bad day
// keeps the dog far, none without a drive or a road.
func TestMeetingsOfTheTown(t *testing.T) {
	tr := mixed(t, t.Context(), nil)
	met, err := tr.meetings(t.Context())
	if err != nil || len(met) == 0 {
		t.Fatalf("%d set-ups, %v", len(met), err)
	}
	drive, release, err := setup.ByCar(tr.p, tr.w.From, tr.w.DriveMin)
	if err != nil {
		t.Fatal(err)
	}
	defer release()
	car := met[0].Meeting.Setup.Car
	x := map[int64]float64{}
	var all []float64
	for _, at := range tr.w.Times {
		w := met[0].Meeting.Wish
		w.At, w.Steps, w.Car = at, tr.w.lines(), &car
		found, err := setup.Find(t.Context(), tr.p, w, drive)
		if err != nil {
			t.Fatal(err)
		}
		if len(found.Setups) > 0 {
			x[at.Unix()] = found.Setups[0].X
			all = append(all, found.Setups[0].X)
		}
	}
	slices.Sort(all)
	used := map[int64]bool{}
	for i := range met {
		o := &met[i]
		used[o.Arrive.Unix()] = true
		if o.Meeting.Setup.Car != car || *o.Meeting.Wish.Car != car {
			t.Errorf("set-up %d lies on other ground", i)
		}
		if got, ok := x[o.Arrive.Unix()]; !ok || got > all[min(len(all), 3)-1] {
			t.Errorf("set-up %d is at an hour that brings %g, the three quietest bring %v", i, got, all)
		}
		lines := o.Meeting.Setup.Lines
		if last := lines[len(lines)-1]; o.Multiple != last.Multiple || o.At != last.At[0] || o.DistM != last.NeedM || o.Sees.DistanceM(o.At) < o.DistM {
			t.Errorf("set-up %d stands at %+v, its last line is %+v", i, o.Vantage, last)
		}
		// P of the dog at that multiple of its distance: one in ten at the distance itself,
		// by the logistic form that the model states.
		if n := o.Multiple; n == 1 && math.Abs(o.WatchX-0.1) > 1e-9 || n > 1 && o.WatchX >= 0.1 {
			t.Errorf("at %g times it expects %g reactions to the helper", n, o.WatchX)
		}
		if o.Number != 1 || o.Active != 1 || math.Abs(o.BesidesX()-o.Meeting.Setup.X) > 1e-12 || o.StayS <= 0 || o.LastsHighS > o.StayS || o.TreatsLow > o.TreatsHigh || o.TreatsLow < 1 || o.byCar() != 1 {
			t.Errorf("set-up %d: %+v", i, o)
		}
		v := o.Meeting.visit(o)
		if !v.Leave.Before(v.Arrive) || v.In.Line[0] != v.Home.Line[len(v.Home.Line)-1] || v.In.Line[len(v.In.Line)-1] != v.Home.Line[0] || v.X != o.AboutX || v.In.LengthM != v.Home.LengthM {
			t.Errorf("set-up %d as a visit: %+v", i, v)
		}
	}
	if len(used) != min(3, len(all)) || len(met) != len(used)*len(tr.w.lines()) {
		t.Errorf("%d set-ups on %d lines at %d hours of %d", len(met), len(tr.w.lines()), len(used), len(all))
	}

	far := mixed(t, t.Context(), func(w *Wish) { w.Overs = []learning.Over{{At: w.Times[0].AddDate(0, 0, -1)}} })
	if met, err = far.meetings(t.Context()); err != nil || len(met) == 0 || slices.ContainsFunc(met, func(o Option) bool { return o.Multiple < learning.FarFrom }) {
		t.Errorf("after a bad day: %d set-ups, %v", len(met), err)
	}
	if met, err = mixed(t, t.Context(), func(w *Wish) { w.Helper = nil }).meetings(t.Context()); err != nil || met != nil {
		t.Errorf("no helper: %d set-ups, %v", len(met), err)
	}
	none := mixed(t, t.Context(), func(w *Wish) { w.From = w.From.Add(plane.Point{}) })
	none.w.From = plane.Point{X: 1e6, Y: 1e6} // no road is near
	if met, err = none.meetings(t.Context()); err != nil || met != nil || none.ground == nil || len(none.ground.Setups) > 0 {
		t.Errorf("without a road: %d set-ups, %+v, %v", len(met), none.ground, err)
	}
	var wrong fault.Problems
	bitten := mixed(t, t.Context(), func(w *Wish) { w.Dog.Cautions.BiteHistory = true })
	if _, err = bitten.meetings(t.Context()); !errors.As(err, &wrong) || len(wrong) != 2 {
		t.Errorf("a dog that has bitten: %v", err)
	}
	bitten.w.Helper.Who.Word = &setup.Word{ID: "w", By: "Tess", Text: "I hold the line."}
	if met, err = bitten.meetings(t.Context()); err != nil || len(met) == 0 || met[0].Meeting.Wish.Standing() == nil {
		t.Errorf("by a trainer's word: %d set-ups, %v", len(met), err)
	}
}

// TestDayOfRestInTheTown: a sequence asked for on days of rest only has no visit and says
// why; with a day for far steps among them its near steps are on the others.
func TestDayOfRestInTheTown(t *testing.T) {
	p, err := routing.NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	at := func(day, hour int) time.Time { return time.Date(2026, 11, day, hour, 20, 0, 0, time.UTC) }
	w := Wish{From: maptest.Door(p.Frame()), Dog: maptest.Kessa(), Kinds: exposure.Dogs.Kinds(), MaxX: 2, Times: []time.Time{at(28, 7), at(28, 17)}, Overs: []learning.Over{{At: at(27, 9), Harm: true}}}
	s, err := Visits(t.Context(), p, w)
	if err != nil || len(s.Visits) > 0 || len(s.Lacks) != 1 || s.Lacks[0].Why != LackRest || len(s.Respites) != 1 || !s.Respites[0].Rest || s.Zone == "" || len(s.Assumed) == 0 {
		t.Fatalf("%+v, %v", s, err)
	}
	w.Times, w.Overs = []time.Time{at(28, 7), at(28, 17), at(29, 7), at(29, 17)}, []learning.Over{{At: at(27, 9)}}
	if s, err = Visits(t.Context(), p, w); err != nil || len(s.Visits) == 0 || len(s.Respites) != 1 || s.Respites[0].Rest {
		t.Fatalf("%+v, %v", s, err)
	}
	near := 0
	for i := range s.Options {
		if o := &s.Options[i]; o.Multiple < learning.FarFrom {
			if near++; o.Arrive.Day() == 28 {
				t.Errorf("%g times on the day after a bad one", o.Multiple)
			}
		}
	}
	if near == 0 {
		t.Error("no near step at all")
	}
	for i := range s.Visits {
		if v := &s.Visits[i]; v.Earliest.Before(v.Arrive) || i > 0 && v.Earliest.Sub(s.Visits[i-1].Earliest) < 7*24*time.Hour-12*time.Hour {
			t.Errorf("step %d on %v", i+1, v.Earliest)
		}
	}
}

// TestHelperWantsADrive: a drive that a helper needs is asked for as a fault of the
// wish, not found out on the way.
func TestHelperWantsADrive(t *testing.T) {
	w := Wish{Dog: maptest.Kessa(), Kinds: exposure.Dogs.Kinds(), Farthest: 2, Nearest: 1, MaxX: 0.25, ReachM: 500, Times: []time.Time{maptest.Morning}, Helper: &Helper{Kind: exposure.DogOnLead}, Limits: reach.Limits{}}
	var wrong fault.Problems
	if err := w.check(); !errors.As(err, &wrong) || len(wrong) != 1 || wrong[0].Pointer != "/drive_minutes" {
		t.Errorf("on foot: %v", err)
	}
	if w.DriveMin = 20; w.check() != nil {
		t.Errorf("by car: %v", w.check())
	}
}
