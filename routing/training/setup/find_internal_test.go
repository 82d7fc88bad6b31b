package setup

import (
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/drive"
	"wideberth/routing/plantest"
	"wideberth/routing/reach"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/yard"
)

// everywhere is a drive that reaches all, at ten metres a second from the town's door.
func everywhere(t testing.TB) func(at plane.Point) (float64, bool) {
	door := maptest.Door(maptest.Town(t).Frame)
	return func(at plane.Point) (float64, bool) { return at.DistanceM(door) / 10, true }
}

// asked is a wish that the town can grant.
func asked() Wish {
	return Wish{Dog: maptest.Kessa(), Kind: exposure.DogOnLead, Calm: Calm, Ground: Green, Together: true, At: time.Date(2026, 11, 28, 6, 30, 0, 0, time.UTC), MaxX: 5}
}

// TestFoundInTheTown: what is found stands on one of the town's yards, holds metre by
// metre, is ranked by what it costs, and says of itself what its clock and lines say.
func TestFoundInTheTown(t *testing.T) {
	p, s := plantest.Town(t), maptest.Town(t)
	found, err := Find(t.Context(), p, asked(), everywhere(t))
	if err != nil || len(found.Setups) == 0 {
		t.Fatalf("%+v, %v", found, err)
	}
	if math.Abs(found.WorkingM-0.8*38) > 1e-9 || found.MaxX != 5 || found.LeastX != 0 {
		t.Errorf("it says %+v", found)
	}
	if found.InReach < found.Quiet || found.Quiet < found.LookedAt || found.LookedAt < found.Laid || found.Laid < len(found.Setups) || found.InReach > len(s.Yards) {
		t.Errorf("%d in reach, %d quiet, %d looked at, %d laid out, %d kept", found.InReach, found.Quiet, found.LookedAt, found.Laid, len(found.Setups))
	}
	w := asked()
	if err := w.fill(); err != nil {
		t.Fatal(err)
	}
	l := newLayer(s, &w)
	for i := range found.Setups {
		u := &found.Setups[i]
		k := slices.IndexFunc(s.Yards, func(y yard.Yard) bool { return y.Car == u.Car })
		if k < 0 {
			t.Fatalf("set-up %d lies at no yard", i)
		}
		if err := holds(l, &s.Yards[k], &u.Course); err != nil {
			t.Errorf("set-up %d: %v", i, err)
		}
		if want, _ := everywhere(t)(u.Car); u.DriveS != want {
			t.Errorf("set-up %d: a drive of %g s, want %g s", i, u.DriveS, want)
		}
		sum := 0.0
		for j, e := range u.Else {
			sum += e.X
			if j > 0 && e.X > u.Else[j-1].X || e.X <= 0 {
				t.Errorf("set-up %d: what else comes is %+v", i, u.Else)
			}
		}
		if len(u.Else) > mostElse || sum > u.X+1e-9 || u.X > 5 {
			t.Errorf("set-up %d: %g of %g reactions are told apart", i, sum, u.X)
		}
		score := math.Max(u.X, 0.05) + 0.01/60*u.DriveS + 0.001*u.DogIn.LengthM()
		if u.Screen != nil {
			score -= 0.05
		}
		if math.Abs(score-u.score) > 1e-9 || i > 0 && u.score < found.Setups[i-1].score {
			t.Errorf("set-up %d has the score %g, want %g", i, u.score, score)
		}
		if least := nearest(u.Clock.Dog.Walk.Line, u.Clock.Helper.Walk.Line); least != u.LeastM {
			t.Errorf("set-up %d: %g m at the least, want %g m", i, u.LeastM, least)
		}
		if u.Place == "" {
			t.Errorf("set-up %d has no name", i)
		}
		for j := range i {
			if found.Setups[j].Car.DistanceM(u.Car) < 500 {
				t.Errorf("set-ups %d and %d share their ground", j, i)
			}
		}
	}
}

// TestFoundLess: each thing asked for in addition leaves out what it says: another car,
// ground that was struck, drives out of reach, a limit that nothing keeps.
func TestFoundLess(t *testing.T) {
	p := plantest.Town(t)
	all, err := Find(t.Context(), p, asked(), everywhere(t))
	if err != nil || len(all.Setups) == 0 {
		t.Fatalf("%+v, %v", all, err)
	}
	best := all.Setups[0]

	w := asked()
	w.Car = &plane.Point{X: best.Car.X + 0.5, Y: best.Car.Y} // went out in degrees and came back
	one, err := Find(t.Context(), p, w, everywhere(t))
	if err != nil || len(one.Setups) != 1 || one.Setups[0].Car != best.Car || one.InReach != 1 {
		t.Errorf("of one car: %+v, %v", one, err)
	}
	w.Car = &plane.Point{X: best.Car.X + 1.5, Y: best.Car.Y}
	if none, err := Find(t.Context(), p, w, everywhere(t)); err != nil || none.InReach != 0 || len(none.Setups) != 0 {
		t.Errorf("of a car that is none: %+v, %v", none, err)
	}

	w = asked()
	w.Struck = []reach.Circle{{At: best.Car.Add(plane.Point{X: 30}), RadiusM: 30}}
	other, err := Find(t.Context(), p, w, everywhere(t))
	if err != nil || other.InReach >= all.InReach || slices.ContainsFunc(other.Setups, func(s Setup) bool { return s.Car == best.Car }) {
		t.Errorf("the best struck out: %+v, %v", other, err)
	}

	near, err := Find(t.Context(), p, asked(), func(at plane.Point) (float64, bool) { return 60, at.DistanceM(best.Car) < 800 })
	if err != nil || near.InReach >= all.InReach || len(near.Setups) == 0 {
		t.Errorf("within 800 m: %+v, %v", near, err)
	}
	for _, s := range near.Setups {
		if s.Car.DistanceM(best.Car) >= 800 || s.DriveS != 60 {
			t.Errorf("a car %.0f m off, %g s of driving", s.Car.DistanceM(best.Car), s.DriveS)
		}
	}
	if none, err := Find(t.Context(), p, asked(), func(plane.Point) (float64, bool) { return 0, false }); err != nil || none.InReach != 0 || none.LookedAt != 0 {
		t.Errorf("nothing in reach: %+v, %v", none, err)
	}

	// At a busy hour and with a limit just below what the quietest has, that is told.
	w = asked()
	w.At = time.Date(2026, 7, 11, 16, 0, 0, 0, time.UTC)
	loose, err := Find(t.Context(), p, w, everywhere(t))
	if err != nil || len(loose.Setups) == 0 {
		t.Fatalf("in summer: %+v, %v", loose, err)
	}
	quietest := math.Inf(1)
	for _, s := range loose.Setups {
		quietest = math.Min(quietest, s.X)
	}
	w.MaxX = quietest * 0.999
	tight, err := Find(t.Context(), p, w, everywhere(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range tight.Setups {
		if s.X > w.MaxX {
			t.Errorf("%g reactions are allowed, it has %g", w.MaxX, s.X)
		}
	}
	if len(tight.Setups) == 0 && tight.Laid > 0 && !(tight.LeastX > w.MaxX) {
		t.Errorf("the quietest is said to have %g, allowed are %g", tight.LeastX, w.MaxX)
	}
	w.At, w.MaxX = time.Time{}, 0.2
	var wrong fault.Problems
	if _, err := Find(t.Context(), p, w, everywhere(t)); !errors.As(err, &wrong) || wrong[0].Pointer != "/at" {
		t.Errorf("without a time: %v", err)
	}
}

// TestElseAtAPlace: what comes near a place is what the nearest way explains, with what
// passes on that way met from as far off as it lies, and sources from the place itself.
func TestElseAtAPlace(t *testing.T) {
	p := plantest.Town(t)
	w := asked()
	if err := w.fill(); err != nil {
		t.Fatal(err)
	}
	f := &finder{land: p.Land(), w: &w, m: p.Land().Clock.At(time.Date(2026, 7, 11, 16, 0, 0, 0, time.UTC)), rest: w.Dog}
	f.rest.SpeedMPS = atRestMPS
	s := maptest.Town(t)
	own, sources := 0, 0
	for e := int32(0); e < int32(s.Graph.EdgeCount()); e += 37 {
		line := s.Graph.EdgeLine(e)
		d := line.DirectionAt(line.LengthM() / 2)
		at := line.At(line.LengthM() / 2).Add(plane.Point{X: -d.Y, Y: d.X}.Mul(15))
		place, near := s.Graph.Near(at, wayOffM)
		if !near {
			continue
		}
		want := 0.0
		for _, term := range s.Field.Explain(place.Edge, &f.rest, f.m, nil) {
			need := f.rest.Need(term.Kind)
			switch {
			case term.Own:
				want += term.RatePerS * need.P(place.DistM) * 25 * 60
				own++
			case term.Source >= 0:
				from, _ := s.Field.Source(term.Source).Nearest(at)
				if term.P > 0 {
					want += term.HazardPerS * need.P(from) / term.P * 25 * 60
				} else {
					want += term.HazardPerS * 25 * 60
				}
				sources++
			default:
				want += term.HazardPerS * 25 * 60
			}
		}
		if got, _ := f.elseAt(at); math.Abs(got-want) > 1e-9+1e-6*want {
			t.Errorf("15 m off edge %d: %g reactions, want %g", e, got, want)
		}
	}
	if own == 0 || sources == 0 {
		t.Errorf("%d terms of the way, %d of sources: too few", own, sources)
	}
	if x, what := f.elseAt(farOff); x != 0 || len(what) != 0 || what == nil {
		t.Errorf("where no way is: %g, %v", x, what)
	}
}

// TestPlaceOfASetUp: the smallest named area about the helper, else the nearest named
// street within 300 m of the car, else nothing.
func TestPlaceOfASetUp(t *testing.T) {
	p, s := plantest.Town(t), maptest.Town(t)
	w := asked()
	f := &finder{land: p.Land(), w: &w}
	named, streets := 0, 0
	for i := range s.Yards {
		for _, off := range []plane.Point{{}, {X: 60, Y: -40}, {X: -90, Y: 100}} {
			u := Setup{Car: s.Yards[i].Car}
			u.Course.Helper = plane.Polyline{u.Car.Add(off)}
			want, least := "", math.Inf(1)
			for _, g := range s.Ground.AllGrounds() {
				if m := g.Area.AreaM2(); g.Name != "" && g.Area.Contains(u.Course.Helper[0]) && m < least {
					want, least = g.Name, m
				}
			}
			if want != "" {
				named++
			} else {
				least = 300
				for e := range int32(s.Graph.EdgeCount()) {
					name := s.Graph.Names[s.Graph.Parts[s.Graph.PartAt[e]].Name]
					if _, _, d := s.Graph.EdgeLine(e).Nearest(u.Car); name != "" && d < least {
						want, least = name, d
					}
				}
				streets++
			}
			if got := f.placeOf(&u); got != want {
				t.Errorf("yard %d is called %q, want %q", i, got, want)
			}
		}
	}
	if named == 0 || streets == 0 {
		t.Errorf("%d places in named areas, %d at streets", named, streets)
	}
	if got := f.placeOf(&Setup{Car: farOff, Course: Course{Helper: plane.Polyline{farOff}}}); got != "" {
		t.Errorf("far off it is called %q", got)
	}
}

// TestByCar: drives take what the road network says and two minutes to park, within the
// minutes asked for; a door far from any road has none.
func TestByCar(t *testing.T) {
	p, s := plantest.Town(t), maptest.Town(t)
	door := maptest.Door(s.Frame)
	for _, minutes := range []float64{3, 6, 30} {
		to, release, err := ByCar(p, door, minutes)
		if err != nil {
			t.Fatal(err)
		}
		kerb, _ := s.Roads.Kerb(door, 300)
		trips, err := s.Roads.From(kerb, 3600)
		if err != nil {
			t.Fatal(err)
		}
		for i := range s.Yards {
			k, ok := s.Roads.Kerb(s.Yards[i].Car, 300)
			want := trips.Seconds(k) + drive.ParkingS
			got, in := to(s.Yards[i].Car)
			if in != (ok && want <= 60*minutes) || in && math.Abs(got-want) > 1e-6 {
				t.Errorf("yard %d: %g s, in reach %v; the roads say %g s of %g min", i, got, in, want, minutes)
			}
		}
		if s, in := to(farOff); in {
			t.Errorf("far off within %g s", s)
		}
		trips.Release()
		release()
	}
	to, release, err := ByCar(p, door, 1) // less than it takes to park
	if err != nil {
		t.Fatal(err)
	}
	if _, in := to(s.Yards[0].Car); in {
		t.Error("a minute is enough to drive and park")
	}
	release()
	_, _, err = ByCar(p, farOff, 10)
	var none *reach.Infeasible
	if !errors.As(err, &none) || none.Reason != reach.NothingInRange || none.Field != "drive_minutes" || none.Short != 600 || none.Unit != "s" {
		t.Errorf("no road: %v", err)
	}
}

// TestBoundsOfAWish: what stands at a bound is taken, what lies past it is named with its
// field, its value and the mend.
func TestBoundsOfAWish(t *testing.T) {
	big := func(m float64) exposure.Dog {
		return exposure.Dog{ByCategory: map[exposure.Category]exposure.Need{exposure.Dogs: {WorkingM: m, ReactionM: m / 2}, exposure.Sounds: {WorkingM: 30, ReactionM: 10}}}
	}
	for _, c := range []struct {
		what string
		to   func(w *Wish)
		want []fault.Problem
	}{
		{"as asked", func(*Wish) {}, nil},
		{"defaults", func(w *Wish) { *w = Wish{Dog: w.Dog, Kind: w.Kind, At: w.At} }, nil},
		{"bounds", func(w *Wish) { w.LineM, w.MaxX, w.Steps = 20, 5, []float64{3, 2.5, 2, 1.5, 1, 0.5} }, nil},
		{"the other bound", func(w *Wish) { w.LineM, w.Steps = 80, []float64{1} }, nil},
		{"100 m", func(w *Wish) { w.Dog, w.Calm = big(100), Usual }, nil},
		{"125 m, calm", func(w *Wish) { w.Dog, w.Calm = big(125), Calm }, nil},
		{"80 m, lively", func(w *Wish) { w.Dog, w.Calm = big(80), Lively }, []fault.Problem{{Pointer: "/helper/kind", Value: "dog_on_lead", Mend: "no ground is laid out for working distances above 100 m: begin with visits from afar"}}},
		{"calm about it", func(w *Wish) { w.Kind = exposure.Car }, []fault.Problem{{Pointer: "/helper/kind", Value: "car", Mend: "the dog has no working distance for it: name a kind that it reacts to"}}},
		{"stays", func(w *Wish) { w.Dog, w.Kind = big(30), exposure.Bells }, []fault.Problem{{Pointer: "/helper/kind", Value: "bells", Mend: "name a kind that moves, like dog, adult or bicycle"}}},
		{"seven steps", func(w *Wish) { w.Steps = []float64{3, 2.5, 2, 1.5, 1.25, 1, 0.5} }, []fault.Problem{{Pointer: "/steps", Value: "7", Mend: "give up to six"}}},
		{"a step past", func(w *Wish) { w.Steps = []float64{3.01, 0.49} }, []fault.Problem{
			{Pointer: "/steps/0", Value: "3.01", Mend: "give multiples of the working distance from 3 to 0.5, each less than the one before"},
			{Pointer: "/steps/1", Value: "0.49", Mend: "give multiples of the working distance from 3 to 0.5, each less than the one before"}}},
		{"no nearer", func(w *Wish) { w.Steps = []float64{2, 2} }, []fault.Problem{{Pointer: "/steps/1", Value: "2", Mend: "give multiples of the working distance from 3 to 0.5, each less than the one before"}}},
		{"a mode twice", func(w *Wish) { w.Modes = []Mode{Stand, Passing, Stand} }, []fault.Problem{{Pointer: "/modes/2", Value: "stand", Mend: "use stand, side_by_side, passing and approach, each once"}}},
		{"short and long", func(w *Wish) { w.LineM = 19.9 }, []fault.Problem{{Pointer: "/line_m", Value: "19.9", Mend: "give 20 to 80 m"}}},
		{"long", func(w *Wish) { w.LineM = 80.1 }, []fault.Problem{{Pointer: "/line_m", Value: "80.1", Mend: "give 20 to 80 m"}}},
		{"too much else", func(w *Wish) { w.MaxX = 5.1 }, []fault.Problem{{Pointer: "/max_expected_reactions", Value: "5.1", Mend: "give more than 0, up to 5"}}},
		{"no number", func(w *Wish) { w.MaxX = math.NaN() }, []fault.Problem{{Pointer: "/max_expected_reactions", Value: "NaN", Mend: "give more than 0, up to 5"}}},
	} {
		w := asked()
		c.to(&w)
		err := w.fill()
		var got fault.Problems
		errors.As(err, &got)
		if !slices.Equal(got, c.want) || (err == nil) != (len(c.want) == 0) {
			t.Errorf("%s: %v, want %v", c.what, err, fault.Problems(c.want))
		}
	}
	w := Wish{Dog: big(40), Kind: exposure.DogOnLead, At: maptest.Morning}
	if err := w.fill(); err != nil {
		t.Fatal(err)
	}
	if w.Calm != Usual || w.Ground != Parks || !slices.Equal(w.Steps, []float64{2, 1.5, 1.25, 1}) || !slices.Equal(w.Modes, []Mode{Stand, SideBySide, Passing}) || w.LineM != 40 || w.MaxX != 0.2 || w.workingM() != 40 {
		t.Errorf("what was not said is %+v", w)
	}
	for calm, want := range map[Calmness]float64{Calm: 32, Usual: 40, Lively: 52} {
		if w.Calm = calm; math.Abs(w.workingM()-want) > 1e-9 {
			t.Errorf("with a %s helper the dog works from %g m, want %g m", calm, w.workingM(), want)
		}
	}
}
