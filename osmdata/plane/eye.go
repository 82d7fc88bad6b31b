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
	in      [][eyeSectors]uint64 // for each 64 walls: by sector, which of them stand in it

	last   Point   // the end of the wall that was put up last, as seen from the place
	lastAt float64 // its direction
}

// eyeWall is a wall as seen from the place.
type eyeWall struct {
	to, run Point   // to its beginning, and from there to its end, or both the other way
	cross   float64 // of the two, which is not negative
}

// Open moves the eye to a place from which it looks up to reachM metres far, with no
// walls round it.
func (y *Eye) Open(from Point, reachM float64) {
	y.from, y.reach2, y.nearest = from, reachM*reachM*(1+eyeSlack), math.Inf(1)
	y.last, y.lastAt = Point{}, 0
	y.walls, y.in = y.walls[:0], y.in[:0]
}

// Wall puts up a wall. One that is nowhere within reach is left out. Walls are put up
// cheapest in the order of their line.
func (y *Eye) Wall(a, b Point) {
	to, run, end := a.Sub(y.from), b.Sub(a), b.Sub(y.from)
	d2 := to.Dot(to)
	if back := -to.Dot(run); back > 0 {
		if long := run.Dot(run); back < long {
			d2 -= back * back / long
		} else {
			d2 = end.Dot(end)
		}
	}
	if d2 > y.reach2 {
		return
	}
	y.nearest = min(y.nearest, d2)
	lo, hi := 0, eyeSectors-1
	if m, n := math.Abs(to.X)+math.Abs(to.Y), math.Abs(end.X)+math.Abs(end.Y); m > 0 && n > 0 {
		first := y.lastAt
		if to != y.last {
			first = direction(to, m)
		}
		second := direction(end, n)
		y.last, y.lastAt = end, second
		// It stands the shorter way round; where both are alike, the eye is on the wall
		// and it counts as standing everywhere.
		switch turn := second - first; {
		case math.Abs(math.Abs(turn)-eyeSectors/2) < eyeSlack*eyeSectors:
		case math.Abs(turn) < eyeSectors/2:
			lo, hi = sector(min(first, second)-eyeSlack), sector(max(first, second)+eyeSlack)
		default:
			lo, hi = sector(max(first, second)-eyeSlack), sector(min(first, second)+eyeSlack)+eyeSectors
		}
	}
	cross := to.Cross(run)
	if cross >= 0 {
		y.put(eyeWall{to, run, cross}, lo, hi)
	}
	if cross <= 0 { // one in line with the eye stands either way
		y.put(eyeWall{to.Mul(-1), run.Mul(-1), -cross}, lo, hi)
	}
}

// put keeps a wall that stands in some sectors.
func (y *Eye) put(w eyeWall, lo, hi int) {
	if len(y.walls)&63 == 0 {
		y.in = append(y.in, [eyeSectors]uint64{})
	}
	in, bit := &y.in[len(y.in)-1], uint64(1)<<(len(y.walls)&63)
	for k := lo; k <= hi; k++ {
		in[k&(eyeSectors-1)] |= bit
	}
	y.walls = append(y.walls, w)
}

// direction is where a vector points to, in sectors from 0 to eyeSectors, growing
// anticlockwise from due south; abs is the sum of its coordinates without their signs.
// It is even along a square on its tip, not along a circle: that needs no arctangent.
func direction(v Point, abs float64) float64 {
	return eyeSectors / 4 * (2 - math.Copysign(1-v.Y/abs, v.X))
}

// sector is the number of the sector of a direction, which may lie a turn off.
func sector(direction float64) int { return int(direction+eyeSectors) - eyeSectors }

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
	k := int(direction(d, abs)) & (eyeSectors - 1)
	for i := range y.in {
		if in := y.in[i][k]; in != 0 && !passes(y.walls[i<<6:], d, in) {
			return false
		}
	}
	return true
}

// passes tells whether the line along d meets none of the walls whose bits are set.
func passes(walls []eyeWall, d Point, in uint64) bool {
	for ; in != 0; in &= in - 1 {
		w := &walls[bits.TrailingZeros64(in)]
		// As in segmentHit, where shares of the line and the wall lie within both.
		if den, u := d.Cross(w.run), w.to.Cross(d); u >= 0 && u <= den && w.cross <= den && den > 0 {
			return false
		}
	}
	return true
}
