package twin

import (
	"testing"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// fieldWorld is a dog park and a path along y, and a walk on it from end to end.
func fieldWorld(t testing.TB, area plane.Polygon, y float64) (*world, *track) {
	t.Helper()
	x := &osmdata.Extract{Features: []osmdata.Feature{{As: "dog_park", OSM: "way/1", Areas: []plane.Polygon{area}, Point: area.Inside()}}}
	addPath(x, plane.Polyline{{X: -100, Y: y}, {X: 240, Y: y}})
	w := worldOf(t, "field", x)
	return w, w.trackOf([]int32{w.g.EdgeArc[0]}, walkerMPS)
}

// addPath adds a path whose points are joined to those of others at the same place.
func addPath(x *osmdata.Extract, l plane.Polyline) {
	known := map[plane.Point]int64{}
	for i := range x.Streets {
		for k, p := range x.Streets[i].Line {
			known[p] = x.Streets[i].Nodes[k]
		}
	}
	s := osmdata.Street{ID: int64(len(x.Streets) + 1), Class: osmdata.Path, Foot: true, Line: l}
	for _, p := range l {
		if known[p] == 0 {
			known[p] = int64(len(known) + 1)
		}
		s.Nodes = append(s.Nodes, known[p])
	}
	x.Streets = append(x.Streets, s)
}
