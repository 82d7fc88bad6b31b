package escape

import (
	"testing"

	"wideberth/osmdata/plane"
)

// TestMovesAreToldAsOneWalks: the cases are worked by hand on squared paper, x to
// the east and y to the north. After turning round, sides are those of who has turned.
func TestMovesAreToldAsOneWalks(t *testing.T) {
	north, east := plane.Point{Y: 1}, plane.Point{X: 1}
	line := func(xy ...float64) (l plane.Polyline) {
		for i := 0; i < len(xy); i += 2 {
			l = append(l, plane.Point{X: xy[i], Y: xy[i+1]})
		}
		return l
	}
	for _, c := range []struct {
		name        string
		facing      plane.Point
		out         WayOut
		first, then Move
	}{
		{"straight on", north, WayOut{Line: line(0, 0, 0, 60)}, MoveOn, ""},
		{"round and straight back", north, WayOut{Line: line(0, 0, 0, -60)}, MoveBack, ""},
		{"round, then east, which is left for who walks south", north, WayOut{Line: line(0, 0, 0, -30, 40, -30)}, MoveBack, MoveLeft},
		{"round, then west, which is right for who walks south", north, WayOut{Line: line(0, 0, 0, -30, -40, -30)}, MoveBack, MoveRight},
		{"facing east, off to the north is left", east, WayOut{Line: line(0, 0, 0, 50)}, MoveLeft, ""},
		{"facing east, straight on and then south is right", east, WayOut{Line: line(0, 0, 30, 0, 30, -30)}, MoveOn, MoveRight},
		{"a bend of 30 degrees is no turn", north, WayOut{Line: line(0, 0, 0, 30, 20, 64.6)}, MoveOn, ""},
		{"a step to the west is left for who faces north", north, WayOut{Line: line(0, 0), Aside: "right", Stand: plane.Point{X: -7}}, MoveAsideLeft, ""},
		{"the place decides, not the side told to who faces the threat", east, WayOut{Line: line(0, 0), Aside: "left", Stand: plane.Point{Y: -7}}, MoveAsideRight, ""},
		{"nothing to do", north, WayOut{Line: line(0, 0)}, MoveNone, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			first, then, thenM := moves(&c.out, c.facing)
			if first != c.first || then != c.then {
				t.Errorf("told %q then %q, want %q then %q", first, then, c.first, c.then)
			}
			if c.then != "" && (thenM < 24 || thenM > 36) {
				t.Errorf("the turn at 30 m is told at %.0f m", thenM)
			}
		})
	}
}
