package draw

import (
	"cmp"
	"math"
	"slices"
)

// disc is a round piece of what has been drawn; a label is a row of them.
type disc struct {
	at xy
	r  float64
}

// placer puts labels where they cover neither each other nor a line. All lengths
// are the drawing's units.
type placer struct {
	w, h  float64
	px    float64
	taken []disc
	lines [][]xy // that no label may lie on
	shade []disc // washes with texture, on which a label needs a plate
}

// row is the discs of a text of a given width about its middle.
func row(mid xy, width, r, turn float64) []disc {
	sin, cos := math.Sincos(turn)
	n := max(1, int(math.Ceil(width/r)))
	out := make([]disc, 0, n+1)
	for i := 0; i <= n; i++ {
		off := (float64(i)/float64(n) - 0.5) * max(0, width-2*r)
		out = append(out, disc{xy{mid.x + off*cos, mid.y + off*sin}, r})
	}
	return out
}

// free says whether discs lie on the paper, off all others and off the lines.
func (p *placer) free(ds []disc, offLines bool) bool {
	for _, d := range ds {
		if d.at.x-d.r < 0 || d.at.y-d.r < 0 || d.at.x+d.r > p.w || d.at.y+d.r > p.h {
			return false
		}
		for _, o := range p.taken {
			if math.Hypot(d.at.x-o.at.x, d.at.y-o.at.y) < d.r+o.r {
				return false
			}
		}
		if offLines && p.onLine(d) {
			return false
		}
	}
	return true
}

func (p *placer) onLine(d disc) bool {
	for _, l := range p.lines {
		for i := 1; i < len(l); i++ {
			if segmentDistance(d.at, l[i-1], l[i]) < d.r+1.5*p.px {
				return true
			}
		}
	}
	return false
}

func segmentDistance(p, a, b xy) float64 {
	dx, dy := b.x-a.x, b.y-a.y
	t := 0.0
	if n := dx*dx + dy*dy; n > 0 {
		t = min(1, max(0, ((p.x-a.x)*dx+(p.y-a.y)*dy)/n))
	}
	return math.Hypot(p.x-a.x-t*dx, p.y-a.y-t*dy)
}

// spot is a place for a label: the middle of the text and its turn in radians.
type spot struct {
	mid   xy
	turn  float64
	plate bool // it lies on a texture
}

// put takes the first free spot for a text and says where it is: off textures if
// there is one, else on a plate.
func (p *placer) put(width, size float64, spots []spot) (spot, bool) {
	r := size * 0.55
	onShade := -1
	for i, s := range spots {
		ds := row(s.mid, width+size*0.5, r, s.turn)
		if !p.free(ds, true) {
			continue
		}
		if p.shaded(ds) {
			if onShade < 0 {
				onShade = i
			}
			continue
		}
		p.taken = append(p.taken, ds...)
		return s, true
	}
	if onShade < 0 {
		return spot{}, false
	}
	s := spots[onShade]
	s.plate = true
	p.taken = append(p.taken, row(s.mid, width+size*0.5, r, s.turn)...)
	return s, true
}

func (p *placer) shaded(ds []disc) bool {
	for _, d := range ds {
		for _, o := range p.shade {
			if math.Hypot(d.at.x-o.at.x, d.at.y-o.at.y) < d.r+o.r {
				return true
			}
		}
	}
	return false
}

// piece is a straight piece of a line.
type piece struct {
	a, b xy
	n    float64 // its length
}

// longest gives the longest straight pieces of a line, at most four.
func longest(line []xy) []piece {
	var out []piece
	for i := 1; i < len(line); i++ {
		out = append(out, piece{line[i-1], line[i], math.Hypot(line[i].x-line[i-1].x, line[i].y-line[i-1].y)})
	}
	slices.SortStableFunc(out, func(a, b piece) int { return cmp.Compare(b.n, a.n) })
	return out[:min(4, len(out))]
}

// along lists spots beside a line, parallel to it, on both sides, on its longest
// pieces first.
func (p *placer) along(line []xy, width, size float64) (out []spot) {
	pieces := longest(line)
	for _, off := range []float64{0.95, 1.5, 2.2, 3} {
		for _, q := range pieces {
			if q.n == 0 || q.n < 0.8*width {
				continue
			}
			ux, uy := (q.b.x-q.a.x)/q.n, (q.b.y-q.a.y)/q.n
			turn := math.Atan2(uy, ux)
			if turn > math.Pi/2 {
				turn -= math.Pi
			} else if turn <= -math.Pi/2 {
				turn += math.Pi
			}
			for _, t := range []float64{0.5, 0.35, 0.65, 0.2, 0.8} {
				for _, side := range []float64{1, -1} {
					out = append(out, spot{mid: xy{q.a.x + ux*q.n*t - uy*off*size*side, q.a.y + uy*q.n*t + ux*off*size*side}, turn: turn})
				}
			}
		}
	}
	return out
}

// beside lists level spots about the middles of a line's longest pieces.
func (p *placer) beside(line []xy, width, size float64) (out []spot) {
	for _, q := range longest(line) {
		mid := xy{(q.a.x + q.b.x) / 2, (q.a.y + q.b.y) / 2}
		for _, off := range []float64{1, 2, 3.5} {
			for _, d := range []xy{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
				out = append(out, spot{mid: xy{mid.x + d.x*(width/2+off*size), mid.y + d.y*off*size}})
			}
		}
	}
	return out
}

// about lists spots round a place, nearest first.
func about(at xy, width, r, size float64) (out []spot) {
	for _, k := range []float64{1, 1.8, 2.8} {
		dx, dy := width/2+k*r, k*r+size*0.5
		out = append(out, spot{mid: xy{at.x + dx, at.y}}, spot{mid: xy{at.x - dx, at.y}}, spot{mid: xy{at.x, at.y - dy}}, spot{mid: xy{at.x, at.y + dy}},
			spot{mid: xy{at.x + dx, at.y - dy}}, spot{mid: xy{at.x - dx, at.y - dy}}, spot{mid: xy{at.x + dx, at.y + dy}}, spot{mid: xy{at.x - dx, at.y + dy}})
	}
	return out
}
