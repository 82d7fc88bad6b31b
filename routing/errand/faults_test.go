package errand

import (
	"errors"
	"strings"
	"testing"
	"wideberth/osmdata/fault"
	"wideberth/routing"
	"wideberth/routing/snapshot/maptest"
)

func TestErrandFaults(t *testing.T) {
	p, err := routing.NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	good := func() Errand {
		return Errand{Wish: routing.Wish{From: maptest.Door(p.Frame()), Minutes: 30, Dog: maptest.Kessa(), Depart: maptest.Morning}, DriveMinutes: 15}
	}
	for pointer, spoil := range map[string]func(e *Errand){
		"/drive_minutes":       func(e *Errand) { e.DriveMinutes = 0 },
		"/drive_minutes ":      func(e *Errand) { e.DriveMinutes = 500 },
		"/minutes":             func(e *Errand) { e.Minutes = 4 },
		"/most":                func(e *Errand) { e.Most = -1 },
		"/shape":               func(e *Errand) { e.Shape = routing.Way },
		"/shape ":              func(e *Errand) { e.Shape = routing.LongestCalm },
		"/limits/max_slope":    func(e *Errand) { e.Limits.MaxSlope = 0.1 }, // of a map without heights
		"/limits/avoid_ways/0": func(e *Errand) { e.Limits.AvoidWays = []string{"No such street"} },
		"/strain":              func(e *Errand) { e.Strain = "loud" },
		"/free_hours":          func(e *Errand) { e.Free.Spans = []string{} },
		"/free_hours ":         func(e *Errand) { e.Free.Spans = []string{"07:00-07:20"} }, // shorter than the walk
		"/free_hours/spans/0":  func(e *Errand) { e.Free.Spans = []string{"noon"} },
		"/limits/within_m":     func(e *Errand) { e.Limits.WithinM = -1 },
	} {
		e := good()
		spoil(&e)
		_, err := New(p).Where(t.Context(), p, e)
		var wrong fault.Problems
		if !errors.As(err, &wrong) || len(wrong) != 1 || wrong[0].Pointer != strings.TrimSpace(pointer) || wrong[0].Mend == "" {
			t.Errorf("%s: %v", pointer, err)
		}
	}
	e := good()
	e.DriveMinutes, e.OnFoot, e.Strain = 0, true, "loud"
	e.Minutes, e.Most, e.Limits.AvoidWays = 500, 99, []string{"No such street"}
	var wrong fault.Problems
	if _, err := New(p).Where(t.Context(), p, e); !errors.As(err, &wrong) || len(wrong) != 4 {
		t.Errorf("four faults come together: %v", err)
	}
}
