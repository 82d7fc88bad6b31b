package draw

import (
	"math"
	"slices"

	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// Streets are ribbons: wide, white and edged where it is calm for here, narrower and
// darker step by step where it is not. The walk is a ribbon of the same tones, wider,
// with a line and arrowheads in the middle. The page's map has the same layers, widths
// and colours.

// stop is a width in CSS pixels at a zoom.
type stop struct{ zoom, px float64 }

// Widths by zoom.
var (
	streetWidths   = []stop{{12, 1}, {13, 1.7}, {14, 2.8}, {15, 4.4}, {16, 6.6}, {17, 10}, {18, 15}}
	walkEdgeWidths = []stop{{12, 10}, {14, 14}, {16, 20}, {18, 26}}
	walkWidths     = []stop{{12, 8}, {14, 11.6}, {16, 17}, {18, 23}}
	coreWidths     = []stop{{12, 2.4}, {18, 5}}
	coreCaseWidths = []stop{{12, 4.4}, {18, 9}}
)

// stepFactors make calm ground wide: of a street's own width, by step.
var stepFactors = [4]float64{1.55, 1, 0.82, 0.78}

// Of what is drawn narrower than a street's own width.
const (
	pathFactor      = 0.62
	serviceFactor   = 0.55
	underWalkFactor = 0.85
	edgePX          = 2.2 // beyond the fill, of calm ground
	otherEdgePX     = 1.1
	hairPX          = 1.2
	minorZoom       = 15.6 // from which crossings, drives and service roads show their step
	zoomBase        = 1.4
	equatorM        = 40075016.686
	tilePX          = 512
)

// widthAt is the width at a zoom, between stops as a map library has it: exponential
// with the base zoomBase.
func widthAt(stops []stop, zoom float64) float64 {
	last := len(stops) - 1
	if zoom <= stops[0].zoom {
		return stops[0].px
	}
	for i := 1; i <= last; i++ {
		if a, b := stops[i-1], stops[i]; zoom <= b.zoom {
			t := (math.Pow(zoomBase, zoom-a.zoom) - 1) / (math.Pow(zoomBase, b.zoom-a.zoom) - 1)
			return a.px + (b.px-a.px)*t
		}
	}
	return stops[last].px
}

// zoom is the zoom at which a web map has the drawing's scale.
func (d *mapDrawing) zoom() float64 {
	_, lat := d.s.Snap.Frame.Inverse(d.v.box.Min.Add(d.v.box.Max).Mul(0.5))
	return math.Log2(d.v.scale / d.c.px * equatorM * math.Cos(lat*math.Pi/180) / tilePX)
}

// tones draws the streets that are compared.
func (d *mapDrawing) tones() {
	g := d.s.Plan.Ground
	zoom := d.zoom()
	w := widthAt(streetWidths, zoom) * underWalkFactor
	lines := make([]plane.Polyline, len(g.Edges))
	for i := range g.Edges {
		lines[i] = g.Edges[i].Line
	}
	var runs [4][2][][]xy // by step, streets and paths
	for _, r := range g.Runs() {
		if r.Role.Minor() && zoom < minorZoom {
			continue
		}
		narrow := 0
		if r.Role != network.Street {
			narrow = 1
		}
		at := &runs[r.Step-1][narrow]
		*at = append(*at, d.parts(network.LineOfRun(lines, r.Edges))...)
	}
	factors := [2]float64{1, pathFactor}
	for step := range runs {
		for narrow, l := range runs[step] {
			more := otherEdgePX
			if step == 0 {
				more = edgePX
			}
			d.c.lines(l, stroke{colour: toneEdges[step], width: w*stepFactors[step]*factors[narrow] + more, butt: true})
		}
	}
	for step := range runs {
		for narrow, l := range runs[step] {
			d.c.lines(l, stroke{colour: tones[step], width: w * stepFactors[step] * factors[narrow], butt: true})
		}
	}
}

// walk draws the walk on its ribbon, over walks to compare it with.
func (d *mapDrawing) walk() {
	c, zoom := d.c, d.zoom()
	for k, i := range d.others {
		l := [][]xy{d.v.line(d.s.Plan.Walks[i].Line)}
		c.lines(l, stroke{colour: mapSheet, width: 5})
		if k%2 == 0 {
			c.lines(l, stroke{colour: mapInk, width: 2.4, dash: "9.6 5.3"})
		} else {
			c.lines(l, stroke{colour: mapInk, width: 2.8, dash: "0 5.3", round: true})
		}
	}
	whole := [][]xy{d.v.line(d.s.Walk.Line)}
	tone := widthAt(walkWidths, zoom)
	c.lines(whole, stroke{colour: walkEdge, width: widthAt(walkEdgeWidths, zoom)})
	c.lines(whole, stroke{colour: mapInk, width: tone + hairPX})
	for step := range tones {
		var runs [][]xy
		for i := range d.s.Band.Pieces {
			if p := &d.s.Band.Pieces[i]; p.Step == step+1 {
				runs = append(runs, d.v.line(p.Line))
			}
		}
		c.lines(runs, stroke{colour: tones[step], width: tone})
	}
	c.lines(whole, stroke{colour: mapSheet, width: widthAt(coreCaseWidths, zoom)})
	c.lines(whole, stroke{colour: mapInk, width: widthAt(coreWidths, zoom)})
	d.heads(whole[0], zoom)
	d.p.lines = append(d.p.lines, whole[0])
}

// Of the arrowheads on a walk, in CSS pixels; the first stands near the door.
const (
	headEveryPX  = 100
	firstHeadPX  = 50
	firstHeadM   = 55
	leastHeads   = 3
	headLongPX   = 16
	headWidePX   = 16
	headNarrowPX = 12 // at zoom 13 and wider
	headOnPaper  = 0.7
	headApart    = 1.4 // of a head's length, from the middle of another
	headStepPX   = 3
)

// heads draws the arrowheads along the walk.
func (d *mapDrawing) heads(line []xy, zoom float64) {
	px := d.c.px
	total := lengthOf(line)
	first := min(firstHeadPX*px, firstHeadM*d.v.scale, total/(leastHeads+1))
	every := min(headEveryPX*px, (total-first)/leastHeads)
	if every <= 0 {
		return
	}
	wide := float64(headWidePX)
	if zoom <= 13.5 {
		wide = headNarrowPX
	}
	long := float64(headLongPX)
	if d.c.theme == Print {
		long, wide = headOnPaper*long, headOnPaper*wide
	}
	next, gone, moved := first, 0.0, 0.0
	var at []xy
	var rim, heads [][]xy
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		n := math.Hypot(b.x-a.x, b.y-a.y)
		for ; n > 0 && next <= gone+n; next += every {
			ux, uy := (b.x-a.x)/n, (b.y-a.y)/n
			m := xy{a.x + ux*(next-gone), a.y + uy*(next-gone)}
			// Where a walk comes back on itself, the heads of both ways stand one behind the other.
			if moved < every/2 && slices.ContainsFunc(at, func(p xy) bool { return math.Hypot(p.x-m.x, p.y-m.y) < headApart*long*px }) {
				next, moved = next+headStepPX*px-every, moved+headStepPX*px
				continue
			}
			next, moved = next-moved, 0
			at = append(at, m)
			head := func(more float64) []xy {
				ahead, w := (long/2+1.4*more)*px, (wide/2+more)*px
				return []xy{{m.x + ux*ahead, m.y + uy*ahead}, {m.x - ux*(ahead-more*px*0.4) - uy*w, m.y - uy*(ahead-more*px*0.4) + ux*w}, {m.x - ux*(ahead-more*px*0.4) + uy*w, m.y - uy*(ahead-more*px*0.4) - ux*w}}
			}
			rim, heads = append(rim, head(1.6)), append(heads, head(0))
			d.p.taken = append(d.p.taken, disc{m, long / 2 * px})
		}
		gone += n
	}
	d.c.area(rim, d.c.theme.colour(mapSheet), "")
	d.c.area(heads, d.c.theme.colour(mapInk), "")
}

// Widths of the ribbon of a strip in CSS pixels, by step, and of its edge.
var stripWidths = [4]float64{12, 9, 7.5, 6}

const stripEdgePX = 1.3

// ribbonRun draws a straight run of the ribbon.
func (c *canvas) ribbonRun(line []xy, step int) {
	l := [][]xy{line}
	c.lines(l, stroke{colour: toneEdges[step-1], width: stripWidths[step-1] + 2*stripEdgePX, butt: true})
	c.lines(l, stroke{colour: tones[step-1], width: stripWidths[step-1], butt: true})
}
