package draw

import (
	"cmp"
	"io"
	"math"
	"slices"

	"wideberth/osmdata"
	"wideberth/osmdata/plane"
	"wideberth/routing"
	"wideberth/routing/briefing"
)

// MapOptions say how to draw a map.
type MapOptions struct {
	WidthPX, HeightPX float64 // CSS pixels
	Theme             Theme
	Others            bool    // the plan's other walks too, as dots
	Wider             float64 // how much more ground than the walk needs, 0 for 1; less than 1 is nearer
	Prefix            string  // of ids, where several drawings stand in one page
}

// Map draws the walk on the ground as SVG: what blocks, the streets about in their four
// steps, the walk on its ribbon, watch points, minutes, sources with the dog's distances
// round them and two scale bars. The error is the writer's.
func (s *Scene) Map(w io.Writer, o MapOptions) error {
	c := &canvas{theme: o.Theme, px: 1, prefix: o.Prefix, wider: o.Wider}
	s.drawMap(c, o.WidthPX, o.HeightPX, "px", o.Others)
	_, err := io.WriteString(w, c.String())
	return err
}

// describe is the map in one sentence.
func (s *Scene) describe() string {
	w := s.Words
	return w.Say("sheet.map", "legs", len(s.Legs), "minutes", w.Minutes(s.Walk.DurationS), "length", w.Far(s.Walk.LengthM), "watch", len(s.Walk.Watch))
}

// mapDrawing is one map being drawn.
type mapDrawing struct {
	s      *Scene
	c      *canvas
	v      view
	w, h   float64
	around plane.Box // the picture and a margin
	p      placer
	others []int // walks drawn as dots
}

// widened is a box times k about its middle; 0 is 1.
func widened(b plane.Box, k float64) plane.Box {
	if k == 0 {
		k = 1
	}
	middle, half := b.Min.Add(b.Max).Mul(0.5), b.Max.Sub(b.Min).Mul(k/2)
	return plane.Box{Min: middle.Sub(half), Max: middle.Add(half)}
}

// The ground shown beyond a walk, and the paper that the scale bars take.
const (
	aroundWalkM = 40
	footPX      = 44
)

func (s *Scene) drawMap(c *canvas, w, h float64, unit string, others bool) *mapDrawing {
	d := &mapDrawing{s: s, c: c, w: w, h: h}
	box := s.Walk.Line.Box()
	for i := range s.Plan.Walks {
		if others && i != s.index {
			d.others = append(d.others, i)
			box = box.Union(s.Plan.Walks[i].Line.Box())
		}
	}
	// The bars at the foot get ground of their own.
	foot := footPX * c.px
	d.v = fit(widened(box.Union(s.sourcesBox(box)).Grown(aroundWalkM), c.wider), w, h-foot)
	d.v.box.Min.Y -= foot / d.v.scale
	d.around = d.v.box.Grown(marginM)
	d.p = placer{w: w, h: h, px: c.px}
	c.open(w, h, unit, s.describe())
	d.ground()
	d.sources()
	d.tones()
	d.walk()
	d.bars()
	d.dimensions()
	d.marks()
	d.sourceLabels()
	d.names()
	c.close()
	return d
}

// sourcesBox is the ground of the sources that are drawn, as far as it lies near the
// walk's box.
func (s *Scene) sourcesBox(near plane.Box) plane.Box {
	b := near
	most := near.Grown(2 * aroundWalkM)
	for i := range s.Walk.Passed {
		if p := &s.Walk.Passed[i]; drawn(p) {
			for _, q := range outline(s.Snap.Field.Source(p.Source)) {
				if most.Contains(q) {
					b = b.With(q)
				}
			}
		}
	}
	return b
}

// drawn says whether a source that is passed stands on the map.
func drawn(p *routing.Passed) bool {
	return p.Need.WorkingM > 0 && p.NearestM <= p.Need.WorkingM+sourceNearM
}

// Round fixed sources.
const (
	sourceNearM = 30 // only sources whose outer outline comes this near to the walk
	hiddenPX    = 1.2
)

// sources draws the fixed sources near the walk, with the dog's distances round
// them.
func (d *mapDrawing) sources() {
	c := d.c
	for i := range d.s.Walk.Passed {
		p := &d.s.Walk.Passed[i]
		if !drawn(p) {
			continue
		}
		src := d.s.Snap.Field.Source(p.Source)
		hull := hullOf(outline(src))
		var rings [][]xy
		for k := range src.Area {
			rings = append(rings, d.rings(src.Area[k])...)
		}
		if len(src.Area) == 0 {
			rings = [][]xy{d.v.line(hull)}
		}
		c.area(rings, "url(#"+c.prefix+"source)", ` fill-rule="evenodd" stroke="`+c.theme.colour(ink)+`" stroke-width="`+num(1.2*c.px)+`"`)
		width := 2.0
		if !p.InSight {
			width = hiddenPX
		}
		works := d.v.line(grown(hull, p.Need.WorkingM))
		c.lines([][]xy{works}, stroke{colour: need, width: width, casing: casingPX, closed: true})
		c.lines([][]xy{d.v.line(grown(hull, p.Need.ReactionM))}, stroke{colour: need, width: width, dash: "9 6", closed: true})
	}
}

// sourceLabels writes what the sources are and how far off the dog still works,
// above the band.
func (d *mapDrawing) sourceLabels() {
	for i := range d.s.Walk.Passed {
		if p := &d.s.Walk.Passed[i]; drawn(p) {
			hull := hullOf(outline(d.s.Snap.Field.Source(p.Source)))
			d.sourceName(p, d.v.line(hull))
			a, b := d.dimensionLine(hull, p)
			text, mid := d.s.Words.Own(p.Need.WorkingM), xy{(a.x + b.x) / 2, (a.y + b.y) / 2}
			width := textWidth(text, 12*d.c.px, true)
			if at, ok := d.p.put(width, 12*d.c.px, about(mid, width, 5*d.c.px, 12*d.c.px)); ok {
				d.write(text, at, 12, true, need)
			}
		}
	}
}

// dimensions draws the dimension lines, which no label may cross.
func (d *mapDrawing) dimensions() {
	for i := range d.s.Walk.Passed {
		if p := &d.s.Walk.Passed[i]; drawn(p) {
			hull := hullOf(outline(d.s.Snap.Field.Source(p.Source)))
			a, b := d.dimensionLine(hull, p)
			d.c.lines([][]xy{{a, b}}, stroke{colour: need, width: 1.4, casing: 1})
			d.p.lines = append(d.p.lines, []xy{a, b})
		}
	}
}

// dimensionLine runs from the source to its outer outline, towards the walk.
func (d *mapDrawing) dimensionLine(hull plane.Ring, p *routing.Passed) (a, b xy) {
	toward := d.s.Walk.Line.At(p.FromM)
	from, _, dist := plane.Polyline(append(hull[:len(hull):len(hull)], hull[0])).Nearest(toward)
	u := toward.Sub(from)
	if dist < 1 {
		u, dist = plane.Point{X: 1}, 1
	}
	return d.v.at(from), d.v.at(from.Add(u.Mul(p.Need.WorkingM / dist)))
}

func (d *mapDrawing) sourceName(p *routing.Passed, hull []xy) {
	mid := xy{}
	for _, q := range hull {
		mid.x += q.x / float64(len(hull))
		mid.y += q.y / float64(len(hull))
	}
	name := briefing.Clip(briefing.Sentence(p.Name), briefing.MostNameRunes)
	if !p.InSight {
		name = d.s.Words.Say("source.hidden", "name", name, "distance", d.s.Words.Distance(p.NearestM))
	}
	width := textWidth(name, 12*d.c.px, true)
	spots := append([]spot{{mid: mid}}, about(mid, width, 12*d.c.px, 12*d.c.px)...)
	if at, ok := d.p.put(width, 12*d.c.px, spots); ok {
		d.write(name, at, 12, true, ink)
	}
}

// write puts a label about a spot, on a plate of paper.
func (d *mapDrawing) write(text string, at spot, size float64, bold bool, colour token) {
	down := 0.35 * size * d.c.px
	sin, cos := math.Sincos(at.turn)
	if at.plate {
		w, h := textWidth(text, size*d.c.px, bold)+6*d.c.px, 1.25*size*d.c.px
		d.c.raw(`<rect x="`, num(at.mid.x-w/2), `" y="`, num(at.mid.y-h/2), `" width="`, num(w), `" height="`, num(h), `" fill="`, d.c.theme.colour(sheet),
			`" transform="rotate(`, num(at.turn*180/math.Pi), " ", num(at.mid.x), " ", num(at.mid.y), ")\"/>\n")
	}
	d.c.text(label{at: xy{at.mid.x - sin*down, at.mid.y + cos*down}, text: text, size: size, bold: bold, anchor: atMiddle, colour: colour, casing: sheet, cased: true, turn: at.turn * 180 / math.Pi})
}

// marks draws the door, watch points, minutes and the letters of other walks. Watch
// points go before minutes, and both before names.
func (d *mapDrawing) marks() {
	px := d.c.px
	start := d.v.at(d.s.Walk.Line[0])
	d.p.taken = append(d.p.taken, disc{start, 11 * px})
	var squares []spot
	for i := range d.s.Walk.Watch {
		squares = append(squares, d.square(&d.s.Walk.Watch[i]))
	}
	step := minuteMarks(d.s.Walk.DurationS / 60)
	for m := step; float64(m*60) < d.s.Walk.DurationS-endQuietS; m += step {
		at := d.v.at(d.s.Walk.Line.At(d.s.metresAt(float64(m * 60))))
		if !d.p.free([]disc{{at, 4 * px}}, false) {
			continue
		}
		text := d.s.Words.Minutes(float64(60 * m)) // never a bare number
		width := textWidth(text, 12*px, true)
		d.p.taken = append(d.p.taken, disc{at, 5 * px})
		if s, ok := d.p.put(width, 12*px, about(at, width, 10*px, 12*px)); ok {
			d.c.disc(at, 4.2)
			d.write(text, s, 12, true, ink)
		}
	}
	d.c.door(start)
	if !briefing.Homeward(d.s.Walk) {
		d.c.door(d.v.at(d.s.Walk.Line[len(d.s.Walk.Line)-1]))
	}
	for i, s := range squares {
		d.c.square(s.mid, i+1)
	}
	for _, i := range d.others {
		l := d.v.line(d.s.Plan.Walks[i].Line)
		if s, ok := d.p.put(12*px, 16*px, d.p.beside(l, 12*px, 16*px)); ok {
			d.write(briefing.Letter(i), spot{mid: s.mid, plate: true}, 16, true, ink)
		}
		d.p.lines = append(d.p.lines, l)
	}
}

// endQuietS is the time before the end in which no minute is marked: the door says
// it.
const endQuietS = 60

// plateOffsPX is how far beside the line a watch point's plate stands, nearest first.
var plateOffsPX = []float64{26, -26, 34, -34, 42, -42, 50, -50, 62, -62, 74, -74}

// square finds the place of a watch point's plate: beside the line with a leader, so that
// it never covers the piece it warns of.
func (d *mapDrawing) square(p *routing.WatchPoint) spot {
	px := d.c.px
	at := d.v.at(d.s.Walk.Line.At(p.FromM))
	dir := d.s.Walk.Line.DirectionAt(p.FromM)
	beside := func(off float64) spot { return spot{mid: xy{at.x - dir.Y*off*px, at.y - dir.X*off*px}} }
	// Where no place is free, one that is at least on the paper.
	least := 12 * px
	s := spot{mid: xy{min(max(at.x, least), d.w-least), min(max(at.y, least), d.h-least)}}
	paper := placer{w: d.w, h: d.h, px: px}
	for _, p := range []*placer{&paper, &d.p} {
		for _, off := range plateOffsPX {
			if b := beside(off); p.free([]disc{{b.mid, least}}, true) {
				s = b
				break
			}
		}
	}
	d.p.taken = append(d.p.taken, disc{s.mid, 12 * px})
	d.c.lines([][]xy{{at, s.mid}}, stroke{colour: ink, width: 2, casing: casingPX})
	return s
}

// bars draws the two scale bars and the licence line.
func (d *mapDrawing) bars() {
	w, px := d.s.Words, d.c.px
	y := d.h - 10*px
	licence := w.Say("map.attribution")
	width := textWidth(licence, 11.5*px, false)
	m, text := roundBar(w, d.v.scale/px, (d.w-width)/px-barLabelPX)
	long := m * d.v.scale
	d.c.bar(xy{10 * px, y}, long, text, ink)
	d.block(10*px, y, long+textWidth(text, 13*px, true)+20*px)
	if n := d.s.needM(); n > 0 && n*d.v.scale < d.w/2 {
		y -= 20 * px
		d.c.bar(xy{10 * px, y}, n*d.v.scale, d.s.needText(), need)
		d.block(10*px, y, n*d.v.scale+textWidth(d.s.needText(), 13*px, true)+20*px)
	}
	d.c.text(label{at: xy{d.w - 6*px, d.h - 6*px}, text: licence, size: 11.5, anchor: atEnd, colour: ink, casing: sheet, cased: true})
	d.block(d.w-width-10*px, d.h-9*px, width)
}

// block keeps names off a bar and its label.
func (d *mapDrawing) block(x, y, width float64) {
	r := 9 * d.c.px
	for at := x; at < x+width; at += r {
		d.p.taken = append(d.p.taken, disc{xy{at, y - 4*d.c.px}, r})
	}
}

// roundBar is the length in metres of the ink scale bar and its label: 100 m or 300
// ft where that is a bar of a decent length, else another round one; at most so many
// pixels long where any is.
func roundBar(w briefing.Words, pxPerM, most float64) (float64, string) {
	unit, rounds := 1.0, []float64{100, 50, 200, 20, 500, 10, 1000, 2000, 5000}
	if w.Units == briefing.US {
		unit, rounds = briefing.MetresPerFoot, []float64{300, 200, 100, 500, 50, 1000, 2000, 5000, 10000}
	}
	for _, n := range rounds {
		if px := n * unit * pxPerM; px >= 40 && px <= min(most, mostBarPX) {
			return n * unit, w.Own(n * unit)
		}
	}
	last := rounds[len(rounds)-1] * unit
	return last, w.Own(last)
}

// Of an ink scale bar, in CSS pixels.
const (
	mostBarPX  = 200
	barLabelPX = 90 // its label and the gaps round it
)

// mostNames is how many names of other things are tried.
const mostNames = 40

// names writes the streets of the walk, then roads, waters and parks, then other
// streets as room allows; nothing that stands there already.
func (d *mapDrawing) names(there ...string) {
	size := 12 * d.c.px
	done := map[string]bool{}
	for _, name := range there {
		done[name] = true
	}
	put := func(name string, own bool, line []xy) {
		if name == "" || done[name] || len(line) < 2 {
			return
		}
		text := briefing.Clip(name, briefing.MostNameRunes)
		width := textWidth(text, size, own)
		spots := d.p.along(line, width, size)
		if own {
			spots = append(spots, d.p.beside(line, width, size)...)
		}
		if at, ok := d.p.put(width, size, spots); ok {
			done[name] = true
			d.write(text, at, 12, own, ink)
		}
	}
	walks := []*routing.Walk{d.s.Walk}
	for _, i := range d.others {
		walks = append(walks, &d.s.Plan.Walks[i])
	}
	for _, w := range walks {
		for _, l := range byLength(w.Legs) {
			put(l.Name, true, d.v.line(l.Line))
		}
	}
	for _, o := range d.otherNames() {
		put(o.name, false, o.line)
	}
}

// byLength lists legs, longest first.
func byLength(legs []routing.Leg) []*routing.Leg {
	out := make([]*routing.Leg, len(legs))
	for i := range legs {
		out[i] = &legs[i]
	}
	slices.SortStableFunc(out, func(a, b *routing.Leg) int { return cmp.Compare(b.LengthM, a.LengthM) })
	return out
}

// named is something with a name and the line that it is written along.
type named struct {
	name   string
	line   []xy
	weight float64
}

func (d *mapDrawing) otherNames() []named {
	var out []named
	add := func(name string, weight float64, lines ...[]xy) {
		for _, l := range lines {
			if name != "" {
				out = append(out, named{name, l, weight * lengthOf(l)})
			}
		}
	}
	gp, g := d.s.Snap.Ground, d.s.Snap.Graph
	for i := range gp.Roads {
		add(gp.Roads[i].Name, 4, d.parts(gp.Roads[i].Line)...)
	}
	grounds := gp.AllGrounds()
	for i := range grounds {
		if o := &grounds[i]; o.Name != "" && o.Area.Box().Intersects(d.v.box) && (o.Kind == osmdata.Water || o.Kind == osmdata.Park || o.Kind == osmdata.Wood) {
			b := o.Area.Box()
			mid := o.Area.Inside()
			axis := plane.Polyline{{X: b.Min.X, Y: mid.Y}, {X: b.Max.X, Y: mid.Y}}
			if b.Max.Y-b.Min.Y > 2*(b.Max.X-b.Min.X) {
				axis = plane.Polyline{{X: mid.X, Y: b.Min.Y}, {X: mid.X, Y: b.Max.Y}}
			}
			add(o.Name, 2, d.parts(axis)...)
		}
	}
	for _, e := range g.InBox(d.v.box) {
		for i := g.PartAt[e]; i < g.PartAt[e+1]; i++ {
			add(g.Names[g.Parts[i].Name], 1, d.parts(g.EdgeLine(e))...)
		}
	}
	slices.SortStableFunc(out, func(a, b named) int { return cmp.Compare(b.weight, a.weight) })
	return out[:min(len(out), mostNames)]
}

func lengthOf(l []xy) (n float64) {
	for i := 1; i < len(l); i++ {
		n += math.Hypot(l[i].x-l[i-1].x, l[i].y-l[i-1].y)
	}
	return n
}

// hullOf is the convex hull of points, anticlockwise (Andrew 1979, Information
// Processing Letters 9:216-219).
func hullOf(pts []plane.Point) plane.Ring {
	pts = slices.Clone(pts)
	slices.SortFunc(pts, func(a, b plane.Point) int { return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y)) })
	pts = slices.Compact(pts)
	if len(pts) < 3 {
		return pts
	}
	half := func(pts []plane.Point) (h plane.Ring) {
		for _, p := range pts {
			for len(h) > 1 && h[len(h)-1].Sub(h[len(h)-2]).Cross(p.Sub(h[len(h)-1])) <= 0 {
				h = h[:len(h)-1]
			}
			h = append(h, p)
		}
		return h[:len(h)-1]
	}
	lower := half(pts)
	slices.Reverse(pts)
	return append(lower, half(pts)...)
}

// grown is the outline at m metres round a convex ring: all places that far from
// it.
func grown(hull plane.Ring, m float64) (out plane.Ring) {
	n := len(hull)
	for i, p := range hull {
		in, on := p.Sub(hull[(i+n-1)%n]), hull[(i+1)%n].Sub(p)
		from := math.Atan2(-in.X, in.Y)
		to := math.Atan2(-on.X, on.Y)
		if n < 2 {
			from, to = 0, 2*math.Pi
		}
		for to < from {
			to += 2 * math.Pi
		}
		steps := max(1, int(math.Ceil((to-from)/arcStep)))
		for k := 0; k <= steps; k++ {
			sin, cos := math.Sincos(from + (to-from)*float64(k)/float64(steps))
			out = append(out, p.Add(plane.Point{X: cos, Y: sin}.Mul(m)))
		}
	}
	return out
}
