package plane

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"
)

// Degrees between the knots are those of the projection itself, to a third of what
// OpenStreetMap keeps.
func TestEarthDegrees(t *testing.T) {
	const seed = 5
	r := rand.New(rand.NewPCG(seed, 1))
	for _, lat := range []float64{-45, 0, 39.2, 52.4, 66} {
		w := NewEarth(NewFrame(13.5, lat))
		for range 400 {
			p := Point{X: 8e4 * (r.Float64() - .5), Y: 2e5 * (r.Float64() - .5)}
			lon, la := w.Degrees(p)
			wantLon, wantLat := w.frame.Inverse(p)
			if math.Abs(lon-wantLon)*math.Cos(lat*math.Pi/180) > 3e-8 || math.Abs(la-wantLat) > 3e-8 {
				t.Fatalf("seed %d: %v is %g, %g, want %g, %g", seed, p, lon, la, wantLon, wantLat)
			}
		}
	}
}

// Several who ask the same earth beside each other get what one gets who asks alone.
func TestEarthApart(t *testing.T) {
	const seed, askers = 7, 4
	frame := NewFrame(13.5, 52.4)
	shared := NewEarth(frame)
	var wg sync.WaitGroup
	for k := range uint64(askers) {
		mine := shared.Apart()
		wg.Go(func() {
			alone, r := NewEarth(frame), rand.New(rand.NewPCG(seed, k/2))
			for range 2000 {
				p := Point{X: 2e4 * (r.Float64() - .5), Y: 2e4 * (r.Float64() - .5)}
				lon, lat := mine.Degrees(p)
				if wantLon, wantLat := alone.Degrees(p); lon != wantLon || lat != wantLat {
					t.Errorf("seed %d: %v is %g, %g, alone %g, %g", seed, p, lon, lat, wantLon, wantLat)
					return
				}
			}
		})
	}
	wg.Wait()
}

// Another frame, as a part of a map has, gives the same squares.
func TestSquaresHangOnTheEarth(t *testing.T) {
	const seed = 6
	r := rand.New(rand.NewPCG(seed, 1))
	whole, part := NewEarth(NewFrame(13.5, 52.4)), NewEarth(NewFrame(13.7, 52.31))
	for _, side := range []float64{50, 500, 1000, 1500} {
		sizes := map[Square]int{}
		for range 3000 {
			lon, lat := 13.55+.05*r.Float64(), 52.40+.04*r.Float64()
			lon, lat = math.Round(lon*1e7)/1e7, math.Round(lat*1e7)/1e7
			a, b := whole.Square(whole.frame.Forward(lon, lat), side), part.Square(part.frame.Forward(lon, lat), side)
			if a != b {
				t.Fatalf("seed %d: %.7f, %.7f lies in %v and %v of %g m", seed, lon, lat, a, b, side)
			}
			sizes[a]++
		}
		if side == 500 && (len(sizes) < 60 || len(sizes) > 90) { // 3.4 by 4.4 km
			t.Errorf("%d squares of 500 m", len(sizes))
		}
	}
}

// A square is about as large as it says, anywhere but at the poles, and a block
// about it holds it and its neighbours.
func TestSquareSize(t *testing.T) {
	for _, lat := range []float64{-60, 0.1, 47, 70} {
		w := NewEarth(NewFrame(7, lat))
		here := w.Square(Point{}, 500)
		count := 0
		for x := -600.0; x <= 600; x += 10 {
			for y := -600.0; y <= 600; y += 10 {
				if w.Square(Point{X: x, Y: y}, 500) == here {
					count++
				}
			}
		}
		if area := float64(count) * 100; !(math.Abs(area-250000) <= .03*250000) {
			t.Errorf("at %g N a square has %g m2", lat, area)
		}
		block := w.Around(here, 500, 5)
		found := map[Square]bool{}
		for _, s := range block {
			found[s] = true
		}
		if len(found) != 25 || !found[here] {
			t.Errorf("at %g N a block of %d squares", lat, len(found))
		}
		for _, p := range []Point{{X: 450}, {X: -450}, {Y: 450}, {Y: -450}} {
			if !found[w.Square(p, 500)] {
				t.Errorf("at %g N: %v is not in the block", lat, p)
			}
		}
	}
}
