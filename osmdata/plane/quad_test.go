package plane_test

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
)

// TestQuadKeys holds keys against worked examples of the quadtree of Web Mercator: the
// tile of column 3 and row 5 at zoom 3 has the key 213, its neighbours' as there.
// Source: the published description of that numbering (interleaved bits, from memory).
func TestQuadKeys(t *testing.T) {
	for key, want := range map[string]plane.Quad{
		"": {}, "0": {Zoom: 1}, "3": {Zoom: 1, X: 1, Y: 1}, "213": {Zoom: 3, X: 3, Y: 5}, "212": {Zoom: 3, X: 2, Y: 5}, "031": {Zoom: 3, X: 3, Y: 2},
	} {
		if got, err := plane.ParseQuad(key); err != nil || got != want || got.Key() != key {
			t.Errorf("%q: %+v with key %q, %v; want %+v", key, got, got.Key(), err, want)
		}
	}
	for _, bad := range []string{"4", "01a", "-1", "0 ", strings.Repeat("0", 31), strings.Repeat("1", 300)} {
		if got, err := plane.ParseQuad(bad); err == nil {
			t.Errorf("%q: %+v", bad, got)
		}
	}
}

// TestQuadDegrees: the square's sides are EPSG:3857's area of use (180 degrees, and
// atan(sinh(pi)) of latitude), and a quad ends where the formulas of the projection say.
func TestQuadDegrees(t *testing.T) {
	w, s, e, n := plane.Quad{}.Degrees()
	if top := math.Atan(math.Sinh(math.Pi)) * 180 / math.Pi; w != -180 || e != 180 || math.Abs(n-top) > 1e-9 || math.Abs(s+top) > 1e-9 {
		t.Errorf("the earth is %v %v %v %v", w, s, e, n)
	}
	w, s, e, n = plane.Quad{Zoom: 10, X: 301, Y: 385}.Degrees()
	lat := func(y float64) float64 {
		return math.Atan(math.Sinh(math.Pi*(1-2*y/1024))) * 180 / math.Pi
	}
	for i, d := range [][2]float64{{w, 301*360./1024 - 180}, {e, 302*360./1024 - 180}, {n, lat(385)}, {s, lat(386)}} {
		if math.Abs(d[0]-d[1]) > 1e-9 {
			t.Errorf("side %d at %v, want %v", i, d[0], d[1])
		}
	}
}

// TestQuadHolds: a place lies between the sides of its quad, whose key begins with
// those of the wider quads, and in one of the four quarters of each.
func TestQuadHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lon := rapid.Float64Range(-180, 180).Draw(t, "lon")
		lat := rapid.Float64Range(-85, 85).Draw(t, "lat")
		q := plane.QuadAt(lon, lat, uint8(rapid.IntRange(0, 20).Draw(t, "zoom")))
		const slack = 1e-9
		if w, s, e, n := q.Degrees(); lon < w-slack || lon > e+slack || lat < s-slack || lat > n+slack {
			t.Fatalf("%v,%v lies beyond %v: %v %v %v %v", lat, lon, q, w, s, e, n)
		}
		finer := plane.QuadAt(lon, lat, q.Zoom+1)
		if !strings.HasPrefix(finer.Key(), q.Key()) {
			t.Fatalf("%q does not begin with %q", finer.Key(), q.Key())
		}
		quarters := q.Quarters()
		if d := finer.Key()[q.Zoom] - '0'; quarters[d] != finer {
			t.Fatalf("quarter %d of %v is %v, want %v", d, q, quarters[d], finer)
		}
	})
}

// TestQuadAtTheRim: places on and beyond the square count to its outermost quads.
func TestQuadAtTheRim(t *testing.T) {
	for _, p := range [][2]float64{{180, 90}, {180, -90}, {-180, 90}, {-180, -90}, {180, 0}} {
		if q := plane.QuadAt(p[0], p[1], 4); q.X > 15 || q.Y > 15 {
			t.Errorf("%v: %+v", p, q)
		}
	}
}
