package snapshot

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"testing"

	"wideberth/osmdata/plane"
)

// row3 is a street of three blocks with a lane off each corner, as OSM XML whose ways are
// numbered from so many on.
func row3(first int) string {
	var b strings.Builder
	f := plane.NewFrame(-7, 47.3)
	b.WriteString(`<osm version="0.6"><bounds minlat="47.29" minlon="-7.02" maxlat="47.31" maxlon="-6.98"/>`)
	node := func(id int, x, y float64) {
		lon, lat := f.Inverse(plane.Point{X: x, Y: y})
		fmt.Fprintf(&b, `<node id="%d" version="1" lat="%.7f" lon="%.7f"/>`, id, lat, lon)
	}
	for i := range 4 {
		node(1+i, 200*float64(i), 0)
		node(11+i, 200*float64(i)+30, 150)
	}
	way := func(id int, tags string, nodes ...int) {
		fmt.Fprintf(&b, `<way id="%d" version="1">`, id)
		for _, n := range nodes {
			fmt.Fprintf(&b, `<nd ref="%d"/>`, n)
		}
		fmt.Fprintf(&b, `<tag k="highway" v=%q/></way>`, tags)
	}
	way(first, "residential", 1, 2, 3, 4)
	for i := range 4 {
		way(first+1+i, "path", 1+i, 11+i)
	}
	b.WriteString("</osm>")
	return b.String()
}

func imported(t *testing.T, xml string) *Snapshot {
	t.Helper()
	s, err := ImportFrom(context.Background(), strings.NewReader(xml), "row.osm", ImportOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func everywhere(float64, float64) bool { return true }

// The first part that holds an edge gives its row.
func TestFirstPartThatHolds(t *testing.T) {
	xml := row3(100)
	west, all := imported(t, xml), imported(t, xml)
	for e := range west.Field.LevelDB {
		west.Field.LevelDB[e], all.Field.LevelDB[e] = 71, 42
	}
	lon, _ := west.Frame.Inverse(plane.Point{X: 250})
	parts := []Part{{west, func(x, _ float64) bool { return x < lon }}, {all, everywhere}}
	s, err := Join(context.Background(), strings.NewReader(xml), "row.osm", ImportOptions{}, parts)
	if err != nil {
		t.Fatal(err)
	}
	seen := map[float32]int{}
	for e := range int32(s.Graph.EdgeCount()) {
		tail, _ := s.Graph.Ends(e)
		want := float32(42)
		if x, _ := s.Frame.Inverse(s.Graph.Vertex[tail]); x < lon {
			want = 71
		}
		if seen[want]++; s.Field.LevelDB[e] != want {
			t.Errorf("edge %d has %g, want %g", e, s.Field.LevelDB[e], want)
		}
	}
	if len(seen) != 2 || s.Odd[oddByWay]+s.Odd[oddAside] != 0 {
		t.Errorf("%v, oddities %v", seen, s.Odd)
	}
	if s.Name != all.Name || len(s.Check()) > 0 {
		t.Errorf("%q is not %q: %v", s.Name, all.Name, s.Check())
	}
}

// An edge that no part has takes the row of its way, or of what it meets, and is counted;
// where no part holds anything all rows are empty.
func TestEdgesThatNoPartHas(t *testing.T) {
	xml := row3(100)
	s := imported(t, xml)
	for e := range s.Field.LevelDB {
		s.Field.LevelDB[e] = 50
	}
	longer := strings.Replace(xml, `<nd ref="3"/><nd ref="4"/>`, `<nd ref="3"/>`, 1) // the way ends a block before
	longer = strings.Replace(longer, "</osm>", `<way id="900" version="1"><nd ref="3"/><nd ref="4"/><tag k="highway" v="residential"/></way></osm>`, 1)
	got, err := Join(context.Background(), strings.NewReader(longer), "row.osm", ImportOptions{}, []Part{{s, everywhere}})
	if err != nil {
		t.Fatal(err)
	}
	if got.Odd[oddByWay]+got.Odd[oddAside] == 0 {
		t.Errorf("a way that no part has is not told: %v", got.Odd)
	}
	for e, level := range got.Field.LevelDB {
		if level != 50 {
			t.Errorf("edge %d has %g", e, level)
		}
	}
	none, err := Join(context.Background(), strings.NewReader(xml), "row.osm", ImportOptions{}, []Part{{s, func(float64, float64) bool { return false }}})
	if err != nil {
		t.Fatal(err)
	}
	for e, level := range none.Field.LevelDB {
		if level != 0 || none.Field.OwnPerDay[0][e] != 0 {
			t.Errorf("edge %d has %g of nobody", e, level)
		}
	}
}

// A row is turned where the edge runs the other way in its part.
func TestRowsAreTurned(t *testing.T) {
	s := imported(t, row3(100))
	f := s.Field
	for e := range f.Left {
		f.Left[e].LowM, f.Right[e].LowM, f.SightFwdM[e], f.SightBackM[e] = 3, 9, 70, 20
		f.Roadside.Wide[e].Begin, f.Roadside.Wide[e].End = .5, 0
	}
	p := newPart(s.Graph, f, nil)
	for _, against := range []bool{false, true} {
		j := newJoined(s.Graph, nil)
		for e := range int32(s.Graph.EdgeCount()) {
			j.take(e, p, e, against)
		}
		left, ahead, begin := float32(3), float32(70), float32(.5)
		if against {
			left, ahead, begin = 9, 20, 0
		}
		if g := j.f; g.Left[0].LowM != left || g.Right[0].LowM != 12-left || g.SightFwdM[0] != ahead || g.SightBackM[0] != 90-ahead || g.Roadside.Wide[0].Begin != begin {
			t.Errorf("against %t: %+v %+v, sight %g and %g, %+v", against, g.Left[0], g.Right[0], g.SightFwdM[0], g.SightBackM[0], g.Roadside.Wide[0])
		}
	}
}

// An edge is found by its nodes and ways in a part whose lengths differ by the frame, and
// not where it is another.
func TestEdgesAreFoundByNodesAndWays(t *testing.T) {
	a, b := imported(t, row3(100)), imported(t, row3(500))
	same, other := newPart(a.Graph, a.Field, nil), newPart(b.Graph, b.Field, nil)
	for e := range int32(a.Graph.EdgeCount()) {
		if at, against := same.find(a.Graph, e); at != e || against {
			t.Errorf("edge %d is found as %d, against %t", e, at, against)
		}
		if at, _ := other.find(a.Graph, e); at >= 0 {
			t.Errorf("edge %d is found on another way", e)
		}
	}
	longer := imported(t, row3(100)).Graph
	longer.LengthM[0] *= 1.01
	if at, _ := same.find(longer, 0); at >= 0 {
		t.Error("an edge of another length is found")
	}
}

// What a block cannot be read for is told once.
func TestGlanceAtWhatIsNoMap(t *testing.T) {
	if _, err := Glance(context.Background(), bytes.NewReader([]byte("<osm")), ImportOptions{}); err == nil || !strings.HasPrefix(err.Error(), "glance: ") {
		t.Errorf("%v", err)
	}
	if _, err := Join(context.Background(), bytes.NewReader([]byte("<osm")), "x.osm", ImportOptions{}, nil); err == nil || !strings.HasPrefix(err.Error(), "join: ") {
		t.Errorf("%v", err)
	}
}
