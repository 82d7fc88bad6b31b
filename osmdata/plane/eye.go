package plane

import (
	"math"
	"math/bits"
)

// eyeSectors is how many sectors an Eye divides the view into, a power of two: with 256
// about one wall of a street among houses stands in each.
const eyeSectors = 256

// eyeSlack widens the sectors that a wall stands in, in sectors, far above the
// rounding of directions.
const eyeSlack = 1e-6

// Eye tells what is in sight from one place: where many rays start there, sorting the
// walls by direction once is several times cheaper than walking a grid for each ray.
// The zero value sees everything. One for each goroutine.
type Eye struct {
	from    Point
	reach2  float64 // square metres
	nearest float64 // square of the distance to the nearest wall
	walls   []eyeWall
	in      [eyeSectors]uint64 // by sector: which walls of each 64 stand in it

	last   Point   // the end of the wall that was put up last, as seen from the place
	lastAt float64 // its direction
}

// eyeWall is a wall as seen from the place.
type eyeWall struct {
	to, run Point // to its beginning, and from there to its end
	cross   float64
}

// Open moves the eye to a place from which it looks up to reachM metres far, with no
// walls round it.
func (y *Eye) Open(from Point, reachM float64) {
	y.from, y.reach2, y.nearest = from, reachM*reachM*(1+eyeSlack), math.Inf(1)
	y.last, y.lastAt = Point{}, 0
	if len(y.walls) > 0 {
		y.walls, y.in = y.walls[:0], [eyeSectors]uint64{}
	}
}

// Wall puts up a wall. One that is nowhere within reach is left out. Walls are put up
// cheapest in the order of their line.
func (y *Eye) Wall(a, b Point) {
	w := eyeWall{to: a.Sub(y.from), run: b.Sub(a)}
	end := b.Sub(y.from)
	d2 := w.to.Dot(w.to)
	if back := -w.to.Dot(w.run); back > 0 {
		if long := w.run.Dot(w.run); back < long {
			d2 -= back * back / long
		} else {
			d2 = end.Dot(end)
		}
	}
	if d2 > y.reach2 {
		return
	}
	y.nearest = min(y.nearest, d2)
	w.cross = w.to.Cross(w.run)
	bit := uint64(1) << (len(y.walls) & 63)
	y.walls = append(y.walls, w)
	lo, hi := 0, eyeSectors-1
	// Which way round the wall stands is told by the cross product; where that is
	// rounding the wall counts as standing everywhere.
	if a, b := math.Abs(w.to.X)+math.Abs(w.to.Y), math.Abs(end.X)+math.Abs(end.Y); math.Abs(w.cross) > 1e-9*a*b {
		from := y.lastAt
		if w.to != y.last {
			from = direction(w.to, a)
		}
		to := direction(end, b)
		y.last, y.lastAt = end, to
		if w.cross < 0 {
			from, to = to, from
		}
		lo, hi = int(from-eyeSlack+eyeSectors)-eyeSectors, int(to+eyeSlack)
		if hi < lo {
			hi += eyeSectors
		}
	}
	for k := lo; k <= hi; k++ {
		y.in[k&(eyeSectors-1)] |= bit
	}
}

// direction is where a vector points to, in sectors from 0 to eyeSectors, growing
// anticlockwise from due south; abs is the sum of its coordinates without their signs.
// It is even along a square on its tip, not along a circle: that needs no arctangent.
func direction(v Point, abs float64) float64 {
	return eyeSectors / 4 * (2 - math.Copysign(1-v.Y/abs, v.X))
}

// NearestM2 is the square of the distance in metres to the nearest wall, infinite if
// there is none within reach.
func (y *Eye) NearestM2() float64 { return y.nearest }

// Sees tells whether no wall meets the straight line to a place within reach, as
// Index.Visible does.
func (y *Eye) Sees(to Point) bool {
	d := to.Sub(y.from)
	if d.Dot(d) < y.nearest-eyeSlack || len(y.walls) == 0 {
		return true
	}
	abs := math.Abs(d.X) + math.Abs(d.Y)
	if abs == 0 {
		return true
	}
	in := y.in[int(direction(d, abs))&(eyeSectors-1)]
	return in == 0 || y.passes(d, in)
}

// passes tells whether the line along d meets none of the walls whose bits are set.
func (y *Eye) passes(d Point, in uint64) bool {
	for first := 0; first < len(y.walls); first += 64 {
		for m := in; m != 0; m &= m - 1 {
			k := first + bits.TrailingZeros64(m)
			if k >= len(y.walls) {
				break
			}
			if w := &y.walls[k]; shareMet(w.cross, w.to.Cross(d), d.Cross(w.run)) {
				return false
			}
		}
	}
	return true
}
