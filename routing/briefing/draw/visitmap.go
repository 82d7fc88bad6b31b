package draw

import (
	"io"
	"math"

	"wideberth/exposure"
	"wideberth/osmdata/plane"
	"wideberth/routing/briefing"
	"wideberth/routing/training"
)

// VisitMap draws the place of a training visit as SVG, at true scale: where to
// stand, the line of sight to what is watched and the dog's distances round it, the
// ways out, whole and broken, with their names, and as dots the ways there and
// home. The scene is the whole visit as one walk, measured for what is watched.
// The error is the writer's.
func (s *Scene) VisitMap(w io.Writer, v *training.Visit, o MapOptions) error {
	c := &canvas{theme: o.Theme, px: 1, prefix: o.Prefix}
	d := &mapDrawing{s: s, c: c, w: o.WidthPX, h: o.HeightPX}
	hull := s.watchedHull(v)
	foot := footPX * c.px
	d.v = fit(widened(visitBox(v, hull, s.needM()), o.Wider), d.w, d.h-foot)
	d.v.box.Min.Y -= foot / d.v.scale
	d.around = d.v.box.Grown(marginM)
	d.p = placer{w: d.w, h: d.h, px: c.px}
	c.open(d.w, d.h, "px", s.Words.Say("vantage.map", "distance", s.Words.Own(v.DistM), "name", v.Watched.Name, "n", len(v.WaysOut)))
	d.ground()
	d.watched(v, hull)
	for _, way := range []plane.Polyline{v.In.Line, v.Home.Line} {
		c.lines(d.parts(way), stroke{colour: ink2, width: 2.4, dash: "2.4 4.5", casing: 1})
	}
	d.waysOut(v.WaysOut)
	d.stand(v)
	d.bars()
	d.visitLabels(v, hull)
	d.names(v.Watched.Name)
	c.close()
	_, err := io.WriteString(w, c.String())
	return err
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
	n := d.needThere(v)
	c.lines([][]xy{d.v.line(grown(hull, n.WorkingM))}, stroke{colour: need, width: 2, casing: casingPX, closed: true})
	c.lines([][]xy{d.v.line(grown(hull, n.ReactionM))}, stroke{colour: need, width: 2, dash: "9 6", closed: true})
}

// needThere is what the dog needs from what is watched: the visit's own working
// distance, and the distance that is too near in the same proportion as the
// scene's.
func (d *mapDrawing) needThere(v *training.Visit) exposure.Need {
	n := d.s.Band.Room.Need
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

// waysOut draws the ways out, the first whole and the second broken, with heads.
func (d *mapDrawing) waysOut(ways []plane.Polyline) {
	for i, way := range ways {
		s := stroke{colour: ink, width: 3.2, casing: casingPX}
		if i > 0 {
			s.dash = "9 6"
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
		d.c.lines([][]xy{{at(headPX, headPX), end, at(headPX, -headPX)}}, stroke{colour: ink, width: 3.2, casing: casingPX})
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
		d.labelNear(briefing.Clip(by, briefing.MostNameRunes), d.v.at(way[len(way)-1]), headPX+4, ink)
	}
	n := d.needThere(v)
	u := v.At.Sub(v.Sees)
	if m := math.Hypot(u.X, u.Y); m > 0 {
		d.labelNear(w.Own(n.WorkingM), d.v.at(v.Sees.Add(u.Mul(n.WorkingM/m))), 6, need)
		d.labelNear(w.Own(n.ReactionM), d.v.at(v.Sees.Add(u.Mul(n.ReactionM/m))), 6, need)
	}
	for i, way := range []plane.Polyline{v.In.Line, v.Home.Line} {
		text := w.Say([]string{"vantage.in", "vantage.home"}[i])
		width := textWidth(text, 12*d.c.px, true)
		for _, l := range d.parts(way) {
			if s, ok := d.p.put(width, 12*d.c.px, d.p.beside(l, width, 12*d.c.px)); ok {
				d.write(text, s, 12, true, ink2)
				break
			}
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
