package plane_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
)

// An eye sees what rays through an index of the same walls see, also where places lie on
// walls, in line with them or on their ends.
func TestEyeSeesWhatRaysSee(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		far := rapid.SampledFrom([]float64{8, 60}).Draw(rt, "extent")
		step := rapid.SampledFrom([]float64{1, .5, 1. / 3, math.Pi / 3}).Draw(rt, "grid")
		at := func(name string) plane.Point {
			n := int(far / step)
			return plane.Point{X: float64(rapid.IntRange(-n, n).Draw(rt, name)) * step, Y: float64(rapid.IntRange(-n, n).Draw(rt, name)) * step}
		}
		var segs []plane.Segment
		for range rapid.IntRange(0, 90).Draw(rt, "walls") {
			segs = append(segs, plane.Segment{A: at("a"), B: at("b"), Mask: 1})
		}
		x := plane.NewIndex(segs, 16)
		var eye plane.Eye
		for range 3 {
			from := at("from")
			eye.Open(from, 4*far)
			for _, s := range segs {
				eye.Wall(s.A, s.B)
			}
			for range 10 {
				if to := at("to"); eye.Sees(to) != x.Visible(from, to, 1) {
					rt.Fatalf("from %v to %v: eye %v, ray %v", from, to, eye.Sees(to), !eye.Sees(to))
				}
			}
		}
	})
}

// The same for thousands of rays among houses, up to the reach of the eye.
func TestEyeAmongHouses(t *testing.T) {
	const seed, reachM = 5, 120
	r := rand.New(rand.NewPCG(seed, seed))
	var segs []plane.Segment
	place := func(spread float64) plane.Point {
		return plane.Point{X: spread * (r.Float64() - .5), Y: spread * (r.Float64() - .5)}
	}
	for range 60 {
		a := place(400)
		b := a.Add(place(20))
		c := a.Add(b).Mul(.5).Add(place(20))
		segs = append(segs, plane.Segment{A: a, B: b, Mask: 1}, plane.Segment{A: b, B: c, Mask: 1}, plane.Segment{A: c, B: a, Mask: 1})
	}
	x := plane.NewIndex(segs, 32)
	var eye plane.Eye
	seen, nearest := 0, 0
	for range 100 {
		from := place(300)
		eye.Open(from, reachM)
		for _, s := range segs {
			eye.Wall(s.A, s.B)
		}
		hit, ok := x.Nearest(from, reachM, 1)
		if got := math.Sqrt(eye.NearestM2()); ok != (got <= reachM) || ok && math.Abs(got-hit.DistM) > 1e-9 {
			t.Errorf("nearest wall %v m away, by the index %v m", got, hit.DistM)
		} else if ok {
			nearest++
		}
		for range 50 {
			a, d := 2*math.Pi*r.Float64(), reachM*r.Float64()
			to := from.Add(plane.Point{X: d * math.Cos(a), Y: d * math.Sin(a)})
			got := eye.Sees(to)
			if got != x.Visible(from, to, 1) {
				t.Fatalf("seed %d, from %v to %v: eye %v, ray %v", seed, from, to, got, !got)
			}
			if got {
				seen++
			}
		}
	}
	if seen < 1000 || seen > 4000 || nearest < 50 {
		t.Errorf("%d of 5000 places in sight, %d of 100 near a wall: the test holds little", seen, nearest)
	}
}

func BenchmarkEye(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	var segs []plane.Segment
	for range 40 {
		a := plane.Point{X: 200 * (r.Float64() - .5), Y: 200 * (r.Float64() - .5)}
		segs = append(segs, plane.Segment{A: a, B: a.Add(plane.Point{X: 10 * r.Float64(), Y: 10 * r.Float64()}), Mask: 1})
	}
	var to [128]plane.Point
	for i := range to {
		to[i] = plane.Point{X: 200 * (r.Float64() - .5), Y: 200 * (r.Float64() - .5)}
	}
	var eye plane.Eye
	seen := 0
	for b.Loop() {
		eye.Open(plane.Point{}, 150)
		for _, s := range segs {
			eye.Wall(s.A, s.B)
		}
		for _, p := range to {
			if eye.Sees(p) {
				seen++
			}
		}
	}
	b.ReportMetric(float64(seen)/float64(b.N), "seen")
}
