package beside

import (
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/sketch"
)

// TestVeils: little wood hides nothing, some of it hides in leaf, much of it always; a
// car park hides from where its rows stand between.
func TestVeils(t *testing.T) {
	for _, c := range []struct {
		widthM float64
		kind   string
		want   glimpse
	}{
		{10, "wood", seen}, {30, "wood", whileBare}, {80, "wood", hidden}, {10, "parking", seen}, {20, "parking", hidden}, {80, "grass", seen},
	} {
		k := sketch.New()
		strip := plane.Polygon{Outer: plane.Ring(sketch.Line(20, -200, 20+c.widthM, -200, 20+c.widthM, 200, 20, 200))}
		switch c.kind {
		case "parking":
			k.X.Features = append(k.X.Features, osmdata.Feature{As: "parking", Areas: []plane.Polygon{strip}})
		case "wood":
			k.X.Grounds = append(k.X.Grounds, osmdata.Ground{Kind: osmdata.Wood, Area: strip})
		default:
			k.X.Grounds = append(k.X.Grounds, osmdata.Ground{Kind: osmdata.Grass, Area: strip})
		}
		veils := newVeils(&k.X, plane.NewEarth(k.X.Frame))
		look := veils.eye()
		a, b := plane.Point{}, plane.Point{X: 140, Y: 3}
		if got, back := look.through(a, b), look.through(b, a); got != c.want || back != c.want {
			t.Errorf("%g m of %s: %d there and %d back, want %d", c.widthM, c.kind, got, back, c.want)
		}
		if got := look.through(a, plane.Point{X: 15, Y: 100}); got != seen {
			t.Errorf("%g m of %s beside the line: %d", c.widthM, c.kind, got)
		}
	}
}

// TestTouchThroughWood: a place behind a wood is in sight while trees are bare, and is
// heard as loud as without it; behind a wall it is neither.
func TestTouchThroughWood(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Footway, sketch.Line(0, 0, 200, 0))
	sketch.Area(k, "playground", 80, 60, 40)
	k.X.Grounds = append(k.X.Grounds, osmdata.Ground{Kind: osmdata.Wood, Area: plane.Polygon{Outer: plane.Ring(sketch.Line(-300, 15, 500, 15, 500, 45, -300, 45))}})
	_, ts, _ := touched(t, k, 1)
	bare := 0
	for _, x := range ts {
		if x.DistM > exposure.BinMaxM {
			continue
		}
		if x.DropDB != 0 {
			t.Errorf("a wood takes %g dB", x.DropDB)
		}
		if x.InSight && x.Bare {
			bare++
		}
		if x.InSight && !x.Bare {
			t.Errorf("seen through 30 m of wood in leaf: %+v", x)
		}
	}
	if bare == 0 {
		t.Error("nowhere seen through bare trees")
	}
}

// TestRoomNotAcrossTraffic: beside a busy tertiary road the room of a footway ends at its
// kerb, beside a quiet one it does not, and on the busy road itself it begins at the kerb.
func TestRoomNotAcrossTraffic(t *testing.T) {
	for _, c := range []struct{ aadt, most float64 }{{500, 25}, {6000, 10}} {
		k := sketch.New()
		walk := k.Street(osmdata.Footway, sketch.Line(0, 0, 300, 0))
		road := k.Street(osmdata.Tertiary, sketch.Line(0, 10, 300, 10))
		k.Wall(sketch.Line(-50, -30, 350, -30)) // something is mapped: no default
		g := k.Net(t)
		tr := &Driven{Streets: g, PerDay: make([]float64, g.EdgeCount())}
		e := sketch.EdgeOf(t, g, road)
		tr.PerDay[e] = c.aadt
		marks := make([]exposure.Mark, g.EdgeCount())
		if c.aadt < MovingPerDay {
			marks[e] = exposure.MayCross
		}
		l, r, err := Room(t.Context(), g, NewTerrain(&k.X, tr), marks, 1, nil)
		if err != nil {
			t.Fatal(err)
		}
		at := sketch.EdgeOf(t, g, walk)
		left := l[at].LowM
		if g.EdgeLine(at)[0] != walk.Line[0] {
			left = r[at].LowM
		}
		if float64(left) > c.most || c.aadt < MovingPerDay && left <= 10 {
			t.Errorf("%g vehicles a day: %.1f m of room towards them", c.aadt, left)
		}
		if l[e].LowM <= 0 || r[e].LowM <= 0 {
			t.Errorf("%g vehicles a day: room of %.1f and %.1f m on the road itself", c.aadt, l[e].LowM, r[e].LowM)
		}
	}
}
