package parking_test

import (
	"fmt"
	"testing"

	"wideberth/routing/parking"
	"wideberth/routing/snapshot/maptest"
)

// roadside draws a wood at a road with a way in, and gives the spots.
func roadside(t *testing.T, road, in string, woodM, gapM float64, more ...string) []parking.Spot {
	t.Helper()
	d := &maptest.Drawing{}
	d.Way(road, -3000, 0, 0, 0, 3000, 0)
	d.Way(in, 0, 0, 0, gapM+woodM*0.8)
	half := woodM / 2
	d.Way("natural=wood;name=Alder Wood", -half, gapM, half, gapM, half, gapM+woodM, -half, gapM+woodM, -half, gapM)
	for _, m := range more {
		d.Way(m, -half, -5, half, -5, half, gapM+woodM+5, -half, gapM+woodM+5, -half, -5)
	}
	return parking.Find(d.Map(t))
}

// TestWhereAWayLeadsIn: a car is left at the side of a small road where a way for feet
// leads into ground worth driving to; not at a big road, a bridge or steps, not where the
// way in begins too far off, and not before ground that is too small.
func TestWhereAWayLeadsIn(t *testing.T) {
	for _, c := range []struct {
		what, road, in string
		woodM, gapM    float64
		want           int
	}{
		{"a residential street", "highway=residential", "highway=path", 300, 20, 1},
		{"an unclassified road", "highway=unclassified", "highway=footway", 300, 20, 1},
		{"a living street", "highway=living_street", "highway=path", 300, 20, 1},
		{"a tertiary road", "highway=tertiary", "highway=track", 300, 20, 1},
		{"a primary road", "highway=primary;foot=yes", "highway=path", 300, 20, 0},
		{"a service road", "highway=service", "highway=path", 300, 20, 0},
		{"a road by leave", "highway=residential;motor_vehicle=private", "highway=path", 300, 20, 0},
		{"a bridge", "highway=residential;bridge=yes;layer=1", "highway=path", 300, 20, 0},
		{"steps", "highway=residential", "highway=steps", 300, 20, 0},
		{"a road in", "highway=residential", "highway=residential", 300, 20, 0},
		{"59 m off", "highway=residential", "highway=path", 300, 59, 1},
		{"61 m off", "highway=residential", "highway=path", 300, 61, 0},
		{"small ground", "highway=residential", "highway=path", 141, 20, 0},
		{"ground just large enough", "highway=residential", "highway=path", 142, 20, 1},
	} {
		spots := roadside(t, c.road, c.in, c.woodM, c.gapM)
		if len(spots) != c.want {
			t.Errorf("%s: %d spots, want %d", c.what, len(spots), c.want)
		}
		for _, s := range spots {
			if s.Sort != parking.Roadside || s.Name.Head != "Alder Wood" {
				t.Errorf("%s: %+v", c.what, s)
			}
		}
	}
}

// TestRoadsideWhereNoCarMayStand: beside a road that no car may use the drive ends at the
// next one, 60 m off at most; beside one that is used by leave nobody leaves a car, though
// another road be near; a way in over ground with rules of its own is none.
func TestRoadsideWhereNoCarMayStand(t *testing.T) {
	const open, closed, leave = "highway=residential", "highway=residential;motor_vehicle=no", "highway=residential;motor_vehicle=private"
	for _, c := range []struct {
		what, road string
		otherM     float64 // south of it another road, 0 for none
		around     string  // tags of ground all about, "" for none
		want       int
	}{
		{"open", open, 0, "", 1},
		{"closed", closed, 0, "", 0},
		{"closed, a road 55 m off", closed, 55, "", 1},
		{"closed, a road 65 m off", closed, 65, "", 0},
		{"closed, a road 140 m off", closed, 140, "", 0},
		{"by leave, a road 40 m off", leave, 40, "", 0},
		{"on ground of works", open, 0, "landuse=industrial", 0},
		{"on ground of a school", open, 0, "amenity=school", 0},
		{"among homes", open, 0, "landuse=residential", 1},
	} {
		d := &maptest.Drawing{}
		d.Way(c.road, -3000, 0, 0, 0, 3000, 0)
		d.Way("highway=path", 0, 0, 0, 260)
		d.Way("natural=wood;name=Alder Wood", -150, 20, 150, 20, 150, 320, -150, 320, -150, 20)
		if c.otherM > 0 {
			d.Way(open, -3000, -c.otherM, 3000, -c.otherM)
		}
		if c.around != "" {
			d.Way(c.around, -160, -10, 160, -10, 160, 330, -160, 330, -160, -10)
		}
		spots := parking.Find(d.Map(t))
		if len(spots) != c.want {
			t.Errorf("%s: %d spots, want %d", c.what, len(spots), c.want)
		}
		for _, s := range spots {
			if off := s.Kerb.At.DistanceM(s.Start.At); c.otherM > 0 && (off < c.otherM-3 || off > c.otherM+3) || c.otherM == 0 && off > 3 {
				t.Errorf("%s: the car stands %.1f m off, the road is %g m off", c.what, off, c.otherM)
			}
		}
	}
}

// TestGatesApart: two ways into one wood are two spots where they lie 800 m apart, else
// one; two woods have one each unless these lie within 250 m.
func TestGatesApart(t *testing.T) {
	for apartM, want := range map[float64]int{700: 1, 790: 1, 810: 2} {
		d := &maptest.Drawing{}
		d.Way("highway=residential", -3000, 0, 0, 0, apartM, 0, 3000, 0)
		d.Way("highway=path", 0, 0, 0, 200)
		d.Way("highway=path", apartM, 0, apartM, 200)
		d.Way("natural=wood;name=Long Wood", -50, 20, apartM+50, 20, apartM+50, 400, -50, 400, -50, 20)
		if spots := parking.Find(d.Map(t)); len(spots) != want {
			t.Errorf("gates %g m apart are %d spots, want %d", apartM, len(spots), want)
		}
	}
	for apartM, want := range map[float64]int{240: 1, 260: 2} {
		d := &maptest.Drawing{}
		d.Way("highway=residential", -3000, 0, 0, 0, apartM, 0, 3000, 0)
		for i, x := range []float64{0, apartM} {
			d.Way("highway=path", x, 0, x, 200)
			d.Way(fmt.Sprintf("natural=wood;name=Wood %c", 'A'+i), x-110, 20, x+110, 20, x+110, 400, x-110, 400, x-110, 20)
		}
		if spots := parking.Find(d.Map(t)); len(spots) != want {
			t.Errorf("gates of two woods %g m apart are %d spots, want %d", apartM, len(spots), want)
		}
	}
}

// TestWhichOfTwoCarParks: of two near each other the one that tags open is kept, else the
// one with a name, whatever their order on the map.
func TestWhichOfTwoCarParks(t *testing.T) {
	for _, c := range []struct{ first, second, want string }{
		{"amenity=parking;name=Mill Lot", "amenity=parking;access=yes;name=Open Lot", "Open Lot"},
		{"amenity=parking;access=yes;name=Open Lot", "amenity=parking;name=Mill Lot", "Open Lot"},
		{"amenity=parking", "amenity=parking;name=Mill Lot", "Mill Lot"},
		{"amenity=parking;name=Mill Lot", "amenity=parking", "Mill Lot"},
		{"amenity=parking;name=Mill Lot", "amenity=parking;name=Quay Lot", "Mill Lot"},
	} {
		d := &maptest.Drawing{}
		d.Way("highway=unclassified;name=Long Street", -3000, 0, 0, 0, 3000, 0)
		for i, tags := range []string{c.first, c.second} {
			x := 120 * float64(i)
			d.Way(tags, x-10, 20, x+10, 20, x+10, 40, x-10, 40, x-10, 20)
		}
		spots := parking.Find(d.Map(t))
		if len(spots) != 1 || spots[0].Name.Head != c.want {
			t.Errorf("%s beside %s: %+v, want %q", c.first, c.second, spots, c.want)
		}
	}
}

// TestCarParksFarFromAWay: a car park 60 m from a way and 150 m from a road at most.
func TestCarParksFarFromAWay(t *testing.T) {
	for _, c := range []struct {
		pathM, roadM float64
		want         int
	}{{50, 100, 1}, {65, 65, 0}, {50, 140, 1}, {50, 160, 0}} {
		d := &maptest.Drawing{}
		d.Way("highway=unclassified;name=Long Street", -3000, 0, 0, 0, 3000, 0)
		y := c.roadM
		if c.pathM != c.roadM {
			d.Way("highway=path", 0, 0, 400, 0.5, 400, y-c.pathM, -400, y-c.pathM)
		}
		d.Way("amenity=parking;access=yes;name=Mill Lot", -1, y-1, 1, y-1, 1, y+1, -1, y+1, -1, y-1)
		if spots := parking.Find(d.Map(t)); len(spots) != c.want {
			t.Errorf("%g m from a way and %g m from a road: %d spots, want %d", c.pathM, c.roadM, len(spots), c.want)
		}
	}
}

// TestCarParksAmongHomes: one of which nothing says whose it is belongs to the people who
// live about it, unless a park is right beside; one that tags open does not.
func TestCarParksAmongHomes(t *testing.T) {
	for _, c := range []struct {
		what, tags string
		parkM      float64 // from the car park, 0 for none
		want       int
	}{
		{"named", "amenity=parking;name=Mill Lot", 0, 0},
		{"open", "amenity=parking;access=yes;name=Mill Lot", 0, 1},
		{"beside a park", "amenity=parking;name=Mill Lot", 40, 1},
		{"far from a park", "amenity=parking;name=Mill Lot", 120, 0},
	} {
		d := &maptest.Drawing{}
		d.Way("highway=residential;name=Long Street", -3000, 0, 0, 0, 3000, 0)
		d.Way("landuse=residential", -2000, -200, 2000, -200, 2000, 60, -2000, 60, -2000, -200)
		d.Way(c.tags, -10, 10, 10, 10, 10, 25, -10, 25, -10, 10)
		if c.parkM > 0 {
			d.Way("leisure=park;name=Heron Park", -150, c.parkM+10, 150, c.parkM+10, 150, c.parkM+300, -150, c.parkM+300, -150, c.parkM+10)
		}
		if spots := parking.Find(d.Map(t)); len(spots) != c.want {
			t.Errorf("%s: %+v, want %d", c.what, spots, c.want)
		}
	}
}

// TestNearWhereverTheyLie: two car parks 200 m apart are one wherever on the map they lie,
// also where the one that is kept lies to the east.
func TestNearWhereverTheyLie(t *testing.T) {
	for x := 0.0; x < 250; x += 60 {
		d := &maptest.Drawing{}
		d.Way("highway=unclassified;name=Long Street", -3000, 0, x, 0, 3000, 0)
		for i, tags := range []string{"amenity=parking;name=Mill Lot", "amenity=parking;access=yes;name=Open Lot"} {
			w := x + 200*float64(i)
			d.Way(tags, w-10, 20, w+10, 20, w+10, 40, w-10, 40, w-10, 20)
		}
		if spots := parking.Find(d.Map(t)); len(spots) != 1 || spots[0].Name.Head != "Open Lot" {
			t.Errorf("from %g m on: %+v", x, spots)
		}
	}
}
