package parking_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"wideberth/routing/parking"
	"wideberth/routing/snapshot"
	"wideberth/routing/snapshot/maptest"
)

// sketch draws a map about 47 N 7 W; places are metres east and north.
type sketch struct {
	nodes, ways strings.Builder
	next        int
}

func (s *sketch) node(x, y float64, tags ...string) int {
	s.next++
	fmt.Fprintf(&s.nodes, `<node id="%d" lat="%.7f" lon="%.7f" version="1">%s</node>`, s.next, 47+y/111_170, -7+x/75_960, tagged(tags))
	return s.next
}

func (s *sketch) way(points [][2]float64, tags ...string) {
	var refs strings.Builder
	first := 0
	for i, p := range points {
		id := first
		if i == 0 || p != points[0] {
			id = s.node(p[0], p[1])
		}
		if i == 0 {
			first = id
		}
		fmt.Fprintf(&refs, `<nd ref="%d"/>`, id)
	}
	s.next++
	fmt.Fprintf(&s.ways, `<way id="%d" version="1">%s%s</way>`, s.next, refs.String(), tagged(tags))
}

func (s *sketch) square(x, y, half float64, tags ...string) {
	s.way([][2]float64{{x - half, y - half}, {x + half, y - half}, {x + half, y + half}, {x - half, y + half}, {x - half, y - half}}, tags...)
}

func tagged(tags []string) (out string) {
	for _, t := range tags {
		k, v, _ := strings.Cut(t, "=")
		out += fmt.Sprintf(`<tag k="%s" v="%s"/>`, k, v)
	}
	return out
}

func (s *sketch) spots(t *testing.T) []parking.Spot {
	t.Helper()
	file := filepath.Join(t.TempDir(), "sketch.osm")
	text := `<osm version="0.6">` + s.nodes.String() + s.ways.String() + `</osm>`
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	snap, err := snapshot.Import(t.Context(), file, snapshot.ImportOptions{Country: "GB"})
	if err != nil {
		t.Fatal(err)
	}
	return parking.Find(snap)
}

// longStreet is a street from west to east past a village in the middle.
func longStreet() *sketch {
	s := &sketch{}
	line := make([][2]float64, 0, 25)
	for x := -6000.0; x <= 6000; x += 500 {
		line = append(line, [2]float64{x, 0})
	}
	s.way(line, "highway=unclassified", "name=Long Street")
	s.node(0, 100, "place=village", "name=Middleham")
	s.node(600, 100, "place=neighbourhood", "name=Gardens")
	return s
}

func named(spots []parking.Spot) (out []string) {
	for i := range spots {
		n := spots[i].Name
		out = append(out, strings.Join([]string{n.Head, n.Street, n.Settlement, n.Toward, fmt.Sprint(n.AwayM), fmt.Sprint(n.Nth)}, "|"))
	}
	slices.Sort(out)
	return out
}

// Who may not park there finds no spot there, and a car park on somebody's ground is
// theirs unless tags open it.
func TestWhereStrangersPark(t *testing.T) {
	s := longStreet()
	put := func(x float64, tags ...string) { s.square(x, 30, 10, append([]string{"amenity=parking"}, tags...)...) }
	put(-5000, "access=private")
	put(-4500, "access=customers")
	put(-4000, "access=no")
	put(-3500, "park_ride=yes")
	put(-3000, "parking=multi-storey")
	put(-2500, "access=permit")
	s.square(-2000, 60, 60, "landuse=industrial")
	put(-2000)
	s.square(-1500, 60, 60, "landuse=retail")
	put(-1500)
	s.square(-1000, 60, 60, "amenity=school")
	put(-1000)
	s.square(1000, 60, 60, "landuse=industrial")
	put(1000, "access=yes", "name=Works Gate")
	put(2800, "name=Mill Car Park")
	put(2900, "name=Beside It") // 100 m from the one before
	put(5000, "name=Parking Lot")
	got := named(s.spots(t))
	want := []string{"Mill Car Park||Middleham||0|0", "Works Gate||Middleham||0|0", "|Long Street|Middleham|east|5000|0"}
	if !slices.Equal(got, want) {
		t.Errorf("spots\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// Of spots with one name each gets more to tell it apart by, as much as that needs.
func TestNamesApart(t *testing.T) {
	s := longStreet()
	for _, x := range []float64{-1500, -1000, -600, 900, 2500} {
		s.square(x, 30, 10, "amenity=parking", "access=yes")
	}
	s.square(-3500, 130, 100, "leisure=park", "name=Heron Park")
	s.square(-3500, 20, 10, "amenity=parking")
	got := named(s.spots(t))
	want := []string{"Heron Park||Middleham|west|3500|0", "|Long Street|Middleham|east|1000|0", "|Long Street|Middleham|east|2500|0",
		"|Long Street|Middleham|west|1000|0", "|Long Street|Middleham|west|1500|0", "|Long Street|Middleham|west|500|0"}
	if !slices.Equal(got, want) {
		t.Errorf("spots\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// Where a path leads from a small road into a wood, a car is left at the roadside;
// none is where nothing leads in.
func TestRoadsides(t *testing.T) {
	s := longStreet()
	s.square(-3000, 300, 280, "natural=wood", "name=Alder Wood") // no way in
	s.square(2000, 300, 280, "natural=wood", "name=Beech Wood")
	gate := s.node(2200, 0)
	in, end := s.node(2200, 200), s.node(2200, 560)
	fmt.Fprintf(&s.ways, `<way id="90001" version="1"><nd ref="%d"/><nd ref="%d"/><nd ref="%d"/><tag k="highway" v="path"/></way>`, gate, in, end)
	fmt.Fprintf(&s.ways, `<way id="90002" version="1"><nd ref="%d"/><nd ref="%d"/><nd ref="%d"/><tag k="highway" v="residential"/></way>`, s.node(1700, -10), gate, s.node(2700, -10))
	spots := s.spots(t)
	if len(spots) != 1 || spots[0].Sort != parking.Roadside || spots[0].Name.Head != "Beech Wood" {
		t.Fatalf("spots %q, want the roadside at Beech Wood", named(spots))
	}
}

// No two spots of the invented town are alike or near each other.
func TestSpotsOfTheTown(t *testing.T) {
	checkSpots(t, parking.Find(maptest.Town(t)))
}

func checkSpots(t *testing.T, spots []parking.Spot) {
	t.Helper()
	seen := map[parking.Name]int{}
	for i := range spots {
		if j, twice := seen[spots[i].Name]; twice {
			t.Errorf("spots %d and %d are both called %+v", j, i, spots[i].Name)
		}
		seen[spots[i].Name] = i
		for j := range i {
			if d := spots[i].Start.At.DistanceM(spots[j].Start.At); d < 250 {
				t.Errorf("spots %d and %d are %.0f m apart", j, i, d)
			}
		}
	}
}
