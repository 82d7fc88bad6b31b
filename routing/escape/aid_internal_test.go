package escape

import (
	"math"
	"slices"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/snapshot"
)

// TestAidFacingEachWay: the side with more room is told as seen by who faces the threat; 40
// m at most, and none under a metre.
func TestAidFacingEachWay(t *testing.T) {
	land, at := crossing(t)
	place, err := land.Place(at(-150, 0))
	if err != nil {
		t.Fatal(err)
	}
	along := land.Snap.Graph.EdgeLine(place.Edge).DirectionAt(place.AlongM)
	sides := func(left, right float32) {
		for e := range land.Snap.Field.Left {
			land.Snap.Field.Left[e].LowM, land.Snap.Field.Right[e].LowM = left, right
		}
	}
	for _, c := range []struct {
		left, right float32
		with        bool
		side        Move
		m           float64
	}{
		{3, 7, true, MoveRight, 7}, {3, 7, false, MoveLeft, 7}, {7, 3, true, MoveLeft, 7}, {7, 3, false, MoveRight, 7},
		{5, 5, true, MoveLeft, 5}, {100, 2, true, MoveLeft, 40}, {0.9, 0.5, true, "", -1}, {1, 0.5, true, MoveLeft, 1},
	} {
		sides(c.left, c.right)
		facing := along
		if !c.with {
			facing = along.Mul(-1)
		}
		if got := aidAt(land, place, facing); got.Side != c.side || math.Abs(got.SideM-c.m) > 1e-6 {
			t.Errorf("with %g m left and %g m right, walked with the line %v: %q of %g m, want %q of %g m", c.left, c.right, c.with, got.Side, got.SideM, c.side, c.m)
		}
	}
}

// TestCoverAbout: the nearest of each sort within 25 m, three at most, nothing behind a wall,
// a gate in its own fence all the same; and none that one reaches only by the threat.
func TestCoverAbout(t *testing.T) {
	land, at := crossing(t)
	s := *land.Snap
	own := *land
	own.Snap = &s
	me := at(-150, 0)
	s.Ground = &snapshot.GroundPlan{
		Covers: []snapshot.Cover{{Kind: snapshot.Gate, Name: "near", At: at(-150, 10)}, {Kind: snapshot.Gate, Name: "farther", At: at(-150, -12)}, {Kind: snapshot.Entrance, Name: "walled", At: at(-142, 0)},
			{Kind: snapshot.Entrance, Name: "door", At: at(-165, 0)}, {Kind: snapshot.Shelter, Name: "far", At: at(-150, 26)}, {Kind: snapshot.Drive, Name: "drive", At: at(-150, -20)}, {Kind: snapshot.ParkedCars, Name: "fourth", At: at(-172, 0)}},
		Obstacles: []osmdata.Obstacle{{Kind: osmdata.Wall, Blocks: osmdata.BlocksWay, Line: plane.Polyline{at(-145, -5), at(-145, 5)}}, {Kind: osmdata.Fence, Blocks: osmdata.BlocksWay, Line: plane.Polyline{at(-160, 9.5), at(-140, 9.5)}}},
	}
	got := CoverAbout(&own, me, plane.Point{X: 1})
	var names []string
	for _, c := range got {
		names = append(names, c.Name+" "+string(c.Side))
	}
	if want := []string{"near left", "door back", "drive right"}; !slices.Equal(names, want) {
		t.Errorf("told are %q, want %q", names, want)
	}
	for _, c := range got {
		if math.Abs(c.DistM-c.At.DistanceM(me)) > 1e-9 {
			t.Errorf("%s lies %g m off", c.Name, c.DistM)
		}
	}
	// A threat 20 m to the north: what lies nearer to it than 18 m is not walked to.
	left := awayFrom(got, me, at(-150, 20))
	if len(left) != 2 || left[0].Name != "door" || left[1].Name != "drive" {
		t.Errorf("left are %+v", left)
	}
	aid := Aid{Cover: left}
	threat := Threat{At: at(-150, 20), Kind: exposure.DogOffLead, SpeedMPS: 4}
	out := aid.outrun(me, threat, 1.5)
	if out.Means != Between || out.Turn != network.TurnBack || math.Abs(out.Seconds-10) > 0.1 || out.Stand != left[0].At || math.Abs(out.EndsM-25) > 0.1 || math.Abs(out.PresentM-20) > 0.1 || out.PaceMPS != 1.5 || len(out.Line) != 2 {
		t.Errorf("to the door: %+v", out)
	}
	aid.Cover = left[1:]
	if out = aid.outrun(me, threat, 1.5); out.Turn != network.TurnRight {
		t.Errorf("to the drive: %+v", out)
	}
	aid.Cover = nil
	if out = aid.outrun(me, threat, 1.5); out.Means != Stand || out.Seconds != NoneInReach || out.Stand != me || out.EndsM != out.PresentM || out.Turn != network.TurnStraight {
		t.Errorf("nothing near: %+v", out)
	}
}

// TestCoverAtItsBounds: 25 m off is near enough, more is not; and what lies nine tenths as
// far from the threat as oneself may be walked to, nearer to it may not.
func TestCoverAtItsBounds(t *testing.T) {
	land, at := crossing(t)
	s := *land.Snap
	own := *land
	own.Snap = &s
	me := at(-150, 0)
	for m, want := range map[float64]int{24.5: 1, 25.5: 0, 39: 0} {
		s.Ground = &snapshot.GroundPlan{Covers: []snapshot.Cover{{Kind: snapshot.Shelter, At: at(-150, m)}}}
		if got := CoverAbout(&own, me, plane.Point{X: 1}); len(got) != want {
			t.Errorf("%g m off: %+v", m, got)
		}
	}
	for m, want := range map[float64]int{-5: 1, 8: 1, 9.5: 1, 10.5: 0, 40: 0} { // towards a threat 100 m off
		c := Cover{Cover: snapshot.Cover{At: plane.Point{X: m}}}
		if got := awayFrom([]Cover{c}, plane.Point{}, plane.Point{X: 100}); len(got) != want {
			t.Errorf("%g m towards the threat: %+v", m, got)
		}
	}
}
