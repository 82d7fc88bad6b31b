package escape_test

import (
	"math"
	"slices"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/escape"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// TestAid: from a loose dog that comes there is food, something between and a call, and
// never a way that outruns it; from wheels a side with its metres. What is told near is
// near, of different sorts, not beyond the threat, and a figure for none is below 0.
func TestAid(t *testing.T) {
	s := maptest.Town(t)
	land := on(t, s)
	dog := exposure.DefaultDog()
	between, stood, stepped, sides := 0, 0, 0, map[escape.Move]bool{}
	for e := int32(0); e < int32(s.Graph.EdgeCount()); e += 5 {
		line := s.Graph.EdgeLine(e)
		at := line.At(line.LengthM() / 2)
		ahead := line.DirectionAt(line.LengthM() / 2)
		threat := escape.Threat{At: at.Add(ahead.Mul(30)), SpeedMPS: 3, Kind: exposure.DogOffLead}
		aid, err := escape.AidFrom(land, at, threat)
		if err != nil {
			t.Fatal(err)
		}
		if aid.Do[0] != escape.FoodOnTheGround || aid.Do[len(aid.Do)-1] != escape.CallOut || slices.Contains(aid.Do, escape.SomethingBetween) != (len(aid.Cover) > 0) {
			t.Errorf("edge %d: %v with %d things near", e, aid.Do, len(aid.Cover))
		}
		seen := map[snapshot.CoverKind]bool{}
		for i, c := range aid.Cover {
			sides[c.Side] = true
			if c.DistM > 26 || c.At.DistanceM(threat.At) < 0.85*at.DistanceM(threat.At) || seen[c.Kind] || i > 0 && c.DistM < aid.Cover[i-1].DistM || math.Abs(c.At.DistanceM(at)-c.DistM) > 1 {
				t.Errorf("edge %d: %+v", e, c)
			}
			seen[c.Kind] = true
		}
		if (aid.SideM < 0) != (aid.Side == "") || aid.SideM == 0 {
			t.Errorf("edge %d: %g m to the %q", e, aid.SideM, aid.Side)
		}
		calm, brisk, err := escape.WaysOut(land, at, threat, dog)
		if err != nil {
			t.Fatal(err)
		}
		for _, out := range []escape.WayOut{calm, brisk} {
			switch {
			case out.Means == escape.Between && len(aid.Cover) > 0 && out.Stand == aid.Cover[0].At && out.Seconds >= 0:
				between++
			case out.Means == escape.Stand && len(aid.Cover) == 0 && out.Seconds == escape.NoneInReach:
				stood++
			default:
				t.Errorf("edge %d: %s for %g s with %d things near", e, out.Means, out.Seconds, len(aid.Cover))
			}
		}
		threat.Kind = exposure.Bicycle
		wheels, err := escape.AidFrom(land, at, threat)
		if err != nil || (len(wheels.Do) > 0) != (wheels.SideM > 0) {
			t.Errorf("edge %d: %v with %g m, %v", e, wheels.Do, wheels.SideM, err)
		}
		if wheels.SideM > 0 {
			stepped++
			// The side is the one with more room, for who faces the bicycle.
			b := s.Field.Sides(e, false)
			if more := max(b.Left.LowM, b.Right.LowM); math.Abs(math.Min(float64(more), escape.MostAsideM)-wheels.SideM) > 1e-3 {
				t.Errorf("edge %d: %g m, the better side has %g", e, wheels.SideM, more)
			}
		}
	}
	if between == 0 || stood == 0 || stepped == 0 || len(sides) < 2 {
		t.Errorf("%d with something between, %d without, %d step off, sides %v: too much alike", between, stood, stepped, sides)
	}
}

// TestCoverIsReached: nothing is told that lies behind a wall.
func TestCoverIsReached(t *testing.T) {
	w := &snapshot.GroundPlan{Covers: []snapshot.Cover{{Kind: snapshot.Gate, At: plane.Point{X: 10}}, {Kind: snapshot.Shelter, At: plane.Point{X: -10}}}}
	near := w.CoverNear(plane.Point{}, 12)
	if len(near) != 2 || len(w.CoverNear(plane.Point{X: 100}, 12)) != 0 || len(w.CoverNear(plane.Point{X: 2}, 9)) != 1 {
		t.Errorf("%v are near", near)
	}
}
