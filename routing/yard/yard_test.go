package yard_test

import (
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/snapshot/maptest"
	"wideberth/routing/yard"
)

// TestCellsAreKept: what is set is read, neighbours in a byte stay as they are, and the
// middle of a cell lies in it.
func TestCellsAreKept(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		y := yard.Yard{Car: plane.Point{X: rapid.Float64Range(-1e5, 1e5).Draw(r, "x"), Y: rapid.Float64Range(-1e5, 1e5).Draw(r, "y")}}
		want := map[int]yard.Cell{}
		for range 50 {
			cell := rapid.IntRange(0, yard.Across*yard.Across-1).Draw(r, "cell")
			c := yard.Cell(rapid.IntRange(0, 3).Draw(r, "c"))
			want[cell] = c
			y.Set(cell, c)
		}
		for cell, c := range want {
			if got := y.Cell(y.At(y.Middle(cell))); got != c {
				r.Fatalf("cell %d is %d, set to %d", cell, got, c)
			}
		}
	})
	y := yard.Yard{}
	if y.At(plane.Point{X: 166}) != -1 || y.Cell(-1) != yard.Closed || y.At(plane.Point{}) != yard.Across*yard.Across/2 {
		t.Error("the border or the middle of a yard")
	}
}

// TestYardsOfTheTown holds every open cell of the invented town against the map, by rules
// written down a second time: inside an area that is open to everybody or grass, in no
// building, half a cell from what stops steps, 8 m from a street.
func TestYardsOfTheTown(t *testing.T) {
	s := maptest.Town(t)
	if len(s.Yards) == 0 {
		t.Fatal("none")
	}
	open := 0
	for i := range s.Yards {
		y := &s.Yards[i]
		for cell := range yard.Across * yard.Across {
			at := y.Middle(cell)
			if y.Cell(cell) == yard.Closed {
				continue
			}
			if hit, near := s.Ground.Index().Nearest(at, 5, uint8(osmdata.BlocksWay)); near {
				t.Errorf("yard %d, cell %d: %.1f m from what stops steps", i, cell, hit.DistM)
			}
			for _, b := range s.Ground.AllBuildings() {
				if b.Area.Contains(at) {
					t.Errorf("yard %d, cell %d lies in a building", i, cell)
				}
			}
			if y.Cell(cell) < yard.Grass {
				continue
			}
			open++
			in := false
			for _, g := range s.Ground.AllGrounds() {
				in = in || g.Area.Contains(at) && (g.Kind == osmdata.Park || g.Kind == osmdata.Grass)
				if g.Kind == osmdata.Water && g.Area.Contains(at) {
					t.Errorf("yard %d, cell %d lies in water", i, cell)
				}
			}
			if !in {
				t.Errorf("yard %d, cell %d lies on no open ground", i, cell)
			}
			if p, near := s.Graph.Near(at, 7.9); near && s.Graph.Class[p.Edge] <= osmdata.Service {
				t.Errorf("yard %d, cell %d: %.1f m from a street", i, cell, p.DistM)
			}
		}
	}
	t.Logf("%d yards, %d open cells", len(s.Yards), open)
	if open < 500 {
		t.Error("hardly any open ground")
	}
}
