package draw

import (
	"math"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing/network"
)

// The base map is a plan of what blocks: solids, walls, water and roads that one must not
// cross, and under everything the streets, quiet, in a neutral that is none of the four
// steps: a street without a tone was not compared, and never looks calm.

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
	grounds := gp.AllGrounds()
	for i := range grounds {
		g := &grounds[i]
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
	c.lines(wet, stroke{colour: waterLine, width: 0.8, closed: true})
	var solid [][]xy
	for _, b := range gp.AllBuildings() {
		solid = append(solid, d.rings(b.Area)...)
	}
	c.area(solid, c.theme.colour(block), evenOdd+` stroke="`+c.theme.colour(blockEdge)+`" stroke-width="`+num(0.8*c.px)+`"`)
	d.ways()
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

// Zooms from which parts of the base map are drawn.
const (
	pathZoom    = 13.5
	roadMidZoom = 14
	wallZoom    = 15.5 // walls, fences and hedges
)

// ways draws streets, paths, roads that are not to be crossed, and railways.
func (d *mapDrawing) ways() {
	c, g, zoom := d.c, d.s.Snap.Graph, d.zoom()
	w := widthAt(streetWidths, zoom)
	var roads, paths, streets, services [][]xy
	for _, e := range g.InBox(d.v.box) {
		line := g.EdgeLine(e)
		switch role, _ := g.RoleOf(e); role {
		case network.Street:
			streets = append(streets, d.parts(line)...)
		case network.Drive, network.Service:
			services = append(services, d.parts(line)...)
		case network.Path:
			if g.Flags[e]&osmdata.FlagPavement == 0 {
				paths = append(paths, d.parts(line)...)
			}
		}
	}
	for i := range d.s.Snap.Ground.Roads {
		roads = append(roads, d.parts(d.s.Snap.Ground.Roads[i].Line)...)
	}
	var rails [][]xy
	for _, l := range d.s.Snap.Ground.Rails {
		rails = append(rails, d.parts(l)...)
	}
	d.twin(rails, blockEdge, 4, 0.8)
	if zoom >= pathZoom {
		c.lines(paths, stroke{colour: blockEdge, width: 1.2, dash: "3.6 2.4"})
	}
	c.lines(services, stroke{colour: streetEdge, width: serviceFactor*w + 1.2})
	c.lines(streets, stroke{colour: streetEdge, width: w + 1.2})
	c.lines(services, stroke{colour: street, width: serviceFactor * w})
	c.lines(streets, stroke{colour: street, width: w})
	d.twin(roads, blockEdge, 1.25*w+1.6, 0.8)
	if zoom >= roadMidZoom {
		c.lines(roads, stroke{colour: blockEdge, width: 0.8, dash: "7 5"})
	}
}

// twin draws two thin parallel lines.
func (d *mapDrawing) twin(l [][]xy, colour token, apart, width float64) {
	d.c.lines(l, stroke{colour: colour, width: apart, butt: true})
	d.c.lines(l, stroke{colour: ground, width: apart - 2*width, butt: true})
}

// obstacles draws walls, fences, hedges and banks.
func (d *mapDrawing) obstacles() {
	gp, all := d.s.Snap.Ground, d.s.Snap.Ground.AllObstacles()
	var walls, fences, hedges, banks [][]xy
	for _, i := range d.near(gp.Index()) {
		o := &all[i]
		switch o.Kind {
		case osmdata.Wall:
			walls = append(walls, d.parts(o.Line)...)
		case osmdata.Fence, osmdata.Cliff:
			fences = append(fences, d.parts(o.Line)...)
		case osmdata.Hedge:
			hedges = append(hedges, d.parts(o.Line)...)
		case osmdata.WaterEdge:
			banks = append(banks, d.parts(o.Line)...)
		}
	}
	d.c.lines(banks, stroke{colour: waterLine, width: 0.8})
	if d.zoom() < wallZoom {
		return
	}
	d.c.lines(walls, stroke{colour: blockEdge, width: 1.4})
	d.c.lines(fences, stroke{colour: blockEdge, width: 1, dash: "6 1.5"})
	d.c.lines(hedges, stroke{colour: blockEdge, width: 2, dash: "0 3", round: true})
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
