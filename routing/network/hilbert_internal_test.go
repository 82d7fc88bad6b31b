package network

import (
	"math"
	"math/bits"
	"math/rand/v2"
	"testing"

	"wideberth/osmdata/plane"
)

// The curve visits every cell of a square of its own once, and what follows each other on
// it lies side by side on the map.
func TestHilbertIsACurve(t *testing.T) {
	const n = 64
	for _, corner := range [][2]uint32{{0, 0}, {1 << 31, 3 << 29}, {math.MaxUint32 - n + 1, math.MaxUint32 - n + 1}} {
		first := hilbert(corner[0], corner[1]) &^ (n*n - 1)
		at := map[uint64][2]int{}
		for x := range n {
			for y := range n {
				at[hilbert(corner[0]+uint32(x), corner[1]+uint32(y))-first] = [2]int{x, y}
			}
		}
		if len(at) != n*n {
			t.Fatalf("%d positions for %d cells", len(at), n*n)
		}
		for d := range uint64(n*n - 1) {
			a, ok := at[d]
			b, ok2 := at[d+1]
			if dx, dy := b[0]-a[0], b[1]-a[1]; !ok || !ok2 || dx*dx+dy*dy != 1 {
				t.Fatalf("positions %d and %d are at %v and %v", d, d+1, a, b)
			}
		}
	}
}

// Where the square of the earth is cut: its corners and its middle, and what lies beyond
// the latitudes that Web Mercator ends at.
func TestCurveOfTheEarth(t *testing.T) {
	if got := curve(-180, 85.0511287); got>>54 != 0 {
		t.Errorf("the north-west corner has position %x", got)
	}
	if a, b := curve(20, 89), curve(20, 86); a != b {
		t.Errorf("places beyond the square have positions %x and %x", a, b)
	}
	quarters := map[uint64]bool{curve(-1, 1) >> 62: true, curve(1, 1) >> 62: true, curve(-1, -1) >> 62: true, curve(1, -1) >> 62: true}
	if len(quarters) != 4 {
		t.Errorf("the quarters of the earth begin with %v", quarters)
	}
}

// A place has the same position in every frame, and near places near positions: the
// higher bits of both say the squares that they share.
func TestCurveInAnotherFrame(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	shared := 0
	for range 500 {
		lon, lat := -75+rng.Float64(), 39+rng.Float64()
		lon, lat = math.Round(lon*1e7)/1e7, math.Round(lat*1e7)/1e7
		a, b := plane.NewFrame(-75.3, 39.2), plane.NewFrame(-74.9, 39.9)
		got := curve(plane.NewEarth(a).Degrees(a.Forward(lon, lat)))
		if other := curve(plane.NewEarth(b).Degrees(b.Forward(lon, lat))); got != other || got != curve(lon, lat) {
			t.Fatalf("%v, %v has positions %x and %x", lon, lat, got, other)
		}
		shared += bits.LeadingZeros64(got ^ curve(lon+1e-5, lat))
	}
	if mean := float64(shared) / 500; mean < 38 { // a metre is 2^-25 of the square's side
		t.Errorf("a metre apart, places share %g bits of their positions", mean)
	}
}
