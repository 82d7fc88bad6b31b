package network

import (
	"testing"

	"wideberth/osmdata/plane"
)

// The curve visits every cell once, and what follows each other on it lies side by
// side on the map.
func TestHilbertIsACurve(t *testing.T) {
	const n = 64
	box := plane.Box{Min: plane.Point{X: -3, Y: 5}, Max: plane.Point{X: -3 + 1<<hilbertBits, Y: 5 + 1<<hilbertBits}}
	at := map[uint32][2]int{}
	for x := range n {
		for y := range n {
			at[hilbert(plane.Point{X: -3 + float64(x) + .5, Y: 5 + float64(y) + .5}, box)] = [2]int{x, y}
		}
	}
	if len(at) != n*n {
		t.Fatalf("%d positions for %d cells", len(at), n*n)
	}
	for d := range uint32(n*n - 1) {
		a, ok := at[d]
		b, ok2 := at[d+1]
		if dx, dy := b[0]-a[0], b[1]-a[1]; !ok || !ok2 || dx*dx+dy*dy != 1 {
			t.Fatalf("positions %d and %d are at %v and %v", d, d+1, a, b)
		}
	}
}

func TestHilbertOfASinglePlace(t *testing.T) {
	p := plane.Point{X: 7, Y: 7}
	if got := hilbert(p, plane.Box{Min: p, Max: p}); got != 0 {
		t.Errorf("the only place of a map has position %d", got)
	}
}
