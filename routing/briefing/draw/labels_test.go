package draw

import (
	"math"
	"testing"

	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"

	"pgregory.net/rapid"
)

// TestLabelsKeepApart: whatever is put, no label leaves the paper, lies on a line or
// covers another; compared corner by corner of the boxes and not by discs.
func TestLabelsKeepApart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &placer{w: 400, h: 300, px: 1}
		coord := rapid.Float64Range(0, 400)
		var line []xy
		for range rapid.IntRange(2, 6).Draw(t, "points") {
			line = append(line, xy{coord.Draw(t, "x"), coord.Draw(t, "y") * 0.75})
		}
		p.lines = [][]xy{line}
		const size = 12.0
		type box struct {
			at    spot
			width float64
		}
		var put []box
		for range rapid.IntRange(1, 12).Draw(t, "labels") {
			width := rapid.Float64Range(15, 90).Draw(t, "width")
			spots := append(p.along(line, width, size), p.beside(line, width, size)...)
			if at, ok := p.put(width, size, spots); ok {
				put = append(put, box{at, width})
			}
		}
		// points of a label's box, in steps finer than a letter
		points := func(b box) (out []xy) {
			sin, cos := math.Sincos(b.at.turn)
			for u := -b.width / 2; u <= b.width/2; u += 2 {
				for v := -size * 0.35; v <= size*0.35; v += size * 0.35 {
					out = append(out, xy{b.at.mid.x + u*cos - v*sin, b.at.mid.y + u*sin + v*cos})
				}
			}
			return out
		}
		inside := func(q xy, b box) bool {
			sin, cos := math.Sincos(b.at.turn)
			dx, dy := q.x-b.at.mid.x, q.y-b.at.mid.y
			return math.Abs(dx*cos+dy*sin) < b.width/2 && math.Abs(dy*cos-dx*sin) < size*0.35
		}
		for i, b := range put {
			for _, q := range points(b) {
				if q.x < 0 || q.y < 0 || q.x > p.w || q.y > p.h {
					t.Fatalf("label %d leaves the paper at %v", i, q)
				}
				for k := 1; k < len(line); k++ {
					if segmentDistance(q, line[k-1], line[k]) < 0.5 {
						t.Fatalf("label %d lies on the line at %v", i, q)
					}
				}
				for j, o := range put {
					if i != j && inside(q, o) {
						t.Fatalf("labels %d and %d cover each other at %v", i, j, q)
					}
				}
			}
		}
	})
}

// TestPlates: on a texture a label takes a free spot off it, or else asks for a
// plate.
func TestPlates(t *testing.T) {
	p := &placer{w: 200, h: 100, px: 1, shade: []disc{{xy{50, 50}, 30}}}
	spots := []spot{{mid: xy{50, 50}}, {mid: xy{150, 50}}}
	if at, ok := p.put(30, 12, spots); !ok || at.mid.x != 150 || at.plate {
		t.Errorf("put at %+v, %t", at, ok)
	}
	if at, ok := p.put(30, 12, spots); !ok || at.mid.x != 50 || !at.plate {
		t.Errorf("then at %+v, %t", at, ok)
	}
	if at, ok := p.put(30, 12, spots); ok {
		t.Errorf("a third label at %+v", at)
	}
}

// TestBarIsRound: a scale bar of 100 m or 300 ft wherever it has a decent length.
func TestBarIsRound(t *testing.T) {
	for _, c := range []struct {
		words  briefing.Words
		pxPerM float64
		m      float64
		text   string
	}{
		{briefing.Words{}, 0.6, 100, "100 m"}, {briefing.Words{}, 1.9, 100, "100 m"}, {briefing.Words{}, 3, 50, "50 m"}, {briefing.Words{}, 0.3, 200, "200 m"},
		{briefing.Words{Units: briefing.US}, 0.6, 300 * 0.3048, "300 ft"}, {briefing.Words{Units: briefing.US}, 0.2, 1000 * 0.3048, "1,000 ft"},
	} {
		m, text := roundBar(c.words, c.pxPerM, mostBarPX)
		if !near(m, c.m, 1e-9) || plain(text) != c.text {
			t.Errorf("at %g px/m: %g m, %q; want %g, %q", c.pxPerM, m, plain(text), c.m, c.text)
		}
	}
}

// TestPlatesStayOnPaper: where no place beside the line is free, a watch point's plate
// still stands on the paper.
func TestPlatesStayOnPaper(t *testing.T) {
	s := blockScene(t, briefing.Words{})
	rapid.Check(t, func(t *rapid.T) {
		d := &mapDrawing{s: s, c: &canvas{px: 1}, w: 320, h: 300}
		corner := plane.Point{X: rapid.Float64Range(-60, 200).Draw(t, "x"), Y: rapid.Float64Range(-60, 250).Draw(t, "y")}
		d.v = view{box: plane.Box{Min: corner, Max: corner.Add(plane.Point{X: 64, Y: 60})}, scale: 5}
		d.p = placer{w: d.w, h: d.h, px: 1}
		if rapid.Bool().Draw(t, "full") {
			d.p.taken = []disc{{xy{160, 150}, 400}}
		}
		p := &routing.WatchPoint{FromM: rapid.Float64Range(0, 900).Draw(t, "at")}
		if at := d.square(p).mid; at.x < 12 || at.y < 12 || at.x > 308 || at.y > 288 {
			t.Fatalf("a plate at %v", at)
		}
	})
}
