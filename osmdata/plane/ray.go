package plane

import "math"

// FirstHit is the first piece in the mask that the straight line from one point
// to another meets, with the distance from its beginning. A piece that lies
// exactly along the line is not met: seen edge-on it is as thin as a line.
// Touching an end of a piece counts as meeting it. Points that are not numbers
// meet nothing.
func (x *Index) FirstHit(from, to Point, mask uint8) (Hit, bool) {
	best, bestT := int32(-1), math.Inf(1)
	r := newRay(from, to, x.cellM)
	for {
		for _, i := range r.pieces(x, mask) {
			if x.mask(i)&mask == 0 {
				continue
			}
			a, b := x.ends(i)
			if t, ok := segmentHit(from, to, a, b); ok && (t < bestT || t == bestT && i < best) {
				best, bestT = i, t
			}
		}
		// A piece is listed in many cells: it may meet the ray beyond this one,
		// and another may meet it earlier in a cell that comes first.
		if exit := r.exit(); bestT <= exit || !(exit < 1) {
			break
		}
		r.step()
	}
	if best < 0 {
		return Hit{Segment: -1}, false
	}
	d := to.Sub(from)
	return Hit{Segment: best, ID: x.Segment(best).ID, At: from.Add(d.Mul(bestT)), DistM: bestT * d.NormM()}, true
}

// Meets tells whether a piece, of whatever mask, meets the straight line between two
// points.
func (x *Index) Meets(i int32, a, b Point) bool {
	p, q := x.ends(i)
	_, ok := segmentHit(a, b, p, q)
	return ok
}

// Visible tells whether no piece in the mask meets the straight line between two
// points.
func (x *Index) Visible(a, b Point, mask uint8) bool {
	r := newRay(a, b, x.cellM)
	for {
		for _, i := range r.pieces(x, mask) {
			if x.mask(i)&mask == 0 {
				continue
			}
			p, q := x.ends(i)
			if _, ok := segmentHit(a, b, p, q); ok {
				return false
			}
		}
		if !(r.exit() < 1) {
			return true
		}
		r.step()
	}
}

// ray walks the cells of a grid that a straight line passes, in order (Amanatides
// and Woo 1987, Eurographics 3-10). Positions are shares of the line, 0 to 1.
type ray struct {
	cx, cy       int32
	stepX, stepY int32
	nextX, nextY float64 // where the line leaves the cell's column and row
	perX, perY   float64 // share of the line per column and row

	bx, by int32  // the block that was looked up last
	block  *block // nil if there is none
	looked bool
}

// pieces lists what is in the cell, looking its block up only when it is another; nothing
// where the block has nothing in the mask.
func (r *ray) pieces(x *Index, mask uint8) []int32 {
	if bx, by := r.cx>>blockBits, r.cy>>blockBits; !r.looked || bx != r.bx || by != r.by {
		r.bx, r.by, r.looked, r.block = bx, by, true, nil
		if b := x.table.find(bx, by); b >= 0 && x.blocks[b].masks&mask != 0 {
			r.block = &x.blocks[b]
		}
	}
	if r.block == nil {
		return nil
	}
	return x.inCell(r.block, inBlock(r.cx, r.cy))
}

func newRay(from, to Point, cellM float64) ray {
	r := ray{cx: int32(math.Floor(from.X / cellM)), cy: int32(math.Floor(from.Y / cellM))}
	d := to.Sub(from)
	r.stepX, r.nextX, r.perX = axis(from.X, d.X, cellM)
	r.stepY, r.nextY, r.perY = axis(from.Y, d.Y, cellM)
	return r
}

// axis gives step, first border and share per cell along one axis.
func axis(from, d, cellM float64) (step int32, next, per float64) {
	c := math.Floor(from / cellM)
	switch {
	case d > 0:
		return 1, ((c+1)*cellM - from) / d, cellM / d
	case d < 0:
		return -1, (c*cellM - from) / d, -cellM / d
	default:
		return 0, math.Inf(1), math.Inf(1)
	}
}

func (r *ray) exit() float64 { return min(r.nextX, r.nextY) }

func (r *ray) step() {
	if r.nextX < r.nextY {
		r.cx += r.stepX
		r.nextX += r.perX
	} else {
		r.cy += r.stepY
		r.nextY += r.perY
	}
}

// segmentHit tells where the line from p to q, as a share of it, meets the segment
// from a to b.
func segmentHit(p, q, a, b Point) (t float64, ok bool) {
	d, e, w := q.Sub(p), b.Sub(a), a.Sub(p)
	den, share := d.Cross(e), w.Cross(e)
	if !shareMet(share, w.Cross(d), den) {
		return 0, false
	}
	return share / den, true
}

// shareMet tells whether the shares t/den and u/den of two lines lie within both, in
// floating point the same as after the two divisions.
func shareMet(t, u, den float64) bool {
	if den < 0 {
		t, u, den = -t, -u, -den
	}
	return t >= 0 && t <= den && u >= 0 && u <= den && den != 0
}

// segmentMeetsBox tells whether a segment and a box share a point, by clipping
// (Liang and Barsky 1984, ACM Transactions on Graphics 3:1-22).
func segmentMeetsBox(a, b Point, box Box) bool {
	d := b.Sub(a)
	t0, t1 := 0.0, 1.0
	clip := func(d, lo, hi float64) bool { // lo, hi: room before the two borders
		if d == 0 {
			return lo <= 0 && hi >= 0
		}
		u, v := lo/d, hi/d
		t0, t1 = max(t0, min(u, v)), min(t1, max(u, v))
		return t0 <= t1
	}
	return clip(d.X, box.Min.X-a.X, box.Max.X-a.X) && clip(d.Y, box.Min.Y-a.Y, box.Max.Y-a.Y)
}
