package plane

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The table numbers squares as a map would.
func TestCellTableAgainstMap(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table := newCellTable(rapid.IntRange(0, 40).Draw(t, "room"))
		twin := map[[2]int32]int32{}
		cell := func() (x, y int32) {
			reach := rapid.SampledFrom([]int32{3, 40, math.MaxInt32}).Draw(t, "reach")
			return rapid.Int32Range(-reach, reach).Draw(t, "x"), rapid.Int32Range(-reach, reach).Draw(t, "y")
		}
		for range rapid.IntRange(0, 300).Draw(t, "adds") {
			x, y := cell()
			want, ok := twin[[2]int32{x, y}]
			if !ok {
				want = int32(len(twin))
				twin[[2]int32{x, y}] = want
			}
			if got := table.add(x, y); got != want {
				t.Fatalf("cell %d %d has number %d, want %d", x, y, got, want)
			}
		}
		for c, want := range twin {
			if got := table.find(c[0], c[1]); got != want {
				t.Fatalf("cell %v is found as %d, want %d", c, got, want)
			}
		}
		x, y := cell()
		if _, ok := twin[[2]int32{x, y}]; !ok && table.find(x, y) != -1 {
			t.Fatalf("cell %d %d was never added", x, y)
		}
	})
}

// A block holds each of its cells once, on both sides of the origin.
func TestInBlock(t *testing.T) {
	for _, corner := range []int32{0, -blockSide, 5 * blockSide} {
		seen := map[int32]bool{}
		for x := corner; x < corner+blockSide; x++ {
			for y := corner; y < corner+blockSide; y++ {
				if x>>blockBits != corner>>blockBits {
					t.Fatalf("column %d is in another block than %d", x, corner)
				}
				seen[inBlock(x, y)] = true
			}
		}
		if len(seen) != blockCells || !seen[0] || !seen[blockCells-1] {
			t.Errorf("block at %d: %d places", corner, len(seen))
		}
	}
}

// Every point of a piece lies in a cell that lists it.
func TestCoverReachesAllOfAPiece(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) float64 { return rapid.Float64Range(-500, 500).Draw(t, name) }
		a, b := Point{draw("ax"), draw("ay")}, Point{draw("bx"), draw("by")}
		x := NewIndex([]Segment{{A: a, B: b, Mask: 1}}, rapid.SampledFrom([]float64{1, 7.3, 32}).Draw(t, "cell"))
		for i := range 101 {
			p := a.Add(b.Sub(a).Mul(float64(i) / 100))
			if got := x.at(x.cell(p.X), x.cell(p.Y)); len(got) != 1 {
				t.Fatalf("the cell of %v lists %v", p, got)
			}
		}
	})
}

// A ray passes every cell that it runs through, each next to the one before.
func TestRayPassesAllCells(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) float64 { return rapid.Float64Range(-90, 90).Draw(t, name) }
		p, q := Point{draw("px"), draw("py")}, Point{draw("qx"), draw("qy")}
		const cellM = 8
		passed := map[[2]int32]bool{}
		r := newRay(p, q, cellM)
		for {
			passed[[2]int32{r.cx, r.cy}] = true
			if !(r.exit() < 1) {
				break
			}
			x, y := r.cx, r.cy
			if r.step(); (r.cx-x)*(r.cx-x)+(r.cy-y)*(r.cy-y) != 1 {
				t.Fatalf("from cell %d %d to %d %d", x, y, r.cx, r.cy)
			}
		}
		for i := range 1001 {
			m := p.Add(q.Sub(p).Mul(float64(i) / 1000))
			c := [2]int32{int32(math.Floor(m.X / cellM)), int32(math.Floor(m.Y / cellM))}
			if border := math.Min(math.Abs(math.Remainder(m.X, cellM)), math.Abs(math.Remainder(m.Y, cellM))); border > 1e-9 && !passed[c] {
				t.Fatalf("cell %v of %v is left out", c, m)
			}
		}
	})
}
