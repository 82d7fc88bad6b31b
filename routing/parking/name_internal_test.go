package parking

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// TestTelling: a name tells a place where one word of it does; words for car parks,
// directions, numbers and single letters do not.
func TestTelling(t *testing.T) {
	for _, own := range []string{"Mill Car Park", "Heron", "Parkplatz Seeblick", "Lot 3 (Boathouse)", "P/North-Meadow", "McLane Lot", "free parking, Old Quay"} {
		if !telling(own) {
			t.Errorf("%q tells nothing", own)
		}
	}
	for _, own := range []string{"", "Parking", "Car Park", "PARKING LOT", "Lot 12", "P", "P1", "Visitor's Parking", "Parkplatz", "the north-east car park.", "#3", "2024", "A.B.", "Trail Access/Overflow"} {
		if telling(own) {
			t.Errorf("%q is taken for a name", own)
		}
	}
}

// TestCompass: the eight winds clockwise from the north, each a quarter of a right angle
// to either side (bearings as on a compass rose of eight points).
func TestCompass(t *testing.T) {
	from := plane.Point{X: 300, Y: -20}
	for deg := 0; deg < 360; deg++ {
		if (2*deg)%90 == 45 {
			continue // halfway between two winds
		}
		rad := float64(deg) * math.Pi / 180
		to := from.Add(plane.Point{X: math.Sin(rad), Y: math.Cos(rad)}.Mul(700))
		least, want := math.Inf(1), ""
		for i, wind := range []string{"north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest"} {
			off := math.Abs(math.Remainder(float64(deg-45*i), 360))
			if off < least {
				least, want = off, wind
			}
		}
		if got := compass(from, to); got != want {
			t.Errorf("at %d degrees lies %q, want %q", deg, got, want)
		}
	}
}

// TestCut: each level of a name tells more, and what lies within 3 km of a settlement needs
// its direction only where that tells two apart.
func TestCut(t *testing.T) {
	near := Name{Head: "Heron Park", Street: "Long Street", Settlement: "Middleham", Toward: "west", AwayM: 1740}
	far := Name{Street: "Long Street", Settlement: "Middleham", Toward: "east", AwayM: 4260}
	for _, c := range []struct {
		full  Name
		level int
		want  Name
	}{
		{near, 0, Name{Head: "Heron Park", Settlement: "Middleham"}},
		{near, 1, Name{Head: "Heron Park", Street: "Long Street", Settlement: "Middleham"}},
		{near, 2, Name{Head: "Heron Park", Street: "Long Street", Settlement: "Middleham", Toward: "west"}},
		{near, 3, Name{Head: "Heron Park", Street: "Long Street", Settlement: "Middleham", Toward: "west", AwayM: 1500}},
		{far, 0, Name{Street: "Long Street", Settlement: "Middleham", Toward: "east", AwayM: 4500}},
		{far, 3, Name{Street: "Long Street", Settlement: "Middleham", Toward: "east", AwayM: 4500}},
		{Name{Settlement: "Middleham", Toward: "east", AwayM: 3000}, 0, Name{Settlement: "Middleham"}},
		{Name{Settlement: "Middleham", Toward: "east", AwayM: 3001}, 0, Name{Settlement: "Middleham", Toward: "east", AwayM: 3000}},
		{Name{}, 3, Name{}},
	} {
		if got := c.full.cut(c.level); got != c.want {
			t.Errorf("%+v at level %d is %+v, want %+v", c.full, c.level, got, c.want)
		}
	}
}

// TestNamesAreApart: whatever spots there are, no two end with one name, and each name is
// a form of all that the spot can be called by, with a number where that is not enough.
func TestNamesAreApart(t *testing.T) {
	s := maptest.Town(t)
	rng := rand.New(rand.NewPCG(3, 4))
	green := newGreen(s)
	numbered := 0
	for range 20 {
		spots := make([]Spot, 2+rng.IntN(30))
		own := make([]string, len(spots))
		at := maptest.RandomDoors(s, len(spots), rng)
		for i := range spots {
			spots[i].Start.At = at[i]
			if rng.IntN(3) == 0 {
				own[i] = []string{"Mill", "Parking", "Old Quay"}[rng.IntN(3)]
			}
		}
		name(s, green, spots, own)
		seen := map[Name]bool{}
		n := namer{s, green}
		for i := range spots {
			if seen[spots[i].Name] {
				t.Errorf("two spots are called %+v", spots[i].Name)
			}
			seen[spots[i].Name] = true
			full, bare := n.full(at[i], own[i]), spots[i].Name
			if bare.Nth != 0 {
				numbered++
			}
			bare.Nth = 0
			levels := 0
			for level := range 4 {
				if full.cut(level) == bare {
					levels++
				}
			}
			if levels == 0 {
				t.Errorf("%+v is no form of %+v", bare, full)
			}
		}
	}
	if numbered == 0 {
		t.Log("no name needed a number")
	}
	// Spots without anything to be called by are numbered from 1 on, others alike from 2 on.
	empty := *s
	empty.Ground = &snapshot.GroundPlan{}
	far := []Spot{{}, {}, {}}
	for i := range far {
		far[i].Start.At = plane.Point{X: 1e5, Y: 1e5}
	}
	name(&empty, newGreen(&empty), far, []string{"", "Mill", "Mill"})
	var got []Name
	for _, f := range far {
		got = append(got, f.Name)
	}
	if want := []Name{{Nth: 1}, {Head: "Mill"}, {Head: "Mill", Nth: 2}}; !slices.Equal(got, want) {
		t.Errorf("they are called %+v, want %+v", got, want)
	}
}

// TestStreetsNearEnoughToNameBy: a street 200 m off at most names a place, also over a
// corner; a path's name is taken where no street within 200 m has one, however near it is.
func TestStreetsNearEnoughToNameBy(t *testing.T) {
	d := &maptest.Drawing{}
	d.Way("highway=residential;name=Kiln Lane", 0, 0, 2000, 0)
	d.Way("highway=path;name=Otter Walk", 0, 180, 2000, 180)
	s := d.Map(t)
	n := namer{s, newGreen(s)}
	var west plane.Point // where the lane begins: all places are told from there
	for e := range int32(s.Graph.EdgeCount()) {
		if s.Graph.Names[s.Graph.Parts[s.Graph.PartAt[e]].Name] == "Kiln Lane" {
			l := s.Graph.EdgeLine(e)
			if west = l[0]; l[len(l)-1].X < west.X {
				west = l[len(l)-1]
			}
		}
	}
	for _, c := range []struct {
		x, y float64
		want string
	}{
		{1000, -199, "Kiln Lane"}, {1000, -201, ""},
		{-199, -5, "Kiln Lane"}, {-201, -5, ""},
		{-150, -130, "Kiln Lane"}, // 198 m over the corner
		{-150, -140, ""},          // 205 m, within a square of 200
		{1000, 179, "Kiln Lane"},  // though the path is a metre off
		{1000, 201, "Otter Walk"},
		{1000, 379, "Otter Walk"}, {1000, 381, ""},
	} {
		if got := n.street(west.Add(plane.Point{X: c.x, Y: c.y})); got != c.want {
			t.Errorf("%g m east and %g m north lies by %q, want %q", c.x, c.y, got, c.want)
		}
	}
}

// TestWhatAPlaceIsCalledBy: street, park and settlement of places all over the town,
// against looking at every one of them.
func TestWhatAPlaceIsCalledBy(t *testing.T) {
	s := maptest.Town(t)
	green := newGreen(s)
	n := namer{s, green}
	rng := rand.New(rand.NewPCG(1, 9))
	inGreen, homeless := 0, 0
	for _, at := range maptest.RandomDoors(s, 120, rng) {
		at = at.Add(plane.Point{X: 150 * rng.NormFloat64(), Y: 150 * rng.NormFloat64()})
		street, least := "", math.Inf(1)
		for e := range int32(s.Graph.EdgeCount()) {
			name := s.Graph.Names[s.Graph.Parts[s.Graph.PartAt[e]].Name]
			_, _, d := s.Graph.EdgeLine(e).Nearest(at)
			if name == "" || d > 200 {
				continue
			}
			if s.Graph.Class[e] > osmdata.LivingStreet {
				d += 200 // a path's name only where no street has one
			}
			if d < least {
				street, least = name, d
			}
		}
		park, beside := "", false
		least = math.Inf(1)
		grounds := s.Ground.AllGrounds()
		for i := range grounds {
			g := &grounds[i]
			if g.Kind != osmdata.Park && g.Kind != osmdata.Wood && g.Kind != osmdata.Sand {
				continue
			}
			d := g.Area.DistanceM(at)
			beside = beside || d <= 60
			if d <= 60 && g.Name != "" && d < least {
				park, least = g.Name, d
			}
		}
		if beside {
			inGreen++
		}
		if got := green.beside(at); got != beside {
			t.Errorf("%v lies beside a green: %v", at, got)
		}
		full := n.full(at, "Parking")
		if s := n.settlement(at); s == nil {
			homeless++
		} else if full.Settlement != s.Name || math.Abs(full.AwayM-s.At.DistanceM(at)) > 1e-9 || full.Toward != compass(s.At, at) {
			t.Errorf("%v lies %.0f m %s of %q, told is %+v", at, s.At.DistanceM(at), compass(s.At, at), s.Name, full)
		}
		if full.Settlement == park {
			park = ""
		}
		if full.Street != street || full.Head != park {
			t.Errorf("%v is called %+v, want street %q and head %q", at, full, street, park)
		}
		if got := n.full(at, "Mill Car Park"); got.Head != "Mill Car Park" {
			t.Errorf("with a name of its own it is called %+v", got)
		}
	}
	if inGreen < 5 || inGreen > 115 {
		t.Errorf("%d of 120 places lie beside a green", inGreen)
	}
}

// TestSettlement: the nearest that people name a place by, within 12 km; a quarter without
// a name of its own in people's mouths only where there is no other; a head that is the
// settlement's own name is not said twice.
func TestSettlement(t *testing.T) {
	s := *maptest.Town(t)
	place := func(name string, x float64, kind snapshot.SettlementKind) snapshot.Settlement {
		return snapshot.Settlement{Name: name, At: plane.Point{X: x}, Kind: kind}
	}
	small := snapshot.Suburb - 1
	for _, c := range []struct {
		places []snapshot.Settlement
		want   string
	}{
		{nil, ""},
		{[]snapshot.Settlement{place("Far", 12_001, snapshot.Suburb)}, ""},
		{[]snapshot.Settlement{place("Edge", 12_000, snapshot.Suburb)}, "Edge"},
		{[]snapshot.Settlement{place("Far", 3000, snapshot.Suburb), place("Near", -2000, snapshot.Suburb)}, "Near"},
		{[]snapshot.Settlement{place("Nook", 100, small), place("Far", 11_000, snapshot.Suburb)}, "Far"},
		{[]snapshot.Settlement{place("Nook", 100, small), place("Corner", 50, small)}, "Corner"},
		{[]snapshot.Settlement{place("Nook", 100, small), place("Too Far", 13_000, snapshot.Suburb)}, "Nook"},
	} {
		s.Ground = &snapshot.GroundPlan{Places: c.places}
		n := namer{&s, newGreen(&s)}
		got := ""
		if best := n.settlement(plane.Point{}); best != nil {
			got = best.Name
		}
		if got != c.want {
			t.Errorf("of %v: %q, want %q", c.places, got, c.want)
		}
	}
	s.Ground = &snapshot.GroundPlan{Places: []snapshot.Settlement{place("Heron", 100, snapshot.Suburb)}}
	n := namer{&s, newGreen(&s)}
	if full := n.full(plane.Point{}, "HERON"); full.Head != "" || full.Settlement != "Heron" || full.Toward != "west" {
		t.Errorf("a car park called as the settlement is called %+v", full)
	}
}
