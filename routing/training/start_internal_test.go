package training

import (
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/drive"
	"wideberth/routing/parking"
	"wideberth/routing/training/setup"
)

// TestDrivesOfTheTown: every place for a car within the drive and farther than a short walk,
// with parking in its minutes, and no other; a longer drive never loses one; none without
// one, nor from where no road is near.
func TestDrivesOfTheTown(t *testing.T) {
	tr := mixed(t, t.Context(), func(w *Wish) { w.Helper = nil })
	tr.w.Spots = parking.Find(tr.p.Snapshot())
	before := map[plane.Point]float64{}
	for _, minutes := range []float64{drive.ParkingS/60 + 0.5, 5, 20} {
		tr.w.DriveMin = minutes
		cars, err := tr.drives()
		if err != nil {
			t.Fatal(err)
		}
		now := map[plane.Point]float64{}
		for i := range cars {
			c := &cars[i]
			now[c.At()] = c.DriveS
			if c.DriveS > 60*minutes || c.DriveS < drive.ParkingS || c.At().DistanceM(tr.w.From) <= carsApartM {
				t.Errorf("%g min: a drive of %g s to %v", minutes, c.DriveS, c.At())
			}
		}
		for at, s := range before {
			if now[at] != s {
				t.Errorf("%g min: %v took %g s, now %g", minutes, at, s, now[at])
			}
		}
		before = now
	}
	if len(before) == 0 {
		t.Fatal("no place for a car at all")
	}
	kept, err := tr.cars()
	if err != nil || len(kept) == 0 || len(kept) > mostCars {
		t.Fatalf("%d looked at, %v", len(kept), err)
	}
	for i := range kept {
		if besideCarS*slices.Min(kept[i].rate) > besideShare*tr.w.MaxX || len(kept[i].rate) != len(tr.w.Times) {
			t.Errorf("beside car %d: %v", i, kept[i].rate)
		}
		for k := range i {
			if kept[i].At().DistanceM(kept[k].At()) < carsApartM {
				t.Errorf("cars %d and %d stand for one place", i, k)
			}
		}
	}
	// Beside the car: two minutes at its hazard, whatever is watched (worked out by hand).
	c, m := &kept[0], tr.moments[0]
	sum := 0.0
	for _, term := range tr.terms(c.Spot.Start.Edge, m) {
		sum += term.HazardPerS
	}
	if got := tr.asideX(&Vantage{}, c, m); math.Abs(got-120*sum) > 1e-12 || tr.asideX(&Vantage{}, nil, m) != 0 {
		t.Errorf("beside the car %g, want %g", got, 120*sum)
	}
	again, err := tr.carAt(c.At().Add(plane.Point{X: carRoundingM / 2}))
	if err != nil || again.At() != c.At() || again.DriveS != c.DriveS || tr.from.DistanceM(c.At()) > 1 {
		t.Errorf("the car is not found again: %+v, %v", again, err)
	}
	var wrong fault.Problems
	if _, err = tr.carAt(c.At().Add(plane.Point{X: 1e5})); !errors.As(err, &wrong) || wrong[0].Pointer != "/car" {
		t.Errorf("a car that is nowhere: %v", err)
	}
	for _, w := range []Wish{{From: tr.w.From, DriveMin: drive.ParkingS / 60}, {From: plane.Point{X: 1e6}, DriveMin: 20}} {
		tr.w.From, tr.w.DriveMin = w.From, w.DriveMin
		if cars, err := tr.drives(); err != nil || cars != nil {
			t.Errorf("%v, %g min: %d cars, %v", w.From, w.DriveMin, len(cars), err)
		}
	}
}

// TestDeparts: by so much earlier as the drive takes, to the car or to the ground of a
// meeting; on foot when the walk begins.
func TestDeparts(t *testing.T) {
	leave := time.Date(2026, 11, 28, 7, 0, 0, 0, time.UTC)
	foot := Visit{Leave: leave}
	car := Visit{Leave: leave, Option: Option{Car: &Car{DriveS: 600}}}
	met := Visit{Leave: leave, Option: Option{Meeting: &Meeting{Setup: setup.Setup{DriveS: 900}}}}
	for name, c := range map[string]struct {
		v *Visit
		s float64
	}{"on foot": {&foot, 0}, "by car": {&car, 600}, "to a meeting": {&met, 900}} {
		if got := c.v.Departs(); !got.Equal(leave.Add(-routing.Seconds(c.s))) {
			t.Errorf("%s: %v", name, got)
		}
	}
}
