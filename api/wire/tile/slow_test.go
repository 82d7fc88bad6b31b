package tile

import (
	"math"
	"slices"
	"testing"

	"github.com/paulmach/orb/maptile"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// TestGridFindsAll: what a tile may show is found by its cells as going through all items
// finds it, each once and in order.
func TestGridFindsAll(t *testing.T) {
	a := town(t)
	found := 0
	for _, z := range []maptile.Zoom{leastZoom, 12, mostZoom} {
		for _, tile := range tilesOver(a, z) {
			b := tile.Bound(float64(tileBuffer) / tileExtent)
			box := plane.EmptyBox()
			for _, lon := range []float64{b.Min[0], b.Max[0]} {
				for _, lat := range []float64{b.Min[1], b.Max[1]} {
					box = box.With(a.snap.Frame.Forward(lon, lat))
				}
			}
			var want []int32
			for id := range a.items {
				if it := &a.items[id]; it.least <= z && it.box.Intersects(box) {
					want = append(want, int32(id))
				}
			}
			found += len(want)
			if got := a.within(tile); !slices.Equal(got, want) {
				t.Errorf("tile %v has %d items by cells, %d by all", tile, len(got), len(want))
			}
		}
	}
	if found == 0 {
		t.Error("nothing lies in any tile")
	}
}

// TestZoomsFollowSize: what is larger is never drawn later, and what is drawn at all is by
// the deepest zoom.
func TestZoomsFollowSize(t *testing.T) {
	last := maptile.Zoom(math.MaxUint32)
	for m2 := 1.0; m2 < 1e8; m2 *= 1.1 {
		z := zoomOfArea(m2)
		if z > last || z < leastZoom || z > mostZoom {
			t.Errorf("an area of %.0f m2 is drawn from zoom %d on, smaller ones from %d", m2, z, last)
		}
		last = z
	}
	for c := range osmdata.ClassOther + 1 {
		if z := zoomOfWay(c); z < leastZoom || z > mostZoom {
			t.Errorf("a way of class %d is drawn from zoom %d on", c, z)
		}
	}
	if zoomOfWay(osmdata.Motorway) > zoomOfWay(osmdata.Secondary) || zoomOfWay(osmdata.Secondary) > zoomOfWay(osmdata.LivingStreet) {
		t.Error("small streets are drawn before large ones")
	}
}
