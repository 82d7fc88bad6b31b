package draw

import (
	"math"
	"testing"

	"wideberth/exposure"
	"wideberth/routing"
	"wideberth/routing/snapshot/maptest"
)

// TestOneRoom: what a leg tells of the room beside it, what the band draws, where a
// refuge is and what the hazard counts with are one and the same on every edge of
// the town, walked either way.
func TestOneRoom(t *testing.T) {
	p, err := routing.NewPlanner(maptest.Town(t), nil)
	if err != nil {
		t.Fatal(err)
	}
	land, dog := p.Land(), maptest.Kessa()
	f := land.Snap.Field
	need := dog.Need(exposure.DogOnLead)
	across := 0
	for e := range int32(land.Snap.Graph.EdgeCount()) {
		r := land.Within(land.Snap.Graph.EdgeLine(e).Box())
		w := routing.Wish{Shape: routing.Way, From: land.Snap.Graph.EdgeLine(e)[0], Dog: dog, Depart: maptest.Morning}
		prices := r.Price(r.SumsFor(&dog), &dog, w.Depart, nil, 3600)
		for a := range int32(len(r.Piece)) {
			if r.Piece[a].Edge != e || r.Piece[a].LengthM < 1 {
				continue
			}
			walk := p.Build(&w, r, prices, []int32{a})
			sides := f.Sides(e, r.Piece[a].Against())
			var left, right, length float64
			for i := range walk.Legs {
				l := &walk.Legs[i]
				left, right, length = left+l.RoomLeftM*l.LengthM, right+l.RoomRightM*l.LengthM, length+l.LengthM
				if l.WayOutS == 0 && l.WayOutRoomM < f.RoomM(e)-0.01 {
					t.Errorf("edge %d: the refuge has %.1f m, the hazard counts with %.1f", e, l.WayOutRoomM, f.RoomM(e))
				}
				if l.WayOutS > 0 && f.RoomM(e) >= need.WorkingM {
					t.Errorf("edge %d: a refuge is looked for at %.0f s, though %.1f m are enough here", e, l.WayOutS, f.RoomM(e))
				}
			}
			if math.Abs(left/length-float64(sides.Left.LowM)) > 0.01 || math.Abs(right/length-float64(sides.Right.LowM)) > 0.01 {
				t.Errorf("edge %d: the leg tells %.1f and %.1f m, the field %.1f and %.1f", e, left/length, right/length, sides.Left.LowM, sides.Right.LowM)
			}
			room := Room{Kind: exposure.DogOnLead, Need: need, OtherMPS: exposure.DogOnLead.Info().SpeedMPS, PaceMPS: dog.PaceMPS()}
			for _, s := range samples(&walk, land.Snap, room, &routing.Rank{}) {
				most := exposure.Usable(float64(max(sides.Left.LowM, sides.Right.LowM)), 1e9, room.OtherMPS, room.PaceMPS, need.WorkingM)
				if s.LeftM > float64(sides.Left.LowM)+0.01 || s.RightM > float64(sides.Right.LowM)+0.01 || max(s.LeftM, s.RightM) > most+0.01 {
					t.Errorf("edge %d: the band draws %.1f and %.1f m, the field has %.1f and %.1f", e, s.LeftM, s.RightM, sides.Left.LowM, sides.Right.LowM)
					break
				}
			}
			for _, term := range f.Explain(e, &dog, land.Clock.At(w.Depart), nil) {
				if term.Own && term.DistM > f.RoomM(e)+0.01 {
					t.Errorf("edge %d: the hazard counts with %.1f m, the room is %.1f", e, term.DistM, f.RoomM(e))
				}
			}
		}
		if b := f.Sides(e, false); f.RoomM(e) > float64(max(b.Left.LowM, b.Right.LowM)) {
			across++
		}
	}
	if across == 0 {
		t.Error("no street of the town has two sides to part by: the test shows half of the rule")
	}
}
