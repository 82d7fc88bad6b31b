package homes

import (
	"fmt"
	"testing"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/survey/sketch"
)

// live says how many people live in a square, or about a point where side is 0.
func live(k *sketch.Map, people string, x, y, side float64) {
	ft := osmdata.Feature{As: exposure.Settlement, OSM: fmt.Sprintf("relation/%d", len(k.X.Features)+1), Point: plane.Point{X: x + side/2, Y: y + side/2}, Tags: map[string]string{"population": people}}
	if side > 0 {
		ft.Areas = []plane.Polygon{sketch.Footprint(x, y, side)}
	}
	k.X.Features = append(k.X.Features, ft)
}

// inside is the dwellings within a box.
func (h *Homes) inside(x0, y0, x1, y1 float64) (sum float64) {
	for _, hm := range h.list {
		if hm.at.X >= x0 && hm.at.X <= x1 && hm.at.Y >= y0 && hm.at.Y <= y1 {
			sum += hm.houses + hm.flats
		}
	}
	return sum
}

// A grid of streets without a building, 1.2 km to a side.
func grid12() *sketch.Map {
	k := sketch.New()
	for i := range 7 {
		d := 200 * float64(i)
		k.Street(osmdata.Residential, sketch.Line(0, d, 1200, d))
		k.Street(osmdata.Residential, sketch.Line(d, 0, d, 1200))
	}
	return k
}

// Homes along streets are scaled to the people that a boundary says, within bounds,
// and not at all where both agree.
func TestHomesFitThePeople(t *testing.T) {
	plain := Find(&grid12().X, 2, nil).inside(0, 0, 1200, 1200)
	for _, c := range []struct {
		people string
		want   float64
	}{
		{"2400", 1200}, {"2,200", 1100}, {"1700", plain}, {"99999", scaleMost * plain}, {"500", scaleLeast * plain},
		{"many", plain}, {"-5", plain}, {"20", plain}, {"", plain},
	} {
		k := grid12()
		live(k, c.people, -10, -10, 1220)
		if got := Find(&k.X, 2, nil).inside(0, 0, 1200, 1200); !about(got, c.want, 1e-6) {
			t.Errorf("%s people: %g dwellings, want %g of %g", c.people, got, c.want, plain)
		}
	}
	if !about(plain, 840, .01) { // 14 streets of 1.2 km, 50 dwellings a km
		t.Errorf("%g dwellings along 16.8 km", plain)
	}
}

// A quarter inside a town keeps its own people, the town's others live around it;
// outside nothing changes.
func TestNestedSettlements(t *testing.T) {
	k := grid12()
	k.Street(osmdata.Residential, sketch.Line(3000, 0, 3000, 1000))
	live(k, "4000", -10, -10, 1220)
	live(k, "1200", -10, -10, 520)
	h := Find(&k.X, 2, nil)
	quarter := h.inside(-10, -10, 510, 510)
	if !about(quarter, 600, 1e-6) {
		t.Errorf("%g dwellings in the quarter, want 600", quarter)
	}
	if all := h.inside(-10, -10, 1210, 1210); !about(all, 2000, 1e-6) {
		t.Errorf("%g dwellings in the town, want 2000", all)
	}
	if out := h.inside(2000, 0, 4000, 1000); !about(out, 50, 1e-6) {
		t.Errorf("%g dwellings outside, want 50", out)
	}
}

// Mapped buildings are left as they are, whatever the boundary says, and the totals
// tell how far both lie apart.
func TestBuildingsAreNotScaled(t *testing.T) {
	k := sketch.New()
	k.Street(osmdata.Residential, sketch.Line(0, 250, 500, 250))
	for i := range 20 {
		k.X.Buildings = append(k.X.Buildings, osmdata.Building{Use: "house", Area: sketch.Footprint(float64(20*i+10), 260, 10)})
	}
	live(k, "400", -10, -10, 520)
	h := Find(&k.X, 2, nil)
	if got := h.inside(0, 0, 500, 500); got != 20 {
		t.Errorf("%g dwellings in 20 houses", got)
	}
	if h.people.said != 400 || h.people.housed != 40 || h.people.added != 0 {
		t.Errorf("%+v", h.people)
	}
}

// A place without a boundary counts as a disc, if the map has all of it.
func TestSettlementsWithoutBoundary(t *testing.T) {
	plain := Find(&grid12().X, 2, nil).inside(0, 0, 1200, 1200)
	k := grid12()
	live(k, "1300", 600, 600, 0) // a disc of 590 m
	if got := Find(&k.X, 2, nil).inside(0, 0, 1200, 1200); got < 1.1*plain {
		t.Errorf("%g dwellings, %g without the people", got, plain)
	}
	k = grid12()
	live(k, "90000", 600, 600, 0) // its disc reaches far beyond the map
	if got := Find(&k.X, 2, nil).inside(0, 0, 1200, 1200); !about(got, plain, 1e-9) {
		t.Errorf("%g dwellings in a piece of a city, want %g", got, plain)
	}
}
