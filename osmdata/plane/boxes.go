package plane

import "math"

// Boxes finds lines that are numbered so that what is near by number is near on the
// ground, as along a space-filling curve: the boxes of sixteen lines each, of sixteen of
// those, and so on to one box of all (a packed R-tree; Kamel and Faloutsos 1993, On
// packing R-trees). It holds no line: whoever asks looks at the lines themselves.
// Immutable; may be shared between goroutines.
type Boxes struct {
	count int
	level [][]Extent // from the boxes of lines up
}

// boxFan is how many boxes or lines lie in a box.
const boxFan = 16

// NewBoxes makes the boxes of count lines; line appends the points of one.
func NewBoxes(count int, line func(dst []Point, i int32) []Point) *Boxes {
	var points []Point
	boxes := make([]Extent, 0, levelLen(count))
	for i := range count {
		if i%boxFan == 0 {
			boxes = append(boxes, NoExtent)
		}
		points = line(points[:0], int32(i))
		b := &boxes[len(boxes)-1]
		for _, p := range points {
			*b = b.With(Rounded(p))
		}
	}
	return boxesOf(count, boxes)
}

// boxesOf builds the upper boxes on the lowest.
func boxesOf(count int, lowest []Extent) *Boxes {
	b := &Boxes{count: count, level: [][]Extent{lowest}}
	for len(lowest) > 1 {
		upper := make([]Extent, 0, levelLen(len(lowest)))
		for i, x := range lowest {
			if i%boxFan == 0 {
				upper = append(upper, NoExtent)
			}
			u := &upper[len(upper)-1]
			*u = u.With(x[0]).With(x[1])
		}
		b.level, lowest = append(b.level, upper), upper
	}
	return b
}

func levelLen(n int) int { return (n + boxFan - 1) / boxFan }

// Lowest are the boxes of lines, from which BoxesFrom makes the whole again.
func (b *Boxes) Lowest() []Extent { return b.level[0] }

// BoxesFrom makes boxes of count lines out of the lowest of them; false if those are not
// as many as there must be.
func BoxesFrom(count int, lowest []Extent) (*Boxes, bool) {
	if len(lowest) != levelLen(count) {
		return nil, false
	}
	return boxesOf(count, lowest), true
}

// roundM is how far a point may lie outside a box that was made of rounded places.
const roundM = 1. / cmPerM

// box is a box of a level in metres.
func (b *Boxes) box(level, i int) Box {
	x := &b.level[level][i]
	return Box{x[0].Point(), x[1].Point()}.Grown(roundM)
}

// InBox calls yield for every line that may have a part in a box, ascending.
func (b *Boxes) InBox(box Box, yield func(i int32)) {
	b.inBox(len(b.level)-1, 0, len(b.level[len(b.level)-1]), &box, yield)
}

func (b *Boxes) inBox(level, from, to int, box *Box, yield func(i int32)) {
	for i := from; i < to; i++ {
		x := b.box(level, i)
		if !(x.Min.X <= box.Max.X && x.Max.X >= box.Min.X && x.Min.Y <= box.Max.Y && x.Max.Y >= box.Min.Y) {
			continue
		}
		if level > 0 {
			b.inBox(level-1, boxFan*i, min(boxFan*(i+1), len(b.level[level-1])), box, yield)
			continue
		}
		for line := boxFan * i; line < min(boxFan*(i+1), b.count); line++ {
			yield(int32(line))
		}
	}
}

// Nearest calls try for the lines that may come within limitM of a point, those of nearer
// boxes first; try gives the distance beyond which nothing is looked for any more.
func (b *Boxes) Nearest(p Point, limitM float64, try func(i int32, limitM float64) float64) {
	top := len(b.level) - 1
	b.nearest(top, 0, len(b.level[top]), p, &limitM, try)
}

func (b *Boxes) nearest(level, from, to int, p Point, limitM *float64, try func(i int32, limitM float64) float64) {
	var distM [boxFan]float64
	for i := from; i < to; i++ {
		distM[i-from] = max(0, b.box(level, i).DistanceM(p))
	}
	for range to - from {
		best := 0
		for k := range to - from {
			if distM[k] < distM[best] {
				best = k
			}
		}
		if !(distM[best] <= *limitM) {
			return
		}
		distM[best] = math.Inf(1)
		i := from + best
		if level > 0 {
			b.nearest(level-1, boxFan*i, min(boxFan*(i+1), len(b.level[level-1])), p, limitM, try)
			continue
		}
		for line := boxFan * i; line < min(boxFan*(i+1), b.count); line++ {
			*limitM = try(int32(line), *limitM)
		}
	}
}
