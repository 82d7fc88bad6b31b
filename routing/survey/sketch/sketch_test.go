package sketch

import (
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// Two boxes with a common side hold each place once.
func TestBoxesShareNoPlace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		side := rapid.Float64Range(-1, 1).Draw(t, "side")
		lon, lat := rapid.OneOf(rapid.Just(side), rapid.Float64Range(-2, 1.99)).Draw(t, "lon"), rapid.Float64Range(-2, 1.99).Draw(t, "lat")
		in := 0
		for _, box := range []Degrees{{-2, -2, side, 2}, {side, -2, 2, 2}} {
			if box.Holds(lon, lat) {
				in++
			}
		}
		if in != 1 {
			t.Fatalf("%g, %g lies in %d boxes that meet at %g", lon, lat, in, side)
		}
	})
}

// drawn is a small map with one of everything on its west and on its east.
func drawn() *Map {
	k := SmallTown(6)
	k.X.Frame = plane.NewFrame(-7, 47.3)
	for _, x := range []float64{-200, 900} {
		k.Street(osmdata.Primary, Line(x, -50, x+20, 300))
		k.Wall(Line(x, 0, x, 40))
		k.Fence(Line(x+5, 0, x+5, 40))
		k.House(x+10, 10, 12)
		k.Ground(osmdata.Park, x, -60, x+30, -20)
		Place(k, "shop", x, 20)
		Area(k, "playground", x, 50, 30)
		k.X.Buildings = append(k.X.Buildings, osmdata.Building{Use: "house", Area: Footprint(x+40, 0, 10)})
		k.X.Rails = append(k.X.Rails, Line(x, -300, x, 300))
		k.X.Addresses = append(k.X.Addresses, osmdata.Address{At: plane.Point{X: x, Y: 30}})
		k.X.StockEnds = append(k.X.StockEnds, plane.Point{X: x, Y: 31})
		k.X.Crossings = append(k.X.Crossings, osmdata.Crossing{At: plane.Point{X: x, Y: 32}})
		k.X.Places = append(k.X.Places, osmdata.Feature{Point: plane.Point{X: x, Y: 33}})
	}
	return k
}

// sizes are how many of each kind an extract has.
func sizes(x *osmdata.Extract) []int {
	return []int{len(x.Streets), len(x.Obstacles), len(x.Grounds), len(x.Features), len(x.Buildings), len(x.Rails), len(x.Addresses), len(x.StockEnds), len(x.Crossings), len(x.Places)}
}

// A part has what meets its box, whole, where it lies on earth, and says of each street
// whether it goes on outside; a box about everything has everything, one far off nothing.
func TestPartHasWhatMeetsItsBox(t *testing.T) {
	k := drawn()
	all := Part(&k.X, Degrees{-8, 46, -5, 48})
	if !reflect.DeepEqual(sizes(all), sizes(&k.X)) || all.Frame == k.X.Frame {
		t.Errorf("of %v the whole has %v", sizes(&k.X), sizes(all))
	}
	for i := range all.Streets {
		a, b := &k.X.Streets[i], &all.Streets[i]
		if b.Flags&(osmdata.FlagOpenStart|osmdata.FlagOpenEnd) != 0 {
			t.Errorf("street %d goes on outside of everything", b.ID)
		}
		for n := range a.Line {
			lon, lat := k.X.Frame.Inverse(a.Line[n])
			lon2, lat2 := all.Frame.Inverse(b.Line[n])
			if math.Abs(lon-lon2)+math.Abs(lat-lat2) > 1e-9 {
				t.Fatalf("node %d of street %d lies at %g, %g, not %g, %g", n, b.ID, lon2, lat2, lon, lat)
			}
		}
	}
	for i, n := range sizes(Part(&k.X, Degrees{10, 46, 11, 48})) {
		if n != 0 {
			t.Errorf("a box far off has %d of kind %d", n, i)
		}
	}
	// West of a street that runs to and fro across the border.
	middle, _ := k.X.Frame.Inverse(plane.Point{X: 315})
	west := Part(&k.X, Degrees{-8, 46, middle, 48})
	open := 0
	for i := range west.Streets {
		s := &west.Streets[i]
		inside := 0
		for _, p := range s.Line {
			if lon, lat := west.Frame.Inverse(p); (Degrees{-8, 46, middle, 48}).Holds(lon, lat) {
				inside++
			}
		}
		if inside == 0 {
			t.Errorf("street %d has no node in the part", s.ID)
		}
		if s.Flags&(osmdata.FlagOpenStart|osmdata.FlagOpenEnd) != 0 {
			open++
			if inside == len(s.Line) {
				t.Errorf("street %d lies inside and goes on outside", s.ID)
			}
		}
	}
	if open == 0 || len(west.Streets) >= len(k.X.Streets) {
		t.Errorf("%d of %d streets of %d go on outside", open, len(west.Streets), len(k.X.Streets))
	}
	for i, n := range sizes(west)[4:] { // one on either side
		if n != 1 {
			t.Errorf("kind %d: %d on the west", i+4, n)
		}
	}
}

// Taking a part leaves the extract that it is taken of as it was.
func TestPartLeavesItsExtract(t *testing.T) {
	k, same := drawn(), drawn()
	Part(&k.X, Degrees{-7.0005, 46, -6.9, 48})
	if !reflect.DeepEqual(k.X, same.X) {
		t.Error("the extract is another")
	}
}

// The same seed draws the same suburb, another one another; its streets hang together where
// they share a point, and are found by what they were drawn with.
func TestSuburb(t *testing.T) {
	a, b, c := Suburb(5, 3), Suburb(5, 3), Suburb(5, 4)
	if !reflect.DeepEqual(a.X.Streets, b.X.Streets) || reflect.DeepEqual(a.X.Streets, c.X.Streets) {
		t.Error("not the same twice, or the same for another seed")
	}
	at := map[plane.Point]int64{}
	for i := range a.X.Streets {
		s := &a.X.Streets[i]
		for n, p := range s.Line {
			if known, ok := at[p]; ok && known != s.Nodes[n] {
				t.Fatalf("two nodes at %v", p)
			}
			at[p] = s.Nodes[n]
		}
	}
	g := a.Net(t)
	for i := range a.X.Streets {
		e := EdgeOf(t, g, &a.X.Streets[i])
		found := false
		for _, p := range g.Parts[g.PartAt[e]:g.PartAt[e+1]] {
			found = found || p.Street == a.X.Streets[i].ID
		}
		if !found {
			t.Errorf("street %d is not on edge %d", i, e)
		}
	}
}

// A road has motors on it and a path has not; a fence lets eyes through and a wall none.
func TestWhatIsDrawn(t *testing.T) {
	k := New()
	if road, path := *k.Street(osmdata.Residential, Line(0, 0, 10, 0)), *k.Street(osmdata.Path, Line(0, 0, 0, 10)); !road.Motor || path.Motor || !road.Foot || !path.Foot || road.ID == path.ID {
		t.Errorf("%+v and %+v", road, path)
	}
	k.House(1, 2, 3)
	k.Fence(Line(0, 5, 9, 5))
	house, fence := k.X.Obstacles[0], k.X.Obstacles[1]
	if house.Line[0] != house.Line[len(house.Line)-1] || house.Line.LengthM() != 12 || house.Blocks&osmdata.BlocksView == 0 || fence.Blocks&osmdata.BlocksView != 0 || fence.Blocks&osmdata.BlocksWay == 0 {
		t.Errorf("%+v and %+v", house, fence)
	}
	if f := Footprint(1, 2, 3); f.AreaM2() != 9 {
		t.Errorf("a square of 3 m has %g m2", f.AreaM2())
	}
	if x, g := Town(t); len(x.Streets) < 50 || g.EdgeCount() < 50 {
		t.Errorf("the town has %d streets, %d edges", len(x.Streets), g.EdgeCount())
	}
}
