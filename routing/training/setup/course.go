package setup

import (
	"cmp"
	"math"
	"slices"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
	"wideberth/routing/snapshot"
	"wideberth/routing/yard"
)

// Line is a line of the dog, parallel to the helper's.
type Line struct {
	Multiple float64 // of the working distance, for this helper
	NeedM    float64 // that in metres: nobody is ever nearer on it
	At       plane.Polyline
}

// Course is where the two walk.
type Course struct {
	Helper   plane.Polyline // the helper's line, from where it waits
	Lines    []Line         // the dog's, farthest first; they begin opposite the helper's place
	DogIn    plane.Polyline // from the car to the first line
	HelperIn plane.Polyline // to the helper's place: from another kerb, or from the same car park
	Apart    bool           // the two ways in keep away from each other, whoever is late
	Screen   *plane.Point   // near the first line, out of sight of the helper's; nil: the car
	Exits    int            // of three directions in which the dog can be led away over open ground
	Cell     yard.Cell      // the least open ground of all lines
}

// Rules of a course (our assumptions, from a measured prototype).
const (
	directions  = 16
	stepM       = yard.CellM
	wayInShare  = 1.5 // of the working distance, between the ways in
	exitM       = 25.0
	leastExits  = 2
	screenM     = 60.0
	kerbM       = 20.0
	laneM       = 4.0 // a line keeps so far from every lane
	mostTried   = 8   // layouts of one yard whose ways in are looked for
	mostLaid    = 400 // layouts of one yard that are ranked
	triedApartM = 30.0
	sightPoints = 5
)

// layer lays courses out on yards.
type layer struct {
	snap    *snapshot.Snapshot
	w       *Wish
	offsets []float64 // of the dog's lines from the helper's
	least   yard.Cell
}

func newLayer(snap *snapshot.Snapshot, w *Wish) *layer {
	l := &layer{snap: snap, w: w, least: leastCell[w.Ground]}
	for _, s := range w.Steps {
		l.offsets = append(l.offsets, s*w.workingM()+slackM)
	}
	return l
}

// layout is a place of the helper with a direction of its line and the side of the dog.
type layout struct {
	at, along, aside plane.Point
}

func (o *layout) place(alongM, asideM float64) plane.Point {
	return o.at.Add(o.along.Mul(alongM)).Add(o.aside.Mul(asideM))
}

// best is the best course of a yard; false if it has none.
func (l *layer) best(y *yard.Yard) (best Course, ok bool) {
	if y.Count(l.least) < int(l.w.LineM/stepM)*len(l.offsets) {
		return best, false
	}
	var tried []layout
	for _, o := range l.layouts(y) {
		if slices.ContainsFunc(tried, func(t layout) bool { return t.at.DistanceM(o.at) < triedApartM && t.aside.Dot(o.aside) > 0.9 }) {
			continue
		}
		if c, fits := l.course(y, &o); fits {
			if c.Apart {
				return c, true
			}
			if !ok {
				best, ok = c, true
			}
		}
		if tried = append(tried, o); len(tried) == mostTried {
			break
		}
	}
	return best, ok && l.w.Together
}

// grid is what of a yard is open for lines.
type grid struct {
	corner plane.Point
	open   [yard.Across * yard.Across]bool
}

func (g *grid) at(p plane.Point) bool {
	x, y := (p.X-g.corner.X)/yard.CellM+.5, (p.Y-g.corner.Y)/yard.CellM+.5
	return x >= 0 && y >= 0 && x < yard.Across && y < yard.Across && g.open[int(y)*yard.Across+int(x)]
}

// layouts ranks all layouts whose lines lie on open ground: the dog's first line near
// the car, the helper's away from it.
func (l *layer) layouts(y *yard.Yard) []layout {
	g := grid{corner: y.Corner()}
	for cell := range g.open {
		g.open[cell] = y.Cell(cell) >= l.least
	}
	var turns [2 * directions]layout
	for k := range turns {
		sin, cos := math.Sincos(2 * math.Pi * float64(k%directions) / directions)
		turns[k].along, turns[k].aside = plane.Point{X: cos, Y: sin}, plane.Point{X: -sin, Y: cos}
		if k >= directions {
			turns[k].aside = turns[k].aside.Mul(-1)
		}
	}
	far := l.offsets[0]
	type ranked struct {
		rank    float64
		cell, k int16
	}
	var all []ranked
	for cell := range g.open {
		if !g.open[cell] || (cell%yard.Across+cell/yard.Across)%2 == 1 {
			continue
		}
		for k := range turns {
			o := turns[k]
			o.at = y.Middle(cell)
			if begin := o.place(0, far); g.at(begin) && g.at(o.place(l.w.LineM, far)) && l.open(&g, &o) {
				all = append(all, ranked{begin.DistanceM(y.Car) - o.at.DistanceM(y.Car)/2, int16(cell), int16(k)})
			}
		}
	}
	slices.SortFunc(all, func(a, b ranked) int {
		return cmp.Or(cmp.Compare(a.rank, b.rank), cmp.Compare(a.cell, b.cell), cmp.Compare(a.k, b.k))
	})
	out := make([]layout, min(len(all), mostLaid))
	for i := range out {
		out[i] = turns[all[i].k]
		out[i].at = y.Middle(int(all[i].cell))
	}
	return out
}

// open says that all lines and the strip from one to the next lie on open ground.
func (l *layer) open(g *grid, o *layout) bool {
	for along := 0.0; along <= l.w.LineM; along += stepM {
		if !g.at(o.place(along, 0)) {
			return false
		}
		for _, d := range l.offsets {
			if !g.at(o.place(along, d)) {
				return false
			}
		}
	}
	for d := l.offsets[len(l.offsets)-1]; d <= l.offsets[0]; d += stepM {
		if !g.at(o.place(0, d)) {
			return false
		}
	}
	return true
}

// course works a layout out: sight, exits, and ways in; false where one is missing.
func (l *layer) course(y *yard.Yard, o *layout) (c Course, ok bool) {
	c.Helper = plane.Polyline{o.place(0, 0), o.place(l.w.LineM, 0)}
	c.Cell = yard.Public
	lines := plane.Polyline{}
	for i, d := range l.offsets {
		at := plane.Polyline{o.place(0, d), o.place(l.w.LineM, d)}
		c.Lines = append(c.Lines, Line{Multiple: l.w.Steps[i], NeedM: l.w.Steps[i] * l.w.workingM(), At: at})
		lines = append(lines, at[0], at[1], at[0])
		for along := 0.0; along <= l.w.LineM; along += stepM {
			c.Cell = min(c.Cell, y.Cell(y.At(at.At(along))), y.Cell(y.At(c.Helper.At(along))))
		}
	}
	if c.Exits = l.exits(y, o, l.offsets[len(l.offsets)-1], 1); c.Exits < leastExits || l.exits(y, o, 0, -1) == 0 ||
		!l.sees(&c) || !l.clear(c.Helper) || !l.clear(lines) {
		return c, false
	}
	keep := wayInShare*l.w.workingM() + slackM
	dog := walker{layer: l, y: y, from: []apart{{c.Helper, keep}}}
	return l.waysIn(y, &c, &dog, lines, keep)
}

// waysIn finds the way of each to its place.
func (l *layer) waysIn(y *yard.Yard, c *Course, dog *walker, lines plane.Polyline, keep float64) (Course, bool) {
	if c.DogIn = dog.way(c.Lines[0].At[0], dog.byCar); c.DogIn == nil {
		return *c, false
	}
	slices.Reverse(c.DogIn)
	helper := walker{layer: l, y: y, from: []apart{{c.DogIn, keep}, {lines, l.offsets[len(l.offsets)-1]}}}
	if c.HelperIn = helper.way(c.Helper[0], helper.byKerb); c.HelperIn != nil {
		c.Apart = true
	} else {
		// From the dog's car both ways cross: the helper comes first and leaves last, and
		// only the clock keeps them apart.
		helper.from = nil
		if c.HelperIn = helper.way(c.Helper[0], helper.byCar); c.HelperIn == nil {
			return *c, false
		}
	}
	slices.Reverse(c.HelperIn)
	c.Screen = l.screen(y, c)
	return *c, true
}

// exits counts the directions, straight away and half to either side, in which one gets
// away from the middle of a line over ground that may be walked.
func (l *layer) exits(y *yard.Yard, o *layout, asideM, sign float64) (n int) {
	from := o.place(l.w.LineM/2, asideM)
	for _, turn := range [3]float64{-math.Pi / 3, 0, math.Pi / 3} {
		sin, cos := math.Sincos(turn)
		dir := o.aside.Mul(sign * cos).Add(o.along.Mul(sin))
		free := true
		for m := stepM; m < exitM+stepM; m += stepM {
			free = free && y.Cell(y.At(from.Add(dir.Mul(math.Min(m, exitM))))) >= yard.Passed
		}
		if free {
			n++
		}
	}
	return n
}

// sees says that dog and helper see each other wherever they are on their lines, as far
// as the map tells: between the farthest two, all rays of a five by five pattern.
func (l *layer) sees(c *Course) bool {
	far := c.Lines[0].At
	for i := range sightPoints {
		for j := range sightPoints {
			a := c.Helper.At(l.w.LineM * float64(i) / (sightPoints - 1))
			b := far.At(l.w.LineM * float64(j) / (sightPoints - 1))
			if !l.snap.Ground.Visible(a, b) {
				return false
			}
		}
	}
	return true
}

// clear says that nothing stops steps along a line, and that it keeps off every lane.
func (l *layer) clear(line plane.Polyline) bool {
	index, g := l.snap.Ground.Index(), l.snap.Graph
	for i := 1; i < len(line); i++ {
		if !index.Visible(line[i-1], line[i], uint8(osmdata.BlocksWay)) {
			return false
		}
		for _, e := range g.InBox(plane.EmptyBox().With(line[i-1]).With(line[i]).Grown(laneM)) {
			if g.Class[e] <= osmdata.Service && meets(g, e, line[i-1:i+1]) {
				return false
			}
		}
	}
	return true
}

// meets says that an edge comes within laneM of a straight line.
func meets(g *network.Graph, e int32, line plane.Polyline) bool {
	const eachM = 2.0
	way, long := g.EdgeLine(e), line.LengthM()
	for m := 0.0; ; m += eachM {
		if _, _, d := way.Nearest(line.At(math.Min(m, long))); d < laneM {
			return true
		}
		if m >= long {
			return false
		}
	}
}

// screen is a place near the dog's first line from which nothing of the helper's is seen.
func (l *layer) screen(y *yard.Yard, c *Course) *plane.Point {
	from := c.Lines[0].At[0]
	var best *plane.Point
	for cell := range yard.Across * yard.Across {
		at := y.Middle(cell)
		if y.Cell(cell) < yard.Passed || at.DistanceM(from) > screenM || best != nil && at.DistanceM(from) >= best.DistanceM(from) {
			continue
		}
		hidden := true
		for i := range sightPoints {
			hidden = hidden && !l.snap.Ground.Visible(at, c.Helper.At(l.w.LineM*float64(i)/(sightPoints-1)))
		}
		if hidden {
			best = &at
		}
	}
	return best
}
