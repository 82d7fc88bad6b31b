package maptest

import (
	"fmt"
	"strings"
	"testing"

	"wideberth/osmdata/plane"
	"wideberth/routing/snapshot"
)

// Drawing is a map drawn with metres and OpenStreetMap's tags, for tests that need all
// that an import makes of a few ways. Ways join where they share a point.
type Drawing struct {
	nodes, ways strings.Builder
	at          map[plane.Point]int
	last        int
}

// The origin of all drawings: on open water, so that no real place is meant.
var drawn = plane.NewFrame(-7, 47.3)

// tags writes tags told as "highway=path;name=Low Lane".
func tags(b *strings.Builder, list string) {
	for t := range strings.SplitSeq(list, ";") {
		if k, v, ok := strings.Cut(t, "="); ok {
			fmt.Fprintf(b, `<tag k=%q v=%q/>`, k, v)
		}
	}
}

func (d *Drawing) node(p plane.Point, list string) int {
	if d.at == nil {
		d.at = map[plane.Point]int{}
	}
	if n := d.at[p]; n > 0 {
		return n
	}
	d.last++
	d.at[p] = d.last
	lon, lat := drawn.Inverse(p)
	fmt.Fprintf(&d.nodes, `<node id="%d" version="1" lat="%.7f" lon="%.7f">`, d.last, lat, lon)
	tags(&d.nodes, list)
	d.nodes.WriteString("</node>\n")
	return d.last
}

// Way adds a way through points told as alternating x and y, in metres east and north.
func (d *Drawing) Way(list string, xy ...float64) {
	var refs strings.Builder
	for i := 0; i+1 < len(xy); i += 2 {
		fmt.Fprintf(&refs, `<nd ref="%d"/>`, d.node(plane.Point{X: xy[i], Y: xy[i+1]}, ""))
	}
	d.last++
	fmt.Fprintf(&d.ways, `<way id="%d" version="1">%s`, d.last, refs.String())
	tags(&d.ways, list)
	d.ways.WriteString("</way>\n")
}

// Extract is the drawing as OpenStreetMap XML, of a time (RFC 3339) unless it is "".
func (d *Drawing) Extract(at string) []byte {
	if at != "" {
		at = ` timestamp="` + at + `"`
	}
	return []byte("<osm version=\"0.6\"" + at + ">\n" + d.nodes.String() + d.ways.String() + "</osm>\n")
}

// Map imports the drawing.
func (d *Drawing) Map(t testing.TB) *snapshot.Snapshot {
	t.Helper()
	s, err := written("drawing.osm", d.Extract(""))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// On is where a point of a drawing lies on its map.
func On(s *snapshot.Snapshot, x, y float64) plane.Point {
	return s.Frame.Forward(drawn.Inverse(plane.Point{X: x, Y: y}))
}

// EdgeAt is the edge of the way nearest to a point of a drawing.
func EdgeAt(t testing.TB, s *snapshot.Snapshot, x, y float64) int32 {
	t.Helper()
	place, err := s.Graph.Snap(On(s, x, y), 5)
	if err != nil {
		t.Fatal(err)
	}
	return place.Edge
}
