package escape_test

import (
	"context"
	"errors"
	"testing"

	"wideberth/exposure"
	"wideberth/routing/escape"
	"wideberth/routing/snapshot/maptest"
)

// TestWaysOutAlongAWalk: each place has all four sides, no first move leads up to
// the threat, and nearly all end out of sight or far enough.
func TestWaysOutAlongAWalk(t *testing.T) {
	land := on(t, maptest.Town(t))
	dog := maptest.Kessa()
	line := outAndBack(t, land)
	got, err := escape.WaysOutAlong(context.Background(), land, line, exposure.DogOnLead, &dog)
	if err != nil {
		t.Fatal(err)
	}
	places := int(line.LengthM()/escape.AlongStepM) + 1
	if len(got) != 4*places {
		t.Fatalf("%d answers for %d places", len(got), places)
	}
	into := map[escape.Side]escape.Move{escape.SideAhead: escape.MoveOn, escape.SideBehind: escape.MoveBack}
	works := 0
	for i := range got {
		o := &got[i]
		if o.First == into[o.Side] && o.Out.NearestM < o.Out.PresentM/2 {
			t.Errorf("at %.0f m with it %s: first %s, and it comes as near as %.0f m", o.AtM, o.Side, o.First, o.Out.NearestM)
		}
		if o.Out.Hidden || o.Out.EndsM >= dog.Need(exposure.DogOnLead).WorkingM-0.1 {
			works++
		}
	}
	if works < len(got)*9/10 {
		t.Errorf("only %d of %d ways out end out of sight or far enough", works, len(got))
	}
	stopped, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := escape.WaysOutAlong(stopped, land, line, exposure.DogOnLead, &dog); !errors.Is(err, context.Canceled) {
		t.Errorf("canceled: %v", err)
	}
}
