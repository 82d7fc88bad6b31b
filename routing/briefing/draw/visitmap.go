package draw

import (
	"io"
	"math"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
	"wideberth/routing/training"
)

// Place is where one stands on a training visit, as it is drawn.
type Place struct {
	Watched Around
	Arc     plane.Polyline // as far from what is watched as the stand: a step along it changes no dose
}

// Place measures the place of a visit. The scene is the whole visit as one walk,
// measured for what is watched.
func (s *Scene) Place(v *training.Visit) Place {
	hull, n := s.watchedHull(v), s.needThere(v)
	out := Place{Arc: equalArc(hull, v), Watched: Around{Name: v.Watched.Name, InSight: true, Need: n,
		Works: grown(hull, n.WorkingM), Reacts: grown(hull, n.ReactionM)}}
	if v.Watched.Source >= 0 {
		out.Watched.Area = s.Snap.Field.Source(v.Watched.Source).Area
	}
	return out
}

// The arc of equal distance: so far to each side of the stand, as seen from the
// place that is watched, in so many steps.
const (
	arcHalf  = 35 * math.Pi / 180
	arcSteps = 14
)

// equalArc is the arc of equal distance from a convex outline through the stand.
func equalArc(hull plane.Ring, v *training.Visit) (arc plane.Polyline) {
	far := offHull(hull, v.At)
	out := v.At.Sub(v.Sees)
	if far == 0 || out.NormM() == 0 {
		return nil
	}
	for i := -arcSteps; i <= arcSteps; i++ {
		sin, cos := math.Sincos(arcHalf * float64(i) / arcSteps)
		dir := plane.Point{X: out.X*cos - out.Y*sin, Y: out.X*sin + out.Y*cos}.Mul(1 / out.NormM())
		// The distance from a convex outline grows along a ray that leaves it.
		near, most := 0.0, 2*out.NormM()+far
		if offHull(hull, v.Sees.Add(dir.Mul(most))) < far {
			continue
		}
		for range 40 {
			mid := (near + most) / 2
			if offHull(hull, v.Sees.Add(dir.Mul(mid))) < far {
				near = mid
			} else {
				most = mid
			}
		}
		arc = append(arc, v.Sees.Add(dir.Mul(most)))
	}
	return arc
}

// offHull is how far a place lies from a convex outline, 0 inside.
func offHull(hull plane.Ring, p plane.Point) float64 {
	if len(hull) > 2 {
		return plane.Polygon{Outer: hull}.DistanceM(p)
	}
	off := math.Inf(1)
	for _, q := range hull {
		off = min(off, p.DistanceM(q))
	}
	return off
}

// VisitMap draws the place of a training visit as SVG, at true scale: where to
// stand, the line of sight to what is watched, the dog's distances round that and the
// arc of equal distance, the way in with arrowheads, and the ways out, broken and
// dotted, with their names. The scene is the whole visit as one walk, measured for
// what is watched. The error is the writer's.
func (s *Scene) VisitMap(w io.Writer, v *training.Visit, o MapOptions) error {
	c := &canvas{theme: o.Theme, px: 1, prefix: o.Prefix}
	s.visitMap(c, v, o.WidthPX, o.HeightPX, "px", o.Wider)
	_, err := io.WriteString(w, c.String())
	return err
}

func (s *Scene) visitMap(c *canvas, v *training.Visit, w, h float64, unit string, wider float64) {
	d := &mapDrawing{s: s, c: c, w: w, h: h}
	hull := s.watchedHull(v)
	foot := footPX * c.px
	d.v = fit(widened(visitBox(v, grown(hull, s.needThere(v).WorkingM), s.needM()), wider), d.w, d.h-foot)
	d.v.box.Min.Y -= foot / d.v.scale
	d.around = d.v.box.Grown(marginM)
	d.p = placer{w: d.w, h: d.h, px: c.px}
	c.open(d.w, d.h, unit, s.Words.Say("vantage.map", "distance", s.Words.Own(v.DistM), "name", v.Watched.Name, "n", len(v.WaysOut)))
	d.ground()
	d.watched(v, hull)
	d.waysOut(v.WaysOut)
	d.wayIn(v.In.Line)
	c.lines([][]xy{d.v.line(equalArc(hull, v))}, stroke{colour: ink, width: 1.8, casing: 1})
	d.stand(v)
	d.bars()
	d.visitLabels(v, hull)
	d.names(v.Watched.Name)
	c.close()
}

// wayIn draws the way there, with heads on what of it is in the picture.
func (d *mapDrawing) wayIn(way plane.Polyline) {
	parts := d.parts(way)
	d.c.lines(parts, stroke{colour: ink, width: 3, casing: casingPX})
	for _, l := range parts {
		d.heads(l, d.zoom())
		d.p.lines = append(d.p.lines, l)
	}
}

// watchedHull is the outline of what is watched: of a way, the place that is seen.
func (s *Scene) watchedHull(v *training.Visit) plane.Ring {
	if v.Watched.Source < 0 {
		return plane.Ring{v.Sees}
	}
	return hullOf(outline(s.Snap.Field.Source(v.Watched.Source)))
}

// roundPlaceM is the ground shown beyond what the picture of a place is about.
const roundPlaceM = 12

// visitBox is the ground of a place: the stand, what is watched from it, the dog's
// distance before it, and the ways out.
func visitBox(v *training.Visit, hull plane.Ring, needM float64) plane.Box {
	b := (plane.Polyline{v.At, v.Sees}).Box()
	near := b.Grown(2*needM + v.DistM)
	for _, p := range hull {
		if near.Contains(p) {
			b = b.With(p)
		}
	}
	for _, way := range v.WaysOut {
		b = b.Union(way.Box())
	}
	return b.Grown(roundPlaceM)
}

// watched draws what is watched, hatched, with the dog's distances round it.
func (d *mapDrawing) watched(v *training.Visit, hull plane.Ring) {
	c := d.c
	if v.Watched.Source >= 0 {
		var rings [][]xy
		src := d.s.Snap.Field.Source(v.Watched.Source)
		for k := range src.Area {
			rings = append(rings, d.rings(src.Area[k])...)
		}
		if len(src.Area) == 0 {
			rings = [][]xy{d.v.line(hull)}
		}
		c.area(rings, "url(#"+c.prefix+"source)", ` fill-rule="evenodd" stroke="`+c.theme.colour(ink)+`" stroke-width="`+num(1.2*c.px)+`"`)
	}
	n := d.s.needThere(v)
	c.lines([][]xy{d.v.line(grown(hull, n.WorkingM))}, stroke{colour: need, width: 2, casing: casingPX, closed: true})
	c.lines([][]xy{d.v.line(grown(hull, n.ReactionM))}, stroke{colour: need, width: 2, dash: "9 6", closed: true})
}

// needThere is what the dog needs from what is watched: the visit's own working
// distance, and the distance that is too near in the same proportion as the
// scene's.
func (s *Scene) needThere(v *training.Visit) exposure.Need {
	n := s.Band.Room.Need
	if v.Watched.WorkingM > 0 && n.WorkingM > 0 {
		n.ReactionM *= v.Watched.WorkingM / n.WorkingM
		n.WorkingM = v.Watched.WorkingM
	}
	return n
}

// Marks of a place, in CSS pixels.
const (
	standPX = 30 // the bar that says: stand here
	headPX  = 9  // an arrow's head
	eyePX   = 9  // half the width of the eye
	eyeOff  = 20 // from the stand, along the line of sight
)

// waysOut draws the ways out, the first broken and the second dotted, with heads.
func (d *mapDrawing) waysOut(ways []plane.Polyline) {
	for i, way := range ways {
		s := stroke{colour: ink, width: 2.4, casing: casingPX, dash: "9 6"}
		if i > 0 {
			s.dash = "2.4 5"
		}
		l := d.v.line(way)
		d.c.lines([][]xy{l}, s)
		d.p.lines = append(d.p.lines, l)
		if len(way) < 2 {
			continue
		}
		end, dir := l[len(l)-1], way.DirectionAt(way.LengthM())
		at := func(back, side float64) xy {
			return xy{end.x - (dir.X*back+dir.Y*side)*d.c.px, end.y + (dir.Y*back-dir.X*side)*d.c.px}
		}
		d.c.lines([][]xy{{at(headPX, headPX), end, at(headPX, -headPX)}}, stroke{colour: ink, width: 2.4, casing: casingPX})
	}
}

// stand draws the line of sight, the eye on it and the bar where one stands.
func (d *mapDrawing) stand(v *training.Visit) {
	c, at, to := d.c, d.v.at(v.At), d.v.at(v.Sees)
	c.lines([][]xy{{at, to}}, stroke{colour: ink, width: 1.2, casing: 1})
	d.p.lines = append(d.p.lines, []xy{at, to})
	length := math.Hypot(to.x-at.x, to.y-at.y)
	if length == 0 {
		return
	}
	ux, uy := (to.x-at.x)/length, (to.y-at.y)/length
	half := standPX / 2 * c.px
	bar := [][]xy{{{at.x - uy*half, at.y + ux*half}, {at.x + uy*half, at.y - ux*half}}}
	c.lines(bar, stroke{colour: ink, width: 9, casing: casingPX, butt: true})
	if off := eyeOff * c.px; length > 2*off {
		c.eye(xy{at.x + ux*off, at.y + uy*off}, math.Atan2(uy, ux)*180/math.Pi)
	}
	d.p.taken = append(d.p.taken, disc{at, half}, disc{xy{at.x + ux*eyeOff*c.px, at.y + uy*eyeOff*c.px}, eyePX * c.px})
}

// eye draws an eye that looks along a direction, in degrees clockwise from right.
func (c *canvas) eye(at xy, turn float64) {
	w, h := eyePX*c.px, 5.5*c.px
	c.raw(`<g transform="translate(`, num(at.x), " ", num(at.y), `) rotate(`, num(turn), `)"><path d="M`, num(-w), " 0Q0 ", num(-2*h), " ", num(w), " 0Q0 ", num(2*h), " ", num(-w), ` 0Z" fill="`, c.theme.colour(sheet),
		`" stroke="`, c.theme.colour(ink), `" stroke-width="`, num(1.6*c.px), `"/><circle r="`, num(2.6*c.px), `" fill="`, c.theme.colour(ink), "\"/></g>\n")
}

// visitLabels writes what is what, most needed first.
func (d *mapDrawing) visitLabels(v *training.Visit, hull plane.Ring) {
	w, at, to := d.s.Words, d.v.at(v.At), d.v.at(v.Sees)
	d.labelNear(w.Own(v.DistM), xy{(at.x + to.x) / 2, (at.y + to.y) / 2}, 6, ink)
	d.labelNear(w.Say("vantage.stand"), at, standPX/2+4, ink)
	var mid xy
	for _, q := range d.v.line(hull) {
		mid.x, mid.y = mid.x+q.x/float64(len(hull)), mid.y+q.y/float64(len(hull))
	}
	d.labelNear(briefing.Clip(briefing.Sentence(v.Watched.Name), briefing.MostNameRunes), mid, 0, ink)
	for i, by := range v.WaysOutBy {
		way := v.WaysOut[i]
		if by == "" {
			by = w.Say("vantage.open")
		}
		d.labelNear(briefing.Clip(by, briefing.MostNameRunes), d.v.at(way[len(way)-1]), headPX+4, ink)
	}
	n := d.s.needThere(v)
	u := v.At.Sub(v.Sees)
	if m := math.Hypot(u.X, u.Y); m > 0 {
		d.labelNear(w.Say("vantage.works", "distance", w.Own(n.WorkingM)), d.v.at(v.Sees.Add(u.Mul(n.WorkingM/m))), 6, need)
		d.labelNear(w.Say("vantage.near", "distance", w.Own(n.ReactionM)), d.v.at(v.Sees.Add(u.Mul(n.ReactionM/m))), 6, need)
	}
	text := w.Say("vantage.in")
	width := textWidth(text, 12*d.c.px, true)
	for _, l := range d.parts(v.In.Line) {
		if s, ok := d.p.put(width, 12*d.c.px, d.p.beside(l, width, 12*d.c.px)); ok {
			d.write(text, s, 12, true, ink2)
			return
		}
	}
}

// labelNear writes a text at a place, or off px from it where that is free.
func (d *mapDrawing) labelNear(text string, at xy, off float64, colour token) {
	width := textWidth(text, 12*d.c.px, true)
	spots := about(at, width, max(off, 10)*d.c.px, 12*d.c.px)
	if off == 0 {
		spots = append([]spot{{mid: at}}, spots...)
	}
	if s, ok := d.p.put(width, 12*d.c.px, spots); ok {
		d.write(text, s, 12, true, colour)
	}
}
