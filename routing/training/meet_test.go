package training_test

import (
	"errors"
	"math"
	"slices"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata/fault"
	"wideberth/routing/parking"
	"wideberth/routing/plantest"
	"wideberth/routing/training"
	"wideberth/routing/training/setup"
)

// TestMixedSequence: with a helper the near half is set-ups and the far one chance visits,
// in one order of steps; each set-up is found again by its own wish, comes down to its
// distance and no nearer, and costs no more than is allowed.
func TestMixedSequence(t *testing.T) {
	p := plantest.Town(t)
	w := visitsWish(p)
	w.MaxX, w.DriveMin, w.Spots = 0.5, 20, parking.Find(p.Snapshot())
	w.Times = append(w.Times, saturday(6, 30))
	w.Helper = &training.Helper{Kind: exposure.DogOnLead, Ground: setup.Green}
	s := mustVisits(t, p, w)
	if !s.Complete {
		t.Fatalf("not whole: %+v", s.Lacks)
	}
	met, chance := 0, 0
	for i := range s.Visits {
		v := &s.Visits[i]
		if i > 0 && v.Multiple < 0.75*s.Visits[i-1].Multiple-1e-9 {
			t.Errorf("step %d comes from %g to %g", i+1, s.Visits[i-1].Multiple, v.Multiple)
		}
		if v.BesidesX() > 0.5 {
			t.Errorf("step %d costs %g besides", i+1, v.BesidesX())
		}
		if v.Meeting == nil {
			chance++
			if v.Multiple < 1.35 {
				t.Errorf("a chance visit at %g", v.Multiple)
			}
			continue
		}
		met++
		m := v.Meeting
		// Sunrise at 47.2 N, 7 W late in November is at about 07:50 GMT (from memory).
		if early := m.Wish.At.Hour() < 8; m.Setup.Dark != early {
			t.Errorf("step %d at %s: dark %v", i+1, m.Wish.At, m.Setup.Dark)
		}
		last := m.Setup.Lines[len(m.Setup.Lines)-1]
		if v.Multiple > 1.5 || last.Multiple != v.Multiple || math.Abs(v.DistM-38*v.Multiple) > 1e-9 || v.OtherX > 0.2 || v.Number != 1 || !v.Arrive.Equal(m.Wish.At) || !v.Departs().Before(v.Leave) || !v.Leave.Before(v.Arrive) {
			t.Errorf("step %d: %+v", i+1, v.Option)
		}
		drive, release, err := setup.ByCar(p, w.From, w.DriveMin)
		if err != nil {
			t.Fatal(err)
		}
		again, err := setup.Find(t.Context(), p, m.Wish, drive)
		release()
		if err != nil || len(again.Setups) != 1 || again.Setups[0].X != m.Setup.X || !slices.Equal(again.Setups[0].DogIn, m.Setup.DogIn) {
			t.Errorf("step %d is not found again: %v", i+1, err)
		}
	}
	if met == 0 || chance == 0 {
		t.Errorf("%d set-ups and %d chance visits", met, chance)
	}
	// No park of the town is quiet enough: that is told with its numbers.
	w.Helper = &training.Helper{Kind: exposure.DogOnLead, Ground: setup.Parks}
	if s := mustVisits(t, p, w); !slices.ContainsFunc(s.Lacks, func(l training.Lack) bool { return l.Why == training.LackHelper && l.Ground != nil }) {
		t.Errorf("nothing is said of the lack of ground: %+v", s.Lacks)
	}
	w.DriveMin = 0
	var wrong fault.Problems
	if _, err := training.Visits(t.Context(), p, w); !errors.As(err, &wrong) || wrong[0].Pointer != "/drive_minutes" {
		t.Errorf("met on foot: %v", err)
	}
}
