package setup

import (
	"math"
	"slices"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/yard"
)

// apart is a line to be kept away from.
type apart struct {
	line plane.Polyline
	m    float64
}

// walker finds ways over a yard from a place on it.
type walker struct {
	*layer
	y    *yard.Yard
	from []apart // what it keeps away from
}

// allowed says that a place is far enough from what is kept away from.
func (k *walker) allowed(p plane.Point) bool {
	for i := range k.from {
		if _, _, d := k.from[i].line.Nearest(p); d < k.from[i].m-1e-6 {
			return false
		}
	}
	return true
}

// byCar says that a cell is where the car may stand: as near to the place of the car as
// any cell that may be walked.
func (k *walker) byCar(cell int) bool { return k.y.Middle(cell).DistanceM(k.y.Car) <= carReachM }

// carReachM is how far from the middle of a car park the car may stand.
const carReachM = 35.0

// byKerb says that a cell lies at a street where somebody can be let out or park.
func (k *walker) byKerb(cell int) bool {
	at, g := k.y.Middle(cell), k.snap.Graph
	for _, e := range g.InBox(plane.Box{Min: at, Max: at}.Grown(kerbM)) {
		if !yard.Stoppable(g.Class[e], g.Flags[e]) {
			continue
		}
		if _, _, d := g.EdgeLine(e).Nearest(at); d <= kerbM {
			return true
		}
	}
	return false
}

// way is the shortest way over the yard from a place to a cell that will do, nil if
// there is none. A step leads from a cell to one of eight neighbours, aslant only where
// both cells beside it are open too, so that it crosses no barrier.
func (k *walker) way(start plane.Point, goal func(cell int) bool) plane.Polyline {
	first := k.y.At(start)
	if first < 0 || !k.allowed(start) {
		return nil
	}
	const cells = yard.Across * yard.Across
	var before, seen [cells]int32
	var dist [cells]float64
	open := []int32{int32(first)}
	seen[first], before[first] = 1, -1
	may := func(cell int) bool { return k.y.Cell(cell) >= yard.Passed && k.allowed(k.y.Middle(cell)) }
	// the grid is small: the nearest of the open ones is looked for
	for len(open) > 0 {
		best := 0
		for i := range open {
			if dist[open[i]] < dist[open[best]] {
				best = i
			}
		}
		cell := int(open[best])
		open = slices.Delete(open, best, best+1)
		if seen[cell] == 2 {
			continue
		}
		seen[cell] = 2
		if goal(cell) {
			return k.straight(k.back(start, cell, before[:]))
		}
		x, y := cell%yard.Across, cell/yard.Across
		for dy := -1; dy <= 1; dy++ {
			for dx := -1; dx <= 1; dx++ {
				nx, ny := x+dx, y+dy
				if nx < 0 || ny < 0 || nx >= yard.Across || ny >= yard.Across {
					continue
				}
				next := ny*yard.Across + nx
				if seen[next] == 2 || !may(next) || dx != 0 && dy != 0 && (!may(y*yard.Across+nx) || !may(ny*yard.Across+x)) {
					continue
				}
				if !k.allowed(k.y.Middle(cell).Add(k.y.Middle(next)).Mul(0.5)) {
					continue
				}
				if d := dist[cell] + yard.CellM*math.Hypot(float64(dx), float64(dy)); seen[next] == 0 || d < dist[next] {
					dist[next], before[next], seen[next] = d, int32(cell), 1
					open = append(open, int32(next))
				}
			}
		}
	}
	return nil
}

// back is the way from a place to a cell that the search has reached.
func (k *walker) back(start plane.Point, cell int, before []int32) plane.Polyline {
	var out plane.Polyline
	for c := int32(cell); before[c] >= 0; c = before[c] {
		out = append(out, k.y.Middle(int(c)))
	}
	out = append(out, start)
	slices.Reverse(out)
	return out
}

// straight leaves out points of a way that need not be walked by; nil for a way that
// comes too near between two points.
func (k *walker) straight(way plane.Polyline) plane.Polyline {
	if len(way) < 2 {
		return k.aside(way[0])
	}
	out := plane.Polyline{way[0]}
	for at := 0; at < len(way)-1; {
		next := len(way) - 1
		for next > at && !k.direct(way[at], way[next]) {
			next--
		}
		if next == at {
			return nil
		}
		out = append(out, way[next])
		at = next
	}
	return out
}

// aside is a way of a step, where a place is a goal itself.
func (k *walker) aside(at plane.Point) plane.Polyline {
	for turn := range 8 {
		sin, cos := math.Sincos(float64(turn) * math.Pi / 4)
		if to := at.Add(plane.Point{X: cos, Y: sin}); k.direct(at, to) {
			return plane.Polyline{at, to}
		}
	}
	return nil
}

// direct says that one may walk straight from one place to another.
func (k *walker) direct(a, b plane.Point) bool {
	if !k.snap.Ground.Index().Visible(a, b, uint8(osmdata.BlocksWay)) {
		return false
	}
	const eachM = 2.5
	d := b.Sub(a)
	n := math.Ceil(d.NormM() / eachM)
	for i := 0.0; i <= n; i++ {
		p := a.Add(d.Mul(i / n))
		if k.y.Cell(k.y.At(p)) < yard.Passed || !k.allowed(p) {
			return false
		}
	}
	return true
}
