package plane_test

import (
	"math"
	"slices"
	"testing"

	"wideberth/osmdata/plane"
)

// isovist is all that is seen from a point inside closed walls, as a ring, with the
// length of its border that is no wall: rays to each wall end and a hair to its
// left and right.
func isovist(at plane.Point, walls []plane.Segment) (seen plane.Ring, occludingM float64) {
	const hair = 1e-10
	x := plane.NewIndex(walls, 4)
	var angles []float64
	for _, w := range walls {
		a := math.Atan2(w.A.Y-at.Y, w.A.X-at.X)
		angles = append(angles, a-hair, a+hair)
	}
	slices.Sort(angles)
	var on []int32
	for _, a := range angles {
		if h, ok := x.FirstHit(at, at.Add(plane.Point{X: 100 * math.Cos(a), Y: 100 * math.Sin(a)}), 1); ok {
			seen, on = append(seen, h.At), append(on, h.Segment)
		}
	}
	for i := range seen {
		j := (i + 1) % len(seen)
		if d := seen[i].DistanceM(seen[j]); on[i] != on[j] && d > 1e-6 {
			occludingM += d
		}
	}
	return seen, occludingM
}

func walls(r plane.Ring) []plane.Segment {
	var s []plane.Segment
	for i := range r {
		s = append(s, plane.Segment{A: r[i], B: r[(i+1)%len(r)], Mask: 1})
	}
	return s
}

// Cases of the isovist measures area, perimeter and occlusivity (Benedikt 1979,
// Environment and Planning B 6:47-65), worked out by plane geometry.
func TestIsovist(t *testing.T) {
	room := plane.Ring{{0, 0}, {10, 0}, {10, 6}, {0, 6}}
	ell := plane.Ring{{0, 0}, {10, 0}, {10, 5}, {5, 5}, {5, 10}, {0, 10}}
	for _, c := range []struct {
		name                        string
		at                          plane.Point
		walls                       plane.Ring
		areaM2, perimeterM, occultM float64
	}{
		{"middle of an empty room", pt(5, 3), room, 60, 32, 0},
		{"corner of an empty room", pt(0.5, 5.5), room, 60, 32, 0},
		{"L-shaped room, all in view", pt(1, 1), ell, 75, 40, 0},
		{"L-shaped room, behind the notch", pt(9, 1), ell, 62.5, 30 + math.Hypot(5, 5), 7.0711},
	} {
		seen, occult := isovist(c.at, walls(c.walls))
		perimeter := append(plane.Polyline(seen), seen[0]).LengthM()
		if math.Abs(seen.AreaM2()-c.areaM2) > 1e-6 || math.Abs(perimeter-c.perimeterM) > 1e-6 || math.Abs(occult-c.occultM) > 1e-4 {
			t.Errorf("%s: area %.7f perimeter %.7f occluding %.7f", c.name, seen.AreaM2(), perimeter, occult)
		}
	}
}

// A wall from (5,-1) to (5,1) seen from the origin hides |y| < 2 at x = 10.
func TestShadowOfAWall(t *testing.T) {
	x := plane.NewIndex([]plane.Segment{{A: pt(5, -1), B: pt(5, 1), Mask: 1}}, 32)
	for _, c := range []struct {
		y    float64
		seen bool
	}{{0, false}, {1.999, false}, {-1.999, false}, {2.001, true}, {-2.001, true}, {8, true}} {
		if got := x.Visible(plane.Point{}, plane.Point{X: 10, Y: c.y}, 1); got != c.seen {
			t.Errorf("(10,%v) seen %v", c.y, got)
		}
	}
}
