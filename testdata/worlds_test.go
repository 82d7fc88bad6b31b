package testdata_test

import (
	"bytes"
	"context"
	"io/fs"
	"math"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/geo"
	"github.com/paulmach/osm"
	"github.com/paulmach/osm/osmxml"

	"wideberth/testdata"
)

func hand(t *testing.T, name string) *world {
	t.Helper()
	b, err := fs.ReadFile(testdata.Worlds(), name+".osm")
	if err != nil {
		t.Fatal(err)
	}
	return read(t, osmxml.New(context.Background(), bytes.NewReader(b)))
}

// along is the length of a run of nodes in metres, by orb's haversine.
func (w *world) along(ids ...osm.NodeID) float64 {
	var sum float64
	for i := 1; i < len(ids); i++ {
		a, b := w.nodes[ids[i-1]], w.nodes[ids[i]]
		sum += geo.DistanceHaversine(orb.Point{a.Lon, a.Lat}, orb.Point{b.Lon, b.Lat})
	}
	return sum
}

// The lengths that the drawings state hold on the sphere, within the 0.5 % by
// which it differs from the ellipsoid that they were laid out on.
func TestDrawingsTellTheTruth(t *testing.T) {
	cases := []struct {
		world string
		what  string
		nodes []osm.NodeID
		wantM float64
	}{
		{"crossing", "arm", []osm.NodeID{1, 2}, 100},
		{"cul-de-sac", "stem", []osm.NodeID{2, 4, 5}, 120},
		{"cul-de-sac", "ring", []osm.NodeID{1, 2, 3, 6, 7, 1}, 1000},
		{"ring-without-junction", "ring", []osm.NodeID{1, 2, 3, 4, 1}, 240},
		{"loop-edge", "ring", []osm.NodeID{3, 4, 6, 5, 3}, 240},
		{"parallel-edges", "straight", []osm.NodeID{2, 3}, 100},
		{"parallel-edges", "short bow", []osm.NodeID{2, 5, 3}, 20 * math.Sqrt(41)},
		{"parallel-edges", "long bow", []osm.NodeID{2, 6, 3}, 100 * math.Sqrt(5)},
		{"zero-length-edge", "doubled node", []osm.NodeID{2, 3}, 0},
		{"figure-eight", "one ring", []osm.NodeID{3, 7, 6, 5, 3}, 320},
		{"pedestrian-area", "across", []osm.NodeID{5, 7}, 60},
		{"pedestrian-area", "by the rim", []osm.NodeID{5, 11, 6, 12, 7}, 120},
		{"dog-no", "through the garden", []osm.NodeID{2, 3}, 100},
		{"dog-no", "round it", []osm.NodeID{2, 5, 6, 3}, 300},
		{"sidewalk-separate", "pavement to road", []osm.NodeID{12, 2}, 8},
		{"dual-carriageway", "between the halves", []osm.NodeID{4, 7}, 18},
		{"steps", "flight", []osm.NodeID{2, 3}, 30},
		{"steps", "ramp", []osm.NodeID{2, 5, 6, 3}, 150},
		{"school-with-a-gate", "ground", []osm.NodeID{11, 12, 13}, 140},
		{"house-row-6m-gaps", "gap between the first two", []osm.NodeID{12, 15}, 6},
		{"house-row-6m-gaps", "front", []osm.NodeID{11, 12}, 10},
		{"blind-corner", "wall corner from node 2", []osm.NodeID{2, 11}, 5 * math.Sqrt2},
	}
	for _, c := range cases {
		t.Run(c.world+"/"+c.what, func(t *testing.T) {
			got := hand(t, c.world).along(c.nodes...)
			// 2 cm: coordinates have seven decimals.
			if math.Abs(got-c.wantM) > 0.005*c.wantM+0.02 {
				t.Errorf("%.3f m, the drawing says %.3f m", got, c.wantM)
			}
		})
	}
}

// Each trap is really in its world.
func TestWorldsHoldTheirTraps(t *testing.T) {
	cases := []struct {
		world string
		holds func(w *world) bool
	}{
		{"lines-cross-without-node", func(w *world) bool { return shared(w.ways[0], w.ways[1]) == 0 }},
		{"footbridge-over-arterial", func(w *world) bool { return shared(w.ways[2], w.ways[5]) == 0 }},
		{"tunnel", func(w *world) bool { return shared(w.ways[1], w.ways[4]) == 0 && shared(w.ways[3], w.ways[4]) == 1 }},
		{"crossing", func(w *world) bool { return shared(w.ways[0], w.ways[1]) == 1 }},
		{"two-paths-round-a-pond", func(w *world) bool { return shared(w.ways[2], w.ways[3]) == 2 }},
		{"one-node-way", func(w *world) bool { return len(w.ways[1].Nodes) == 1 && len(w.ways[2].Nodes) == 0 }},
		{"repeated-node", func(w *world) bool { return w.ways[0].Nodes[1].ID == w.ways[0].Nodes[2].ID }},
		{"figure-eight", func(w *world) bool { return shared(w.ways[0], w.ways[0]) == 3*3+6 }},
		{"ring-without-junction", func(w *world) bool { return shared(w.ways[0], w.ways[1]) == 0 }},
		{"building-passage", func(w *world) bool { return shared(w.ways[3], w.ways[6]) == 2 }},
		{"broken-multipolygon", func(w *world) bool {
			for _, way := range w.ways {
				if int64(way.ID) == w.relations[0].Members[1].Ref {
					return false
				}
			}
			return len(w.relations) == 2
		}},
		{"only-water", func(w *world) bool {
			for _, way := range w.ways {
				if way.Tags.Find("highway") != "" {
					return false
				}
			}
			return true
		}},
	}
	for _, c := range cases {
		t.Run(c.world, func(t *testing.T) {
			if !c.holds(hand(t, c.world)) {
				t.Error("the trap is not there")
			}
		})
	}
}

// shared counts the pairs of places at which two ways name one node.
func shared(a, b *osm.Way) int {
	n := 0
	for _, p := range a.Nodes {
		for _, q := range b.Nodes {
			if p.ID == q.ID {
				n++
			}
		}
	}
	return n
}
