package draw

import (
	"math"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
)

// The base map is a plan of what blocks: solids, walls, water and roads that one
// must not cross. Everything else is open ground, and streets are the gaps.

// marginM is how much beyond the picture lines are kept, so that what is cut does
// not show.
const marginM = 15

// sparePX is how far a drawn line may stray from the mapped one, in CSS pixels.
const sparePX = 0.4

// ground draws the base map.
func (d *mapDrawing) ground() {
	c, gp := d.c, d.s.Snap.Ground
	c.raw(`<rect width="`, num(d.w), `" height="`, num(d.h), `" fill="`, c.theme.colour(ground), "\"/>\n")
	var soft, wet [][]xy
	for i := range gp.Grounds {
		g := &gp.Grounds[i]
		switch g.Kind {
		case osmdata.Park, osmdata.Wood, osmdata.Grass, osmdata.Farmland, osmdata.Cemetery, osmdata.Sand:
			soft = append(soft, d.rings(g.Area)...)
		case osmdata.Water:
			wet = append(wet, d.rings(g.Area)...)
		}
	}
	evenOdd := ` fill-rule="evenodd"`
	c.area(soft, c.theme.colour(green), evenOdd)
	c.area(wet, c.theme.colour(water), evenOdd) // plain: browsers that draw in software paint a large pattern of strokes over the page round it
	c.lines(wet, stroke{colour: waterLine, width: 1.2, closed: true})
	var solid [][]xy
	for i := range gp.Buildings {
		solid = append(solid, d.rings(gp.Buildings[i].Area)...)
	}
	c.area(solid, c.theme.colour(block), evenOdd+` stroke="`+c.theme.colour(blockEdge)+`" stroke-width="`+num(0.8*c.px)+`"`)
	d.ways(len(solid))
	d.obstacles()
}

// rings cuts a polygon to the picture.
func (d *mapDrawing) rings(g plane.Polygon) (out [][]xy) {
	if !g.Box().Intersects(d.around) {
		return nil
	}
	for _, r := range append([]plane.Ring{g.Outer}, g.Holes...) {
		if r = clipRing(r, d.around); len(r) > 2 {
			l := plane.Polyline(append(r[:len(r):len(r)], r[0])).Simplified(sparePX * d.c.px / d.v.scale)
			out = append(out, d.v.line(l[:len(l)-1]))
		}
	}
	return out
}

// clipRing cuts a ring to a box side by side (Sutherland and Hodgman 1974, Comm.
// ACM 17:32-42).
func clipRing(r plane.Ring, b plane.Box) plane.Ring {
	if b.Contains(r.Box().Min) && b.Contains(r.Box().Max) {
		return r
	}
	for side := range 4 {
		in := func(p plane.Point) float64 {
			return [...]float64{p.X - b.Min.X, b.Max.X - p.X, p.Y - b.Min.Y, b.Max.Y - p.Y}[side]
		}
		var out plane.Ring
		for i, p := range r {
			q := r[(i+1)%len(r)]
			a, z := in(p), in(q)
			if a >= 0 {
				out = append(out, p)
			}
			if (a >= 0) != (z >= 0) {
				out = append(out, p.Add(q.Sub(p).Mul(a/(a-z))))
			}
		}
		if r = out; len(r) == 0 {
			return nil
		}
	}
	return r
}

// parts gives the runs of a line that touch the picture.
func (d *mapDrawing) parts(l plane.Polyline) (out [][]xy) {
	if len(l) < 2 || !l.Box().Intersects(d.around) {
		return nil
	}
	l = l.Simplified(sparePX * d.c.px / d.v.scale)
	var run plane.Polyline
	flush := func() {
		if len(run) > 1 {
			out = append(out, d.v.line(run))
		}
		run = nil
	}
	for i := 1; i < len(l); i++ {
		if !(plane.Polyline{l[i-1], l[i]}).Box().Intersects(d.around) {
			flush()
			continue
		}
		if run == nil {
			run = append(run, l[i-1])
		}
		run = append(run, l[i])
	}
	flush()
	return out
}

// leastSolids is how many buildings a kilometre of street must have for streets to
// show as the gaps between them; below that they get a hairline.
const leastSolids = 12

// ways draws streets, paths, roads that are not to be crossed, and railways.
func (d *mapDrawing) ways(solids int) {
	c, g := d.c, d.s.Snap.Graph
	var roads, paths, streets [][]xy
	lengthM := 0.0
	for _, e := range g.InBox(d.v.box) {
		line := g.EdgeLine(e)
		switch class := g.Class[e]; {
		case class >= osmdata.Motorway && class <= osmdata.Secondary:
			roads = append(roads, d.parts(line)...)
		case class >= osmdata.Track || class == osmdata.Pedestrian:
			if g.Flags[e]&(osmdata.FlagPavement|osmdata.FlagCrossing) == 0 {
				paths = append(paths, d.parts(line)...)
			}
		default:
			streets = append(streets, d.parts(line)...)
			lengthM += float64(g.LengthM[e])
		}
	}
	for i := range d.s.Snap.Ground.Roads {
		if r := &d.s.Snap.Ground.Roads[i]; r.Class >= osmdata.Motorway && r.Class <= osmdata.Secondary {
			roads = append(roads, d.parts(r.Line)...)
		}
	}
	if float64(solids) < leastSolids*lengthM/1000 {
		c.lines(streets, stroke{colour: rule, width: 0.8})
	}
	c.lines(paths, stroke{colour: ink2, width: 1.1, dash: "4 3"})
	var rails [][]xy
	for _, l := range d.s.Snap.Ground.Rails {
		rails = append(rails, d.parts(l)...)
	}
	d.twin(rails, blockEdge, 4.4, 1.1)
	d.twin(roads, rule, 8, 1.1)
	c.lines(roads, stroke{colour: rule, width: 1.1, dash: "7 5"})
}

// twin draws two thin parallel lines.
func (d *mapDrawing) twin(l [][]xy, colour token, apart, width float64) {
	d.c.lines(l, stroke{colour: colour, width: apart, butt: true})
	d.c.lines(l, stroke{colour: ground, width: apart - 2*width, butt: true})
}

// obstacles draws walls, fences, hedges and banks.
func (d *mapDrawing) obstacles() {
	gp := d.s.Snap.Ground
	var walls, fences, ticks, hedges, banks [][]xy
	px := d.c.px
	for _, i := range d.near(gp.Index()) {
		o := &gp.Obstacles[i]
		switch o.Kind {
		case osmdata.Wall:
			walls = append(walls, d.parts(o.Line)...)
		case osmdata.Fence, osmdata.Cliff:
			for _, l := range d.parts(o.Line) {
				fences = append(fences, l)
				ticks = append(ticks, combs(l, 9*px, 4*px)...)
			}
		case osmdata.Hedge:
			hedges = append(hedges, d.parts(o.Line)...)
		case osmdata.WaterEdge:
			banks = append(banks, d.parts(o.Line)...)
		}
	}
	d.c.lines(banks, stroke{colour: waterLine, width: 1.2})
	d.c.lines(walls, stroke{colour: blockEdge, width: 2})
	d.c.lines(append(fences, ticks...), stroke{colour: blockEdge, width: 1.2})
	// A hedge is a row of bumps: nothing that could be taken for the shaking line.
	d.c.lines(hedges, stroke{colour: blockEdge, width: 4.2, dash: "0 4", round: true})
	d.seen = [3]bool{len(walls) > 0, len(fences) > 0, len(hedges) > 0}
}

// near lists the obstacles in the picture, each once.
func (d *mapDrawing) near(x *plane.Index) (out []int32) {
	have := map[int32]bool{}
	for _, i := range x.InBox(d.v.box, math.MaxUint8, nil) {
		if id := x.Segment(i).ID; !have[id] {
			have[id] = true
			out = append(out, id)
		}
	}
	return out
}

// combs are the ticks of a fence: short lines to its left every step.
func combs(l []xy, step, length float64) (out [][]xy) {
	walkAlong(l, step, func(at, u xy) {
		out = append(out, []xy{at, {at.x + u.y*length, at.y - u.x*length}})
	})
	return out
}

// walkAlong visits a line every step, with its direction.
func walkAlong(l []xy, step float64, visit func(at, u xy)) {
	next, gone := step/2, 0.0
	for i := 1; i < len(l); i++ {
		a, b := l[i-1], l[i]
		n := math.Hypot(b.x-a.x, b.y-a.y)
		if n == 0 {
			continue
		}
		u := xy{(b.x - a.x) / n, (b.y - a.y) / n}
		for ; next <= gone+n; next += step {
			visit(xy{a.x + u.x*(next-gone), a.y + u.y*(next-gone)}, u)
		}
		gone += n
	}
}
