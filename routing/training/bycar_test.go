package training_test

import (
	"errors"
	"math"
	"testing"

	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/drive"
	"wideberth/routing/parking"
	"wideberth/routing/plantest"
	"wideberth/routing/training"
)

// TestVisitsByCar: from a door from where nothing is in reach on foot visits are driven
// to; each begins at a place for a car within the drive, costs no less than its stay, and
// can be had again from there. Without a drive there are none.
func TestVisitsByCar(t *testing.T) {
	p := plantest.Town(t)
	spots := parking.Find(p.Snapshot())
	if len(spots) == 0 {
		t.Fatal("the town has no place for a car")
	}
	w := visitsWish(p)
	w.ReachM, w.DriveMin, w.Spots = 30, 20, spots
	s := mustVisits(t, p, w)
	if err := holds(p, &w, s); err != nil {
		t.Error(err)
	}
	if len(s.Visits) == 0 {
		t.Fatalf("no visit by car: %+v", s.Lacks)
	}
	kerb, ok := p.Snapshot().Roads.Kerb(w.From, 300)
	if !ok {
		t.Fatal("no road at the door")
	}
	trips, err := p.Snapshot().Roads.From(kerb, 1200)
	if err != nil {
		t.Fatal(err)
	}
	defer trips.Release()
	for i := range s.Visits {
		v := &s.Visits[i]
		if v.Car == nil {
			t.Fatalf("visit %d is on foot, %.0f m", i, v.WalkM)
		}
		driveS := trips.Seconds(v.Car.Spot.Kerb) + drive.ParkingS
		if math.Abs(v.Car.DriveS-driveS) > 1e-6 || driveS > 1200 || v.WalkM > 500 || v.In.Line[0].DistanceM(v.Car.At()) > 3 || v.AsideX < 0 ||
			math.Abs(v.Leave.Sub(v.Departs()).Seconds()-driveS) > 1 || v.X < v.OtherX+v.WatchX+v.AsideX {
			t.Errorf("visit %d: %.0f s of drive, %.0f by the roads; %.0f m on foot; %+v", i, v.Car.DriveS, driveS, v.WalkM, v.Option)
		}
		car := v.Car.At()
		again, err := training.Again(t.Context(), p, w, training.Revisit{At: v.At, Source: v.Vantage.Watched.Source, Arrive: v.Arrive, StayS: v.StayS, Car: &car})
		if err != nil || math.Abs(again.X-v.X) > 1e-9 || !again.Leave.Equal(v.Leave) || again.Car.Spot.Name != v.Car.Spot.Name {
			t.Errorf("visit %d of %+v %v again: %+v, %v", i, v.Vantage, v.Arrive, again, err)
		}
	}
	car := plane.Point{X: 1, Y: 1}
	v := &s.Visits[0]
	var wrong fault.Problems
	if _, err := training.Again(t.Context(), p, w, training.Revisit{At: v.At, Source: v.Vantage.Watched.Source, Arrive: v.Arrive, StayS: v.StayS, Car: &car}); !errors.As(err, &wrong) || wrong[0].Pointer != "/car" {
		t.Errorf("from no place for a car: %v", err)
	}
	w.DriveMin = 0
	if s := mustVisits(t, p, w); len(s.Visits) > 0 {
		t.Errorf("%d visits without a car", len(s.Visits))
	}
}

// TestLimitOfVisits: a lower limit lets no dearer visit in, besides what is watched; and
// what it lets in a higher one lets in too.
func TestLimitOfVisits(t *testing.T) {
	p := plantest.Town(t)
	w := visitsWish(p)
	whole := false
	for _, most := range []float64{0.25, 0.5, 1, 2} {
		w.MaxX = most
		s := mustVisits(t, p, w)
		for i := range s.Visits {
			if v := &s.Visits[i]; v.BesidesX() > most || v.X < v.BesidesX() {
				t.Errorf("a limit of %g lets one of %g besides in, %g in all", most, v.BesidesX(), v.X)
			}
		}
		for _, l := range s.Lacks {
			if l.Why == training.LackReactions && l.Least <= most {
				t.Errorf("a limit of %g forbids %g", most, l.Least)
			}
		}
		if whole && !s.Complete {
			t.Errorf("whole at less, not at %g", most)
		}
		whole = s.Complete
	}
	w.MaxX = 0
	usual := mustVisits(t, p, w)
	w.MaxX = 0.25
	if said := mustVisits(t, p, w); len(said.Visits) != len(usual.Visits) || said.Considered != usual.Considered {
		t.Errorf("%d visits at 0.25, %d as usual", len(said.Visits), len(usual.Visits))
	}
}
