// Package blocktest holds one invented walk round a block of houses, a dog and a
// visit, measured by hand, for tests that tell and draw them. Only tests import it.
package blocktest

import (
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/network"
	"wideberth/routing/snapshot"
	"wideberth/routing/training"
)

// Box is a rectangle between two corners.
func Box(x0, y0, x1, y1 float64) plane.Polygon {
	return plane.Polygon{Outer: plane.Ring{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}}}
}

// Loop is an invented place: a walk of four legs anticlockwise round a block.
// Weaver Row (south, going east) has houses on both sides with gaps between them,
// Lime Lane (east, going north) a wall 3 m to the left, Race Walk (north, going
// west) is open with a dog field 50 m to the right, Tanner Row (west, going south)
// has nothing mapped beside it.
func Loop(t testing.TB) (*snapshot.Snapshot, *routing.Plan, *exposure.Dog) {
	t.Helper()
	corners := plane.Polyline{{X: 0, Y: 0}, {X: 200, Y: 0}, {X: 200, Y: 250}, {X: 0, Y: 250}, {X: 0, Y: 0}}
	names := []string{"Weaver Row", "Lime Lane", "Race Walk", "Tanner Row"}
	levels := []float64{0.05, 0.8, 0.01, 0.2} // expected reactions in ten minutes
	gp := &snapshot.GroundPlan{}
	solid := func(g plane.Polygon) {
		gp.Buildings = append(gp.Buildings, snapshot.Footprint{Area: g})
		line := append(plane.Polyline(g.Outer), g.Outer[0])
		gp.Obstacles = append(gp.Obstacles, osmdata.Obstacle{Kind: osmdata.BuildingWall, Blocks: osmdata.BlocksWay | osmdata.BlocksView, Line: line})
	}
	for x := 8.0; x < 180; x += 16 {
		solid(Box(x, 7, x+10, 17))
		solid(Box(x, -19, x+10, -9))
	}
	gp.Obstacles = append(gp.Obstacles,
		osmdata.Obstacle{Kind: osmdata.Wall, Blocks: osmdata.BlocksWay | osmdata.BlocksView, Line: plane.Polyline{{X: 197, Y: 20}, {X: 197, Y: 235}}},
		osmdata.Obstacle{Kind: osmdata.Fence, Blocks: osmdata.BlocksWay, Line: plane.Polyline{{X: 80, Y: 300}, {X: 140, Y: 300}, {X: 140, Y: 330}, {X: 80, Y: 330}, {X: 80, Y: 300}}},
		osmdata.Obstacle{Kind: osmdata.Hedge, Blocks: osmdata.BlocksWay | osmdata.BlocksView, Line: plane.Polyline{{X: 40, Y: 60}, {X: 160, Y: 60}}},
		osmdata.Obstacle{Kind: osmdata.WaterEdge, Blocks: osmdata.BlocksWay, Line: plane.Polyline{{X: -60, Y: -60}, {X: -60, Y: 340}}})
	gp.Grounds = []osmdata.Ground{{Kind: osmdata.Park, Name: "Kiln Park", Area: Box(20, 255, 240, 340)}, {Kind: osmdata.Water, Name: "Mill race", Area: Box(-75, -60, -60, 340)}}
	gp.Rails = []plane.Polyline{{{X: -60, Y: -40}, {X: 260, Y: -30}}}
	gp.Roads = []snapshot.Road{{Line: plane.Polyline{{X: 240, Y: -60}, {X: 245, Y: 340}}, Class: osmdata.Primary, Name: "Foundry Road"}}

	var streets []osmdata.Street
	for i, n := range names {
		streets = append(streets, osmdata.Street{ID: int64(i + 1), Name: n, Class: osmdata.Residential, Foot: true, Motor: true,
			Nodes: []int64{int64(i%4 + 1), int64((i+1)%4 + 1)}, Line: plane.Polyline{corners[i], corners[i+1]}})
	}
	streets = append(streets, osmdata.Street{ID: 9, Class: osmdata.Footway, Foot: true, Nodes: []int64{4, 10}, Line: plane.Polyline{{X: 0, Y: 250}, {X: 120, Y: 340}}})
	g, _, err := network.Build(streets, nil, network.Options{MinIslandM: -1})
	if err != nil {
		t.Fatal(err)
	}
	f := &exposure.Field{
		Left:      []exposure.Side{{LowM: 7, LeastM: 6}, {LowM: 3, LeastM: 2.5}, {LowM: 40, LeastM: 30}, {LowM: 4.5, LeastM: 4.5, Default: true}},
		Right:     []exposure.Side{{LowM: 9, LeastM: 8}, {LowM: 8, LeastM: 8}, {LowM: 40, LeastM: 40}, {LowM: 4.5, LeastM: 4.5, Default: true}},
		SightFwdM: []float32{60, 20, 150, 150}, SightBackM: []float32{60, 20, 150, 150},
		Sources: []exposure.Source{{OSM: "way/1", As: "dog_park", Name: "Dog field", Area: []plane.Polygon{Box(80, 300, 140, 330)}, At: plane.Point{X: 110, Y: 315}}},
	}
	dog := &exposure.Dog{Name: "Kessa", SpeedMPS: 1.2, ByCategory: map[exposure.Category]exposure.Need{
		exposure.Dogs: {WorkingM: 38, ReactionM: 15}, exposure.Wheels: {WorkingM: 20, ReactionM: 8}},
		ByKind: map[exposure.Kind]exposure.Need{exposure.Child: {WorkingM: 25, ReactionM: 10}}}
	walk := routing.Walk{Shape: routing.Loop, Line: corners, Laps: 1, CalmChance: 0.71, CalmLow: 0.52, CalmHigh: 0.83, TreatsLow: 23, TreatsHigh: 38,
		Quality: routing.Quality{WithinPct: 3, Checking: true}, ExpectedReactions: 0.34, DefaultRoomShare: 0.25}
	turns := []network.Turn{network.TurnStart, network.TurnLeft, network.TurnLeft, network.TurnLeft}
	keeps := []string{"right", "right", "", ""}
	at := 0.0
	for i := range 4 {
		m := corners[i].DistanceM(corners[i+1])
		l := routing.Leg{Name: names[i], Class: "street", Turn: turns[i], Line: plane.Polyline{corners[i], corners[i+1]}, StartS: at / 1.2, DurationS: m / 1.2,
			LengthM: m, Reactions: levels[i] * m / 1.2 / 600, Level: routing.LevelOf(levels[i] / 600), RoomLeftM: float64(f.Left[i].LowM), RoomRightM: float64(f.Right[i].LowM),
			LeastRoomM: float64(f.Right[i].LeastM), RoomDefault: f.Left[i].Default, Keep: keeps[i], SightM: 60, WayOutS: 18, WayOutSide: "back"}
		l.Edges = []routing.LegEdge{{Edge: int32(i), StartS: l.StartS, Reactions: l.Reactions, Level: l.Level, FromM: at, LengthM: m}}
		walk.Legs = append(walk.Legs, l)
		at += m
	}
	walk.LengthM, walk.DurationS = at, at/1.2
	walk.Kinds = []routing.KindOutlook{
		{Kind: exposure.DogOnLead, Expected: 1.4, Low: 0, High: 3, Inside: 0.4, InsideS: 30, Reactions: 0.2},
		{Kind: exposure.DogOffLead, Expected: 0.5, Low: 0, High: 1, Inside: 0.1, InsideS: 8, Reactions: 0.1},
		{Kind: exposure.Child, Expected: 0.3, Low: 0, High: 1, Inside: 0.02, InsideS: 1, Reactions: 0.04},
	}
	walk.Passed = []routing.Passed{{Source: 0, Name: "Dog field", Sort: "dog_park", NearestM: 50, AtS: 540 / 1.2, FromM: 540, Side: "right", Active: 0.7, InSight: true, Need: exposure.Need{WorkingM: 38, ReactionM: 15}}}
	walk.Watch = []routing.WatchPoint{
		{What: "blind_corner", Deed: routing.DeedSwingWide, Name: "Lime Lane", At: corners[1], AtS: 200 / 1.2, FromM: 200, SightM: 12},
		{What: "pinch", Deed: routing.DeedWaitClear, Name: "Lime Lane", At: plane.Point{X: 200, Y: 120}, AtS: 320 / 1.2, FromM: 320, RoomM: 3},
		{What: "source", Deed: routing.DeedKeepLeft, Also: []string{"crossing", "pinch"}, Name: "Dog field", At: plane.Point{X: 110, Y: 250}, AtS: 540 / 1.2, FromM: 540, Side: "right", DistM: 50},
	}
	zone := time.FixedZone("", 0)
	plan := &routing.Plan{Walks: []routing.Walk{walk}, Depart: time.Date(2026, 11, 25, 7, 10, 0, 0, zone), Zone: "UTC", MapTime: time.Date(2026, 11, 20, 0, 0, 0, 0, zone),
		Assumed: []exposure.Assumption{{What: routing.BasisDogs, Numbers: []float64{21}}, {What: routing.AssumedRoom, Numbers: []float64{0.25}}, {What: exposure.AssumedPace, Numbers: []float64{1.2}}, {What: routing.AssumedLevel}}}
	rank(plan, streets, levels)
	snap := &snapshot.Snapshot{Frame: plane.NewFrame(-7, 47), Graph: g, Field: f, Ground: gp,
		About: snapshot.About{Name: "Millbeck", Zone: "UTC", Bounds: plane.Box{Min: plane.Point{X: -80, Y: -60}, Max: plane.Point{X: 260, Y: 340}}}}
	return snap, plan, dog
}

// rank gives the ground of the plan its steps.
func rank(plan *routing.Plan, streets []osmdata.Street, levels []float64) {
	// The four streets are of four steps, and so is the footpath of the first.
	plan.Ground = &routing.Ranked{Rank: routing.Rank{Minutes: [3]float64{300, 100, 20}, Share: [4]float64{0.39, 0.22, 0.22, 0.17}}}
	for i, street := range streets {
		h := routing.EdgeHazard{Line: street.Line, Role: network.Street, Step: 1}
		if i < len(levels) {
			h.HazardPerS = levels[i] / 600
			h.Step = plan.Ground.Step(h.HazardPerS)
		} else {
			h.Role = network.Path
		}
		plan.Ground.Edges = append(plan.Ground.Edges, h)
	}
}

// Visit stands on Race Walk, 50 m from the dog field, and leaves it either way.
func Visit(walk *routing.Walk) *training.Visit {
	v := &training.Visit{In: *walk, Home: *walk, Leave: time.Date(2026, 11, 25, 7, 10, 0, 0, time.UTC)}
	v.In.Line, v.Home.Line = Line(0, 0, 200, 0, 200, 250, 110, 250), Line(110, 250, 0, 250, 0, 0)
	v.At, v.Sees, v.DistM, v.Multiple = plane.Point{X: 110, Y: 250}, plane.Point{X: 110, Y: 300}, 50, 50.0/38
	v.Watched = training.Watched{Name: "Dog field", Sort: "dog_park", At: plane.Point{X: 110, Y: 315}, WorkingM: 38}
	v.WaysOut = []plane.Polyline{Line(110, 250, 200, 250, 200, 200), Line(110, 250, 0, 250, 0, 210)}
	v.WaysOutBy = []string{"Lime Lane", "the footpath"}
	return v
}

// Line is the line through the given coordinates.
func Line(xy ...float64) (l plane.Polyline) {
	for i := 0; i+1 < len(xy); i += 2 {
		l = append(l, plane.Point{X: xy[i], Y: xy[i+1]})
	}
	return l
}
