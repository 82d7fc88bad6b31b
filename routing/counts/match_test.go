package counts

import (
	"slices"
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// drawn is a small map of streets that join where they share a point.
type drawn struct {
	streets []osmdata.Street
	nodes   map[plane.Point]int64
}

func (d *drawn) street(c osmdata.Class, name string, xy ...float64) int64 {
	if d.nodes == nil {
		d.nodes = map[plane.Point]int64{}
	}
	s := osmdata.Street{ID: int64(len(d.streets) + 1), Name: name, Class: c, Foot: true, Motor: c <= osmdata.Service}
	for i := 0; i+1 < len(xy); i += 2 {
		p := plane.Point{X: xy[i], Y: xy[i+1]}
		if d.nodes[p] == 0 {
			d.nodes[p] = int64(len(d.nodes) + 1)
		}
		s.Nodes, s.Line = append(s.Nodes, d.nodes[p]), append(s.Line, p)
	}
	d.streets = append(d.streets, s)
	return s.ID
}

func (d *drawn) net(t testing.TB) *network.Graph {
	t.Helper()
	g, _, err := network.Build(d.streets, nil, network.Options{MinIslandM: -1})
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// ways are the ways that edges run along.
func ways(g *network.Graph, edges []int32) (out []int64) {
	for _, e := range edges {
		out = append(out, g.Parts[g.PartAt[e]].Street)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// A divided road with pavements, a parallel side street and a road that crosses:
// people are counted across all that runs along, motors on the road's own two
// carriageways.
func TestMatch(t *testing.T) {
	var d drawn
	north := d.street(osmdata.Primary, "Long Road", 0, 6, 400, 6)
	south := d.street(osmdata.Primary, "Long Road", 0, -6, 400, -6)
	pavement := d.street(osmdata.Footway, "", 0, 12, 400, 12)
	side := d.street(osmdata.Residential, "Side Row", 0, 18, 400, 18)
	far := d.street(osmdata.Residential, "Far Row", 0, 40, 400, 40)
	d.street(osmdata.Residential, "Across", 200, -100, 200, 100)
	slant := d.street(osmdata.Service, "", 180, -20, 220, 10)
	g := d.net(t)
	at := plane.Point{X: 200, Y: 3}
	for _, c := range []struct {
		name      string
		place     Place
		edge      int64
		all, road []int64
	}{
		{"the counted way", Place{At: at, Ways: []int64{north}, WithinM: 25, HalfM: 22}, north, []int64{north, south, pavement, side, slant}, []int64{north, south}},
		{"a way that is not the nearest", Place{At: at, Ways: []int64{side}, WithinM: 25, HalfM: 22}, side, []int64{north, south, pavement, side, slant}, []int64{side}},
		{"a way that the map does not have", Place{At: plane.Point{X: 100, Y: 3}, Ways: []int64{999}, WithinM: 25, HalfM: 22}, north, []int64{north, south, pavement, side}, []int64{north, south}},
		{"a short line", Place{At: plane.Point{X: 100, Y: 6}, WithinM: 25, HalfM: 4}, north, []int64{north}, []int64{north}},
		{"far enough", Place{At: plane.Point{X: 100, Y: 60}, WithinM: 25, HalfM: 10}, far, []int64{far}, []int64{far}},
	} {
		got, ok := Match(g, c.place)
		if !ok {
			t.Errorf("%s: no match", c.name)
			continue
		}
		if way := ways(g, []int32{got.Edge})[0]; way != c.edge {
			t.Errorf("%s: matched way %d, want %d", c.name, way, c.edge)
		}
		if a, r := ways(g, got.All), ways(g, got.Road); !slices.Equal(a, c.all) || !slices.Equal(r, c.road) {
			t.Errorf("%s: all %v, road %v, want %v and %v", c.name, a, r, c.all, c.road)
		}
	}
	if m, ok := Match(g, Place{At: plane.Point{X: 100, Y: 400}, WithinM: 25, HalfM: 22}); ok {
		t.Errorf("matched %+v", m)
	}
}

// Paths are not what cameras at streets count, and where only motors were counted a
// pedestrian street is not either.
func TestMatchClasses(t *testing.T) {
	var d drawn
	path := d.street(osmdata.Path, "", 0, 0, 400, 0)
	square := d.street(osmdata.Pedestrian, "Square", 0, 10, 400, 10)
	road := d.street(osmdata.Tertiary, "Road", 0, 20, 400, 20)
	g := d.net(t)
	p := Place{At: plane.Point{X: 200, Y: 1}, Ways: []int64{path}, WithinM: 25, HalfM: 22}
	m, _ := Match(g, p)
	if got := ways(g, []int32{m.Edge})[0]; got != square {
		t.Errorf("matched %d, want the square", got)
	}
	p.Driven = true
	m, _ = Match(g, p)
	if got := ways(g, []int32{m.Edge})[0]; got != road {
		t.Errorf("motors matched %d, want the road", got)
	}
}

// A point beyond the end of an edge still counts it.
func TestMatchBeyondTheEnd(t *testing.T) {
	var d drawn
	d.street(osmdata.Residential, "Stub", 0, 0, 100, 0)
	g := d.net(t)
	m, ok := Match(g, Place{At: plane.Point{X: 110, Y: 0}, WithinM: 25, HalfM: 22})
	if !ok || !slices.Equal(m.All, []int32{m.Edge}) || !slices.Equal(m.Road, []int32{m.Edge}) || m.DistM != 10 {
		t.Errorf("%+v, %v", m, ok)
	}
}
