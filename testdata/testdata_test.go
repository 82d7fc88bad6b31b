package testdata_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"io/fs"
	"math"
	"strings"
	"testing"

	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmxml"
	"github.com/ringsaturn/tzf"

	"wideberth/testdata"
)

// world is an OSM file by ids.
type world struct {
	nodes     map[osm.NodeID]*osm.Node
	ways      []*osm.Way
	relations []*osm.Relation
	bounds    *osm.Bounds
}

func read(t *testing.T, s *osmxml.Scanner) *world {
	t.Helper()
	w := &world{nodes: map[osm.NodeID]*osm.Node{}}
	for s.Scan() {
		switch o := s.Object().(type) {
		case *osm.Node:
			w.nodes[o.ID] = o
		case *osm.Way:
			w.ways = append(w.ways, o)
		case *osm.Relation:
			w.relations = append(w.relations, o)
		case *osm.Bounds:
			w.bounds = o
		}
	}
	if err := s.Err(); err != nil {
		t.Fatal(err)
	}
	return w
}

var parsed *world // the tests run one after another and only read it

func town(t *testing.T) *world {
	if parsed == nil {
		parsed = readTown(t)
	}
	return parsed
}

func readTown(t *testing.T) *world {
	t.Helper()
	z, err := gzip.NewReader(bytes.NewReader(testdata.Town()))
	if err != nil {
		t.Fatal(err)
	}
	return read(t, osmxml.New(context.Background(), z))
}

// xy is a node in metres from the door, on a plane good to a few centimetres
// over the town.
func xy(n *osm.Node) [2]float64 {
	k := 111_194.9 // metres per degree on the sphere of 6,371 km
	return [2]float64{(n.Lon - testdata.DoorLon) * k * math.Cos(testdata.DoorLat*math.Pi/180), (n.Lat - testdata.DoorLat) * k}
}

func (w *world) line(way *osm.Way) [][2]float64 {
	var out [][2]float64
	for _, r := range way.Nodes {
		if n := w.nodes[r.ID]; n != nil {
			out = append(out, xy(n))
		}
	}
	return out
}

func TestTownHoldsWhatTheDemoNeeds(t *testing.T) {
	w := town(t)
	count := map[string]int{}
	names := map[string]bool{}
	note := func(tags osm.Tags) {
		for _, g := range tags {
			count[g.Key]++
			count[g.Key+"="+g.Value]++
		}
	}
	for _, n := range w.nodes {
		note(n.Tags)
	}
	for _, way := range w.ways {
		note(way.Tags)
		if way.Tags.Find("highway") != "" {
			names[way.Tags.Find("name")] = true
		}
	}
	for _, r := range w.relations {
		note(r.Tags)
	}
	if len(names) < 250 {
		t.Errorf("%d street names, want a few hundred", len(names))
	}
	atLeast := map[string]int{
		"building": 1500, "addr:housenumber": 1500, "highway": 400, "service=alley": 30,
		"highway=primary": 3, "highway=secondary": 1, "oneway=yes": 2, "highway=steps": 2,
		"highway=turning_circle": 30, "footway=sidewalk": 2, "footway=crossing": 4, "sidewalk=both": 50,
		"sidewalk=separate": 1, "sidewalk=no": 5, "railway=level_crossing": 1, "railway=crossing": 1, "railway=station": 1,
		"amenity=school": 2, "amenity=kindergarten": 1, "leisure=dog_park": 1, "amenity=animal_training": 1,
		"sport=skateboard": 1, "leisure=playground": 4, "leisure=pitch": 4, "amenity=marketplace": 1,
		"outdoor_seating": 3, "bells": 1, "amenity=fire_station": 1, "amenity=hospital": 1, "landuse=construction": 1,
		"highway=construction": 1, "barrier=fence": 200, "barrier=wall": 100, "barrier=hedge": 50, "barrier=gate": 8, "locked=yes": 1,
		"barrier=stile": 1, "barrier=bollard": 1, "access=private": 4, "access=no": 1, "dog=no": 1, "route=ferry": 1,
		"foot:conditional": 1, "tunnel=building_passage": 2, "tunnel=yes": 1, "bridge=yes": 8, "place=town": 1,
		"type=multipolygon": 3, "natural=wood": 1, "highway=track": 5, "area=yes": 1, "building=apartments": 10,
		"building=detached": 100, "building=terrace": 500, "timezone=Etc/GMT": 1, "opening_hours": 10,
	}
	for k, n := range atLeast {
		if count[k] < n {
			t.Errorf("%s: %d, want at least %d", k, count[k], n)
		}
	}
	if n := count["natural=water"]; n < 3 {
		t.Errorf("%d waters, want river, race and pond", n)
	}
}

func TestTownStaysSmall(t *testing.T) {
	if n := len(testdata.Town()); n > 1<<20 {
		t.Errorf("town has %d bytes, at most 1 MiB belongs in the binary", n)
	}
}

// The flaws of real extracts: references beyond the border and within, two
// nodes at one place in one way.
func TestTownHasTheFlawsOfRealExtracts(t *testing.T) {
	w := town(t)
	beyond, within, zero := 0, 0, 0
	for _, way := range w.ways {
		for i, r := range way.Nodes {
			n := w.nodes[r.ID]
			switch {
			case n == nil && (i == 0 || i == len(way.Nodes)-1):
				beyond++
			case n == nil && w.nodes[way.Nodes[i-1].ID] != nil && w.nodes[way.Nodes[i+1].ID] != nil:
				within++
			case n != nil && i > 0 && w.nodes[way.Nodes[i-1].ID] != nil:
				if m := w.nodes[way.Nodes[i-1].ID]; m.ID != n.ID && m.Lat == n.Lat && m.Lon == n.Lon {
					zero++
				}
			}
		}
	}
	if beyond < 10 || within != 1 || zero != 1 {
		t.Errorf("ways that end beyond the border %d, missing nodes within %d, doubled nodes %d; want 10 or more, 1, 1", beyond, within, zero)
	}
}

func TestBuildingsKeepApart(t *testing.T) {
	w := town(t)
	grid := map[[2]int][]int{}
	var rings [][][2]float64
	for _, way := range w.ways {
		if way.Tags.Find("building") == "" {
			continue
		}
		ring := w.line(way)
		ring = ring[:len(ring)-1]
		cells(ring, func(c [2]int) { grid[c] = append(grid[c], len(rings)) })
		rings = append(rings, ring)
	}
	bad := 0
	for _, here := range grid {
		for i, a := range here {
			for _, b := range here[:i] {
				if overlap(rings[a], rings[b]) {
					bad++
				}
			}
		}
	}
	if bad > 0 {
		t.Errorf("%d pairs of buildings overlap", bad)
	}
	bad = 0
	for _, way := range w.ways {
		h := way.Tags.Find("highway")
		if h == "" || h == "construction" || way.Tags.Find("tunnel") != "" || way.Tags.Find("area") != "" {
			continue
		}
		line := w.line(way)
		for i := 1; i < len(line); i++ {
			hit := false
			cells(line[i-1:i+1], func(c [2]int) {
				for _, r := range grid[c] {
					hit = hit || entersRing(line[i-1], line[i], rings[r])
				}
			})
			if hit {
				bad++
				t.Logf("way %d %q runs through a building at %.0f, %.0f", way.ID, way.Tags.Find("name"), line[i][0], line[i][1])
			}
		}
	}
	if bad > 0 {
		t.Errorf("%d street pieces run through a building", bad)
	}
}

func cells(pts [][2]float64, do func([2]int)) {
	lo, hi := pts[0], pts[0]
	for _, p := range pts {
		lo = [2]float64{math.Min(lo[0], p[0]), math.Min(lo[1], p[1])}
		hi = [2]float64{math.Max(hi[0], p[0]), math.Max(hi[1], p[1])}
	}
	for x := int(math.Floor(lo[0] / 40)); x <= int(math.Floor(hi[0]/40)); x++ {
		for y := int(math.Floor(lo[1] / 40)); y <= int(math.Floor(hi[1]/40)); y++ {
			do([2]int{x, y})
		}
	}
}

func cross(a, b, c [2]float64) float64 {
	return (b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])
}

// properly tells whether two segments cross, not merely touch (1 cm grid).
func properly(a, b, c, d [2]float64) bool {
	const tol = 0.5 // m²: twice the triangle of a touch by a few centimetres
	s, t, u, v := cross(a, b, c), cross(a, b, d), cross(c, d, a), cross(c, d, b)
	return ((s > tol && t < -tol) || (s < -tol && t > tol)) && ((u > tol && v < -tol) || (u < -tol && v > tol))
}

func within(ring [][2]float64, p [2]float64) bool {
	in := false
	for i, j := 0, len(ring)-1; i < len(ring); j, i = i, i+1 {
		a, b := ring[i], ring[j]
		if (a[1] > p[1]) != (b[1] > p[1]) && p[0] < (b[0]-a[0])*(p[1]-a[1])/(b[1]-a[1])+a[0] {
			in = !in
		}
	}
	return in
}

func entersRing(a, b [2]float64, ring [][2]float64) bool {
	for i := range ring {
		if properly(a, b, ring[i], ring[(i+1)%len(ring)]) {
			return true
		}
	}
	return false
}

func overlap(r, q [][2]float64) bool {
	for i := range r {
		if entersRing(r[i], r[(i+1)%len(r)], q) {
			return true
		}
	}
	middle := func(r [][2]float64) [2]float64 {
		// Between two neighbouring corners and a third: inside for every
		// convex ring, and for the wings of the others.
		return [2]float64{(r[0][0] + r[1][0] + r[2][0]) / 3, (r[0][1] + r[1][1] + r[2][1]) / 3}
	}
	return within(r, middle(q)) || within(q, middle(r))
}

// Nearly all that one can walk hangs together; what does not is there on purpose.
func TestTownHangsTogether(t *testing.T) {
	w := town(t)
	parent := map[osm.NodeID]osm.NodeID{}
	var find func(n osm.NodeID) osm.NodeID
	find = func(n osm.NodeID) osm.NodeID {
		if p, ok := parent[n]; ok && p != n {
			parent[n] = find(p)
			return parent[n]
		}
		return n
	}
	length := map[osm.NodeID]float64{}
	var total float64
	streets := func(do func(a, b *osm.Node)) {
		for _, way := range w.ways {
			if way.Tags.Find("highway") == "" || way.Tags.Find("highway") == "construction" {
				continue
			}
			for i := 1; i < len(way.Nodes); i++ {
				if a, b := w.nodes[way.Nodes[i-1].ID], w.nodes[way.Nodes[i].ID]; a != nil && b != nil {
					do(a, b)
				}
			}
		}
	}
	streets(func(a, b *osm.Node) { parent[find(a.ID)] = find(b.ID) })
	streets(func(a, b *osm.Node) {
		p, q := xy(a), xy(b)
		d := math.Hypot(p[0]-q[0], p[1]-q[1])
		length[find(a.ID)] += d
		total += d
	})
	var most float64
	for _, l := range length {
		most = math.Max(most, l)
	}
	if most < 0.98*total || len(length) < 3 {
		t.Errorf("%.1f of %.1f km hang together in %d parts; want 98 %% and at least three parts", most/1000, total/1000, len(length))
	}
	t.Logf("%.1f km of streets and paths, %d parts", total/1000, len(length))
}

func TestDoorIsWhereItSays(t *testing.T) {
	w := town(t)
	for _, way := range w.ways {
		if way.Tags.Find("addr:street")+" "+way.Tags.Find("addr:housenumber") != testdata.DoorName {
			continue
		}
		front := w.line(way)
		x, y := (front[0][0]+front[1][0])/2, (front[0][1]+front[1][1])/2
		if d := math.Hypot(x, y); d > 0.3 {
			t.Errorf("door is %.2f m from the middle of the front wall of %s: want %.7f, %.7f", d, testdata.DoorName,
				(w.nodes[way.Nodes[0].ID].Lat+w.nodes[way.Nodes[1].ID].Lat)/2, (w.nodes[way.Nodes[0].ID].Lon+w.nodes[way.Nodes[1].ID].Lon)/2)
		}
		return
	}
	t.Errorf("no building has the address %s", testdata.DoorName)
}

// Outside reference: the time zone boundaries that the tzf module carries put
// the town into the open sea, on Greenwich time.
func TestTownLiesInOpenSea(t *testing.T) {
	f, err := tzf.NewDefaultFinder()
	if err != nil {
		t.Fatal(err)
	}
	b := town(t).bounds
	for _, p := range [][2]float64{{b.MinLon, b.MinLat}, {b.MaxLon, b.MinLat}, {b.MinLon, b.MaxLat}, {b.MaxLon, b.MaxLat}} {
		if z := f.GetTimezoneName(p[0], p[1]); z != "Etc/GMT" {
			t.Errorf("zone at %v is %q, want Etc/GMT", p, z)
		}
	}
}

func TestDogIsPlausible(t *testing.T) {
	var d struct {
		Name     string  `json:"name"`
		SpeedMPS float64 `json:"speed_mps"`
		Needs    map[string]struct {
			WorkingM  float64 `json:"working_m"`
			ReactionM float64 `json:"reaction_m"`
		} `json:"needs"`
	}
	dec := json.NewDecoder(bytes.NewReader(testdata.Dog()))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&d); err != nil {
		t.Fatal(err)
	}
	if d.Name != "Kessa" || d.SpeedMPS != 1.2 || d.Needs["dogs"].WorkingM != 38 || len(d.Needs) != 3 {
		t.Errorf("dog is %+v", d)
	}
	for k, n := range d.Needs {
		if n.ReactionM <= 0 || n.ReactionM >= n.WorkingM {
			t.Errorf("%s: reaction distance %v m must be above 0 and below the working distance %v m", k, n.ReactionM, n.WorkingM)
		}
	}
}

func TestBytesAreTheCallers(t *testing.T) {
	testdata.Town()[0], testdata.Dog()[0] = 0, 0
	if testdata.Town()[0] != 0x1f || testdata.Dog()[0] != '{' {
		t.Error("a caller's change shows in the next copy")
	}
}

func TestWorldsAreSmallAndDrawn(t *testing.T) {
	files, err := fs.Glob(testdata.Worlds(), "*.osm")
	if err != nil || len(files) == 0 {
		t.Fatalf("%d worlds, %v", len(files), err)
	}
	for _, name := range files {
		t.Run(name, func(t *testing.T) {
			b, err := fs.ReadFile(testdata.Worlds(), name)
			if err != nil {
				t.Fatal(err)
			}
			lines := strings.Split(string(b), "\n")
			if len(lines) > 100 {
				t.Errorf("%d lines, want at most 100", len(lines))
			}
			if len(lines) < 3 || lines[1] != "<!--" {
				t.Error("want a drawing in a comment from line 2")
			}
			w := read(t, osmxml.New(context.Background(), bytes.NewReader(b)))
			if len(w.nodes) == 0 || len(w.ways) == 0 {
				t.Error("want nodes and ways")
			}
			missing := false
			for _, way := range w.ways {
				for _, r := range way.Nodes {
					missing = missing || w.nodes[r.ID] == nil
				}
			}
			if missing != strings.HasPrefix(name, "cut-") {
				t.Errorf("missing nodes: %v; only worlds named cut- may refer to nodes that they lack", missing)
			}
		})
	}
}
