package plane_test

import (
	"bytes"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"wideberth/osmdata/plane"
)

func anyPoint(t *rapid.T, reach float64) plane.Point {
	return plane.Point{X: rapid.Float64Range(-reach, reach).Draw(t, "x"), Y: rapid.Float64Range(-reach, reach).Draw(t, "y")}
}

// A packed line comes back within half a centimetre each way, however long it is, and
// packed again it is the same bytes.
func TestPackedLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		reach := rapid.SampledFrom([]float64{0.1, 300, 2e7}).Draw(t, "reach")
		line := make([]plane.Point, rapid.IntRange(0, 30).Draw(t, "n"))
		from, ground := plane.Rounded(anyPoint(t, reach)), plane.NoExtent
		for i := range line {
			line[i] = anyPoint(t, reach)
			ground = ground.With(plane.Rounded(line[i]))
		}
		packed := plane.Pack(nil, from, line)
		if plane.Points(packed) != len(line) {
			t.Fatalf("%d points are counted as %d", len(line), plane.Points(packed))
		}
		got := ground.Unpack(nil, packed, from)
		if len(got) != len(line) {
			t.Fatalf("%d points come back as %d", len(line), len(got))
		}
		for i, p := range got {
			if d := p.Sub(line[i]); math.Abs(d.X) > .005001 || math.Abs(d.Y) > .005001 {
				t.Fatalf("point %d lies at %v, was %v", i, p, line[i])
			}
		}
		if !bytes.Equal(plane.Pack(nil, from, got), packed) {
			t.Fatal("packed again it is another line")
		}
	})
}

// The bytes are those of the Protocol Buffers' encoding of signed varints (0, -1, 1, -2,
// 2147483647 and -2147483648 are 0, 1, 2, 3, 4294967294 and 4294967295; 300 is ac 02):
// Protocol Buffers, Encoding, "Signed Integers" and "Base 128 Varints".
func TestPackedBytes(t *testing.T) {
	got := plane.Pack(nil, plane.Centimetres{}, []plane.Point{{X: 0, Y: -.01}, {X: .01, Y: -.03}, {X: 1.51, Y: -.03}})
	if want := []byte{0, 1, 2, 3, 0xac, 0x02, 0}; !bytes.Equal(got, want) {
		t.Errorf("% x, want % x", got, want)
	}
}

// Any bytes may be unpacked: every point lies on the extent, and there are no more of them
// than bytes.
func TestUnpackAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ground := plane.Extent{{-5000, -700}, {1 << 30, 900}}
		packed := rapid.SliceOf(rapid.Byte()).Draw(t, "bytes")
		got := ground.Unpack(nil, packed, plane.Centimetres{3, 4})
		if 2*len(got) > len(packed) {
			t.Fatalf("%d points out of %d bytes", len(got), len(packed))
		}
		for _, p := range got {
			if c := plane.Rounded(p); ground.Held(c) != c {
				t.Fatalf("%v lies off the extent", p)
			}
		}
	})
	for p, want := range map[plane.Point]plane.Centimetres{{X: math.NaN(), Y: math.Inf(1)}: {0, math.MaxInt32}, {X: -1e30, Y: .004}: {math.MinInt32, 0}} {
		if got := plane.Rounded(p); got != want {
			t.Errorf("%v is rounded to %v, want %v", p, got, want)
		}
	}
}

// Boxes find what a look at every line finds: all that meet a box, ascending, and the
// nearest.
func TestBoxesAgainstAllLines(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lines := make([]plane.Polyline, rapid.IntRange(0, 600).Draw(t, "lines"))
		walk := plane.Point{}
		for i := range lines {
			walk = walk.Add(anyPoint(t, 40))
			lines[i] = plane.Polyline{walk, walk.Add(anyPoint(t, 60))}
		}
		made := plane.NewBoxes(len(lines), func(dst []plane.Point, i int32) []plane.Point { return append(dst, lines[i]...) })
		again, right := plane.BoxesFrom(len(lines), slices.Clone(made.Lowest()))
		if !right {
			t.Fatal("its own boxes are refused")
		}
		if _, right := plane.BoxesFrom(len(lines)+16, made.Lowest()); right {
			t.Fatal("boxes of other lines are taken")
		}
		at, reach := anyPoint(t, 900), rapid.Float64Range(0, 300).Draw(t, "reach")
		box := plane.Box{Min: at, Max: at}.Grown(reach)
		var want []int32
		nearestM := math.Inf(1)
		for i, l := range lines {
			if l.Meets(box) {
				want = append(want, int32(i))
			}
			_, _, d := l.Nearest(at)
			nearestM = min(nearestM, d)
		}
		for _, b := range []*plane.Boxes{made, again} {
			var got []int32
			b.InBox(box, func(i int32) {
				if lines[i].Meets(box) {
					got = append(got, i)
				}
			})
			if !slices.Equal(got, want) {
				t.Fatalf("in %v are %v, want %v", box, got, want)
			}
			found := math.Inf(1)
			b.Nearest(at, math.Inf(1), func(i int32, limitM float64) float64 {
				_, _, d := lines[i].Nearest(at)
				found = min(found, d)
				return min(limitM, d)
			})
			if found != nearestM {
				t.Fatalf("the nearest of %d lines is %g m off, found at %g", len(lines), nearestM, found)
			}
		}
	})
}

// A grid that a file holds finds what the index found that it was taken from; what is none
// is not sound.
func TestGridComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var segs []plane.Segment
		var at []plane.Centimetres
		var end []int32
		masks := []uint8{}
		for line := range int32(rapid.IntRange(1, 12).Draw(t, "lines")) {
			mask := uint8(rapid.IntRange(0, 3).Draw(t, "mask"))
			masks = append(masks, mask)
			p := anyPoint(t, 150)
			for k := range rapid.IntRange(1, 6).Draw(t, "points") {
				q := p.Add(anyPoint(t, 70))
				c := plane.Rounded(q)
				if q = c.Point(); k > 0 {
					segs = append(segs, plane.Segment{A: p, B: q, ID: line, Mask: mask})
				}
				p, at = q, append(at, c)
			}
			end = append(end, int32(len(at)))
		}
		ground := plane.NoExtent
		for _, c := range at {
			ground = ground.With(c)
		}
		fresh := plane.NewIndex(segs, 32)
		grid := fresh.Grid()
		if !grid.Sound(len(at)) {
			t.Fatalf("%+v is not sound for %d points", grid, len(at))
		}
		stored := plane.LinesOf(at, end, ground, func(i int) uint8 { return masks[i] }).Index(grid, 32)
		for range 20 {
			a, b := anyPoint(t, 250), anyPoint(t, 250)
			h1, ok1 := fresh.FirstHit(a, b, 1)
			h2, ok2 := stored.FirstHit(a, b, 1)
			n1, near1 := fresh.Nearest(a, 90, 2)
			n2, near2 := stored.Nearest(a, 90, 2)
			if ok1 != ok2 || h1.ID != h2.ID || h1.At != h2.At || near1 != near2 || n1.ID != n2.ID || n1.At != n2.At || fresh.Visible(a, b, 2) != stored.Visible(a, b, 2) {
				t.Fatalf("from %v to %v: %v and %v, want %v and %v", a, b, h2, n2, h1, n1)
			}
			box := plane.Box{Min: a, Max: a}.Grown(40)
			var ids1, ids2 []plane.Segment
			for _, i := range fresh.InBox(box, 3, nil) {
				ids1 = append(ids1, fresh.Segment(i))
			}
			for _, i := range stored.InBox(box, 3, nil) {
				ids2 = append(ids2, stored.Segment(i))
			}
			if !slices.Equal(ids1, ids2) || fresh.Any(box, 1) != stored.Any(box, 1) {
				t.Fatalf("in %v: %v, want %v", box, ids2, ids1)
			}
		}
		if len(grid.Piece) > 0 {
			bad := grid
			bad.Piece = append(slices.Clone(grid.Piece[1:]), int32(len(at)))
			if bad.Sound(len(at)) {
				t.Fatal("a piece of no point is sound")
			}
			bad = grid
			bad.From = slices.Clone(grid.From)
			if bad.From[0] = 1; bad.Sound(len(at)) {
				t.Fatal("a grid that begins late is sound")
			}
		}
	})
}
