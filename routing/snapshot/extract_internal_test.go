package snapshot

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"wideberth/exposure"
	"wideberth/osmdata"
	"wideberth/osmdata/fault"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/testdata"
)

func square(x, y, side float64) plane.Polygon {
	return plane.Polygon{Outer: plane.Ring{{X: x, Y: y}, {X: x + side, Y: y}, {X: x + side, Y: y + side}, {X: x, Y: y + side}}}
}

func feature(as string, x, y float64, tags ...string) osmdata.Feature {
	f := osmdata.Feature{As: as, Point: plane.Point{X: x, Y: y}, Tags: map[string]string{}}
	for _, t := range tags {
		k, v, _ := strings.Cut(t, "=")
		f.Tags[k] = v
		if k == "name" {
			f.Name = v
		}
	}
	return f
}

// TestCoverOfAnExtract: what is cover, under which name, and what is locked or private is
// none; a door without a name has the nearest address within 15 m.
func TestCoverOfAnExtract(t *testing.T) {
	lot := feature("parking", 300, 300, "name=Mill Lot")
	lot.Areas = []plane.Polygon{square(300, 300, 25)}
	x := &osmdata.Extract{
		Features: []osmdata.Feature{
			feature("gate", 10, 0, "name=North Gate"), feature("gate", 5, 0), feature("gate", 6, 0, "access=private"), feature("gate", 7, 0, "access=no"), feature("gate", 8, 0, "locked=yes"), feature("gate", 9, 0, "locked=no"),
			feature("entrance", 100, 0), feature("entrance", 200, 0, "name=Hall"), feature("entrance", 400, 0),
			feature("bus_stop", 0, 50, "shelter=yes", "name=Stop"), feature("bus_stop", 1, 50, "shelter=no"), feature("bus_stop", 2, 50), feature("shelter", 3, 50),
			feature("school", 0, 60, "shelter=yes"), lot, feature("parking", 500, 500),
		},
		Addresses: []osmdata.Address{{Street: "Race Walk", Number: "12", At: plane.Point{X: 110, Y: 0}}, {Street: "Race Walk", Number: "14", At: plane.Point{X: 94, Y: 0}}, {Street: "Far Row", Number: "1", At: plane.Point{X: 416, Y: 0}}, {Street: "Hall Row", Number: "2", At: plane.Point{X: 201, Y: 0}}},
	}
	x.Streets = []osmdata.Street{{Foot: true, Nodes: []int64{1, 2}, Line: plane.Polyline{{X: 700}, {X: 720}}}, {Flags: osmdata.FlagDrive, Nodes: []int64{2, 3}, Line: plane.Polyline{{X: 720}, {X: 730}}}}
	var got []Cover
	for _, c := range coversOf(x) {
		if c.Kind != ParkedCars {
			got = append(got, c)
		}
	}
	at := func(x, y float64) plane.Point { return plane.Point{X: x, Y: y} }
	want := []Cover{{Gate, "", at(5, 0)}, {Gate, "", at(9, 0)}, {Gate, "North Gate", at(10, 0)}, {Entrance, "14 Race Walk", at(100, 0)}, {Entrance, "Hall", at(200, 0)}, {Entrance, "", at(400, 0)}, {Drive, "", at(720, 0)}, {Shelter, "Stop", at(0, 50)}, {Shelter, "", at(3, 50)}}
	if !slices.Equal(got, want) {
		t.Errorf("cover is\n%v, want\n%v", got, want)
	}
	// A car park's edge of 100 m has a car every 20 m; one without an area is a place.
	var cars []plane.Point
	for _, c := range coversOf(x) {
		if c.Kind == ParkedCars {
			cars = append(cars, c.At)
			if c.At.X < 400 && c.Name != "Mill Lot" {
				t.Errorf("cars of %q", c.Name)
			}
		}
	}
	wantCars := []plane.Point{at(300, 300), at(300, 320), at(315, 325), at(320, 300), at(325, 315), at(500, 500)}
	if len(cars) != len(wantCars) {
		t.Fatalf("cars at %v, want %v", cars, wantCars)
	}
	for i := range cars {
		if cars[i].DistanceM(wantCars[i]) > 1e-6 {
			t.Errorf("cars at %v, want %v", cars, wantCars)
			break
		}
	}
	if words := [...]string{Gate.String(), Entrance.String(), Drive.String(), ParkedCars.String(), Shelter.String()}; words != [...]string{"gate", "entrance", "drive", "parked_cars", "shelter"} {
		t.Errorf("they are called %q", words)
	}
}

// TestDriveMouths: where a drive meets a way that is none and may be walked, once for each
// place; aisles of car parks have none, nor has a drive on a drive.
func TestDriveMouths(t *testing.T) {
	street := func(flags osmdata.StreetFlags, foot bool, nodes ...int64) osmdata.Street {
		s := osmdata.Street{Flags: flags, Foot: foot, Nodes: nodes}
		for _, n := range nodes {
			s.Line = append(s.Line, plane.Point{X: float64(n)})
		}
		return s
	}
	got := driveMouths([]osmdata.Street{
		street(osmdata.FlagDrive|osmdata.FlagDriveway, true, 2, 20), street(0, true, 1, 2, 3, 4, 5), street(0, false, 6, 7),
		street(osmdata.FlagDriveway, true, 30, 3), street(osmdata.FlagDrive, true, 2, 21), street(osmdata.FlagDriveway|osmdata.FlagAisle, true, 4, 40),
		street(osmdata.FlagDrive, true, 6, 60), street(osmdata.FlagDrive, true, 20, 22), street(osmdata.FlagDrive, true, 5, 50, 1),
	})
	var at []float64
	for _, p := range got {
		at = append(at, p.X)
	}
	if want := []float64{2, 3, 5, 1}; !slices.Equal(at, want) {
		t.Errorf("drives leave at %v, want %v", at, want)
	}
}

// TestCoverNearByLookingAtAll: what is found about a place is what lies within the distance,
// nearest first, and of those alike the first in the list.
func TestCoverNearByLookingAtAll(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 3))
	gp := &GroundPlan{}
	for i := range 400 {
		at := plane.Point{X: 400 * (2*rng.Float64() - 1), Y: 400 * (2*rng.Float64() - 1)}
		if i%10 == 0 && i > 0 {
			at = gp.Covers[i-1].At // two at one place
		}
		gp.Covers = append(gp.Covers, Cover{Kind: Gate, At: at})
	}
	for range 200 {
		at, within := plane.Point{X: 450 * (2*rng.Float64() - 1), Y: 450 * (2*rng.Float64() - 1)}, rng.Float64()*150
		var want []int32
		for i := range gp.Covers {
			if gp.Covers[i].At.DistanceM(at) <= within {
				want = append(want, int32(i))
			}
		}
		slices.SortStableFunc(want, func(a, b int32) int { return cmp.Compare(gp.Covers[a].At.DistanceM(at), gp.Covers[b].At.DistanceM(at)) })
		if got := gp.CoverNear(at, within); !slices.Equal(got, want) {
			t.Fatalf("within %.1f m of %v: %v, want %v", within, at, got, want)
		}
	}
	doors := doorsOf(nil)
	if name := doors.near(plane.Point{}); name != "" {
		t.Errorf("no address is %q", name)
	}
	// Addresses by looking at all of them.
	var all []osmdata.Address
	for i := range 300 {
		all = append(all, osmdata.Address{Street: "Row", Number: string(rune('A'+i%26)) + string(rune('a'+i/26)), At: plane.Point{X: 200 * rng.Float64(), Y: 200 * rng.Float64()}})
	}
	doors = doorsOf(all)
	nameless := 0
	for range 300 {
		at := plane.Point{X: 260*rng.Float64() - 30, Y: 260*rng.Float64() - 30}
		want, least := "", 15.0
		for i := range all {
			if m := all[i].At.DistanceM(at); m < least {
				want, least = all[i].Number+" Row", m
			}
		}
		if want == "" {
			nameless++
		}
		if got := doors.near(at); got != want {
			t.Fatalf("at %v: %q, want %q", at, got, want)
		}
	}
	if nameless == 0 || nameless == 300 {
		t.Errorf("%d of 300 doors are nameless", nameless)
	}
}

// TestCarParksOfAnExtract: those that tags open are public, those of which nothing is said
// are taken unless the ground is somebody's; roofs, customers and changing to a train leave
// them out.
func TestCarParksOfAnExtract(t *testing.T) {
	x := &osmdata.Extract{Grounds: []osmdata.Ground{{Kind: osmdata.Industrial, Area: square(1000, 0, 100)}, {Kind: osmdata.Retail, Area: square(2000, 0, 100)}, {Kind: osmdata.Park, Area: square(3000, 0, 100)}, {Kind: osmdata.Residentials, Area: square(4000, 0, 100)}}}
	add := func(name string, x0 float64, tags ...string) {
		x.Features = append(x.Features, feature("parking", x0, 50, append(tags, "name="+name)...))
	}
	add("plain", 0)
	add("unknown", 10, "access=unknown")
	for _, access := range []string{"yes", "public", "permissive", "designated"} {
		add("open "+access, 20, "access="+access)
	}
	for _, access := range []string{"private", "customers", "no", "permit", "members", "delivery"} {
		add("shut", 30, "access="+access)
	}
	for _, roof := range []string{"multi-storey", "underground", "rooftop", "garage_boxes", "carports", "sheds"} {
		add("roof", 40, "parking="+roof, "access=yes")
	}
	add("surface", 50, "parking=surface")
	add("train", 60, "park_ride=yes")
	add("train", 60, "park_ride=hov")
	add("no train", 70, "park_ride=no")
	add("works", 1050)
	add("works, open", 1050, "access=yes")
	add("shops", 2050)
	add("in the park", 3050)
	add("among homes", 4050)
	x.Features = append(x.Features, feature("school", 0, 0, "name=no car park"))
	var got []string
	for _, c := range carParks(x) {
		if c.Public {
			got = append(got, c.Name+"!")
		} else {
			got = append(got, c.Name)
		}
	}
	want := []string{"plain", "unknown", "open yes!", "open public!", "open permissive!", "open designated!", "surface", "no train", "works, open!", "in the park", "among homes"}
	if !slices.Equal(got, want) {
		t.Errorf("car parks are %q, want %q", got, want)
	}
}

// TestPlanKeepsWhatIsDrawn: roads for motors alone, places that have names, buildings with
// their numbers.
func TestPlanKeepsWhatIsDrawn(t *testing.T) {
	line := plane.Polyline{{}, {X: 1}}
	x := &osmdata.Extract{
		Streets:   []osmdata.Street{{Motor: true, Class: osmdata.Motorway, Name: "Long Chase", Line: line}, {Motor: true, Foot: true, Line: line}, {Foot: true, Line: line}, {Line: line}},
		Places:    []osmdata.Feature{feature("village", 0, 0, "name=Nook"), feature("village", 0, 0), feature("isolated_dwelling", 1, 0, "name=Farm"), feature("borough", 2, 0, "name=Side"), feature("city", 3, 0, "name=Main")},
		Buildings: []osmdata.Building{{Area: square(0, 0, 10), HouseNumber: "7"}},
		Features:  []osmdata.Feature{feature("parking", 5, 5, "name=Lot"), feature("gate", 6, 6)},
	}
	gp := newGroundPlan(x)
	if len(gp.Roads) != 1 || gp.Roads[0].Name != "Long Chase" || gp.Roads[0].Class != osmdata.Motorway {
		t.Errorf("roads %+v", gp.Roads)
	}
	if want := []Settlement{{"Nook", plane.Point{}, Village}, {"Farm", plane.Point{X: 1}, Dwelling}, {"Side", plane.Point{X: 2}, Suburb}, {"Main", plane.Point{X: 3}, City}}; !slices.Equal(gp.Places, want) {
		t.Errorf("places %+v, want %+v", gp.Places, want)
	}
	if len(gp.CarParks) != 1 || gp.CarParks[0].Name != "Lot" || len(gp.Covers) != 2 {
		t.Errorf("car parks %+v, covers %+v", gp.CarParks, gp.Covers)
	}
	if len(gp.Buildings) != 1 || gp.Buildings[0].Number != "7" {
		t.Errorf("buildings %+v", gp.Buildings)
	}
	if !(Dwelling < Neighbourhood && Neighbourhood < Quarter && Quarter < Hamlet && Hamlet < Suburb && Suburb < Village && Village < Town && Town < City) {
		t.Error("settlements are not in the order of their size")
	}
}

// TestNameOfAnExtract: that of the largest place on it beside the file's, the place's alone
// for a file that says nothing, the file's alone where no place has a name.
func TestNameOfAnExtract(t *testing.T) {
	place := func(kind, name string) osmdata.Feature { return feature(kind, 0, 0, "place="+kind, "name="+name) }
	for _, c := range []struct {
		path   string
		places []osmdata.Feature
		want   string
	}{
		{"/maps/north-latest.osm.pbf", nil, "north"},
		{"north.osm", []osmdata.Feature{place("hamlet", "Nook")}, "north (Nook)"},
		{"town.osm.gz", []osmdata.Feature{place("town", "Mickle")}, "Mickle"},
		{"Town.pbf", []osmdata.Feature{place("village", "Mickle")}, "Mickle"},
		{"x.osm", []osmdata.Feature{place("village", "B"), place("city", "C"), place("town", "D"), place("state", ""), place("city", "E")}, "x (C)"},
		{"x.osm", []osmdata.Feature{place("state", "S"), place("city", "C")}, "x (S)"},
		{"x.osm", []osmdata.Feature{place("suburb", "U"), place("hamlet", "H")}, "x (U)"},
		{"x.osm", []osmdata.Feature{place("locality", "L")}, "x"},
	} {
		if got := extractName(&osmdata.Extract{Places: c.places}, c.path); got != c.want {
			t.Errorf("%s with %d places is called %q, want %q", c.path, len(c.places), got, c.want)
		}
	}
}

// TestImportSaysWhatItDoes: progress never falls and ends at 1, options are found in what is
// made, and counts that cannot be are refused before any survey.
func TestImportSaysWhatItDoes(t *testing.T) {
	world, err := testdata.Worlds().Open("school-with-a-gate.osm")
	if err != nil {
		t.Fatal(err)
	}
	defer world.Close()
	var text bytes.Buffer
	if _, err := text.ReadFrom(world); err != nil {
		t.Fatal(err)
	}
	imported := func(o ImportOptions) (*Snapshot, error) {
		return ImportFrom(t.Context(), bytes.NewReader(text.Bytes()), "school.osm", o)
	}
	last, stages := 0.0, []string{}
	n := 3.0
	s, err := imported(ImportOptions{TimeZone: "America/New_York", Country: "us", Tool: "v1", Counts: []exposure.Count{{Lat: 1, Dogs: &n}},
		Progress: func(stage string, share float64) {
			if share < last-1e-9 || share > 1 || stage == "" {
				t.Errorf("%s: %g after %g", stage, share, last)
			}
			if last = share; !slices.Contains(stages, stage) {
				stages = append(stages, stage)
			}
		}})
	if err != nil {
		t.Fatal(err)
	}
	if last < 0.9 || len(stages) < 3 {
		t.Errorf("progress ends at %g after %q", last, stages)
	}
	if s.Zone != "America/New_York" || s.Country != "US" || s.Tool != "v1" || s.Licence != Licence || len(s.Counts) != 1 || s.Network != s.Graph.Fingerprint() || s.Name != "school" {
		t.Errorf("it says %+v", s.About)
	}
	for _, p := range s.Graph.Line {
		if !s.Bounds.Contains(p) {
			t.Fatalf("%v lies beyond the bounds %v", p, s.Bounds)
		}
	}
	if inner := s.Bounds.Grown(-1); !inner.Empty() && !slices.ContainsFunc(s.Graph.Line, func(p plane.Point) bool { return !inner.Contains(p) }) {
		t.Error("the bounds are wider than the network")
	}
	plain, err := imported(ImportOptions{})
	if err != nil || plain.Zone == "" || plain.Zone == s.Zone {
		t.Errorf("the zone of the place is %q, %v", plain.Zone, err)
	}
	var wrong fault.Problems
	_, err = imported(ImportOptions{CheckCount: func(g *network.Graph, f plane.Frame) fault.Problems {
		if g.EdgeCount() == 0 || math.IsNaN(f.Lat0) {
			t.Error("counts are checked against no map")
		}
		return fault.One("/0/lat", "1", "lies off the map")
	}})
	if !errors.As(err, &wrong) || wrong[0].Pointer != "/0/lat" {
		t.Errorf("counts off the map: %v", err)
	}
	if _, err = imported(ImportOptions{CheckCount: func(*network.Graph, plane.Frame) fault.Problems { return nil }}); err != nil {
		t.Errorf("counts on the map: %v", err)
	}
}

// TestCountsOfAnEarlierFile: counts are read under the small names that files of this
// version had at first, too (encoding/json matches names whatever their case).
func TestCountsOfAnEarlierFile(t *testing.T) {
	var got []exposure.Count
	if err := json.Unmarshal([]byte(`[{"lat":47.2,"lon":-7,"start":"2026-11-25T07:10:00Z","minutes":10,"dogs":2,"traffic":41}]`), &got); err != nil {
		t.Fatal(err)
	}
	dogs, cars := 2.0, 41.0
	want := []exposure.Count{{Lat: 47.2, Lon: -7, Start: time.Date(2026, 11, 25, 7, 10, 0, 0, time.UTC), Minutes: 10, Dogs: &dogs, Traffic: &cars}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%+v", got)
	}
}
