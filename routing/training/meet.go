package training

import (
	"context"
	"errors"
	"math"
	"slices"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/reach"
	"wideberth/routing/training/setup"
)

// Helper is who is met where chance does not lead: a sequence that names one takes
// chance visits for its far half and set-ups for its near one.
type Helper struct {
	Kind     exposure.Kind
	Calm     setup.Calmness // "" for usual
	Ground   setup.Ground   // "" for parks
	Together bool           // ground with one way in for both, too
	Who      setup.Helper   // what else is known of it
}

// Meeting is a set-up as a step of a sequence.
type Meeting struct {
	Wish  setup.Wish // as it was asked for: asked again it is found again
	Setup setup.Setup
}

// Rules of mixed sequences (our assumptions).
const (
	meetBelow   = 1.5 // chance visits come down to here, set-ups go on from here
	mostMeetX   = 0.2 // expected reactions to everything else, as for a set-up by itself
	hoursByStep = 3   // the quietest hours that a step is offered at
)

// HelperSort is the sort of what is watched in a set-up.
const HelperSort = "helper"

// lines are the distances of set-ups, farthest first.
func (w *Wish) lines() (out []float64) {
	for _, m := range [...]float64{3, 2.5, 2, 1.75, 1.5, 1.25, 1} {
		if m <= w.Farthest+1e-9 && m >= w.Nearest-1e-9 {
			out = append(out, m)
		}
	}
	if n := len(out); n == 0 || out[n-1] > w.Nearest+1e-9 {
		out = append(out, w.Nearest)
	}
	const mostLines = 6
	return out[max(0, len(out)-mostLines):]
}

// meetings adds the steps that can be had with the helper: on the best ground within the
// drive, at the hours at which least else comes near, each from the farthest line by the
// one before down to its own. What that takes is charged to the work of the whole search:
// short of it, what was found until then holds.
func (t *training) meetings(ctx context.Context) (met []Option, err error) {
	h := t.w.Helper
	if h == nil {
		return nil, nil
	}
	drive, release, err := setup.ByCar(t.p, t.w.From, t.w.DriveMin)
	if none := (*reach.Infeasible)(nil); errors.As(err, &none) {
		t.ground = &setup.Found{}
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer release()
	lines := t.w.lines()
	base := setup.Wish{Dog: t.w.Dog, Kind: h.Kind, Calm: h.Calm, Helper: h.Who, Ground: h.Ground, Together: h.Together, MaxX: math.Min(mostMeetX, t.w.MaxX), Steps: lines, Factors: t.w.Factors, Work: t.work}
	for _, at := range t.w.Times {
		base.At = at
		if t.ground, err = t.find(ctx, base, drive); err != nil {
			return nil, err
		}
		if len(t.ground.Setups) > 0 || t.over() {
			break
		}
	}
	if len(t.ground.Setups) == 0 {
		return nil, nil
	}
	car := t.ground.Setups[0].Car
	base.Car = &car
	hours, err := t.quietest(ctx, base, drive)
	if err != nil {
		return nil, err
	}
	for i := range lines {
		base.Steps = slices.Compact([]float64{lines[0], lines[max(0, i-1)], lines[i]})
		for _, at := range hours {
			if t.w.tooNear(at, lines[i]) {
				continue
			}
			base.At = at
			found, err := t.find(ctx, base, drive)
			if err != nil {
				return nil, err
			}
			if len(found.Setups) > 0 {
				met = append(met, t.meeting(&base, &found.Setups[0]))
			}
		}
	}
	return met, nil
}

// find looks for set-ups on what work is left.
func (t *training) find(ctx context.Context, w setup.Wish, drive func(plane.Point) (float64, bool)) (*setup.Found, error) {
	found, err := setup.Find(ctx, t.p, w, drive)
	if err == nil && found.CutShort {
		t.spend(0) // the search as a whole is told
	}
	return found, err
}

// quietest are the times of the wish at which least else comes near the ground of a car.
func (t *training) quietest(ctx context.Context, base setup.Wish, drive func(plane.Point) (float64, bool)) (out []time.Time, err error) {
	x := map[time.Time]float64{}
	for _, at := range t.w.Times {
		base.At = at
		found, err := t.find(ctx, base, drive)
		if err != nil {
			return nil, err
		}
		if len(found.Setups) > 0 {
			x[at] = found.Setups[0].X
			out = append(out, at)
		}
	}
	slices.SortStableFunc(out, func(a, b time.Time) int {
		switch {
		case x[a] < x[b]:
			return -1
		case x[a] > x[b]:
			return 1
		}
		return a.Compare(b)
	})
	return out[:min(len(out), hoursByStep)], nil
}

// meeting is a set-up as an option: one trigger, which is known.
func (t *training) meeting(w *setup.Wish, s *setup.Setup) Option {
	last := &s.Lines[len(s.Lines)-1]
	stayS, near := 0.0, 0.0
	for _, p := range s.Clock.Phases {
		stayS = math.Max(stayS, 60*float64(p.ToMin))
		if p.Line == len(s.Lines)-1 {
			near += 60 * float64(p.ToMin-p.FromMin)
		}
	}
	m := &Meeting{Wish: *w, Setup: *s}
	car := *w.Car
	m.Wish.Car, m.Wish.Work = &car, nil
	c := Vantage{At: last.At[0], Street: s.Place, DistM: last.NeedM, Multiple: last.Multiple, Sees: s.Course.Helper[0], SightShare: 1, RoomM: openM, Grade: GradeB, WalkM: s.DogIn.LengthM(),
		Watched: Watched{Name: w.Kind.String(), Sort: HelperSort, Source: -1, At: s.Course.Helper[0], WorkingM: last.NeedM / last.Multiple}}
	if place, ok := t.p.Land().Snap.Graph.Near(c.At, math.Inf(1)); ok {
		c.Edge, c.OffM = place.Edge, place.DistM
	}
	show := Showing{Number: 1, Low: 1, High: 1, LastsLowS: near, LastsHighS: near, Active: 1, OtherX: s.X,
		WatchX:    t.w.Dog.Need(w.Kind).P(last.Multiple * t.w.Dog.Need(w.Kind).WorkingM), // as a chance one at that multiple
		TreatsLow: int(math.Ceil(near / routing.RewardSlowS)), TreatsHigh: int(math.Ceil(near / routing.RewardFastS))}
	o := Option{Place: Place{c, show}, Arrive: w.At.In(t.p.Zone()), StayS: stayS, AboutX: show.WatchX + show.OtherX, Meeting: m, Pin: 1 + placeIn(t.w.Pins, c.At), Kept: placeIn(t.w.Keep, c.At) >= 0}
	o.Class = classOf(&c, &show, near)
	return o
}

// visit is the step as a visit: over the ground from the car, and back.
func (m *Meeting) visit(o *Option) *Visit {
	way := func(line plane.Polyline) routing.Walk {
		return routing.Walk{Shape: routing.Way, Line: line, LengthM: line.LengthM(), DurationS: line.LengthM(), Quality: routing.Quality{WithinPct: -1}} // a metre a second
	}
	back := slices.Clone(m.Setup.DogIn)
	slices.Reverse(back)
	return &Visit{Option: *o, Leave: o.Arrive.Add(time.Duration(m.Setup.Clock.Dog.Entries[0].Min) * time.Minute), In: way(m.Setup.DogIn), Home: way(back), X: o.AboutX}
}

// misplaced says that a step is a set-up of the far half or a chance visit of the near one,
// where a helper is named.
func (o *Option) misplaced() bool {
	if o.Meeting != nil {
		return o.Multiple > meetBelow+1e-9
	}
	return o.Multiple < meetBelow*(1-bandShare)
}
